"""What a docstring says about a function is still true of it."""

from __future__ import annotations

import dataclasses
import importlib
import inspect
import itertools
import re
import tomllib
from types import FunctionType

from tests.architecture import sources

SOURCE_KINDS = {"standard", "handbook", "paper", "code", "data", "library", "practice"}
TRUST = {"read", "second_hand", "memory", "computed", "judgement"}
CITED = re.compile(r"\bSources?: *([^\"\n]*)")
KEYS = re.compile(r"[a-z0-9]+(?:_[a-z0-9]+)+(?:, [a-z0-9]+(?:_[a-z0-9]+)+)*")


def section(docstring: str, title: str) -> list[str] | None:
    """Return the names of one numpy-style section, None where there is no such section.

    >>> section("Area.\\n\\nParameters\\n----------\\na, b\\n    Sides [m].", "Parameters")
    ['a', 'b']
    """
    lines = inspect.cleandoc(docstring).splitlines()
    starts = [
        place
        for place, (line, rule) in enumerate(itertools.pairwise(lines))
        if line == title and set(rule) == {"-"}
    ]
    if not starts:
        return None
    names: list[str] = []
    for line, following in itertools.pairwise([*lines[starts[0] + 2 :], ""]):
        is_prose = line and not line.startswith(" ") and not following.startswith("    ")
        if line.startswith(">>>") or is_prose or (following and set(following) == {"-"}):
            break
        if line and not line.startswith(" "):
            names += [name.strip(" *") for name in line.split(" : ")[0].split(",")]
    return names


def test_every_room_lists_its_public_names() -> None:
    wrong = []
    for room in sources.existing(sources.ROOMS):
        package = importlib.import_module(f"ventwright.{room}")
        if not (package.__doc__ or "").strip():
            wrong.append(f"{room}: no docstring that says what lives here")
        if not getattr(package, "__all__", None):
            wrong.append(f"{room}: no __all__")
    assert not wrong, "\n".join(wrong)


def test_docstring_parameters_match_the_signature() -> None:
    wrong = []
    for name, function in sources.public_objects(FunctionType):
        expected = [parameter.strip("*") for parameter in inspect.signature(function).parameters]
        found = section(function.__doc__ or "", "Parameters")
        if expected != (found or []):
            wrong.append(f"{name}: documents {found}, takes {expected}")
    assert not wrong, "\n".join(wrong)


def test_documented_fields_match_the_dataclass() -> None:
    """A record may leave its fields to their names; a list of them must be complete."""
    wrong = []
    for name, owner in sources.public_objects(type):
        if not dataclasses.is_dataclass(owner):
            continue
        found = section(owner.__doc__ or "", "Parameters")
        expected = [field.name for field in dataclasses.fields(owner) if field.init]
        if found is not None and found != expected:
            wrong.append(f"{name}: documents {found}, has {expected}")
    assert not wrong, "\n".join(wrong)


def test_every_public_function_has_a_doctest() -> None:
    without = [
        name
        for name, function in sources.public_objects(FunctionType)
        if ">>> " not in function.__doc__
    ]
    assert not without, "\n".join(without)


def source_table() -> dict[str, dict[str, str]]:
    with (sources.ROOT / "docs" / "sources.toml").open("rb") as file:
        return tomllib.load(file)


def test_every_cited_source_is_listed() -> None:
    table = source_table()
    wrong = []
    for path in sorted(sources.PACKAGE.rglob("*.py")):
        for number, line in enumerate(path.read_text(encoding="utf-8").splitlines(), start=1):
            place = f"{path.relative_to(sources.ROOT)}:{number}"
            for cited in CITED.findall(line):
                match = KEYS.match(cited)
                keys = match.group().split(", ") if match else [cited]
                wrong += [f"{place} {key!r}" for key in keys if key not in table]
    assert not wrong, "\n".join(wrong)


def test_every_source_says_what_it_is_and_how_far_it_is_trusted() -> None:
    wrong = []
    for key, entry in source_table().items():
        if not entry.get("title"):
            wrong.append(f"{key}: no title")
        if entry.get("kind") not in SOURCE_KINDS:
            wrong.append(f"{key}: kind {entry.get('kind')!r}")
        if entry.get("trust") not in TRUST:
            wrong.append(f"{key}: trust {entry.get('trust')!r}")
    assert not wrong, "\n".join(wrong)


def test_every_listed_source_is_cited() -> None:
    suffixes = {".py", ".csv", ".toml", ".md"}
    folders = (sources.ROOT / "src", sources.ROOT / "tests", sources.ROOT / "docs" / "adr")
    files = [path for folder in folders for path in folder.rglob("*") if path.suffix in suffixes]
    text = "\n".join(path.read_text(encoding="utf-8") for path in files)
    words = set(re.findall(r"[a-z0-9_]+", text))
    assert not (unused := sorted(set(source_table()) - words)), unused
