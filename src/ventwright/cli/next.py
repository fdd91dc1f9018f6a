"""``ventwright next``: which damper to turn now, and the reading to stop at.

Only the options are set up when this module is imported; everything else is imported where it runs.
"""

from __future__ import annotations

import argparse
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

EXIT_DONE, EXIT_USER = 0, 2


def add_next(commands: Any, add_habits: Callable[[argparse.ArgumentParser], None]) -> None:
    """Add the command to the parser.

    Parameters
    ----------
    commands
        What `ArgumentParser.add_subparsers` gave.
    add_habits
        Adds the options for units of measure and numbers.
    """
    command = commands.add_parser(
        "next",
        help="say which damper to turn now, and the reading to stop at",
        description="Read a house file and a visit file with all readings and adjustments so far, "
        "and print the next step of balancing and the picture it rests on.",
    )
    command.add_argument("house", type=Path, metavar="HOUSE", help="house file (.toml)")
    command.add_argument(
        "visit", type=Path, metavar="VISIT", help="visit file (.toml), or readings (.csv)"
    )
    command.add_argument(
        "--style",
        choices=("live", "blind", "remote"),
        default="live",
        help="how dampers are set: live, with the meter in place while the hand turns (default); "
        "blind, the meter hides the damper; remote, turned in another place",
    )
    command.add_argument("--json", action="store_true", help="print JSON instead of words")
    add_habits(command)


def run_next(options: argparse.Namespace) -> int:
    """Print the next step.

    Parameters
    ----------
    options
        Parsed command line.

    Returns
    -------
    int
        0, or 2 if something in the files could not be read (guidance rests on all else).
    """
    from ventwright.actions import (
        assess_files,
        guide_visit,
        next_json,
        next_model,
        preference_of,
    )
    from ventwright.cli.assess import say_mistakes
    from ventwright.quantities import NumberStyle, UnitPreference

    style = NumberStyle(options.numbers) if options.numbers else None
    assessment = assess_files(options.house, options.visit, number_style=style)
    guides = guide_visit(assessment, style=options.style)
    if options.json:
        sys.stdout.buffer.write(next_json(assessment, guides))
        sys.stdout.flush()
    else:
        from rich.console import Console

        from ventwright.cli.show import show
        from ventwright.report import NEXT_SECTION_IDS

        preference = (
            UnitPreference(options.units) if options.units else preference_of(assessment.snapshot)
        )
        model = next_model(assessment, guides, preference=preference)
        show(model, Console(), section_ids=NEXT_SECTION_IDS)
    say_mistakes(assessment.mistakes)
    return EXIT_USER if assessment.mistakes else EXIT_DONE
