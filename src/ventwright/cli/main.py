"""The command line: a thin door. Heavy imports happen inside the commands, so help is quick."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Sequence
from pathlib import Path

from ventwright.cli.listen import add_listen, run_listen
from ventwright.cli.next import add_next, run_next
from ventwright.cli.plan import add_plan, run_plan
from ventwright.cli.record import RECORD_COMMANDS, add_record, run_record
from ventwright.cli.report import add_report, run_report, run_sheet
from ventwright.cli.requirements import add_requirements, run_requirements
from ventwright.cli.serve import add_serve, run_devices, run_serve
from ventwright.cli.year import add_year, run_year
from ventwright.quantities.problems import UserError

EXIT_DONE, EXIT_USER, EXIT_BUG = 0, 2, 70
_UNITS = ("ip", "si_ls", "si_m3h")
_NUMBERS = ("decimal_point", "decimal_comma")


def build_parser() -> argparse.ArgumentParser:
    """The commands and their options.

    >>> build_parser().parse_args(["assess", "house.toml", "visit.toml"]).command
    'assess'
    """
    from ventwright import __version__

    parser = argparse.ArgumentParser(
        prog="ventwright",
        description="Commissioning of balanced house ventilation: honest flows, balance, heat and "
        "moisture, a report that stands.",
        epilog="Exit codes: 0 done; 2 something for you to mend, named with file and line; 70 a "
        "fault of ours.",
    )
    parser.add_argument("--version", action="version", version=f"ventwright {__version__}")
    commands = parser.add_subparsers(dest="command", required=True, metavar="COMMAND")
    assess = commands.add_parser(
        "assess",
        help="assess a visit from its files",
        description="Read a house file and a visit file, assess the visit, print what was found.",
    )
    assess.add_argument("house", type=Path, metavar="HOUSE", help="house file (.toml)")
    assess.add_argument(
        "visit", type=Path, metavar="VISIT", help="visit file (.toml), or readings (.csv)"
    )
    assess.add_argument("--report", type=Path, metavar="PDF", help="also write the report")
    assess.add_argument(
        "--json", action="store_true", help="print the findings as JSON instead of words"
    )
    _add_habits(assess)
    demo = commands.add_parser(
        "demo",
        help="assess an invented house",
        description="Write an invented house and visit, assess them, print what was found, write "
        "the findings and the report beside them, and serve the pages to try.",
    )
    demo.add_argument("--once", action="store_true", help="write and print, and serve no pages")
    demo.add_argument(
        "--out", type=Path, default=Path("demo"), metavar="DIR", help="folder (default: demo)"
    )
    demo.add_argument(
        "--port", type=int, default=None, metavar="N", help="port of the pages (default: 8470)"
    )
    _add_habits(demo)
    add_next(commands, _add_habits)
    add_plan(commands, _add_habits)
    add_report(commands, _add_habits)
    add_year(commands, _add_habits)
    add_requirements(commands)
    add_record(commands)
    add_serve(commands)
    add_listen(commands)
    return parser


def _add_habits(command: argparse.ArgumentParser) -> None:
    command.add_argument(
        "--units",
        choices=_UNITS,
        help="units of measure to show (default: as typed)",
    )
    command.add_argument(
        "--numbers",
        choices=_NUMBERS,
        help="how a number with a lone comma is meant (default: refused where ambiguous)",
    )


def main(arguments: Sequence[str] | None = None) -> int:
    """Run one command and return its exit code.

    Parameters
    ----------
    arguments
        Words of the command line; None takes the program's own.

    Returns
    -------
    int
        0 done, 2 the user's to mend, 70 our fault.

    >>> main(["assess", "no_such_house.toml", "no_such_visit.toml"])
    2
    """
    options = build_parser().parse_args(arguments)
    try:
        return _run(options)
    except UserError as mistake:
        _say_mistake(mistake)
        return EXIT_USER
    except BrokenPipeError:
        # The reader of our output went away (a pager closed); nothing is left to say.
        sys.stderr.close()
        return EXIT_DONE
    except Exception as bug:
        _say_bug(bug)
        return EXIT_BUG


_RUNS = {
    "devices": run_devices,
    "listen": run_listen,
    "next": run_next,
    "plan": run_plan,
    "report": run_report,
    "requirements": run_requirements,
    **dict.fromkeys(RECORD_COMMANDS, run_record),
    "serve": run_serve,
    "sheet": run_sheet,
    "year": run_year,
}


def _run(options: argparse.Namespace) -> int:
    run = _RUNS.get(options.command)
    if run is not None:
        return run(options)
    if options.command == "assess":
        from ventwright.cli.assess import run_assess

        return run_assess(options)
    from ventwright.cli.demo import run_demo

    return run_demo(options)


def _say_mistake(mistake: UserError) -> None:
    print(f"ventwright: {mistake}", file=sys.stderr)
    for problem in mistake.problems:
        print(f"  {problem.where}: {problem.message}", file=sys.stderr)
        if problem.remedy:
            print(f"    → {problem.remedy}", file=sys.stderr)


def _say_bug(bug: Exception) -> None:
    """Keep the whole traceback in a file and say where: a user can send it, a screen can't."""
    import tempfile
    import traceback

    with tempfile.NamedTemporaryFile(
        "w", prefix="ventwright-fault-", suffix=".txt", delete=False, encoding="utf-8"
    ) as file:
        file.write("".join(traceback.format_exception(bug)))
    print(
        f"ventwright: a fault of ours, not of your files: {type(bug).__name__}: {bug}\n"
        f"  details: {file.name}",
        file=sys.stderr,
    )
