"""Listening to the Environmental Sensing Service over any link that speaks GATT.

What needs a radio stands behind `GattLink`; finding the service, choosing between notifications and
reading, and decoding stand here and run against a simulated link as well as a real one.
"""

from __future__ import annotations

import asyncio
from collections.abc import AsyncIterator, Awaitable, Callable
from typing import Protocol

from ventwright.quantities import UserError
from ventwright.quantities.records import dataclass
from ventwright.streams.description import BleDevice, SensedChannel, stream_channels
from ventwright.streams.model import Shown, StreamChannel, gone
from ventwright.streams.sensing import (
    AVERAGES_WELL,
    ES_MEASUREMENT_UUID16,
    ES_TRIGGER_SETTING_UUID16,
    SENSED,
    SERVICE_UUID16,
    es_measurement,
    is_paced,
    text_from_value,
    uuid_text,
)


@dataclass(frozen=True, slots=True, kw_only=True)
class GattCharacteristic:
    """A characteristic as a link found it; UUIDs in their long form, in lower case."""

    uuid: str
    handle: int
    can_read: bool
    can_notify: bool
    descriptors: tuple[tuple[str, int], ...] = ()


class GattLink(Protocol):
    """A connection to a device, as thin as it can be."""

    async def characteristics(self, service_uuid: str) -> tuple[GattCharacteristic, ...]:
        """Characteristics of a service; none where the device lacks it."""

    async def read(self, handle: int) -> bytes:
        """The value of a characteristic."""

    async def read_descriptor(self, handle: int) -> bytes:
        """The value of a descriptor."""

    async def subscribe(self, handle: int, on_value: Callable[[bytes], None]) -> None:
        """Ask for notifications of a characteristic."""

    async def wait_until_gone(self) -> None:
        """Return when the device has disconnected."""


@dataclass(frozen=True, slots=True, kw_only=True)
class _Found:
    """A described channel with its characteristic, and whether its notifications keep time.

    `interval_s` is how often it is read otherwise: as the file has it, and never more often than
    the device renews it.
    """

    channel: SensedChannel
    characteristic: GattCharacteristic
    is_notified: bool
    interval_s: float


class SensingDevice:
    """A connected device with the Environmental Sensing Service (see `OpenDevice`)."""

    def __init__(self, link: GattLink, device: BleDevice, found: tuple[_Found, ...]) -> None:
        self.channels: tuple[StreamChannel, ...] = stream_channels(device)
        self._link = link
        self._device = device
        self._found = found
        self._asking = asyncio.Lock()

    @property
    def notified(self) -> tuple[str, ...]:
        """Channels whose values come by notification; the others are read at the interval."""
        return tuple(one.channel.id for one in self._found if one.is_notified)

    async def shown(self) -> AsyncIterator[Shown]:
        """What its channels show, as it comes, until the device is gone."""
        came: asyncio.Queue[Shown | Exception] = asyncio.Queue()

        def keep(one: _Found, data: bytes) -> None:
            text = text_from_value(data, one.channel.characteristic)
            came.put_nowait(Shown(channel=one.channel.id, text=text))

        def keeper(one: _Found) -> Callable[[bytes], None]:
            return lambda data: keep(one, data)

        async def run(work: Awaitable[None]) -> None:
            try:
                await work
            except Exception as trouble:
                came.put_nowait(trouble)

        for one in self._found:
            if one.is_notified:
                await self._link.subscribe(one.characteristic.handle, keeper(one))
        works = [self._read_at_intervals(one, keeper(one)) for one in self._polled()]
        tasks = [asyncio.create_task(run(work)) for work in (*works, self._watch())]
        try:
            while True:
                item = await came.get()
                if isinstance(item, Exception):
                    raise item
                yield item
        finally:
            for task in tasks:
                task.cancel()

    def _polled(self) -> tuple[_Found, ...]:
        return tuple(one for one in self._found if not one.is_notified)

    async def _read_at_intervals(self, one: _Found, keep: Callable[[bytes], None]) -> None:
        async for _ in at_even_pace(one.interval_s):
            # A device answers one question at a time.
            async with self._asking:
                data = await self._link.read(one.characteristic.handle)
            keep(data)

    async def _watch(self) -> None:
        await self._link.wait_until_gone()
        raise gone(
            "device-away",
            self._device.name or self._device.id,
            "the device has disconnected",
            "bring it nearer and see that it is charged; it is tried again",
        )


async def at_even_pace(interval_s: float) -> AsyncIterator[None]:
    """Ticks at an even pace: a late one is left out, never made up for.

    Parameters
    ----------
    interval_s
        Time from tick to tick [s].

    >>> async def count() -> int:
    ...     ticks = at_even_pace(0.001)
    ...     return len([await anext(ticks) for _ in range(3)])
    >>> asyncio.run(count())
    3
    """
    clock = asyncio.get_running_loop().time
    due = clock()
    while True:
        yield
        due += interval_s
        late = clock() - due
        if late > 0.0:
            due += interval_s * (late // interval_s + 1.0)
        await asyncio.sleep(due - clock())


async def sensing_device(link: GattLink, device: BleDevice) -> SensingDevice:
    """Find what a device file describes on a connected device.

    Parameters
    ----------
    link
        The connection.
    device
        The description.

    Returns
    -------
    SensingDevice
        A channel is notified where its ES Trigger Setting promises a fixed interval. It is read at
        the file's interval otherwise: a mean of values that came as they changed is no mean of the
        time.

    Raises
    ------
    UserError
        ``no-sensing-service``, ``no-characteristic``, ``not-averageable``.

    Source: bluetooth_ess

    >>> class Bare:
    ...     async def characteristics(self, service_uuid): return ()
    >>> asyncio.run(sensing_device(Bare(), BleDevice(id="p", channels=(), address="x")))
    Traceback (most recent call last):
    ventwright.quantities.problems.UserError: p: it does not offer the Environmental Sensing \
Service (0x181A); this service alone is read
    """
    name = device.name or device.id
    offered = await link.characteristics(uuid_text(SERVICE_UUID16))
    if not offered:
        raise gone(
            "no-sensing-service",
            name,
            f"it does not offer the Environmental Sensing Service (0x{SERVICE_UUID16:04X})",
            "this service alone is read",
        )
    found = [await _find(link, one, offered, device) for one in device.channels]
    return SensingDevice(link, device, tuple(found))


async def _find(
    link: GattLink,
    channel: SensedChannel,
    offered: tuple[GattCharacteristic, ...],
    device: BleDevice,
) -> _Found:
    name = device.name or device.id
    wanted = uuid_text(SENSED[channel.characteristic].uuid16)
    alike = [one for one in offered if one.uuid == wanted]
    place = int(channel.instance_number) - 1
    if place >= len(alike):
        words = [s.value for s, form in SENSED.items() if _has(offered, uuid_text(form.uuid16))]
        raise gone(
            "no-characteristic",
            name,
            f"it shows {len(alike)} of {channel.characteristic.value}, and number "
            f"{place + 1} is asked for",
            f"it shows: {', '.join(words) or 'nothing that is read here'}",
        )
    one = alike[place]
    measurement = es_measurement(await _descriptor(link, one, ES_MEASUREMENT_UUID16))
    if measurement is not None and measurement.sampling not in AVERAGES_WELL:
        raise gone(
            "not-averageable",
            name,
            f"{channel.characteristic.value} is sent as the {measurement.sampling.name.lower()} of "
            "each period, whose mean is no mean of the air",
            "set the device to send momentary or mean values",
        )
    trigger = await _descriptor(link, one, ES_TRIGGER_SETTING_UUID16)
    is_notified = one.can_notify and (is_paced(trigger) or not one.can_read)
    renewed_s = float(measurement.update_interval_s) if measurement else 0.0
    return _Found(
        channel=channel,
        characteristic=one,
        is_notified=is_notified,
        interval_s=max(device.interval_s, renewed_s),
    )


def _has(offered: tuple[GattCharacteristic, ...], uuid: str) -> bool:
    return any(one.uuid == uuid for one in offered)


async def _descriptor(link: GattLink, one: GattCharacteristic, uuid16: int) -> bytes:
    """A descriptor's value; empty where there is none or it may not be read."""
    handle = dict(one.descriptors).get(uuid_text(uuid16))
    if handle is None:
        return b""
    try:
        return await link.read_descriptor(handle)
    except UserError:
        return b""
