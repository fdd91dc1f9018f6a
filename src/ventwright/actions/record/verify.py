"""Verifying the record: chains, files, lists, guards, and every report worked out again."""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field

from ventwright import __version__
from ventwright.actions.record.changes import changelog_text, numbers_that_change
from ventwright.actions.record.houses import house_columns, plan_of
from ventwright.actions.record.ledger import Ledger, entry_from
from ventwright.actions.record.recomputing import Recomputation, recompute
from ventwright.actions.record.reports import kept_report
from ventwright.actions.record.visits import visit_columns, visit_of
from ventwright.house import (
    IssuedReport,
    Sealed,
    Series,
    files_of,
    link_problem,
    place_of,
)
from ventwright.quantities import Problem, Severity, UserError
from ventwright.store import (
    RecordCounts,
    ReportLine,
    Transaction,
    count_record,
    house_line,
    list_reports,
    owners,
    soundness_problems,
    visit_line,
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Verification:
    """What verifying found. `changes` says what the changelog tells of figures that moved."""

    counts: RecordCounts
    problems: tuple[Problem, ...]
    recomputations: tuple[Recomputation, ...]
    changes: tuple[tuple[str, str], ...]

    @property
    def is_intact(self) -> bool:
        """Nothing that was recorded is altered, lost or doubled."""
        return not self.problems

    @property
    def differing(self) -> tuple[Recomputation, ...]:
        """Reports that come out otherwise, or can't be worked out any more."""
        return tuple(r for r in self.recomputations if r.differences or r.trouble)


@dataclass(slots=True)
class _Progress:
    tell: Callable[[int, int], None]
    total_count: int
    done_count: int = 0
    problems: list[Problem] = field(default_factory=list)

    def step(self, found: Iterator[Problem] | None = None) -> None:
        self.problems += found or ()
        self.done_count += 1
        self.tell(self.done_count, self.total_count)


def verify_record(
    ledger: Ledger,
    *,
    tell: Callable[[int, int], None] = lambda _done, _all: None,
    is_to_recompute: bool = True,
) -> Verification:
    """Verify that nothing recorded was altered, and that reports still say what they said.

    Writers are kept waiting for no longer than one visit takes to read.

    Parameters
    ----------
    ledger
        The record.
    tell
        Called with how many steps are done, of how many.
    is_to_recompute
        Whether reports are worked out again.

    Returns
    -------
    Verification
        Each problem names the entry or file.

    >>> from ventwright.actions.record import issue_report, practice_ledger
    >>> with practice_ledger() as ledger:
    ...     _ = issue_report(ledger, "v")
    ...     found = verify_record(ledger)
    >>> found.is_intact, len(found.recomputations), found.differing
    (True, 1, ())
    """
    with ledger.store.reading() as now:
        counts = count_record(now)
        reports = list_reports(now)
        series = [(one, owner) for one in Series for owner in owners(now, one)]
    progress = _Progress(tell=tell, total_count=1 + len(series) + counts.blob_count + len(reports))
    with ledger.store.reading() as now:
        progress.step(soundness_problems(now, shown=ledger.store.shown))
    issued: set[tuple[str, int]] = set()
    for one, owner in series:
        with ledger.store.reading() as now:
            progress.step(_series_problems(now, one, owner, issued))
    for name in _blob_names(ledger):
        with ledger.store.reading() as now:
            progress.step(_blob_problems(now, name))
    recomputations = []
    for line in reports:
        if (line.house, line.number) not in issued:
            progress.problems.append(_report_problem(line, "no entry of its visit speaks of it"))
        with ledger.store.reading() as now:
            again = _again(now, line) if is_to_recompute else None
        recomputations += [again] if again else []
        progress.step()
    for house, number in sorted(issued - {(line.house, line.number) for line in reports}):
        progress.problems.append(
            _problem("report-unlisted", f"report {house}/{number}", "it stands in no list")
        )
    since = {r.engine_then for r in recomputations if r.differences or r.trouble}
    log = changelog_text() if since else ""
    said = [change for version in since for change in numbers_that_change(log, since=version)]
    return Verification(
        counts=counts,
        problems=tuple(progress.problems),
        recomputations=tuple(recomputations),
        changes=tuple(dict.fromkeys(said)),
    )


def _series_problems(
    now: Transaction, series: Series, owner: str, issued: set[tuple[str, int]]
) -> Iterator[Problem]:
    previous: Sealed | None = None
    is_sound = True
    for entry in now.entries(series, owner):
        problem = link_problem(entry, previous=previous)
        if problem is not None:
            is_sound = False
            yield problem
        previous = entry
        try:
            what = entry_from(entry).what
        except UserError as mistake:
            if problem is None:
                is_sound = False
                yield _problem("unreadable", place_of(entry), str(mistake))
            continue
        if isinstance(what, IssuedReport):
            issued.add((what.house, what.number))
        for name in files_of(what):
            if not now.has_blob(name):
                yield _problem("file-missing", place_of(entry), f"its file {name} is missing")
    head = now.head(series, owner)
    last = (0, "") if previous is None else (previous.number, previous.sha256)
    if head is None or (head.number, head.sha256) != last:
        number = 0 if head is None else head.number
        yield _problem(
            "end-missing",
            f"{series.value} {owner}",
            f"its last entry was entry {number}, the last one found is entry {last[0]}",
        )
    elif previous is not None and is_sound and series in _SHOWN:
        yield from _SHOWN[series](now, owner)


def _house_list(now: Transaction, house_id: str) -> Iterator[Problem]:
    line, wanted = house_line(now, house_id), house_columns(plan_of(now, house_id)[0])
    if line is not None and (line.name, line.place) != (wanted["name"], wanted["place"]):
        yield _list_problem(f"house {house_id}")


def _visit_list(now: Transaction, visit_id: str) -> Iterator[Problem]:
    line, visit = visit_line(now, visit_id), visit_of(now, visit_id).visit
    if line is None:
        return
    shown = {
        "started_at": line.started_at,
        "technician": line.technician,
        "purpose": line.purpose,
        "is_closed": int(line.is_closed),
    }
    if shown != visit_columns(visit) or line.house != visit.house:
        yield _list_problem(f"visit {visit_id}")


_SHOWN = {Series.HOUSE: _house_list, Series.VISIT: _visit_list}


def _list_problem(where: str) -> Problem:
    return _problem("list-differs", where, "lists show something else than its entries say")


def _blob_names(ledger: Ledger) -> Iterator[str]:
    after = ""
    while True:
        with ledger.store.reading() as now:
            names = now.blob_names(after=after)
        yield from names
        if not names:
            return
        after = names[-1]


def _blob_problems(now: Transaction, name: str) -> Iterator[Problem]:
    found = now.blob(name)
    if found is not None and hashlib.sha256(found[0]).hexdigest() != name:
        yield _problem("file-altered", f"file {name}", "its bytes are not those that were kept")


def _again(now: Transaction, line: ReportLine) -> Recomputation:
    try:
        return recompute(kept_report(now, line))
    except (LookupError, UserError) as trouble:
        return Recomputation(
            house=line.house,
            number=line.number,
            engine_then="",
            engine_now=__version__,
            trouble=str(trouble),
        )


def _report_problem(line: ReportLine, what: str) -> Problem:
    return _problem("report-without-entry", f"report {line.house}/{line.number}", what)


def _problem(code: str, where: str, what: str) -> Problem:
    return Problem(
        code=code,
        where=where,
        message=f"{where}: {what}",
        remedy="compare with a backup or an exported bundle made before",
        severity=Severity.MISTAKE,
    )
