"""Devices without hardware: a Modbus server on loopback, and a Bluetooth device on a virtual link.

The Modbus server is that of `pymodbus`; controllers, hosts and GATT of the Bluetooth device are
those of `bumble`, two whole stacks in one process whose radio is a Python object.
"""

from __future__ import annotations

import asyncio
import threading
from collections.abc import AsyncIterator, Callable, Iterator
from contextlib import asynccontextmanager, contextmanager
from typing import Any

from bumble.controller import Controller
from bumble.core import UUID
from bumble.device import Connection, Device, Peer
from bumble.gatt import Characteristic, CharacteristicValue, Descriptor, Service
from bumble.gatt_client import CharacteristicProxy
from bumble.hci import Address
from bumble.host import Host
from bumble.link import LocalLink
from bumble.transport.common import AsyncPipeSink
from pymodbus.constants import ExcCodes
from pymodbus.server import ModbusTcpServer
from pymodbus.simulator import DataType, SimData, SimDevice

from ventwright.streams import GattCharacteristic

# Raw values of a probe in m/s · 100: a velocity that flutters about 2.31.
FLUTTER = (231, 236, 228, 233, 227, 234, 230, 229)


class ModbusProbe:
    """Input register 0: a velocity that flutters; 1 and 2: a float, low word first; 3: an unknown.

    Holding register 0: a temperature in tenths of a degree from −40 up. Input register 50 belongs
    to a device behind a gateway that does not answer.
    """

    def __init__(self, server: ModbusTcpServer, loop: asyncio.AbstractEventLoop) -> None:
        self._server = server
        self._loop = loop
        self.port_number = int(server.transport.sockets[0].getsockname()[1])

    def stop(self) -> None:
        asyncio.run_coroutine_threadsafe(self._server.shutdown(), self._loop).result(10)


async def _flutter(
    function: int, start: int, address: int, count: int, registers: list[int], values: Any
) -> ExcCodes | None:
    if address == 50:
        return ExcCodes.GATEWAY_NO_RESPONSE
    if function == 4 and address == 0:
        place = (FLUTTER.index(registers[0]) + 1) % len(FLUTTER)
        registers[0] = FLUTTER[place]
    return None


@contextmanager
def modbus_probe() -> Iterator[ModbusProbe]:
    """Serve in a thread, so that programs and browsers may read it too."""
    inputs = [
        SimData(0, values=FLUTTER[0], datatype=DataType.REGISTERS),
        # 61.5 as a float is 0x42760000; its low word goes first.
        SimData(1, values=[0x0000, 0x4276], datatype=DataType.REGISTERS),
        SimData(3, values=0x8000, datatype=DataType.REGISTERS),
        SimData(50, values=0, datatype=DataType.REGISTERS),
    ]
    holding = [SimData(0, values=613, datatype=DataType.REGISTERS)]
    bits = [SimData(0, values=True, datatype=DataType.BITS)]
    device = SimDevice(7, simdata=(bits, bits, holding, inputs), action=_flutter)
    started: list[ModbusProbe] = []
    ready = threading.Event()

    def run() -> None:
        async def serve() -> None:
            server = ModbusTcpServer(device, address=("127.0.0.1", 0))
            await server.serve_forever(background=True)
            started.append(ModbusProbe(server, asyncio.get_running_loop()))
            ready.set()
            await server.serving

        asyncio.run(serve())

    thread = threading.Thread(target=run, daemon=True)
    thread.start()
    assert ready.wait(10)
    try:
        yield started[0]
    finally:
        if thread.is_alive():
            started[0].stop()
        thread.join(10)


NOTIFY = Characteristic.Properties.READ | Characteristic.Properties.NOTIFY
READ = Characteristic.Properties.READ
PERMISSIONS = Characteristic.READABLE


def sensed(
    uuid16: int,
    value: bytes | Callable[[], bytes],
    *,
    properties: Any = READ,
    **descriptors: bytes,
) -> Characteristic[bytes]:
    """A characteristic with descriptors, by the names they have in the specification."""
    numbers = {"measurement": 0x290C, "trigger": 0x290D}
    held = (
        CharacteristicValue(read=lambda connection: value()) if callable(value) else value  # type: ignore[operator]
    )
    return Characteristic(
        UUID.from_16_bits(uuid16),
        properties,
        PERMISSIONS,
        held,
        [
            Descriptor(UUID.from_16_bits(numbers[name]), PERMISSIONS, data)
            for name, data in descriptors.items()
        ],
    )


class BumbleLink:
    """A `GattLink` by the client of `bumble`."""

    def __init__(self, connection: Connection, peer: Peer) -> None:
        self._peer = peer
        self._gone = asyncio.Event()
        self._found: dict[int, CharacteristicProxy[bytes]] = {}
        connection.on("disconnection", lambda *_: self._gone.set())

    async def characteristics(self, service_uuid: str) -> tuple[GattCharacteristic, ...]:
        services = await self._peer.discover_service(UUID.from_16_bits(int(service_uuid[4:8], 16)))
        found = []
        for service in services:
            for one in await self._peer.discover_characteristics(service=service):
                self._found[one.handle] = one
                descriptors = await self._peer.discover_descriptors(characteristic=one)
                found.append(
                    GattCharacteristic(
                        uuid=_long(one.uuid),
                        handle=one.handle,
                        can_read=bool(one.properties & Characteristic.Properties.READ),
                        can_notify=bool(one.properties & Characteristic.Properties.NOTIFY),
                        descriptors=tuple((_long(d.type), d.handle) for d in descriptors),
                    )
                )
        return tuple(found)

    async def read(self, handle: int) -> bytes:
        return bytes(await self._peer.read_value(self._found[handle]))

    async def read_descriptor(self, handle: int) -> bytes:
        return bytes(await self._peer.gatt_client.read_value(handle))

    async def subscribe(self, handle: int, on_value: Callable[[bytes], None]) -> None:
        await self._peer.subscribe(self._found[handle], on_value)

    async def wait_until_gone(self) -> None:
        await self._gone.wait()


def _long(uuid: UUID) -> str:
    return (
        uuid.to_hex_str("-").lower()
        if len(uuid.uuid_bytes) == 16
        else (f"0000{uuid.to_hex_str().lower()}-0000-1000-8000-00805f9b34fb")
    )


@asynccontextmanager
async def sensing_link(
    *characteristics: Characteristic[bytes], service_uuid16: int = 0x181A
) -> AsyncIterator[tuple[BumbleLink, Device, Connection]]:
    """Two stacks on one virtual link: a device that serves, and our side connected to it."""
    link = LocalLink()
    stacks = []
    for name, address in (("ours", "F0:00:00:00:00:01"), ("probe", "F0:00:00:00:00:02")):
        controller = Controller(name, link=link, public_address=address)
        stacks.append(
            Device(
                name=name,
                address=Address(address),
                host=Host(controller, AsyncPipeSink(controller)),
            )
        )
    ours, probe = stacks
    probe.add_service(Service(UUID.from_16_bits(service_uuid16), list(characteristics)))
    await ours.power_on()
    await probe.power_on()
    await probe.start_advertising()
    connection = await ours.connect(probe.random_address, timeout=10)
    yield BumbleLink(connection, Peer(connection)), probe, connection
