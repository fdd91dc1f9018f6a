"""Balance of the streams, terminals against ducts, totals against design, power, effective flow."""

from __future__ import annotations

from collections.abc import Iterator

from ventwright.findings import (
    BalanceFinding,
    FlowFinding,
    HouseEffect,
    JudgedLine,
    SystemFindings,
    TotalFinding,
)
from ventwright.house import Method
from ventwright.quantities import Dimension
from ventwright.report.measures import percent
from ventwright.report.model import Cell, Line, Mark, Section, Table
from ventwright.report.pen import Pen, cells, table_if
from ventwright.requirements import BalanceRule
from ventwright.uncertainty import DecisionRule, Estimate


def balance_section(pen: Pen) -> Section:
    """Everything that compares one total with another.

    Parameters
    ----------
    pen
        What is written about.
    """
    tables: list[Table] = []
    for _, found in pen.systems():
        for one in (_pairs, _judged, _totals, _designs, _powers, _effective):
            tables += one(pen, found)
    return Section(
        id="balance",
        title=pen.say("section.balance"),
        lines=tuple(_house_pressure(pen)),
        tables=tuple(tables),
    )


def std_flow_of(found: FlowFinding | None) -> Estimate | None:
    """Standard flow of a finding, None where there is none.

    Parameters
    ----------
    found
        A flow at a station.
    """
    return None if found is None else found.figure.std_flow_m3_s


def limit_text(pen: Pen, rule: BalanceRule, line: JudgedLine | None = None) -> str:
    """The allowance of a balance rule in words: a share of its basis, or the least allowance.

    Parameters
    ----------
    pen
        What is written about.
    rule
        The rule.
    line
        A judgement by it, which says which of the two governs.
    """
    judgement = None if line is None else line.judgement
    if judgement is not None and judgement.is_floor_governing:
        floor = pen.measures.text(rule.floor_m3_s, Dimension.FLOW)
        return pen.say("limit.floor", limit=floor)
    share = pen.measures.text(rule.limit_frac, Dimension.FRACTION)
    return pen.say("limit.share", limit=share, basis=pen.say(f"basis.{rule.basis.value}"))


def balance_rule_of(pen: Pen, rule_set_id: str) -> BalanceRule | None:
    """The balance rule of a rule set.

    Parameters
    ----------
    pen
        What is written about.
    rule_set_id
        Id of the rule set.
    """
    return next((r.balance for r in pen.snapshot.rule_sets if r.id == rule_set_id), None)


def _title(pen: Pen, found: SystemFindings, key: str) -> str:
    return pen.of_system(found.system_id) + pen.say(key)


def _pairs(pen: Pen, found: SystemFindings) -> tuple[Table, ...]:
    m = pen.measures
    flow = m.symbol(Dimension.FLOW)
    rows = []
    for b in found.balances:
        if b.first is None and b.second is None:
            continue
        rows.append(
            cells(
                pen.say(f"pair.{b.pair.value}"),
                b.setting,
                pen.phase(b.phase),
                m.estimate_number(std_flow_of(b.first), Dimension.FLOW),
                m.estimate_number(std_flow_of(b.second), Dimension.FLOW),
                m.estimate_number(b.gap_m3_s, Dimension.FLOW),
                m.estimate_number(b.share_of_average_frac, Dimension.FRACTION),
                effect_text(pen, b),
            )
        )
    numbers = ("first", "second", "gap", "share")
    symbols = {**dict.fromkeys(numbers[:3], flow), "share": m.symbol(Dimension.FRACTION)}
    return table_if(
        rows,
        id=f"balance-{found.system_id}",
        title=_title(pen, found, "balance.pairs"),
        columns=pen.columns(
            "pair", "setting", "phase", *numbers, "effect", numbers=numbers, **symbols
        ),
        note=pen.say("balance.pairs-note"),
    )


def effect_text(pen: Pen, balance: BalanceFinding) -> str:
    """What an imbalance does to the house, or to its rooms, as far as the pair can tell.

    Parameters
    ----------
    pen
        What is written about.
    balance
        A pair of streams.
    """
    if balance.prob_pulled_frac is None:
        return ""
    key = f"effect.{balance.pair.value}.{balance.effect.value}"
    return pen.say(key, odds=effect_odds(balance))


def effect_odds(balance: BalanceFinding) -> str:
    """Probability of the effect that is named; of being pulled where none is.

    Parameters
    ----------
    balance
        A pair of streams.
    """
    prob = balance.prob_pulled_frac or 0.0
    return percent(1.0 - prob if balance.effect is HouseEffect.PUSHED else prob)


def _judged(pen: Pen, found: SystemFindings) -> tuple[Table, ...]:
    rows = []
    for b in found.balances:
        for line in b.lines:
            rule = balance_rule_of(pen, line.rule_set_id)
            if rule is None:
                continue
            rows.append(
                cells(
                    pen.rule_name(line.rule_set_id),
                    pen.say(f"pair.{b.pair.value}"),
                    b.setting,
                    pen.phase(b.phase),
                    _judged_text(pen, line),
                    limit_text(pen, rule, line),
                    _decided(pen, rule, line),
                    ""
                    if line.judgement is None
                    else percent(line.judgement.decision.prob_within_frac),
                    pen.verdict_cell(line),
                )
            )
    numbers = ("judged", "odds")
    return table_if(
        rows,
        id=f"balance-rules-{found.system_id}",
        title=_title(pen, found, "balance.judged"),
        columns=pen.columns(
            "rule",
            "pair",
            "setting",
            "phase",
            "judged",
            "limit",
            "decision",
            "odds",
            "verdict",
            numbers=numbers,
        ),
        note=pen.say("balance.judged-note"),
    )


def _judged_text(pen: Pen, line: JudgedLine) -> str:
    if line.judgement is None:
        return ""
    is_flow = line.judgement.is_floor_governing
    dimension = Dimension.FLOW if is_flow else Dimension.FRACTION
    return pen.measures.estimate(line.judgement.judged_si, dimension)


def _decided(pen: Pen, rule: BalanceRule, line: JudgedLine) -> str:
    if rule.decision_rule is DecisionRule.SIMPLE or line.judgement is None:
        return pen.say(f"decision.{rule.decision_rule.value}", confidence="95 %")
    confidence = f"{100.0 * line.judgement.decision.confidence_frac:.0f} %"
    return pen.say("decision.guarded", confidence=confidence)


def _totals(pen: Pen, found: SystemFindings) -> tuple[Table, ...]:
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
        title=_title(pen, found, "balance.totals"),
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


def _designs(pen: Pen, found: SystemFindings) -> tuple[Table, ...]:
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
        title=_title(pen, found, "balance.designs"),
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


def _powers(pen: Pen, found: SystemFindings) -> tuple[Table, ...]:
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
        title=_title(pen, found, "balance.powers"),
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


def _effective(pen: Pen, found: SystemFindings) -> tuple[Table, ...]:
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
                m.text(e.running_frac, Dimension.FRACTION),
                ", ".join(e.settings),
            )
        )
    return table_if(
        rows,
        id=f"effective-{found.system_id}",
        title=_title(pen, found, "balance.effective"),
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


def _house_pressure(pen: Pen) -> Iterator[Line]:
    for r in pen.findings.readings:
        if (
            r.method is Method.PRESSURE_DIFFERENCE
            and r.station.kind.value == "house"
            and r.scalar_si
        ):
            text = pen.say(
                "balance.house-pressure",
                value=pen.measures.estimate(r.scalar_si, Dimension.PRESSURE),
                setting=r.setting,
                phase=pen.phase(r.phase),
            )
            yield Line(text=text, mark=Mark.NOTE, reading_ids=(r.reading_id,))
