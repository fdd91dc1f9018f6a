"""Rule sets as data with source, edition, clause and trust, and the judge against them."""

from ventwright.requirements.judge import (
    Judgement,
    flow_band,
    imbalance_share,
    judge_balance,
    judge_flow,
)
from ventwright.requirements.rules import (
    RULES_SCHEMA,
    BalanceBasis,
    BalancePair,
    BalanceRule,
    Citation,
    FlowRule,
    RuleSet,
    Trust,
    parse_rule_set,
)

__all__ = [
    "RULES_SCHEMA",
    "BalanceBasis",
    "BalancePair",
    "BalanceRule",
    "Citation",
    "FlowRule",
    "Judgement",
    "RuleSet",
    "Trust",
    "flow_band",
    "imbalance_share",
    "judge_balance",
    "judge_flow",
    "parse_rule_set",
]
