"""One side at the design stage: needed pressure, index run, what to close, what it then gives."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from ventwright.assembly import SideAssembly, network_from, side_name, terminal_link
from ventwright.ducts import DuctAir
from ventwright.findings.planning.model import SettingPlan, SidePlan, SizeStep, TerminalPlan
from ventwright.findings.planning.parts import PlanScreen
from ventwright.findings.planning.paths import Paths, paths_of
from ventwright.findings.planning.predict import Prediction
from ventwright.findings.planning.reach import Reach, reach_of
from ventwright.findings.planning.runs import check_runs, planned_flows_m3_s
from ventwright.findings.planning.sizes import index_losses, larger_houses
from ventwright.findings.planning.throttle import Throttled, throttle
from ventwright.house import FanSetting, House, System
from ventwright.network import Solution, prepare, solve
from ventwright.quantities.records import dataclass
from ventwright.uncertainty import Estimate, scale

SIZE_STEPS_COUNT = 3


@dataclass(frozen=True, slots=True, kw_only=True)
class SideDesign:
    """One side at its design flows; everything that needs no solving of flows.

    Parameters
    ----------
    system, setting
        The system, and the setting it is balanced in.
    side
        The side with everything open.
    design_m3_s
        Planned flows by terminal; None where one is missing.
    paths, throttled, reach
        Losses, what to close, needed against available; None where they can't be said.
    """

    system: System
    setting: FanSetting | None
    side: SideAssembly
    design_m3_s: Mapping[str, float] | None
    paths: Paths | None
    throttled: Throttled | None
    reach: Reach | None

    @property
    def total_m3_s(self) -> float | None:
        """Sum of the planned flows."""
        return None if self.design_m3_s is None else sum(self.design_m3_s.values())

    @property
    def speed_frac(self) -> float:
        """Speed of the setting; without one that of the design, at most full speed."""
        if not self.side.is_speed_assumed:
            return self.side.speed_frac
        needed = None if self.reach is None else self.reach.speed_frac
        return 1.0 if needed is None else min(needed.value, 1.0)


def design_side(
    system: System,
    side: SideAssembly,
    *,
    setting: FanSetting | None,
    house_pa: float,
    air: DuctAir,
) -> SideDesign:
    """Work out one side at its design flows.

    Parameters
    ----------
    system
        The system.
    side
        The side with everything open.
    setting
        Setting it is balanced in.
    house_pa
        Pressure of the house at design flows [Pa].
    air
        Air in the ducts.
    """
    design = planned_flows_m3_s(system, side.side, setting)
    paths = None if design is None else paths_of(side, design, house_pa=house_pa)
    total = 0.0 if design is None else sum(design.values())
    return SideDesign(
        system=system,
        setting=setting,
        side=side,
        design_m3_s=design,
        paths=paths,
        throttled=None if paths is None else throttle(system, paths, air),
        reach=None if paths is None else reach_of(paths, flow_m3_s=total),
    )


def side_plan(
    house: House,
    design: SideDesign,
    *,
    opened: Prediction | None,
    settings: tuple[SettingPlan, ...],
    speed_fracs: Mapping[str, float],
    screen: PlanScreen,
) -> SidePlan:
    """Everything about one side.

    Parameters
    ----------
    house
        The house.
    design
        The side at its design flows.
    opened
        Prediction with everything open in the balanced setting.
    settings
        Predictions in every setting.
    speed_fracs
        Speeds of the balanced setting by side name.
    screen
        Limits.
    """
    paths, reach = design.paths, design.reach
    return SidePlan(
        side=design.side.side,
        setting="" if design.setting is None else design.setting.id,
        design_m3_s=design.total_m3_s,
        needed_pa=None if paths is None else paths.external_rise_pa(),
        available_pa=None if reach is None else reach.available_pa,
        reach=None if reach is None else reach.verdict,
        needed_speed_frac=None if reach is None else reach.speed_frac,
        house_pressure_pa=None if paths is None else paths.house_pa,
        index_terminal=None if paths is None else paths.index_terminal(),
        index_losses=() if paths is None else index_losses(paths),
        terminals=tuple(_terminals(house, design, opened, screen)),
        dampers=() if design.throttled is None else design.throttled.dampers,
        runs=tuple(check_runs(design.system, design.side, screen)),
        settings=settings,
        size_steps=tuple(_size_steps(house, design, opened, speed_fracs)),
    )


def _terminals(
    house: House, design: SideDesign, opened: Prediction | None, screen: PlanScreen
) -> Iterator[TerminalPlan]:
    rooms = {room.id: room.name for room in house.rooms}
    known = dict(design.side.terminals)
    flows: Mapping[str, Estimate] = {} if opened is None else opened.flow_m3_s
    paths, closed = design.paths, design.throttled
    for terminal in design.system.terminals:
        if terminal.side is not design.side.side:
            continue
        t = terminal.id
        goal = None if design.design_m3_s is None else design.design_m3_s[t]
        flow = flows.get(terminal_link(t))
        drop = None if closed is None else closed.terminal_drop_pa[t]
        factor = None if closed is None else closed.flow_factors[t]
        table = known[t].table if t in known else None
        turns = None
        is_outside = False
        if table is not None and factor is not None:
            is_outside = factor < table.flow_factor[0]
            turns = None if is_outside else table.turns_for(factor)
            if factor >= table.flow_factor[-1]:
                turns = table.opening_turns[-1]
        excess = None if closed is None else closed.excess_pa[t]
        at_terminal = 0.0 if closed is None else closed.at_terminal_pa[t]
        unplaced = 0.0 if closed is None else closed.unplaced_pa[t]
        yield TerminalPlan(
            terminal_id=t,
            room_id=terminal.room,
            room_name=rooms.get(terminal.room, terminal.room),
            design_m3_s=goal if goal is not None else terminal.design_flow_m3_s,
            open_m3_s=flow,
            open_ratio=scale(flow, 1.0 / goal) if flow is not None and goal else None,
            path_pa=None if paths is None else paths.path_pa(t),
            excess_pa=excess,
            at_dampers_pa=0.0 if excess is None else excess - at_terminal - unplaced,
            at_terminal_pa=at_terminal,
            unplaced_pa=unplaced,
            terminal_drop_pa=drop,
            flow_factor=factor,
            opening_turns=turns,
            is_index=paths is not None and t == paths.index_terminal(),
            is_taken_by_size=t in known and known[t].is_assumed,
            is_outside_table=is_outside,
            is_drop_over=drop is not None and drop > screen.terminal_drop_pa,
        )


def _size_steps(
    house: House,
    design: SideDesign,
    opened: Prediction | None,
    speed_fracs: Mapping[str, float],
) -> Iterator[SizeStep]:
    """The costliest lists of the index run one size up, each solved anew."""
    paths = design.paths
    if paths is None or design.design_m3_s is None or design.total_m3_s is None:
        return
    needed = paths.external_rise_pa().value
    name = side_name(design.system.id, design.side.side)
    before = None if opened is None or name not in opened.flow_m3_s else opened.solution.flow(name)
    for where, from_m, to_m, larger in larger_houses(
        house, design.system, index_losses(paths), most_count=SIZE_STEPS_COUNT
    ):
        assembled = network_from(larger)
        side = next((s for s in assembled.sides if s.name == name), None)
        if side is None:
            continue
        new = paths_of(side, design.design_m3_s, house_pa=paths.house_pa)
        if new is None:
            continue
        reach = reach_of(new, flow_m3_s=design.total_m3_s)
        total = None
        if before is not None:
            solution = solve(prepare(assembled.network).with_speeds(speed_fracs))
            total = solution.flow(name) if isinstance(solution, Solution) else None
        speed = None if reach is None else reach.speed_frac
        new_needed = new.external_rise_pa().value
        yield SizeStep(
            where=where,
            from_m=from_m,
            to_m=to_m,
            needed_pa=new_needed,
            saved_pa=needed - new_needed,
            needed_speed_frac=None if speed is None else speed.value,
            open_total_m3_s=total,
            gained_m3_s=None if total is None or before is None else total - before,
        )
