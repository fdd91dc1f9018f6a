"""The shelves themselves: enough values, each with its source, each one executed."""

from __future__ import annotations

import tomllib
from collections import Counter
from pathlib import Path

from tests.reference import shelves

ROOT = Path(__file__).resolve().parents[2]
FEWEST_FROM_OUTSIDE = 60


def test_most_values_come_from_outside_the_project() -> None:
    counts = shelves.counts_by_kind()
    assert counts["published"] + counts["independent"] >= FEWEST_FROM_OUTSIDE, dict(counts)


def test_every_row_names_kind_source_and_place() -> None:
    with (ROOT / "docs" / "sources.toml").open("rb") as file:
        sources = tomllib.load(file)
    wrong = []
    for row in shelves.all_rows():
        place = f"{row.file}:{row.line}"
        wrong += [f"{place}: no {name}" for name in shelves.NEEDED if not row.cells.get(name)]
        if row.kind not in shelves.KINDS:
            wrong.append(f"{place}: kind {row.kind!r} is none of {shelves.KINDS}")
        if row.cells.get("source_key") not in sources:
            wrong.append(f"{place}: {row.cells.get('source_key')!r} is not in docs/sources.toml")
        if row.kind == "frozen" and not row.cells.get("note"):
            wrong.append(f"{place}: a frozen value needs its version and reason in `note`")
    assert not wrong, "\n".join(wrong)


def test_case_ids_are_unique_in_a_file() -> None:
    seen = Counter(row.key for row in shelves.all_rows())
    assert not [key for key, count in seen.items() if count > 1]


def test_every_row_was_executed(executed_rows: set[tuple[str, str]]) -> None:
    missed = [row for row in shelves.all_rows() if row.key not in executed_rows]
    assert not missed, "\n".join(f"{row.file}:{row.line} {row.case_id}" for row in missed)
