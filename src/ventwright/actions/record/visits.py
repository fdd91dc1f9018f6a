"""Visits in the record: start one, add to it, close it, look at it as it stands."""

from __future__ import annotations

from dataclasses import dataclass, replace

from ventwright.actions.record.houses import plan_of
from ventwright.actions.record.ledger import (
    Handed,
    Ledger,
    check_id,
    entry_from,
    hand_in,
    kept_from,
    refuse_unknown,
)
from ventwright.house import (
    Closing,
    Entry,
    EntryKind,
    Folded,
    House,
    Series,
    Visit,
    check_visit,
    entries_of,
    entry_of,
    fold_visit,
    time_text,
)
from ventwright.quantities import Problem, Severity, UserError
from ventwright.store import Head, ReceiptState, Transaction, visit_line

_REMEDY = "list them with: ventwright visits"
_MOVES_LISTS = {EntryKind.VISIT, EntryKind.CLOSING, EntryKind.WITHDRAWAL, EntryKind.DECISION}


@dataclass(frozen=True, slots=True, kw_only=True)
class OpenVisit:
    """A visit as it stands, put together from its entries, and the house it was made to.

    `head` says up to which entry; `problems` name what does not fit together and what is contested.
    """

    house: House
    folded: Folded
    head: Head
    problems: tuple[Problem, ...]

    @property
    def visit(self) -> Visit:
        """The visit."""
        return self.folded.visit


@dataclass(frozen=True, slots=True, kw_only=True)
class SealedEntry:
    """An entry with its place in the visit, when it was taken in, and what it contests."""

    number: int
    sealed_at: str
    via: str
    content_sha256: str
    entry: Entry


def start_visit(ledger: Ledger, visit: Visit, *, by: str = "") -> Handed:
    """Begin a visit to a house that is in the record; all that it already holds goes with it.

    Parameters
    ----------
    ledger
        The record.
    visit
        The visit; often its head, conditions and instruments alone.
    by
        Who.

    Returns
    -------
    Handed
        The receipt of its last entry, and everything that was contested on the way. The same visit
        handed in again adds nothing; a longer one adds what is new.

    Raises
    ------
    UserError
        ``unknown-house``; ``taken-id`` if a visit to another house has that id.

    >>> from ventwright.actions.record import practice_ledger
    >>> with practice_ledger() as ledger:
    ...     _ = start_visit(ledger, Visit(schema="ventwright-visit-1", id="v2", house="h"))
    ...     look_at_visit(ledger, "v2").visit.house
    'h'
    """
    with ledger.store.writing() as change:
        return put_visit(change, ledger, visit, by=by)


def put_visit(change: Transaction, ledger: Ledger, visit: Visit, *, by: str = "") -> Handed:
    """As `start_visit`, within a transaction.

    Parameters
    ----------
    change
        The transaction.
    ledger, visit, by
        As `start_visit`.

    >>> from ventwright.actions.record import practice_ledger
    >>> visit = Visit(schema="ventwright-visit-1", id="v", house="h")
    >>> with practice_ledger() as ledger, ledger.store.writing() as change:
    ...     put_visit(change, ledger, visit).receipt.state.value
    'already'
    """
    check_id(visit.id, what="visit")
    if change.head(Series.HOUSE, visit.house) is None:
        raise refuse_unknown(
            "house", visit.house, remedy="take the house in first: ventwright import HOUSE"
        )
    is_new = change.begin_series(
        Series.VISIT,
        visit.id,
        at=ledger.clock(),
        columns={"house": visit.house, **visit_columns(visit)},
    )
    line = visit_line(change, visit.id)
    if not is_new and line is not None and line.house != visit.house:
        raise UserError(
            f"visit id {visit.id!r} is taken by a visit to house {line.house!r}; "
            "give this visit another id"
        )
    handed = [
        hand_in(change, ledger, entry, series=Series.VISIT, owner=visit.id)
        for entry in entries_of(visit, by=by)
    ]
    _renew_lists(change, visit.id)
    return Handed(
        receipt=handed[-1].receipt, problems=tuple(p for one in handed for p in one.problems)
    )


def add_entry(ledger: Ledger, visit_id: str, entry: Entry) -> Handed:
    """Add one thing to a visit: a reading, an adjustment, a fault, a note, whatever an entry holds.

    Parameters
    ----------
    ledger
        The record.
    visit_id
        The visit.
    entry
        With the id it was given where it was made. The same entry again is acknowledged; the same
        id with other content is kept too, out of force, and said to be contested.

    Returns
    -------
    Handed
        With a hint where the visit was closed before. Nothing is refused for that.

    Raises
    ------
    UserError
        ``unknown-visit``, ``unusable-id``, ``not-text``.

    >>> from ventwright.actions.record import practice_ledger
    >>> from ventwright.house import Note
    >>> note = entry_of(Note(id="n", text="hatch stuck"))
    >>> with practice_ledger() as ledger:
    ...     [add_entry(ledger, "v", note).receipt.state.value for _ in range(2)]
    ['recorded', 'already']
    """
    with ledger.store.writing() as change:
        return put_entry(change, ledger, visit_id, entry)


def put_entry(change: Transaction, ledger: Ledger, visit_id: str, entry: Entry) -> Handed:
    """As `add_entry`, within a transaction.

    Parameters
    ----------
    change
        The transaction.
    ledger, visit_id, entry
        As `add_entry`.

    >>> from ventwright.actions.record import practice_ledger
    >>> from ventwright.house import Note
    >>> with practice_ledger() as ledger, ledger.store.writing() as change:
    ...     put_entry(change, ledger, "v", entry_of(Note(id="n", text="dry"))).receipt.number
    2
    """
    line = visit_line(change, visit_id)
    if line is None:
        raise refuse_unknown("visit", visit_id, remedy=_REMEDY)
    handed = hand_in(change, ledger, entry, series=Series.VISIT, owner=visit_id)
    if entry.kind in _MOVES_LISTS and handed.receipt.state is not ReceiptState.ALREADY:
        _renew_lists(change, visit_id)
    if line.is_closed and entry.kind not in _MOVES_LISTS:
        return replace(handed, problems=(*handed.problems, _late(visit_id, entry)))
    return handed


def _late(visit_id: str, entry: Entry) -> Problem:
    return Problem(
        code="visit-closed",
        where=f"{entry.kind.value} {entry.id}",
        message=f"visit {visit_id!r} was closed before this arrived; it is kept all the same",
        remedy="issue the report again if it matters, or withdraw the entry",
        severity=Severity.WARNING,
    )


def _renew_lists(change: Transaction, visit_id: str) -> None:
    visit = fold_visit(kept_from(change.entries(Series.VISIT, visit_id)), visit_id=visit_id).visit
    change.show(Series.VISIT, visit_id, visit_columns(visit))


def visit_columns(visit: Visit) -> dict[str, object]:
    """What lists of visits show.

    Parameters
    ----------
    visit
        As it stands.

    >>> visit_columns(Visit(schema="ventwright-visit-1", id="v", house="h"))["purpose"]
    'commissioning'
    """
    return {
        "started_at": None if visit.started_at is None else time_text(visit.started_at),
        # PostgreSQL keeps every character but this one in a column.
        "technician": visit.technician.replace("\x00", "\ufffd"),
        "purpose": visit.purpose.value,
        "is_closed": int(visit.closed_at is not None),
    }


def close_visit(ledger: Ledger, visit_id: str, *, entry_id: str = "", by: str = "") -> Handed:
    """Say that a visit is over; entries still on their way are taken in later all the same.

    Parameters
    ----------
    ledger
        The record.
    visit_id
        The visit.
    entry_id
        Id of this entry; empty makes one of the time.
    by
        Who.

    >>> from ventwright.actions.record import practice_ledger
    >>> from ventwright.house import Note
    >>> with practice_ledger() as ledger:
    ...     _ = close_visit(ledger, "v")
    ...     late = add_entry(ledger, "v", entry_of(Note(id="n", text="dry")))
    >>> late.receipt.state.value, late.problems[0].code
    ('recorded', 'visit-closed')
    """
    now = ledger.clock()
    entry = entry_of(Closing(closed_at=now), entry_id=entry_id or time_text(now), by=by)
    return add_entry(ledger, visit_id, entry)


def look_at_visit(ledger: Ledger, visit_id: str) -> OpenVisit:
    """A visit as it stands, with its house and what does not fit together.

    Parameters
    ----------
    ledger
        The record.
    visit_id
        The visit.

    Raises
    ------
    UserError
        ``unknown-visit``.

    >>> from ventwright.actions.record import practice_ledger
    >>> with practice_ledger() as ledger:
    ...     look_at_visit(ledger, "v").head.number
    1
    """
    with ledger.store.reading() as now:
        return visit_of(now, visit_id)


def visit_of(now: Transaction, visit_id: str) -> OpenVisit:
    """As `look_at_visit`, within a transaction.

    Parameters
    ----------
    now
        The transaction.
    visit_id
        The visit.

    >>> from ventwright.actions.record import practice_ledger
    >>> with practice_ledger() as ledger, ledger.store.reading() as now:
    ...     visit_of(now, "v").house.name
    'Barn'
    """
    head = now.head(Series.VISIT, visit_id)
    if head is None:
        raise refuse_unknown("visit", visit_id, remedy=_REMEDY)
    folded = fold_visit(kept_from(now.entries(Series.VISIT, visit_id)), visit_id=visit_id)
    house, _ = plan_of(now, folded.visit.house)
    problems = (*folded.problems, *check_visit(folded.visit, house))
    return OpenVisit(house=house, folded=folded, head=head, problems=problems)


def entries_since(
    ledger: Ledger, visit_id: str, *, after_number: int = 0
) -> tuple[SealedEntry, ...]:
    """What was added to a visit after an entry: what a second phone asks for.

    Parameters
    ----------
    ledger
        The record.
    visit_id
        The visit.
    after_number
        The last entry already known; 0 for all.

    >>> from ventwright.actions.record import practice_ledger
    >>> with practice_ledger() as ledger:
    ...     len(entries_since(ledger, "v")), len(entries_since(ledger, "v", after_number=1))
    (1, 0)
    """
    with ledger.store.reading() as now:
        if now.head(Series.VISIT, visit_id) is None:
            raise refuse_unknown("visit", visit_id, remedy=_REMEDY)
        return tuple(
            SealedEntry(
                number=one.number,
                sealed_at=time_text(one.sealed_at),
                via=one.via,
                content_sha256=one.content_sha256,
                entry=entry_from(one),
            )
            for one in now.entries(Series.VISIT, visit_id, after_number=after_number)
        )
