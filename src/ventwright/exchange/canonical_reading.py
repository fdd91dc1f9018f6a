"""Back from canonical JSON to the record, by the same annotations and without any coercion."""

from __future__ import annotations

import json
import math
from collections.abc import Mapping
from dataclasses import MISSING, fields
from datetime import UTC, date, datetime
from enum import StrEnum
from typing import Any, NoReturn, TypeVar, get_args

from ventwright.exchange.annotations import (
    RECORD_KEY,
    choices_of,
    item_hints,
    may_be_none,
    origin_of,
    records_of,
)
from ventwright.house import HOUSE_SCHEMA, VISIT_SCHEMA, House, Visit, hints_of, near_words
from ventwright.quantities import Problem, Severity, UserError
from ventwright.quantities.records import is_required

T = TypeVar("T")

_SCHEMAS: dict[type, str] = {House: HOUSE_SCHEMA, Visit: VISIT_SCHEMA}
_PLAIN = {
    bool: "true or false",
    int: "a whole number",
    float: "a finite number, not in quotes",
    str: "a text",
    datetime: "a time with its offset, e.g. 2026-03-04T16:20:00Z",
    date: "a date, e.g. 2026-03-04",
}


def from_json(record: type[T], data: bytes) -> T:
    """Read a record back from its JSON.

    Parameters
    ----------
    record
        The dataclass wanted.
    data
        JSON in UTF-8; keys that have a default may be missing.

    Returns
    -------
    record
        Of the type asked for.

    Raises
    ------
    UserError
        ``malformed-json``, ``wrong-kind``, ``missing-key``, ``unknown-key``, ``unknown-schema``,
        naming the key path and what is wanted there.

    >>> from ventwright.house import Station
    >>> from_json(Station, b'{"kind": "unit"}').kind.value
    'unit'
    """
    try:
        plain = json.loads(
            data, parse_constant=_no_constant, parse_float=_finite, object_pairs_hook=_unrepeated
        )
    except (ValueError, RecursionError) as trouble:
        why = str(trouble) if isinstance(trouble, ValueError) else "nested without end"
        _refuse("malformed-json", "", f"not the JSON of a record: {why}", "give the whole file")
    found: T = _record(record, plain, "")
    return found


def _no_constant(name: str) -> NoReturn:
    raise ValueError(f"{name} is no number")


def _finite(text: str) -> float:
    value = float(text)
    if math.isinf(value):
        raise ValueError(f"{text} is beyond any number kept")
    return value


def _unrepeated(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    found = dict(pairs)
    if len(found) != len(pairs):
        keys = [key for key, _ in pairs]
        twice = next(key for key in keys if keys.count(key) > 1)
        raise ValueError(f"key {twice!r} stands twice")
    return found


def _refuse(code: str, where: str, message: str, remedy: str) -> NoReturn:
    problem = Problem(
        code=code, where=where, message=message, remedy=remedy, severity=Severity.MISTAKE
    )
    ahead = f"{where}: " if where else ""
    raise UserError(f"{ahead}{message}; {remedy}", problems=(problem,))


def _wrong(where: str, value: Any, wanted: str) -> NoReturn:
    shown = repr(value)
    shown = shown if len(shown) <= 60 else f"{shown[:57]}..."
    _refuse("wrong-kind", where, f"{shown} stands here", f"{wanted} is wanted")


def _value(hint: Any, value: Any, where: str) -> Any:
    if value is None:
        if may_be_none(hint) or hint is Any:
            return None
        _wrong(where, value, _wanted(hint))
    records = records_of(hint)
    if isinstance(value, dict) and records:
        return _one_of(records, value, where)
    for choice in choices_of(hint):
        found = _plain(choice, value, where)
        if found is not None:
            return found
    _wrong(where, value, _wanted(hint))


def _wanted(hint: Any) -> str:
    words = []
    for choice in choices_of(hint):
        kind = origin_of(choice)
        if isinstance(kind, type) and issubclass(kind, StrEnum):
            words.append("one of " + ", ".join(e.value for e in kind))
        elif kind is tuple:
            words.append("a list")
        else:
            words.append(_PLAIN.get(kind, f"a table for {getattr(kind, '__name__', kind)}"))
    return " or ".join(words)


def _plain(choice: Any, value: Any, where: str) -> Any:
    """Return the value as one kind of thing; None where it isn't one."""
    kind = origin_of(choice)
    if kind is tuple and isinstance(value, list):
        return _tuple(choice, value, where)
    if not isinstance(kind, type):
        return None
    if issubclass(kind, Mapping) and isinstance(value, dict):
        of_key, of_item = get_args(choice) or (str, Any)
        return {
            _value(of_key, k, f"{where}.{k}"): _value(of_item, v, f"{where}.{k}")
            for k, v in value.items()
        }
    if isinstance(value, str):
        return _from_text(kind, value)
    return _from_number(kind, value) if isinstance(value, int | float) else None


def _from_number(kind: type, value: float) -> float | None:
    if isinstance(value, bool) or kind is bool:
        return value if kind is bool and isinstance(value, bool) else None
    if kind is float:
        try:
            return float(value)
        except OverflowError:
            return None
    return value if kind is int and isinstance(value, int) else None


def _from_text(kind: type, text: str) -> Any:
    if kind is str:
        return text
    try:
        if issubclass(kind, StrEnum):
            return kind(text)
        if kind is datetime:
            time = datetime.fromisoformat(text)
            return time.astimezone(UTC) if time.tzinfo else None
        return date.fromisoformat(text) if kind is date else None
    except (ValueError, OverflowError):
        return None


def _tuple(choice: Any, value: list[Any], where: str) -> tuple[Any, ...]:
    items = item_hints(choice, len(value))
    if items is None:
        _wrong(where, value, f"a list of {len(get_args(choice))}")
    pairs = zip(items, value, strict=True)
    return tuple(_value(item, v, f"{where}[{i}]") for i, (item, v) in enumerate(pairs))


def _one_of(records: tuple[type, ...], value: dict[str, Any], where: str) -> Any:
    if len(records) == 1:
        return _record(records[0], value, where)
    name = value.get(RECORD_KEY)
    for record in records:
        if record.__name__ == name:
            return _record(record, {k: v for k, v in value.items() if k != RECORD_KEY}, where)
    wanted = "one of " + ", ".join(record.__name__ for record in records)
    _wrong(f"{where}.{RECORD_KEY}", name, wanted)


def _record(record: type[Any], value: Any, where: str) -> Any:
    if not isinstance(value, dict):
        _wrong(where, value, f"a table for {record.__name__}")
    hints = hints_of(record)
    known = {f.name: f for f in fields(record)}
    for key in value:
        if key not in known:
            near = near_words(key, known)
            remedy = f"did you mean {near}?" if near else f"accepted: {', '.join(known)}"
            _refuse("unknown-key", _join(where, key), f"{record.__name__} has no {key!r}", remedy)
    _check_schema(record, value, where)
    found = {}
    for key, one in known.items():
        path = _join(where, key)
        if key in value:
            found[key] = _value(hints[key], value[key], path)
        elif is_required(one):
            _refuse("missing-key", path, f"{key!r} is missing", f"{_wanted(hints[key])} is wanted")
    return record(**found)


def _check_schema(record: type, value: dict[str, Any], where: str) -> None:
    one = next((f for f in fields(record) if f.name == "schema"), None)
    if one is None:
        return
    known = _SCHEMAS.get(record, one.default)
    if known is not MISSING and value.get("schema") != known:
        _refuse(
            "unknown-schema",
            _join(where, "schema"),
            f"schema {value.get('schema')!r} is not one that this version reads",
            f"{known!r} is; a newer schema needs a newer ventwright",
        )


def _join(where: str, key: str) -> str:
    return f"{where}.{key}" if where else key
