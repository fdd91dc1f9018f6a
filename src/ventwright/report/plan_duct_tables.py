"""Tables of a plan: ducts against the screen, index run, one size up, what is doubtful."""

from __future__ import annotations

from collections.abc import Iterator

from ventwright.quantities import Dimension, Severity
from ventwright.report.model import Cell, Mark, Table
from ventwright.report.pen import cells, table_if
from ventwright.report.plan_pen import PlanPen

_MARK_OF = {
    Severity.REFUSAL: Mark.NOT_MET,
    Severity.MISTAKE: Mark.NOT_MET,
    Severity.WARNING: Mark.CAUTION,
    Severity.NOTE: Mark.NOTE,
}


def ducts_tables(pen: PlanPen) -> Iterator[Table]:
    """Every straight piece against the screen.

    Parameters
    ----------
    pen
        What is written about.
    """
    m, screen = pen.measures, pen.found.screen
    numbers = ("size", "length", "flow", "velocity", "limit", "gradient", "loss")
    note = pen.say(
        "plan-table.runs-note",
        last=m.text(screen.last_run_m_s, Dimension.VELOCITY),
        main=m.text(screen.main_m_s, Dimension.VELOCITY),
        gradient=pen.gradient_text(screen.gradient_pa_m),
        trust=pen.say(f"trust.{screen.trust.value}"),
    )
    for system in pen.found.systems:
        for side in system.sides:
            rows = [
                cells(
                    run.where,
                    pen.size(run.diameter_m, run.width_m, run.height_m),
                    m.number(run.length_m, Dimension.LENGTH, digits=1),
                    pen.flow_number(run.flow_m3_s),
                    _over(pen.velocity_number(run.velocity_m_s), is_over=run.is_velocity_over),
                    pen.velocity_number(run.most_velocity_m_s),
                    _over(pen.gradient(run.gradient_pa_m), is_over=run.is_gradient_over),
                    pen.pressure_number(run.drop_pa),
                    pen.setting(run.setting),
                )
                for run in side.runs
            ]
            yield from table_if(
                rows,
                id=f"plan-ducts-{system.system_id}-{side.side.value}",
                title=pen.say(
                    "plan-table.runs", system=pen.of_system(system), side=pen.side(side.side)
                ),
                columns=pen.columns(
                    "where",
                    *numbers,
                    "setting",
                    numbers=numbers,
                    length=m.symbol(Dimension.LENGTH),
                    flow=m.symbol(Dimension.FLOW),
                    velocity=m.symbol(Dimension.VELOCITY),
                    limit=m.symbol(Dimension.VELOCITY),
                    gradient=pen.gradient_symbol,
                    loss=m.symbol(Dimension.PRESSURE),
                ),
                note=note,
            )


def _over(text: str, *, is_over: bool) -> Cell:
    return Cell(text=text, mark=Mark.CAUTION if is_over else None)


def index_tables(pen: PlanPen) -> Iterator[Table]:
    """What each part of the index run costs.

    Parameters
    ----------
    pen
        What is written about.
    """
    for system in pen.found.systems:
        for side in system.sides:
            rows = [
                cells(loss.where, pen.pressure_number(loss.drop_pa), pen.ratio(loss.share))
                for loss in side.index_losses
            ]
            yield from table_if(
                rows,
                id=f"plan-index-{system.system_id}-{side.side.value}",
                title=pen.say(
                    "plan-table.index",
                    system=pen.of_system(system),
                    side=pen.side(side.side),
                    terminal=pen.terminal_name(side, side.index_terminal),
                ),
                columns=pen.columns(
                    "where",
                    "loss",
                    "share",
                    numbers=("loss", "share"),
                    loss=pen.measures.symbol(Dimension.PRESSURE),
                ),
            )


def sizes_tables(pen: PlanPen) -> Iterator[Table]:
    """What one size up would give.

    Parameters
    ----------
    pen
        What is written about.
    """
    m = pen.measures
    flow, pressure = m.symbol(Dimension.FLOW), m.symbol(Dimension.PRESSURE)
    numbers = ("from", "to", "needed", "saved", "needed_speed", "total", "gained")
    for system in pen.found.systems:
        for side in system.sides:
            rows = [
                cells(
                    step.where,
                    pen.diameter(step.from_m),
                    pen.diameter(step.to_m),
                    pen.pressure_number(step.needed_pa),
                    pen.pressure_number(step.saved_pa),
                    "" if step.needed_speed_frac is None else pen.ratio(step.needed_speed_frac),
                    pen.flow_number(step.open_total_m3_s),
                    m.number(step.gained_m3_s, Dimension.FLOW, digits=pen.flow_digits + 1),
                )
                for step in side.size_steps
            ]
            yield from table_if(
                rows,
                id=f"plan-sizes-{system.system_id}-{side.side.value}",
                title=pen.say(
                    "plan-table.sizes", system=pen.of_system(system), side=pen.side(side.side)
                ),
                columns=pen.columns(
                    "where",
                    *numbers,
                    numbers=numbers,
                    needed=pressure,
                    saved=pressure,
                    total=flow,
                    gained=flow,
                ),
                note=pen.say("plan-table.sizes-note"),
            )


def doubts_table(pen: PlanPen) -> tuple[Table, ...]:
    """Everything missing or assumed, refusals first.

    Parameters
    ----------
    pen
        What is written about.
    """
    order = list(_MARK_OF)
    ordered = sorted(pen.found.problems, key=lambda p: order.index(p.severity))
    rows = [
        cells(
            Cell(text=pen.say(f"severity.{p.severity.value}"), mark=_MARK_OF[p.severity]),
            p.where,
            p.message,
            p.remedy,
        )
        for p in ordered
    ]
    return table_if(
        rows,
        id="plan-doubts",
        title=pen.say("plan-table.doubts"),
        columns=pen.columns("weight", "where", "what", "remedy"),
    )
