"""``ventwright report`` and ``ventwright sheet``."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

EXIT_DONE, EXIT_USER = 0, 2
_DECIMAL_MARKS = ("point", "comma")


def add_report(commands: Any, add_habits: Callable[[argparse.ArgumentParser], None]) -> None:
    """Add both commands to the parser.

    Parameters
    ----------
    commands
        Where commands are added.
    add_habits
        Adds the options on units and numbers that commands share.
    """
    report = commands.add_parser(
        "report",
        help="write the report of a visit",
        description="Assess a visit and write its report for owner, official and engineer: as PDF "
        "with the snapshot attached, as one HTML file, as JSON, or as a folder of CSV files.",
    )
    report.add_argument("house", type=Path, metavar="HOUSE", help="house file (.toml)")
    report.add_argument(
        "visit", type=Path, metavar="VISIT", help="visit file (.toml), or readings (.csv)"
    )
    report.add_argument(
        "--out", type=Path, required=True, metavar="FILE", help="file to write; a folder for csv"
    )
    report.add_argument(
        "--parts",
        default="owner,record,annex",
        metavar="LIST",
        help="readers it is for, with commas between (default: owner,record,annex)",
    )
    report.add_argument(
        "--format",
        choices=("pdf", "html", "csv", "json"),
        help="form of the report (default: by the ending of the file)",
    )
    report.add_argument(
        "--decimal",
        choices=_DECIMAL_MARKS,
        default="point",
        help="decimal mark of the numbers shown (default: point); typed text stays as typed",
    )
    report.add_argument(
        "--weather",
        type=Path,
        metavar="FILE",
        help="weather file for a year in the annex: EPW, TMY2, TMY3, or a table with units in its "
        "column names",
    )
    _add_paper(report)
    add_habits(report)
    sheet = commands.add_parser(
        "sheet",
        help="write a blank sheet of a house for a visit on paper",
        description="Write a PDF to be filled in by hand: all ports, states, terminals and "
        "settings of one house.",
    )
    sheet.add_argument("house", type=Path, metavar="HOUSE", help="house file (.toml)")
    sheet.add_argument("--out", type=Path, required=True, metavar="PDF", help="file to write")
    _add_paper(sheet)
    add_habits(sheet)


def _add_paper(command: argparse.ArgumentParser) -> None:
    command.add_argument(
        "--paper",
        choices=("a4", "us-letter"),
        help="paper of the PDF (default: us-letter with units ip, else a4)",
    )


def run_report(options: argparse.Namespace) -> int:
    """Write the report of a visit.

    Parameters
    ----------
    options
        Parsed command line.

    Returns
    -------
    int
        0, or 2 if something in the files could not be read (all else was reported).
    """
    from ventwright.actions import (
        assess_files,
        format_of,
        parts_of,
        preference_of,
        write_report_as,
        year_of_visit,
    )
    from ventwright.cli.assess import say_mistakes
    from ventwright.quantities import NumberStyle, UnitPreference, UserError

    parts, form = parts_of(options.parts), format_of(options.out, options.format)
    if options.weather and "annex" not in parts:
        raise UserError("--weather: a year stands in the annex; write annex among --parts")
    style = NumberStyle(options.numbers) if options.numbers else None
    found = assess_files(options.house, options.visit, number_style=style)
    preference = UnitPreference(options.units) if options.units else preference_of(found.snapshot)
    year = year_of_visit(found, options.weather) if options.weather else None
    written = write_report_as(
        found,
        options.out,
        preference=preference,
        format=form,
        parts=parts,
        paper=options.paper,
        photos_folder=options.visit.parent / "photos",
        number_style=NumberStyle(f"decimal_{options.decimal}"),
        year=year,
    )
    for path in written:
        print(f"report: {path}", file=sys.stderr)
    say_mistakes(found.mistakes)
    return EXIT_USER if found.mistakes else EXIT_DONE


def run_sheet(options: argparse.Namespace) -> int:
    """Write the blank sheet of a house.

    Parameters
    ----------
    options
        Parsed command line.
    """
    from ventwright.actions import house_preference, write_sheet
    from ventwright.quantities import UnitPreference

    preference = UnitPreference(options.units) if options.units else house_preference(options.house)
    write_sheet(options.house, options.out, preference=preference, paper=options.paper)
    print(f"sheet: {options.out}", file=sys.stderr)
    return EXIT_DONE
