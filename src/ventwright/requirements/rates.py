"""The required rate of a dwelling, built up step by step, each with its source and trust."""

from __future__ import annotations

from enum import StrEnum

from ventwright.quantities import Problem, Severity
from ventwright.quantities.records import dataclass, replace
from ventwright.requirements.citation import Citation, Trust, is_claimable, weakest
from ventwright.requirements.facts import BalanceBehind, HouseFacts
from ventwright.requirements.infiltration import Infiltration
from ventwright.requirements.methods import MethodResult, method_result
from ventwright.requirements.rate_rules import MethodChoice, RateRule
from ventwright.requirements.rate_steps import RateStep, steps_of
from ventwright.requirements.rules import RuleSet

_HOUR_S = 3600.0


class RateState(StrEnum):
    """Whether there is a rate."""

    KNOWN = "known"
    NO_RULE = "no_rule"
    """The rule set says nothing of whole dwellings."""
    MISSING_FACT = "missing_fact"
    """Something must be known first; the problems say what."""


@dataclass(frozen=True, slots=True, kw_only=True)
class RateResult:
    """What a rule set asks of a dwelling, with everything it was made of.

    Parameters
    ----------
    rule_set_id
        Whose rule.
    state
        Whether there is a rate.
    methods
        Every method worked out, used or not.
    total_m3_s
        By the methods used, before any step.
    capacity_m3_s
        What must be reachable, where only a share must run all the time.
    required_m3_s
        What must flow all the time.
    most_m3_s
        The most that is allowed, where the rule has such a limit.
    running_m3_s
        What must flow while the system runs, where it runs part of the time; None where the rule
        does not cover the pattern.
    steps
        From total to required, applied or not, with the reasons.
    infiltration
        What the credit rests on.
    trust
        Weakest trust of all that contributed.
    is_balance_planned
        Whether a step rests on a balance that is still to be measured.
    air_changes_1_h
        Required flow by volume, where that is known.
    problems
        What stands in the way or was assumed.
    """

    rule_set_id: str
    state: RateState
    methods: tuple[MethodResult, ...] = ()
    total_m3_s: float | None = None
    capacity_m3_s: float | None = None
    required_m3_s: float | None = None
    most_m3_s: float | None = None
    running_m3_s: float | None = None
    steps: tuple[RateStep, ...] = ()
    infiltration: Infiltration | None = None
    trust: Trust = Trust.OWN
    is_balance_planned: bool = False
    air_changes_1_h: float | None = None
    problems: tuple[Problem, ...] = ()

    @property
    def is_compliance_claimable(self) -> bool:
        """Whether meeting it may be called compliance: nothing from memory or only planned."""
        return is_claimable(self.trust) and not self.is_balance_planned


def required_rates(
    rule_set: RuleSet, facts: HouseFacts, *, method: str | None = None
) -> RateResult:
    """What a rule set asks of a dwelling.

    Parameters
    ----------
    rule_set
        Any rule set.
    facts
        The house.
    method
        Id of the method to use where several are alternatives; None takes the first that can be
        worked out.

    Returns
    -------
    RateResult
        Without a flow where a fact is missing; never a flow that leaves out part of the rule.

    Raises
    ------
    ValueError
        If no method has the id.

    >>> required_rates(RuleSet(schema="ventwright-rules-1", id="x", name="X"), HouseFacts()).state
    <RateState.NO_RULE: 'no_rule'>
    """
    rule = rule_set.rate
    if rule is None:
        return RateResult(rule_set_id=rule_set.id, state=RateState.NO_RULE)
    if method is not None and method not in [m.id for m in rule.methods]:
        listed = ", ".join(m.id for m in rule.methods)
        raise ValueError(f"rule set {rule_set.id!r} has no method {method!r}; it has {listed}")
    worked = [method_result(m, facts) for m in rule.methods]
    used = _used(rule, worked, method)
    methods = tuple(replace(m, is_used=m.id in used) for m in worked)
    taken = [m for m in methods if m.is_used]
    if not taken or any(m.flow_m3_s is None for m in taken):
        wanting = taken or list(methods)
        return RateResult(
            rule_set_id=rule_set.id,
            state=RateState.MISSING_FACT,
            methods=methods,
            trust=weakest(m.trust for m in methods),
            problems=tuple(_wanting(rule_set.id, m) for m in wanting if m.flow_m3_s is None),
        )
    largest = max(taken, key=lambda m: m.flow_m3_s or 0.0)
    return _stepped(rule_set, rule, facts, methods=methods, taken=taken, largest=largest)


def _used(rule: RateRule, worked: list[MethodResult], method: str | None) -> set[str]:
    if rule.choice is MethodChoice.LARGEST:
        return {m.id for m in worked}
    if method is not None:
        return {method}
    first = next((m.id for m in worked if m.flow_m3_s is not None), None)
    return set() if first is None else {first}


def _stepped(
    rule_set: RuleSet,
    rule: RateRule,
    facts: HouseFacts,
    *,
    methods: tuple[MethodResult, ...],
    taken: list[MethodResult],
    largest: MethodResult,
) -> RateResult:
    total = largest.flow_m3_s or 0.0
    done = steps_of(rule, facts, total_m3_s=total)
    applied = [step for step in done.steps if step.is_applied]
    problems = [*_assumed(rule_set.id, taken), *done.problems]
    most = largest.most_flow_m3_s
    volume = facts.volume_m3
    return RateResult(
        rule_set_id=rule_set.id,
        state=RateState.KNOWN,
        methods=methods,
        total_m3_s=total,
        capacity_m3_s=done.capacity_m3_s,
        required_m3_s=done.required_m3_s,
        most_m3_s=most,
        running_m3_s=done.running_m3_s,
        steps=done.steps,
        infiltration=done.infiltration,
        trust=weakest([*(m.trust for m in taken), *(step.trust for step in applied)]),
        is_balance_planned=any(step.behind is BalanceBehind.PLANNED for step in applied),
        air_changes_1_h=done.required_m3_s * _HOUR_S / volume if volume else None,
        problems=tuple(problems),
    )


def _wanting(rule_set_id: str, method: MethodResult) -> Problem:
    where = f"rule set {rule_set_id}, method {method.id}"
    if method.reason_code.startswith("beyond-"):
        return Problem(
            code=method.reason_code,
            where=where,
            message="the house lies beyond the table or the range of the rule",
            remedy="use another method of the rule set, where it has one",
            severity=Severity.REFUSAL,
        )
    name = method.reason_code.removeprefix("missing-")
    return Problem(
        code=method.reason_code,
        where=where,
        message=f"the rate needs {name.replace('_', ' ')}, which is not given",
        remedy=f"write '{name}' in the house file",
        severity=Severity.REFUSAL,
    )


def _assumed(rule_set_id: str, taken: list[MethodResult]) -> list[Problem]:
    return [
        Problem(
            code="people-assumed",
            where=f"rule set {rule_set_id}, method {m.id}",
            message="nobody said how many people live here; they were counted from the bedrooms",
            remedy="write 'people' in the house file",
            severity=Severity.NOTE,
        )
        for m in taken
        if any(term.is_assumed for term in m.terms)
    ]


def cited_in(result: RateResult) -> tuple[Citation, ...]:
    """The texts a rate rests on, each once: those of used terms, cells and applied steps.

    Parameters
    ----------
    result
        Any result.

    >>> cited_in(RateResult(rule_set_id="x", state=RateState.NO_RULE))
    ()
    """
    used = [m for m in result.methods if m.is_used]
    found = [m.citation for m in used]
    found += [t.citation for m in used for t in m.terms if t.amount_count]
    found += [step.citation for step in result.steps if step.is_applied]
    return tuple(dict.fromkeys(found))
