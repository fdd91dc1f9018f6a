"""The records of a room flow plan."""

from __future__ import annotations

from enum import StrEnum

from ventwright.quantities import Problem, Side
from ventwright.quantities.records import dataclass
from ventwright.requirements.citation import Citation
from ventwright.requirements.rates import RateResult


class Drive(StrEnum):
    """What sets the total of a plan beside the rate of the dwelling."""

    LARGER = "larger"
    """The larger of what supply rooms and extract rooms need."""
    SUPPLY = "supply"
    EXTRACT = "extract"


class TotalSetBy(StrEnum):
    """What did set the total."""

    RATE = "rate"
    SUPPLY = "supply"
    EXTRACT = "extract"
    LIMITS = "limits"
    """The rooms' own upper limits, below what was wanted."""


class ReasonKind(StrEnum):
    """Why a planned flow is what it is."""

    RULE_LEAST = "rule_least"
    TERMINAL_LEAST = "terminal_least"
    PLAN_LEAST = "plan_least"
    """What the plan gives any terminal at least, by its own choice and nobody's rule."""
    TERMINAL_MOST = "terminal_most"
    SHARE = "share"
    """Its share, by weight, of what the rooms at their limits leave."""
    SCALED_BELOW_LEAST = "scaled_below_least"
    """The other side sets the total, and it does not reach for every least flow."""
    BOOST = "boost"


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanReason:
    """One reason with its flow and, where a rule gave it, the rule's place."""

    kind: ReasonKind
    flow_m3_s: float
    rule_set_id: str = ""
    citation: Citation | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class PlannedRoom:
    """Planned flow of one side of one room.

    Parameters
    ----------
    room, side
        Which.
    flow_m3_s
        In the continuous setting.
    boost_flow_m3_s
        With everything at boost; None where no boost is planned.
    least_m3_s
        What it must not fall below.
    weight_share
        Its share of all weights of its side.
    is_weight_assumed
        Whether its weight is the mean of the others.
    reasons
        Why.
    """

    room: str
    side: Side
    flow_m3_s: float
    boost_flow_m3_s: float | None = None
    least_m3_s: float
    weight_share: float
    is_weight_assumed: bool
    reasons: tuple[PlanReason, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class PlannedTerminal:
    """Planned flow of a terminal with its band; without an id the terminal is still to be placed.

    `low_m3_s` and `high_m3_s` are the rule's tolerance about the flow, narrowed by what the room
    needs and by the terminal's own band; None where open.
    """

    terminal: str | None
    room: str
    side: Side
    flow_m3_s: float
    boost_flow_m3_s: float | None
    low_m3_s: float | None
    high_m3_s: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class TransferLeg:
    """Air that passes a room's door: outward from a supply room, inward to an extract room.

    Which rooms adjoin is not in the house file: all legs are taken to meet in the hall.
    """

    room: str
    is_outward: bool
    flow_m3_s: float
    boost_flow_m3_s: float | None
    transfer_area_m2: float | None
    velocity_m_s: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class RoomPlan:
    """A balanced schedule of room flows.

    Parameters
    ----------
    total_m3_s
        Of supply and of extract alike.
    boost_total_m3_s
        The same at boost; None where no rule asks for one.
    boost_ratio
        Boost over continuous.
    boost_room
        The room that sets the boost.
    set_by
        What set the total.
    rates
        What each rule set asks of the dwelling.
    rooms, terminals, legs
        The schedule.
    max_flow_m3_s
        Of the ventilation unit.
    spare_m3_s, boost_spare_m3_s
        What the unit could move beyond the plan; negative where it can't reach it.
    problems
        What was assumed, and what the plan can't give.
    """

    total_m3_s: float
    boost_total_m3_s: float | None = None
    boost_ratio: float = 1.0
    boost_room: str = ""
    set_by: TotalSetBy
    rates: tuple[RateResult, ...]
    rooms: tuple[PlannedRoom, ...]
    terminals: tuple[PlannedTerminal, ...]
    legs: tuple[TransferLeg, ...]
    max_flow_m3_s: float | None = None
    spare_m3_s: float | None = None
    boost_spare_m3_s: float | None = None
    problems: tuple[Problem, ...] = ()
