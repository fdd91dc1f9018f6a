"""Totals: terminals against ducts, sides against design, power, the mean of the day."""

from __future__ import annotations

from ventwright.findings import FlowFinding, JudgedLine, SystemFindings, TotalFinding
from ventwright.quantities import Dimension
from ventwright.report.measures import percent
from ventwright.report.model import Cell, Section, Table
from ventwright.report.pen import Pen, cells, table_if
from ventwright.uncertainty import Estimate


def totals_section(pen: Pen) -> Section:
    """Everything that adds up flows, and what the power buys.

    Parameters
    ----------
    pen
        What is written about.
    """
    tables: list[Table] = []
    for _, found in pen.systems():
        for one in (totals, designs, powers, effective):
            tables += one(pen, found)
    return Section(id="totals", title=pen.say("section.totals"), tables=tuple(tables))


def title_of(pen: Pen, found: SystemFindings, key: str) -> str:
    """Title of a table, with its system where a house has several.

    Parameters
    ----------
    pen
        What is written about.
    found
        The system.
    key
        Key of the title in the catalogue.
    """
    return pen.of_system(found.system_id) + pen.say(key)


def std_flow_of(found: FlowFinding | None) -> Estimate | None:
    """Standard flow of a finding, None where there is none.

    Parameters
    ----------
    found
        A flow at a station.
    """
    return None if found is None else found.figure.std_flow_m3_s


def totals(pen: Pen, found: SystemFindings) -> tuple[Table, ...]:
    """Terminals of each side added up, against the duct.

    Parameters
    ----------
    pen
        What is written about.
    found
        One system.
    """
    m = pen.measures
    flow = m.symbol(Dimension.FLOW)
    rows = []
    for t in found.totals:
        terminals = m.estimate_number(t.terminals_m3_s, Dimension.FLOW)
        if t.missing_terminals:
            terminals = pen.say("balance.missing-terminals", names=", ".join(t.missing_terminals))
        rows.append(
            cells(
                pen.say(f"side.{t.side.value}"),
                t.setting,
                pen.phase(t.phase),
                m.estimate_number(std_flow_of(t.duct), Dimension.FLOW),
                terminals,
                m.estimate_number(t.gap_share_frac, Dimension.FRACTION),
                causes_text(pen, t),
            )
        )
    numbers = ("duct", "terminals", "gap_share")
    symbols = {"duct": flow, "terminals": flow, "gap_share": m.symbol(Dimension.FRACTION)}
    return table_if(
        rows,
        id=f"totals-{found.system_id}",
        title=title_of(pen, found, "balance.totals"),
        columns=pen.columns(
            "side", "setting", "phase", *numbers, "causes", numbers=numbers, **symbols
        ),
        note=pen.say("balance.totals-note"),
    )


def causes_text(pen: Pen, found: TotalFinding) -> str:
    """The causes of a gap with their odds, those under one in twenty left out.

    Parameters
    ----------
    pen
        What is written about.
    found
        Terminals against a duct.
    """
    worth = [e for e in found.explanations if e.prob_frac >= 0.05]
    return "; ".join(f"{pen.say(f'explanation.{e.code}')} {percent(e.prob_frac)}" for e in worth)


def designs(pen: Pen, found: SystemFindings) -> tuple[Table, ...]:
    """Measured totals against the design, by each rule that speaks of them.

    Parameters
    ----------
    pen
        What is written about.
    found
        One system.
    """
    m = pen.measures
    flow = m.symbol(Dimension.FLOW)
    rows = []
    for d in found.designs:
        judged: list[JudgedLine | None] = [x for x in d.lines if x.judgement is not None]
        for line in judged or [None]:
            decision = None if line is None or line.judgement is None else line.judgement.decision
            rows.append(
                cells(
                    pen.say(f"side.{d.side.value}"),
                    d.setting,
                    pen.phase(d.phase),
                    m.number(d.design_m3_s, Dimension.FLOW),
                    m.estimate_number(d.measured_m3_s, Dimension.FLOW),
                    "" if line is None else pen.rule_name(line.rule_set_id),
                    "" if decision is None else percent(decision.prob_within_frac),
                    Cell(text="") if line is None else pen.verdict_cell(line),
                )
            )
    numbers = ("design", "measured", "odds")
    return table_if(
        rows,
        id=f"designs-{found.system_id}",
        title=title_of(pen, found, "balance.designs"),
        columns=pen.columns(
            "side",
            "setting",
            "phase",
            "design",
            "measured",
            "rule",
            "odds",
            "verdict",
            numbers=numbers,
            design=flow,
            measured=flow,
        ),
    )


def powers(pen: Pen, found: SystemFindings) -> tuple[Table, ...]:
    """Electrical power with fan efficacy.

    Parameters
    ----------
    pen
        What is written about.
    found
        One system.
    """
    m = pen.measures
    rows = [
        cells(
            p.setting,
            pen.phase(p.phase),
            m.estimate_number(p.power_w, Dimension.POWER),
            ""
            if p.efficacy is None
            else m.estimate_number(p.efficacy.efficacy_m3_s_w, Dimension.FAN_EFFICACY),
            ""
            if p.efficacy is None
            else m.estimate_number(
                p.efficacy.specific_fan_power_w_per_m3_s, Dimension.SPECIFIC_FAN_POWER
            ),
        )
        for p in found.powers
    ]
    numbers = ("power", "efficacy", "specific")
    return table_if(
        rows,
        id=f"powers-{found.system_id}",
        title=title_of(pen, found, "balance.powers"),
        columns=pen.columns(
            "setting",
            "phase",
            *numbers,
            numbers=numbers,
            power=m.symbol(Dimension.POWER),
            efficacy=m.symbol(Dimension.FAN_EFFICACY),
            specific=m.symbol(Dimension.SPECIFIC_FAN_POWER),
        ),
        note=pen.say("balance.powers-note"),
    )


def effective(pen: Pen, found: SystemFindings) -> tuple[Table, ...]:
    """Ventilation averaged over the day.

    Parameters
    ----------
    pen
        What is written about.
    found
        One system.
    """
    m = pen.measures
    rows = []
    for e in found.effective:
        mean = m.estimate_number(e.mean_m3_s, Dimension.FLOW)
        if e.missing_settings:
            mean = pen.say("balance.effective-missing", names=", ".join(e.missing_settings))
        rows.append(
            cells(
                pen.say(f"side.{e.side.value}"),
                mean,
                m.plain(e.running_frac, Dimension.FRACTION),
                ", ".join(e.settings),
            )
        )
    return table_if(
        rows,
        id=f"effective-{found.system_id}",
        title=title_of(pen, found, "balance.effective"),
        columns=pen.columns(
            "side",
            "mean",
            "running",
            "setting",
            numbers=("mean", "running"),
            mean=m.symbol(Dimension.FLOW),
        ),
        note=pen.say("balance.effective-note"),
    )
