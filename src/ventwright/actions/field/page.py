"""A visit of the record as the field page shows it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, fields, replace
from enum import StrEnum

from ventwright.actions.field.model import (
    Choice,
    FieldPage,
    Habits,
    StandingEntry,
    StepDoor,
    VisitMarks,
)
from ventwright.actions.record import (
    Ledger,
    OpenVisit,
    assess_visit,
    kept_from,
    photos_of,
    refuse_unknown,
    snapshot_of,
    visit_of,
)
from ventwright.balancing import TOTAL_ID, Deed, NextStep
from ventwright.findings import (
    Findings,
    Guidance,
    VisitSnapshot,
    assess,
    guide,
    interpret_visit,
)
from ventwright.house import (
    EntryKind,
    Kept,
    Phase,
    Reading,
    Series,
    dimension_of,
    hints_of,
    in_force,
    key_of,
    standing_entries,
    station_text,
)
from ventwright.quantities import Dimension, NumberStyle, Side, UnitPreference, format_quantity
from ventwright.store import visit_line

_PHASE_OF_DEED = {Deed.READ_AS_FOUND: Phase.AS_FOUND, Deed.READ_AS_LEFT: Phase.AS_LEFT}
_TYPED_OVER = {
    EntryKind.CONDITIONS,
    EntryKind.WALK_THROUGH,
    EntryKind.FAULT,
    EntryKind.NOTE,
    EntryKind.FINAL_SETTING,
    EntryKind.NOTE,
}


@dataclass(frozen=True, slots=True, kw_only=True)
class WorkedVisit:
    """A visit worked out as it stood at its marks, before it is put into anybody's units."""

    marks: VisitMarks
    opened: OpenVisit
    standing: tuple[Kept, ...]
    snapshot: VisitSnapshot
    findings: Findings
    guides: tuple[Guidance, ...]


def work_out(ledger: Ledger, visit_id: str) -> WorkedVisit:
    """A visit worked out as it stands: findings, and the next step of balancing.

    Parameters
    ----------
    ledger
        The record.
    visit_id
        The visit.

    Raises
    ------
    UserError
        ``unknown-visit``.

    >>> from ventwright.actions.record import practice_ledger
    >>> with practice_ledger() as ledger:
    ...     worked = work_out(ledger, "v")
    >>> worked.marks.number, worked.guides
    (1, ())
    """
    with ledger.store.reading() as now:
        opened = visit_of(now, visit_id)
        plan = now.head(Series.HOUSE, opened.house.id)
        standing, _ = standing_entries(kept_from(now.entries(Series.VISIT, visit_id)))
    snapshot = snapshot_of(opened)
    looks = interpret_visit(snapshot.house, snapshot.visit)
    findings = assess(snapshot, looks=looks)
    return WorkedVisit(
        marks=VisitMarks(number=opened.head.number, plan_number=plan.number if plan else 0),
        opened=opened,
        standing=tuple(in_force(standing)),
        snapshot=snapshot,
        findings=findings,
        guides=guide(snapshot, findings, looks=looks),
    )


def field_page(worked: WorkedVisit, *, habits: Habits) -> FieldPage:
    """A visit with everything the field page shows.

    Parameters
    ----------
    worked
        The visit.
    habits
        Of the person who looks.

    >>> from ventwright.actions.record import practice_ledger
    >>> with practice_ledger() as ledger:
    ...     field_page(work_out(ledger, "v"), habits=Habits()).model.title
    'Barn'
    """
    from ventwright.report import compose_next
    from ventwright.report.field import compose_field

    opened = worked.opened
    guided = compose_next(
        worked.guides,
        worked.findings,
        worked.snapshot,
        preference=habits.preference,
        snapshot_sha256="",
        number_style=habits.number_style,
    )
    step = guided.section("next-step")
    model = compose_field(
        worked.findings,
        worked.snapshot,
        preference=habits.preference,
        number_style=habits.number_style,
    )
    if step is not None:
        model = replace(model, sections=(*model.sections, step))
    return FieldPage(
        visit_id=opened.visit.id,
        house_id=opened.house.id,
        number=worked.marks.number,
        plan_number=worked.marks.plan_number,
        is_closed=opened.visit.closed_at is not None,
        model=model,
        standing=tuple(_standing(worked.standing, habits)),
        steps=tuple(_steps(worked.guides)),
        contests=tuple(
            tuple(_choice(kept, habits) for kept in (one.standing, *one.others))
            for one in opened.folded.contests
            if not one.is_decided
        ),
        photos=tuple((p.sha256, p.caption or p.where) for p in opened.visit.photos),
        problems=opened.problems,
    )


def visit_marks(ledger: Ledger, visit_id: str) -> VisitMarks:
    """How far a visit and its house's plan have come: what a second phone watches.

    Parameters
    ----------
    ledger
        The record.
    visit_id
        The visit.

    Raises
    ------
    UserError
        ``unknown-visit``.

    >>> from ventwright.actions.record import practice_ledger
    >>> with practice_ledger() as ledger:
    ...     visit_marks(ledger, "v")
    VisitMarks(number=1, plan_number=1)
    """
    with ledger.store.reading() as now:
        head, line = now.head(Series.VISIT, visit_id), visit_line(now, visit_id)
        if head is None or line is None:
            raise refuse_unknown("visit", visit_id, remedy="list them with: ventwright visits")
        plan = now.head(Series.HOUSE, line.house)
    return VisitMarks(number=head.number, plan_number=plan.number if plan else 0)


def _steps(guides: Iterable[Guidance]) -> Iterator[StepDoor]:
    for one in guides:
        if not isinstance(one.step, NextStep):
            continue
        step = one.step
        is_turn = step.deed in (Deed.TURN, Deed.SET_SPEED)
        yield StepDoor(
            setting=one.setting,
            station=_station_of(step),
            phase=_PHASE_OF_DEED.get(step.deed, Phase.INTERIM).value,
            target=step.thing_id if is_turn else "",
        )


def _station_of(step: NextStep) -> str:
    """Where the step reads, as stations are written; a side's total at its port behind the unit."""
    if step.read_id == TOTAL_ID:
        return "SUP" if step.side is Side.SUPPLY else "ETA"
    return f"terminal:{step.read_id}" if step.read_id else ""


def _choice(kept: Kept, habits: Habits) -> Choice:
    what = kept.entry.what
    if isinstance(what, Reading):
        texts = [station_text(what.station), what.setting, *(t.text for t in what.typed)]
    else:
        texts = [text for _, text in _texts(what, habits) if text]
    return Choice(
        sha256=kept.content_sha256,
        number=kept.number,
        kind=kept.entry.kind.value,
        text=", ".join(texts),
    )


def _standing(entries: Iterable[Kept], habits: Habits) -> Iterator[StandingEntry]:
    for kept in entries:
        entry = kept.entry
        if entry.kind in _TYPED_OVER:
            yield StandingEntry(
                id=entry.id,
                record_id=str(getattr(entry.what, "id", "")),
                kind=entry.kind.value,
                texts=tuple(_texts(entry.what, habits)),
            )


def _texts(record: object, habits: Habits) -> list[tuple[str, str]]:
    hints = hints_of(type(record))
    found = []
    for one in fields(record):  # type: ignore[arg-type]
        value = getattr(record, one.name)
        dimension = dimension_of(hints[one.name])
        text = _text(value, dimension, habits)
        if text is not None:
            found.append((key_of(one.name, hints[one.name]), text))
    return found


def _text(value: object, dimension: Dimension | None, habits: Habits) -> str | None:
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, StrEnum):
        return value.value
    if isinstance(value, str):
        return value
    if isinstance(value, float) and dimension is not None:
        return format_quantity(
            value,
            dimension=dimension,
            unit_symbol=habits.preference.symbol(dimension),
            digits=2,
            number_style=habits.number_style,
        )
    return None


def visit_report(
    ledger: Ledger,
    visit_id: str,
    *,
    preference: UnitPreference,
    number_style: NumberStyle = NumberStyle.DECIMAL_POINT,
) -> bytes:
    """The report of a visit as it stands now, as PDF; a draft without a number.

    Parameters
    ----------
    ledger
        The record.
    visit_id
        The visit.
    preference
        Units of measure to show.
    number_style
        Decimal mark of the numbers shown.

    Raises
    ------
    UserError
        ``unknown-visit``.

    >>> from ventwright.actions.record import practice_ledger
    >>> with practice_ledger() as ledger:
    ...     visit_report(ledger, "v", preference=UnitPreference.SI_LS)[:5]
    b'%PDF-'
    """
    from ventwright.report import Particulars, compose, render_pdf

    assessment = assess_visit(ledger, visit_id)
    with ledger.store.reading() as now:
        photos = photos_of(now, assessment.snapshot.visit)
    model = compose(
        assessment.findings,
        assessment.snapshot,
        preference=preference,
        snapshot_sha256=assessment.snapshot_sha256,
        particulars=Particulars(photos=photos),
        number_style=number_style,
    )
    return render_pdf(model, snapshot=assessment.snapshot_bytes)
