"""The steps from a total to what must flow: least value, continuous share, credits, factors."""

from __future__ import annotations

from enum import StrEnum

from ventwright.quantities import Problem, Severity
from ventwright.quantities.records import dataclass, replace
from ventwright.requirements.citation import Citation, Trust, weakest
from ventwright.requirements.conditions import DistributionState, distribution_of
from ventwright.requirements.cycling import cycling_factor
from ventwright.requirements.facts import BalanceBehind, HouseFacts
from ventwright.requirements.infiltration import (
    Infiltration,
    credited_flow,
    infiltration_of,
    missing_for_infiltration,
)
from ventwright.requirements.rate_rules import (
    CyclingRule,
    InfiltrationRule,
    RateRule,
    ShareCredit,
    SystemFactors,
)
from ventwright.uncertainty import Verdict


class StepKind(StrEnum):
    """The steps, in the order in which they are taken."""

    LEAST = "least"
    CONTINUOUS_SHARE = "continuous_share"
    INFILTRATION_CREDIT = "infiltration_credit"
    SHARE_CREDIT = "share_credit"
    SYSTEM_FACTOR = "system_factor"
    CYCLING = "cycling"


@dataclass(frozen=True, slots=True, kw_only=True)
class RateStep:
    """One step.

    Parameters
    ----------
    kind
        Which.
    before_m3_s, after_m3_s
        The flow before and after it.
    factor
        What it was multiplied by, where the step is a factor.
    is_applied
        Whether the rule made any use of it; if not, `reason_codes` say why.
    reason_codes
        ``missing-…`` for facts, ``not-balanced``, ``balance-not-shown``, ``not-distributed``,
        ``distribution-not-shown``, ``attached``, ``not-existing``, ``below-table``,
        ``period-too-long``, ``never-runs``, ``exponent-assumed``, ``imbalance-assumed``.
    distribution
        Which rooms are wanting, where the step asks for distribution.
    behind
        What a balance that it used rests on.
    trust
        Weakest trust behind it.
    citation
        Where it stands.
    """

    kind: StepKind
    before_m3_s: float
    after_m3_s: float
    factor: float | None = None
    is_applied: bool = True
    reason_codes: tuple[str, ...] = ()
    distribution: DistributionState | None = None
    behind: BalanceBehind | None = None
    trust: Trust
    citation: Citation


@dataclass(frozen=True, slots=True, kw_only=True)
class Steps:
    """All steps of a rate."""

    steps: tuple[RateStep, ...] = ()
    required_m3_s: float
    running_m3_s: float | None = None
    capacity_m3_s: float | None = None
    infiltration: Infiltration | None = None
    problems: tuple[Problem, ...] = ()


def steps_of(rule: RateRule, facts: HouseFacts, *, total_m3_s: float) -> Steps:
    """Take all steps of a rate rule.

    Parameters
    ----------
    rule
        The rate.
    facts
        The house.
    total_m3_s
        The rate by its methods [m³/s].
    """
    flow = total_m3_s
    steps: list[RateStep] = []
    capacity = infiltration = None
    if rule.least is not None:
        steps.append(_raised(flow, rule.least.flow_m3_s, rule.least.citation, StepKind.LEAST))
        flow = steps[-1].after_m3_s
    if rule.continuous is not None:
        share = rule.continuous
        capacity = flow
        kept = _plain(StepKind.CONTINUOUS_SHARE, flow, flow * share.share_frac, share.citation)
        flow = max(kept.after_m3_s, share.least_m3_s)
        steps.append(replace(kept, after_m3_s=flow, factor=share.share_frac))
    if rule.infiltration is not None:
        infiltration = infiltration_of(rule.infiltration, facts)
        steps.append(_credit(rule.infiltration, facts, infiltration, flow))
        flow = steps[-1].after_m3_s
    if rule.share_credit is not None:
        steps.append(_share_credit(rule.share_credit, facts, flow))
        flow = steps[-1].after_m3_s
    if rule.system_factors is not None:
        steps.append(_system_factor(rule.system_factors, facts, flow))
        flow = steps[-1].after_m3_s
    running: float | None = flow
    problems: tuple[Problem, ...] = ()
    if facts.run_frac is not None and facts.run_frac < 1.0:
        running, problems = _cycled(rule.cycling, facts, flow, steps)
    return Steps(
        steps=tuple(steps),
        required_m3_s=flow,
        running_m3_s=running,
        capacity_m3_s=capacity,
        infiltration=infiltration,
        problems=problems,
    )


def _plain(kind: StepKind, before: float, after: float, citation: Citation) -> RateStep:
    return RateStep(
        kind=kind, before_m3_s=before, after_m3_s=after, trust=citation.trust, citation=citation
    )


def _raised(before: float, least: float, citation: Citation, kind: StepKind) -> RateStep:
    return _plain(kind, before, max(before, least), citation)


def _refused(step: RateStep, *reasons: str) -> RateStep:
    return replace(step, after_m3_s=step.before_m3_s, is_applied=False, reason_codes=reasons)


def _credit(
    rule: InfiltrationRule, facts: HouseFacts, infiltration: Infiltration | None, flow: float
) -> RateStep:
    step = _plain(StepKind.INFILTRATION_CREDIT, flow, flow, rule.citation)
    exterior = facts.exterior_share_frac
    reasons = [f"missing-{name}" for name in missing_for_infiltration(facts)]
    if exterior is None:
        reasons.append("missing-exterior_share")
    elif rule.is_for_detached_only and exterior < 1.0:
        reasons.append("attached")
    if rule.is_for_existing_only and not facts.is_existing:
        reasons.append("not-existing" if facts.is_existing is False else "missing-is_existing")
    if reasons or infiltration is None or exterior is None:
        return _refused(step, *reasons)
    balance = facts.balance
    is_balanced = balance is not None and balance.verdict is Verdict.MET
    after = credited_flow(
        rule,
        total_m3_s=flow,
        infiltration_m3_s=infiltration.flow_m3_s * exterior,
        imbalance_frac=1.0 if balance is None else balance.imbalance_frac,
        is_balanced=is_balanced,
        floor_area_m2=facts.floor_area_m2 or 0.0,
    )
    assumed = []
    if infiltration.is_exponent_assumed:
        assumed.append("exponent-assumed")
    if balance is None:
        assumed.append("imbalance-assumed")
    return replace(
        step,
        after_m3_s=after,
        reason_codes=tuple(assumed),
        behind=balance.behind if balance is not None else None,
        trust=weakest([rule.citation.trust, *_balance_trust(facts)]),
    )


def _balance_trust(facts: HouseFacts) -> list[Trust]:
    """Trust of the rule of balance, where a measurement was judged by one."""
    balance = facts.balance
    is_judged = balance is not None and balance.behind is BalanceBehind.MEASURED
    return [balance.trust] if balance is not None and is_judged else []


def _is_balanced(facts: HouseFacts) -> tuple[bool, tuple[str, ...]]:
    verdict = facts.balance.verdict if facts.balance else Verdict.NOT_SHOWN
    reasons = {Verdict.NOT_MET: ("not-balanced",), Verdict.NOT_SHOWN: ("balance-not-shown",)}
    return verdict is Verdict.MET, reasons.get(verdict, ())


def _is_distributed(state: DistributionState) -> tuple[bool, tuple[str, ...]]:
    reasons = {
        Verdict.NOT_MET: ("not-distributed",),
        Verdict.NOT_SHOWN: ("distribution-not-shown",),
    }
    return state.verdict is Verdict.MET, reasons.get(state.verdict, ())


def _share_credit(rule: ShareCredit, facts: HouseFacts, flow: float) -> RateStep:
    state = distribution_of(rule.distribution, facts)
    balanced, no_balance = _is_balanced(facts)
    distributed, no_distribution = _is_distributed(state)
    factor = 1.0 - rule.credit_frac
    step = replace(
        _plain(StepKind.SHARE_CREDIT, flow, flow * factor, rule.citation),
        factor=factor,
        distribution=state,
        behind=facts.balance.behind if facts.balance else None,
        trust=weakest(
            [rule.citation.trust, rule.distribution.citation.trust, *_balance_trust(facts)]
        ),
    )
    if balanced and distributed:
        return step
    return _refused(step, *no_distribution, *no_balance)


def _system_factor(rule: SystemFactors, facts: HouseFacts, flow: float) -> RateStep:
    state = distribution_of(rule.distribution, facts)
    balanced, no_balance = _is_balanced(facts)
    distributed, no_distribution = _is_distributed(state)
    if balanced:
        factor = rule.both_factor if distributed else rule.balanced_factor
    else:
        factor = rule.distributed_factor if distributed else rule.neither_factor
    return replace(
        _plain(StepKind.SYSTEM_FACTOR, flow, flow * factor, rule.citation),
        factor=factor,
        reason_codes=(*no_distribution, *no_balance),
        distribution=state,
        behind=facts.balance.behind if facts.balance else None,
        trust=weakest(
            [rule.citation.trust, rule.distribution.citation.trust, *_balance_trust(facts)]
        ),
    )


def _cycled(
    rule: CyclingRule | None, facts: HouseFacts, flow: float, steps: list[RateStep]
) -> tuple[float | None, tuple[Problem, ...]]:
    if rule is None:
        return None, (_no_pattern("the rule set has no figure for running part of the time"),)
    found = cycling_factor(rule, run_frac=facts.run_frac or 0.0, period_s=facts.period_s)
    step = _plain(StepKind.CYCLING, flow, flow, rule.citation)
    if found.factor is None:
        steps.append(_refused(step, found.reason_code))
        return None, (
            _no_pattern(f"the rule set does not cover this pattern: {found.reason_code}"),
        )
    steps.append(replace(step, after_m3_s=flow * found.factor, factor=found.factor))
    return flow * found.factor, ()


def _no_pattern(message: str) -> Problem:
    return Problem(
        code="run-pattern-not-covered",
        where="fan_settings",
        message=message,
        remedy="run the setting all the time, or within the rule's table",
        severity=Severity.REFUSAL,
    )
