"""The Environmental Sensing Service from end to end: two Bluetooth stacks on one virtual link.

Discovery, reading, notifications and disconnection are done by `bumble` on both sides; bytes on the
link are those of the Assigned Numbers and the Environmental Sensing Service 1.0.
"""

from __future__ import annotations

import asyncio
from collections.abc import AsyncIterator, Coroutine
from contextlib import asynccontextmanager
from typing import Any, TypeVar

import pytest

from tests.unit.streams.simulators import NOTIFY, sensed, sensing_link
from ventwright.quantities import UserError
from ventwright.streams import BleDevice, Sensed, SensedChannel, Shown, StreamHub, sensing_device

T = TypeVar("T")
EACH_SECOND = bytes.fromhex("01 010000")
ON_CHANGE = bytes.fromhex("03")
# Flags, sampling function, period and update interval in seconds, application, uncertainty.
MEAN_OF_10_S = bytes.fromhex("0000 02 0a0000 010000 01 ff")
MAXIMUM_OF_10_S = bytes.fromhex("0000 04 0a0000 010000 01 ff")


def run(work: Coroutine[Any, Any, T]) -> T:
    return asyncio.run(asyncio.wait_for(work, 30))


def described(*channels: tuple[str, Sensed], interval_s: float = 0.02) -> BleDevice:
    return BleDevice(
        id="probe",
        name="Loft probe",
        address="any",
        interval_s=interval_s,
        channels=tuple(SensedChannel(id=name, characteristic=what) for name, what in channels),
    )


async def first(device: Any, count: int) -> list[Shown]:
    found: list[Shown] = []
    shown = device.shown()
    async for one in shown:
        found.append(one)
        if len(found) == count:
            break
    await shown.aclose()
    return found


def test_every_characteristic_is_read_and_decoded() -> None:
    """Bytes by hand from format and exponent; −3.5 °C is 0xFEA2 as a 16-bit complement."""
    cases = {
        Sensed.TEMPERATURE: (0x2A6E, "a2fe", "-3.50"),
        Sensed.HUMIDITY: (0x2A6F, "8813", "50.00"),
        Sensed.PRESSURE: (0x2A6D, "12760f00", "101326.6"),
        Sensed.TRUE_WIND_SPEED: (0x2A70, "e700", "2.31"),
        Sensed.APPARENT_WIND_SPEED: (0x2A72, "0000", "0.00"),
        Sensed.DEW_POINT: (0x2A7B, "f4", "-12"),
    }

    async def listen() -> dict[str, str]:
        served = [sensed(uuid, bytes.fromhex(data)) for uuid, data, _ in cases.values()]
        async with sensing_link(*served) as (link, _, _):
            device = await sensing_device(link, described(*((one.value, one) for one in cases)))
            assert device.notified == ()
            return {one.channel: one.text for one in await first(device, len(cases))}

    assert run(listen()) == {one.value: text for one, (_, _, text) in cases.items()}


def test_notifications_at_a_fixed_interval_are_subscribed_to() -> None:
    value = [230]

    async def listen() -> list[str]:
        wind = sensed(
            0x2A70, lambda: value[0].to_bytes(2, "little"), properties=NOTIFY, trigger=EACH_SECOND
        )
        async with sensing_link(wind) as (link, probe, _):
            device = await sensing_device(link, described(("v", Sensed.TRUE_WIND_SPEED)))
            assert device.notified == ("v",)
            task = asyncio.create_task(first(device, 3))
            for one in (231, 236, 228):
                await asyncio.sleep(0.2)
                value[0] = one
                await probe.notify_subscribers(wind)
            return [shown.text for shown in await task]

    assert run(listen()) == ["2.31", "2.36", "2.28"]


def test_a_device_that_notifies_on_change_is_read_at_an_even_pace() -> None:
    async def listen() -> tuple[tuple[str, ...], list[Shown]]:
        served = sensed(0x2A6E, bytes.fromhex("6908"), properties=NOTIFY, trigger=ON_CHANGE)
        async with sensing_link(served) as (link, _, _):
            device = await sensing_device(link, described(("t", Sensed.TEMPERATURE)))
            return device.notified, await first(device, 3)

    notified, shown = run(listen())
    assert notified == ()
    assert shown == [Shown(channel="t", text="21.53")] * 3


def test_a_value_that_is_not_known_shows_nothing() -> None:
    async def listen() -> list[Shown]:
        served = [sensed(0x2A6E, bytes.fromhex("0080")), sensed(0x2A6F, bytes.fromhex("ffff"))]
        async with sensing_link(*served) as (link, _, _):
            device = await sensing_device(
                link, described(("t", Sensed.TEMPERATURE), ("rh", Sensed.HUMIDITY))
            )
            return await first(device, 2)

    assert [one.text for one in run(listen())] == ["", ""]


def test_the_second_of_two_thermometers_is_named_by_its_place() -> None:
    async def listen() -> list[Shown]:
        served = [sensed(0x2A6E, bytes.fromhex("6908")), sensed(0x2A6E, bytes.fromhex("d007"))]
        async with sensing_link(*served) as (link, _, _):
            channels = (
                SensedChannel(id="out", characteristic=Sensed.TEMPERATURE, instance_number=2.0),
            )
            one = BleDevice(id="p", address="any", interval_s=0.02, channels=channels)
            return await first(await sensing_device(link, one), 1)

    assert run(listen()) == [Shown(channel="out", text="20.00")]


def trouble(*served: Any, service_uuid16: int = 0x181A) -> UserError:
    async def listen() -> None:
        async with sensing_link(*served, service_uuid16=service_uuid16) as (link, _, _):
            await sensing_device(link, described(("t", Sensed.TEMPERATURE)))

    with pytest.raises(UserError) as caught:
        run(listen())
    return caught.value


def test_a_device_without_the_service_is_told() -> None:
    found = trouble(sensed(0x2A6E, b"\0\0"), service_uuid16=0x1809)
    assert found.problems[0].code == "no-sensing-service"


def test_a_characteristic_that_is_missing_is_told_with_those_that_are_there() -> None:
    found = trouble(sensed(0x2A6F, b"\0\0"))
    assert found.problems[0].code == "no-characteristic"
    assert "it shows: humidity" in str(found)


def test_maxima_are_not_averaged() -> None:
    found = trouble(sensed(0x2A6E, b"\0\0", measurement=MAXIMUM_OF_10_S))
    assert found.problems[0].code == "not-averageable"
    assert "maximum" in str(found)


def test_means_within_the_device_are_good_samples() -> None:
    async def listen() -> list[Shown]:
        served = sensed(0x2A6E, bytes.fromhex("6908"), measurement=MEAN_OF_10_S)
        async with sensing_link(served) as (link, _, _):
            return await first(await sensing_device(link, described(("t", Sensed.TEMPERATURE))), 1)

    assert run(listen())[0].text == "21.53"


def test_a_device_that_leaves_is_told() -> None:
    async def listen() -> None:
        served = sensed(0x2A6E, bytes.fromhex("6908"), properties=NOTIFY, trigger=EACH_SECOND)
        async with sensing_link(served) as (link, _, connection):
            device = await sensing_device(link, described(("t", Sensed.TEMPERATURE)))
            task = asyncio.create_task(first(device, 1))
            await asyncio.sleep(0.1)
            await connection.disconnect()
            await task

    with pytest.raises(UserError, match="disconnected"):
        run(listen())


def test_a_hub_passes_samples_on_with_unit_and_time() -> None:
    served = sensed(0x2A70, bytes.fromhex("e700"))

    @asynccontextmanager
    async def opener(one: Any) -> AsyncIterator[Any]:
        async with sensing_link(served) as (link, _, _):
            yield await sensing_device(link, one)

    async def listen() -> list[Any]:
        heard = StreamHub(described(("v", Sensed.TRUE_WIND_SPEED)), opener=opener).listen("v")
        found = [await anext(heard) for _ in range(3)]
        await heard.aclose()
        return found

    found = run(listen())
    assert {(one.text, one.unit_of_measure) for one in found} == {("2.31", "m/s")}
    assert found[0].at_s < found[1].at_s < found[2].at_s
