"""Bluetooth by the machine's own radio, through `bleak`: finding, connecting, and nothing else."""

from __future__ import annotations

import asyncio
from collections.abc import AsyncIterator, Callable, Iterator
from contextlib import asynccontextmanager, contextmanager, suppress
from typing import TYPE_CHECKING

from ventwright.quantities import UserError
from ventwright.quantities.records import dataclass
from ventwright.streams.description import BleDevice
from ventwright.streams.gatt import GattCharacteristic, SensingDevice, sensing_device
from ventwright.streams.model import extra_missing, gone
from ventwright.streams.sensing import SERVICE_UUID16, uuid_text

if TYPE_CHECKING:
    from bleak import BleakClient


@dataclass(frozen=True, slots=True, kw_only=True)
class NearDevice:
    """A device in reach that advertises the Environmental Sensing Service."""

    address: str
    advertised_name: str


async def near_devices(*, look_s: float = 8.0) -> tuple[NearDevice, ...]:
    """Devices in reach that advertise the Environmental Sensing Service.

    Parameters
    ----------
    look_s
        How long to look [s].

    Raises
    ------
    UserError
        ``extra-missing``, ``no-radio``.

    >>> asyncio.iscoroutinefunction(near_devices)
    True
    """
    with _radio("devices in reach"):
        from bleak import BleakScanner

        found = await BleakScanner.discover(
            timeout=look_s, service_uuids=[uuid_text(SERVICE_UUID16)]
        )
    return tuple(NearDevice(address=one.address, advertised_name=one.name or "") for one in found)


@asynccontextmanager
async def open_ble(device: BleDevice) -> AsyncIterator[SensingDevice]:
    """Connect to a device for as long as the block runs.

    Parameters
    ----------
    device
        As its file describes it.

    Raises
    ------
    UserError
        ``extra-missing``, ``no-radio``, ``device-away``, and those of `sensing_device`.
    """
    name = device.name or device.id
    with _radio(name):
        from bleak import BleakClient, BleakScanner

        if device.address:
            seen = await BleakScanner.find_device_by_address(
                device.address, timeout=device.timeout_s
            )
        else:
            seen = await BleakScanner.find_device_by_name(
                device.advertised_name, timeout=device.timeout_s
            )
    if seen is None:
        raise gone(
            "device-away",
            name,
            f"no device answers to {device.address or device.advertised_name!r}",
            "switch it on, bring it near, and see that no other phone holds it; "
            "ventwright listen --near lists what is in reach",
        )
    left = asyncio.Event()
    client = BleakClient(seen, disconnected_callback=lambda _: left.set())
    with _radio(name):
        await client.connect()
    try:
        with _radio(name):
            opened = await sensing_device(_BleakLink(client, left, name), device)
        yield opened
    finally:
        # Leaving is done with either way; what went wrong before it is what matters.
        with suppress(UserError), _radio(name):
            await client.disconnect()


class _BleakLink:
    """A `GattLink` over a connected client."""

    def __init__(self, client: BleakClient, left: asyncio.Event, name: str) -> None:
        self._client = client
        self._left = left
        self._name = name

    async def characteristics(self, service_uuid: str) -> tuple[GattCharacteristic, ...]:
        service = self._client.services.get_service(service_uuid)
        if service is None:
            return ()
        return tuple(
            GattCharacteristic(
                uuid=one.uuid.lower(),
                handle=one.handle,
                can_read="read" in one.properties,
                can_notify="notify" in one.properties,
                descriptors=tuple((d.uuid.lower(), d.handle) for d in one.descriptors),
            )
            for one in service.characteristics
        )

    async def read(self, handle: int) -> bytes:
        with _radio(self._name):
            return bytes(await self._client.read_gatt_char(handle))

    async def read_descriptor(self, handle: int) -> bytes:
        with _radio(self._name):
            return bytes(await self._client.read_gatt_descriptor(handle))

    async def subscribe(self, handle: int, on_value: Callable[[bytes], None]) -> None:
        with _radio(self._name):
            await self._client.start_notify(handle, lambda _, data: on_value(bytes(data)))

    async def wait_until_gone(self) -> None:
        await self._left.wait()


@contextmanager
def _radio(name: str) -> Iterator[None]:
    """Turn what a missing package, radio or device throws into words."""
    try:
        from bleak.exc import BleakBluetoothNotAvailableError, BleakDBusError, BleakError
    except ImportError:
        raise extra_missing(name, package="bleak", extra="ble") from None
    try:
        yield
    except BleakBluetoothNotAvailableError as trouble:
        raise _no_radio(name, str(trouble.args[0])) from trouble
    except BleakDBusError as trouble:
        # A system whose Bluetooth service is not there or not switched on says so by name alone.
        is_service = trouble.dbus_error.endswith(("ServiceUnknown", "NotReady", "NoReply"))
        raise (_no_radio if is_service else _no_answer)(name, str(trouble)) from trouble
    except (BleakError, TimeoutError) as trouble:
        raise _no_answer(name, str(trouble)) from trouble
    except (OSError, EOFError) as trouble:
        # The system's Bluetooth is reached over a socket, which may be missing altogether.
        raise _no_radio(name, str(trouble)) from trouble


def _no_radio(name: str, why: str) -> UserError:
    return gone(
        "no-radio",
        name,
        f"Bluetooth can't be used on this machine ({why})",
        "switch Bluetooth on and allow it to this program; a machine without a radio can't listen "
        "to Bluetooth devices",
    )


def _no_answer(name: str, why: str) -> UserError:
    return gone(
        "device-away",
        name,
        f"the device does not answer ({why or 'no word in time'})",
        "switch it on, bring it near, and see that no other phone holds it",
    )
