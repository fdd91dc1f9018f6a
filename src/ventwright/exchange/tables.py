"""Readings from a CSV table: one header row of keys, one reading each row.

The keys are those of a reading in a visit file; a key of a nested table is written with a dot
(``section.diameter``), several values of one cell are set apart by ``;`` and the lines of a
traverse by ``|``. The mark between the cells is the one the header shows: comma, semicolon or tab.
A table with semicolons comes from a place that writes decimal commas, and is read so.
"""

from __future__ import annotations

import csv
import io
import types
from collections.abc import Iterator
from dataclasses import fields, is_dataclass
from datetime import datetime
from functools import cache
from pathlib import Path
from typing import Any, Union, get_args, get_origin

from ventwright.exchange.text import refusal
from ventwright.house import LOOK_OF_METHOD, Method, Reading, hints_of, key_of, near_words
from ventwright.quantities import NumberStyle, Problem, Severity
from ventwright.quantities.records import dataclass

DELIMITERS = {",": "commas", ";": "semicolons", "\t": "tabs"}
_STATION_KEYS = {"station": str, "method": Method, "system": str, "filter_side": str}
_NOT_TYPED = {"look", "typed", "station", "method", "samples"}
_TRUTH = {
    **dict.fromkeys(("true", "yes", "y", "1"), True),
    **dict.fromkeys(("false", "no", "n", "0"), False),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Table:
    """Readings of a CSV file as nested mappings, as a visit file would give them."""

    readings: tuple[dict[str, object], ...]
    line_numbers: tuple[int, ...]
    number_style: NumberStyle | None
    problems: tuple[Problem, ...]


def read_table(text: str, *, path: Path) -> Table:
    """Read the rows of a CSV text.

    Parameters
    ----------
    text
        The whole file.
    path
        Where it comes from, for messages.

    Returns
    -------
    Table
        One mapping for each row that is not blank, with the line it begins on; problems of rows
        and columns carry file and line.

    Raises
    ------
    UserError
        ``no-header``, ``mixed-delimiters``, ``malformed-csv``.
    """
    delimiter = _delimiter(text, path)
    rows = list(_rows(text, delimiter, path))
    head_line, head = rows[0]
    keys = [key.strip() for key in head]
    problems = list(_header_problems(keys, file=path.name, line=head_line))
    readings, line_numbers = [], []
    for line, cells in rows[1:]:
        if len(cells) > len(keys) and any(cell.strip() for cell in cells[len(keys) :]):
            problems.append(_too_many_cells(path.name, line, len(cells), len(keys)))
        readings.append(_reading(keys, cells))
        line_numbers.append(line)
    return Table(
        readings=tuple(readings),
        line_numbers=tuple(line_numbers),
        number_style=NumberStyle.DECIMAL_COMMA if delimiter == ";" else None,
        problems=tuple(problems),
    )


def _delimiter(text: str, path: Path) -> str:
    header = next((line for line in text.splitlines() if line.strip()), "")
    found = [mark for mark in DELIMITERS if mark in header]
    if len(found) == 1:
        return found[0]
    what = (
        f"the header mixes {' and '.join(DELIMITERS[mark] for mark in found)}"
        if found
        else f"the first row is {header[:60]!r}"
    )
    raise refusal(
        "mixed-delimiters" if found else "no-header",
        path,
        f"{path.name}: {what}",
        "write a header row of keys set apart by one mark, e.g. id,station,method,phase,setting",
        line=1,
    )


def _rows(text: str, delimiter: str, path: Path) -> Iterator[tuple[int, list[str]]]:
    """Rows that are not blank, each with the line it begins on."""
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, strict=True)
    begins = 1
    try:
        for cells in reader:
            if any(cell.strip() for cell in cells):
                yield begins, cells
            begins = reader.line_num + 1
    except csv.Error as trouble:
        raise refusal(
            "malformed-csv",
            path,
            f"{path.name}:{begins}: {trouble}",
            'write a cell that holds a quote or the mark between cells as "…", quotes doubled',
            line=begins,
        ) from None


@cache
def _hints_by_key(method: str = "") -> dict[str, Any]:
    """Annotation of each key that a reading by one method can have, nested ones with a dot.

    Without a method that is known, of every key that any reading can have.
    """
    found: dict[str, Any] = dict(_STATION_KEYS)
    hints = hints_of(Reading)
    found |= {f.name: hints[f.name] for f in fields(Reading) if f.name not in _NOT_TYPED}
    looks = [look for m, look in LOOK_OF_METHOD.items() if method in ("", m.value)]
    for look in looks or LOOK_OF_METHOD.values():
        for name, hint in hints_of(look).items():
            key = key_of(name, hint)
            if is_dataclass(hint) and isinstance(hint, type):
                found |= {f"{key}.{key_of(n, h)}": h for n, h in hints_of(hint).items()}
            else:
                found.setdefault(key, hint)
    return found


def _header_problems(keys: list[str], *, file: str, line: int) -> Iterator[Problem]:
    known = _hints_by_key()
    for i, key in enumerate(keys):
        if key in keys[:i] and key:
            yield Problem(
                code="repeated-column",
                where=f"{file}:{line}: {key}",
                message=f"column '{key}' stands twice; the last one with a value counts",
                remedy="delete or rename one of them",
                severity=Severity.MISTAKE,
            )
        elif key not in known and key:
            near = near_words(key, known)
            yield Problem(
                code="unknown-key",
                where=f"{file}:{line}: {key}",
                message=f"'{key}' is not a key of any reading; the column is left out",
                remedy=f"did you mean {near}?" if near else f"accepted: {', '.join(known)}",
                severity=Severity.MISTAKE,
            )


def _too_many_cells(file: str, line: int, found_count: int, known_count: int) -> Problem:
    return Problem(
        code="too-many-cells",
        where=f"{file}:{line}",
        message=f"the row has {found_count} cells, the header {known_count}",
        remedy="put a cell that holds the mark between cells in quotes",
        severity=Severity.MISTAKE,
    )


def _reading(keys: list[str], cells: list[str]) -> dict[str, object]:
    filled = {k: c.strip() for k, c in zip(keys, cells, strict=False) if c.strip()}
    known = _hints_by_key() | _hints_by_key(filled.get("method", ""))
    reading: dict[str, object] = {}
    for key, cell in filled.items():
        if key not in known:
            continue
        value = _cell(known[key], cell)
        table, _, nested = key.partition(".")
        if nested:
            inner = reading.setdefault(table, {})
            assert isinstance(inner, dict)
            inner[nested] = value
        else:
            reading[key] = value
    return reading


def _cell(hint: Any, text: str) -> object:
    """Turn a cell into what a visit file would hold there; what does not fit stays text."""
    if get_origin(hint) in (Union, types.UnionType):
        hint = next(a for a in get_args(hint) if a is not type(None))
    if get_origin(hint) is tuple:
        item = get_args(hint)[0]
        mark = "|" if get_origin(item) is tuple else ";"
        return [_cell(item, part.strip()) for part in text.split(mark) if part.strip()]
    if hint is bool:
        return _TRUTH.get(text.casefold(), text)
    if hint is datetime:
        try:
            return datetime.fromisoformat(text)
        except ValueError:
            return text
    return text
