"""Parts of a plan that need no solving of flows: rooms, runs, power, screens, the snapshot."""

from __future__ import annotations

from enum import StrEnum

from ventwright.assembly import PieceKind
from ventwright.house import House
from ventwright.quantities import Problem, Side, SourceTrust
from ventwright.quantities.records import dataclass
from ventwright.recovery import FanEfficacy
from ventwright.requirements import RuleSet
from ventwright.uncertainty import Estimate

PLAN_SCHEMA = "ventwright-plan-1"


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanSnapshot:
    """Everything a plan rests on: house, rule sets, and the problems met in reading them."""

    schema: str = PLAN_SCHEMA
    engine: str
    house: House
    rule_sets: tuple[RuleSet, ...]
    problems: tuple[Problem, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanScreen:
    """Limits that say where to look again; none of them is a requirement.

    Velocities stand in for noise: no sound level is worked out.

    Parameters
    ----------
    last_run_m_s
        Velocity in the last run to a terminal [m/s].
    main_m_s
        Velocity in ducts that serve several terminals, and between unit and outside [m/s].
    gradient_pa_m
        Loss per length of straight duct [Pa/m].
    terminal_drop_pa
        Drop across a terminal [Pa].
    trust
        How far the figures are known.
    """

    last_run_m_s: float = 1.5
    main_m_s: float = 3.0
    gradient_pa_m: float = 1.0
    terminal_drop_pa: float = 50.0
    trust: SourceTrust = SourceTrust.MEMORY


@dataclass(frozen=True, slots=True, kw_only=True)
class RoomChoice:
    """Flow of one side of one room: what is asked, what the planner proposes, what was chosen.

    Parameters
    ----------
    room_id, room_name, side
        Which.
    least_m3_s
        What it must not fall below by the rule sets and its own limits; None where unknown.
    proposed_m3_s
        By the planner; None where it could not plan.
    chosen_m3_s
        Sum of the design flows of its terminals; None where one has none.
    terminals
        Ids of its terminals.
    """

    room_id: str
    room_name: str
    side: Side
    least_m3_s: float | None
    proposed_m3_s: float | None
    chosen_m3_s: float | None
    terminals: tuple[str, ...]

    @property
    def is_short(self) -> bool:
        """Whether less was chosen than the least."""
        if self.least_m3_s is None or self.chosen_m3_s is None:
            return False
        return self.chosen_m3_s < self.least_m3_s * (1.0 - 1e-9)


@dataclass(frozen=True, slots=True, kw_only=True)
class RunCheck:
    """One piece of duct at the greatest flow planned for it.

    Parameters
    ----------
    where
        Key path in the house.
    kind
        What it is.
    diameter_m, width_m, height_m
        Its section [m].
    length_m
        Of the piece [m].
    setting
        Fan setting with that flow.
    flow_m3_s
        The flow [m³/s].
    velocity_m_s
        In the free area [m/s].
    drop_pa
        Over the piece [Pa].
    gradient_pa_m
        Drop per length [Pa/m].
    most_velocity_m_s
        The screen's limit for its place [m/s].
    is_velocity_over, is_gradient_over
        Whether it is over the screen.
    """

    where: str
    kind: PieceKind
    diameter_m: float | None
    width_m: float | None
    height_m: float | None
    length_m: float
    setting: str
    flow_m3_s: float
    velocity_m_s: float
    drop_pa: float
    gradient_pa_m: float
    most_velocity_m_s: float
    is_velocity_over: bool
    is_gradient_over: bool


class PowerBasis(StrEnum):
    """What a predicted power rests on."""

    RATED_POINTS = "rated_points"
    """Between or beyond two or more rated points with power."""
    RATED_POINT = "rated_point"
    """One rated point and a usual exponent."""
    EFFICIENCY = "efficiency"
    """Pressure, flow and a usual efficiency."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PowerPlan:
    """Predicted electric power of both fans in one setting, and what it buys.

    Parameters
    ----------
    setting
        Which.
    flow_m3_s
        Mean of the sides in use, planned or else predicted [m³/s].
    power_w
        Of fans and controls [W].
    efficacy
        Flow per power.
    basis
        What it rests on.
    is_beyond_rating
        Whether the flow lies outside the rated points.
    """

    setting: str
    flow_m3_s: float
    power_w: Estimate
    efficacy: FanEfficacy
    basis: PowerBasis
    is_beyond_rating: bool
