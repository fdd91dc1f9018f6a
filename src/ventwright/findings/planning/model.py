"""What the design stage finds, as data: flows, checks of ducts, predictions, what to close."""

from __future__ import annotations

from ventwright.findings.planning.parts import PlanScreen, PowerPlan, RoomChoice, RunCheck
from ventwright.house import DamperKind, SettingRole
from ventwright.quantities import Problem, Side
from ventwright.quantities.records import dataclass
from ventwright.requirements import RoomPlan
from ventwright.uncertainty import Estimate, Verdict


@dataclass(frozen=True, slots=True, kw_only=True)
class TerminalPlan:
    """One terminal in the setting that is balanced.

    Parameters
    ----------
    terminal_id, room_id, room_name
        Which.
    design_m3_s
        Planned flow; None where there is none.
    open_m3_s
        Predicted with every damper and terminal open, at the speed of the setting.
    open_ratio
        That over the design flow.
    path_pa
        Loss from outside to the room at design flows, everything open [Pa].
    excess_pa
        What must be thrown away on its path [Pa]; 0 on the index run.
    at_dampers_pa, at_terminal_pa
        Where it is thrown away [Pa].
    unplaced_pa
        What nothing on its path can throw away [Pa].
    terminal_drop_pa
        Drop across the terminal as it will stand [Pa].
    flow_factor
        As it will stand, at standard air [m³/s per √Pa].
    opening_turns
        The same in turns, where the terminal has a table that reaches there.
    is_index
        Whether it is the index run.
    is_taken_by_size
        Whether nobody gave a table of its opening.
    is_outside_table
        Whether its table does not reach so far down.
    is_drop_over
        Whether the drop is over the screen.
    """

    terminal_id: str
    room_id: str
    room_name: str
    design_m3_s: float | None
    open_m3_s: Estimate | None
    open_ratio: Estimate | None
    path_pa: float | None
    excess_pa: float | None
    at_dampers_pa: float
    at_terminal_pa: float
    unplaced_pa: float
    terminal_drop_pa: float | None
    flow_factor: float | None
    opening_turns: float | None
    is_index: bool
    is_taken_by_size: bool
    is_outside_table: bool
    is_drop_over: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class DamperPlan:
    """One branch damper in the setting that is balanced.

    Parameters
    ----------
    branch_id, kind, place
        Which.
    flow_m3_s
        Design flow of its branch [m³/s].
    throw_away_pa
        Drop beyond that of the open damper [Pa].
    loss_coeff
        As it will stand.
    closing_deg
        Butterfly: angle from open [°].
    open_ratio
        Iris or slide: open share of the area.
    is_stuck
        Whether it can't be turned.
    """

    branch_id: str
    kind: DamperKind
    place: str
    flow_m3_s: float
    throw_away_pa: float
    loss_coeff: float
    closing_deg: float | None
    open_ratio: float | None
    is_stuck: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class RunLoss:
    """What one list of pieces on the index run costs at design flows.

    Parameters
    ----------
    where
        Key path of the list, or of exchanger or terminal.
    drop_pa
        Loss [Pa].
    share
        Of the loss of the whole index run.
    """

    where: str
    drop_pa: float
    share: float


@dataclass(frozen=True, slots=True, kw_only=True)
class SizeStep:
    """One list of ducts made one size larger and everything solved again.

    Parameters
    ----------
    where
        Key path of the list.
    from_m, to_m
        Diameters [m]; the smallest of the list is changed.
    needed_pa
        Rise that the design then needs [Pa].
    saved_pa
        Less than before [Pa].
    needed_speed_frac
        Speed that the design then needs; None without a fan curve by speed.
    open_total_m3_s
        Total then predicted with everything open, at the speed of the setting [m³/s].
    gained_m3_s
        More than before [m³/s].
    """

    where: str
    from_m: float
    to_m: float
    needed_pa: float
    saved_pa: float
    needed_speed_frac: float | None
    open_total_m3_s: float | None
    gained_m3_s: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class OperatingPoint:
    """Where the fan works.

    Parameters
    ----------
    flow_m3_s
        Total of the side [m³/s].
    external_pa
        Rise at the unit's ports [Pa].
    speed_frac
        Speed.
    is_beyond_curve
        Whether it lies beyond the maker's last point (scaled by speed).
    """

    flow_m3_s: float
    external_pa: float
    speed_frac: float
    is_beyond_curve: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class TerminalFlow:
    """A terminal in one setting, dampers and terminals set as planned.

    Parameters
    ----------
    terminal_id
        Which.
    planned_m3_s
        Planned for this setting; None where nobody said.
    predicted_m3_s
        Predicted.
    """

    terminal_id: str
    planned_m3_s: float | None
    predicted_m3_s: Estimate


@dataclass(frozen=True, slots=True, kw_only=True)
class SettingPlan:
    """One side in one fan setting.

    Parameters
    ----------
    setting, role
        Which.
    planned_m3_s
        Planned total; None where nobody said.
    speed_frac
        Of the setting; for a setting without one that of the design, else full speed.
    is_speed_assumed
        Whether the setting names no speed.
    is_flow_held
        Whether the fan holds its flow and `speed_frac` says nothing.
    open_total_m3_s, open_point
        Predicted with everything open.
    set_total_m3_s, set_point, set_flows
        Predicted with dampers and terminals set for the balanced setting; None and empty where the
        design flows don't allow that.
    house_pressure_pa
        Of the house against outdoors with everything open [Pa].
    curve, full_curve
        What the fan can do at the unit's ports in the air of the house, at the speed of the setting
        and at full speed, by rising flow within the maker's points; empty without such points.
    """

    setting: str
    role: SettingRole
    planned_m3_s: float | None
    speed_frac: float
    is_speed_assumed: bool
    is_flow_held: bool
    open_total_m3_s: Estimate
    open_point: OperatingPoint
    set_total_m3_s: Estimate | None
    set_point: OperatingPoint | None
    set_flows: tuple[TerminalFlow, ...]
    house_pressure_pa: float
    curve: tuple[OperatingPoint, ...] = ()
    full_curve: tuple[OperatingPoint, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class SidePlan:
    """One side of one system.

    Parameters
    ----------
    side
        Which.
    setting
        The setting it is balanced in; empty where the system lists none.
    design_m3_s
        Sum of design flows; None where a terminal has none.
    needed_pa
        Rise at the unit's ports that the design needs [Pa].
    available_pa
        Rise there at full speed and design flow [Pa].
    reach
        Whether the unit is shown to reach the design; None where it can't be said.
    needed_speed_frac
        Speed that just carries the design with the index run open; None without a curve by speed.
    house_pressure_pa
        Of the house at design flows [Pa].
    index_terminal
        The index run; None where it can't be said.
    index_losses
        What its parts cost, from outside to the room.
    terminals, dampers, runs, settings, size_steps
        In detail.
    """

    side: Side
    setting: str
    design_m3_s: float | None
    needed_pa: Estimate | None
    available_pa: Estimate | None
    reach: Verdict | None
    needed_speed_frac: Estimate | None
    house_pressure_pa: float | None
    index_terminal: str | None
    index_losses: tuple[RunLoss, ...]
    terminals: tuple[TerminalPlan, ...]
    dampers: tuple[DamperPlan, ...]
    runs: tuple[RunCheck, ...]
    settings: tuple[SettingPlan, ...]
    size_steps: tuple[SizeStep, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class SystemPlan:
    """One ventilation unit and its ducts."""

    system_id: str
    name: str
    sides: tuple[SidePlan, ...]
    powers: tuple[PowerPlan, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanFindings:
    """What one house file says at the design stage.

    Parameters
    ----------
    engine
        Version that found it.
    house_id
        The house.
    air_density_kg_m3
        Of the air it was planned with [kg/m³].
    screen
        Limits of the checks.
    rooms
        What is asked, proposed, chosen.
    room_plan
        The planner's schedule; None where it could not plan.
    systems
        Each system.
    problems
        What is missing or assumed.
    """

    engine: str
    house_id: str
    air_density_kg_m3: float
    screen: PlanScreen
    rooms: tuple[RoomChoice, ...]
    room_plan: RoomPlan | None
    systems: tuple[SystemPlan, ...]
    problems: tuple[Problem, ...]
