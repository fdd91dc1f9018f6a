"""From a snapshot to findings: the one pipeline, pure and repeatable.

What stands behind `TYPE_CHECKING` is imported when it is first asked for: reading and judging a
visit needs none of it.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from ventwright.findings.advise import rests_on_memory
from ventwright.findings.assess import assess
from ventwright.findings.gap import explain_gap
from ventwright.findings.house_air import (
    ApplianceScreen,
    DoorFinding,
    PressureFinding,
    RoomAirFinding,
)
from ventwright.findings.looks import Looks, interpret_visit
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
from ventwright.quantities.later import later

if TYPE_CHECKING:
    from ventwright.findings.guidance import Guidance, guide
    from ventwright.findings.guidance_openings import blade_deg
    from ventwright.findings.learnt import (
        ShareLearnt,
        SideLearnt,
        TerminalLearnt,
        learn,
    )
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
    from ventwright.findings.stop_shown import StopShown
else:
    __getattr__ = later(
        __name__, "guidance", "guidance_openings", "learnt", "planning", "stop_shown"
    )

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
    "Looks",
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
    "ShareLearnt",
    "ShowerCourse",
    "SideLearnt",
    "SidePlan",
    "SizeStep",
    "StopShown",
    "SurfaceFinding",
    "SystemFindings",
    "SystemPlan",
    "TerminalFinding",
    "TerminalFlow",
    "TerminalLearnt",
    "TerminalPlan",
    "TotalFinding",
    "VisitSnapshot",
    "WetRoomFinding",
    "assess",
    "blade_deg",
    "explain_gap",
    "guide",
    "interpret_visit",
    "learn",
    "plan_house",
    "rests_on_memory",
]
