"""One connection to a device, heard by as many as want to: most devices allow no second one."""

from __future__ import annotations

import asyncio
from collections.abc import AsyncGenerator, Callable
from contextlib import AbstractAsyncContextManager

from ventwright.quantities import Problem, UserError
from ventwright.quantities.records import dataclass
from ventwright.streams.description import BleDevice, DeviceDescription, stream_channels
from ventwright.streams.modbus import open_modbus
from ventwright.streams.model import OpenDevice, Shown, StreamChannel, trouble_of
from ventwright.streams.radio import open_ble

_RETRY_S = (1.0, 2.0, 5.0)
_WAITING_COUNT = 256
"""Who falls so far behind is let go, rather than given a mean with holes in it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class StreamSample:
    """What a channel showed: a plain number with its digits, and when.

    `at_s` counts from an arbitrary moment and is good for differences.
    """

    text: str
    unit_of_measure: str
    at_s: float


Opener = Callable[[DeviceDescription], AbstractAsyncContextManager[OpenDevice]]


def open_device(device: DeviceDescription) -> AbstractAsyncContextManager[OpenDevice]:
    """Connect to a described device, whatever it is, for as long as a block runs.

    Parameters
    ----------
    device
        As its file describes it.

    Raises
    ------
    UserError
        If it can't be heard; says why.

    >>> from ventwright.streams.description import TcpDevice
    >>> async def listen():
    ...     async with open_device(TcpDevice(id="d", host="127.0.0.1", port_number=1.0,
    ...                                      channels=())):
    ...         pass
    >>> asyncio.run(listen())
    Traceback (most recent call last):
    ventwright.quantities.problems.UserError: d: it can't be reached at 127.0.0.1, port 1; see \
that it is on and in the same network, and that no other program holds it
    """
    return open_ble(device) if isinstance(device, BleDevice) else open_modbus(device)


class StreamHub:
    """A device that is connected while somebody listens.

    Parameters
    ----------
    device
        The description.
    opener
        Connects to it.
    """

    def __init__(self, device: DeviceDescription, opener: Opener = open_device) -> None:
        self.device = device
        self.channels: tuple[StreamChannel, ...] = stream_channels(device)
        self._opener = opener
        self._listeners: set[tuple[str, asyncio.Queue[StreamSample | Problem | None]]] = set()
        self._task: asyncio.Task[None] | None = None

    async def listen(self, channel_id: str) -> AsyncGenerator[StreamSample | Problem, None]:
        """Samples of a channel as they come, and what keeps them from coming; never ends by itself.

        Parameters
        ----------
        channel_id
            One of the device's channels.
        """
        queue: asyncio.Queue[StreamSample | Problem | None] = asyncio.Queue(_WAITING_COUNT)
        mine = (channel_id, queue)
        self._listeners.add(mine)
        if len(self._listeners) == 1:
            self._task = asyncio.create_task(self._run(self._task))
        try:
            while (item := await queue.get()) is not None:
                yield item
        finally:
            self._listeners.discard(mine)
            if not self._listeners and self._task is not None:
                self._task.cancel()

    async def _run(self, before: asyncio.Task[None] | None) -> None:
        if before is not None and before.get_loop() is asyncio.get_running_loop():
            # The device is let go before it is called again.
            await asyncio.wait([before])
        misses = 0
        while True:
            try:
                async with self._opener(self.device) as opened:
                    async for shown in opened.shown():
                        misses = 0
                        self._tell(shown)
            except UserError as trouble:
                for problem in trouble.problems:
                    self._tell_all(problem)
            await asyncio.sleep(_RETRY_S[min(misses, len(_RETRY_S) - 1)])
            misses += 1

    def _tell(self, shown: Shown) -> None:
        channel = next(one for one in self.channels if one.id == shown.channel)
        item: StreamSample | Problem
        if shown.text:
            item = StreamSample(
                text=shown.text,
                unit_of_measure=channel.unit_of_measure,
                at_s=asyncio.get_running_loop().time(),
            )
        else:
            item = shown.problem or trouble_of(
                "value-not-known",
                self.device.name or self.device.id,
                f"the device says that it knows no value of {channel.name}",
                "see that its probe is connected and warmed up",
            )
        self._tell_all(item, channel.id)

    def _tell_all(self, item: StreamSample | Problem, channel_id: str = "") -> None:
        for mine in tuple(self._listeners):
            wanted, queue = mine
            if channel_id not in ("", wanted):
                continue
            if queue.full():
                self._listeners.discard(mine)
                while not queue.empty():
                    queue.get_nowait()
                queue.put_nowait(None)
            else:
                queue.put_nowait(item)
