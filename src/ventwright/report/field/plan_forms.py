"""Forms of a house's plan and of instruments, read off the records like those of a visit."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from typing import Any, get_origin

from ventwright.house import (
    Branch,
    CombustionAppliance,
    DuctPiece,
    ExchangerTable,
    FanCurve,
    FanSetting,
    House,
    Instrument,
    OtherExhaust,
    RatedPoint,
    Room,
    Surface,
    System,
    Terminal,
    dimension_of,
    hints_of,
    is_table,
    key_of,
    part_keys,
)
from ventwright.quantities import Dimension, UnitPreference
from ventwright.quantities.records import is_required
from ventwright.report.field.forms import (
    EntryForm,
    FieldForm,
    choices_of,
    inner_of,
    kind_of,
    symbols_of,
)
from ventwright.report.wording import Words, words_of

PART_FORMS: dict[type, str] = {
    House: "house",
    Room: "room",
    System: "system",
    FanSetting: "fan_setting",
    Branch: "branch",
    Terminal: "terminal",
    DuctPiece: "duct_piece",
    ExchangerTable: "exchanger_table",
    FanCurve: "fan_curve",
    RatedPoint: "rated_point",
    Surface: "surface",
    CombustionAppliance: "combustion_appliance",
    OtherExhaust: "other_exhaust",
    Instrument: "instrument",
}
_SYMBOLS = {Dimension.TIME: ("min", "s", "h"), Dimension.ANGLE: ("°",)}


def plan_forms(
    preference: UnitPreference, *, rule_sets: tuple[tuple[str, str], ...] = (), language: str = "en"
) -> tuple[EntryForm, ...]:
    """A form for each kind of part of a plan, and for an instrument.

    Parameters
    ----------
    preference
        Habit of units.
    rule_sets
        Ids and names to choose from.
    language
        Of the catalogue.

    >>> forms = {f.name: f for f in plan_forms(UnitPreference.IP)}
    >>> [f.key for f in forms["fan_curve"].fields], forms["fan_curve"].fields[1].columns[1].symbols
    (['side', 'points'], ('cfm', 'L/s', 'm³/h'))
    """
    words = words_of(language, "words_field")
    return tuple(
        EntryForm(
            name=name,
            label=words.say(f"plan-part.{name}"),
            fields=tuple(_fields(record, preference, words, rule_sets)),
        )
        for record, name in PART_FORMS.items()
    )


def _fields(
    record: type,
    preference: UnitPreference,
    words: Words,
    rule_sets: tuple[tuple[str, str], ...],
) -> Iterator[FieldForm]:
    for key, hint in part_keys(record):
        if key == "schema":
            continue
        inner = inner_of(hint)
        dimension = dimension_of(hint)
        required = _is_required(record, key)
        if get_origin(hint) is tuple and dimension is None and is_table(inner):
            columns = tuple(
                _one(key_of(n, h), h, inner, preference, words) for n, h in hints_of(inner).items()
            )
            yield FieldForm(
                key=key, label=_label(key, words), kind="lines", is_required=required,
                columns=columns,
            )  # fmt: skip
        elif key == "rule_sets":
            yield FieldForm(key=key, label=_label(key, words), kind="words", choices=rule_sets)
        else:
            yield _one(key, hint, record, preference, words, is_required=required)


def _one(
    key: str,
    hint: Any,
    record: type,
    preference: UnitPreference,
    words: Words,
    *,
    is_required: bool = False,
) -> FieldForm:
    inner, dimension = inner_of(hint), dimension_of(hint)
    return FieldForm(
        key=key,
        label=_label(key, words),
        kind="date" if inner is date else kind_of(inner, dimension),
        dimension=dimension.value if dimension else "",
        symbols=part_symbols(key, record, dimension, preference) if dimension else (),
        choices=choices_of(inner, record, words),
        is_required=is_required,
        is_needed=is_required,
    )


def part_symbols(
    key: str, record: type, dimension: Dimension, preference: UnitPreference
) -> tuple[str, ...]:
    """Units of measure offered for a value of a plan, the habit's first.

    Parameters
    ----------
    key, record, dimension, preference
        As `symbols_of`.

    >>> part_symbols("run_time", FanSetting, Dimension.TIME, UnitPreference.IP)
    ('min', 's', 'h')
    """
    last = key.rpartition(".")[2]
    if dimension is Dimension.LENGTH and last in ("altitude", "height", "length"):
        # Rooms and runs, not the inside of a duct.
        return ("ft", "m") if preference is UnitPreference.IP else ("m", "ft")
    if dimension is Dimension.AREA and last in ("floor_area",):
        return ("ft²", "m²") if preference is UnitPreference.IP else ("m²", "ft²")
    return _SYMBOLS.get(dimension) or symbols_of(last, record, dimension, preference)


def _label(key: str, words: Words) -> str:
    """The plan's own words, else those of the visit, else the key's."""
    last = key.rpartition(".")[2]
    for code in (f"plan-field.{key}", f"plan-field.{last}", f"field.{key}", f"field.{last}"):
        if code in words:
            return words.say(code)
    return words.say(f"plan-field.{last}").capitalize()


def _is_required(record: type, key: str) -> bool:
    """Whether no part can be made without it; a record inside counts where it must be there."""
    for name, hint in hints_of(record).items():
        table, _, inner = key.partition(".")
        if key_of(name, hint) != table:
            continue
        has_default = name in _defaults(record)
        if not inner or has_default:
            return not has_default
        return _is_required(inner_of(hint), inner)
    return False


def _defaults(record: type) -> set[str]:
    from dataclasses import fields

    return {f.name for f in fields(record) if not is_required(f)}
