"""The tables: three kinds of series with their entries, issued reports, and blobs.

The entries are the record. The rows of `house`, `visit` and `instrument` are their heads: where the
chain stands, and what lists show, drawn from the entries and written with them. Times are texts as
`house.time_text` writes them, so that both databases give back the very bytes that were sealed.
"""

from __future__ import annotations

from sqlalchemy import (
    CheckConstraint,
    Column,
    ForeignKey,
    Index,
    Integer,
    LargeBinary,
    MetaData,
    PrimaryKeyConstraint,
    Table,
    Text,
    UniqueConstraint,
    text,
)

from ventwright.house import Series

METADATA = MetaData(
    naming_convention={
        "ix": "ix_%(table_name)s_%(column_0_N_name)s",
        "uq": "uq_%(table_name)s_%(column_0_N_name)s",
        "ck": "ck_%(table_name)s_%(constraint_name)s",
        "fk": "fk_%(table_name)s_%(column_0_name)s",
        "pk": "pk_%(table_name)s",
    }
)

# Both databases then sort by the bytes of UTF-8, whatever language the server speaks.
TEXT = Text().with_variant(Text(collation="C"), "postgresql")


def _head(name: str, *columns: Column[str] | Column[int] | Index) -> Table:
    return Table(
        name,
        METADATA,
        Column("id", TEXT, primary_key=True),
        Column("number", Integer, nullable=False),
        Column("sha256", TEXT, nullable=False),
        Column("changed_at", TEXT, nullable=False),
        *columns,
        CheckConstraint("number >= 0", name="number"),
        sqlite_strict=True,
    )


def _entries(series: Series) -> Table:
    name = f"{series.value}_entry"
    return Table(
        name,
        METADATA,
        Column("owner", TEXT, ForeignKey(f"{series.value}.id"), nullable=False),
        Column("number", Integer, nullable=False),
        Column("kind", TEXT, nullable=False),
        Column("id", TEXT, nullable=False),
        Column("supersedes", TEXT),
        Column("contests_number", Integer),
        Column("content", TEXT, nullable=False),
        Column("content_sha256", TEXT, nullable=False),
        Column("via", TEXT, nullable=False),
        Column("sealed_at", TEXT, nullable=False),
        Column("previous_sha256", TEXT, nullable=False),
        Column("sha256", TEXT, nullable=False),
        PrimaryKeyConstraint("owner", "number"),
        UniqueConstraint("owner", "kind", "id", "content_sha256"),
        Index(
            f"ix_{name}_supersedes",
            "owner",
            "kind",
            "supersedes",
            sqlite_where=text("supersedes IS NOT NULL"),
            postgresql_where=text("supersedes IS NOT NULL"),
        ),
        sqlite_strict=True,
    )


HOUSE = _head(
    "house",
    Column("name", TEXT, nullable=False),
    Column("place", TEXT, nullable=False),
    Column("name_key", TEXT, nullable=False),
    Column("search_text", TEXT, nullable=False),
    Index("ix_house_name_key_id", "name_key", "id"),
)
VISIT = _head(
    "visit",
    Column("house", TEXT, ForeignKey("house.id"), nullable=False),
    Column("started_at", TEXT),
    Column("technician", TEXT, nullable=False),
    Column("purpose", TEXT, nullable=False),
    Column("is_closed", Integer, nullable=False),
    Index("ix_visit_house_started_at_id", "house", "started_at", "id"),
    Index("ix_visit_changed_at_id", "changed_at", "id"),
)
INSTRUMENT = _head(
    "instrument",
    Column("name", TEXT, nullable=False),
    Column("kind", TEXT, nullable=False),
    Column("serial_no", TEXT, nullable=False),
    Column("calibrated_on", TEXT),
    Column("calibration_due", TEXT),
)
HOUSE_ENTRY = _entries(Series.HOUSE)
VISIT_ENTRY = _entries(Series.VISIT)
INSTRUMENT_ENTRY = _entries(Series.INSTRUMENT)

REPORT = Table(
    "report",
    METADATA,
    Column("house", TEXT, ForeignKey("house.id"), nullable=False),
    Column("number", Integer, nullable=False),
    Column("visit", TEXT, ForeignKey("visit.id"), nullable=False),
    Column("entry_number", Integer, nullable=False),
    Column("issued_at", TEXT, nullable=False),
    PrimaryKeyConstraint("house", "number"),
    UniqueConstraint("visit", "entry_number"),
    sqlite_strict=True,
)

BLOB = Table(
    "blob",
    METADATA,
    Column("sha256", TEXT, primary_key=True),
    Column("media_type", TEXT, nullable=False),
    Column("byte_count", Integer, nullable=False),
    Column("is_deflated", Integer, nullable=False),
    Column("content", LargeBinary, nullable=False),
    sqlite_strict=True,
)

HEADS = {Series.HOUSE: HOUSE, Series.VISIT: VISIT, Series.INSTRUMENT: INSTRUMENT}
ENTRIES = {
    Series.HOUSE: HOUSE_ENTRY,
    Series.VISIT: VISIT_ENTRY,
    Series.INSTRUMENT: INSTRUMENT_ENTRY,
}
