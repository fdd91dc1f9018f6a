"""Houses, or the whole record, into a bundle and back, entry by entry and without loss."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, field
from pathlib import Path

from ventwright import __version__
from ventwright.actions.record.houses import house_columns, plan_of
from ventwright.actions.record.instruments import instrument_columns, instrument_of
from ventwright.actions.record.ledger import Ledger, entry_from, refuse_unknown
from ventwright.actions.record.visits import visit_columns, visit_of
from ventwright.exchange import Bundle, BundleWriter, SeriesPart, open_bundle
from ventwright.house import (
    House,
    Instrument,
    IssuedReport,
    Sealed,
    Series,
    VisitHead,
    draft_of,
    files_of,
)
from ventwright.quantities import Problem, Severity, UserError
from ventwright.store import (
    ReceiptState,
    Transaction,
    count_record,
    list_reports,
    list_visits,
    owners,
    visit_line,
)

_ORDER = (Series.INSTRUMENT, Series.HOUSE, Series.VISIT)


@dataclass(frozen=True, slots=True, kw_only=True)
class Imported:
    """What an import brought: ids of houses and visits, entries that were new, what to look at."""

    houses: tuple[str, ...]
    visits: tuple[str, ...]
    new_count: int
    problems: tuple[Problem, ...]


def export_bundle(
    ledger: Ledger,
    path: Path,
    *,
    house_id: str | None = None,
    tell: Callable[[int, int], None] = lambda _done, _all: None,
) -> None:
    """Write a house with all its visits, photos and reports into one bundle; or the whole record.

    The same record gives the same bytes.

    Parameters
    ----------
    ledger
        The record.
    path
        The file; replaced once the new one is complete.
    house_id
        The house; None takes everything, registered instruments too.
    tell
        Called with how many series are done, of how many.

    Raises
    ------
    UserError
        ``unknown-house``, ``unwritable``.

    >>> import tempfile
    >>> from ventwright.actions.record import practice_ledger
    >>> with tempfile.TemporaryDirectory() as folder, practice_ledger() as ledger:
    ...     bundle = Path(folder, "h.zip")
    ...     export_bundle(ledger, bundle, house_id="h")
    ...     import_bundle(ledger, bundle).new_count
    0
    """
    with ledger.store.reading() as now:
        if house_id is not None and now.head(Series.HOUSE, house_id) is None:
            raise refuse_unknown("house", house_id, remedy="list them with: ventwright houses")
        series = list(_series_to_export(now, house_id))
    # Each series is read at one moment of its own, so that nobody who writes waits for the whole.
    with BundleWriter(path, engine=__version__) as bundle:
        wanted: set[str] = set()
        for done, (one, owner, parent) in enumerate(series, start=1):
            with ledger.store.reading() as now:
                found = _noting_files(now.entries(one, owner), wanted)
                bundle.add_series(one, owner, found, parent=parent)
            tell(done, len(series))
        for name in sorted(wanted):
            with ledger.store.reading() as now:
                kept = now.blob(name)
            if kept is None:
                raise LookupError(f"file {name} is missing; verify the record")
            bundle.add_file(name, kept[0], media_type=kept[1])


def _series_to_export(
    now: Transaction, house_id: str | None
) -> Iterator[tuple[Series, str, str | None]]:
    if house_id is not None:
        yield Series.HOUSE, house_id, None
        visits = list_visits(now, house=house_id, page_count=None)
        for visit in sorted(visits, key=lambda one: one.id):
            yield Series.VISIT, visit.id, house_id
        return
    for series in _ORDER:
        for owner in owners(now, series):
            line = visit_line(now, owner) if series is Series.VISIT else None
            yield series, owner, None if line is None else line.house


def _noting_files(entries: Iterable[Sealed], wanted: set[str]) -> Iterator[Sealed]:
    for entry in entries:
        wanted.update(files_of(entry_from(entry).what))
        yield entry


def import_bundle(
    ledger: Ledger,
    path: Path,
    *,
    tell: Callable[[int, int], None] = lambda _done, _all: None,
) -> Imported:
    """Take a bundle into the record.

    A series that is not here yet is taken over as it was sealed. One that is here, and of which the
    bundle holds more, is continued as it was sealed. Where the two have gone apart, what is missing
    here is added at the end, and what contradicts is kept and said to be contested. A bundle taken
    in twice adds nothing the second time.

    Parameters
    ----------
    ledger
        The record.
    path
        The bundle.
    tell
        Called with how many series are done, of how many.

    Raises
    ------
    UserError
        If the bundle is damaged or of an unknown schema: it is read whole and checked before
        anything is added.

    >>> import_bundle.__doc__.split(".")[0]
    'Take a bundle into the record'
    """
    with open_bundle(path) as bundle:
        parts = sorted(bundle.manifest.series, key=lambda part: _ORDER.index(part.series))
        total_count = 2 * len(parts)
        files = {part.sha256: part for part in bundle.manifest.files}
        for done, series_part in enumerate(parts, start=1):
            for entry in bundle.entries(series_part):
                for name in files_of(entry_from(entry).what):
                    if name not in files:
                        raise UserError(f"{path.name} lacks file {name}; get it again")
            tell(done, total_count)
        for file_part in files.values():
            content = bundle.content(file_part)
            with ledger.store.writing() as change:
                change.put_blob(content, media_type=file_part.media_type)
        merging = _Merging(ledger=ledger, bundle=bundle)
        for done, series_part in enumerate(parts, start=len(parts) + 1):
            with ledger.store.writing() as change:
                merging.take(change, series_part)
            tell(done, total_count)
    return Imported(
        houses=tuple(part.owner for part in parts if part.series is Series.HOUSE),
        visits=tuple(part.owner for part in parts if part.series is Series.VISIT),
        new_count=merging.new_count,
        problems=tuple(merging.problems),
    )


@dataclass(slots=True)
class _Merging:
    ledger: Ledger
    bundle: Bundle
    new_count: int = 0
    problems: list[Problem] = field(default_factory=list)

    def take(self, change: Transaction, part: SeriesPart) -> None:
        """Take one series in."""
        incoming = self.bundle.entries(part)
        first = next(incoming, None)
        if first is None:
            return
        what = entry_from(first).what
        line = visit_line(change, part.owner) if part.series is Series.VISIT else None
        if line is not None and line.house != part.parent:
            self._say(
                "taken-id",
                f"visit {part.owner}",
                f"a visit to house {line.house!r} has this id; the bundle's visit is left out",
                "give one of them another id where it was made",
            )
            return
        house_id = part.parent or ""
        if part.series is Series.VISIT and change.head(Series.HOUSE, house_id) is None:
            raise refuse_unknown("house", house_id, remedy="take its bundle in first")
        columns = _first_columns(part, what)
        change.begin_series(part.series, part.owner, at=first.sealed_at, columns=columns)
        here = change.entries(part.series, part.owner)
        has_parted = False
        for entry in (first, *incoming):
            if not has_parted:
                mine = next(here, None)
                if mine == entry:
                    continue
                if mine is None and _continues(change, entry):
                    change.append_sealed(entry)
                    self._added(change, entry, number=entry.number)
                    continue
                has_parted = True
            self._append(change, entry)
        change.show(part.series, part.owner, _last_columns(change, part))

    def _append(self, change: Transaction, entry: Sealed) -> None:
        """Add an entry of a series that has gone another way here."""
        receipt = change.append(
            draft_of(entry),
            series=entry.series,
            owner=entry.owner,
            via=entry.via,
            at=self.ledger.clock(),
        )
        if receipt.state is not ReceiptState.ALREADY:
            self._added(change, entry, number=receipt.number)
        if receipt.state is ReceiptState.CONTESTED:
            self._say(
                "contested",
                f"{entry.series.value} {entry.owner}, {entry.kind} {entry.id}",
                f"kept as entry {receipt.number}; entry {receipt.contests_number} says otherwise",
                "look at both and decide which one stands",
            )

    def _added(self, change: Transaction, entry: Sealed, *, number: int) -> None:
        self.new_count += 1
        what = entry_from(entry).what
        if not isinstance(what, IssuedReport):
            return
        if any(line.number == what.number for line in list_reports(change, house=what.house)):
            self._say(
                "report-number-taken",
                f"report {what.house}/{what.number}",
                "another report with this number was issued here; the bundle's is kept as an entry "
                f"of visit {entry.owner} and stands in no list",
                "tell both recipients which of the two holds, and issue a new one",
            )
            return
        change.add_report(
            house=what.house,
            number=what.number,
            visit=entry.owner,
            entry_number=number,
            at=entry.sealed_at,
        )

    def _say(self, code: str, where: str, message: str, remedy: str) -> None:
        self.problems.append(
            Problem(
                code=code, where=where, message=message, remedy=remedy, severity=Severity.WARNING
            )
        )


def _continues(change: Transaction, entry: Sealed) -> bool:
    head = change.head(entry.series, entry.owner)
    return head is not None and (head.number + 1, head.sha256) == (
        entry.number,
        entry.previous_sha256,
    )


def _first_columns(part: SeriesPart, what: object) -> dict[str, object]:
    if isinstance(what, House):
        return house_columns(what)
    if isinstance(what, Instrument):
        return instrument_columns(what)
    if isinstance(what, VisitHead) and part.parent == what.house:
        return {
            "house": what.house,
            "started_at": None,
            "technician": "",
            "purpose": what.purpose.value,
            "is_closed": 0,
        }
    raise UserError(f"{part.series.value} {part.owner!r} does not begin as one of its kind must")


def _last_columns(change: Transaction, part: SeriesPart) -> dict[str, object]:
    if part.series is Series.HOUSE:
        return house_columns(plan_of(change, part.owner)[0])
    if part.series is Series.INSTRUMENT:
        return instrument_columns(instrument_of(change, part.owner).instrument)
    return visit_columns(visit_of(change, part.owner).visit)


def is_empty(ledger: Ledger) -> bool:
    """Tell whether a record holds nothing yet.

    Parameters
    ----------
    ledger
        The record.

    >>> from ventwright.actions.record import practice_ledger
    >>> with practice_ledger() as ledger:
    ...     is_empty(ledger)
    False
    """
    with ledger.store.reading() as now:
        counts = count_record(now)
    return not (counts.entry_count or counts.blob_count)
