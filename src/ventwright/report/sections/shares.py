"""As found against as left: charts of terminals, and shares in which a meter's bias cancels."""

from __future__ import annotations

from dataclasses import replace

from ventwright.findings import SystemFindings, TerminalFinding
from ventwright.house import Phase
from ventwright.quantities import Dimension
from ventwright.report.model import Cell, Picture, Section, Table
from ventwright.report.pen import Pen, cells, table_if
from ventwright.report.sections.flows import flow_picture


def shares_section(pen: Pen) -> Section:
    """One chart and one table of shares for each setting.

    Parameters
    ----------
    pen
        What is written about.
    """
    tables: list[Table] = []
    pictures: list[Picture] = []
    for _, found in pen.systems():
        for setting in dict.fromkeys(t.setting for t in found.terminals):
            terminals = [t for t in found.terminals if t.setting == setting]
            shares = _shares(pen, found, setting, terminals)
            tables += shares
            if any(t.as_found or t.as_left for t in terminals):
                drawn = flow_picture(pen, found, setting, terminals)
                pictures.append(drawn if shares else replace(drawn, follows=""))
    return Section(
        id="shares",
        title=pen.say("section.shares"),
        tables=tuple(tables),
        pictures=tuple(pictures),
    )


def _shares(
    pen: Pen, found: SystemFindings, setting: str, terminals: list[TerminalFinding]
) -> tuple[Table, ...]:
    rows = [_row(pen, t) for t in terminals if t.share_frac is not None]
    share = pen.measures.symbol(Dimension.FRACTION)
    numbers = ("share_of_side", "share_target")
    return table_if(
        rows,
        id=f"shares-{found.system_id}-{setting}",
        title=pen.of_system(found.system_id)
        + pen.say("shares.caption", setting=pen.setting(setting)),
        columns=pen.columns(
            "terminal",
            "room",
            "side",
            "phase",
            *numbers,
            numbers=numbers,
            optional=("share_target",),
            **dict.fromkeys(numbers, share),
        ),
        note=pen.say("shares.note"),
    )


def _row(pen: Pen, t: TerminalFinding) -> tuple[Cell, ...]:
    m = pen.measures
    target = ""
    if t.share_frac is not None and t.share_target_frac is not None:
        u = 2.0 * t.share_frac.u_std or None
        target = m.number(t.share_target_frac, Dimension.FRACTION, u_si=u)
    return cells(
        t.terminal_id,
        t.room_name,
        pen.say(f"side.{t.side.value}"),
        pen.phase(t.judged_phase or Phase.AS_FOUND),
        m.estimate_number(t.share_frac, Dimension.FRACTION),
        target,
    )
