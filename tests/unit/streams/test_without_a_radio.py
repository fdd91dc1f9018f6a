"""What the part that needs a radio says where there is none, or nobody answers."""

from __future__ import annotations

import asyncio
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import bleak
import pytest
from bleak.backends.characteristic import BleakGATTCharacteristic
from bleak.backends.descriptor import BleakGATTDescriptor
from bleak.backends.service import BleakGATTService, BleakGATTServiceCollection
from bleak.exc import (
    BleakBluetoothNotAvailableError,
    BleakBluetoothNotAvailableReason,
    BleakDBusError,
    BleakError,
)

from ventwright.quantities import UserError
from ventwright.streams import (
    BleDevice,
    Sensed,
    SensedChannel,
    Shown,
    near_devices,
    open_device,
    uuid_text,
)

PROBE = BleDevice(
    id="loft",
    name="Loft probe",
    advertised_name="Loft",
    interval_s=0.02,
    timeout_s=0.1,
    channels=(
        SensedChannel(id="t", characteristic=Sensed.TEMPERATURE),
        SensedChannel(id="v", characteristic=Sensed.TRUE_WIND_SPEED),
    ),
)


async def connect() -> list[Shown]:
    found = []
    async with open_device(PROBE) as opened:
        shown = opened.shown()
        async for one in shown:
            found.append(one)
            if len(found) == 2:
                break
        await shown.aclose()
    return found


def refused(work: Callable[[], Any]) -> tuple[str, str]:
    with pytest.raises(UserError) as caught:
        asyncio.run(work())
    return caught.value.problems[0].code, str(caught.value)


def scanning(monkeypatch: pytest.MonkeyPatch, result: Any) -> None:
    async def find(*_: Any, **__: Any) -> Any:
        if isinstance(result, BaseException):
            raise result
        return result

    for name in ("discover", "find_device_by_name", "find_device_by_address"):
        monkeypatch.setattr(bleak.BleakScanner, name, find)


@pytest.mark.skipif(sys.platform != "linux", reason="other systems have no bus to take away")
def test_a_machine_without_bluetooth_says_so(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    """The real package on a system whose bus is not there: words, and no traceback."""
    monkeypatch.setenv("DBUS_SYSTEM_BUS_ADDRESS", f"unix:path={tmp_path / 'nobody'}")
    code, words = refused(near_devices)
    assert code == "no-radio", words
    assert words.startswith("devices in reach: Bluetooth can't be used on this machine")
    assert refused(connect)[0] == "no-radio"


@pytest.mark.parametrize(
    ("thrown", "code"),
    [
        (FileNotFoundError(2, "No such file or directory"), "no-radio"),
        (EOFError(), "no-radio"),
        (BleakDBusError("org.freedesktop.DBus.Error.ServiceUnknown", ["org.bluez"]), "no-radio"),
        (BleakDBusError("org.bluez.Error.NotReady", ["Resource Not Ready"]), "no-radio"),
        (BleakDBusError("org.bluez.Error.Failed", ["le-connection-abort"]), "device-away"),
        (
            BleakBluetoothNotAvailableError(
                "turned off", BleakBluetoothNotAvailableReason.POWERED_OFF
            ),
            "no-radio",
        ),
        (BleakError("gone"), "device-away"),
        (TimeoutError(), "device-away"),
        (None, "device-away"),
    ],
)
def test_what_the_system_throws_is_put_into_words(
    monkeypatch: pytest.MonkeyPatch, thrown: BaseException | None, code: str
) -> None:
    scanning(monkeypatch, thrown)
    found, words = refused(connect)
    assert found == code
    assert words.startswith("Loft probe: ")


def test_a_missing_extra_is_named(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "bleak", None)
    monkeypatch.setitem(sys.modules, "bleak.exc", None)
    code, words = refused(connect)
    assert code == "extra-missing"
    assert "pip install 'ventwright[ble]'" in words


class Client:
    """Stands for a connected client; services are `bleak`'s own records."""

    disconnected = 0

    def __init__(self, device: Any, *, disconnected_callback: Callable[[Any], None]) -> None:
        assert device == "seen"
        self.services = BleakGATTServiceCollection()
        service = BleakGATTService(None, 1, uuid_text(0x181A))
        self.services.add_service(service)
        self._notify: dict[int, Callable[[Any, bytearray], None]] = {}
        for handle, uuid16, properties in ((2, 0x2A6E, ["read"]), (4, 0x2A70, ["read", "notify"])):
            characteristic = BleakGATTCharacteristic(
                None, handle, uuid_text(uuid16), properties, lambda: 20, service
            )
            self.services.add_characteristic(characteristic)
            if "notify" in properties:
                self.services.add_descriptor(
                    BleakGATTDescriptor(None, 6, uuid_text(0x290D), characteristic)
                )

    async def connect(self) -> None:
        pass

    async def disconnect(self) -> None:
        Client.disconnected += 1

    async def read_gatt_char(self, handle: int) -> bytearray:
        assert handle == 2
        return bytearray.fromhex("6908")

    async def read_gatt_descriptor(self, handle: int) -> bytearray:
        assert handle == 6
        return bytearray.fromhex("01010000")

    async def start_notify(self, handle: int, told: Callable[[Any, bytearray], None]) -> None:
        assert handle == 4
        told(None, bytearray.fromhex("e700"))


def test_a_connected_client_is_read_and_let_go(monkeypatch: pytest.MonkeyPatch) -> None:
    scanning(monkeypatch, "seen")
    monkeypatch.setattr(bleak, "BleakClient", Client)
    assert asyncio.run(connect()) == [
        Shown(channel="v", text="2.31"),
        Shown(channel="t", text="21.53"),
    ]
    assert Client.disconnected == 1
