"""What the annotations of the record say: the kind of quantity, the key typed, a sample."""

from __future__ import annotations

from datetime import date, datetime
from enum import StrEnum
from typing import Annotated, Any, get_args, get_origin, get_type_hints

from ventwright.quantities import Dimension
from ventwright.quantities.records import is_dataclass

_HINTS: dict[type, dict[str, Any]] = {}


def hints_of(record: type) -> dict[str, Any]:
    """Resolved annotations of a dataclass, kept for the next call.

    Parameters
    ----------
    record
        A dataclass of the record.

    >>> from ventwright.house.plan import Room
    >>> sorted(hints_of(Room))[:3]
    ['floor_area_m2', 'id', 'kind']
    """
    found = _HINTS.get(record)
    if found is None:
        found = _HINTS[record] = get_type_hints(record, include_extras=True)
    return found


def dimension_of(hint: Any) -> Dimension | None:
    """The kind of quantity in an annotation, through ``None`` and tuples.

    Parameters
    ----------
    hint
        An annotation as `hints_of` gives it.

    >>> from ventwright.quantities import FlowM3S
    >>> dimension_of(FlowM3S | None).value
    'flow'
    """
    if get_origin(hint) is Annotated:
        return next((m for m in get_args(hint)[1:] if isinstance(m, Dimension)), None)
    for part in get_args(hint):
        found = dimension_of(part)
        if found is not None:
            return found
    return None


def key_of(name: str, hint: Any) -> str:
    """The key under which a field is typed: its name without the suffix of its quantity.

    Parameters
    ----------
    name
        Field name.
    hint
        Its annotation.

    >>> from ventwright.quantities import FlowM3S
    >>> key_of("design_flow_m3_s", FlowM3S)
    'design_flow'
    """
    dimension = dimension_of(hint)
    if dimension is None:
        return name
    return name.removesuffix("_" + dimension.suffix)


_KINDS: dict[Any, str] = {
    bool: "true or false",
    str: "a text in quotes",
    datetime: "a date with time and offset",
    date: "a date",
}
_SAMPLES: dict[Any, str] = {
    bool: "true or false",
    str: '"…"',
    datetime: "2026-03-04T09:20:00-07:00",
    date: "2026-03-04",
}
_QUANTITY_SAMPLES = {
    Dimension.FLOW: '"25 cfm"',
    Dimension.PRESSURE: '"6.2 Pa"',
    Dimension.TEMPERATURE: '"68 °F"',
    Dimension.TEMPERATURE_DIFF: '"0.5 K"',
    Dimension.VELOCITY: '"310 fpm"',
    Dimension.LENGTH: '"6 in"',
    Dimension.AREA: '"9 in²"',
    Dimension.VOLUME: '"30 m³"',
    Dimension.TIME: '"20 min"',
    Dimension.POWER: '"60 W"',
    Dimension.FRACTION: '"48 %"',
    Dimension.COUNT: "a plain number",
}


def wanted(hint: Any) -> str:
    """What a field of this annotation looks like when typed, for messages.

    Parameters
    ----------
    hint
        Annotation.

    >>> from ventwright.quantities import FlowM3S
    >>> wanted(FlowM3S)
    '"25 cfm"'
    """
    dimension = dimension_of(hint)
    if dimension is not None:
        return _QUANTITY_SAMPLES.get(dimension, f"{dimension.label} with its unit of measure")
    inner = next((a for a in get_args(hint) if a is not type(None)), hint)
    if isinstance(inner, type) and issubclass(inner, StrEnum):
        return "one of " + ", ".join(e.value for e in inner)
    return _SAMPLES.get(inner, "a table" if is_dataclass(inner) else '"…"')


def in_words(hint: Any) -> str:
    """What a plain value of this annotation is, for messages.

    Parameters
    ----------
    hint
        Annotation.

    >>> in_words(bool)
    'true or false'
    """
    return _KINDS.get(hint, "readable here")


def spaced(name: str) -> str:
    """Name of a class in words: ``WalkThroughItem`` → ``walk through item``.

    Parameters
    ----------
    name
        In capitals and small letters.

    >>> spaced("WalkThroughItem")
    'walk through item'
    """
    return "".join(" " + c.lower() if c.isupper() else c for c in name).strip()
