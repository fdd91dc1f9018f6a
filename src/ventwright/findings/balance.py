"""Balance of the streams, terminals against ducts, totals against design."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from ventwright.findings.gap import explain_gap
from ventwright.findings.model import (
    BalanceFinding,
    DesignFinding,
    Explanation,
    FlowFinding,
    HouseEffect,
    JudgedLine,
    TotalFinding,
    judged_line,
)
from ventwright.findings.scope import Scope, design_total_m3_s, side_total
from ventwright.findings.visit_air import stream_of
from ventwright.house import Phase, Terminal
from ventwright.quantities import AirKind, Side
from ventwright.requirements import (
    BalanceBasis,
    BalancePair,
    BalanceRule,
    RuleSet,
    imbalance_share,
    judge_balance,
    judge_flow,
)
from ventwright.uncertainty import Estimate, difference, normal_cdf, ratio, total

EFFECT_CONFIDENCE_FRAC = 0.95
_PAIRS = {
    BalancePair.SUPPLY_EXTRACT: (AirKind.SUPPLY, AirKind.EXTRACT),
    BalancePair.OUTDOOR_EXHAUST: (AirKind.OUTDOOR, AirKind.EXHAUST),
}


def balances(scope: Scope) -> Iterator[BalanceFinding]:
    """Both pairs of streams in every setting and phase where one of a pair was measured.

    A pair that no rule speaks of is still compared; a rule whose pair was not measured gives *not
    shown* with its reason, never a verdict from the other pair.

    Parameters
    ----------
    scope
        The system.
    """
    for setting in scope.settings():
        for phase in scope.phases(setting):
            pairs = [_balance(scope, pair, setting, phase) for pair in BalancePair]
            measured = [p for p in pairs if p.first is not None or p.second is not None]
            if measured:
                yield from (p for p in pairs if p in measured or p.lines)


def _balance(scope: Scope, pair: BalancePair, setting: str, phase: Phase) -> BalanceFinding:
    kinds = _PAIRS[pair]
    first, second = (scope.port(kind, setting, phase) for kind in kinds)
    rules = [(r, r.balance) for r in scope.rule_sets if r.balance and r.balance.pair is pair]
    missing = tuple(k for k, f in zip(kinds, (first, second), strict=True) if f is None)
    gap = share = prob = None
    effect = HouseEffect.UNDECIDED
    lines = tuple(JudgedLine(rule_set_id=r.id, reason_code="pair-not-measured") for r, _ in rules)
    if first is not None and second is not None:
        supply, extract = first.figure.std_flow_m3_s, second.figure.std_flow_m3_s
        gap = difference(extract, supply)
        share = imbalance_share(supply_si=supply, extract_si=extract, basis=BalanceBasis.AVERAGE)
        prob = normal_cdf(gap.value / gap.u_std) if gap.u_std > 0.0 else float(gap.value > 0.0)
        if prob >= EFFECT_CONFIDENCE_FRAC:
            effect = HouseEffect.PULLED
        elif prob <= 1.0 - EFFECT_CONFIDENCE_FRAC:
            effect = HouseEffect.PUSHED
        sides = {*first.filter_sides, *second.filter_sides}
        if len(sides) > 1:
            # One stream read before a filter and the other after one: leakage at the filters lies
            # between them, so the pair is not the one a rule speaks of.
            lines = tuple(
                JudgedLine(rule_set_id=r.id, reason_code="filter-sides-differ") for r, _ in rules
            )
        else:
            lines = _judged(rules, supply, extract)
    return BalanceFinding(
        pair=pair,
        setting=setting,
        phase=phase,
        first=first,
        second=second,
        gap_m3_s=gap,
        share_of_average_frac=share,
        effect=effect,
        prob_pulled_frac=prob,
        lines=lines,
        missing=missing,
    )


def _judged(
    rules: Sequence[tuple[RuleSet, BalanceRule]], supply: Estimate, extract: Estimate
) -> tuple[JudgedLine, ...]:
    return tuple(
        judged_line(
            r.id, judge_balance(rule, supply_m3_s=supply, extract_m3_s=extract, rule_set_id=r.id)
        )
        for r, rule in rules
    )


def totals(scope: Scope) -> Iterator[TotalFinding]:
    """Terminals of a side added up, against the duct, in every setting and phase read there.

    Parameters
    ----------
    scope
        The system.
    """
    for setting in scope.settings():
        for phase in scope.phases(setting):
            for side in Side:
                terminals = scope.side(side)
                flows = [scope.at_terminal(t, setting, phase) for t in terminals]
                duct = scope.port(stream_of(side), setting, phase)
                if any(flows):
                    yield _total(side, setting, phase, duct, terminals, flows)


def _total(
    side: Side,
    setting: str,
    phase: Phase,
    duct: FlowFinding | None,
    terminals: Sequence[Terminal],
    flows: Sequence[FlowFinding | None],
) -> TotalFinding:
    missing = tuple(t.id for t, f in zip(terminals, flows, strict=True) if f is None)
    gap = None
    summed = None if missing else total(f.figure.std_flow_m3_s for f in flows if f is not None)
    explanations: tuple[Explanation, ...] = ()
    if summed is not None and duct is not None and duct.figure.std_flow_m3_s.value > 0.0:
        measured = duct.figure.std_flow_m3_s
        gap = ratio(difference(measured, summed), measured)
        shares = [f.figure.std_flow_m3_s.value / summed.value for f in flows if f is not None]
        explanations = explain_gap(gap, largest_share_frac=max(shares))
    return TotalFinding(
        side=side,
        setting=setting,
        phase=phase,
        duct=duct,
        terminals_m3_s=summed,
        missing_terminals=missing,
        gap_share_frac=gap,
        explanations=explanations,
    )


def designs(scope: Scope) -> Iterator[DesignFinding]:
    """Measured totals against the designer's, as room air.

    Parameters
    ----------
    scope
        The system.
    """
    for setting in scope.settings():
        for phase in scope.phases(setting):
            for side in Side:
                planned = design_total_m3_s(scope, side, setting)
                measured = side_total(scope, side, setting, phase)
                if planned is None or measured is None:
                    continue
                room_air = scope.as_room_air(measured)
                yield DesignFinding(
                    side=side,
                    setting=setting,
                    phase=phase,
                    design_m3_s=planned,
                    measured_m3_s=room_air,
                    lines=tuple(
                        judged_line(
                            r.id,
                            judge_flow(
                                r.total, flow_m3_s=room_air, target_m3_s=planned, rule_set_id=r.id
                            ),
                        )
                        for r in scope.rule_sets
                        if r.total is not None
                    ),
                )
