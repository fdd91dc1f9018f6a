"""Houses in the record: open one, change its plan with every revision kept, list them."""

from __future__ import annotations

from dataclasses import dataclass, replace

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
    EntryKind,
    House,
    Kept,
    Series,
    check_house,
    contest_problem,
    entry_of,
    in_force,
    standing_entries,
)
from ventwright.quantities import Problem
from ventwright.store import (
    HousePage,
    Receipt,
    ReceiptState,
    ReportLine,
    Transaction,
    VisitLine,
    list_houses,
    list_reports,
    list_visits,
)

_REMEDY = "list them with: ventwright houses"


@dataclass(frozen=True, slots=True, kw_only=True)
class OpenHouse:
    """A house as planned now, with what hangs on it. `number` guards changes to its plan."""

    house: House
    number: int
    visits: tuple[VisitLine, ...]
    reports: tuple[ReportLine, ...]
    problems: tuple[Problem, ...]


def add_house(ledger: Ledger, house: House, *, by: str = "") -> Handed:
    """Take a new house into the record, as revision 1 of its plan.

    Parameters
    ----------
    ledger
        The record.
    house
        The house; its id is its name in the record for good.
    by
        Who.

    Returns
    -------
    Handed
        The same house handed in again is acknowledged.

    Raises
    ------
    UserError
        ``changed-meanwhile`` if another plan stands under that id.

    >>> from ventwright.actions.record import practice_ledger
    >>> with practice_ledger() as ledger:
    ...     handed = add_house(ledger, House(schema="ventwright-house-1", id="m", name="Mill"))
    ...     find_houses(ledger, words="MILL").lines[0].id
    'm'
    """
    return change_house(ledger, house, expected_number=0, by=by)


def change_house(
    ledger: Ledger, house: House, *, expected_number: int, reason: str = "", by: str = ""
) -> Handed:
    """Replace a house's plan by its next revision; the former ones stay.

    Parameters
    ----------
    ledger
        The record.
    house
        The whole plan.
    expected_number
        The revision that was changed; 0 for a new house.
    reason
        Why.
    by
        Who.

    Raises
    ------
    UserError
        ``changed-meanwhile`` if someone else changed it since; nothing is lost or mixed.

    >>> from dataclasses import replace
    >>> from ventwright.actions.record import practice_ledger
    >>> with practice_ledger() as ledger:
    ...     barn = open_house(ledger, "h").house
    ...     _ = change_house(ledger, replace(barn, name="Mill"), expected_number=1)
    ...     open_house(ledger, "h").house.name, open_house(ledger, "h", number=1).house.name
    ('Mill', 'Barn')
    """
    with ledger.store.writing() as change:
        return put_house(
            change, ledger, house, expected_number=expected_number, reason=reason, by=by
        )


def put_house(
    change: Transaction,
    ledger: Ledger,
    house: House,
    *,
    expected_number: int,
    reason: str = "",
    by: str = "",
) -> Handed:
    """As `change_house`, within a transaction.

    Parameters
    ----------
    change
        The transaction.
    ledger, house, expected_number, reason, by
        As `change_house`.

    >>> from ventwright.actions.record import practice_ledger
    >>> mill = House(schema="ventwright-house-1", id="m", name="Mill")
    >>> with practice_ledger() as ledger, ledger.store.writing() as change:
    ...     put_house(change, ledger, mill, expected_number=0).receipt.number
    1
    """
    check_id(house.id, what="house")
    if expected_number == 0:
        change.begin_series(Series.HOUSE, house.id, at=ledger.clock(), columns=house_columns(house))
    elif change.head(Series.HOUSE, house.id) is None:
        raise refuse_unknown("house", house.id, remedy=_REMEDY)
    standing = None if expected_number == 0 else _standing(change, house.id)
    head = change.head(Series.HOUSE, house.id)
    if standing is not None and standing.entry.what == house and head is not None:
        return Handed(
            receipt=Receipt(state=ReceiptState.ALREADY, number=head.number, sha256=head.sha256)
        )
    entry = entry_of(
        house,
        entry_id=str(expected_number + 1),
        supersedes=None if standing is None else standing.entry.id,
        reason=reason,
        by=by,
    )
    return hand_in(
        change,
        ledger,
        entry,
        series=Series.HOUSE,
        owner=house.id,
        expected_number=expected_number,
        columns=house_columns(house),
    )


def house_columns(house: House) -> dict[str, object]:
    """What a list of houses shows and searches.

    Parameters
    ----------
    house
        Any house.

    >>> house_columns(House(schema="", id="h", name="Barn", place="Oxlea"))["search_text"]
    'h barn oxlea'
    """
    name, place = _shown(house.name), _shown(house.place)
    return {
        "name": name,
        "place": place,
        "name_key": name.casefold(),
        "search_text": f"{house.id} {name} {place}".casefold(),
    }


def _shown(text: str) -> str:
    # PostgreSQL keeps every character but this one in a column; the entry itself holds it escaped.
    return text.replace("\x00", "\ufffd")


def open_house(ledger: Ledger, house_id: str, *, number: int | None = None) -> OpenHouse:
    """A house as planned, with its visits and reports.

    Parameters
    ----------
    ledger
        The record.
    house_id
        Its id.
    number
        A former revision; None takes the plan as it stands.

    Raises
    ------
    UserError
        ``unknown-house``, ``unknown-revision``.

    >>> from ventwright.actions.record import practice_ledger
    >>> with practice_ledger() as ledger:
    ...     opened = open_house(ledger, "h")
    >>> opened.number, opened.visits[0].id
    (1, 'v')
    """
    with ledger.store.reading() as now:
        house, found_number = plan_of(now, house_id, number=number)
        return OpenHouse(
            house=house,
            number=found_number,
            visits=list_visits(now, house=house_id),
            reports=list_reports(now, house=house_id),
            problems=(*_plan_contests(now, house_id), *check_house(house)),
        )


def plan_of(now: Transaction, house_id: str, *, number: int | None = None) -> tuple[House, int]:
    """A house's plan within a transaction, and where its series stands.

    Parameters
    ----------
    now
        The transaction.
    house_id, number
        As `open_house`.

    >>> from ventwright.actions.record import practice_ledger
    >>> with practice_ledger() as ledger, ledger.store.reading() as now:
    ...     plan_of(now, "h")[0].name
    'Barn'
    """
    head = now.head(Series.HOUSE, house_id)
    if head is None:
        raise refuse_unknown("house", house_id, remedy=_REMEDY)
    if number is None:
        what = _standing(now, house_id).entry.what
        number = head.number
    else:
        sealed = now.entry(Series.HOUSE, house_id, number)
        if sealed is None:
            raise refuse_unknown(
                "revision", str(number), remedy=f"house {house_id!r} has 1 to {head.number}"
            )
        what = entry_from(sealed).what
    if not isinstance(what, House):
        raise refuse_unknown("revision", str(number), remedy="entries that decide hold no plan")
    return what, number


def _standing(now: Transaction, house_id: str) -> Kept:
    """The plan in force: the last one, unless entries contest each other."""
    last = now.last_of_kind(Series.HOUSE, house_id, EntryKind.HOUSE)
    if last is not None and not now.has_contests(Series.HOUSE, house_id):
        return kept_from([last])[0]
    standing, _ = standing_entries(kept_from(now.entries(Series.HOUSE, house_id)))
    return [one for one in in_force(standing) if one.entry.kind is EntryKind.HOUSE][-1]


def _plan_contests(now: Transaction, house_id: str) -> tuple[Problem, ...]:
    """Plans that contradict the one in force; the next revision settles it."""
    if not now.has_contests(Series.HOUSE, house_id):
        return ()
    standing, contests = standing_entries(kept_from(now.entries(Series.HOUSE, house_id)))
    forced = in_force(standing)
    return tuple(
        replace(contest_problem(one), remedy="look at both plans; the next revision settles it")
        for one in contests
        if one.standing in forced and not one.is_decided
    )


def find_houses(
    ledger: Ledger,
    *,
    words: str = "",
    after_key: tuple[str, str] | None = None,
    page_count: int = 50,
) -> HousePage:
    """A page of houses by name.

    Parameters
    ----------
    ledger
        The record.
    words
        Words that must all stand in id, name or place.
    after_key
        Where the page before ended.
    page_count
        Houses a page.

    >>> from ventwright.actions.record import practice_ledger
    >>> with practice_ledger() as ledger:
    ...     [line.name for line in find_houses(ledger).lines]
    ['Barn']
    """
    with ledger.store.reading() as now:
        return list_houses(now, words=words, after_key=after_key, page_count=page_count)


def find_visits(ledger: Ledger, *, house_id: str | None = None) -> tuple[VisitLine, ...]:
    """Visits of a house, the latest first; without one, the visits that changed last.

    Parameters
    ----------
    ledger
        The record.
    house_id
        A house, or None.

    Raises
    ------
    UserError
        ``unknown-house``.

    >>> from ventwright.actions.record import practice_ledger
    >>> with practice_ledger() as ledger:
    ...     find_visits(ledger, house_id="h")[0].is_closed
    False
    """
    with ledger.store.reading() as now:
        if house_id is not None and now.head(Series.HOUSE, house_id) is None:
            raise refuse_unknown("house", house_id, remedy=_REMEDY)
        return list_visits(now, house=house_id)
