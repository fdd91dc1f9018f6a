"""Canonical JSON: one record, one sequence of bytes, on every machine.

Every field is written, keys sorted, floats by their shortest exact text, times in UTC with a ``Z``,
words by their value. Where a field may hold one of several records, the record says which it is.
"""

from __future__ import annotations

import hashlib
import json
import math
from collections.abc import Mapping
from dataclasses import fields, is_dataclass
from datetime import UTC, date, datetime
from enum import StrEnum
from typing import Any, get_args

from ventwright.exchange.annotations import (
    RECORD_KEY,
    choices_of,
    item_hints,
    origin_of,
    records_of,
)
from ventwright.house import hints_of


def canonical_json(record: object) -> bytes:
    """Write a record as canonical JSON.

    Parameters
    ----------
    record
        An instance of a frozen dataclass; its fields hold records, tuples, mappings with text keys,
        words, texts, numbers, truth values, dates and times with an offset.

    Returns
    -------
    bytes
        UTF-8 with a line end. Equal records give equal bytes: a whole number in a float field is
        written as a float, negative zero as zero. An infinite number, such as degrees of freedom,
        is the text ``inf`` or ``-inf``; it can be shown but not read back.

    Raises
    ------
    ValueError
        For NaN, or a time without an offset: no record holds them.
    TypeError
        For a value of any other kind.

    >>> from ventwright.house import Station, StationKind
    >>> canonical_json(Station(kind=StationKind.BRANCH, ref="b1"))
    b'{"filter_side":null,"kind":"branch","ref":"b1","stream":null,"system":null}\\n'
    """
    plain = _plain(record, type(record), type(record).__name__)
    text = json.dumps(
        plain, sort_keys=True, ensure_ascii=False, allow_nan=False, separators=(",", ":")
    )
    return text.encode("utf-8") + b"\n"


def digest(data: bytes) -> str:
    """SHA-256 of bytes as 64 hexadecimal digits.

    Parameters
    ----------
    data
        Any bytes.

    >>> digest(b"")[:8]
    'e3b0c442'
    """
    return hashlib.sha256(data).hexdigest()


def _plain(value: Any, hint: Any, where: str) -> Any:
    """Turn a value into what JSON knows, by its annotation."""
    if value is None or isinstance(value, bool):
        return value
    if isinstance(value, str):
        return value.value if isinstance(value, StrEnum) else value
    if isinstance(value, int | float):
        return _number(value, hint, where)
    if isinstance(value, date):
        return _date_or_time(value, where)
    if isinstance(value, tuple | Mapping):
        return _container(value, hint, where)
    if is_dataclass(value) and not isinstance(value, type):
        return _record(value, hint, where)
    raise TypeError(f"{where}: {type(value).__name__} has no canonical form")


def _date_or_time(value: date, where: str) -> str:
    if not isinstance(value, datetime):
        return value.isoformat()
    if value.tzinfo is None:
        raise ValueError(f"{where}: {value.isoformat()} has no offset from UTC")
    return value.astimezone(UTC).isoformat().replace("+00:00", "Z")


def _number(value: float, hint: Any, where: str) -> int | float | str:
    if isinstance(value, float) or float in choices_of(hint):
        value = float(value) + 0.0
        if math.isnan(value):
            raise ValueError(f"{where}: not a number")
        if math.isinf(value):
            return "inf" if value > 0 else "-inf"
    return value


def _container(value: tuple[Any, ...] | Mapping[Any, Any], hint: Any, where: str) -> Any:
    kind = tuple if isinstance(value, tuple) else Mapping
    own = (c for c in choices_of(hint) if isinstance(origin_of(c), type))
    own_hint = next((c for c in own if issubclass(origin_of(c), kind)), Any)
    if isinstance(value, tuple):
        items = item_hints(own_hint, len(value)) or (Any,) * len(value)
        pairs = zip(value, items, strict=True)
        return [_plain(v, item, f"{where}[{i}]") for i, (v, item) in enumerate(pairs)]
    item = (get_args(own_hint) or (str, Any))[1]
    for key in value:
        if not isinstance(key, str):
            raise TypeError(f"{where}: key {key!r} is not a text")
    return {str(key): _plain(v, item, f"{where}.{key}") for key, v in value.items()}


def _record(value: Any, hint: Any, where: str) -> dict[str, Any]:
    hints = hints_of(type(value))
    plain = {
        f.name: _plain(getattr(value, f.name), hints[f.name], f"{where}.{f.name}")
        for f in fields(value)
    }
    if len(records_of(hint)) > 1:
        plain[RECORD_KEY] = type(value).__name__
    return plain
