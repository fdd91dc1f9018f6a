"""Air flows: every terminal in every setting, planned, re-targeted, found, left, judged."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from ventwright.findings import (
    DesignFinding,
    FlowFinding,
    RetargetFinding,
    SystemFindings,
    TerminalFinding,
)
from ventwright.house import Phase
from ventwright.quantities import Dimension, Side
from ventwright.report.model import Cell, Line, Picture, Section, Table
from ventwright.report.pen import Pen, cells, lines_of
from ventwright.report.pictures.flows import FlowRow, flow_chart
from ventwright.report.sections.summary import reachable_text, room_of
from ventwright.uncertainty import Estimate, u_expanded

_SIDES = (Side.SUPPLY, Side.EXTRACT)


def flows_section(pen: Pen) -> Section:
    """Tables of the terminals, one for each setting.

    Parameters
    ----------
    pen
        What is written about.
    """
    tables: list[Table] = []
    lines: list[Line] = []
    for _, found in pen.systems():
        lines += _retarget_lines(pen, found)
        for setting in dict.fromkeys(t.setting for t in found.terminals):
            terminals = [t for t in found.terminals if t.setting == setting]
            tables.append(_table(pen, found, setting, terminals))
    if tables:
        note = pen.say("flows.note") + " " + pen.say("flows.note-total")
        tables[-1] = replace(tables[-1], note=note)
    return Section(
        id="flows",
        title=pen.say("section.flows"),
        lines=tuple(lines),
        tables=tuple(tables),
    )


def _rule_ids(pen: Pen) -> list[str]:
    return [r.id for r in pen.snapshot.rule_sets if r.terminal is not None or r.total is not None]


def _table(
    pen: Pen, found: SystemFindings, setting: str, terminals: list[TerminalFinding]
) -> Table:
    symbol = pen.measures.symbol(Dimension.FLOW)
    numbers = ("design", "target", "as_found", "as_left", "band")
    keys = ("terminal", "room", "side", *numbers)
    columns = list(pen.columns(*keys, numbers=numbers, **dict.fromkeys(numbers, symbol)))
    rule_ids = _rule_ids(pen)
    verdicts = pen.columns("verdict")
    if len(rule_ids) > 1:
        verdicts = tuple(
            type(verdicts[0])(title=f"{verdicts[0].title}: {pen.rule_name(r)}") for r in rule_ids
        )
    elif not rule_ids:
        verdicts = ()
    rows: list[tuple[Cell, ...]] = []
    totals = []
    for side in _SIDES:
        of_side = [t for t in terminals if t.side is side]
        rows += [_row(pen, t, rule_ids) for t in of_side]
        total = _total_row(pen, found, setting, side, rule_ids)
        if of_side and total is not None:
            totals.append(len(rows))
            rows.append(total)
    return Table(
        id=f"flows-{found.system_id}-{setting}",
        title=pen.of_system(found.system_id)
        + pen.say("flows.caption", setting=pen.setting(setting)),
        columns=(*columns, *verdicts),
        rows=tuple(rows),
        total_row_index=tuple(totals),
    )


def _flow_of(found: FlowFinding | None) -> Estimate | None:
    return None if found is None else found.figure.flow_m3_s


def _row(pen: Pen, t: TerminalFinding, rule_ids: list[str]) -> tuple[Cell, ...]:
    m = pen.measures
    judged = _flow_of(t.as_left) or _flow_of(t.as_found)
    u = u_expanded(judged) if judged is not None else None
    decided = [line.judgement.decision for line in t.lines if line.judgement is not None]
    low, high = (decided[0].low, decided[0].high) if decided else (t.low_m3_s, t.high_m3_s)
    lines = {line.rule_set_id: line for line in t.lines}
    return cells(
        t.terminal_id,
        t.room_name,
        pen.say(f"side.{t.side.value}"),
        m.flow_number(t.design_m3_s, u_si=u),
        m.flow_number(t.target_m3_s, u_si=u),
        m.estimate_number(_flow_of(t.as_found), Dimension.FLOW),
        m.estimate_number(_flow_of(t.as_left), Dimension.FLOW),
        m.range(Dimension.FLOW, low_si=low, high_si=high, u_si=u or 0.0),
        *(pen.verdict_cell(lines[r]) if r in lines else Cell(text="") for r in rule_ids),
    )


def _total_row(
    pen: Pen, found: SystemFindings, setting: str, side: Side, rule_ids: list[str]
) -> tuple[Cell, ...] | None:
    """Totals of a side; None where nothing was measured, since the design alone says no more."""
    totals = {d.phase: d for d in found.designs if d.side is side and d.setting == setting}
    if not totals:
        return None
    m = pen.measures
    last = totals.get(Phase.AS_LEFT) or next(iter(totals.values()))
    u = None if last.measured_m3_s is None else u_expanded(last.measured_m3_s)
    new = next((r for r in found.retargets if r.side is side and r.setting == setting), None)
    decided = [line.judgement.decision for line in last.lines if line.judgement is not None]
    low, high = (decided[0].low, decided[0].high) if decided else (None, None)
    lines = {line.rule_set_id: line for line in last.lines}
    return cells(
        pen.say("flows.total"),
        "",
        pen.say(f"side.{side.value}"),
        m.flow_number(last.design_m3_s, u_si=u),
        "" if new is None else m.flow_number(new.reachable_m3_s, u_si=u),
        m.estimate_number(_measured(totals.get(Phase.AS_FOUND)), Dimension.FLOW),
        m.estimate_number(_measured(totals.get(Phase.AS_LEFT)), Dimension.FLOW),
        m.range(Dimension.FLOW, low_si=low, high_si=high, u_si=u or 0.0),
        *(pen.verdict_cell(lines[r]) if r in lines else Cell(text="") for r in rule_ids),
    )


def _measured(design: DesignFinding | None) -> Estimate | None:
    return None if design is None else design.measured_m3_s


def _retarget_lines(pen: Pen, found: SystemFindings) -> Iterator[Line]:
    for new in found.retargets:
        yield from lines_of([_retarget_text(pen, found, new)])


def _retarget_text(pen: Pen, found: SystemFindings, new: RetargetFinding) -> str:
    m = pen.measures
    side = pen.say(f"side.{new.side.value}")
    head = f"{pen.setting(new.setting)}: "
    design = m.plain(new.design_total_m3_s, Dimension.FLOW)
    if new.limited_by is None:
        return head + pen.say("flows.design-stands", side=side, design=design)
    if new.shortfall_m3_s > 0.0:
        text = pen.say(
            "flows.retarget-impossible",
            side=side,
            design=design,
            reach=reachable_text(pen, found, new),
            names=", ".join((*new.held_low, *new.held_high)),
            flow=m.about(new.shortfall_m3_s, Dimension.FLOW),
        )
        return head + text
    held = ""
    if new.held_low:
        held += pen.say("flows.retarget-held-low", names=", ".join(new.held_low))
    if new.held_high:
        held += pen.say("flows.retarget-held-high", names=", ".join(new.held_high))
    if new.limited_by is new.side:
        held += " " + pen.say("flows.limited", side=side)
    return head + pen.say(
        "flows.retargeted",
        side=side,
        design=design,
        reach=reachable_text(pen, found, new),
        scale=m.decimal(new.scale_ratio, digits=2),
        held=held,
    )


def flow_picture(
    pen: Pen,
    found: SystemFindings,
    setting: str,
    terminals: list[TerminalFinding],
    *,
    is_plain: bool = False,
) -> Picture:
    """Chart of the terminals in one setting: target, band, as found, as left.

    Parameters
    ----------
    pen
        What is written about.
    found
        Their system.
    setting
        Id of the setting.
    terminals
        Those of the setting.
    is_plain
        Whether rooms are named without the ids of their terminals.
    """
    ordered = sorted(terminals, key=lambda t: _SIDES.index(t.side))
    rows = []
    for t in ordered:
        decided = [line.judgement.decision for line in t.lines if line.judgement is not None]
        rows.append(
            FlowRow(
                label=room_of(t, ordered) if is_plain else f"{t.terminal_id} {t.room_name}",
                side=t.side,
                target_m3_s=t.target_m3_s,
                low_m3_s=decided[0].low if decided else t.low_m3_s,
                high_m3_s=decided[0].high if decided else t.high_m3_s,
                as_found_m3_s=_flow_of(t.as_found),
                as_left_m3_s=_flow_of(t.as_left),
            )
        )
    m = pen.measures
    none = pen.say("flows.picture-none")
    words = " ".join(
        pen.say(
            "flows.picture-row",
            name=row.label,
            target=m.text(row.target_m3_s, Dimension.FLOW) or none,
            found=m.estimate(row.as_found_m3_s, Dimension.FLOW) or none,
            left=m.estimate(row.as_left_m3_s, Dimension.FLOW) or none,
        )
        for row in rows
    )
    title = pen.of_system(found.system_id) + pen.say("flows.picture", setting=pen.setting(setting))
    return Picture(
        id=f"flow-chart-{found.system_id}-{setting}",
        svg=flow_chart(rows, measures=m, words=pen.words),
        alt=pen.say(
            "flows.picture-alt", count=str(len(rows)), setting=pen.setting(setting), rows=words
        ),
        caption=title,
        follows=f"shares-{found.system_id}-{setting}",
    )
