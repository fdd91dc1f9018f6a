"""A visit put together from its entries: what stands, what was superseded, what is contested.

Two entries contest each other when they have one id and different content, or when both supersede
the same entry. The first one stands until a person decides; the others are kept, out of force.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import TypeVar

from ventwright.house.entries import (
    Closing,
    Decision,
    Entry,
    IssuedReport,
    ProbeLog,
    VisitHead,
)
from ventwright.house.handover import EntryKind, Note, Photo, Signature, Withdrawal
from ventwright.house.instrument import Instrument
from ventwright.house.reading import Reading
from ventwright.house.visit import (
    Adjustment,
    Conditions,
    Fault,
    FinalSetting,
    Visit,
    WalkThroughEntry,
)
from ventwright.quantities import Problem, Severity
from ventwright.quantities.records import dataclass

T = TypeVar("T")


@dataclass(frozen=True, slots=True, kw_only=True)
class Kept:
    """An entry with its number in the series and the hash of its content."""

    number: int
    content_sha256: str
    entry: Entry


@dataclass(frozen=True, slots=True, kw_only=True)
class Contest:
    """Entries that contradict each other: the one that stands, and the others.

    `is_decided` tells whether a person chose.
    """

    standing: Kept
    others: tuple[Kept, ...]
    is_decided: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Folded:
    """A visit as it stands, and what its entries hold beside it."""

    visit: Visit
    contests: tuple[Contest, ...] = ()
    logs: tuple[ProbeLog, ...] = ()
    reports: tuple[IssuedReport, ...] = ()
    problems: tuple[Problem, ...] = ()


def standing_entries(kept: Iterable[Kept]) -> tuple[tuple[Kept, ...], tuple[Contest, ...]]:
    """The entries that win every contest, in the order sealed, and the contests.

    Superseded and withdrawn entries are among them: they stand where they are, out of force.

    Parameters
    ----------
    kept
        All entries of a series in the order sealed.

    >>> a = Kept(number=1, content_sha256="a", entry=Entry(id="n", what=Note(id="n", text="dry")))
    >>> b = Kept(number=2, content_sha256="b", entry=Entry(id="n", what=Note(id="n", text="wet")))
    >>> standing, contests = standing_entries([a, b])
    >>> standing == (a,), contests[0].others == (b,)
    (True, True)
    """
    everything = list(kept)
    chosen: set[str] = set()
    for one in everything:
        if isinstance(one.entry.what, Decision):
            chosen -= set(one.entry.what.dropped_sha256)
            chosen.add(one.entry.what.kept_sha256)
    by_id: dict[tuple[EntryKind, str], list[Kept]] = {}
    for one in everything:
        by_id.setdefault((one.entry.kind, one.entry.id), []).append(one)
    winners, contests = _winners(by_id.values(), chosen)
    by_target: dict[tuple[EntryKind, str], list[Kept]] = {}
    for one in winners:
        target = one.entry.supersedes
        # Only what was seen to be superseded can be contested; an entry can't supersede itself.
        key = (one.entry.kind, f"+{target}" if target else f"-{one.number}")
        by_target.setdefault(key, []).append(one)
    winners, more = _winners(by_target.values(), chosen)
    return tuple(sorted(winners, key=lambda one: one.number)), (*contests, *more)


def _winners(
    groups: Iterable[list[Kept]], chosen: set[str]
) -> tuple[list[Kept], tuple[Contest, ...]]:
    winners, contests = [], []
    for group in groups:
        decided = [one for one in group if one.content_sha256 in chosen]
        winner = decided[-1] if decided else group[0]
        winners.append(winner)
        if len(group) > 1:
            others = tuple(one for one in group if one is not winner)
            contests.append(Contest(standing=winner, others=others, is_decided=bool(decided)))
    return winners, tuple(contests)


def in_force(standing: Iterable[Kept]) -> tuple[Kept, ...]:
    """Entries that were neither superseded nor withdrawn, each at the place of what it replaced.

    Parameters
    ----------
    standing
        As `standing_entries` gives them.

    >>> a = Kept(number=1, content_sha256="a", entry=Entry(id="n", what=Note(id="n", text="dry")))
    >>> b = Kept(number=2, content_sha256="b",
    ...     entry=Entry(id="m", what=Note(id="m", text="wet"), supersedes="n"))
    >>> in_force([a, b]) == (b,)
    True
    """
    entries = list(standing)
    withdrawn = _withdrawn(entries)
    places: dict[tuple[EntryKind, str], int] = {}
    found: dict[int, Kept | None] = {}
    for one in entries:
        entry = one.entry
        key = (entry.kind, entry.id)
        target = (entry.kind, entry.supersedes or "")
        place = places.get(target, one.number) if entry.supersedes else one.number
        places[key] = place
        found[place] = None if key in withdrawn else one
    return tuple(one for _, one in sorted(found.items()) if one is not None)


def _withdrawn(standing: list[Kept]) -> set[tuple[EntryKind, str]]:
    """Tell what is withdrawn; a withdrawal that a later one withdraws has no effect."""
    found: set[tuple[EntryKind, str]] = set()
    for one in reversed(standing):
        what = one.entry.what
        if isinstance(what, Withdrawal) and (one.entry.kind, one.entry.id) not in found:
            found.add((what.kind, what.entry))
    return found


def fold_visit(kept: Iterable[Kept], *, visit_id: str) -> Folded:
    """A visit from its entries.

    Parameters
    ----------
    kept
        All entries of the visit in the order sealed; one of them is its head.
    visit_id
        The visit.

    Returns
    -------
    Folded
        Its visit holds readings with what supersedes and withdraws them; of everything else what
        is in force. Open contests stand among the problems.

    Raises
    ------
    ValueError
        If no entry is a visit's head.

    >>> from ventwright.house.entries import entries_of
    >>> visit = Visit(schema="ventwright-visit-1", id="v", house="h", technician="A. Reed")
    >>> sealed = [Kept(number=i, content_sha256=str(i), entry=e)
    ...     for i, e in enumerate(entries_of(visit), start=1)]
    >>> fold_visit(sealed, visit_id="v").visit == visit
    True
    """
    standing, contests = standing_entries(kept)
    forced = [one.entry.what for one in in_force(standing)]
    heads = _of(VisitHead, forced)
    if not heads:
        raise ValueError(f"visit {visit_id!r} has no head")
    head = heads[-1]
    closings = _of(Closing, forced)
    conditions = _of(Conditions, forced)
    all_what = [one.entry.what for one in standing]
    visit = Visit(
        schema=head.schema,
        id=visit_id,
        house=head.house,
        started_at=head.started_at,
        technician=head.technician,
        firm=head.firm,
        purpose=head.purpose,
        conditions=conditions[-1] if conditions else Conditions(),
        instruments=_of(Instrument, forced),
        walk_through=_of(WalkThroughEntry, forced),
        readings=_of(Reading, all_what),
        adjustments=_of(Adjustment, forced),
        faults=_of(Fault, forced),
        final_settings=_of(FinalSetting, forced),
        notes=_of(Note, forced),
        photos=_of(Photo, forced),
        signatures=_of(Signature, forced),
        withdrawals=tuple(w for w in _of(Withdrawal, forced) if w.kind is EntryKind.READING),
        closed_at=closings[-1].closed_at if closings else None,
        note=head.note,
    )
    return Folded(
        visit=visit,
        contests=contests,
        logs=_of(ProbeLog, forced),
        reports=_of(IssuedReport, forced),
        problems=tuple(contest_problem(c) for c in contests if not c.is_decided),
    )


def _of(kind: type[T], some: Iterable[object]) -> tuple[T, ...]:
    return tuple(one for one in some if isinstance(one, kind))


def contest_problem(contest: Contest) -> Problem:
    """An open contest in words.

    Parameters
    ----------
    contest
        Any contest.

    >>> a = Kept(number=1, content_sha256="a", entry=Entry(id="n", what=Note(id="n", text="dry")))
    >>> b = Kept(number=2, content_sha256="b", entry=Entry(id="n", what=Note(id="n", text="wet")))
    >>> contest_problem(Contest(standing=a, others=(b,))).message
    "note 'n' stands as entry 1; entry 2 says otherwise"
    """
    entry = contest.standing.entry
    numbers = ", ".join(str(one.number) for one in contest.others)
    return Problem(
        code="contested",
        where=f"{entry.kind.value} {entry.id}",
        message=f"{entry.kind.value} {entry.id!r} stands as entry {contest.standing.number}; "
        f"entry {numbers} says otherwise",
        remedy="look at both and decide which one stands; the other is kept",
        severity=Severity.WARNING,
    )
