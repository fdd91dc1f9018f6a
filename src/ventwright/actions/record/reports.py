"""Reports that leave the house: made of a snapshot, numbered, kept for good."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from pathlib import Path

from ventwright import __version__
from ventwright.actions.assess_files import Assessment, assess_snapshot, preference_of
from ventwright.actions.record.ledger import Ledger, entry_from, hand_in, refuse_unknown
from ventwright.actions.record.visits import OpenVisit, look_at_visit, visit_of
from ventwright.actions.rule_sets import load_rule_sets
from ventwright.exchange import canonical_json, digest
from ventwright.findings import VisitSnapshot
from ventwright.house import (
    EntryKind,
    IssuedReport,
    RuleSetEdition,
    Series,
    Visit,
    check_house,
    entry_of,
)
from ventwright.quantities import NumberStyle, UnitPreference, UserError
from ventwright.store import ReportLine, Transaction, list_reports

_JSON, _PDF = "application/json", "application/pdf"
_TRIES = 5


@dataclass(frozen=True, slots=True, kw_only=True)
class KeptReport:
    """An issued report with all it was made of."""

    report: IssuedReport
    snapshot: bytes
    findings: bytes
    document: bytes


def snapshot_of(seen: OpenVisit, *, rules_folder: Path | None = None) -> VisitSnapshot:
    """Everything a judgement of a visit needs, frozen.

    Parameters
    ----------
    seen
        The visit as it stands.
    rules_folder
        Folder whose folder `rules` is looked in before the rule sets that ship.

    Raises
    ------
    UserError
        For a rule set that is not known.

    >>> from ventwright.actions.record import look_at_visit, practice_ledger
    >>> with practice_ledger() as ledger:
    ...     snapshot_of(look_at_visit(ledger, "v")).house.name
    'Barn'
    """
    return VisitSnapshot(
        engine=__version__,
        house=seen.house,
        visit=seen.visit,
        rule_sets=load_rule_sets(seen.house.rule_sets, beside=rules_folder),
        problems=(*check_house(seen.house), *seen.problems),
    )


def assess_visit(ledger: Ledger, visit_id: str, *, rules_folder: Path | None = None) -> Assessment:
    """What a visit says as it stands.

    Parameters
    ----------
    ledger
        The record.
    visit_id
        The visit.
    rules_folder
        As `snapshot_of`.

    Raises
    ------
    UserError
        ``unknown-visit``; for a rule set that is not known.

    >>> from ventwright.actions.record import practice_ledger
    >>> with practice_ledger() as ledger:
    ...     assess_visit(ledger, "v").findings.advice[0].code
    'nothing-read'
    """
    return assess_snapshot(snapshot_of(look_at_visit(ledger, visit_id), rules_folder=rules_folder))


def issue_report(
    ledger: Ledger,
    visit_id: str,
    *,
    preference: UnitPreference | None = None,
    number_style: NumberStyle = NumberStyle.DECIMAL_POINT,
    replaces_number: int | None = None,
    rules_folder: Path | None = None,
    by: str = "",
) -> KeptReport:
    """Issue a report of a visit as it stands: next number of its house, kept unchangeable.

    Parameters
    ----------
    ledger
        The record.
    visit_id
        The visit.
    preference
        Units of measure to show; None takes those the visit was typed in.
    number_style
        Decimal mark of the numbers shown.
    replaces_number
        Number of the report that this one stands in for.
    rules_folder
        As `snapshot_of`.
    by
        Who issues it.

    Raises
    ------
    UserError
        ``unknown-visit``; ``unknown-report`` for a number to replace that was not issued; ``busy``
        if entries keep arriving while it is made.

    >>> from ventwright.actions.record import practice_ledger
    >>> with practice_ledger() as ledger:
    ...     kept = issue_report(ledger, "v")
    ...     read_report(ledger, "h", number=1) == kept, kept.document[:5]
    (True, b'%PDF-')
    """
    for _ in range(_TRIES):
        with ledger.store.reading() as now:
            seen = visit_of(now, visit_id)
            number = _free_number(now, seen.house.id, replaces_number)
            photos = photos_of(now, seen.visit)
        # The document takes long to set; nobody waits for it: whatever was added meanwhile shows
        # below, and it is made again.
        made = _made(
            seen,
            number,
            preference=preference,
            number_style=number_style,
            rules_folder=rules_folder,
            photos=photos,
        )
        report = replace(made.report, issued_by=by, replaces_number=replaces_number)
        with ledger.store.writing() as change:
            if change.head(Series.VISIT, visit_id, is_to_change=True) != seen.head:
                continue
            if change.next_report_number(seen.house.id) != number:
                continue
            for content, media_type in (
                (made.snapshot, _JSON),
                (made.findings, _JSON),
                (made.document, _PDF),
            ):
                change.put_blob(content, media_type=media_type)
            entry = entry_of(report, entry_id=f"report-{number}", by=by)
            receipt = hand_in(change, ledger, entry, series=Series.VISIT, owner=visit_id).receipt
            sealed = change.entry(Series.VISIT, visit_id, receipt.number)
            assert sealed is not None
            change.add_report(
                house=report.house,
                number=number,
                visit=visit_id,
                entry_number=receipt.number,
                at=sealed.sealed_at,
            )
        return replace(made, report=report)
    raise UserError(
        "entries keep arriving while the report is made; close the visit, then try again"
    )


def _free_number(now: Transaction, house_id: str, replaces_number: int | None) -> int:
    issued = [line.number for line in list_reports(now, house=house_id)]
    if replaces_number is not None and replaces_number not in issued:
        raise refuse_unknown(
            "report", str(replaces_number), remedy=f"issued so far: {issued or 'none'}"
        )
    return max(issued, default=0) + 1


def photos_of(now: Transaction, visit: Visit) -> dict[str, bytes]:
    """Photos and drawn signatures of a visit by their hash, as far as the record holds them.

    Parameters
    ----------
    now
        The transaction.
    visit
        Which visit's.

    >>> from ventwright.actions.record import look_at_visit, practice_ledger
    >>> with practice_ledger() as ledger:
    ...     visit = look_at_visit(ledger, "v").visit
    ...     with ledger.store.reading() as now:
    ...         photos_of(now, visit)
    {}
    """
    names = [*(p.sha256 for p in visit.photos), *(s.picture_sha256 for s in visit.signatures)]
    found = {name: now.blob(name) for name in names if name}
    return {name: kept[0] for name, kept in found.items() if kept is not None}


def _made(
    seen: OpenVisit,
    number: int,
    *,
    preference: UnitPreference | None,
    number_style: NumberStyle,
    rules_folder: Path | None,
    photos: Mapping[str, bytes],
) -> KeptReport:
    from ventwright.report import Particulars, compose, render_pdf

    assessment = assess_snapshot(snapshot_of(seen, rules_folder=rules_folder))
    shown = preference or preference_of(assessment.snapshot)
    model = compose(
        assessment.findings,
        assessment.snapshot,
        preference=shown,
        snapshot_sha256=assessment.snapshot_sha256,
        particulars=Particulars(report_number=f"{seen.house.id}/{number}", photos=photos),
        number_style=number_style,
    )
    findings = canonical_json(assessment.findings)
    document = render_pdf(model, snapshot=assessment.snapshot_bytes)
    report = IssuedReport(
        number=number,
        house=seen.house.id,
        visit=seen.visit.id,
        engine=__version__,
        rule_sets=tuple(
            RuleSetEdition(id=r.id, edition=r.edition) for r in assessment.snapshot.rule_sets
        ),
        snapshot_sha256=assessment.snapshot_sha256,
        findings_sha256=digest(findings),
        document_sha256=digest(document),
        chain_number=seen.head.number,
        chain_sha256=seen.head.sha256,
        language=model.language,
        units_of_measure=shown.value,
    )
    return KeptReport(
        report=report,
        snapshot=assessment.snapshot_bytes,
        findings=findings,
        document=document,
    )


def read_report(ledger: Ledger, house_id: str, *, number: int) -> KeptReport:
    """An issued report as it was issued.

    Parameters
    ----------
    ledger
        The record.
    house_id
        Its house.
    number
        Its number.

    Raises
    ------
    UserError
        ``unknown-report``.

    >>> from ventwright.actions.record import practice_ledger
    >>> with practice_ledger() as ledger:
    ...     try:
    ...         read_report(ledger, "h", number=3)
    ...     except UserError as mistake:
    ...         print(mistake.problems[0].code)
    unknown-report
    """
    with ledger.store.reading() as now:
        line = next((r for r in list_reports(now, house=house_id) if r.number == number), None)
        if line is None:
            raise refuse_unknown(
                "report", f"{house_id}/{number}", remedy="list them: open its house"
            )
        return kept_report(now, line)


def kept_report(now: Transaction, line: ReportLine) -> KeptReport:
    """An issued report within a transaction.

    Parameters
    ----------
    now
        The transaction.
    line
        As a list gives it.

    Raises
    ------
    LookupError
        If a part of it is missing: the record is damaged.

    >>> from ventwright.actions.record import practice_ledger
    >>> with practice_ledger() as ledger:
    ...     kept = issue_report(ledger, "v")
    ...     with ledger.store.reading() as now:
    ...         kept_report(now, list_reports(now)[0]) == kept
    True
    """
    sealed = now.entry(Series.VISIT, line.visit, line.entry_number)
    what = None if sealed is None or sealed.kind != EntryKind.REPORT else entry_from(sealed).what
    if not isinstance(what, IssuedReport):
        raise LookupError(f"entry {line.entry_number} of visit {line.visit} is no report")
    parts = []
    for name in (what.snapshot_sha256, what.findings_sha256, what.document_sha256):
        found = now.blob(name)
        if found is None:
            raise LookupError(f"report {line.house}/{line.number}: file {name} is missing")
        parts.append(found[0])
    snapshot, findings, document = parts
    return KeptReport(report=what, snapshot=snapshot, findings=findings, document=document)
