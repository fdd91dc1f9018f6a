"""``ventwright plan``: what a house as designed will do, and what will have to be closed.

Only the options are set up when this module is imported; everything else is imported where it runs.
"""

from __future__ import annotations

import argparse
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

EXIT_DONE, EXIT_USER = 0, 2
DECIMAL_MARKS = ("point", "comma")


def add_plan(commands: Any, add_habits: Callable[[argparse.ArgumentParser], None]) -> None:
    """Add the command to the parser.

    Parameters
    ----------
    commands
        What `ArgumentParser.add_subparsers` gave.
    add_habits
        Adds the options for units of measure and numbers.
    """
    command = commands.add_parser(
        "plan",
        help="plan a house from its file",
        description="Read a house file and predict, before anything is built or measured: totals "
        "and split, operating point, index run, what will have to be closed, power, and what one "
        "size up would give.",
    )
    command.add_argument("house", type=Path, metavar="HOUSE", help="house file (.toml)")
    command.add_argument(
        "--json", action="store_true", help="print the plan as JSON instead of words"
    )
    command.add_argument("--svg", type=Path, metavar="FILE", help="also draw the trees of ducts")
    command.add_argument("--report", type=Path, metavar="PDF", help="also write the plan as PDF")
    command.add_argument(
        "--decimal",
        choices=DECIMAL_MARKS,
        default="point",
        help="decimal mark of the numbers shown (default: point); typed text stays as typed",
    )
    add_habits(command)


def run_plan(options: argparse.Namespace) -> int:
    """Plan a house and print what was found.

    Parameters
    ----------
    options
        Parsed command line.

    Returns
    -------
    int
        0, or 2 if something in the file could not be read (all else was planned).
    """
    from ventwright.actions import (
        house_preference,
        plan_file,
        plan_json,
        plan_model,
        write_plan_drawing,
        write_plan_report,
    )
    from ventwright.cli.assess import say_mistakes
    from ventwright.quantities import NumberStyle, UnitPreference

    style = NumberStyle(options.numbers) if options.numbers else None
    plan = plan_file(options.house, number_style=style)
    mark = NumberStyle(f"decimal_{options.decimal}")
    preference = UnitPreference(options.units) if options.units else house_preference(options.house)
    if options.json:
        sys.stdout.buffer.write(plan_json(plan))
        sys.stdout.flush()
    else:
        from rich.console import Console

        from ventwright.cli.show import show
        from ventwright.report import PLAN_SECTION_IDS

        show(
            plan_model(plan, preference=preference, number_style=mark),
            Console(),
            section_ids=PLAN_SECTION_IDS,
        )
    for path, write in (
        (options.svg, write_plan_drawing),
        (options.report, write_plan_report),
    ):
        if path:
            write(plan, path, preference=preference, number_style=mark)
            print(f"written: {path}", file=sys.stderr)
    say_mistakes(plan.mistakes)
    return EXIT_USER if plan.mistakes else EXIT_DONE
