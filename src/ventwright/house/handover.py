"""What a visit leaves beside its readings: notes, photos, signatures, and what was withdrawn."""

from __future__ import annotations

from datetime import datetime
from enum import StrEnum

from ventwright.quantities.records import dataclass


class EntryKind(StrEnum):
    """What an entry of the record is about."""

    HOUSE = "house"
    VISIT = "visit"
    CONDITIONS = "conditions"
    WALK_THROUGH = "walk_through"
    READING = "reading"
    ADJUSTMENT = "adjustment"
    FAULT = "fault"
    FINAL_SETTING = "final_setting"
    INSTRUMENT = "instrument"
    CALIBRATION = "calibration"
    LOG_MAPPING = "log_mapping"
    PROBE_LOG = "probe_log"
    NOTE = "note"
    PHOTO = "photo"
    SIGNATURE = "signature"
    WITHDRAWAL = "withdrawal"
    DECISION = "decision"
    CLOSING = "closing"
    REPORT = "report"


class SignerRole(StrEnum):
    """For whom a person signs."""

    TECHNICIAN = "technician"
    INSTALLER = "installer"
    DESIGNER = "designer"
    OWNER = "owner"
    OCCUPANT = "occupant"
    OFFICIAL = "official"
    OTHER = "other"


@dataclass(frozen=True, slots=True, kw_only=True)
class Note:
    """A remark; `where` is a place in plain words or the written form of a station."""

    id: str
    text: str
    where: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Photo:
    """A photo by the hash of its bytes, which are kept apart and only once.

    `about` is the id of the fault, reading or note it belongs to.
    """

    id: str
    sha256: str
    media_type: str
    caption: str = ""
    where: str = ""
    about: str | None = None
    taken_at: datetime | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Signature:
    """A person's name under a statement, such as that the work was handed over.

    `picture_sha256` names the drawn signature where there is one. It is a mark on a record, no
    cryptographic signature.
    """

    id: str
    name: str
    role: SignerRole = SignerRole.TECHNICIAN
    statement: str = ""
    signed_at: datetime | None = None
    picture_sha256: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Withdrawal:
    """An entry taken out of force, with the reason; it stays in the record."""

    entry: str
    kind: EntryKind = EntryKind.READING
    reason: str = ""
    by: str = ""
