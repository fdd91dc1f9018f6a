"""Forms of the field page, read off the records themselves: one definition of what may be typed."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import MISSING, dataclass, fields, is_dataclass
from datetime import date, datetime
from enum import StrEnum
from typing import Any, get_args, get_origin

from ventwright.house import (
    LOOK_OF_METHOD,
    Adjustment,
    Barometer,
    Conditions,
    EntryKind,
    Fault,
    FinalSetting,
    Method,
    Note,
    Signature,
    WalkThroughEntry,
    dimension_of,
    hints_of,
    key_of,
)
from ventwright.quantities import Dimension, UnitPreference
from ventwright.report.wording import Words, words_of

_FORMS: dict[EntryKind, type] = {
    EntryKind.CONDITIONS: Conditions,
    EntryKind.WALK_THROUGH: WalkThroughEntry,
    EntryKind.ADJUSTMENT: Adjustment,
    EntryKind.FAULT: Fault,
    EntryKind.FINAL_SETTING: FinalSetting,
    EntryKind.NOTE: Note,
    EntryKind.SIGNATURE: Signature,
}
# Made by the page or by other entries, never typed.
_NOT_TYPED = {
    *("id", "photo", "fault", "at", "signed_at", "after_reading", "retest_reading"),
    *("picture_sha256",),
}
# What a duct or a terminal is measured in on site, next to the habit's own unit of measure.
# What stays as it is from one reading to the next, and is offered again.
_SETUP = {
    *("area", "factor_ratio", "has_cone", "opening_area", "discharge_coeff", "flow_factor"),
    *("path", "rule", "position", "straight_upstream", "straight_downstream", "accuracy"),
    *("is_standard_air", "duration", "humidity_over"),
}
# Not required by the record, and yet no figure comes without it.
_NEEDED = {"section.diameter", "rel_humidity"}
_OWN_SYMBOLS = {"barometric_pressure": ("hPa",), "wind_speed": ("m/s", "mph")}
_SITE_SYMBOLS: dict[UnitPreference, dict[Dimension, tuple[str, ...]]] = {
    UnitPreference.IP: {
        Dimension.LENGTH: ("in", "ft"),
        Dimension.AREA: ("in²", "ft²"),
        Dimension.PRESSURE: ("Pa", "in. w.c."),
    },
    UnitPreference.SI_LS: {
        Dimension.LENGTH: ("mm", "m"),
        Dimension.AREA: ("cm²", "m²"),
        Dimension.PRESSURE: ("Pa",),
    },
    UnitPreference.SI_M3H: {
        Dimension.LENGTH: ("mm", "m"),
        Dimension.AREA: ("cm²", "m²"),
        Dimension.PRESSURE: ("Pa",),
    },
}


@dataclass(frozen=True, slots=True, kw_only=True)
class FieldForm:
    """One field: its key, its words, and how it is typed.

    `kind` is ``quantity``, ``text``, ``choice``, ``truth``, ``date``, ``words`` (several of the
    choices) or ``lines`` (a short table, one quantity a column); `symbols` are the units of measure
    offered, the habit's first. A field with `is_many` takes several values, one with `is_grid`
    several lines of them. One with `is_setup` stays as it is from reading to reading.
    """

    key: str
    label: str
    kind: str
    dimension: str = ""
    symbols: tuple[str, ...] = ()
    choices: tuple[tuple[str, str], ...] = ()
    is_required: bool = False
    is_needed: bool = False
    is_setup: bool = False
    is_many: bool = False
    is_grid: bool = False
    columns: tuple[FieldForm, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class EntryForm:
    """The fields of a method or of another kind of entry."""

    name: str
    label: str
    fields: tuple[FieldForm, ...]


def method_forms(preference: UnitPreference, *, language: str = "en") -> tuple[EntryForm, ...]:
    """A form for each method of measurement.

    Parameters
    ----------
    preference
        Habit of units.
    language
        Of the catalogue.

    >>> forms = {f.name: f for f in method_forms(UnitPreference.IP)}
    >>> [f.key for f in forms["vane"].fields]
    ['velocities', 'area', 'factor_ratio', 'has_cone']
    """
    words = words_of(language, "words_field")
    return tuple(
        EntryForm(
            name=method.value,
            label=words.say(f"field-method.{method.value}"),
            fields=tuple(_fields(LOOK_OF_METHOD[method], preference, words)),
        )
        for method in Method
    )


def entry_forms(preference: UnitPreference, *, language: str = "en") -> tuple[EntryForm, ...]:
    """A form for each kind of entry beside readings that is typed into a visit.

    Parameters
    ----------
    preference
        Habit of units.
    language
        Of the catalogue.

    >>> [f.name for f in entry_forms(UnitPreference.IP)][:3]
    ['conditions', 'walk_through', 'adjustment']
    """
    words = words_of(language, "words_field")
    return tuple(
        EntryForm(
            name=kind.value,
            label=words.say(f"field-form.{kind.value}"),
            fields=tuple(_fields(record, preference, words)),
        )
        for kind, record in _FORMS.items()
    )


def _fields(
    record: type, preference: UnitPreference, words: Words, *, prefix: str = ""
) -> Iterator[FieldForm]:
    hints = hints_of(record)
    for one in fields(record):
        if one.name in _NOT_TYPED:
            continue
        hint = hints[one.name]
        key = prefix + key_of(one.name, hint)
        inner = inner_of(hint)
        if isinstance(inner, type) and is_dataclass(inner):
            yield from _fields(inner, preference, words, prefix=f"{key}.")
            continue
        if inner in (date, datetime):
            continue
        depth = _depth(hint)
        dimension = dimension_of(hint)
        yield FieldForm(
            key=key,
            label=words.say(f"field.{key}"),
            kind=kind_of(inner, dimension),
            dimension=dimension.value if dimension else "",
            symbols=symbols_of(key, record, dimension, preference) if dimension else (),
            choices=choices_of(inner, record, words),
            is_required=one.default is MISSING,
            is_needed=one.default is MISSING or key in _NEEDED,
            is_setup=key in _SETUP or bool(prefix),
            is_many=depth > 0,
            is_grid=depth > 1,
        )


def inner_of(hint: Any) -> Any:
    """What stands inside ``None`` and tuples; a float for any quantity.

    Parameters
    ----------
    hint
        An annotation of the record.
    """
    if dimension_of(hint) is not None:
        return float
    while get_args(hint):
        hint = next(a for a in get_args(hint) if a not in (type(None), Ellipsis))
    return hint


def _depth(hint: Any) -> int:
    if get_origin(hint) is tuple:
        return 1 + _depth(get_args(hint)[0])
    return 0


def kind_of(inner: Any, dimension: Dimension | None) -> str:
    """How a plain value is typed: the `kind` of its `FieldForm`.

    Parameters
    ----------
    inner, dimension
        As `inner_of` and `dimension_of` give them.
    """
    if dimension is not None:
        return "quantity"
    if inner is bool:
        return "truth"
    if isinstance(inner, type) and issubclass(inner, StrEnum):
        return "choice"
    return "text"


def choices_of(inner: Any, record: type, words: Words) -> tuple[tuple[str, str], ...]:
    """Words to choose from, each with what is shown; none for any other value.

    Parameters
    ----------
    inner
        As `inner_of` gives it.
    record
        The record it belongs to.
    words
        The catalogue.
    """
    if not (isinstance(inner, type) and issubclass(inner, StrEnum)):
        return ()
    group = "field-walk" if record is WalkThroughEntry else "choice"
    return tuple((word.value, words.say(f"{group}.{word.value}")) for word in inner)


def symbols_of(
    key: str, record: type, dimension: Dimension, preference: UnitPreference
) -> tuple[str, ...]:
    """Units of measure offered for a value, the habit's first.

    Parameters
    ----------
    key, record, dimension
        The value.
    preference
        The habit.
    """
    own = _OWN_SYMBOLS.get("barometric_pressure" if record is Barometer else key)
    if own:
        return tuple(reversed(own)) if preference is UnitPreference.IP else own
    on_site = _SITE_SYMBOLS[preference].get(dimension)
    if on_site:
        return on_site
    return tuple(dict.fromkeys(p.symbol(dimension) for p in (preference, *UnitPreference)))
