"""Modbus over a network or a serial line, through `pymodbus`: connecting and reading registers."""

from __future__ import annotations

import logging
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from typing import TYPE_CHECKING, Any

from ventwright.quantities import UserError
from ventwright.streams.description import (
    Parity,
    RegisterChannel,
    RegisterTable,
    RtuDevice,
    TcpDevice,
    stream_channels,
)
from ventwright.streams.gatt import at_even_pace
from ventwright.streams.model import Shown, StreamChannel, extra_missing, gone, trouble_of
from ventwright.streams.registers import text_from_registers, word_count

if TYPE_CHECKING:
    from pymodbus.client import AsyncModbusSerialClient, AsyncModbusTcpClient

_REFUSALS = {
    1: ("it does not know this kind of register", "try the other table, input or holding"),
    2: ("it has no register there", "register_index counts from 0: lists that begin at 30001 "
        "or 40001 count from 1"),
    3: ("it does not accept this number of registers", "check number_type"),
    4: ("it has failed", "look at the device itself"),
    6: ("it is busy", "write a longer interval"),
    10: ("the gateway has no path to it", "check the gateway"),
    11: ("the device behind the gateway does not answer", "check server_number and wiring"),
}  # fmt: skip
"""Exception codes of the protocol. Source: modbus_application"""
_PARITY = {Parity.EVEN: "E", Parity.ODD: "O", Parity.NONE: "N"}


class ModbusDevice:
    """A connected Modbus device (see `OpenDevice`)."""

    def __init__(self, client: Any, device: TcpDevice | RtuDevice) -> None:
        self.channels: tuple[StreamChannel, ...] = stream_channels(device)
        self._client = client
        self._device = device

    async def shown(self) -> AsyncIterator[Shown]:
        """What its channels show, one look at all of them at each interval."""
        async for _ in at_even_pace(self._device.interval_s):
            for channel in self._device.channels:
                yield await self._look(channel)

    async def _look(self, channel: RegisterChannel) -> Shown:
        """One look at one channel; a register that is refused does not silence the others."""
        from pymodbus.exceptions import ModbusException

        is_input = channel.table is RegisterTable.INPUT
        read = (
            self._client.read_input_registers if is_input else self._client.read_holding_registers
        )
        try:
            answer = await read(
                int(channel.register_index),
                count=word_count(channel.number_type),
                device_id=int(self._device.server_number),
            )
        except (ModbusException, OSError, TimeoutError) as trouble:
            raise _away(self._device, f"it does not answer ({trouble})") from trouble
        if answer.isError():
            code = getattr(answer, "exception_code", 0)
            message, remedy = _REFUSALS.get(
                code, (f"it refuses with code {code}", "see its manual")
            )
            problem = trouble_of(
                "device-refuses",
                _name(self._device),
                f"channel {channel.id}, {channel.table.value} register "
                f"{channel.register_index:.0f}: {message}",
                remedy,
            )
            return Shown(channel=channel.id, text="", problem=problem)
        return Shown(channel=channel.id, text=text_from_registers(answer.registers, channel))


@asynccontextmanager
async def open_modbus(device: TcpDevice | RtuDevice) -> AsyncIterator[ModbusDevice]:
    """Connect to a device for as long as the block runs.

    Parameters
    ----------
    device
        As its file describes it.

    Raises
    ------
    UserError
        ``extra-missing``, ``device-away``.
    """
    client = _client(device)
    try:
        try:
            is_there = await client.connect()
        except OSError as trouble:
            raise _away(device, f"it can't be reached ({trouble})") from trouble
        if not is_there:
            raise _away(device, "it can't be reached")
        yield ModbusDevice(client, device)
    finally:
        client.close()


def _client(device: TcpDevice | RtuDevice) -> AsyncModbusTcpClient | AsyncModbusSerialClient:
    try:
        from pymodbus.client import AsyncModbusSerialClient, AsyncModbusTcpClient
    except ImportError:
        raise extra_missing(_name(device), package="pymodbus", extra="modbus") from None
    # Its log would print every byte of a failure; what failed is said in words instead.
    logging.getLogger("pymodbus.logging").setLevel(logging.CRITICAL)
    # No reconnecting of its own: who listens is told, and tries again.
    if isinstance(device, TcpDevice):
        return AsyncModbusTcpClient(
            device.host,
            port=int(device.port_number),
            timeout=device.timeout_s,
            retries=1,
            reconnect_delay=0.0,
        )
    try:
        return AsyncModbusSerialClient(
            device.serial_port,
            baudrate=int(device.baud_rate),
            parity=_PARITY[device.parity],
            stopbits=int(device.stop_bits),
            timeout=device.timeout_s,
            retries=1,
            reconnect_delay=0.0,
        )
    except RuntimeError:
        raise extra_missing(_name(device), package="pyserial", extra="modbus") from None


def _name(device: TcpDevice | RtuDevice) -> str:
    return device.name or device.id


def _away(device: TcpDevice | RtuDevice, what: str) -> UserError:
    if isinstance(device, TcpDevice):
        where = f"{device.host}, port {device.port_number:.0f}"
        remedy = "see that it is on and in the same network, and that no other program holds it"
    else:
        where = device.serial_port
        remedy = (
            "see that the adapter is plugged in, that this user may open the port, and that baud "
            "rate, parity and server number are those of the device"
        )
    return gone("device-away", _name(device), f"{what} at {where}", remedy)
