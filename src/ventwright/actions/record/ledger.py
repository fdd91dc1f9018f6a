"""The record as actions use it: the store, a clock, and the door the entries come through."""

from __future__ import annotations

import os
import sys
import unicodedata
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from datetime import UTC, datetime
from functools import lru_cache
from pathlib import Path

from ventwright.exchange import canonical_json, from_json
from ventwright.house import Draft, Entry, Kept, Sealed, Series, files_of
from ventwright.quantities import Problem, Severity, UserError
from ventwright.store import Receipt, ReceiptState, Store, Transaction, default_url, open_store

_LONGEST_ID = 200
_WITH_PAGES = ("house", "visit", "instrument")


def utc_now() -> datetime:
    """The time in UTC.

    >>> utc_now().utcoffset().total_seconds()
    0.0
    """
    return datetime.now(UTC)


@dataclass(frozen=True, slots=True, kw_only=True)
class Ledger:
    """An open record with a clock; `via` names the door or device that entries come through."""

    store: Store
    clock: Callable[[], datetime] = utc_now
    via: str = "ventwright"

    def __enter__(self) -> Ledger:
        return self

    def __exit__(self, *_: object) -> None:
        self.store.close()


@dataclass(frozen=True, slots=True, kw_only=True)
class Handed:
    """What became of an entry that was handed in: its receipt, and what to look at.

    Problems are hints; the entry is in the record whatever they say.
    """

    receipt: Receipt
    problems: tuple[Problem, ...] = ()


def open_ledger(url: str = "", *, must_exist: bool = False, via: str = "ventwright") -> Ledger:
    """Open the record.

    Parameters
    ----------
    url
        Its address; empty takes `VENTWRIGHT_DATABASE_URL`, else the file in the user's data folder.
    must_exist
        Refuse to make a new one.
    via
        Name of the door or device.

    Raises
    ------
    UserError
        If it can't be opened.

    >>> import tempfile
    >>> with tempfile.TemporaryDirectory() as folder:
    ...     with open_ledger(f"sqlite:///{folder}/record.db") as ledger:
    ...         ledger.store.file.name
    'record.db'
    """
    address = url or default_url(os.environ, platform=sys.platform, home=str(Path.home()))
    return Ledger(store=open_store(address, must_exist=must_exist), via=via)


def draft_from(entry: Entry) -> Draft:
    """An entry as it is handed to the store.

    Parameters
    ----------
    entry
        Any entry.

    Raises
    ------
    UserError
        ``unusable-id`` for an id that can't be kept, ``not-text`` for half a character.

    >>> from ventwright.house import Note, entry_of
    >>> draft_from(entry_of(Note(id="n1", text="dry"))).kind
    'note'
    """
    check_id(entry.id, what=entry.kind.value)
    try:
        content = canonical_json(entry).decode("utf-8")
    except UnicodeEncodeError as trouble:
        raise refuse(
            "not-text",
            f"{entry.kind.value} {entry.id}",
            f"a text holds {trouble.object[trouble.start]!r}, which is half a character",
            "type that text again",
        ) from None
    return Draft(kind=entry.kind.value, id=entry.id, supersedes=entry.supersedes, content=content)


def check_id(ident: str, *, what: str) -> None:
    """Refuse an id that can't name anything.

    Parameters
    ----------
    ident
        The id.
    what
        What it names, for the message.

    Raises
    ------
    UserError
        ``unusable-id`` if it is empty, longer than 200 characters, or holds control characters;
        for what has a page of its own also if it is one dot or two, which addresses can't name.

    >>> check_id("first floor", what="house")
    """
    hidden = [c for c in ident if unicodedata.category(c) in ("Cc", "Cs")]
    is_dots = ident in (".", "..") and what in _WITH_PAGES
    if not ident or len(ident) > _LONGEST_ID or hidden or is_dots:
        raise refuse(
            "unusable-id",
            f"{what}.id",
            f"{ident[:60]!r} can't be an id",
            f"write 1 to {_LONGEST_ID} characters without line ends or other controls, "
            "and more than dots",
        )


def refuse(code: str, where: str, message: str, remedy: str) -> UserError:
    """Make the exception for something that can't be taken into the record.

    Parameters
    ----------
    code, where, message, remedy
        Of its problem.

    >>> str(refuse("taken-id", "id", "'h' is taken", "give another id"))
    "id: 'h' is taken; give another id"
    """
    problem = Problem(
        code=code, where=where, message=message, remedy=remedy, severity=Severity.MISTAKE
    )
    return UserError(f"{where}: {message}; {remedy}", problems=(problem,))


def refuse_unknown(what: str, ident: str, *, remedy: str) -> UserError:
    """Make the exception for an id that names nothing in the record.

    Parameters
    ----------
    what
        House, visit, instrument, photo or report.
    ident
        The id.
    remedy
        Where to see those that are there.

    >>> str(refuse_unknown("house", "h9", remedy="list them: ventwright houses"))
    "house: 'h9' is not in the record; list them: ventwright houses"
    """
    return refuse(f"unknown-{what}", what, f"{ident!r} is not in the record", remedy)


def kept_from(sealed: Iterable[Sealed]) -> tuple[Kept, ...]:
    """Entries read back from their canonical JSON.

    Parameters
    ----------
    sealed
        As the store gives them.

    Raises
    ------
    UserError
        If the content of one is not what this version can read; it is named.

    >>> kept_from([])
    ()
    """
    return tuple(
        Kept(number=one.number, content_sha256=one.content_sha256, entry=entry_from(one))
        for one in sealed
    )


def entry_from(sealed: Sealed) -> Entry:
    """One entry read back from its canonical JSON.

    Parameters
    ----------
    sealed
        As the store gives it.

    Raises
    ------
    UserError
        As `kept_from`.

    >>> from ventwright.house import CHAIN_START, Note, entry_of, seal
    >>> note = entry_of(Note(id="n1", text="dry"))
    >>> sealed = seal(draft_from(note), series=Series.VISIT, owner="v", number=1, via="test",
    ...     sealed_at=utc_now(), previous_sha256=CHAIN_START)
    >>> entry_from(sealed) == note
    True
    """
    try:
        return _read_entry(sealed.content)
    except UserError as trouble:
        place = f"{sealed.series.value} {sealed.owner}, entry {sealed.number}"
        raise UserError(f"{place}: {trouble}", problems=trouble.problems) from trouble


# An entry never changes, and a page is made of the same ones again and again.
@lru_cache(maxsize=4096)
def _read_entry(content: str) -> Entry:
    return from_json(Entry, content.encode("utf-8"))


def hand_in(
    change: Transaction,
    ledger: Ledger,
    entry: Entry,
    *,
    series: Series,
    owner: str,
    expected_number: int | None = None,
    columns: Mapping[str, object] | None = None,
) -> Handed:
    """Seal an entry at the end of a series, with hints on what it met there.

    Parameters
    ----------
    change
        The transaction.
    ledger
        Gives time and door.
    entry
        What to seal.
    series, owner
        Where.
    expected_number
        Where the series stood when its user looked; None if that does not matter.
    columns
        What lists show from now on, unless the entry contests another.

    Raises
    ------
    UserError
        ``changed-meanwhile`` if the series has moved on, ``file-missing`` if the entry speaks of a
        file that was not kept first; nothing is sealed then.

    >>> from ventwright.actions.record import practice_ledger
    >>> from ventwright.house import Note, entry_of
    >>> with practice_ledger() as ledger, ledger.store.writing() as change:
    ...     note = entry_of(Note(id="n", text="dry"))
    ...     hand_in(change, ledger, note, series=Series.VISIT, owner="v").receipt.number
    2
    """
    for name in files_of(entry.what):
        if not change.has_blob(name):
            raise refuse(
                "file-missing",
                f"{entry.kind.value} {entry.id}",
                f"its file {name[:64]!r} is not in the record",
                "attach the file with it",
            )
    receipt = change.append(
        draft_from(entry),
        series=series,
        owner=owner,
        via=ledger.via,
        at=ledger.clock(),
        expected_number=expected_number,
        columns=columns,
    )
    if receipt.state is ReceiptState.STALE:
        raise refuse(
            "changed-meanwhile",
            f"{series.value} {owner}",
            f"it was looked at as revision {expected_number}, and is now revision {receipt.number}",
            "look at it as it is now, and make the change there",
        )
    contested = receipt.contests_number is not None
    hints = (_contested(entry, receipt),) if contested else ()
    return Handed(receipt=receipt, problems=hints)


def _contested(entry: Entry, receipt: Receipt) -> Problem:
    return Problem(
        code="contested",
        where=f"{entry.kind.value} {entry.id}",
        message=f"kept as entry {receipt.number}; entry {receipt.contests_number} says otherwise "
        "and stands until someone decides",
        remedy="look at both and decide which one stands",
        severity=Severity.WARNING,
    )
