"""From a plan to the report model: words, tables and trees; nothing is computed again."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from ventwright.findings import PlanFindings, PlanSnapshot, SidePlan, SystemPlan
from ventwright.quantities import Dimension, NumberStyle, Severity, Side, UnitPreference
from ventwright.report.cautions import cautions_for
from ventwright.report.measures import Measures
from ventwright.report.model import Line, Mark, ReportModel, Section
from ventwright.report.pen import mark_of
from ventwright.report.plan_duct_tables import (
    doubts_table,
    ducts_tables,
    index_tables,
    sizes_tables,
)
from ventwright.report.plan_fans import fan_pictures
from ventwright.report.plan_pen import PlanPen
from ventwright.report.plan_picture import tree_pictures
from ventwright.report.plan_tables import close_tables, rooms_table, settings_tables
from ventwright.report.wording import words_of

_CAUTIONS = {
    "plan-settings": ("combustion-pressure", "suction-elsewhere"),
    "plan-close": ("electricity", "ladders"),
}
"""Cautions of the report that belong to a plan as well, by section."""
PLAN_SECTION_IDS = (
    "plan-summary",
    "plan-rooms",
    "plan-settings",
    "plan-close",
    "plan-ducts",
    "plan-index",
    "plan-sizes",
    "plan-doubts",
)


def compose_plan(
    found: PlanFindings,
    snapshot: PlanSnapshot,
    *,
    preference: UnitPreference,
    snapshot_sha256: str,
    language: str = "en",
    number_style: NumberStyle = NumberStyle.DECIMAL_POINT,
) -> ReportModel:
    """Write a plan as a model that screen, page and PDF are drawn from.

    Parameters
    ----------
    found
        What the snapshot says.
    snapshot
        The record it comes from.
    preference
        Habit of units; it also names the usual paper.
    snapshot_sha256
        Hash of the snapshot's bytes.
    language
        Of the catalogue, a tag of BCP 47.
    number_style
        Decimal mark of the numbers shown.

    Returns
    -------
    ReportModel
        The same plan, snapshot and habit give the same model.

    >>> from ventwright.findings import plan_house
    >>> from ventwright.house import House
    >>> snapshot = PlanSnapshot(engine="0", rule_sets=(),
    ...     house=House(schema="ventwright-house-1", id="h", name="Barn", altitude_m=0.0))
    >>> compose_plan(plan_house(snapshot), snapshot, preference=UnitPreference.SI_LS,
    ...              snapshot_sha256="0" * 64).title
    'Ventilation plan'
    """
    pen = PlanPen(
        found=found,
        snapshot=snapshot,
        measures=Measures(preference=preference, number_style=number_style),
        words=words_of(language, "words_plan", number_style=number_style),
    )
    sections = (
        Section(
            id="plan-summary",
            title=pen.say("plan-section.summary"),
            lines=tuple(_summary(pen)),
        ),
        Section(id="plan-rooms", title=pen.say("plan-section.rooms"), tables=rooms_table(pen)),
        Section(
            id="plan-settings",
            title=pen.say("plan-section.settings"),
            tables=tuple(settings_tables(pen)),
            pictures=tuple(fan_pictures(pen)),
        ),
        Section(
            id="plan-close",
            title=pen.say("plan-section.close"),
            tables=tuple(close_tables(pen)),
            pictures=tuple(tree_pictures(pen)),
        ),
        Section(
            id="plan-ducts", title=pen.say("plan-section.ducts"), tables=tuple(ducts_tables(pen))
        ),
        Section(
            id="plan-index", title=pen.say("plan-section.index"), tables=tuple(index_tables(pen))
        ),
        Section(
            id="plan-sizes", title=pen.say("plan-section.sizes"), tables=tuple(sizes_tables(pen))
        ),
        Section(id="plan-doubts", title=pen.say("plan-section.doubts"), tables=doubts_table(pen)),
    )
    cautions = _cautions(pen)
    return ReportModel(
        language=language,
        paper="us-letter" if pen.is_ip else "a4",
        title=pen.say("plan.title"),
        subtitle=pen.say("plan.subtitle", house=snapshot.house.name),
        facts=tuple(_facts(pen)),
        sections=tuple(
            replace(s, cautions=tuple(cautions.get(s.id, ())))
            for s in sections
            if s.lines or s.tables
        ),
        cautions=tuple(line for lines in cautions.values() for line in lines),
        snapshot_sha256=snapshot_sha256,
        engine=found.engine,
        dated="",
    )


def _cautions(pen: PlanPen) -> dict[str, list[Line]]:
    """By section: that a plan is a prediction, and what holds for the house."""
    lines = {"plan-summary": [Line(text=pen.say("plan.caution"), mark=Mark.CAUTION)]}
    known = {c.id: c.line for c in cautions_for(pen.snapshot.house)}
    for section, ids in _CAUTIONS.items():
        lines[section] = [known[i] for i in ids if i in known]
    return lines


def _facts(pen: PlanPen) -> Iterator[tuple[str, str]]:
    house = pen.snapshot.house
    density = pen.measures.text(pen.found.air_density_kg_m3, Dimension.DENSITY)
    facts = (
        ("house", house.name),
        ("place", house.place),
        ("ventilation_unit", "; ".join(s.ventilation_unit.name for s in house.systems)),
        ("air", pen.say("plan.air", density=density)),
        ("rules", ", ".join(r.name for r in pen.snapshot.rule_sets)),
    )
    return ((pen.say(f"plan-fact.{key}"), value) for key, value in facts if value)


def _summary(pen: PlanPen) -> Iterator[Line]:
    refused = sum(p.severity in (Severity.REFUSAL, Severity.MISTAKE) for p in pen.found.problems)
    if refused:
        yield Line(text=pen.words.count("plan-line.refused", refused), mark=Mark.NOT_MET)
    yield from _chosen(pen)
    short = [r.room_name for r in pen.found.rooms if r.is_short]
    if short:
        yield Line(text=pen.say("plan-line.rooms-short", names=", ".join(short)), mark=Mark.CAUTION)
    for system in pen.found.systems:
        for side in system.sides:
            yield from _side_lines(pen, system, side)
        for power in system.powers:
            m = pen.measures
            yield Line(
                text=pen.of_system(system)
                + pen.say(
                    "plan-line.power",
                    setting=pen.setting(power.setting),
                    power=m.estimate(power.power_w, Dimension.POWER),
                    flow=pen.flow(power.flow_m3_s),
                    efficacy=m.value(power.efficacy.efficacy_m3_s_w, Dimension.FAN_EFFICACY),
                    basis=pen.say(f"plan-basis.{power.basis.value}"),
                )
            )
    yield from _screen_lines(pen)


def _chosen(pen: PlanPen) -> Iterator[Line]:
    """What the planner asks for beside what was chosen, both sides in all."""
    plan = pen.found.room_plan
    totals = {side: [r.chosen_m3_s for r in pen.found.rooms if r.side is side] for side in Side}
    if plan is None or any(None in flows for flows in totals.values()):
        return
    text = pen.say(
        "plan-line.chosen",
        asked=pen.flow(plan.total_m3_s),
        supply=pen.flow(sum(q for q in totals[Side.SUPPLY] if q is not None)),
        extract=pen.flow(sum(q for q in totals[Side.EXTRACT] if q is not None)),
    )
    yield Line(text=text)


def _side_lines(pen: PlanPen, system: SystemPlan, side: SidePlan) -> Iterator[Line]:
    prefix = pen.of_system(system)
    word = pen.say(f"side.{side.side.value}")
    if side.needed_pa is None:
        yield Line(text=prefix + pen.say("plan-line.side-refused", side=word), mark=Mark.NOT_MET)
        return
    m = pen.measures
    values = {
        "side": word,
        "design": pen.flow(side.design_m3_s),
        "needed": m.estimate(side.needed_pa, Dimension.PRESSURE),
    }
    if side.reach is None or side.available_pa is None:
        text = pen.say("plan-line.reach-unknown", **values)
        yield Line(text=prefix + text, mark=Mark.NOT_SHOWN)
    else:
        values["available"] = m.value(side.available_pa, Dimension.PRESSURE)
        text = pen.say(f"plan-line.reach-{side.reach.value}", **values)
        yield Line(text=prefix + text, mark=mark_of(side.reach))
    yield from (Line(text=prefix + text) for text in _speed_and_spread(pen, side))
    yield from _closing(pen, side, prefix)


def _speed_and_spread(pen: PlanPen, side: SidePlan) -> Iterator[str]:
    word = pen.side(side.side)
    base = next((s for s in side.settings if s.setting == side.setting), None)
    if side.needed_speed_frac is not None:
        values = {
            "side": word,
            "speed": pen.measures.estimate(side.needed_speed_frac, Dimension.FRACTION),
            "index": pen.terminal_name(side, side.index_terminal),
        }
        if base is None or base.is_speed_assumed:
            yield pen.say("plan-line.speed-own", **values)
        else:
            yield pen.say(
                "plan-line.speed",
                **values,
                setting=pen.setting(side.setting),
                set=pen.ratio(base.speed_frac),
            )
    ratios = [
        (t.open_ratio.value, t.terminal_id) for t in side.terminals if t.open_ratio is not None
    ]
    if base is not None and ratios:
        yield pen.say(
            "plan-line.spread",
            side=word,
            speed=pen.speed(base),
            total=pen.measures.estimate(base.open_total_m3_s, Dimension.FLOW),
            least=pen.terminal_name(side, min(ratios)[1]),
            least_ratio=pen.ratio(min(ratios)[0]),
            most=pen.terminal_name(side, max(ratios)[1]),
            most_ratio=pen.ratio(max(ratios)[0]),
        )


def _closing(pen: PlanPen, side: SidePlan, prefix: str) -> Iterator[Line]:
    terminals = sum(t.at_terminal_pa > 0.0 for t in side.terminals)
    dampers = sum(d.throw_away_pa > 0.0 for d in side.dampers)
    text = pen.say(
        "plan-line.close",
        side=pen.side(side.side),
        terminals=str(terminals),
        count=str(len(side.terminals)),
        dampers=str(dampers),
    )
    yield Line(text=prefix + text)
    for t in side.terminals:
        if t.unplaced_pa > 0.0:
            text = pen.say(
                "plan-line.unplaced",
                terminal=pen.terminal_name(side, t.terminal_id),
                drop=pen.pressure(t.unplaced_pa),
            )
            yield Line(text=prefix + text, mark=Mark.CAUTION)


def _screen_lines(pen: PlanPen) -> Iterator[Line]:
    sides = [side for system in pen.found.systems for side in system.sides]
    runs = [run for side in sides for run in side.runs]
    fast = [run for run in runs if run.is_velocity_over]
    if fast:
        worst = max(fast, key=lambda run: run.velocity_m_s)
        text = pen.say(
            "plan-line.velocity",
            count=str(len(fast)),
            velocity=pen.measures.text(worst.velocity_m_s, Dimension.VELOCITY),
            where=worst.where,
        )
        yield Line(text=text, mark=Mark.CAUTION)
    elif runs:
        yield Line(text=pen.say("plan-line.velocity-none"))
    steep = [run for run in runs if run.is_gradient_over]
    if steep:
        worst = max(steep, key=lambda run: run.gradient_pa_m)
        text = pen.say(
            "plan-line.gradient",
            count=str(len(steep)),
            limit=pen.gradient_text(pen.found.screen.gradient_pa_m),
            where=worst.where,
        )
        yield Line(text=text, mark=Mark.CAUTION)
    loud = [t.terminal_id for side in sides for t in side.terminals if t.is_drop_over]
    if loud:
        text = pen.say(
            "plan-line.drop",
            names=", ".join(loud),
            limit=pen.pressure(pen.found.screen.terminal_drop_pa),
        )
        yield Line(text=text, mark=Mark.CAUTION)
