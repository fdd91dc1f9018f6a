"""Lists for screens: a page of houses, the visits of a house, instruments, issued reports."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from sqlalchemy import Select, and_, func, or_, select

from ventwright.house import Series
from ventwright.quantities.records import dataclass
from ventwright.store.tables import BLOB, ENTRIES, HEADS, HOUSE, INSTRUMENT, REPORT, VISIT
from ventwright.store.transaction import Transaction

PAGE_COUNT = 50
_CHUNK = 500


@dataclass(frozen=True, slots=True, kw_only=True)
class HouseLine:
    """A house in a list. `number` is the revision of its plan."""

    id: str
    name: str
    place: str
    number: int
    changed_at: str


@dataclass(frozen=True, slots=True, kw_only=True)
class HousePage:
    """Some houses by name, and where the next page begins; None on the last page."""

    lines: tuple[HouseLine, ...]
    next_key: tuple[str, str] | None


@dataclass(frozen=True, slots=True, kw_only=True)
class VisitLine:
    """A visit in a list. `number` is how many entries it has."""

    id: str
    house: str
    started_at: str | None
    technician: str
    purpose: str
    is_closed: bool
    number: int
    changed_at: str


@dataclass(frozen=True, slots=True, kw_only=True)
class InstrumentLine:
    """An instrument in a list. `number` guards changes to it."""

    id: str
    name: str
    kind: str
    serial_no: str
    calibrated_on: str | None
    calibration_due: str | None
    number: int


@dataclass(frozen=True, slots=True, kw_only=True)
class ReportLine:
    """A report that was issued, and the entry of its visit that says so."""

    house: str
    number: int
    visit: str
    entry_number: int
    issued_at: str


@dataclass(frozen=True, slots=True, kw_only=True)
class RecordCounts:
    """How much a record holds."""

    house_count: int
    visit_count: int
    entry_count: int
    instrument_count: int
    report_count: int
    blob_count: int


def list_houses(
    now: Transaction,
    *,
    words: str = "",
    after_key: tuple[str, str] | None = None,
    page_count: int = PAGE_COUNT,
) -> HousePage:
    """A page of houses by name.

    Parameters
    ----------
    now
        A transaction.
    words
        Words that must all stand in id, name or place, in any case.
    after_key
        `HousePage.next_key` of the page before.
    page_count
        Houses a page.

    >>> import tempfile
    >>> from ventwright.store import open_store
    >>> with tempfile.TemporaryDirectory() as folder:
    ...     with open_store(f"sqlite:///{folder}/record.db") as store, store.reading() as now:
    ...         list_houses(now, words="oak").lines
    ()
    """
    c = HOUSE.c
    query = select(c.id, c.name, c.place, c.number, c.changed_at, c.name_key)
    for word in words.casefold().split():
        query = query.where(c.search_text.contains(word, autoescape=True))
    if after_key is not None:
        key, ident = after_key
        query = query.where(or_(c.name_key > key, and_(c.name_key == key, c.id > ident)))
    query = query.order_by(c.name_key, c.id).limit(page_count + 1)
    rows = now.connection.execute(query).all()
    shown = rows[:page_count]
    return HousePage(
        lines=tuple(_house_line(row) for row in shown),
        next_key=(shown[-1].name_key, shown[-1].id) if len(rows) > page_count else None,
    )


def house_line(now: Transaction, house: str) -> HouseLine | None:
    """One house as a list shows it; None if there is none of that id.

    Parameters
    ----------
    now
        A transaction.
    house
        Its id.

    >>> import tempfile
    >>> from ventwright.store import open_store
    >>> with tempfile.TemporaryDirectory() as folder:
    ...     with open_store(f"sqlite:///{folder}/record.db") as store, store.reading() as now:
    ...         house_line(now, "h") is None
    True
    """
    row = now.connection.execute(select(HOUSE).where(HOUSE.c.id == house)).first()
    return None if row is None else _house_line(row)


def _house_line(row: Any) -> HouseLine:
    return HouseLine(
        id=row.id, name=row.name, place=row.place, number=row.number, changed_at=row.changed_at
    )


def list_visits(
    now: Transaction, *, house: str | None = None, page_count: int | None = 200
) -> tuple[VisitLine, ...]:
    """Visits of a house, the latest first; without a house those that changed last.

    Parameters
    ----------
    now
        A transaction.
    house
        Its id, or None for visits of all houses.
    page_count
        At most so many; None for all.

    >>> import tempfile
    >>> from ventwright.store import open_store
    >>> with tempfile.TemporaryDirectory() as folder:
    ...     with open_store(f"sqlite:///{folder}/record.db") as store, store.reading() as now:
    ...         list_visits(now)
    ()
    """
    c = VISIT.c
    query = select(VISIT)
    if house is None:
        query = query.order_by(c.changed_at.desc(), c.id)
    else:
        query = query.where(c.house == house).order_by(c.started_at.desc(), c.id)
    return tuple(_visit_line(row) for row in now.connection.execute(query.limit(page_count)))


def visit_line(now: Transaction, visit: str) -> VisitLine | None:
    """One visit as a list shows it; None if there is none of that id.

    Parameters
    ----------
    now
        A transaction.
    visit
        Its id.

    >>> import tempfile
    >>> from ventwright.store import open_store
    >>> with tempfile.TemporaryDirectory() as folder:
    ...     with open_store(f"sqlite:///{folder}/record.db") as store, store.reading() as now:
    ...         visit_line(now, "v") is None
    True
    """
    row = now.connection.execute(select(VISIT).where(VISIT.c.id == visit)).first()
    return None if row is None else _visit_line(row)


def _visit_line(row: Any) -> VisitLine:
    return VisitLine(
        id=row.id,
        house=row.house,
        started_at=row.started_at,
        technician=row.technician,
        purpose=row.purpose,
        is_closed=bool(row.is_closed),
        number=row.number,
        changed_at=row.changed_at,
    )


def list_instruments(now: Transaction) -> tuple[InstrumentLine, ...]:
    """All instruments by name.

    Parameters
    ----------
    now
        A transaction.

    >>> import tempfile
    >>> from ventwright.store import open_store
    >>> with tempfile.TemporaryDirectory() as folder:
    ...     with open_store(f"sqlite:///{folder}/record.db") as store, store.reading() as now:
    ...         list_instruments(now)
    ()
    """
    c = INSTRUMENT.c
    rows = now.connection.execute(select(INSTRUMENT).order_by(c.name, c.id)).all()
    return tuple(
        InstrumentLine(
            id=r.id,
            name=r.name,
            kind=r.kind,
            serial_no=r.serial_no,
            calibrated_on=r.calibrated_on,
            calibration_due=r.calibration_due,
            number=r.number,
        )
        for r in rows
    )


def list_reports(
    now: Transaction, *, house: str | None = None, visit: str | None = None
) -> tuple[ReportLine, ...]:
    """Reports that were issued, by house and number.

    Parameters
    ----------
    now
        A transaction.
    house, visit
        Only those of this house or visit.

    >>> import tempfile
    >>> from ventwright.store import open_store
    >>> with tempfile.TemporaryDirectory() as folder:
    ...     with open_store(f"sqlite:///{folder}/record.db") as store, store.reading() as now:
    ...         list_reports(now, house="h")
    ()
    """
    c = REPORT.c
    query = select(REPORT).order_by(c.house, c.number)
    if house is not None:
        query = query.where(c.house == house)
    if visit is not None:
        query = query.where(c.visit == visit)
    rows = now.connection.execute(query).all()
    return tuple(
        ReportLine(
            house=r.house,
            number=r.number,
            visit=r.visit,
            entry_number=r.entry_number,
            issued_at=r.issued_at,
        )
        for r in rows
    )


def owners(now: Transaction, series: Series) -> Iterator[str]:
    """Ids of all houses, visits or instruments, a few hundred in memory at a time.

    Parameters
    ----------
    now
        A transaction.
    series
        Of which kind.

    >>> import tempfile
    >>> from ventwright.store import open_store
    >>> with tempfile.TemporaryDirectory() as folder:
    ...     with open_store(f"sqlite:///{folder}/record.db") as store, store.reading() as now:
    ...         list(owners(now, Series.HOUSE))
    []
    """
    table, after = HEADS[series], None
    while True:
        query: Select[Any] = select(table.c.id).order_by(table.c.id).limit(_CHUNK)
        found = list(
            now.connection.execute(
                query if after is None else query.where(table.c.id > after)
            ).scalars()
        )
        yield from found
        if len(found) < _CHUNK:
            return
        after = found[-1]


def count_record(now: Transaction) -> RecordCounts:
    """How much the record holds.

    Parameters
    ----------
    now
        A transaction.

    >>> import tempfile
    >>> from ventwright.store import open_store
    >>> with tempfile.TemporaryDirectory() as folder:
    ...     with open_store(f"sqlite:///{folder}/record.db") as store, store.reading() as now:
    ...         count_record(now).entry_count
    0
    """

    def count(table: Any) -> int:
        return int(now.connection.execute(select(func.count()).select_from(table)).scalar() or 0)

    return RecordCounts(
        house_count=count(HOUSE),
        visit_count=count(VISIT),
        entry_count=sum(count(table) for table in ENTRIES.values()),
        instrument_count=count(INSTRUMENT),
        report_count=count(REPORT),
        blob_count=count(BLOB),
    )
