"""``ventwright requirements``: what the rule sets say, and what they ask of a house.

Only the options are set up when this module is imported; everything else is imported where it runs.
"""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from rich.table import Table

    from ventwright.actions import RuleSetListing

EXIT_DONE = 0
_TRUST_WORDS = {
    "read": "text read",
    "second_hand": "second hand",
    "memory": "from memory",
    "own": "own target",
}
_CAUTION = (
    "A figure from memory is no requirement until its text was read; no verdict that rests on one "
    "is compliance. Local codes and licensed practice decide."
)


def add_requirements(commands: Any) -> None:
    """Add the command and its own commands to the parser.

    Parameters
    ----------
    commands
        What `ArgumentParser.add_subparsers` gave.
    """
    command = commands.add_parser(
        "requirements",
        help="list rule sets, show one, or hold a house against several",
        description="What the rule sets say, with source, edition, clause and trust of each value.",
    )
    inner = command.add_subparsers(dest="requirements", required=True, metavar="WHAT")
    listed = inner.add_parser(
        "list", help="list the rule sets", description="List the rule sets that ship."
    )
    shown = inner.add_parser(
        "show",
        help="show one rule set",
        description="Show every value of a rule set with source, edition, clause and trust.",
    )
    shown.add_argument("id", metavar="ID", help="id of the rule set, as `list` gives it")
    shown.add_argument(
        "--beside",
        type=Path,
        metavar="DIR",
        help="folder of a house file, whose folder 'rules' is looked in first",
    )
    compared = inner.add_parser(
        "compare",
        help="hold one house against several rule sets",
        description="What each rule set asks of a house, and, with two flows, whether it is met.",
    )
    compared.add_argument("house", type=Path, metavar="HOUSE", help="house file (.toml)")
    compared.add_argument("ids", nargs="*", metavar="ID", help="rule sets (default: all)")
    for name, what in (("supply", "total supply"), ("extract", "total extract")):
        compared.add_argument(f"--{name}", metavar="FLOW", help=f'{what} to judge, e.g. "100 cfm"')
    compared.add_argument(
        "--weather-factor",
        metavar="NUMBER",
        help="weather and shielding factor of the place, for infiltration credits",
    )
    compared.add_argument(
        "--exterior-share",
        metavar="SHARE",
        help='share of the envelope that faces outdoors, e.g. "100 %%" for a detached house',
    )
    compared.add_argument(
        "--units",
        choices=("ip", "si_ls", "si_m3h"),
        default="si_ls",
        help="units of measure to show (default: si_ls)",
    )
    for one in (listed, shown, compared):
        one.add_argument("--json", action="store_true", help="print JSON instead of a table")


def run_requirements(options: argparse.Namespace) -> int:
    """Run one of the commands.

    Parameters
    ----------
    options
        Parsed command line.

    Returns
    -------
    int
        0.
    """
    if options.requirements == "compare":
        from ventwright.cli.compare import run_compare

        return run_compare(options)
    from ventwright.actions import list_rule_set, shipped_rule_sets

    if options.requirements == "list":
        listings = [list_rule_set(one) for one in shipped_rule_sets()]
        _print(_list_json(listings) if options.json else _list_table(listings))
        return EXIT_DONE
    listing = list_rule_set(options.id, beside=options.beside)
    if options.json:
        from dataclasses import asdict

        _print({"schema": "ventwright-rule-set-listing-1", **asdict(listing)})
        return EXIT_DONE
    _print(f"{listing.name}, {listing.edition}" if listing.edition else listing.name)
    if listing.note:
        _print(listing.note)
    _print(_show_table(listing))
    for key, title in dict.fromkeys((line.source, line.title) for line in listing.lines):
        _print(f"{key}: {title}")
    _print(_CAUTION)
    return EXIT_DONE


def _list_json(listings: list[RuleSetListing]) -> dict[str, object]:
    rows = [
        {
            "id": one.id,
            "name": one.name,
            "edition": one.edition,
            "trust": list(one.trusts),
            "values": len(one.lines),
        }
        for one in listings
    ]
    return {"schema": "ventwright-rule-sets-1", "rule_sets": rows}


def _list_table(listings: list[RuleSetListing]) -> Table:
    from rich.table import Table

    table = Table(title="Rule sets", title_justify="left")
    table.add_column("id", no_wrap=True)
    for head in ("name", "edition", "known from"):
        table.add_column(head)
    for one in listings:
        table.add_row(one.id, one.name, one.edition, ", ".join(trust_words(t) for t in one.trusts))
    return table


def _show_table(listing: RuleSetListing) -> Table:
    from rich.table import Table
    from rich.text import Text

    table = Table()
    for head in ("where", "says", "source", "edition", "clause", "known from", "note"):
        table.add_column(head, overflow="fold")
    for line in listing.lines:
        says = "; ".join(f"{key} = {text}" for key, text in line.says)
        style = "yellow" if line.trust == "memory" else ""
        cells = (line.place, says, line.source, line.edition, line.clause)
        table.add_row(
            *(Text(cell) for cell in cells),
            Text(trust_words(line.trust), style=style),
            Text(line.note),
        )
    return table


def trust_words(trust: str) -> str:
    """A trust in words.

    Parameters
    ----------
    trust
        As in a rule file.

    >>> trust_words("memory")
    'from memory'
    """
    return _TRUST_WORDS.get(trust, trust)


def _print(what: object) -> None:
    """Words and tables by rich; mappings as one JSON object."""
    if isinstance(what, dict):
        import json

        print(json.dumps(what, ensure_ascii=False, indent=1, sort_keys=True))
        return
    from rich.console import Console
    from rich.text import Text

    Console().print(Text(what) if isinstance(what, str) else what)
