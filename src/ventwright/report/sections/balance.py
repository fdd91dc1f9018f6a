"""Balance of the streams, and the pressure that follows from it."""

from __future__ import annotations

from collections.abc import Iterator

from ventwright.findings import (
    BalanceFinding,
    HouseEffect,
    JudgedLine,
    SystemFindings,
)
from ventwright.house import Method, Phase
from ventwright.quantities import Dimension
from ventwright.report.measures import percent
from ventwright.report.model import Line, Mark, Section, Table
from ventwright.report.pen import Pen, cells, table_if
from ventwright.report.sections.pressure import pressure_lines, pressures
from ventwright.report.sections.totals import std_flow_of, title_of
from ventwright.requirements import BalanceRule
from ventwright.uncertainty import DecisionRule


def balance_section(pen: Pen) -> Section:
    """The pairs of streams, the rules on them, and house pressure.

    Parameters
    ----------
    pen
        What is written about.
    """
    tables: list[Table] = []
    for _, found in pen.systems():
        for one in (_pairs, _judged):
            tables += one(pen, found)
    tables += pressures(pen)
    return Section(
        id="balance",
        title=pen.say("section.balance"),
        lines=(*_house_pressure(pen), *pressure_lines(pen)),
        tables=tuple(tables),
    )


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
        floor = pen.measures.plain(rule.floor_m3_s, Dimension.FLOW)
        return pen.say("limit.floor", limit=floor)
    share = pen.measures.plain(rule.limit_frac, Dimension.FRACTION)
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
        title=title_of(pen, found, "balance.pairs"),
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
            is_idle = line.judgement is None and b.phase is Phase.INTERIM
            if rule is None or is_idle:
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
                    pen.verdict_cell(line, is_brief=True),
                )
            )
    numbers = ("judged", "odds")
    return table_if(
        rows,
        id=f"balance-rules-{found.system_id}",
        title=title_of(pen, found, "balance.judged"),
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
        return pen.reason(line.reason_code)
    is_flow = line.judgement.is_floor_governing
    dimension = Dimension.FLOW if is_flow else Dimension.FRACTION
    return pen.measures.estimate(line.judgement.judged_si, dimension)


def _decided(pen: Pen, rule: BalanceRule, line: JudgedLine) -> str:
    if rule.decision_rule is DecisionRule.SIMPLE or line.judgement is None:
        return pen.say(f"decision.{rule.decision_rule.value}", confidence="95 %")
    confidence = f"{100.0 * line.judgement.decision.confidence_frac:.0f} %"
    return pen.say("decision.guarded", confidence=confidence)


def _house_pressure(pen: Pen) -> Iterator[Line]:
    for r in pen.findings.readings:
        if (
            r.method is Method.PRESSURE_DIFFERENCE
            and r.station.kind.value == "house"
            and r.scalar_si
        ):
            text = pen.say(
                "balance.house-pressure",
                value=pen.measures.house_pressure(r.scalar_si),
                setting=r.setting,
                phase=pen.phase(r.phase),
            )
            yield Line(text=text, mark=Mark.NOTE, reading_ids=(r.reading_id,))
