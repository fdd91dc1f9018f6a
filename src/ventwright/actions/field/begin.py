"""Begin a visit on the spot, with the instruments that were carried last."""

from __future__ import annotations

from datetime import datetime

from ventwright.actions.record import Handed, Ledger, find_visits, look_at_visit, start_visit
from ventwright.house import VISIT_SCHEMA, Instrument, Purpose, Visit


def begin_visit(
    ledger: Ledger,
    house_id: str,
    *,
    visit_id: str,
    technician: str,
    firm: str = "",
    purpose: Purpose = Purpose.COMMISSIONING,
    started_at: datetime,
) -> Handed:
    """Start a visit and take along the instruments of the visit that changed last.

    Parameters
    ----------
    ledger
        The record.
    house_id
        The house.
    visit_id
        Made where the visit is begun.
    technician, firm, purpose
        Who and why.
    started_at
        When, with its offset.

    Raises
    ------
    UserError
        ``unknown-house``, ``taken-id``.

    >>> from datetime import UTC
    >>> from ventwright.actions.record import practice_ledger
    >>> with practice_ledger() as ledger:
    ...     handed = begin_visit(ledger, "h", visit_id="w", technician="A. Sample",
    ...         started_at=datetime(2026, 3, 4, tzinfo=UTC))
    ...     len(find_visits(ledger, house_id="h"))
    2
    """
    visit = Visit(
        schema=VISIT_SCHEMA,
        id=visit_id,
        house=house_id,
        started_at=started_at,
        technician=technician,
        firm=firm,
        purpose=purpose,
        instruments=_carried(ledger, visit_id),
    )
    return start_visit(ledger, visit, by=technician)


def _carried(ledger: Ledger, visit_id: str) -> tuple[Instrument, ...]:
    for line in find_visits(ledger):
        # Of the visit itself, so that the same start handed in again is the same.
        instruments = look_at_visit(ledger, line.id).visit.instruments
        if instruments or line.id == visit_id:
            return instruments
    return ()
