"""Readings of a visit, as a record or as its form gives it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from ventwright.actions.record.ledger import Handed, Ledger
from ventwright.actions.record.visits import add_entry
from ventwright.house import Reader, Reading, entry_of, parse_reading
from ventwright.quantities import NumberStyle, UserError


def record_reading(ledger: Ledger, visit_id: str, reading: Reading, *, by: str = "") -> Handed:
    """Add a reading to a visit; a correction names the reading it supersedes.

    Parameters
    ----------
    ledger
        The record.
    visit_id
        The visit.
    reading
        As typed, with its id.
    by
        Who read it.

    Raises
    ------
    UserError
        As `add_entry`.

    >>> from ventwright.actions.record import look_at_visit, practice_ledger
    >>> from ventwright.house import ElectricPower, Method, Phase, station_from
    >>> reading = Reading(id="r", station=station_from("unit"), method=Method.POWER,
    ...     look=ElectricPower(power_w=62.0), setting="continuous", phase=Phase.AS_FOUND)
    >>> with practice_ledger() as ledger:
    ...     _ = record_reading(ledger, "v", reading)
    ...     look_at_visit(ledger, "v").visit.readings == (reading,)
    True
    """
    return add_entry(ledger, visit_id, entry_of(reading, by=by))


def record_typed_reading(
    ledger: Ledger,
    visit_id: str,
    mapping: Mapping[str, object],
    *,
    number_style: NumberStyle | None = None,
    by: str = "",
) -> Handed:
    """Add a reading as its form gives it: texts by key, as in a visit file.

    Parameters
    ----------
    ledger
        The record.
    visit_id
        The visit.
    mapping
        Keys of a reading in a visit file.
    number_style
        How a number with a lone comma is meant.
    by
        Who read it.

    Returns
    -------
    Handed
        With keys that no such reading has, which were left out.

    Raises
    ------
    UserError
        If a value can't be read or a key is missing; its problems name each field and what is
        accepted. Nothing is recorded then.

    >>> from ventwright.actions.record import practice_ledger
    >>> typed = {"id": "r", "station": "unit", "method": "power", "power": "62 W",
    ...     "setting": "continuous", "phase": "as_found"}
    >>> with practice_ledger() as ledger:
    ...     record_typed_reading(ledger, "v", typed).receipt.state.value
    'recorded'
    """
    reader = Reader(number_style=number_style)
    reading = parse_reading(mapping, where="reading", reader=reader)
    problems = tuple(reader.problems)
    # A key that is not known takes nothing away; a value that can't be read does, and a record that
    # is never changed should not begin with half a reading.
    if reading is None or any(p.code != "unknown-key" for p in problems):
        raise UserError("the reading can't be read", problems=problems)
    handed = record_reading(ledger, visit_id, reading, by=by)
    return replace(handed, problems=(*problems, *handed.problems))
