"""``ventwright listen``."""

from __future__ import annotations

import argparse
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

from ventwright.quantities.problems import UserError

if TYPE_CHECKING:
    from ventwright.actions.streams import StreamDesk, StreamLine, StreamSample

EXIT_DONE = 0


def add_listen(commands: Any) -> None:
    """Add the command to the parser.

    Parameters
    ----------
    commands
        Sub-parsers of the command line.
    """
    listen = commands.add_parser(
        "listen",
        help="hear what a Bluetooth or Modbus device sends, and average it",
        description="Connect to the device that a file describes, print what one of its channels "
        "sends, and its timed average: mean, steadiness, how long to go on. Needs the extra ble or "
        "modbus.",
    )
    listen.add_argument(
        "device", type=Path, nargs="?", metavar="FILE", help="what describes the device (.toml)"
    )
    listen.add_argument(
        "--near",
        action="store_true",
        help="list Bluetooth devices in reach that offer Environmental Sensing",
    )
    listen.add_argument(
        "--channel", default="", metavar="ID", help="one of its channels (default: the first)"
    )
    listen.add_argument(
        "--for", dest="seconds", type=float, default=30.0, metavar="S", help="seconds (default: 30)"
    )
    listen.add_argument(
        "--wanted",
        type=float,
        default=2.0,
        metavar="PERCENT",
        help="uncertainty wanted, in per cent of the mean (default: 2)",
    )
    listen.add_argument(
        "--csv", type=Path, metavar="OUT", help="also write the samples, for ventwright log"
    )


def run_listen(options: argparse.Namespace) -> int:
    """Listen for a while, or list what is near.

    Parameters
    ----------
    options
        Parsed command line.

    Returns
    -------
    int
        0.
    """
    if options.near:
        return _near()
    if options.device is None:
        raise UserError("name the file that describes the device, or look around with --near")
    if not (options.seconds > 0.0 and 0.0 < options.wanted <= 100.0):
        raise UserError("--for wants seconds above 0, --wanted per cent above 0 and up to 100")
    import asyncio

    from ventwright.actions.streams import open_streams

    desk = open_streams([options.device])
    line = _line(desk, options.channel)
    print(f"{line.label} [{line.unit_of_measure}]", flush=True)
    samples: list[StreamSample] = []
    with _csv(options.csv, line) as write:
        try:
            asyncio.run(_hear(desk, line, options.seconds, samples, write))
        except KeyboardInterrupt:
            print()
    if samples:
        print(_average(samples, wanted_frac=0.01 * options.wanted))
    return EXIT_DONE


def _near() -> int:
    import asyncio

    from ventwright.actions.streams import near_devices

    found = asyncio.run(near_devices())
    for one in found:
        print(f'address = "{one.address}"  advertised_name = "{one.advertised_name}"')
    if not found:
        print("No device in reach offers Environmental Sensing.")
    return EXIT_DONE


def _line(desk: StreamDesk, channel_id: str) -> StreamLine:
    found = next((one for one in desk.lines if channel_id in ("", one.channel)), None)
    if found is None:
        raise UserError(
            f"the device has no channel {channel_id!r}; it has: "
            + ", ".join(one.channel for one in desk.lines)
        )
    return found


async def _hear(
    desk: StreamDesk, line: StreamLine, seconds_s: float, samples: list[StreamSample], write: Any
) -> None:
    from ventwright.actions.streams import StreamSample, hear_channel

    async for item in hear_channel(desk, line, duration_s=seconds_s):
        if not isinstance(item, StreamSample):
            # Before the first sample nothing is lost by giving up; after it, it comes again.
            if not samples:
                raise UserError(f"{item.where}: {item.message}; {item.remedy}", problems=(item,))
            print(f"  {item.message}; {item.remedy}", flush=True)
            continue
        samples.append(item)
        write(item)
        print(f"{item.at_s - samples[0].at_s:8.1f} s  {item.text}", flush=True)


@contextmanager
def _csv(path: Path | None, line: StreamLine) -> Iterator[Any]:
    """What writes a sample into a table that a log is taken in from; nothing without a path."""
    if path is None:
        yield lambda _: None
        return
    try:
        with path.open("w", encoding="utf-8", newline="") as out:
            name = f"{line.channel} [{line.unit_of_measure}]"
            out.write(f'Time,"{name}"\n')
            yield lambda sample: out.write(
                f"{datetime.now(UTC).isoformat(timespec='milliseconds')},{sample.text}\n"
            )
    except OSError as trouble:
        raise UserError(f"can't write {path}: {trouble.strerror or trouble}") from trouble


def _average(samples: list[StreamSample], *, wanted_frac: float) -> str:
    from ventwright.actions.field import average_sweep
    from ventwright.actions.streams import step_of

    count = len(samples)
    spacing_s = (samples[-1].at_s - samples[0].at_s) / (count - 1) if count > 1 else 1.0
    return average_sweep(
        [float(sample.text) for sample in samples],
        interval_s=spacing_s,
        wanted_frac=wanted_frac,
        resolution=step_of([sample.text for sample in samples]),
    ).message
