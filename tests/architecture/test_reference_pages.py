"""The reference holds each public name, command, setting and code; links lead somewhere.

Whether the pages on disk are fresh is what ``make check`` says; here it is tested that nothing is
missing from what the generators write, by other ways than theirs.
"""

from __future__ import annotations

import argparse
import importlib
import re
from collections.abc import Iterator
from types import FunctionType

import pytest

from tests.architecture import sources
from tools import docs, reference
from ventwright.actions import assess_files, examples_folder, plan_file
from ventwright.cli import build_parser

EXAMPLES = (
    ("juniper_mesa", "juniper_mesa"),
    ("harbour_terrace", "harbour_terrace"),
    ("harbour_terrace", "hard_visit"),
    ("harbour_terrace", "malformed"),
)
ROW = re.compile(r"^\| `([^`]+)` \|", re.MULTILINE)
LINK = re.compile(r"\]\(([^)#\s]+)(?:#[^)]*)?\)")
CODE = re.compile(r"\bcode=\"([a-z0-9-]+)\"")


@pytest.fixture(scope="module")
def pages() -> docs.Pages:
    return docs.generate()


def test_each_public_function_and_class_is_named_with_what_it_is(pages: docs.Pages) -> None:
    text = pages["public_names.md"]
    told = dict(re.findall(r"^\| `([^`]+)` \| (.*) \|$", text, re.MULTILINE))
    for kind in (FunctionType, type):
        for name, _ in sources.public_objects(kind):
            assert told.get(name.rpartition(".")[2]), name


def test_functions_show_their_parameters(pages: docs.Pages) -> None:
    for room, name in (("air", "moist_air_from"), ("report", "render_pdf")):
        function = getattr(importlib.import_module(f"ventwright.{room}"), name)
        code = function.__code__
        names = code.co_varnames[: code.co_argcount + code.co_kwonlyargcount]
        row = next(r for r in pages["public_names.md"].splitlines() if f"| `{name}` |" in r)
        assert all(re.search(rf"\b{one}\b", row) for one in names)


def commands(parser: argparse.ArgumentParser) -> Iterator[argparse.ArgumentParser]:
    yield parser
    for action in parser._actions:
        if isinstance(action, argparse._SubParsersAction):
            for child in action.choices.values():
                yield from commands(child)


def test_each_command_and_option_is_named(pages: docs.Pages) -> None:
    text = pages["cli.md"]
    for parser in commands(build_parser()):
        section = text.partition(f"## `{parser.prog}`\n")[2].partition("\n## ")[0]
        assert section, parser.prog
        for action in parser._actions:
            for option in action.option_strings:
                assert option in section, (parser.prog, option)


def test_each_setting_is_named(pages: docs.Pages) -> None:
    read = set()
    for path in sources.PACKAGE.rglob("*.py"):
        read |= set(re.findall(r"VENTWRIGHT_[A-Z_]+[A-Z]", path.read_text("utf-8")))
    assert read
    assert read <= set(ROW.findall(pages["settings.md"]))


def patterns(page: str) -> list[re.Pattern[str]]:
    return [
        re.compile(re.escape(code).replace(re.escape("{…}"), r"[a-z0-9-]+"))
        for code in ROW.findall(page)
    ]


def test_each_code_written_in_the_sources_is_named(pages: docs.Pages) -> None:
    known = set(ROW.findall(pages["codes.md"]))
    written = set()
    for path in sources.PACKAGE.rglob("*.py"):
        written |= set(CODE.findall(path.read_text("utf-8")))
    assert len(written) > 100
    assert not written - known


@pytest.mark.parametrize(("house", "visit"), EXAMPLES)
def test_each_code_that_the_examples_give_is_named(
    house: str, visit: str, pages: docs.Pages
) -> None:
    folder = examples_folder()
    found = assess_files(folder / house / "house.toml", folder / visit / "visit.toml").findings
    plan = plan_file(folder / house / "house.toml").found
    given = {p.code for p in (*found.problems, *plan.problems)}
    given |= {p.code for r in found.readings for p in r.flags}
    given |= {a.code for a in found.advice}
    for system in found.systems:
        results = [r.result for r in system.recoveries if r.result is not None]
        given |= {f.code for result in results for f in result.flags}
        given |= {f.code for result in results for r in result.ratios() for f in r.flags}
    known = patterns(pages["codes.md"])
    assert given
    assert not [code for code in sorted(given) if not any(k.fullmatch(code) for k in known)]


def test_an_unnamed_setting_stops_the_page(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(reference, "SETTINGS", {})
    with pytest.raises(SystemExit, match="VENTWRIGHT_"):
        reference.settings_page()


def test_links_in_the_docs_lead_somewhere() -> None:
    written = [sources.ROOT / "README.md", sources.ROOT / "CONTRIBUTING.md"]
    written += sorted((sources.ROOT / "docs").rglob("*.md"))
    broken = [
        f"{path.relative_to(sources.ROOT)}: {link}"
        for path in written
        for link in LINK.findall(path.read_text("utf-8"))
        if "://" not in link and not (path.parent / link).exists()
    ]
    assert not broken


def test_each_drawer_lists_its_pages() -> None:
    for drawer in ("tutorial", "how_to", "explanation"):
        folder = sources.ROOT / "docs" / drawer
        listed = (folder / "README.md").read_text("utf-8")
        pages = [p.name for p in folder.glob("*.md") if p.name != "README.md"]
        assert pages
        assert all(f"({name})" in listed for name in pages)
