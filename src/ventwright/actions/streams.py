"""Listening to devices: which are there, what they send, and a timed average of it."""

from __future__ import annotations

from collections.abc import AsyncIterator, Sequence
from dataclasses import dataclass
from pathlib import Path

from ventwright.house import sample_step as step_of
from ventwright.quantities import Problem, UserError
from ventwright.streams import (
    NearDevice,
    StreamHub,
    StreamSample,
    near_devices,
    read_device,
)

__all__ = [
    "NearDevice",
    "StreamDesk",
    "StreamLine",
    "StreamSample",
    "hear_channel",
    "near_devices",
    "open_streams",
    "step_of",
]


@dataclass(frozen=True, slots=True, kw_only=True)
class StreamLine:
    """A channel as it is offered."""

    device: str
    channel: str
    label: str
    dimension: str
    unit_of_measure: str
    station: str


class StreamDesk:
    """The devices that a machine listens to, by their files.

    Parameters
    ----------
    hubs
        One for each device.
    """

    def __init__(self, hubs: Sequence[StreamHub] = ()) -> None:
        self._hubs = {hub.device.id: hub for hub in hubs}
        self.lines: tuple[StreamLine, ...] = tuple(
            StreamLine(
                device=hub.device.id,
                channel=channel.id,
                label=f"{hub.device.name or hub.device.id}: {channel.name}",
                dimension=channel.dimension.value,
                unit_of_measure=channel.unit_of_measure,
                station=channel.station,
            )
            for hub in hubs
            for channel in hub.channels
        )

    def hub(self, device_id: str, channel_id: str) -> StreamHub | None:
        """The device that has a channel; None if none has.

        Parameters
        ----------
        device_id, channel_id
            As in `lines`.
        """
        known = any((one.device, one.channel) == (device_id, channel_id) for one in self.lines)
        return self._hubs[device_id] if known else None


def open_streams(paths: Sequence[Path]) -> StreamDesk:
    """Read device files; nothing is connected before somebody listens.

    Parameters
    ----------
    paths
        Device files.

    Raises
    ------
    UserError
        With file and line of what is wrong, or if two devices share an id.

    >>> open_streams([]).lines
    ()
    """
    hubs: list[StreamHub] = []
    for path in paths:
        device = read_device(path)
        if any(hub.device.id == device.id for hub in hubs):
            raise UserError(
                f"{path.name}: another device has the id {device.id!r} already; give each its own"
            )
        hubs.append(StreamHub(device))
    return StreamDesk(hubs)


async def hear_channel(
    desk: StreamDesk, line: StreamLine, *, duration_s: float
) -> AsyncIterator[StreamSample | Problem]:
    """Samples of a channel for a while, and what keeps them from coming.

    Parameters
    ----------
    desk
        As `open_streams` gives it.
    line
        One of its lines.
    duration_s
        How long [s], from the first sample on.

    >>> import asyncio
    >>> async def none():
    ...     line = StreamLine(device="d", channel="c", label="", dimension="", unit_of_measure="",
    ...                       station="")
    ...     return [one async for one in hear_channel(StreamDesk(), line, duration_s=1.0)]
    >>> asyncio.run(none())
    []
    """
    hub = desk.hub(line.device, line.channel)
    if hub is None:
        return
    first_s: float | None = None
    heard = hub.listen(line.channel)
    try:
        async for item in heard:
            yield item
            if isinstance(item, StreamSample):
                first_s = item.at_s if first_s is None else first_s
                if item.at_s - first_s >= duration_s:
                    return
    finally:
        await heard.aclose()
