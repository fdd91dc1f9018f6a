"""From a snapshot to findings: the one pipeline, pure and repeatable.

What stands behind `TYPE_CHECKING` is imported when it is first asked for: reading and judging a
visit needs none of it, and the engine stays quick to import.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from ventwright.findings.advise import rests_on_memory
from ventwright.findings.assess import assess
from ventwright.findings.gap import explain_gap
from ventwright.findings.house_air import (
    ApplianceScreen,
    DoorFinding,
    PressureFinding,
    RoomAirFinding,
)
from ventwright.findings.model import (
    Advice,
    BalanceFinding,
    DesignFinding,
    EffectiveFinding,
    Explanation,
    Findings,
    FlowFinding,
    HouseEffect,
    JudgedLine,
    PowerFinding,
    ReadingFinding,
    RecoveryFinding,
    RetargetFinding,
    SurfaceFinding,
    SystemFindings,
    TerminalFinding,
    TotalFinding,
)
from ventwright.findings.snapshot import SNAPSHOT_SCHEMA, VisitSnapshot
from ventwright.findings.wet_room_air import ShowerCourse, WetRoomFinding

if TYPE_CHECKING:
    from ventwright.findings.guidance import Guidance, guide
    from ventwright.findings.planning import (
        DamperPlan,
        OperatingPoint,
        PlanFindings,
        PlanScreen,
        PlanSnapshot,
        PowerBasis,
        PowerPlan,
        RoomChoice,
        RunCheck,
        RunLoss,
        SettingPlan,
        SidePlan,
        SizeStep,
        SystemPlan,
        TerminalFlow,
        TerminalPlan,
        plan_house,
    )

_LATER = frozenset(
    {
        "DamperPlan",
        "Guidance",
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
        "guide",
        "plan_house",
    }
)


def __getattr__(name: str) -> Any:
    """Import a name from its module when it is first asked for."""
    if name not in _LATER:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    from ventwright.findings import guidance, planning

    homes = (guidance, planning)
    return next(getattr(home, name) for home in homes if hasattr(home, name))


__all__ = [
    "SNAPSHOT_SCHEMA",
    "Advice",
    "ApplianceScreen",
    "BalanceFinding",
    "DamperPlan",
    "DesignFinding",
    "DoorFinding",
    "EffectiveFinding",
    "Explanation",
    "Findings",
    "FlowFinding",
    "Guidance",
    "HouseEffect",
    "JudgedLine",
    "OperatingPoint",
    "PlanFindings",
    "PlanScreen",
    "PlanSnapshot",
    "PowerBasis",
    "PowerFinding",
    "PowerPlan",
    "PressureFinding",
    "ReadingFinding",
    "RecoveryFinding",
    "RetargetFinding",
    "RoomAirFinding",
    "RoomChoice",
    "RunCheck",
    "RunLoss",
    "SettingPlan",
    "ShowerCourse",
    "SidePlan",
    "SizeStep",
    "SurfaceFinding",
    "SystemFindings",
    "SystemPlan",
    "TerminalFinding",
    "TerminalFlow",
    "TerminalPlan",
    "TotalFinding",
    "VisitSnapshot",
    "WetRoomFinding",
    "assess",
    "explain_gap",
    "guide",
    "plan_house",
    "rests_on_memory",
]
