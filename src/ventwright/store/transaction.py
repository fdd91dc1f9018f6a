"""What can be done with the record within one transaction: seal an entry, read, keep a blob.

Nothing is decided here. A second content under one id is sealed and marked as contesting the first;
what to make of it is for those who read.
"""

from __future__ import annotations

import zlib
from collections.abc import Iterator, Mapping
from datetime import UTC, datetime
from enum import StrEnum
from hashlib import sha256
from typing import Any

from sqlalchemy import Connection, Row, and_, func, insert, select, update

from ventwright.house import (
    CHAIN_START,
    Draft,
    Sealed,
    Series,
    draft_of,
    seal,
    text_sha256,
    time_text,
)
from ventwright.quantities.records import dataclass
from ventwright.store.tables import BLOB, ENTRIES, HEADS, REPORT

_CHUNK = 500
_DEFLATED = ("text/", "application/json")


class ReceiptState(StrEnum):
    """What became of an entry that was handed in."""

    RECORDED = "recorded"
    ALREADY = "already"
    """The same entry was there; handing it in again changes nothing."""
    CONTESTED = "contested"
    """Recorded beside an entry that says otherwise; a person decides."""
    STALE = "stale"
    """Not recorded: the series has moved on since it was looked at."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Receipt:
    """Where an entry stands. `contests_number` is the number of the entry it contradicts."""

    state: ReceiptState
    number: int
    sha256: str
    contests_number: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Head:
    """Where a series stands: the number and hash of its last entry."""

    number: int
    sha256: str


class Transaction:
    """One transaction; `Store.writing` and `Store.reading` give it."""

    def __init__(self, connection: Connection) -> None:
        self.connection = connection
        self._is_sqlite = connection.dialect.name == "sqlite"

    def begin_series(
        self, series: Series, owner: str, *, at: datetime, columns: Mapping[str, object]
    ) -> bool:
        """Make the head of a series unless it is there; True if it was made."""
        table = HEADS[series]
        if self.head(series, owner, is_to_change=True) is not None:
            return False
        values = {"id": owner, "number": 0, "sha256": CHAIN_START, "changed_at": time_text(at)}
        statement: Any = insert(table).values({**values, **columns})
        if not self._is_sqlite:
            from sqlalchemy.dialects.postgresql import insert as pg_insert

            statement = pg_insert(table).values({**values, **columns}).on_conflict_do_nothing()
        return bool(self.connection.execute(statement).rowcount)

    def head(self, series: Series, owner: str, *, is_to_change: bool = False) -> Head | None:
        """Where a series stands; None if there is none. `is_to_change` keeps other writers off."""
        table = HEADS[series]
        query = select(table.c.number, table.c.sha256).where(table.c.id == owner)
        row = self.connection.execute(query.with_for_update() if is_to_change else query).first()
        return None if row is None else Head(number=row.number, sha256=row.sha256)

    def append(
        self,
        draft: Draft,
        *,
        series: Series,
        owner: str,
        via: str,
        at: datetime,
        expected_number: int | None = None,
        columns: Mapping[str, object] | None = None,
    ) -> Receipt:
        """Seal an entry at the end of its series.

        Parameters
        ----------
        draft
            The entry.
        series, owner
            An existing series.
        via, at
            How it came, and when.
        expected_number
            Where the series stood when its user looked; None if that does not matter.
        columns
            What the head's row shows from now on, unless the entry contests another.

        Raises
        ------
        LookupError
            If the series does not exist.
        """
        head = self.head(series, owner, is_to_change=True)
        if head is None:
            raise LookupError(f"no {series.value} {owner!r}")
        table = ENTRIES[series]
        mine = (table.c.owner == owner) & (table.c.kind == draft.kind)
        same_id = self.connection.execute(
            select(table.c.number, table.c.content_sha256, table.c.sha256, table.c.contests_number)
            .where(mine & (table.c.id == draft.id))
            .order_by(table.c.number)
        ).all()
        content_sha256 = text_sha256(draft.content)
        for row in same_id:
            if row.content_sha256 == content_sha256:
                return Receipt(
                    state=ReceiptState.ALREADY,
                    number=row.number,
                    sha256=row.sha256,
                    contests_number=row.contests_number,
                )
        if expected_number is not None and expected_number != head.number:
            return Receipt(state=ReceiptState.STALE, number=head.number, sha256=head.sha256)
        contests = same_id[0].number if same_id else self._same_target(series, draft, mine)
        sealed = seal(
            draft,
            series=series,
            owner=owner,
            number=head.number + 1,
            via=via,
            sealed_at=at,
            previous_sha256=head.sha256,
        )
        self._insert(sealed, contests)
        self._move_head(sealed, (columns or {}) if contests is None else {})
        return Receipt(
            state=ReceiptState.RECORDED if contests is None else ReceiptState.CONTESTED,
            number=sealed.number,
            sha256=sealed.sha256,
            contests_number=contests,
        )

    def show(self, series: Series, owner: str, columns: Mapping[str, object]) -> None:
        """Let lists show something else for a series."""
        table = HEADS[series]
        self.connection.execute(update(table).where(table.c.id == owner).values(dict(columns)))

    def append_sealed(self, sealed: Sealed, *, columns: Mapping[str, object] | None = None) -> None:
        """Take over an entry that was sealed elsewhere and continues the series here as it is."""
        table = ENTRIES[sealed.series]
        mine = (table.c.owner == sealed.owner) & (table.c.kind == sealed.kind)
        first = self.connection.execute(
            select(func.min(table.c.number)).where(mine & (table.c.id == sealed.id))
        ).scalar()
        draft = draft_of(sealed)
        self._insert(
            sealed, self._same_target(sealed.series, draft, mine) if first is None else first
        )
        self._move_head(sealed, columns or {})

    def has_contests(self, series: Series, owner: str) -> bool:
        """Tell whether any entry of a series contests another."""
        table = ENTRIES[series]
        query = select(table.c.number).where(
            and_(table.c.owner == owner, table.c.contests_number.is_not(None))
        )
        return self.connection.execute(query.limit(1)).first() is not None

    def _same_target(self, series: Series, draft: Draft, mine: Any) -> int | None:
        """Number of the entry that superseded the same one before."""
        if draft.supersedes is None:
            return None
        table = ENTRIES[series]
        query = select(func.min(table.c.number)).where(
            mine & (table.c.supersedes == draft.supersedes)
        )
        number = self.connection.execute(query).scalar()
        return None if number is None else int(number)

    def _insert(self, sealed: Sealed, contests_number: int | None) -> None:
        self.connection.execute(
            insert(ENTRIES[sealed.series]),
            {
                "owner": sealed.owner,
                "number": sealed.number,
                "kind": sealed.kind,
                "id": sealed.id,
                "supersedes": sealed.supersedes,
                "contests_number": contests_number,
                "content": sealed.content,
                "content_sha256": sealed.content_sha256,
                "via": sealed.via,
                "sealed_at": time_text(sealed.sealed_at),
                "previous_sha256": sealed.previous_sha256,
                "sha256": sealed.sha256,
            },
        )

    def _move_head(self, sealed: Sealed, columns: Mapping[str, object]) -> None:
        table = HEADS[sealed.series]
        moved = {
            "number": sealed.number,
            "sha256": sealed.sha256,
            "changed_at": time_text(sealed.sealed_at),
            **columns,
        }
        self.connection.execute(update(table).where(table.c.id == sealed.owner).values(moved))

    def entries(self, series: Series, owner: str, *, after_number: int = 0) -> Iterator[Sealed]:
        """Entries of a series in the order sealed, a few hundred in memory at a time."""
        table = ENTRIES[series]
        while True:
            rows = self.connection.execute(
                select(table)
                .where(and_(table.c.owner == owner, table.c.number > after_number))
                .order_by(table.c.number)
                .limit(_CHUNK)
            ).all()
            for row in rows:
                yield _sealed(series, row)
            if len(rows) < _CHUNK:
                return
            after_number = rows[-1].number

    def last_of_kind(
        self, series: Series, owner: str, kind: str, *, id: str | None = None
    ) -> Sealed | None:
        """The last entry of a kind in a series, or of one id of that kind."""
        table = ENTRIES[series]
        query = select(table).where(and_(table.c.owner == owner, table.c.kind == kind))
        if id is not None:
            query = query.where(table.c.id == id)
        row = self.connection.execute(query.order_by(table.c.number.desc()).limit(1)).first()
        return None if row is None else _sealed(series, row)

    def entry(self, series: Series, owner: str, number: int) -> Sealed | None:
        """One entry of a series by its number."""
        table = ENTRIES[series]
        mine = and_(table.c.owner == owner, table.c.number == number)
        row = self.connection.execute(select(table).where(mine)).first()
        return None if row is None else _sealed(series, row)

    def put_blob(self, content: bytes, *, media_type: str) -> str:
        """Keep bytes under their hash, once; returns the hash."""
        name = sha256(content).hexdigest()
        if self.has_blob(name):
            return name
        is_deflated = media_type.startswith(_DEFLATED)
        values = {
            "sha256": name,
            "media_type": media_type,
            "byte_count": len(content),
            "is_deflated": int(is_deflated),
            "content": zlib.compress(content, 6) if is_deflated else content,
        }
        statement: Any = insert(BLOB).values(values)
        if not self._is_sqlite:
            from sqlalchemy.dialects.postgresql import insert as pg_insert

            statement = pg_insert(BLOB).values(values).on_conflict_do_nothing()
        self.connection.execute(statement)
        return name

    def has_blob(self, name: str) -> bool:
        """Tell whether bytes with that hash are kept."""
        query = select(BLOB.c.sha256).where(BLOB.c.sha256 == name)
        return self.connection.execute(query).first() is not None

    def blob(self, name: str) -> tuple[bytes, str] | None:
        """The bytes of that hash with their media type; None if they are not kept.

        Bytes that can't be unpacked come back as they lie there, so that their hash shows it.
        """
        row = self.connection.execute(select(BLOB).where(BLOB.c.sha256 == name)).first()
        if row is None:
            return None
        content = bytes(row.content)
        if row.is_deflated:
            try:
                content = zlib.decompress(content)
            except zlib.error:
                return content, str(row.media_type)
        return content, str(row.media_type)

    def blob_names(self, *, after: str = "") -> list[str]:
        """Hashes of kept blobs in order, a few hundred after the one given."""
        query = select(BLOB.c.sha256).where(BLOB.c.sha256 > after).order_by(BLOB.c.sha256)
        return list(self.connection.execute(query.limit(_CHUNK)).scalars())

    def next_report_number(self, house: str) -> int:
        """The number that the next report of a house gets; keeps other writers off that house."""
        if self.head(Series.HOUSE, house, is_to_change=True) is None:
            raise LookupError(f"no house {house!r}")
        query = select(func.max(REPORT.c.number)).where(REPORT.c.house == house)
        return int(self.connection.execute(query).scalar() or 0) + 1

    def add_report(
        self, *, house: str, number: int, visit: str, entry_number: int, at: datetime
    ) -> None:
        """Note under which entry of which visit a report of a house was issued."""
        self.connection.execute(
            insert(REPORT),
            {
                "house": house,
                "number": number,
                "visit": visit,
                "entry_number": entry_number,
                "issued_at": time_text(at),
            },
        )


def _sealed(series: Series, row: Row[Any]) -> Sealed:
    return Sealed(
        series=series,
        owner=row.owner,
        number=row.number,
        kind=row.kind,
        id=row.id,
        supersedes=row.supersedes,
        content=row.content,
        content_sha256=row.content_sha256,
        via=row.via,
        sealed_at=datetime.fromisoformat(row.sealed_at).astimezone(UTC),
        previous_sha256=row.previous_sha256,
        sha256=row.sha256,
    )
