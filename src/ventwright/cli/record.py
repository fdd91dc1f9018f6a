"""The commands on the record: lists, import and export, backup, restore, verify.

Only the options are set up when this module is imported; everything else is imported where it runs.
"""

from __future__ import annotations

import argparse
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from ventwright.cli.probe_log import LOG_COMMAND, add_log, run_log
from ventwright.cli.problems import say_problems

EXIT_DONE, EXIT_USER = 0, 2
_MOST_SHOWN = 20


def add_record(commands: Any) -> None:
    """Add the commands to the parser.

    Parameters
    ----------
    commands
        What `ArgumentParser.add_subparsers` gave.
    """
    houses = record_command(commands, "houses", "list the houses of the record")
    houses.add_argument("words", nargs="*", metavar="WORD", help="words in id, name or place")
    visits = record_command(commands, "visits", "list the visits of a house, or those changed last")
    visits.add_argument("house", nargs="?", metavar="HOUSE", help="id of a house")
    for one in (houses, visits):
        one.add_argument("--json", action="store_true", help="print JSON instead of a table")
    exported = record_command(
        commands,
        "export",
        "write a house with its visits as files, or as one bundle",
        "Write a house and its visits as house and visit files into a folder, or, with a name that "
        "ends in .zip, everything that is kept of it as one bundle.",
    )
    exported.add_argument("house", metavar="HOUSE", help="id of a house")
    exported.add_argument(
        "--to",
        type=Path,
        metavar="PATH",
        help="folder, or bundle if it ends in .zip (default: a folder named like the house)",
    )
    imported = record_command(
        commands,
        "import",
        "take house and visit files, folders or bundles into the record",
        "Take files into the record. What is there already is left as it is; what contradicts it "
        "is kept beside it and said to be contested.",
    )
    imported.add_argument(
        "paths", nargs="+", type=Path, metavar="PATH", help=".toml, .csv, .zip, or a folder"
    )
    imported.add_argument(
        "--house", default="", metavar="HOUSE", help="house of readings in a .csv file alone"
    )
    imported.add_argument("--by", default="", metavar="NAME", help="who takes it in")
    imported.add_argument(
        "--numbers",
        choices=("decimal_point", "decimal_comma"),
        help="how a number with a lone comma is meant (default: refused where ambiguous)",
    )
    add_log(record_command(commands, *LOG_COMMAND))
    backup = record_command(
        commands,
        "backup",
        "copy the whole record into one file, while it may be in use",
        "Copy the whole record into one file. With a name that ends in .zip it is a bundle, which "
        "either database takes back.",
    )
    backup.add_argument("file", type=Path, metavar="FILE", help="the copy")
    restored = record_command(commands, "restore", "put a backup back")
    restored.add_argument("file", type=Path, metavar="FILE", help="a backup")
    restored.add_argument(
        "--replace",
        action="store_true",
        help="replace a record that is not empty; it is copied aside first",
    )
    verified = record_command(
        commands,
        "verify",
        "verify that nothing recorded was altered, and work every report out again",
        "Check every entry against its chain and every file against its hash, then work each "
        "issued report out again from its snapshot and list what differs.",
    )
    verified.add_argument(
        "--no-reports", action="store_true", help="leave out working the reports out again"
    )
    verified.add_argument("--json", action="store_true", help="print JSON instead of words")


def record_command(commands: Any, name: str, help_text: str, description: str = "") -> Any:
    """Add one command with the option that says where the record is.

    Parameters
    ----------
    commands
        What `ArgumentParser.add_subparsers` gave.
    name, help_text
        The command, in a word and in a line.
    description
        More of it; empty takes the line.

    Returns
    -------
    ArgumentParser
        The command's parser.
    """
    said = description or f"{help_text[0].upper()}{help_text[1:]}."
    command = commands.add_parser(name, help=help_text, description=said)
    command.add_argument(
        "--record",
        default="",
        metavar="URL",
        help="address of the record (default: $VENTWRIGHT_DATABASE_URL, else a file in the user's "
        "data folder)",
    )
    return command


def run_record(options: argparse.Namespace) -> int:
    """Run one of the commands.

    Parameters
    ----------
    options
        Parsed command line.

    Returns
    -------
    int
        0, or 2 if there is something for the user to mend.
    """
    return _RUNS[options.command](options)


def _houses(options: argparse.Namespace) -> int:
    from ventwright.actions.record import find_houses, open_ledger

    rows: list[Any] = []
    with open_ledger(options.record, via="cli") as ledger:
        after = None
        while True:
            page = find_houses(
                ledger, words=" ".join(options.words), after_key=after, page_count=500
            )
            rows += page.lines
            after = page.next_key
            if after is None:
                break
    _print_rows("houses", rows, ("id", "name", "place", "number"), options, {"number": "revision"})
    return EXIT_DONE


def _visits(options: argparse.Namespace) -> int:
    from ventwright.actions.record import find_visits, open_ledger

    with open_ledger(options.record, via="cli") as ledger:
        rows = find_visits(ledger, house_id=options.house)
    keys = ("id", "house", "started_at", "technician", "number", "is_closed")
    words = {"started_at": "started (UTC)", "number": "entries", "is_closed": "closed"}
    _print_rows("visits", rows, keys, options, words)
    return EXIT_DONE


def _print_rows(
    what: str, rows: Any, keys: tuple[str, ...], options: argparse.Namespace, words: dict[str, str]
) -> None:
    if options.json:
        from dataclasses import asdict

        _print_json({"schema": f"ventwright-{what}-1", what: [asdict(row) for row in rows]})
        return
    from rich.console import Console
    from rich.table import Table
    from rich.text import Text

    if not rows:
        print(f"no {what} yet" if not getattr(options, "words", None) else f"no {what} found")
        return
    table = Table()
    for key in keys:
        table.add_column(
            words.get(key, key), no_wrap=key in ("id", "house", "number"), overflow="fold"
        )
    for row in rows:
        table.add_row(*(Text(_cell(getattr(row, key))) for key in keys))
    Console().print(table)


def _cell(value: object) -> str:
    if isinstance(value, bool):
        return "yes" if value else ""
    text = "" if value is None else str(value)
    return text[:16].replace("T", " ") if text[10:11] == "T" and text.endswith("Z") else text


def _print_json(what: object) -> None:
    import json

    print(json.dumps(what, ensure_ascii=False, indent=1, sort_keys=True))


def _export(options: argparse.Namespace) -> int:
    from ventwright.actions.record import export_bundle, export_files, open_ledger

    target = options.to or Path(options.house)
    with open_ledger(options.record, must_exist=True, via="cli") as ledger:
        if target.suffix.casefold() == ".zip":
            with _progress("writing") as tell:
                export_bundle(ledger, target, house_id=options.house, tell=tell)
            print(target)
        else:
            for path in export_files(ledger, options.house, target).paths:
                print(path)
    return EXIT_DONE


def _import(options: argparse.Namespace) -> int:
    from ventwright.actions.record import import_paths, open_ledger
    from ventwright.quantities import NumberStyle

    style = NumberStyle(options.numbers) if options.numbers else None
    with open_ledger(options.record, via="import") as ledger, _progress("reading") as tell:
        found = import_paths(
            ledger,
            options.paths,
            house_id=options.house,
            number_style=style,
            by=options.by,
            tell=tell,
        )
    for what, names in (("house", found.houses), ("visit", found.visits)):
        for name in names:
            print(f"{what} {name}")
    print(f"{found.new_count} new entries" if found.new_count != 1 else "1 new entry")
    say_problems(found.problems)
    return EXIT_DONE


def _backup(options: argparse.Namespace) -> int:
    from ventwright.actions.record import back_up_record, open_ledger

    with (
        open_ledger(options.record, must_exist=True, via="cli") as ledger,
        _progress("copying") as tell,
    ):
        kind = back_up_record(ledger, options.file, tell=tell)
    print(f"{options.file}: {kind}, {options.file.stat().st_size} bytes")
    return EXIT_DONE


def _restore(options: argparse.Namespace) -> int:
    from ventwright.actions.record import restore_record

    with _progress("restoring") as tell:
        aside = restore_record(
            options.file, url=options.record, is_to_replace=options.replace, tell=tell
        )
    print(f"restored from {options.file}")
    if aside is not None:
        print(f"what was there before: {aside}")
    return EXIT_DONE


def _verify(options: argparse.Namespace) -> int:
    from ventwright.actions.record import open_ledger, verify_record

    with (
        open_ledger(options.record, must_exist=True, via="cli") as ledger,
        _progress("verifying") as tell,
    ):
        found = verify_record(ledger, tell=tell, is_to_recompute=not options.no_reports)
    if options.json:
        from dataclasses import asdict

        _print_json({"schema": "ventwright-verification-1", **asdict(found)})
    else:
        _say_verification(found)
    return EXIT_DONE if found.is_intact and not found.differing else EXIT_USER


def _say_verification(found: Any) -> None:
    counts = found.counts
    print(
        f"{counts.house_count} houses, {counts.visit_count} visits, {counts.entry_count} entries, "
        f"{counts.report_count} reports, {counts.blob_count} files"
    )
    print("nothing is altered, lost or doubled" if found.is_intact else "NOT INTACT")
    say_problems(found.problems)
    again = len(found.recomputations) - len(found.differing)
    if found.recomputations:
        print(f"{again} of {len(found.recomputations)} reports come out the same")
    for one in found.differing:
        print(
            f"report {one.house}/{one.number}: issued by version {one.engine_then or '?'}, worked "
            f"out again by {one.engine_now}"
        )
        if one.trouble:
            print(f"  can't be worked out again: {one.trouble}")
        for difference in one.differences[:_MOST_SHOWN]:
            print(f"  {difference.path}: {difference.issued} → {difference.recomputed}")
        if len(one.differences) > _MOST_SHOWN:
            print(f"  and {len(one.differences) - _MOST_SHOWN} more; --json lists all")
    for release, text in found.changes:
        print(f"Numbers that change, {release}:\n{text}")


@contextmanager
def _progress(what: str) -> Iterator[Callable[[int, int], None]]:
    """A bar on a terminal; nothing where the output goes elsewhere."""
    if not sys.stderr.isatty():
        yield lambda _done, _all: None
        return
    from rich.console import Console
    from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn

    columns = (TextColumn("{task.description}"), BarColumn(), MofNCompleteColumn())
    with Progress(*columns, console=Console(stderr=True), transient=True) as bar:
        task = bar.add_task(what, total=None)
        yield lambda done, total: bar.update(task, completed=done, total=total)


_RUNS: dict[str, Callable[[argparse.Namespace], int]] = {
    "houses": _houses,
    "visits": _visits,
    "export": _export,
    "import": _import,
    "log": run_log,
    "backup": _backup,
    "restore": _restore,
    "verify": _verify,
}
RECORD_COMMANDS = tuple(_RUNS)
