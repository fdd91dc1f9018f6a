"""From a snapshot to findings: the one pipeline, pure and repeatable."""

from ventwright.findings.advise import rests_on_memory
from ventwright.findings.assess import assess
from ventwright.findings.gap import explain_gap
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

__all__ = [
    "SNAPSHOT_SCHEMA",
    "Advice",
    "BalanceFinding",
    "DesignFinding",
    "EffectiveFinding",
    "Explanation",
    "Findings",
    "FlowFinding",
    "HouseEffect",
    "JudgedLine",
    "PowerFinding",
    "ReadingFinding",
    "RecoveryFinding",
    "RetargetFinding",
    "SurfaceFinding",
    "SystemFindings",
    "TerminalFinding",
    "TotalFinding",
    "VisitSnapshot",
    "assess",
    "explain_gap",
    "rests_on_memory",
]
