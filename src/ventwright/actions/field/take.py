"""An entry taken in as it was typed, and what a reading amounts to at once."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import fields, replace

from ventwright.actions.field.model import Habits, TakenEntry, TypedEntry
from ventwright.actions.record import (
    Handed,
    Ledger,
    OpenVisit,
    add_entry,
    look_at_visit,
    sign_visit,
    snapshot_of,
)
from ventwright.findings import assess
from ventwright.house import (
    Adjustment,
    Closing,
    Conditions,
    Entry,
    EntryKind,
    Fault,
    FinalSetting,
    Instrument,
    Method,
    Note,
    Reader,
    Reading,
    Signature,
    WalkThroughEntry,
    Withdrawal,
    entry_of,
    parse_reading,
    read_record,
    readings_in_force,
)
from ventwright.quantities import UserError
from ventwright.report.field import FieldValue, value_of_reading

_RECORDS: dict[EntryKind, type] = {
    EntryKind.CONDITIONS: Conditions,
    EntryKind.WALK_THROUGH: WalkThroughEntry,
    EntryKind.ADJUSTMENT: Adjustment,
    EntryKind.FAULT: Fault,
    EntryKind.FINAL_SETTING: FinalSetting,
    EntryKind.INSTRUMENT: Instrument,
    EntryKind.NOTE: Note,
    EntryKind.SIGNATURE: Signature,
    EntryKind.WITHDRAWAL: Withdrawal,
    EntryKind.CLOSING: Closing,
}
_WITH_TIME = {"at", "signed_at", "closed_at"}
_AIR_OF_VISIT = {Method.AIR_STATE, Method.BAROMETER}


def take_entry(ledger: Ledger, visit_id: str, typed: TypedEntry, *, habits: Habits) -> TakenEntry:
    """Take in an entry as typed, and say at once what a reading amounts to.

    Parameters
    ----------
    ledger
        The record.
    visit_id
        The visit.
    typed
        As the page hands it in. The same again is acknowledged.
    habits
        Of the person who typed: the decimal mark is read by them.

    Raises
    ------
    UserError
        If no record can be made of it; its problems name each field and what is accepted.

    >>> from datetime import UTC, datetime
    >>> from ventwright.actions.record import practice_ledger
    >>> typed = TypedEntry(id="n1", kind=EntryKind.NOTE, texts={"text": "hatch stuck"},
    ...     at=datetime(2026, 3, 4, tzinfo=UTC))
    >>> with practice_ledger() as ledger:
    ...     taken = take_entry(ledger, "v", typed, habits=Habits())
    >>> taken.handed.receipt.state.value
    'recorded'
    """
    reader = Reader(number_style=habits.number_style)
    entry = _entry_from(typed, reader)
    problems = tuple(reader.problems)
    if entry is None or problems:
        # A half-read entry would be acknowledged and its unread half lost.
        raise UserError("this can't be read as typed", problems=problems)
    handed = add_entry(ledger, visit_id, entry)
    value = None
    if isinstance(entry.what, Reading):
        value = _value_of(look_at_visit(ledger, visit_id), entry.what, habits)
    return TakenEntry(handed=handed, problems=handed.problems, value=value)


def take_signature(
    ledger: Ledger, visit_id: str, typed: TypedEntry, picture: bytes, *, habits: Habits
) -> Handed:
    """Take in a signature as typed, with the drawing that belongs to it.

    Parameters
    ----------
    ledger
        The record.
    visit_id
        The visit.
    typed
        Its words. The same again is acknowledged.
    picture
        The drawing.
    habits
        As `take_entry`.

    Raises
    ------
    UserError
        As `take_entry`; if the picture is none.

    >>> from datetime import UTC, datetime
    >>> from ventwright.actions.record import practice_ledger
    >>> typed = TypedEntry(id="s1", kind=EntryKind.SIGNATURE, texts={"name": "A. Reed"},
    ...     at=datetime(2026, 3, 4, tzinfo=UTC))
    >>> with practice_ledger() as ledger:
    ...     _ = take_signature(ledger, "v", typed, b"\\xff\\xd8\\xff...", habits=Habits())
    ...     len(look_at_visit(ledger, "v").visit.signatures[0].picture_sha256)
    64
    """
    reader = Reader(number_style=habits.number_style)
    entry = _entry_from(typed, reader)
    if entry is None or reader.problems or not isinstance(entry.what, Signature):
        raise UserError("this can't be read as typed", problems=tuple(reader.problems))
    return sign_visit(ledger, visit_id, entry.what, picture=picture)


def _entry_from(typed: TypedEntry, reader: Reader) -> Entry | None:
    texts = _nested(typed.texts)
    if typed.kind is EntryKind.READING:
        head = {"id": typed.id, "at": typed.at}
        if typed.supersedes:
            head["supersedes"] = typed.supersedes
        reading = parse_reading({**texts, **head}, where="entry", reader=reader)
        if reading is None:
            return None
        return entry_of(reading, reason=typed.reason, by=typed.by)
    record = _RECORDS.get(typed.kind)
    if record is None:
        reader.mistake(
            code="unknown-word",
            where="entry.kind",
            message=f"{typed.kind.value!r} is not handed in this way",
            remedy="accepted: reading, " + ", ".join(k.value for k in _RECORDS),
        )
        return None
    names = {f.name for f in fields(record)}
    own: dict[str, object] = dict.fromkeys(names & _WITH_TIME, typed.at)
    if "id" in names:
        own["id"] = typed.record_id or typed.id
    what = read_record(record, {**own, **texts}, where="entry", reader=reader)
    if what is None:
        return None
    return entry_of(
        what,
        entry_id=typed.id,
        supersedes=typed.supersedes,
        reason=typed.reason,
        by=typed.by,
    )


def _nested(texts: Mapping[str, object]) -> dict[str, object]:
    """Keys with a dot as tables: ``section.diameter`` → ``{"section": {"diameter": …}}``."""
    found: dict[str, object] = {}
    for key, value in texts.items():
        table, _, inner = key.partition(".")
        if not inner:
            found[key] = value
            continue
        of_table = found.setdefault(table, {})
        if isinstance(of_table, dict):
            of_table[inner] = value
    return found


def _value_of(opened: OpenVisit, reading: Reading, habits: Habits) -> FieldValue | None:
    """What one reading says, in the air of the visit, without the rest of the assessment."""
    visit = opened.visit
    kept = [r for r in readings_in_force(visit) if r.method in _AIR_OF_VISIT and r.id != reading.id]
    alone = replace(visit, readings=(*kept, reading), walk_through=(), faults=(), adjustments=())
    alone = replace(alone, withdrawals=(), final_settings=())
    snapshot = snapshot_of(replace(opened, folded=replace(opened.folded, visit=alone)))
    return value_of_reading(
        assess(snapshot),
        snapshot,
        reading.id,
        preference=habits.preference,
        number_style=habits.number_style,
    )
