"""Begin a visit on the spot, with the instruments that were carried last."""

from __future__ import annotations

from datetime import datetime

from ventwright.actions.field.plan import carried_last, chosen_instruments
from ventwright.actions.record import Handed, Ledger, start_visit
from ventwright.house import VISIT_SCHEMA, Purpose, Visit


def begin_visit(
    ledger: Ledger,
    house_id: str,
    *,
    visit_id: str,
    technician: str,
    firm: str = "",
    purpose: Purpose = Purpose.COMMISSIONING,
    started_at: datetime,
    instruments: tuple[str, ...] | None = None,
) -> Handed:
    """Start a visit with the instruments that are carried.

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
    instruments
        Ids of registered instruments, or of those carried last; None takes along what the visit
        that changed last had.

    Raises
    ------
    UserError
        ``unknown-house``, ``unknown-instrument``, ``taken-id``.

    >>> from datetime import UTC
    >>> from ventwright.actions.record import find_visits, practice_ledger
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
        instruments=carried_last(ledger, visit_id=visit_id)
        if instruments is None
        else chosen_instruments(ledger, instruments, visit_id=visit_id),
    )
    return start_visit(ledger, visit, by=technician)
