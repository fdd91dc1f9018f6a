"""Rule sets as data with source, edition, clause and trust; what they ask, and the judge of it.

A rule set is a file: the whole-dwelling rate in a small closed set of forms, what single rooms must
have, balance, tolerances. Nothing here knows a limit of its own.

What stands behind `TYPE_CHECKING` is imported when it is first asked for: reading and judging a
visit needs none of it.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from ventwright.quantities.later import later
from ventwright.requirements.citation import Citation, SourceTitle, Trust, is_claimable, weakest
from ventwright.requirements.conditions import DistributionState, distribution_of
from ventwright.requirements.cycling import CyclingFactor, cycling_factor
from ventwright.requirements.equipment import judge_equipment
from ventwright.requirements.facts import (
    BalanceBehind,
    BalanceState,
    HouseFacts,
    as_planned,
    facts_of,
)
from ventwright.requirements.infiltration import (
    Infiltration,
    credited_flow,
    infiltration_of,
    missing_for_infiltration,
    superposed_flow,
)
from ventwright.requirements.judge import (
    Judgement,
    flow_band,
    imbalance_share,
    judge_balance,
    judge_flow,
)
from ventwright.requirements.methods import CellResult, MethodResult, TermResult
from ventwright.requirements.rate_rules import (
    ContinuousShare,
    CountedFlow,
    Counts,
    CreditForm,
    CyclingRule,
    Distribution,
    InfiltrationRule,
    LeastFlow,
    MethodChoice,
    RateMethod,
    RateRule,
    RateTable,
    RateTerm,
    RunPoint,
    ShareCredit,
    Superposition,
    SystemFactors,
    TableRow,
)
from ventwright.requirements.rate_steps import RateStep, StepKind
from ventwright.requirements.rates import RateResult, RateState, cited_in, required_rates
from ventwright.requirements.room_rates import RoomRate, room_rates
from ventwright.requirements.room_rules import (
    EquipmentLimit,
    Means,
    Per,
    RoomMode,
    RoomPick,
    RoomRule,
    SplitBy,
    SupplySplit,
)
from ventwright.requirements.room_verdicts import RoomFlow, RoomVerdict, judge_rooms
from ventwright.requirements.rules import (
    RULES_SCHEMA,
    BalanceBasis,
    BalancePair,
    BalanceRule,
    FlowRule,
    RuleSet,
)
from ventwright.requirements.verdicts import (
    MeasuredFlows,
    RateFindings,
    RateVerdict,
    Subject,
    judge_rates,
)

if TYPE_CHECKING:
    from ventwright.requirements.comparing import ComparisonRow, compare
    from ventwright.requirements.plan_model import (
        Drive,
        PlannedRoom,
        PlannedTerminal,
        PlanReason,
        ReasonKind,
        RoomPlan,
        TotalSetBy,
        TransferLeg,
    )
    from ventwright.requirements.planner import plan_rooms
    from ventwright.requirements.rule_file import parse_rule_set
else:
    __getattr__ = later(__name__, "rule_file", "comparing", "plan_model", "planner")

__all__ = [
    "RULES_SCHEMA",
    "BalanceBasis",
    "BalanceBehind",
    "BalancePair",
    "BalanceRule",
    "BalanceState",
    "CellResult",
    "Citation",
    "ComparisonRow",
    "ContinuousShare",
    "CountedFlow",
    "Counts",
    "CreditForm",
    "CyclingFactor",
    "CyclingRule",
    "Distribution",
    "DistributionState",
    "Drive",
    "EquipmentLimit",
    "FlowRule",
    "HouseFacts",
    "Infiltration",
    "InfiltrationRule",
    "Judgement",
    "LeastFlow",
    "Means",
    "MeasuredFlows",
    "MethodChoice",
    "MethodResult",
    "Per",
    "PlanReason",
    "PlannedRoom",
    "PlannedTerminal",
    "RateFindings",
    "RateMethod",
    "RateResult",
    "RateRule",
    "RateState",
    "RateStep",
    "RateTable",
    "RateTerm",
    "RateVerdict",
    "ReasonKind",
    "RoomFlow",
    "RoomMode",
    "RoomPick",
    "RoomPlan",
    "RoomRate",
    "RoomRule",
    "RoomVerdict",
    "RuleSet",
    "RunPoint",
    "ShareCredit",
    "SourceTitle",
    "SplitBy",
    "StepKind",
    "Subject",
    "Superposition",
    "SupplySplit",
    "SystemFactors",
    "TableRow",
    "TermResult",
    "TotalSetBy",
    "TransferLeg",
    "Trust",
    "as_planned",
    "cited_in",
    "compare",
    "credited_flow",
    "cycling_factor",
    "distribution_of",
    "facts_of",
    "flow_band",
    "imbalance_share",
    "infiltration_of",
    "is_claimable",
    "judge_balance",
    "judge_equipment",
    "judge_flow",
    "judge_rates",
    "judge_rooms",
    "missing_for_infiltration",
    "parse_rule_set",
    "plan_rooms",
    "required_rates",
    "room_rates",
    "superposed_flow",
    "weakest",
]
