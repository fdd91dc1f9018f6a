"""Tables of a plan: rooms, settings, what to close."""

from __future__ import annotations

from collections.abc import Iterator

from ventwright.findings import SettingPlan, SidePlan, SystemPlan, TerminalPlan
from ventwright.quantities import Dimension
from ventwright.report.model import Cell, Mark, Table
from ventwright.report.pen import cells, table_if
from ventwright.report.plan_pen import PlanPen


def rooms_table(pen: PlanPen) -> tuple[Table, ...]:
    """What is asked of each room, proposed and chosen.

    Parameters
    ----------
    pen
        What is written about.
    """
    symbol = pen.measures.symbol(Dimension.FLOW)
    numbers = ("least", "proposed", "chosen")
    rows = [
        cells(
            room.room_name,
            pen.say(f"side.{room.side.value}"),
            ", ".join(room.terminals),
            pen.flow_number(room.least_m3_s),
            pen.flow_number(room.proposed_m3_s),
            Cell(
                text=pen.flow_number(room.chosen_m3_s),
                mark=Mark.CAUTION if room.is_short else None,
            ),
        )
        for room in pen.found.rooms
    ]
    names = ", ".join(_rule_names(pen))
    return table_if(
        rows,
        id="plan-rooms",
        title=pen.say("plan-table.rooms"),
        columns=pen.columns(
            "room", "side", "terminals", *numbers, numbers=numbers, **dict.fromkeys(numbers, symbol)
        ),
        note=pen.say("plan-table.rooms-note", rules=names),
    )


def _rule_names(pen: PlanPen) -> Iterator[str]:
    """Each rule set with how surely what was taken from it is known."""
    plan = pen.found.room_plan
    trusts = {} if plan is None else {rate.rule_set_id: rate.trust for rate in plan.rates}
    for rules in pen.snapshot.rule_sets:
        trust = trusts.get(rules.id)
        yield rules.name if trust is None else f"{rules.name} ({pen.say(f'trust.{trust.value}')})"


def settings_tables(pen: PlanPen) -> Iterator[Table]:
    """Totals in every setting, and the power of the fans.

    Parameters
    ----------
    pen
        What is written about.
    """
    for system in pen.found.systems:
        yield from _totals(pen, system)
        yield from _powers(pen, system)


def _totals(pen: PlanPen, system: SystemPlan) -> tuple[Table, ...]:
    m = pen.measures
    flow, pressure = m.symbol(Dimension.FLOW), m.symbol(Dimension.PRESSURE)
    numbers = ("speed", "planned", "open", "set", "external", "house")
    rows = []
    for side in system.sides:
        for one in side.settings:
            point = one.set_point or one.open_point
            rows.append(
                cells(
                    pen.setting(one.setting),
                    pen.say(f"side.{side.side.value}"),
                    pen.speed(one),
                    pen.flow_number(one.planned_m3_s),
                    m.estimate_number(one.open_total_m3_s, Dimension.FLOW),
                    m.estimate_number(one.set_total_m3_s, Dimension.FLOW),
                    pen.pressure_number(point.external_pa),
                    pen.house_pressure(one.house_pressure_pa),
                    _setting_remark(pen, one),
                )
            )
    return table_if(
        rows,
        id=f"plan-settings-{system.system_id}",
        title=pen.say("plan-table.settings", system=pen.of_system(system)),
        columns=pen.columns(
            "setting",
            "side",
            *numbers,
            "remark",
            numbers=numbers,
            planned=flow,
            open=flow,
            set=flow,
            external=pressure,
            house="Pa",
        ),
        note=pen.say("plan-table.settings-note"),
    )


def _setting_remark(pen: PlanPen, one: SettingPlan) -> str:
    point = one.set_point or one.open_point
    said = []
    if one.is_speed_assumed:
        said.append(pen.say("plan-mark.speed_assumed"))
    if point.is_beyond_curve:
        said.append(pen.say("plan-mark.beyond_curve"))
    return ", ".join(said)


def _powers(pen: PlanPen, system: SystemPlan) -> tuple[Table, ...]:
    m = pen.measures
    rows = [
        cells(
            pen.setting(p.setting),
            pen.flow_number(p.flow_m3_s),
            m.estimate_number(p.power_w, Dimension.POWER),
            m.estimate_number(p.efficacy.efficacy_m3_s_w, Dimension.FAN_EFFICACY),
            pen.say(f"plan-basis.{p.basis.value}"),
            pen.say("plan-mark.beyond_rating") if p.is_beyond_rating else "",
        )
        for p in system.powers
    ]
    return table_if(
        rows,
        id=f"plan-powers-{system.system_id}",
        title=pen.say("plan-table.powers", system=pen.of_system(system)),
        columns=pen.columns(
            "setting",
            "flow",
            "power",
            "efficacy",
            "basis",
            "remark",
            numbers=("flow", "power", "efficacy"),
            flow=m.symbol(Dimension.FLOW),
            power=m.symbol(Dimension.POWER),
            efficacy=m.symbol(Dimension.FAN_EFFICACY),
        ),
        note=pen.say("plan-table.powers-note"),
    )


def close_tables(pen: PlanPen) -> Iterator[Table]:
    """Terminals and dampers: the split with everything open, and what to close.

    Parameters
    ----------
    pen
        What is written about.
    """
    for system in pen.found.systems:
        for side in system.sides:
            yield from _terminals(pen, system, side)
            yield from _dampers(pen, system, side)


def _terminals(pen: PlanPen, system: SystemPlan, side: SidePlan) -> tuple[Table, ...]:
    m = pen.measures
    flow, pressure = m.symbol(Dimension.FLOW), m.symbol(Dimension.PRESSURE)
    numbers = ("design", "open", "ratio", "excess", "at_dampers", "at_terminal", "drop")
    rows = [
        cells(
            t.terminal_id,
            t.room_name,
            pen.flow_number(t.design_m3_s),
            m.estimate_number(t.open_m3_s, Dimension.FLOW),
            "" if t.open_ratio is None else pen.ratio(t.open_ratio.value),
            pen.pressure_number(t.excess_pa),
            pen.pressure_number(t.at_dampers_pa) if t.excess_pa is not None else "",
            pen.pressure_number(t.at_terminal_pa) if t.excess_pa is not None else "",
            pen.pressure_number(t.terminal_drop_pa),
            "" if t.flow_factor is None else pen.opening(t),
            _terminal_remark(pen, t),
        )
        for t in side.terminals
    ]
    return table_if(
        rows,
        id=f"plan-terminals-{system.system_id}-{side.side.value}",
        title=pen.say(
            "plan-table.terminals",
            system=pen.of_system(system),
            side=pen.side(side.side),
            setting=pen.setting(side.setting),
        ),
        columns=pen.columns(
            "terminal",
            "room",
            *numbers,
            "opening",
            "remark",
            numbers=(*numbers, "opening"),
            design=flow,
            open=flow,
            excess=pressure,
            at_dampers=pressure,
            at_terminal=pressure,
            drop=pressure,
        ),
        note=pen.say("plan-table.terminals-note"),
    )


def _terminal_remark(pen: PlanPen, t: TerminalPlan) -> Cell:
    marks = (
        ("index", t.is_index),
        ("by_size", t.is_taken_by_size),
        ("outside_table", t.is_outside_table),
        ("drop_over", t.is_drop_over),
    )
    words = [pen.say(f"plan-mark.{key}") for key, holds in marks if holds]
    needs_look = t.is_outside_table or t.is_drop_over or t.unplaced_pa > 0.0
    return Cell(text=", ".join(words), mark=Mark.CAUTION if needs_look and words else None)


def _dampers(pen: PlanPen, system: SystemPlan, side: SidePlan) -> tuple[Table, ...]:
    m = pen.measures
    rows = [
        cells(
            d.branch_id,
            d.place,
            pen.flow_number(d.flow_m3_s),
            pen.pressure_number(d.throw_away_pa),
            pen.position(d),
            pen.say("plan-mark.stuck") if d.is_stuck else "",
        )
        for d in side.dampers
    ]
    numbers = ("flow", "throw_away", "position")
    return table_if(
        rows,
        id=f"plan-dampers-{system.system_id}-{side.side.value}",
        title=pen.say("plan-table.dampers", system=pen.of_system(system), side=pen.side(side.side)),
        columns=pen.columns(
            "branch",
            "place",
            *numbers,
            "remark",
            numbers=numbers,
            flow=m.symbol(Dimension.FLOW),
            throw_away=m.symbol(Dimension.PRESSURE),
        ),
    )
