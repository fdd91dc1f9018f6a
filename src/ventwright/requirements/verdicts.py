"""Measured flows against what a rule set asks: the dwelling, its balance, each room."""

from __future__ import annotations

from enum import StrEnum

from ventwright.quantities import Side
from ventwright.quantities.records import dataclass, replace
from ventwright.requirements.citation import Citation, Trust, is_claimable, weakest
from ventwright.requirements.facts import BalanceBehind, BalanceState, HouseFacts
from ventwright.requirements.infiltration import superposed_flow
from ventwright.requirements.judge import Judgement, judge_balance
from ventwright.requirements.rate_rules import CountedFlow
from ventwright.requirements.rates import RateResult, RateState, required_rates
from ventwright.requirements.room_verdicts import RoomFlow, RoomVerdict, judge_rooms
from ventwright.requirements.rules import BalancePair, BalanceRule, RuleSet
from ventwright.uncertainty import Estimate, Verdict, decide


@dataclass(frozen=True, slots=True, kw_only=True)
class MeasuredFlows:
    """What was measured, as the volume flows that the rules speak of.

    Parameters
    ----------
    supply_m3_s, extract_m3_s
        Totals in the continuous setting; None where not measured.
    outdoor_m3_s, exhaust_m3_s
        Flows through the envelope, for rules that balance those.
    boost_supply_m3_s, boost_extract_m3_s
        Totals at boost.
    rooms
        Flows of single rooms.
    """

    supply_m3_s: Estimate | None = None
    extract_m3_s: Estimate | None = None
    outdoor_m3_s: Estimate | None = None
    exhaust_m3_s: Estimate | None = None
    boost_supply_m3_s: Estimate | None = None
    boost_extract_m3_s: Estimate | None = None
    rooms: tuple[RoomFlow, ...] = ()


class Subject(StrEnum):
    """What a verdict is on."""

    RATE = "rate"
    CAPACITY = "capacity"
    BALANCE = "balance"


@dataclass(frozen=True, slots=True, kw_only=True)
class RateVerdict:
    """A verdict on the dwelling.

    Parameters
    ----------
    subject
        What was judged.
    verdict
        Met, not met, or not shown.
    judgement
        The decision with its limits; None where nothing could be judged.
    reason_code
        Why nothing could be judged: ``no-rule``, ``no-rate``, ``not-measured``; or
        ``one-side-only`` for a balance that one flow alone can't have.
    trust
        Weakest trust of the rule and of all that its limit rests on.
    """

    subject: Subject
    verdict: Verdict
    judgement: Judgement | None = None
    reason_code: str = ""
    trust: Trust

    @property
    def is_compliance_claimable(self) -> bool:
        """Whether *met* may be called compliance: a verdict from memory or own targets may not."""
        return self.judgement is not None and is_claimable(self.trust)


@dataclass(frozen=True, slots=True, kw_only=True)
class RateFindings:
    """What a rule set asks of a house as measured, and the verdicts.

    Parameters
    ----------
    rule_set_id
        Whose rules.
    result
        The required rate, with the balance as measured.
    rate, capacity, balance
        Verdicts on the dwelling.
    rooms
        Verdicts on rooms.
    balance_rule_set_id
        Whose rule of balance was applied; another's where the rule set has none.
    exchange_m3_s
        Air exchange by fans and infiltration together, as the rule set superposes them; None where
        it has no form for that or a fact is missing.
    """

    rule_set_id: str
    result: RateResult
    rate: RateVerdict
    capacity: RateVerdict | None
    balance: RateVerdict
    rooms: tuple[RoomVerdict, ...]
    balance_rule_set_id: str = ""
    exchange_m3_s: float | None = None


def judge_rates(
    rule_set: RuleSet,
    facts: HouseFacts,
    measured: MeasuredFlows,
    *,
    method: str | None = None,
    balance_from: RuleSet | None = None,
    confidence_frac: float = 0.95,
) -> RateFindings:
    """Judge measured flows against a rule set.

    Credits and factors that depend on balance take it as measured here, never as planned.

    Parameters
    ----------
    rule_set
        Whose rules.
    facts
        The house.
    measured
        Flows.
    method
        As in `required_rates`.
    balance_from
        Rule set whose balance rule stands in where `rule_set` has none of its own.
    confidence_frac
        Confidence asked of a guarded verdict.

    >>> rules = RuleSet(schema="ventwright-rules-1", id="x", name="X")
    >>> judge_rates(rules, HouseFacts(), MeasuredFlows()).rate.reason_code
    'no-rule'
    """
    balance_rules = rule_set if rule_set.balance or balance_from is None else balance_from
    balance = _judge_balance(balance_rules, measured, confidence_frac)
    state = _balance_state(balance, balance_rules, measured)
    result = required_rates(rule_set, replace(facts, balance=state), method=method)
    flows = (measured.supply_m3_s, measured.extract_m3_s)
    boost = (measured.boost_supply_m3_s, measured.boost_extract_m3_s)
    capacity = None
    if result.capacity_m3_s is not None:
        capacity = _judge_flow(
            rule_set,
            result,
            facts,
            flows=boost,
            low=result.capacity_m3_s,
            confidence_frac=confidence_frac,
            subject=Subject.CAPACITY,
        )
    return RateFindings(
        rule_set_id=rule_set.id,
        result=result,
        rate=_judge_flow(
            rule_set,
            result,
            facts,
            flows=flows,
            low=result.running_m3_s,
            confidence_frac=confidence_frac,
            subject=Subject.RATE,
        ),
        capacity=capacity,
        balance=balance,
        rooms=judge_rooms(rule_set, facts, measured.rooms, confidence_frac=confidence_frac),
        balance_rule_set_id=balance_rules.id if balance_rules.balance else "",
        exchange_m3_s=_exchange(rule_set, facts, measured, result, state),
    )


def _exchange(
    rule_set: RuleSet,
    facts: HouseFacts,
    measured: MeasuredFlows,
    result: RateResult,
    state: BalanceState | None,
) -> float | None:
    rule = rule_set.rate.infiltration if rule_set.rate else None
    form = rule.superposition if rule else None
    supply, extract = measured.supply_m3_s, measured.extract_m3_s
    exterior = facts.exterior_share_frac
    if form is None or result.infiltration is None or exterior is None:
        return None
    if supply is None or extract is None:
        return None
    return superposed_flow(
        form,
        supply_m3_s=supply.value,
        extract_m3_s=extract.value,
        infiltration_m3_s=result.infiltration.flow_m3_s * exterior,
        is_balanced=state is not None and state.verdict is Verdict.MET,
    )


def _pair_of(rule: BalanceRule, measured: MeasuredFlows) -> tuple[Estimate, Estimate] | None:
    pair = (measured.supply_m3_s, measured.extract_m3_s)
    if rule.pair is BalancePair.OUTDOOR_EXHAUST:
        pair = (measured.outdoor_m3_s, measured.exhaust_m3_s)
    if pair[0] is None or pair[1] is None or max(pair[0].value, pair[1].value) <= 0.0:
        return None
    return pair[0], pair[1]


def _judge_balance(
    rule_set: RuleSet, measured: MeasuredFlows, confidence_frac: float
) -> RateVerdict:
    rule = rule_set.balance
    if rule is None:
        return _unjudged(Subject.BALANCE, "no-rule", Trust.OWN)
    pair = _pair_of(rule, measured)
    if pair is None:
        return _unjudged(Subject.BALANCE, "not-measured", rule.citation.trust)
    if min(pair[0].value, pair[1].value) <= 0.0:
        return RateVerdict(
            subject=Subject.BALANCE,
            verdict=Verdict.NOT_MET,
            reason_code="one-side-only",
            trust=rule.citation.trust,
        )
    judgement = judge_balance(
        rule,
        supply_m3_s=pair[0],
        extract_m3_s=pair[1],
        rule_set_id=rule_set.id,
        confidence_frac=confidence_frac,
    )
    return RateVerdict(
        subject=Subject.BALANCE,
        verdict=judgement.decision.verdict,
        judgement=judgement,
        trust=rule.citation.trust,
    )


def _balance_state(
    balance: RateVerdict, balance_rules: RuleSet, measured: MeasuredFlows
) -> BalanceState | None:
    supply, extract = measured.supply_m3_s, measured.extract_m3_s
    if supply is None or extract is None or max(supply.value, extract.value) <= 0.0:
        return None
    gap = abs(supply.value - extract.value) / max(supply.value, extract.value)
    return BalanceState(
        verdict=balance.verdict,
        imbalance_frac=min(1.0, gap),
        behind=BalanceBehind.MEASURED,
        rule_set_id=balance_rules.id,
        trust=balance.trust,
    )


def _counted(
    counted: CountedFlow, facts: HouseFacts, flows: tuple[Estimate | None, ...]
) -> Estimate | None:
    """The flow that a rate is compared with; a side without any terminal is no missing reading."""
    sides = {terminal.side for terminal in facts.terminals}
    wanted = [
        flow
        for side, flow in zip((Side.SUPPLY, Side.EXTRACT), flows, strict=True)
        if not sides or side in sides or flow is not None
    ]
    known = [flow for flow in wanted if flow is not None]
    if len(known) < len(wanted) or not known:
        return None
    pick = max if counted is CountedFlow.LARGER else min
    return pick(known, key=lambda flow: flow.value)


def _judge_flow(
    rule_set: RuleSet,
    result: RateResult,
    facts: HouseFacts,
    *,
    flows: tuple[Estimate | None, ...],
    low: float | None,
    confidence_frac: float,
    subject: Subject,
) -> RateVerdict:
    rule = rule_set.rate
    if rule is None:
        return _unjudged(subject, "no-rule", Trust.OWN)
    if result.state is not RateState.KNOWN or low is None:
        return _unjudged(subject, "no-rate", result.trust)
    flow = _counted(rule.counted, facts, flows)
    if flow is None:
        return _unjudged(subject, "not-measured", result.trust)
    high = result.most_m3_s if subject is Subject.RATE else None
    decision = decide(
        flow,
        low=low,
        high=None if high is None else max(low, high),
        decision_rule=rule.decision_rule,
        confidence_frac=confidence_frac,
    )
    judgement = Judgement(
        decision=decision,
        judged_si=flow,
        rule_set_id=rule_set.id,
        citation=_first_used(result),
    )
    return RateVerdict(
        subject=subject, verdict=decision.verdict, judgement=judgement, trust=result.trust
    )


def _first_used(result: RateResult) -> Citation:
    used = [m for m in result.methods if m.is_used]
    largest = max(used, key=lambda m: m.flow_m3_s or 0.0)
    return replace(largest.citation, trust=weakest([largest.citation.trust, result.trust]))


def _unjudged(subject: Subject, reason_code: str, trust: Trust) -> RateVerdict:
    return RateVerdict(
        subject=subject, verdict=Verdict.NOT_SHOWN, reason_code=reason_code, trust=trust
    )
