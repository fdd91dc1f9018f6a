"""Modbus RTU between two ends of a serial line, each a terminal that the system makes up."""

from __future__ import annotations

import asyncio
import contextlib
import os
import select
import sys
import threading
from collections.abc import Iterator

import pytest
from pymodbus.framer import FramerType
from pymodbus.server import ModbusSerialServer
from pymodbus.simulator import DataType, SimData, SimDevice

from ventwright.quantities import UserError
from ventwright.streams import (
    NumberType,
    Parity,
    RegisterChannel,
    RegisterTable,
    RtuDevice,
    Shown,
    open_device,
)

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="no such terminals there")


@pytest.fixture
def line() -> Iterator[tuple[str, str]]:
    """Names of both ends; bytes go from one to the other."""
    import tty

    here, end_here = os.openpty()
    there, end_there = os.openpty()
    for one in (here, end_here, there, end_there):
        tty.setraw(one)
    done = threading.Event()

    def carry() -> None:
        while not done.is_set():
            for one in select.select([here, there], [], [], 0.05)[0]:
                os.write(there if one == here else here, os.read(one, 1000))

    carrier = threading.Thread(target=carry, daemon=True)
    carrier.start()
    yield os.ttyname(end_here), os.ttyname(end_there)
    done.set()
    carrier.join(5)
    for one in (here, end_here, there, end_there):
        with contextlib.suppress(OSError):
            os.close(one)


def device(port: str) -> RtuDevice:
    return RtuDevice(
        id="loft",
        serial_port=port,
        baud_rate=9600.0,
        parity=Parity.NONE,
        server_number=7.0,
        interval_s=0.05,
        timeout_s=0.3,
        channels=(
            RegisterChannel(
                id="t",
                table=RegisterTable.HOLDING,
                register_index=0.0,
                number_type=NumberType.INT16,
                scale_factor=0.1,
                offset="-40",
                unit_of_measure="°C",
            ),
        ),
    )


async def looks(line: tuple[str, str]) -> list[Shown]:
    registers = [SimData(0, values=613, datatype=DataType.REGISTERS)]
    bits = [SimData(0, values=True, datatype=DataType.BITS)]
    server = ModbusSerialServer(
        SimDevice(7, simdata=(bits, bits, registers, registers)),
        framer=FramerType.RTU,
        port=line[0],
        baudrate=9600,
    )
    await server.serve_forever(background=True)
    found = []
    try:
        async with open_device(device(line[1])) as opened:
            async for shown in opened.shown():
                found.append(shown)
                if len(found) == 3:
                    break
    finally:
        await server.shutdown()
    return found


def test_a_register_is_read_again_and_again(line: tuple[str, str]) -> None:
    found = asyncio.run(looks(line))
    assert found == [Shown(channel="t", text="21.3")] * 3


def test_a_line_that_nobody_answers_on_is_told(line: tuple[str, str]) -> None:
    async def listen() -> None:
        async with open_device(device(line[1])) as opened:
            async for _ in opened.shown():
                raise AssertionError("nobody is there")

    with pytest.raises(UserError, match="loft: it does not answer") as caught:
        asyncio.run(listen())
    assert "server number" in caught.value.problems[0].remedy
