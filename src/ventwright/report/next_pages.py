"""Balancing guidance in words: what to turn, the reading to stop at, and the picture now."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from ventwright.balancing import TOTAL_ID, Deed, Finished, FlowReading, NextStep, Predicted
from ventwright.findings import Findings, Guidance, VisitSnapshot, blade_deg
from ventwright.house import DamperKind
from ventwright.quantities import Dimension, NumberStyle, Side, UnitPreference
from ventwright.report.measures import Measures
from ventwright.report.model import Align, Cell, Column, Line, Mark, ReportModel, Section, Table
from ventwright.report.next_stop import StopWords
from ventwright.report.pen import Pen, mark_of
from ventwright.report.wording import words_of

NEXT_SECTION_IDS = ("next-step", "next-picture", "next-doubts")
_MOST_ODDS = 1e6


def compose_next(
    guides: Sequence[Guidance],
    findings: Findings,
    snapshot: VisitSnapshot,
    *,
    preference: UnitPreference,
    snapshot_sha256: str,
    language: str = "en",
    number_style: NumberStyle = NumberStyle.DECIMAL_POINT,
) -> ReportModel:
    """Write guidance as a model that screen and page are drawn from.

    Parameters
    ----------
    guides
        One for each system that has guidance.
    findings, snapshot
        What was found and the record it comes from.
    preference
        Habit of units.
    snapshot_sha256
        Hash of the snapshot's bytes.
    language
        Of the catalogue.
    number_style
        Decimal mark.

    Returns
    -------
    ReportModel
        Sections `next-step`, `next-picture`, `next-doubts`.

    >>> from ventwright.findings import assess
    >>> from ventwright.house import House, Visit
    >>> one = VisitSnapshot(engine="0", rule_sets=(),
    ...     house=House(schema="ventwright-house-1", id="h", name="Barn", altitude_m=0.0),
    ...     visit=Visit(schema="ventwright-visit-1", id="v", house="h"))
    >>> compose_next((), assess(one), one, preference=UnitPreference.SI_LS,
    ...              snapshot_sha256="0" * 64).title
    'Next step'
    """
    pen = Pen(
        findings=findings,
        snapshot=snapshot,
        measures=Measures(preference=preference, number_style=number_style),
        words=words_of(language, "words_next"),
    )
    first = guides[0].setting if guides else ""
    return ReportModel(
        title=pen.say("next.title"),
        subtitle=pen.say("next.subtitle", house=snapshot.house.name, setting=first),
        facts=(),
        sections=(
            Section(
                id="next-step",
                title=pen.say("next.title"),
                lines=tuple(_all_lines(pen, guides, findings)),
            ),
            Section(
                id="next-picture",
                title=pen.say("section.flows"),
                tables=tuple(_table(pen, g, side) for g in guides for side in _sides(g)),
            ),
            Section(
                id="next-doubts",
                title=pen.say("next.left-out"),
                lines=tuple(
                    Line(text=f"{p.where}: {p.message}", mark=Mark.CAUTION)
                    for g in guides
                    for p in g.problems
                ),
            ),
        ),
        cautions=(),
        snapshot_sha256=snapshot_sha256,
        engine=findings.engine,
        dated="",
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class _Guided:
    """One guidance with the pen that words it."""

    pen: Pen
    guidance: Guidance

    def flow(self, flow_m3_s: float | None) -> str:
        return "–" if flow_m3_s is None else self.pen.measures.text(flow_m3_s, Dimension.FLOW)

    def to_mark(self, step: NextStep) -> str:
        """Where to turn to, in the terms of what is turned: turns, an angle, else a share."""
        what = self.thing(step.thing_id)
        if angle := self.angle_text(step):
            return self.pen.say("next.turn-to-angle", what=what, angle=angle)
        if turns := self.turns_text(step):
            return self.pen.say("next.turn-to-turns", what=what, turns=turns)
        mark = self.pen.measures.text(step.opening_frac or 0.0, Dimension.FRACTION)
        return self.pen.say("next.turn-to-mark", what=what, mark=mark)

    def angle_text(self, step: NextStep) -> str:
        """Angle from open that the step ends at; empty for what has no blade or no mark."""
        blades = {
            b.id
            for s in self.pen.snapshot.house.systems
            for b in s.branches
            if b.damper is not None and b.damper.kind is DamperKind.BUTTERFLY
        }
        if step.opening_frac is None or step.thing_id not in blades:
            return ""
        return f"{blade_deg(step.opening_frac):.0f}"

    def turns_text(self, step: NextStep) -> str:
        """Turns from shut that the step ends at; empty for what has no table of turns."""
        full = [
            o.damper.full_turns
            for setup in self.guidance.session.sides
            for o in setup.outlets
            if o.id == step.thing_id and o.damper is not None
        ]
        if step.opening_frac is None or not full or full[0] is None:
            return ""
        return self.pen.measures.decimal(full[0] * step.opening_frac, digits=1)

    def thing(self, thing_id: str) -> str:
        branches = {b.id: b.name for s in self.pen.snapshot.house.systems for b in s.branches}
        if thing_id in branches:
            return self.pen.say("next.branch", name=branches[thing_id] or thing_id)
        return self.pen.say("next.ring", name=self.pen.terminal(thing_id))


def _all_lines(pen: Pen, guides: Sequence[Guidance], findings: Findings) -> Iterator[Line]:
    for guidance in guides:
        yield from _lines(_Guided(pen=pen, guidance=guidance))
    guided = {g.system_id for g in guides}
    for system in findings.systems:
        if system.system_id not in guided:
            text = pen.say("next.no-guidance", system=system.system_id)
            yield Line(text=text, mark=Mark.NOT_SHOWN)


def _lines(own: _Guided) -> Iterator[Line]:
    pen, step = own.pen, own.guidance.step
    if isinstance(step, Finished):
        mark = Mark.MET if step.is_met else Mark.NOT_SHOWN
        yield Line(text=pen.say("next.done" if step.is_met else "next.not-done"), mark=mark)
        for lead in step.leads:
            causes = ", ".join(cause.value for cause in lead.look_for)
            what = pen.terminal(lead.outlet_id)
            yield Line(text=pen.say("next.lead", what=what, causes=causes), mark=Mark.CAUTION)
    else:
        yield Line(text=" ".join(_step(own, step)))
        yield from _stop(own, step).cautions()
    for one in step.surprises:
        odds = pen.say("next.odds-most") if one.odds_ratio > _MOST_ODDS else f"{one.odds_ratio:.0f}"
        yield Line(
            text=pen.say(
                "next.surprise",
                reading=one.reading_id,
                what=pen.terminal(one.thing_id),
                shown=own.flow(one.shown_m3_s),
                expected=own.flow(one.expected_m3_s),
                odds=odds,
            ),
            mark=Mark.CAUTION,
            reading_ids=(one.reading_id,),
        )


def _step(own: _Guided, step: NextStep) -> Iterator[str]:
    pen = own.pen
    reads = {
        Deed.READ_AS_FOUND: "next.read-found",
        Deed.READ_BEFORE_TURN: "next.read-before",
        Deed.READ_AS_LEFT: "next.read-left",
        Deed.READ_AGAIN: "next.read-again",
    }
    if step.deed in reads:
        is_total = step.thing_id == TOTAL_ID
        total = pen.say("next.total", side=step.side.value)
        yield pen.say(reads[step.deed], what=total if is_total else pen.terminal(step.thing_id))
    elif step.deed is Deed.SET_SPEED:
        speed = pen.measures.text(step.speed_frac or 0.0, Dimension.FRACTION)
        yield pen.say("next.speed", side=step.side.value, speed=speed)
    else:
        yield from _turn(own, step)
    if step.count > 1:
        yield pen.say("next.average", count=str(step.count))


def _turn(own: _Guided, step: NextStep) -> Iterator[str]:
    pen, what = own.pen, own.thing(step.thing_id)
    if step.is_fully_open:
        yield pen.say("next.turn-open", what=what)
    elif step.stop_m3_s is not None:
        yield from _stop(own, step).sentences()
        if angle := own.angle_text(step):
            yield pen.say("next.angle", angle=angle)
    elif step.opening_frac is not None:
        yield own.to_mark(step)
    if step.settles_m3_s is not None and not step.is_fully_open:
        yield pen.say("next.settles", settles=own.flow(step.settles_m3_s))
    if step.turn_count:
        key = "next.turns-open" if step.turn_count > 0 else "next.turns-shut"
        yield pen.say(key, turns=pen.measures.decimal(abs(step.turn_count), digits=1))


def _stop(own: _Guided, step: NextStep) -> StopWords:
    return StopWords(
        pen=own.pen,
        step=step,
        style=own.guidance.session.options.style,
        what=own.thing(step.thing_id),
        shown=own.guidance.stop_shown,
    )


def _sides(guidance: Guidance) -> list[Side]:
    return [setup.side for setup in guidance.session.sides]


def _table(pen: Pen, guidance: Guidance, side: Side) -> Table:
    own = _Guided(pen=pen, guidance=guidance)
    step = guidance.step
    after = {} if isinstance(step, Finished) else {p.outlet_id: p for p in step.predicted}
    read = {e.thing_id for e in guidance.session.events if isinstance(e, FlowReading)}
    symbol = pen.measures.preference.symbol(Dimension.FLOW)
    rows = tuple(
        _row(own, p, after.get(p.outlet_id), is_read=p.outlet_id in read)
        for p in guidance.now
        if p.side is side
    )
    return Table(
        id=f"next-{guidance.system_id}-{side.value}",
        title=pen.say("next.table", side=side.value),
        columns=(
            Column(title=pen.say("next.terminal")),
            Column(title=pen.say("next.flow"), unit_of_measure=symbol, align=Align.NUMBER),
            Column(title=pen.say("next.after"), unit_of_measure=symbol, align=Align.NUMBER),
            Column(title=pen.say("next.wanted"), unit_of_measure=symbol, align=Align.NUMBER),
            Column(title=pen.say("next.verdict")),
        ),
        rows=rows,
        note=pen.say("next.table-note"),
    )


def _row(
    own: _Guided, now: Predicted, after: Predicted | None, *, is_read: bool
) -> tuple[Cell, ...]:
    measures = own.pen.measures
    mark = mark_of(now.verdict)
    verdict = Cell(text=now.verdict.value, mark=mark)
    if not is_read:
        verdict = Cell(text=own.pen.say("next.not-read"), mark=Mark.NOT_SHOWN)
    return (
        Cell(text=own.pen.terminal(now.outlet_id)),
        Cell(
            text=_with_u(own, now) if is_read else "",
            mark=None,
        ),
        Cell(text="" if after is None else measures.flow_number(after.flow_m3_s, u_si=None)),
        Cell(text=measures.flow_number(now.wanted_m3_s, u_si=None)),
        verdict,
    )


def _with_u(own: _Guided, now: Predicted) -> str:
    u_m3_s = 2.0 * now.u_frac * now.flow_m3_s
    measures = own.pen.measures
    number = measures.number(now.flow_m3_s, Dimension.FLOW, u_si=u_m3_s)
    return f"{number} ± {measures.number(u_m3_s, Dimension.FLOW, u_si=u_m3_s)}"
