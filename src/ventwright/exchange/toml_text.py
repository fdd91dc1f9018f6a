"""The record written as TOML that reads back to the same record.

Quantities are written as they were typed where that is known, else in the unit of measure that
needs the fewest digits to give exactly the same SI value, else in SI with every digit.
"""

from __future__ import annotations

import types
from collections.abc import Iterator
from dataclasses import fields, is_dataclass
from datetime import UTC, date, datetime
from functools import cache
from typing import Annotated, Any, Union, get_args, get_origin

from ventwright.exchange.toml_scalars import (
    is_bare_number,
    key_text,
    quantity_text,
    reads_as,
    text_text,
)
from ventwright.house import (
    House,
    Reading,
    TypedText,
    Visit,
    dimension_of,
    hints_of,
    key_of,
    station_text,
)
from ventwright.quantities import Dimension
from ventwright.quantities.records import is_required

_INLINE_FIELDS = 4
"""A list of records with no more fields than this is written one record a line."""


def write_house(house: House) -> str:
    """Write a house file.

    Parameters
    ----------
    house
        Any house.

    Returns
    -------
    str
        TOML that `read_house` reads back to an equal house.

    Raises
    ------
    UserError
        ``not-writable`` for a number that is no number or beyond 10^±30.

    >>> print(write_house(House(schema="ventwright-house-1", id="h", name="Barn")), end="")
    schema = "ventwright-house-1"
    id = "h"
    name = "Barn"
    """
    return "\n".join(_table(house, "")).lstrip("\n") + "\n"


def write_visit(visit: Visit) -> str:
    """Write a visit file.

    Parameters
    ----------
    visit
        Any visit whose ids and references are words without blanks at their ends.

    Returns
    -------
    str
        TOML that `read_visit` reads back to an equal visit, typed texts included.

    Raises
    ------
    UserError
        As `write_house`.

    >>> print(write_visit(Visit(schema="ventwright-visit-1", id="v", house="h")), end="")
    schema = "ventwright-visit-1"
    id = "v"
    house = "h"
    """
    return "\n".join(_table(visit, "")).lstrip("\n") + "\n"


class _Texts:
    """What was typed in one reading, by key path, and what has been written of it so far."""

    def __init__(self, reading: Reading | None = None) -> None:
        self.typed = {t.key: t.text for t in reading.typed} if reading else {}
        self.written: list[TypedText] = []

    def of(self, path: str, value_si: float, dimension: Dimension) -> str:
        """Return the text typed at a path if it gives the value, else one that does."""
        text = self.typed.get(path)
        if text is None or not reads_as(text, value_si, dimension=dimension):
            text = quantity_text(value_si, dimension=dimension)
        self.written.append(TypedText(key=path, text=text))
        return text

    def has(self, path: str) -> bool:
        """Tell whether something was typed at a path or below it."""
        return any(key.startswith(path) for key in self.typed)


def _table(record: Any, path: str) -> Iterator[str]:
    """Lines of a record: its plain keys first, then the tables below it."""
    below: list[tuple[str, Any]] = []
    texts = _Texts()
    for key, value, hint in _typed_fields(record):
        if _is_table(value):
            below.append((key, value))
        else:
            yield f"{key_text(key)} = {_value(value, hint, key, texts)}"
    for key, value in below:
        inner = f"{path}.{key_text(key)}" if path else key_text(key)
        if not isinstance(value, tuple):
            yield from ("", f"[{inner}]", *_table(value, inner))
            continue
        for item in value:
            lines = _reading(item) if isinstance(item, Reading) else _table(item, inner)
            yield from ("", f"[[{inner}]]", *lines)


def _typed_fields(record: Any, texts: _Texts | None = None) -> Iterator[tuple[str, Any, Any]]:
    """Key, value and annotation of each field that its default does not already say."""
    hints = hints_of(type(record))
    for one in fields(record):
        value, hint = getattr(record, one.name), hints[one.name]
        key = key_of(one.name, hint)
        if is_required(one) or value != one.default or (texts and texts.has(key)):
            yield key, value, hint


def _is_table(value: Any) -> bool:
    one = value[0] if isinstance(value, tuple) and value else value
    return is_dataclass(one) and not _is_short(one.__class__)


@cache
def _is_short(record: type) -> bool:
    hints = hints_of(record).values()
    return len(hints) <= _INLINE_FIELDS and not any(_holds_records(hint) for hint in hints)


def _holds_records(hint: Any) -> bool:
    return is_dataclass(hint) or any(_holds_records(part) for part in get_args(hint))


def _value(value: Any, hint: Any, path: str, texts: _Texts) -> str:
    """One value as TOML; `path` is where it stands within its reading or table."""
    if get_origin(hint) in (Union, types.UnionType):
        hint = next(part for part in get_args(hint) if part is not type(None))
    if isinstance(value, tuple):
        item = get_args(hint)[0]
        items = [_value(v, item, f"{path}[{i}]", texts) for i, v in enumerate(value)]
        is_wide = bool(value) and (is_dataclass(value[0]) or isinstance(value[0], tuple))
        return _wide_list(items) if is_wide else f"[{', '.join(items)}]"
    if is_dataclass(value):
        pairs = (
            f"{key_text(k)} = {_value(v, h, f'{path}.{k}', texts)}"
            for k, v, h in _typed_fields(value)
        )
        return f"{{ {', '.join(pairs)} }}"
    if get_origin(hint) is Annotated:
        dimension = dimension_of(hint)
        assert dimension is not None
        text = texts.of(path, value, dimension)
        is_bare = dimension is Dimension.COUNT and is_bare_number(text)
        return text if is_bare else text_text(text)
    return _plain(value)


def _wide_list(items: list[str]) -> str:
    return "[\n" + "".join(f"  {item},\n" for item in items) + "]"


def _plain(value: Any) -> str:
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, datetime):
        return value.astimezone(UTC).isoformat().replace("+00:00", "Z")
    if isinstance(value, date):
        return value.isoformat()
    return text_text(str(value))


def _reading(reading: Reading) -> Iterator[str]:
    """Lines of a reading: head, station and look side by side, with the texts that were typed."""
    station, texts = reading.station, _Texts(reading)
    yield f"id = {text_text(reading.id)}"
    yield f"station = {text_text(station_text(station))}"
    if station.system is not None:
        yield f"system = {text_text(station.system)}"
    if station.filter_side is not None:
        yield f"filter_side = {text_text(station.filter_side.value)}"
    for key, value, hint in _typed_fields(reading):
        if key not in ("id", "station", "look", "typed"):
            # What was typed is known of the look alone.
            yield f"{key} = {_value(value, hint, key, _Texts())}"
    for key, value, hint in _typed_fields(reading.look, texts):
        yield f"{key} = {_value(value, hint, key, texts)}"
    if tuple(texts.written) != reading.typed:
        # Some text can't stand as the value itself, or none is known: what was typed is listed.
        hint = hints_of(Reading)["typed"]
        yield f"typed = {_value(reading.typed, hint, 'typed', texts)}"
