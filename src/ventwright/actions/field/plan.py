"""The plan of a house, and the firm's instruments, as the house page shows and changes them."""

from __future__ import annotations

from dataclasses import dataclass

from ventwright.actions.field.model import Habits
from ventwright.actions.record import Ledger, find_instruments, find_visits, look_at_visit
from ventwright.actions.record import open_house as open_house_of
from ventwright.actions.record import open_instrument as open_instrument_of
from ventwright.actions.rule_sets import list_rule_set, shipped_rule_sets
from ventwright.house import Instrument
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
    names = tuple((one, list_rule_set(one).name) for one in shipped_rule_sets())
    return plan_forms(habits.preference, rule_sets=names)


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
