"""``ventwright log``."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import Any

from ventwright.cli.problems import say_problems

EXIT_DONE = 0
LOG_COMMAND = (
    "log",
    "take a logger's CSV file into a visit and make a reading of a stretch of it",
    "Keep a logger's CSV file with a visit and make a reading of its means over a stretch of time. "
    "Which column is which is remembered for the visit and for a registered instrument.",
)


def add_log(log: Any) -> None:
    """Add the command's options.

    Parameters
    ----------
    log
        Its parser.
    """
    log.add_argument("file", type=Path, metavar="FILE", help="the logger's file (.csv)")
    for name, what in (
        ("visit", "id of the visit"),
        ("instrument", "id of the logger's probe"),
        ("station", "where it was measured, e.g. SUP or room:bath"),
        ("setting", "fan setting"),
        ("phase", "as_found, interim or as_left"),
        ("id", "id of the reading"),
    ):
        log.add_argument(f"--{name}", required=True, metavar=name.upper(), help=what)
    log.add_argument("--from", dest="begins", metavar="TIME", help="e.g. 2026-03-04T09:10:00-07:00")
    log.add_argument("--until", dest="ends", metavar="TIME", help="the same")
    log.add_argument("--time", default="", metavar="HEADER", help="header of the column of times")
    log.add_argument("--time-form", default="", metavar="FORM", help="e.g. %%d.%%m.%%Y %%H:%%M:%%S")
    log.add_argument(
        "--offset",
        default="",
        metavar="OFFSET",
        help="logger's clock against UTC, e.g. --offset=-07:00",
    )
    log.add_argument(
        "--column",
        action="append",
        default=[],
        nargs=3,
        metavar=("HEADER", "KEY", "UNIT"),
        help='e.g. --column "T1" temperature "°C"; once for each column',
    )


def run_log(options: argparse.Namespace) -> int:
    """Take a logger's file into a visit.

    Parameters
    ----------
    options
        Parsed command line.

    Returns
    -------
    int
        0.
    """
    from ventwright.actions.record import (
        LogColumn,
        LogMapping,
        LogStretch,
        Phase,
        open_ledger,
        take_log,
    )
    from ventwright.quantities import UserError

    mapping = None
    if options.column:
        mapping = LogMapping(
            time_header=options.time,
            time_form=options.time_form,
            offset=options.offset,
            columns=tuple(
                LogColumn(header=h, key=k, unit_of_measure=u) for h, k, u in options.column
            ),
        )
    try:
        content = options.file.read_bytes()
        phase = Phase(options.phase)
    except (OSError, ValueError) as mistake:
        raise UserError(f"{options.file}: {mistake}") from mistake
    stretch = LogStretch(
        reading_id=options.id,
        instrument=options.instrument,
        station=options.station,
        setting=options.setting,
        phase=phase,
        begins=_time(options.begins),
        ends=_time(options.ends),
    )
    with open_ledger(options.record, must_exist=True, via="log") as ledger:
        handed = take_log(
            ledger, options.visit, content, stretch, name=options.file.name, mapping=mapping
        )
    print(f"reading {options.id}: {handed.receipt.state.value}")
    say_problems(handed.problems)
    return EXIT_DONE


def _time(text: str | None) -> Any:
    from datetime import datetime

    from ventwright.quantities import UserError

    if text is None:
        return None
    try:
        found = datetime.fromisoformat(text)
    except ValueError:
        found = None
    if found is None or found.tzinfo is None:
        raise UserError(f"{text!r} is no time with its offset; write 2026-03-04T09:10:00-07:00")
    return found
