"""Rules as data: what a rule set says of balance and of flows, each with its source and trust.

A rule set is a file, read by the shell and handed to the engine as part of the snapshot. Nothing
here knows a limit of its own.
"""

from __future__ import annotations

from enum import StrEnum

from ventwright.quantities import FlowM3S, Frac
from ventwright.quantities.records import dataclass
from ventwright.requirements.citation import Citation, SourceTitle, Trust
from ventwright.requirements.rate_rules import RateRule
from ventwright.requirements.room_rules import EquipmentLimit, RoomRule, SupplySplit
from ventwright.uncertainty import DecisionRule

__all__ = [
    "RULES_SCHEMA",
    "BalanceBasis",
    "BalancePair",
    "BalanceRule",
    "Citation",
    "FlowRule",
    "RuleSet",
    "Trust",
]

RULES_SCHEMA = "ventwright-rules-1"


class BalanceBasis(StrEnum):
    """What a difference of two flows is related to. Published rules differ, and so do verdicts."""

    SUPPLY = "supply"
    """|extract − supply| over supply."""
    AVERAGE = "average"
    """|extract − supply| over the average of both."""
    EACH_FROM_AVERAGE = "each_from_average"
    """Each of the two from their average: half as strict as `AVERAGE`."""
    SMALLER = "smaller"
    """|extract − supply| over the smaller of both."""


class BalancePair(StrEnum):
    """Which two streams are compared."""

    OUTDOOR_EXHAUST = "outdoor_exhaust"
    """What crosses the envelope: decides the pressure of the house."""
    SUPPLY_EXTRACT = "supply_extract"
    """What reaches and leaves the rooms."""


@dataclass(frozen=True, slots=True, kw_only=True)
class BalanceRule:
    """How far two streams may differ: the greater of a share of the basis and a floor."""

    pair: BalancePair
    basis: BalanceBasis
    limit_frac: Frac
    floor_m3_s: FlowM3S = 0.0
    decision_rule: DecisionRule = DecisionRule.GUARDED
    citation: Citation


@dataclass(frozen=True, slots=True, kw_only=True)
class FlowRule:
    """How far a flow may lie from its target; None leaves that side open.

    The allowance is the greater of the share of the target and the floor.
    """

    below_frac: Frac | None = None
    above_frac: Frac | None = None
    floor_m3_s: FlowM3S = 0.0
    decision_rule: DecisionRule = DecisionRule.GUARDED
    citation: Citation


@dataclass(frozen=True, slots=True, kw_only=True)
class RuleSet:
    """One set of rules.

    The rate of the dwelling, what single rooms must have, the balance, each terminal against its
    target, the total against design, and limits on the ventilation unit; a file gives what its text
    has.
    """

    schema: str
    id: str
    name: str
    edition: str = ""
    rate: RateRule | None = None
    rooms: tuple[RoomRule, ...] = ()
    supply_split: SupplySplit | None = None
    balance: BalanceRule | None = None
    terminal: FlowRule | None = None
    total: FlowRule | None = None
    equipment: tuple[EquipmentLimit, ...] = ()
    sources: tuple[SourceTitle, ...] = ()
    note: str = ""

    def title_of(self, source: str) -> str:
        """Title of a source cited in this rule set; its key where the file gives none."""
        return next((one.title for one in self.sources if one.key == source), source)
