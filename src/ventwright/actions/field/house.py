"""What pages show of a house, and the words they hand in turned into those of the record."""

from __future__ import annotations

from dataclasses import dataclass

from ventwright.house import EntryKind, House, Purpose
from ventwright.quantities import Dimension, NumberStyle, UnitPreference
from ventwright.report.field import EntryForm, entry_forms, method_forms
from ventwright.report.measures import Measures


@dataclass(frozen=True, slots=True, kw_only=True)
class HouseTable:
    """A table of a house's plan: rooms, terminals, settings."""

    title: str
    columns: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]


def house_page(
    house: House,
    *,
    preference: UnitPreference,
    number_style: NumberStyle = NumberStyle.DECIMAL_POINT,
) -> tuple[HouseTable, ...]:
    """The plan of a house as tables: its units, rooms, terminals and fan settings.

    Parameters
    ----------
    house
        The house.
    preference, number_style
        Of the person who looks.

    >>> barn = House(schema="ventwright-house-1", id="h", name="Barn")
    >>> house_page(barn, preference=UnitPreference.IP)
    ()
    """
    m = Measures(preference=preference, number_style=number_style)
    rooms = {r.id: r.name for r in house.rooms}
    tables = [
        HouseTable(
            title="Rooms",
            columns=("Room", "Kind", "Floor area"),
            rows=tuple(
                (r.name, r.kind.value.replace("_", " "), m.plain(r.floor_area_m2, Dimension.AREA))
                for r in house.rooms
            ),
        )
    ]
    for system in house.systems:
        unit = system.ventilation_unit
        settings = ", ".join(f.name or f.id for f in system.fan_settings)
        name = system.name or system.id
        tables.append(
            HouseTable(
                title=f"Ventilation unit, {name}",
                columns=("", ""),
                rows=tuple(
                    row
                    for row in (
                        ("Name", unit.name),
                        ("Place", unit.place),
                        ("Serial no.", unit.serial_no),
                        ("Fan settings", settings),
                    )
                    if row[1]
                ),
            )
        )
        tables.append(
            HouseTable(
                title=f"Terminals, {name}",
                columns=("Terminal", "Room", "Side", "Design flow"),
                rows=tuple(
                    (
                        t.id,
                        rooms.get(t.room, t.room),
                        t.side.value,
                        m.plain(t.design_flow_m3_s, Dimension.FLOW),
                    )
                    for t in system.terminals
                ),
            )
        )
    return tuple(t for t in tables if t.rows)


def field_forms(preference: UnitPreference) -> tuple[EntryForm, ...]:
    """All forms of the field page, methods first.

    Parameters
    ----------
    preference
        Habit of units.

    >>> len(field_forms(UnitPreference.IP))
    21
    """
    return (*method_forms(preference), *entry_forms(preference))


def entry_kind(word: str) -> EntryKind:
    """A kind of entry from its word.

    Parameters
    ----------
    word
        As handed in.

    >>> entry_kind("note").name
    'NOTE'
    """
    return EntryKind(word)


def purpose_of(word: str) -> Purpose:
    """The purpose of a visit from its word.

    Parameters
    ----------
    word
        As handed in.

    >>> purpose_of("check").name
    'CHECK'
    """
    return Purpose(word)
