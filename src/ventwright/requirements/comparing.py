"""One house under several rule sets, side by side."""

from __future__ import annotations

from collections.abc import Iterable

from ventwright.quantities.records import dataclass
from ventwright.requirements.facts import HouseFacts
from ventwright.requirements.rates import RateResult, required_rates
from ventwright.requirements.rules import BalanceRule, RuleSet
from ventwright.requirements.verdicts import MeasuredFlows, RateFindings, judge_rates


@dataclass(frozen=True, slots=True, kw_only=True)
class ComparisonRow:
    """One rule set's line.

    Parameters
    ----------
    rule_set_id, name, edition
        Whose line it is.
    result
        What it asks of the dwelling.
    balance_rule
        What it asks of balance.
    findings
        Its verdicts, where flows were handed in.
    """

    rule_set_id: str
    name: str
    edition: str
    result: RateResult
    balance_rule: BalanceRule | None
    findings: RateFindings | None = None


def compare(
    facts: HouseFacts, rule_sets: Iterable[RuleSet], *, measured: MeasuredFlows | None = None
) -> tuple[ComparisonRow, ...]:
    """What each rule set asks of a house, and whether it is met.

    Parameters
    ----------
    facts
        The house.
    rule_sets
        Any number, in the order wanted.
    measured
        Flows to judge; without them there are no verdicts.

    >>> compare(HouseFacts(), [RuleSet(schema="ventwright-rules-1", id="x", name="X")])[0].name
    'X'
    """
    return tuple(_row(facts, rules, measured) for rules in rule_sets)


def _row(facts: HouseFacts, rules: RuleSet, measured: MeasuredFlows | None) -> ComparisonRow:
    findings = None if measured is None else judge_rates(rules, facts, measured)
    return ComparisonRow(
        rule_set_id=rules.id,
        name=rules.name,
        edition=rules.edition,
        result=required_rates(rules, facts) if findings is None else findings.result,
        balance_rule=rules.balance,
        findings=findings,
    )
