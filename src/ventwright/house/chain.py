"""Sealed entries: each carries the hash of the one before it, so that a change shows.

The chain finds what was altered, lost or put in between by mistake or by hand. It is no proof
against someone who rewrites a whole series and every report issued from it.
"""

from __future__ import annotations

from datetime import UTC, datetime
from enum import StrEnum

from ventwright.quantities import Problem, Severity
from ventwright.quantities.records import dataclass

CHAIN_START = "0" * 64
"""Stands for the hash before the first entry of a series."""


class Series(StrEnum):
    """What a series of entries belongs to; each house, visit and instrument has one."""

    HOUSE = "house"
    VISIT = "visit"
    INSTRUMENT = "instrument"


@dataclass(frozen=True, slots=True, kw_only=True)
class Draft:
    """An entry about to be sealed; `content` is the canonical JSON of the `Entry`."""

    kind: str
    id: str
    supersedes: str | None = None
    content: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Sealed:
    """An entry as it stands in the record: its content, its place in the chain, its hashes.

    `content` is the canonical JSON of the `Entry`; `via` is the door or device it came through;
    `number` counts from 1 within the series.
    """

    series: Series
    owner: str
    number: int
    kind: str
    id: str
    supersedes: str | None
    content: str
    content_sha256: str
    via: str
    sealed_at: datetime
    previous_sha256: str
    sha256: str


def time_text(at: datetime) -> str:
    """A time as the record writes it: UTC to the microsecond, the same length always.

    Parameters
    ----------
    at
        With an offset.

    >>> time_text(datetime(2026, 3, 4, 16, 20, tzinfo=UTC))
    '2026-03-04T16:20:00.000000Z'
    """
    return at.astimezone(UTC).isoformat(timespec="microseconds").replace("+00:00", "Z")


def seal(
    draft: Draft,
    *,
    series: Series,
    owner: str,
    number: int,
    via: str,
    sealed_at: datetime,
    previous_sha256: str,
) -> Sealed:
    """Add the hashes of an entry.

    Parameters
    ----------
    draft
        The entry.
    series, owner, number
        Its place.
    via, sealed_at
        How it came, and when it was taken in.
    previous_sha256
        Hash of the entry before it, `CHAIN_START` for the first.

    >>> first = seal(Draft(kind="note", id="n", content="{}"), series=Series.VISIT, owner="v",
    ...     number=1, via="test", sealed_at=datetime(2026, 3, 4, tzinfo=UTC),
    ...     previous_sha256=CHAIN_START)
    >>> first.content_sha256[:8], link_problem(first, previous=None)
    ('44136fa3', None)
    """
    content_sha256 = text_sha256(draft.content)
    header = {
        "content_sha256": content_sha256,
        "id": draft.id,
        "kind": draft.kind,
        "number": number,
        "owner": owner,
        "previous_sha256": previous_sha256,
        "sealed_at": time_text(sealed_at),
        "series": series.value,
        "supersedes": draft.supersedes,
        "via": via,
    }
    return Sealed(
        series=series,
        owner=owner,
        number=number,
        kind=draft.kind,
        id=draft.id,
        supersedes=draft.supersedes,
        content=draft.content,
        content_sha256=content_sha256,
        via=via,
        sealed_at=sealed_at,
        previous_sha256=previous_sha256,
        sha256=_header_sha256(header),
    )


def text_sha256(text: str) -> str:
    """SHA-256 of a text in UTF-8, as 64 hexadecimal digits.

    Parameters
    ----------
    text
        Any text that can be written in UTF-8.

    >>> text_sha256("")[:8]
    'e3b0c442'
    """
    from hashlib import sha256

    return sha256(text.encode("utf-8")).hexdigest()


def link_problem(entry: Sealed, *, previous: Sealed | None) -> Problem | None:
    """What is wrong with an entry's place in its chain; None if all is as it was sealed.

    Parameters
    ----------
    entry
        As read back.
    previous
        The one before it in the same series; None if this is to be the first.

    >>> from dataclasses import replace
    >>> one = seal(Draft(kind="note", id="n", content="{}"), series=Series.VISIT, owner="v",
    ...     number=1, via="test", sealed_at=datetime(2026, 3, 4, tzinfo=UTC),
    ...     previous_sha256=CHAIN_START)
    >>> link_problem(replace(one, content="{ }"), previous=None).code
    'content-altered'
    """
    again = seal(
        draft_of(entry),
        series=entry.series,
        owner=entry.owner,
        number=entry.number,
        via=entry.via,
        sealed_at=entry.sealed_at,
        previous_sha256=entry.previous_sha256,
    )
    place = place_of(entry)
    if again.content_sha256 != entry.content_sha256:
        return _broken("content-altered", place, "its content is not what was sealed")
    if again.sha256 != entry.sha256:
        return _broken("header-altered", place, "its id, time, origin or place was altered")
    wanted_number = 1 if previous is None else previous.number + 1
    if entry.number != wanted_number:
        missing = f"entry {wanted_number}" + (
            "" if entry.number == wanted_number + 1 else f" to {entry.number - 1}"
        )
        return _broken("entry-missing", place, f"{missing} before it is missing")
    wanted_sha256 = CHAIN_START if previous is None else previous.sha256
    if entry.previous_sha256 != wanted_sha256:
        return _broken("chain-broken", place, "it was not sealed after the entry that precedes it")
    return None


def draft_of(entry: Sealed) -> Draft:
    """A sealed entry as it was before it was sealed.

    Parameters
    ----------
    entry
        Any sealed entry.

    >>> draft = Draft(kind="note", id="n", content="{}")
    >>> draft == draft_of(seal(draft, series=Series.VISIT, owner="v", number=1, via="test",
    ...     sealed_at=datetime(2026, 3, 4, tzinfo=UTC), previous_sha256=CHAIN_START))
    True
    """
    return Draft(kind=entry.kind, id=entry.id, supersedes=entry.supersedes, content=entry.content)


def place_of(entry: Sealed) -> str:
    """An entry's place in words: series, owner, number, kind and id.

    Parameters
    ----------
    entry
        Any sealed entry.

    >>> place_of(seal(Draft(kind="note", id="n", content="{}"), series=Series.VISIT, owner="v",
    ...     number=1, via="test", sealed_at=datetime(2026, 3, 4, tzinfo=UTC),
    ...     previous_sha256=CHAIN_START))
    'visit v, entry 1, note n'
    """
    return f"{entry.series.value} {entry.owner}, entry {entry.number}, {entry.kind} {entry.id}"


def _broken(code: str, where: str, what: str) -> Problem:
    return Problem(
        code=code,
        where=where,
        message=f"{where}: {what}",
        remedy="compare with a backup or an exported bundle made before",
        severity=Severity.MISTAKE,
    )


def _header_sha256(header: dict[str, object]) -> str:
    import json

    return text_sha256(
        json.dumps(header, sort_keys=True, ensure_ascii=False, separators=(",", ":"))
    )
