"""JSON Schemas of the files people write, made from the annotations of the record.

They describe a file as typed: keys without the suffix of their quantity, quantities as texts with
a unit of measure. Editors use them to complete and to warn; they accept whatever the parser accepts
and leave to it what a schema can't say, such as which units measure a flow.
"""

from __future__ import annotations

import inspect
import re
from collections.abc import Callable
from dataclasses import fields, is_dataclass
from datetime import date, datetime
from enum import StrEnum
from typing import Any, get_args

from ventwright.exchange.annotations import choices_of, origin_of
from ventwright.house import (
    HOUSE_SCHEMA,
    LOOK_OF_METHOD,
    VISIT_SCHEMA,
    FilterSide,
    House,
    Method,
    Reading,
    Visit,
    dimension_of,
    hints_of,
    key_of,
    wanted,
)
from ventwright.quantities import AirKind, Dimension, units_of
from ventwright.quantities.records import is_required

Schema = dict[str, Any]

_DIALECT = "https://json-schema.org/draft/2020-12/schema"
_NUMBER = r"[+\-\u2212\u2013]?\s*[0-9.,]*[0-9]"
_WITH_UNIT = rf"^\s*{_NUMBER}.*[^0-9.,\s].*$"
_PLAIN_NUMBER = rf"^\s*{_NUMBER}[0-9.,\sEe+\-]*$"
_PLAIN: dict[Any, Schema] = {
    bool: {"type": "boolean"},
    str: {"type": "string"},
    datetime: {"type": "string", "format": "date-time"},
    date: {"type": "string", "format": "date"},
}
_PORTS = [letters for kind in AirKind for letters in (kind.value, kind.value.lower())]
_STATION: Schema = {
    "type": "string",
    "description": "Where it was measured: a port (ODA, SUP, ETA, EHA), unit, house, or branch:ID, "
    "terminal:ID, room:ID, surface:ID.",
    "pattern": rf"^\s*({'|'.join(_PORTS)}|unit|house|(branch|terminal|room|surface):.+)\s*$",
}
_READINGS_CSV: Schema = {
    "type": "string",
    "description": "Name of a CSV table of further readings beside this file.",
    "pattern": r"^[^/\\]+$",
}


def json_schemas() -> dict[str, Schema]:
    """JSON Schemas (draft 2020-12) of house and visit files, by file name.

    Returns
    -------
    dict of str to dict
        ``house.schema.json`` and ``visit.schema.json``.

    >>> sorted(json_schemas())
    ['house.schema.json', 'visit.schema.json']
    """
    return {
        "house.schema.json": _file(House, HOUSE_SCHEMA, "A house file of ventwright"),
        "visit.schema.json": _file(Visit, VISIT_SCHEMA, "A visit file of ventwright"),
    }


def _file(record: type, name: str, title: str) -> Schema:
    parts = _Parts()
    top = parts.table(record)
    top["properties"]["schema"] = {"const": name}
    if record is Visit:
        top["properties"]["readings_csv"] = _READINGS_CSV
    return {"$schema": _DIALECT, "$id": name, "title": title, **top, "$defs": parts.defs}


class _Parts:
    """Schemas of the records, words and quantities met so far, each defined once."""

    def __init__(self) -> None:
        self.defs: dict[str, Schema] = {}

    def ref(self, name: str, make: Callable[[], Schema]) -> Schema:
        if name not in self.defs:
            self.defs[name] = {}  # holds the place while the parts below are made
            self.defs[name] = make()
        return {"$ref": f"#/$defs/{name}"}

    def table(self, record: type, *, is_open: bool = False) -> Schema:
        """A record as a table; an open one leaves room for keys that others describe."""
        properties, required = {}, []
        hints = hints_of(record)
        for one in fields(record):
            if one.name == "look":
                continue
            key = key_of(one.name, hints[one.name])
            properties[key] = self.value(hints[one.name])
            if is_required(one):
                required.append(key)
        schema: Schema = {
            "type": "object",
            "description": _described(record),
            "properties": properties,
        }
        if required:
            schema["required"] = required
        return schema if is_open else {**schema, "additionalProperties": False}

    def value(self, hint: Any) -> Schema:
        dimension = dimension_of(hint)
        choice = choices_of(hint)[0]
        if origin_of(choice) is tuple:
            return self.items(get_args(choice)[0])
        if dimension is not None:
            return self.ref(dimension.value, lambda: _quantity(dimension, hint))
        if choice is Reading:
            return self.ref("Reading", self.reading)
        if isinstance(choice, type) and is_dataclass(choice):
            return self.ref(choice.__name__, lambda: self.table(choice))
        if isinstance(choice, type) and issubclass(choice, StrEnum):
            return self.ref(choice.__name__, lambda: _words(choice))
        return dict(_PLAIN[choice])

    def items(self, item: Any) -> Schema:
        """A list; one value alone stands for a list of one, except where it is a table."""
        inner = self.value(item)
        many: Schema = {"type": "array", "items": inner}
        return many if is_dataclass(item) else {"anyOf": [many, inner]}

    def reading(self) -> Schema:
        """A reading: its head, and the keys that its method calls for."""
        schema = self.table(Reading, is_open=True)
        properties = schema["properties"]
        properties["station"] = _STATION
        properties["system"] = dict(_PLAIN[str])
        properties["filter_side"] = self.value(FilterSide)
        schema["allOf"] = [
            {
                "if": {"properties": {"method": {"const": method.value}}, "required": ["method"]},
                "then": self._look(method),
            }
            for method in Method
        ]
        schema["unevaluatedProperties"] = False
        return schema

    def _look(self, method: Method) -> Schema:
        look = LOOK_OF_METHOD[method]
        return self.ref(look.__name__, lambda: self.table(look, is_open=True))


def _quantity(dimension: Dimension, hint: Any) -> Schema:
    if dimension is Dimension.COUNT:
        text = {"type": "string", "pattern": _PLAIN_NUMBER}
        return {"description": "A plain number.", "anyOf": [{"type": "number"}, text]}
    symbols = ", ".join(u.symbol for u in units_of(dimension))
    label = dimension.label.capitalize()
    return {
        "type": "string",
        "description": f"{label} with its unit of measure, one of: {symbols}.",
        "pattern": _WITH_UNIT,
        "examples": [_sample(dimension, hint)],
    }


def _sample(dimension: Dimension, hint: Any) -> str:
    text = wanted(hint)
    return text.strip('"') if text.startswith('"') else f"3 {units_of(dimension)[0].symbol}"


def _words(words: type[StrEnum]) -> Schema:
    return {"description": _described(words), "enum": [word.value for word in words]}


def _described(thing: type) -> str:
    """The docstring in one line, fields named as they are typed."""
    text = " ".join(inspect.cleandoc(thing.__doc__ or "").split())
    if not is_dataclass(thing):
        return text
    hints = hints_of(thing)
    keys = {name: key_of(name, hint) for name, hint in hints.items()}
    return re.sub(r"`(\w+)`", lambda m: f"`{keys.get(m[1], m[1])}`", text)
