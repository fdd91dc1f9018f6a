"""The design stage: what a house as planned will do, and what will have to be closed."""

from ventwright.findings.planning.model import (
    DamperPlan,
    OperatingPoint,
    PlanFindings,
    RunLoss,
    SettingPlan,
    SidePlan,
    SizeStep,
    SystemPlan,
    TerminalFlow,
    TerminalPlan,
)
from ventwright.findings.planning.parts import (
    PlanScreen,
    PlanSnapshot,
    PowerBasis,
    PowerPlan,
    RoomChoice,
    RunCheck,
)
from ventwright.findings.planning.plan import plan_house

__all__ = [
    "DamperPlan",
    "OperatingPoint",
    "PlanFindings",
    "PlanScreen",
    "PlanSnapshot",
    "PowerBasis",
    "PowerPlan",
    "RoomChoice",
    "RunCheck",
    "RunLoss",
    "SettingPlan",
    "SidePlan",
    "SizeStep",
    "SystemPlan",
    "TerminalFlow",
    "TerminalPlan",
    "plan_house",
]
