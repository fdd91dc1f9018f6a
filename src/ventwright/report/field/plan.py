"""A house's plan as the field page shows it: every part with its line, its texts and its lists."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from enum import StrEnum
from typing import Any

from ventwright.house import (
    House,
    Instrument,
    PartPath,
    Terminal,
    dimension_of,
    hints_of,
    key_of,
    part_lists,
    part_sha256,
    part_values,
)
from ventwright.quantities import Dimension, NumberStyle, UnitPreference, format_quantity
from ventwright.report.field.plan_forms import PART_FORMS, part_symbols
from ventwright.report.wording import Words, words_of

_NAMED = {
    *("boost_flow", "supply_flow", "extract_flow", "altitude"),
    *("calibrated_on", "calibration_due", "sensible", "latent"),
}
PartText = str | tuple[str, ...] | tuple[tuple[str, ...], ...]
# What a part is called and what is said of it in one line, by the key.
_LINES: dict[str, tuple[tuple[str, ...], tuple[str, ...]]] = {
    "house": (("name",), ("place", "floor_area", "altitude")),
    "room": (("name",), ("kind", "floor_area", "volume")),
    "system": (("name",), ("ventilation_unit.name", "ventilation_unit.place")),
    "fan_setting": (("name",), ("role", "supply_flow", "extract_flow")),
    "branch": (("id", "name"), ("side", "damper.kind", "damper.place")),
    "terminal": (("id", "room"), ("side", "design_flow", "boost_flow", "place")),
    "duct_piece": (("kind",), ("fitting", "diameter", "width", "height", "length")),
    "exchanger_table": (("stream",), ("points",)),
    "fan_curve": (("side",), ("points",)),
    "rated_point": (("flow",), ("basis", "sensible", "latent")),
    "surface": (("name",), ("kind", "room", "temperature")),
    "combustion_appliance": (("name",), ("venting", "room")),
    "other_exhaust": (("name",), ("flow",)),
    "instrument": (("name",), ("kind", "serial_no", "calibrated_on", "calibration_due")),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanPart:
    """One part of a plan: where it is, which form it takes, what it is called, what was typed.

    `sha256` is that of the part as shown; a change of it says which state it was made on.
    """

    path: PartPath
    sha256: str
    form: str
    title: str
    note: str
    texts: tuple[tuple[str, PartText], ...]
    lists: tuple[PlanList, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanList:
    """A list of parts: where it is, what it is called, the form of a new one."""

    path: PartPath
    title: str
    form: str
    has_ids: bool
    parts: tuple[PlanPart, ...]


def compose_plan(
    house: House,
    *,
    preference: UnitPreference,
    number_style: NumberStyle = NumberStyle.DECIMAL_POINT,
    language: str = "en",
) -> PlanPart:
    """Write a house's plan as data.

    Parameters
    ----------
    house
        The house.
    preference, number_style
        Of the person who looks.
    language
        Of the catalogue.

    >>> barn = House(schema="ventwright-house-1", id="h", name="Barn", floor_area_m2=120.0)
    >>> plan = compose_plan(barn, preference=UnitPreference.SI_LS)
    >>> plan.title, plan.note, plan.lists[0].title
    ('Barn', '120 m²', 'Rooms')
    """
    pen = _Pen(preference, number_style, words_of(language, "words_field"))
    pen.rooms = {room.id: room.name for room in house.rooms}
    return pen.part(house, ())


def compose_instrument(
    instrument: Instrument,
    *,
    preference: UnitPreference,
    number_style: NumberStyle = NumberStyle.DECIMAL_POINT,
    language: str = "en",
) -> PlanPart:
    """Write an instrument in the same form; its path is its id.

    Parameters
    ----------
    instrument
        The instrument.
    preference, number_style, language
        As `compose_plan`.

    >>> from ventwright.house import InstrumentKind
    >>> vane = Instrument(id="vane", kind=InstrumentKind.VANE_METER)
    >>> compose_instrument(vane, preference=UnitPreference.IP).note
    'vane meter'
    """
    pen = _Pen(preference, number_style, words_of(language, "words_field"))
    return pen.part(instrument, (instrument.id,))


class _Pen:
    """Writes parts in one habit of units."""

    def __init__(self, preference: UnitPreference, number_style: NumberStyle, words: Words) -> None:
        self.preference, self.number_style, self.words = preference, number_style, words
        self.rooms: Mapping[str, str] = {}

    def part(self, part: Any, path: PartPath) -> PlanPart:
        form = PART_FORMS[type(part)]
        values = {key: (value, hint) for key, value, hint in part_values(part)}
        own = {
            key: self.text(key, value, hint, type(part))
            for key, (value, hint) in values.items()
            if key != "schema"
        }
        head, rest = _LINES[form]
        title = " ".join(self.said(key, *values[key], type(part)) for key in head).strip()
        note = [self.said(key, *values[key], type(part)) for key in rest if key in values]
        if isinstance(part, Terminal):
            note.append(self._band(part))
        return PlanPart(
            path=path,
            sha256=part_sha256(part),
            form=form,
            title=title or getattr(part, "id", "") or self.words.say(f"plan-part.{form}"),
            note=", ".join(one for one in note if one),
            texts=tuple((key, text) for key, text in own.items() if text),
            lists=tuple(self.lists(part, path)),
        )

    def _band(self, terminal: Terminal) -> str:
        low, high = (
            self._measure("", flow, Dimension.FLOW, Terminal) if flow is not None else ""
            for flow in (terminal.min_flow_m3_s, terminal.max_flow_m3_s)
        )
        if not low and not high:
            return ""
        code = "band" if low and high else "band-least" if low else "band-most"
        return self.words.say(f"plan-line.{code}", low=low, high=high)

    def lists(self, part: Any, path: PartPath) -> Iterator[PlanList]:
        for names, held in part_lists(type(part)):
            found = part
            for name in names:
                found = getattr(found, name)
            form = PART_FORMS[held]
            has_ids = "id" in hints_of(held)
            yield PlanList(
                path=(*path, *names),
                title=self.words.say(f"plan-list.{names[-1]}"),
                form=form,
                has_ids=has_ids,
                parts=tuple(
                    self.part(one, (*path, *names, one.id if has_ids else str(i)))
                    for i, one in enumerate(found)
                ),
            )

    def text(self, key: str, value: Any, hint: Any, record: type) -> PartText:
        """What would be typed for a value; empty for none."""
        if value is None:
            return ""
        if isinstance(value, tuple):
            return tuple(self._line(one) for one in value)
        if isinstance(value, bool):
            return str(value).lower()
        dimension = dimension_of(hint)
        if dimension is None:
            return value.isoformat() if isinstance(value, date) else str(value)
        return self._measure(key, value, dimension, record)

    def _line(self, one: Any) -> Any:
        if isinstance(one, str):
            return one
        return tuple(
            str(self.text(key_of(name, hint), getattr(one, name), hint, type(one)))
            for name, hint in hints_of(type(one)).items()
        )

    def _measure(self, key: str, value_si: float, dimension: Dimension, record: type) -> str:
        text = format_quantity(
            value_si,
            dimension=dimension,
            unit_symbol=part_symbols(key, record, dimension, self.preference)[0],
            number_style=self.number_style,
        )
        number, gap, symbol = text.partition(" ")
        if "." in number or "," in number:
            number = number.rstrip("0").rstrip(".,")
        return number + gap + symbol

    def said(self, key: str, value: Any, hint: Any, record: type) -> str:
        """A value in words for a line."""
        if key == "room" and isinstance(value, str):
            return self.rooms.get(value, value)
        if isinstance(value, StrEnum):
            return self.words.say(f"choice.{value.value}")
        if isinstance(value, tuple):
            return self.words.count("plan-line.points", len(value))
        text = str(self.text(key, value, hint, record))
        # Of two flows in a line, each says which it is.
        return self.words.say(f"plan-line.{key}", value=text) if text and key in _NAMED else text
