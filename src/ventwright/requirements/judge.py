"""The judge: estimates against rules, with the basis named and the allowance shown."""

from __future__ import annotations

from ventwright.quantities.records import dataclass
from ventwright.requirements.rules import BalanceBasis, BalanceRule, Citation, FlowRule
from ventwright.uncertainty import Decision, Estimate, combine, decide, difference


@dataclass(frozen=True, slots=True, kw_only=True)
class Judgement:
    """A decision with the rule it follows.

    Parameters
    ----------
    decision
        Verdict, probability and limits.
    judged_si
        The quantity that was compared with the limits (a flow, or a share of the basis).
    rule_set_id
        The rule set.
    citation
        Where the rule stands and how surely it is known.
    is_floor_governing
        Whether the absolute floor, not the share, set the allowance.
    """

    decision: Decision
    judged_si: Estimate
    rule_set_id: str
    citation: Citation
    is_floor_governing: bool = False


def imbalance_share(*, supply_si: Estimate, extract_si: Estimate, basis: BalanceBasis) -> Estimate:
    """Extract minus supply as a signed share of the basis; positive pulls on the house.

    Parameters
    ----------
    supply_si, extract_si
        The two streams in one measure (mass or standard volume) [any].
    basis
        What the difference is related to.

    Raises
    ------
    ZeroDivisionError
        If the basis is zero: callers refuse first.

    >>> from ventwright.uncertainty import exact
    >>> imbalance_share(supply_si=exact(100.0), extract_si=exact(85.0),
    ...     basis=BalanceBasis.SUPPLY).value
    -0.15
    """
    base, base_s, base_e = _base(
        supply_si=supply_si.value, extract_si=extract_si.value, basis=basis
    )
    share = (extract_si.value - supply_si.value) / base
    return combine(
        share,
        [((-1.0 - share * base_s) / base, supply_si), ((1.0 - share * base_e) / base, extract_si)],
    )


def _base(
    *, supply_si: float, extract_si: float, basis: BalanceBasis
) -> tuple[float, float, float]:
    """The basis and its slopes against supply and extract."""
    if basis is BalanceBasis.SUPPLY:
        return supply_si, 1.0, 0.0
    if basis is BalanceBasis.AVERAGE:
        return 0.5 * (supply_si + extract_si), 0.5, 0.5
    if basis is BalanceBasis.EACH_FROM_AVERAGE:
        return supply_si + extract_si, 1.0, 1.0
    return (supply_si, 1.0, 0.0) if supply_si <= extract_si else (extract_si, 0.0, 1.0)


def judge_balance(
    rule: BalanceRule,
    *,
    supply_m3_s: Estimate,
    extract_m3_s: Estimate,
    rule_set_id: str,
    confidence_frac: float = 0.95,
) -> Judgement:
    """Whether two streams differ by no more than the greater of a share and a floor.

    Parameters
    ----------
    rule
        The balance rule.
    supply_m3_s, extract_m3_s
        Standard volume flows of its pair [m³/s]; outdoor stands for supply, exhaust for extract.
    rule_set_id
        Whose rule it is.
    confidence_frac
        Confidence asked of a guarded verdict.

    >>> from ventwright.uncertainty import exact
    >>> from ventwright.requirements.rules import BalancePair, Trust
    >>> rule = BalanceRule(pair=BalancePair.SUPPLY_EXTRACT, basis=BalanceBasis.SUPPLY,
    ...     limit_frac=0.10, citation=Citation(source="own", trust=Trust.OWN))
    >>> judge_balance(rule, supply_m3_s=exact(0.05), extract_m3_s=exact(0.04), rule_set_id="own"
    ...     ).decision.verdict.value
    'not met'
    """
    share = imbalance_share(supply_si=supply_m3_s, extract_si=extract_m3_s, basis=rule.basis)
    gap = difference(extract_m3_s, supply_m3_s)
    base, _, _ = _base(supply_si=supply_m3_s.value, extract_si=extract_m3_s.value, basis=rule.basis)
    is_floor = rule.floor_m3_s > rule.limit_frac * base
    judged_si, limit = (gap, rule.floor_m3_s) if is_floor else (share, rule.limit_frac)
    decision = decide(
        judged_si,
        low=-limit,
        high=limit,
        decision_rule=rule.decision_rule,
        confidence_frac=confidence_frac,
    )
    return Judgement(
        decision=decision,
        judged_si=judged_si,
        rule_set_id=rule_set_id,
        citation=rule.citation,
        is_floor_governing=is_floor,
    )


def flow_band(rule: FlowRule, *, target_m3_s: float) -> tuple[float | None, float | None]:
    """The band of a flow rule about a target.

    Parameters
    ----------
    rule
        The flow rule.
    target_m3_s
        Target [m³/s], > 0.

    Returns
    -------
    tuple
        Low and high limit [m³/s], None where open; the low limit never falls below zero.

    >>> from ventwright.requirements.rules import Trust
    >>> own = Citation(source="own", trust=Trust.OWN)
    >>> rule = FlowRule(below_frac=0.1, above_frac=0.1, citation=own)
    >>> low, high = flow_band(rule, target_m3_s=0.02); (round(low, 4), round(high, 4))
    (0.018, 0.022)
    """
    low = high = None
    if rule.below_frac is not None:
        low = max(0.0, target_m3_s - max(rule.below_frac * target_m3_s, rule.floor_m3_s))
    if rule.above_frac is not None:
        high = target_m3_s + max(rule.above_frac * target_m3_s, rule.floor_m3_s)
    return low, high


def judge_flow(
    rule: FlowRule,
    *,
    flow_m3_s: Estimate,
    target_m3_s: float,
    rule_set_id: str,
    low_m3_s: float | None = None,
    high_m3_s: float | None = None,
    confidence_frac: float = 0.95,
) -> Judgement | None:
    """Whether a flow lies in the rule's band about its target and within a hard band of its own.

    Parameters
    ----------
    rule
        The flow rule.
    flow_m3_s
        The measured flow [m³/s].
    target_m3_s
        Its target [m³/s].
    rule_set_id
        Whose rule it is.
    low_m3_s, high_m3_s
        A hard band that narrows the rule's (a room's own minimum and maximum) [m³/s].
    confidence_frac
        Confidence asked of a guarded verdict.

    Returns
    -------
    Judgement or None
        None where the rule leaves both sides open.

    Raises
    ------
    ValueError
        If the hard band and the rule's band don't overlap.

    >>> from ventwright.uncertainty import exact
    >>> from ventwright.requirements.rules import Trust
    >>> rule = FlowRule(below_frac=0.1, citation=Citation(source="own", trust=Trust.OWN))
    >>> judge_flow(rule, flow_m3_s=exact(0.019), target_m3_s=0.02, rule_set_id="own"
    ...     ).decision.verdict.value
    'met'
    """
    low, high = flow_band(rule, target_m3_s=target_m3_s)
    low = max((x for x in (low, low_m3_s) if x is not None), default=None)
    high = min((x for x in (high, high_m3_s) if x is not None), default=None)
    if low is None and high is None:
        return None
    decision = decide(
        flow_m3_s,
        low=low,
        high=high,
        decision_rule=rule.decision_rule,
        confidence_frac=confidence_frac,
    )
    return Judgement(
        decision=decision, judged_si=flow_m3_s, rule_set_id=rule_set_id, citation=rule.citation
    )
