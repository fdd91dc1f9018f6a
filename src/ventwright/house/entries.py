"""Entries: what a person adds to the record, one thing at a time, and never changes afterwards.

An entry is made where the thing is seen, with its id, and holds one record. A correction is another
entry that names the one it supersedes. Entries of one house, visit or instrument form a series.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, datetime

from ventwright.house.chain import text_sha256
from ventwright.house.handover import EntryKind, Note, Photo, Signature, Withdrawal
from ventwright.house.instrument import Instrument
from ventwright.house.plan import House
from ventwright.house.reading import Reading
from ventwright.house.visit import (
    Adjustment,
    Conditions,
    Fault,
    FinalSetting,
    Purpose,
    Visit,
    WalkThroughEntry,
)
from ventwright.quantities.records import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class VisitHead:
    """What a visit begins with: which house, who, when, why."""

    schema: str
    house: str
    started_at: datetime | None = None
    technician: str = ""
    firm: str = ""
    purpose: Purpose = Purpose.COMMISSIONING
    note: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Closing:
    """The visit is over. Entries that arrive later are kept and said to be late."""

    closed_at: datetime


@dataclass(frozen=True, slots=True, kw_only=True)
class Decision:
    """A person's choice between entries that contradict each other, by the hashes of both."""

    kept_sha256: str
    dropped_sha256: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Calibration:
    """One calibration of an instrument, with the certificate's file where there is one."""

    id: str
    calibrated_on: date
    certificate_no: str = ""
    calibration_due: date | None = None
    laboratory: str = ""
    certificate_sha256: str | None = None
    note: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class LogColumn:
    """A column of a logger's file: its header, the key of a reading it fills, its unit of measure.

    Of two columns with the same key the later one counts.
    """

    header: str
    key: str
    unit_of_measure: str


@dataclass(frozen=True, slots=True, kw_only=True)
class LogMapping:
    """How one instrument's logger writes its files; remembered with the instrument.

    `time_form` is a form of `datetime.strptime`, empty for ISO 8601. `offset` is the logger's clock
    against UTC, such as ``-07:00``, needed where the file's times carry none. `has_decimal_comma`
    is None where the file itself shows it.
    """

    time_header: str
    columns: tuple[LogColumn, ...]
    time_form: str = ""
    offset: str = ""
    has_decimal_comma: bool | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class ProbeLog:
    """A logger's file kept as it came, and the readings that were taken from it."""

    sha256: str
    name: str
    instrument: str
    mapping: LogMapping
    readings: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class RuleSetEdition:
    """Which edition of a rule set a report was judged by."""

    id: str
    edition: str


@dataclass(frozen=True, slots=True, kw_only=True)
class IssuedReport:
    """A report that left the house: its number, what it was made of, and by which versions.

    Snapshot, findings and document are kept by their hashes. `chain_number` and `chain_sha256` say
    up to which entry of the visit it speaks. Numbers count up within a house.
    """

    number: int
    house: str
    visit: str
    engine: str
    rule_sets: tuple[RuleSetEdition, ...]
    snapshot_sha256: str
    findings_sha256: str
    document_sha256: str
    chain_number: int
    chain_sha256: str
    language: str
    units_of_measure: str
    issued_by: str = ""
    replaces_number: int | None = None


EntryWhat = (
    House
    | VisitHead
    | Conditions
    | WalkThroughEntry
    | Reading
    | Adjustment
    | Fault
    | FinalSetting
    | Instrument
    | Calibration
    | LogMapping
    | ProbeLog
    | Note
    | Photo
    | Signature
    | Withdrawal
    | Decision
    | Closing
    | IssuedReport
)

_LONGEST_NAME = 150

KIND_OF: dict[type[EntryWhat], EntryKind] = {
    House: EntryKind.HOUSE,
    VisitHead: EntryKind.VISIT,
    Conditions: EntryKind.CONDITIONS,
    WalkThroughEntry: EntryKind.WALK_THROUGH,
    Reading: EntryKind.READING,
    Adjustment: EntryKind.ADJUSTMENT,
    Fault: EntryKind.FAULT,
    FinalSetting: EntryKind.FINAL_SETTING,
    Instrument: EntryKind.INSTRUMENT,
    Calibration: EntryKind.CALIBRATION,
    LogMapping: EntryKind.LOG_MAPPING,
    ProbeLog: EntryKind.PROBE_LOG,
    Note: EntryKind.NOTE,
    Photo: EntryKind.PHOTO,
    Signature: EntryKind.SIGNATURE,
    Withdrawal: EntryKind.WITHDRAWAL,
    Decision: EntryKind.DECISION,
    Closing: EntryKind.CLOSING,
    IssuedReport: EntryKind.REPORT,
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Entry:
    """One thing added to the record.

    The id is made where the entry is made and counts within its kind and series. A reading carries
    its own id and what it supersedes; the entry repeats both.
    """

    id: str
    what: EntryWhat
    supersedes: str | None = None
    reason: str = ""
    by: str = ""

    @property
    def kind(self) -> EntryKind:
        """What the entry is about."""
        return KIND_OF[type(self.what)]


def entry_of(
    what: EntryWhat,
    *,
    entry_id: str = "",
    supersedes: str | None = None,
    reason: str = "",
    by: str = "",
) -> Entry:
    """The entry that holds a record.

    Parameters
    ----------
    what
        The record.
    entry_id
        Its id; empty takes the record's own, which it must then have.
    supersedes
        Id of the entry of the same kind that it stands in for; a reading names it itself.
    reason
        Why, where it stands in for another.
    by
        Who made it.

    Raises
    ------
    ValueError
        For a record without an id of its own where none is given: a fault of the caller.

    >>> entry_of(Note(id="n1", text="loft hatch stuck")).kind.value
    'note'
    """
    if isinstance(what, Reading):
        entry_id, supersedes = what.id, what.supersedes
    own = entry_id or getattr(what, "id", None)
    if own is None:
        raise ValueError(f"a {type(what).__name__} has no id of its own; one must be given")
    return Entry(id=own, what=what, supersedes=supersedes, reason=reason, by=by)


def files_of(what: EntryWhat) -> tuple[str, ...]:
    """Hashes of the files that a record speaks of.

    Parameters
    ----------
    what
        Any record an entry can hold.

    >>> files_of(Photo(id="p", sha256="ab12", media_type="image/png"))
    ('ab12',)
    """
    named = (
        getattr(what, key, None)
        for key in (
            *("sha256", "picture_sha256", "certificate_sha256"),
            *("snapshot_sha256", "findings_sha256", "document_sha256"),
        )
    )
    return tuple(name for name in named if name and isinstance(name, str))


def entries_of(visit: Visit, *, by: str = "") -> tuple[Entry, ...]:
    """A whole visit taken apart into entries; `fold_visit` puts it together again.

    Parts without an id of their own get one from what they are about, so that the same part of the
    same visit has the same id each time.

    Parameters
    ----------
    visit
        Any visit.
    by
        Who brings it in.

    >>> [e.id for e in entries_of(Visit(schema="ventwright-visit-1", id="v", house="h"))]
    ['v']
    """
    return tuple(_entries(visit, by))


def _entries(visit: Visit, by: str) -> Iterator[Entry]:
    head = VisitHead(
        schema=visit.schema,
        house=visit.house,
        started_at=visit.started_at,
        technician=visit.technician,
        firm=visit.firm,
        purpose=visit.purpose,
        note=visit.note,
    )
    yield entry_of(head, entry_id=visit.id, by=by)
    if visit.conditions != Conditions():
        yield entry_of(visit.conditions, entry_id="conditions", by=by)
    seen: dict[str, int] = {}
    for walked in visit.walk_through:
        yield entry_of(walked, entry_id=_nth(f"{walked.item.value}@{walked.place}", seen), by=by)
    with_ids: tuple[tuple[EntryWhat, ...], ...] = (
        *(visit.instruments, visit.readings, visit.adjustments, visit.faults),
        *(visit.notes, visit.photos, visit.signatures),
    )
    for group in with_ids:
        for one in group:
            yield entry_of(one, by=by)
    for final in visit.final_settings:
        name = f"{final.kind.value}:{final.target}:{final.setting or ''}"
        yield entry_of(final, entry_id=_nth(name, seen), by=by)
    for withdrawal in visit.withdrawals:
        name = f"{withdrawal.kind.value}:{withdrawal.entry}"
        yield entry_of(withdrawal, entry_id=_nth(name, seen), by=by)
    if visit.closed_at is not None:
        yield entry_of(Closing(closed_at=visit.closed_at), entry_id="closing", by=by)


def _nth(name: str, seen: dict[str, int]) -> str:
    if not name.isprintable() or len(name) > _LONGEST_NAME:
        name = text_sha256(name)
    seen[name] = seen.get(name, 0) + 1
    return name if seen[name] == 1 else f"{name}#{seen[name]}"
