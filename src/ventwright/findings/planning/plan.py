"""The design stage: from one house file to a plan. Pure: the same snapshot gives the same plan."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from ventwright.assembly import (
    ALL_OPEN,
    HOUSE_ZONE,
    Assembled,
    Openings,
    SideAssembly,
    base_setting,
    network_from,
    planned_total_m3_s,
    terminal_link,
)
from ventwright.ducts import SteadyFlowFan
from ventwright.findings.planning.model import (
    OperatingPoint,
    PlanFindings,
    SettingPlan,
    SystemPlan,
    TerminalFlow,
)
from ventwright.findings.planning.parts import PlanScreen, PlanSnapshot, PowerPlan
from ventwright.findings.planning.power import power_plan
from ventwright.findings.planning.predict import Prediction, fan_curve, fan_of, predict
from ventwright.findings.planning.rooms import choose_rooms
from ventwright.findings.planning.runs import planned_flows_m3_s
from ventwright.findings.planning.sides import SideDesign, design_side, side_plan
from ventwright.house import FanSetting, House, SettingRole, System
from ventwright.quantities import Problem, Severity, Side
from ventwright.quantities.records import dataclass

SAME_TOTAL_FRAC = 0.02
"""Totals that differ by less are the same but for rounding (judgement)."""


def plan_house(snapshot: PlanSnapshot, *, screen: PlanScreen | None = None) -> PlanFindings:
    """Plan a house: chosen flows, checks of ducts, predictions, what to close.

    Each system is balanced in its first continuous setting. There the losses of every path are
    reckoned at the design flows; the path that loses most is the index run, whose terminal and
    dampers stay open. What the others have to spare is thrown away at branch dampers as far as
    terminals share it, at terminals the rest. Flows in every setting are then solved for, with
    everything open and with everything set.

    Parameters
    ----------
    snapshot
        House and rule sets.
    screen
        Limits of the checks; None takes the usual ones, which are recalled and no requirement.

    Returns
    -------
    PlanFindings
        Whatever could be found. What could not stands as None, with its cause among the problems.

    Raises
    ------
    UserError
        If the altitude is out of range.

    Source: planning_judgement, duct_velocity_practice

    >>> found = plan_house(PlanSnapshot(engine="0", rule_sets=(),
    ...     house=House(schema="ventwright-house-1", id="h", name="Barn", altitude_m=0.0)))
    >>> found.systems, round(found.air_density_kg_m3, 2)
    ((), 1.2)
    """
    return _Planner(snapshot, screen or PlanScreen()).plan()


@dataclass(frozen=True, slots=True, kw_only=True)
class _State:
    """Both states of the house in one combination of settings."""

    opened: Prediction | None
    closed: Prediction | None


class _Planner:
    """Holds what the parts of one plan share."""

    def __init__(self, snapshot: PlanSnapshot, screen: PlanScreen) -> None:
        self.snapshot, self.screen = snapshot, screen
        self.house = snapshot.house
        self.assembled = network_from(self.house)
        self.problems: list[Problem] = [*snapshot.problems, *self.assembled.problems]
        self.house_pa = _design_house_pa(self.house, self.assembled)
        self.designs = [self._design(side) for side in self.assembled.sides]
        self.openings = _merged([d for d in self.designs if d.throttled is not None])
        self.speeds = {d.side.name: d.speed_frac for d in self.designs if d.side.is_solvable}
        self.states: dict[object, _State] = {}
        self.base = self._state({}, self.speeds)

    def plan(self) -> PlanFindings:
        rooms, room_plan, room_problems = choose_rooms(self.house, self.snapshot.rule_sets)
        systems = tuple(self._system(system) for system in self.house.systems)
        self.problems += [p for d in self.designs for p in _remarks(d)]
        return PlanFindings(
            engine=self.snapshot.engine,
            house_id=self.house.id,
            air_density_kg_m3=self.assembled.air.density_kg_m3,
            screen=self.screen,
            rooms=rooms,
            room_plan=room_plan,
            systems=systems,
            problems=tuple(dict.fromkeys([*self.problems, *room_problems])),
        )

    def _system_of(self, system_id: str) -> System:
        return next(s for s in self.house.systems if s.id == system_id)

    def _design(self, side: SideAssembly) -> SideDesign:
        system = self._system_of(side.system_id)
        return design_side(
            system,
            side,
            setting=base_setting(system),
            house_pa=self.house_pa,
            air=self.assembled.air,
        )

    def _state(self, settings: Mapping[str, str], speeds: Mapping[str, float]) -> _State:
        opened = self._predicted(ALL_OPEN, settings, speeds)
        has_settings = bool(self.openings.terminal_flow_factors)
        closed = self._predicted(self.openings, settings, speeds) if has_settings else None
        return _State(opened=opened, closed=closed)

    def _state_in(self, system: System, setting: FanSetting, speeds: Mapping[str, float]) -> _State:
        """State in another setting, once for all settings that run the fans alike."""
        key = (system.id, setting.supply_flow_m3_s, setting.extract_flow_m3_s, *speeds.items())
        if key not in self.states:
            self.states[key] = self._state({system.id: setting.id}, speeds)
        return self.states[key]

    def _predicted(
        self, openings: Openings, settings: Mapping[str, str], speeds: Mapping[str, float]
    ) -> Prediction | None:
        assembled = network_from(self.house, settings=settings, openings=openings)
        found = predict(assembled, speed_fracs=speeds)
        if isinstance(found, Problem):
            self.problems.append(found)
            return None
        return found

    def _system(self, system: System) -> SystemPlan:
        designs = [d for d in self.designs if d.system.id == system.id]
        settings: Sequence[FanSetting | None] = system.fan_settings or (None,)
        by_setting = [(f, *self._in_setting(system, designs, f)) for f in settings]
        sides = tuple(
            side_plan(
                self.house,
                d,
                opened=self.base.opened,
                settings=tuple(
                    plans[d.side.name] for _, plans, _ in by_setting if d.side.name in plans
                ),
                speed_fracs=self.speeds,
                screen=self.screen,
            )
            for d in designs
        )
        powers = [p for _, _, p in by_setting if p is not None]
        return SystemPlan(system_id=system.id, name=system.name, sides=sides, powers=tuple(powers))

    def _in_setting(
        self, system: System, designs: Sequence[SideDesign], setting: FanSetting | None
    ) -> tuple[dict[str, SettingPlan], PowerPlan | None]:
        is_base = setting == base_setting(system)
        speeds = dict(self.speeds)
        if not is_base:
            speeds |= {d.side.name: _speed(d, setting) for d in designs if d.side.is_solvable}
        state = self.base
        if setting is not None and not is_base:
            state = self._state_in(system, setting, speeds)
        if state.opened is None:
            return {}, None
        plans = {
            d.side.name: _setting_plan(d, setting, state, state.opened, speeds)
            for d in designs
            if d.side.is_solvable and d.side.name in speeds
        }
        points = [p.set_point or p.open_point for p in plans.values()]
        is_whole = len(points) == len(designs)
        power = None
        if is_whole and points:
            power = power_plan(
                "" if setting is None else setting.id,
                points=points,
                rated_points=system.ventilation_unit.rated_points,
                air=self.assembled.air,
            )
        return plans, power


def _speed(design: SideDesign, setting: FanSetting | None) -> float:
    """Speed of another setting than the balanced one; full speed where it names none."""
    if setting is None:
        return 1.0
    is_supply = design.side.side is Side.SUPPLY
    typed = setting.supply_speed_frac if is_supply else setting.extract_speed_frac
    return 1.0 if typed is None else typed


def _setting_plan(
    design: SideDesign,
    setting: FanSetting | None,
    state: _State,
    opened: Prediction,
    speeds: Mapping[str, float],
) -> SettingPlan:
    name, speed = design.side.name, speeds[design.side.name]
    closed = state.closed if design.throttled is not None else None
    if closed is not None and name not in closed.flow_m3_s:
        closed = None
    side = _side_in(opened, name)
    set_point: OperatingPoint | None = None
    flows: tuple[TerminalFlow, ...] = ()
    if closed is not None:
        set_point = closed.point(_side_in(closed, name), speed_frac=speed)
        flows = tuple(_set_flows(design, setting, closed))
    is_supply = design.side.side is Side.SUPPLY
    typed = None
    if setting is not None:
        typed = setting.supply_speed_frac if is_supply else setting.extract_speed_frac
    is_flow_held = isinstance(fan_of(side), SteadyFlowFan)
    return SettingPlan(
        setting="" if setting is None else setting.id,
        role=SettingRole.CONTINUOUS if setting is None else setting.role,
        planned_m3_s=planned_total_m3_s(design.system, design.side.side, setting),
        speed_frac=speed,
        is_speed_assumed=typed is None and not is_flow_held,
        is_flow_held=is_flow_held,
        open_total_m3_s=opened.flow_m3_s[name],
        open_point=opened.point(side, speed_frac=speed),
        set_total_m3_s=None if closed is None else closed.flow_m3_s[name],
        set_point=set_point,
        set_flows=flows,
        house_pressure_pa=opened.house_pa,
        curve=fan_curve(side, speed_frac=speed),
        full_curve=fan_curve(side, speed_frac=1.0),
    )


def _side_in(prediction: Prediction, name: str) -> SideAssembly:
    return next(s for s in prediction.assembled.sides if s.name == name)


def _set_flows(
    design: SideDesign, setting: FanSetting | None, closed: Prediction
) -> Iterator[TerminalFlow]:
    planned = planned_flows_m3_s(design.system, design.side.side, setting) or {}
    for terminal_id, _ in design.side.terminals:
        yield TerminalFlow(
            terminal_id=terminal_id,
            planned_m3_s=planned.get(terminal_id),
            predicted_m3_s=closed.flow_m3_s[terminal_link(terminal_id)],
        )


def _merged(designs: Sequence[SideDesign]) -> Openings:
    """Openings of all sides that could be set."""
    openings = [d.throttled.openings for d in designs if d.throttled is not None]
    return Openings(
        terminal_flow_factors={k: v for o in openings for k, v in o.terminal_flow_factors.items()},
        damper_loss_coeffs={k: v for o in openings for k, v in o.damper_loss_coeffs.items()},
        closed=frozenset(t for o in openings for t in o.closed),
    )


def _design_house_pa(house: House, assembled: Assembled) -> float:
    """Pressure of the house when every side moves its planned total."""
    zone = next(z for z in assembled.network.zones if z.name == HOUSE_ZONE)
    if not zone.openings:
        return 0.0
    net = 0.0
    for side in assembled.sides:
        system = next(s for s in house.systems if s.id == side.system_id)
        flows = planned_flows_m3_s(system, side.side, base_setting(system))
        total = side.planned_m3_s if flows is None else sum(flows.values())
        net += (total or 0.0) * (1.0 if side.side is Side.SUPPLY else -1.0)
    return zone.openings[0].law.drop_and_slope(net)[0]


def _remarks(design: SideDesign) -> Iterator[Problem]:
    """What the designer should know of a side beside its figures."""
    name = design.side.name
    if design.design_m3_s is None:
        without = [
            t.id
            for t in design.system.terminals
            if t.side is design.side.side and t.design_flow_m3_s is None
        ]
        yield Problem(
            code="design-flow-missing",
            where=name,
            message="no design flow is given for: " + ", ".join(without) + "; index run, needed "
            "pressure and what to close can't be said",
            remedy="write 'design_flow' at each terminal",
            severity=Severity.REFUSAL,
        )
        return
    typed, total = design.side.planned_m3_s, design.total_m3_s
    if typed and total and abs(typed / total - 1.0) > SAME_TOTAL_FRAC:
        yield Problem(
            code="totals-differ",
            where=name,
            message="the design flows of the terminals don't add up to the total of the fan "
            "setting; the plan is made for the terminals",
            remedy="mend 'design_flow' or 'supply_flow'/'extract_flow'",
        )
    if design.side.is_speed_assumed and design.side.is_solvable and design.setting is not None:
        yield Problem(
            code="speed-missing",
            where=name,
            message="the setting names no speed; the one that just carries the design is taken",
            remedy="write 'supply_speed' and 'extract_speed'",
            severity=Severity.NOTE,
        )
