"""``ventwright year``: a house hour by hour through a year of weather.

Only the options are set up when this module is imported; everything else is imported where it runs.
"""

from __future__ import annotations

import argparse
import math
import sys
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from ventwright.actions import HouseYear
    from ventwright.quantities import Dimension

EXIT_DONE, EXIT_USER = 0, 2
DECIMAL_MARKS = ("point", "comma")


def add_year(commands: Any, add_habits: Callable[[argparse.ArgumentParser], None]) -> None:
    """Add the command to the parser.

    Parameters
    ----------
    commands
        What `ArgumentParser.add_subparsers` gave.
    add_habits
        Adds the options for units of measure and numbers.
    """
    command = commands.add_parser(
        "year",
        help="follow a house through a year of weather",
        description="Read a house file and a weather file and follow the house hour by hour: dew "
        "points, wet hours of each surface, heat recovered and lost, water, frost, indoor "
        "humidity, each figure with what its assumptions leave open.",
    )
    command.add_argument("house", type=Path, metavar="HOUSE", help="house file (.toml)")
    command.add_argument(
        "--weather",
        type=Path,
        required=True,
        metavar="FILE",
        help="weather file: EPW, TMY2, TMY3, or a table with units in its column names",
    )
    command.add_argument(
        "--heat-to", metavar="TEMPERATURE", help='what heating holds (default: "20 °C")'
    )
    command.add_argument(
        "--cool-to", metavar="TEMPERATURE", help="what cooling holds (default: no cooling)"
    )
    command.add_argument(
        "--dry-to",
        metavar="HUMIDITY",
        help='relative humidity that drying is counted to (default: "60 %%")',
    )
    command.add_argument(
        "--dryer",
        metavar="RATE",
        help='capacity of a dehumidifier, e.g. "20 L/day"; "any" for as much as it takes '
        "(default: none)",
    )
    command.add_argument(
        "--moisture",
        metavar="RATE",
        help='moisture released in the house, e.g. "9 L/day" (default: by the people)',
    )
    command.add_argument("--json", action="store_true", help="print the findings as JSON instead")
    command.add_argument("--report", type=Path, metavar="PDF", help="also write the year as PDF")
    command.add_argument(
        "--pictures", type=Path, metavar="DIR", help="also write the charts as SVG"
    )
    command.add_argument(
        "--decimal",
        choices=DECIMAL_MARKS,
        default="point",
        help="decimal mark of the numbers shown (default: point); typed text stays as typed",
    )
    add_habits(command)


def run_year(options: argparse.Namespace) -> int:
    """Follow a house through a year and print what was found.

    Parameters
    ----------
    options
        Parsed command line.

    Returns
    -------
    int
        0, or 2 if something in the files could not be read (all else was followed).
    """
    from ventwright.actions import (
        house_preference,
        write_year_pictures,
        write_year_report,
        year_json,
        year_model,
    )
    from ventwright.cli.assess import say_mistakes
    from ventwright.quantities import NumberStyle, UnitPreference

    mark = NumberStyle(f"decimal_{options.decimal}")
    preference = UnitPreference(options.units) if options.units else house_preference(options.house)
    year = _follow(options)
    if options.json:
        sys.stdout.buffer.write(year_json(year))
        sys.stdout.flush()
    else:
        from rich.console import Console

        from ventwright.cli.show import show
        from ventwright.report import YEAR_SECTION_IDS

        show(
            year_model(year, preference=preference, number_style=mark),
            Console(),
            section_ids=YEAR_SECTION_IDS,
        )
    if options.report:
        write_year_report(year, options.report, preference=preference, number_style=mark)
        print(f"written: {options.report}", file=sys.stderr)
    if options.pictures:
        for path in write_year_pictures(
            year, options.pictures, preference=preference, number_style=mark
        ):
            print(f"written: {path}", file=sys.stderr)
    say_mistakes(year.mistakes)
    return EXIT_USER if year.mistakes else EXIT_DONE


def _follow(options: argparse.Namespace) -> HouseYear:
    """Follow the year under a bar of progress, which goes to the other stream and away again."""
    from rich.console import Console
    from rich.progress import Progress

    from ventwright.actions import follow_house_year, year_options
    from ventwright.quantities import Dimension, NumberStyle

    chosen = year_options(
        heating_c=_typed(options.heat_to, "--heat-to", Dimension.TEMPERATURE),
        cooling_c=_typed(options.cool_to, "--cool-to", Dimension.TEMPERATURE),
        wanted_rel_humidity_frac=_typed(options.dry_to, "--dry-to", Dimension.FRACTION),
        dehumidifier_kg_s=math.inf
        if options.dryer == "any"
        else _typed(options.dryer, "--dryer", Dimension.MOISTURE_RATE),
        release_kg_s=_typed(options.moisture, "--moisture", Dimension.MOISTURE_RATE),
    )
    with Progress(
        console=Console(stderr=True), transient=True, disable=not sys.stderr.isatty()
    ) as bar:
        task = bar.add_task("following the year", total=None)
        return follow_house_year(
            options.house,
            options.weather,
            options=chosen,
            number_style=NumberStyle(options.numbers) if options.numbers else None,
            on_progress=lambda done, count: bar.update(task, completed=done, total=count),
        )


def _typed(text: str | None, option: str, dimension: Dimension) -> float | None:
    from ventwright.quantities import QuantityError, UserError, parse

    if text is None:
        return None
    try:
        return parse(text, dimension=dimension).value_si
    except QuantityError as mistake:
        raise UserError(f"{option}: {mistake.message}; {mistake.remedy}") from mistake
