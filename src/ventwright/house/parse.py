"""From the plain mappings of a file or form to the record, with problems beside the good values.

The record's dataclasses are the one definition of what may be typed: this module reads their
annotations. A field ``design_flow_m3_s: FlowM3S`` is typed as ``design_flow = "25 cfm"``: the key
drops the suffix of its kind of quantity, the text carries the unit of measure.
"""

from __future__ import annotations

import types
from collections.abc import Iterable, Mapping
from datetime import date, datetime
from enum import StrEnum
from typing import TYPE_CHECKING, Annotated, Any, TypeVar, Union, get_args, get_origin

from ventwright.house.hints import dimension_of, hints_of, in_words, key_of, spaced, wanted
from ventwright.house.ranges import check_range, last_key
from ventwright.quantities import (
    Dimension,
    NumberStyle,
    Problem,
    QuantityError,
    Severity,
    parse,
)
from ventwright.quantities.records import fields, is_dataclass, is_required

if TYPE_CHECKING:
    from dataclasses import Field

T = TypeVar("T")


class Reader:
    """What a parse carries along: the number style, the problems found, the texts typed."""

    __slots__ = ("number_style", "problems", "typed")

    def __init__(self, *, number_style: NumberStyle | None = None) -> None:
        self.number_style = number_style
        self.problems: list[Problem] = []
        self.typed: list[tuple[str, str]] = []

    def mistake(self, *, code: str, where: str, message: str, remedy: str) -> None:
        """Note something that can't be read."""
        self.problems.append(
            Problem(
                code=code, where=where, message=message, remedy=remedy, severity=Severity.MISTAKE
            )
        )

    def missing(self, key: str, hint: Any, *, where: str) -> None:
        """Note a key that must be there and is not."""
        self.mistake(
            code="missing-key",
            where=where,
            message=f"'{key}' is missing",
            remedy=f"write {key} = {wanted(hint)}",
        )


class Unreadable:
    """Marks a value that could not be read; its problem has been noted."""


UNREADABLE = Unreadable()


def read_record(
    record: type[T],
    mapping: object,
    *,
    where: str,
    reader: Reader,
    given: Mapping[str, object] | None = None,
    beside: Iterable[str] = (),
) -> T | None:
    """Read one dataclass of the record from a mapping.

    Parameters
    ----------
    record
        The dataclass.
    mapping
        What was typed.
    where
        Key path for messages; empty at the top.
    reader
        Collects problems and typed texts.
    given
        Fields already known, which must not be typed.
    beside
        Keys of the same mapping that others read.

    Returns
    -------
    record or None
        None where a required field is missing or unreadable; optional fields that can't be read
        fall back to their default, with the problem noted.

    >>> from ventwright.house.visit import Fault
    >>> reader = Reader()
    >>> read_record(Fault, {"id": "f1", "what": "crushed duct"}, where="", reader=reader).what
    'crushed duct'
    >>> read_record(Fault, {"id": "f1"}, where="faults[0]", reader=reader)
    >>> reader.problems[0].where
    'faults[0].what'
    """
    if not isinstance(mapping, Mapping):
        reader.mistake(
            code="not-a-table",
            where=where,
            message=f"{mapping!r} stands where a table of keys is wanted",
            remedy="write key = value lines",
        )
        return None
    values: dict[str, object] = dict(given or {})
    known = _fields_by_key(record, skip=values.keys())
    accepted = (*known, *beside)
    _note_unknown(mapping, accepted, where=where, reader=reader, record=record)
    complete = True
    for key, (one, hint) in known.items():
        path = f"{where}.{key}" if where else key
        needed = is_required(one)
        value: object = UNREADABLE
        if key in mapping:
            value = read_value(hint, mapping[key], where=path, reader=reader)
        elif needed:
            reader.missing(key, hint, where=path)
        if value is not UNREADABLE:
            values[one.name] = value
        elif needed:
            complete = False
    return record(**values) if complete else None


def _fields_by_key(record: type, *, skip: Iterable[str]) -> dict[str, tuple[Field[Any], Any]]:
    hints = hints_of(record)
    left_out = set(skip)
    return {
        key_of(f.name, hints[f.name]): (f, hints[f.name])
        for f in fields(record)
        if f.name not in left_out
    }


def _note_unknown(
    mapping: Mapping[object, object],
    known: tuple[str, ...],
    *,
    where: str,
    reader: Reader,
    record: type,
) -> None:
    for key in mapping:
        if key in known:
            continue
        near = near_words(str(key), known)
        hint = f"did you mean {near}?" if near else f"accepted here: {', '.join(known)}"
        reader.mistake(
            code="unknown-key",
            where=f"{where}.{key}" if where else str(key),
            message=f"'{key}' is not a key of {spaced(record.__name__)}",
            remedy=hint,
        )


def near_words(word: str, known: Iterable[str]) -> str:
    """Words close to a mistyped one, joined for a message; empty if none is near.

    Parameters
    ----------
    word
        What was typed.
    known
        What would be accepted.

    >>> near_words("desing_flow", ["design_flow", "room"])
    "'design_flow'"
    """
    from difflib import get_close_matches

    return " or ".join(f"'{w}'" for w in get_close_matches(word, list(known), n=2, cutoff=0.6))


def read_value(hint: Any, value: object, *, where: str, reader: Reader) -> object:
    """Read one value by its annotation; `UNREADABLE` after a problem was noted.

    Parameters
    ----------
    hint
        Annotation.
    value
        What was typed: text, number, truth value, date, list or table.
    where
        Key path for messages.
    reader
        Collects problems and typed texts.

    >>> from ventwright.quantities import FlowM3S
    >>> reader = Reader()
    >>> read_value(FlowM3S, "36 m³/h", where="flow", reader=reader)
    0.01
    >>> reader.typed
    [('flow', '36 m³/h')]
    """
    origin = get_origin(hint)
    if origin in (Union, types.UnionType):
        chosen = next(a for a in get_args(hint) if a is not type(None))
        return read_value(chosen, value, where=where, reader=reader)
    if origin is Annotated:
        return _read_quantity(hint, value, where=where, reader=reader)
    if origin is tuple:
        return _read_tuple(get_args(hint)[0], value, where=where, reader=reader)
    if is_dataclass(hint) and isinstance(hint, type):
        found = read_record(hint, value, where=where, reader=reader)
        return UNREADABLE if found is None else found
    return _read_plain(hint, value, where=where, reader=reader)


def _read_quantity(hint: Any, value: object, *, where: str, reader: Reader) -> object:
    dimension = dimension_of(hint)
    if dimension is None:
        raise TypeError(f"annotation without a kind of quantity at {where}")
    text = value
    is_number = isinstance(value, int | float) and not isinstance(value, bool)
    if is_number and dimension is Dimension.COUNT:
        text = repr(value)
    if not isinstance(text, str):
        reader.mistake(
            code="not-a-quantity",
            where=where,
            message=f"{value!r} is not {dimension.label} with its unit of measure",
            remedy=f"write it in quotes with the unit, e.g. {wanted(hint)}",
        )
        return UNREADABLE
    try:
        found = parse(text, dimension=dimension, number_style=reader.number_style)
        check_range(found.value_si, dimension=dimension, text=text, key=last_key(where))
    except QuantityError as mistake:
        reader.mistake(
            code=mistake.code, where=where, message=mistake.message, remedy=mistake.remedy
        )
        return UNREADABLE
    reader.typed.append((where, text))
    return found.value_si


def _read_tuple(item: Any, value: object, *, where: str, reader: Reader) -> object:
    if not isinstance(value, list | tuple):
        if is_dataclass(item):
            reader.mistake(
                code="not-a-list",
                where=where,
                message=f"{value!r} stands where a list is wanted",
                remedy="write a list, or one [[table]] for each",
            )
            return UNREADABLE
        value = [value]
    read = (read_value(item, v, where=f"{where}[{i}]", reader=reader) for i, v in enumerate(value))
    return tuple(v for v in read if v is not UNREADABLE)


def _read_plain(hint: Any, value: object, *, where: str, reader: Reader) -> object:
    if isinstance(hint, type) and issubclass(hint, StrEnum):
        return _read_word(hint, value, where=where, reader=reader)
    if hint is datetime and isinstance(value, datetime):
        return _in_utc(value, where=where, reader=reader)
    is_date_time = isinstance(value, datetime)
    if hint in (bool, str, date) and isinstance(value, hint) and not is_date_time:
        return value
    reader.mistake(
        code="wrong-kind",
        where=where,
        message=f"{value!r} is not {in_words(hint)}",
        remedy=f"write {wanted(hint)}",
    )
    return UNREADABLE


def _read_word(hint: type[StrEnum], value: object, *, where: str, reader: Reader) -> object:
    words = [e.value for e in hint]
    if isinstance(value, str) and value in words:
        return hint(value)
    near = near_words(str(value), words)
    reader.mistake(
        code="unknown-word",
        where=where,
        message=f"{value!r} is not one of the words for {spaced(hint.__name__)}"
        + (f"; did you mean {near}?" if near else ""),
        remedy="accepted: " + ", ".join(words),
    )
    return UNREADABLE


def _in_utc(value: datetime, *, where: str, reader: Reader) -> object:
    from datetime import UTC

    try:
        in_utc = value.astimezone(UTC)
    except OverflowError:
        value = value.replace(tzinfo=None)
    if value.tzinfo is None:
        reader.mistake(
            code="time-without-zone",
            where=where,
            message=f"{value.isoformat()} has no offset from UTC",
            remedy="write the offset, e.g. 2026-03-04T09:20:00-07:00",
        )
        return UNREADABLE
    return in_utc
