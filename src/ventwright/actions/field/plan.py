"""The plan of a house, and the firm's instruments, as the house page shows and changes them."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

from ventwright.actions.field.model import Habits
from ventwright.actions.record import (
    Handed,
    Ledger,
    find_instruments,
    find_visits,
    instrument_of,
    kept_from,
    look_at_visit,
    put_entry,
)
from ventwright.actions.record import open_house as open_house_of
from ventwright.actions.record import open_instrument as open_instrument_of
from ventwright.actions.rule_sets import list_rule_set, shipped_rule_sets
from ventwright.house import Entry, Instrument, Series, entry_of
from ventwright.quantities import Problem, UserError
from ventwright.report.field import (
    EntryForm,
    PlanPart,
    compose_instrument,
    compose_plan,
    plan_forms,
)


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanPage:
    """A plan at one of its revisions, the forms of its parts, and what does not fit together."""

    house_id: str
    number: int
    plan: PlanPart
    forms: tuple[EntryForm, ...]
    problems: tuple[Problem, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class InstrumentPage:
    """The firm's instruments, their form, and which of all known ones were carried last.

    `carried` are id and name; those of the last visit come first and are marked.
    """

    instruments: tuple[PlanPart, ...]
    forms: tuple[EntryForm, ...]
    carried: tuple[tuple[str, str, bool], ...]


def plan_page(ledger: Ledger, house_id: str, *, habits: Habits) -> PlanPage:
    """A house's plan with everything its page shows of it.

    Parameters
    ----------
    ledger
        The record.
    house_id
        The house.
    habits
        Of the person who looks.

    Raises
    ------
    UserError
        ``unknown-house``.

    >>> from ventwright.actions.record import practice_ledger
    >>> with practice_ledger() as ledger:
    ...     plan_page(ledger, "h", habits=Habits()).plan.title
    'Barn'
    """
    opened = open_house_of(ledger, house_id)
    return PlanPage(
        house_id=house_id,
        number=opened.number,
        plan=compose_plan(
            opened.house, preference=habits.preference, number_style=habits.number_style
        ),
        forms=house_forms(habits),
        problems=opened.problems,
    )


def house_forms(habits: Habits) -> tuple[EntryForm, ...]:
    """Forms of all parts of a plan, and of instruments.

    Parameters
    ----------
    habits
        Of the person who types.

    >>> house_forms(Habits())[0].name
    'house'
    """
    return plan_forms(habits.preference, rule_sets=_rule_set_names())


@lru_cache(maxsize=1)
def _rule_set_names() -> tuple[tuple[str, str], ...]:
    """Ids and names of the rule sets that ship: they change with the version alone."""
    return tuple((one, list_rule_set(one).name) for one in shipped_rule_sets())


def instrument_page(ledger: Ledger, *, habits: Habits) -> InstrumentPage:
    """The firm's instruments with everything that is shown of them.

    Parameters
    ----------
    ledger
        The record.
    habits
        Of the person who looks.

    >>> from ventwright.actions.record import practice_ledger
    >>> with practice_ledger() as ledger:
    ...     instrument_page(ledger, habits=Habits()).carried
    ()
    """
    found = [open_instrument_of(ledger, line.id).instrument for line in find_instruments(ledger)]
    last = carried_last(ledger)
    known = {one.id: one for one in (*last, *found)}
    ids = {one.id for one in last}
    return InstrumentPage(
        instruments=tuple(
            compose_instrument(one, preference=habits.preference, number_style=habits.number_style)
            for one in found
        ),
        forms=tuple(f for f in house_forms(habits) if f.name == "instrument"),
        carried=tuple((one.id, one.name or one.id, one.id in ids) for one in known.values()),
    )


def carried_last(ledger: Ledger, *, visit_id: str = "") -> tuple[Instrument, ...]:
    """Instruments of the visit that changed last and has any.

    Parameters
    ----------
    ledger
        The record.
    visit_id
        A visit that counts even without any, so that beginning it again gives the same.

    >>> from ventwright.actions.record import practice_ledger
    >>> with practice_ledger() as ledger:
    ...     carried_last(ledger)
    ()
    """
    for line in find_visits(ledger):
        instruments = look_at_visit(ledger, line.id).visit.instruments
        if instruments or line.id == visit_id:
            return instruments
    return ()


def chosen_instruments(
    ledger: Ledger, ids: tuple[str, ...], *, visit_id: str
) -> tuple[Instrument, ...]:
    """Instruments by id, as registered now, else as they were carried last.

    Parameters
    ----------
    ledger
        The record.
    ids
        Which.
    visit_id
        The visit they are carried to.

    Raises
    ------
    UserError
        ``unknown-instrument``.

    >>> from ventwright.actions.record import practice_ledger
    >>> with practice_ledger() as ledger:
    ...     chosen_instruments(ledger, (), visit_id="v")
    ()
    """
    last = {one.id: one for one in carried_last(ledger, visit_id=visit_id)}
    found = []
    for ident in ids:
        try:
            found.append(open_instrument_of(ledger, ident).instrument)
        except UserError:
            if ident not in last:
                raise
            found.append(last[ident])
    return tuple(found)


def carry_instrument(
    ledger: Ledger, visit_id: str, instrument_id: str, *, entry_id: str, by: str = ""
) -> Handed:
    """Take a registered instrument along on a visit that has begun, as it is known now.

    What the visit knew of it before is superseded: readings are judged by what is known now.

    Parameters
    ----------
    ledger
        The record.
    visit_id
        The visit.
    instrument_id
        A registered instrument.
    entry_id
        Made where it is chosen; the same again is acknowledged.
    by
        Who.

    Raises
    ------
    UserError
        ``unknown-visit``, ``unknown-instrument``.

    >>> from ventwright.actions.record import practice_ledger, put_instrument
    >>> from ventwright.house import InstrumentKind
    >>> with practice_ledger() as ledger:
    ...     _ = put_instrument(ledger, Instrument(id="vane", kind=InstrumentKind.VANE_METER))
    ...     states = [
    ...         carry_instrument(ledger, "v", "vane", entry_id="c1").receipt.state.value
    ...         for _ in range(2)
    ...     ]
    ...     states, len(look_at_visit(ledger, "v").visit.instruments)
    (['recorded', 'already'], 1)
    """
    with ledger.store.writing() as change:
        instrument = instrument_of(change, instrument_id).instrument
        kept = kept_from(change.entries(Series.VISIT, visit_id))
        mine = [one.entry for one in kept if _is_of(one.entry, instrument_id)]
        again = next((one for one in mine if one.id == entry_id), None)
        before = mine[-1].id if mine else None
        entry = entry_of(
            instrument,
            entry_id=entry_id,
            # Handed in again it must be the same entry, whatever came after it.
            supersedes=before if again is None else again.supersedes,
            by=by,
        )
        return put_entry(change, ledger, visit_id, entry)


def _is_of(entry: Entry, instrument_id: str) -> bool:
    return isinstance(entry.what, Instrument) and entry.what.id == instrument_id
