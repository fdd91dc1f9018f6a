"""The design stage: what to close, index run, predictions, reach, one-sided and large houses."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise
from math import exp

import pytest

from tests.unit.assembly import houses
from ventwright.assembly import network_from, side_name, terminal_link
from ventwright.findings import PlanScreen, PlanSnapshot, PowerBasis, plan_house
from ventwright.findings.planning.predict import predict
from ventwright.house import (
    Damper,
    DamperKind,
    FanControl,
    FanSetting,
    RatedPoint,
    RoomKind,
    Setter,
    SettingRole,
)
from ventwright.network import Solution, prepare, solve
from ventwright.quantities import Severity, Side
from ventwright.uncertainty import Verdict

SPEED_OF_DESIGN = replace(houses.CONTINUOUS, supply_speed_frac=None, extract_speed_frac=None)


def plan(house, **changes):
    return plan_house(PlanSnapshot(engine="0", house=house, rule_sets=()), **changes)


def side_of(found, side, system=0):
    return next(s for s in found.systems[system].sides if s.side is side)


def codes(found, severity=None):
    return {p.code for p in found.problems if severity in (None, p.severity)}


def at_design_speed(house):
    """The same house with its speeds left open, so that it runs just as the design needs."""
    systems = tuple(replace(s, fan_settings=(SPEED_OF_DESIGN,)) for s in house.systems)
    return replace(house, systems=systems)


def test_setting_what_the_plan_says_gives_the_design_flows():
    """Round trip: openings from losses at design flows, flows from the network with them."""
    found = plan(at_design_speed(houses.house()))
    for side in found.systems[0].sides:
        (setting,) = side.settings
        assert setting.speed_frac == pytest.approx(side.needed_speed_frac.value)
        assert setting.is_speed_assumed
        for flow in setting.set_flows:
            assert flow.predicted_m3_s.value == pytest.approx(flow.planned_m3_s, rel=2e-4)
        assert setting.set_point.external_pa == pytest.approx(side.needed_pa.value, rel=1e-3)


def test_open_split_is_that_of_the_network_itself():
    house = houses.house()
    found = plan(house)
    direct = solve(network_from(house).network)
    assert isinstance(direct, Solution)
    for side in Side:
        planned = side_of(found, side)
        total = planned.settings[0].open_total_m3_s
        assert total.value == pytest.approx(direct.flow(side_name("hrv", side)), rel=1e-9)
        assert sum(t.open_m3_s.value for t in planned.terminals) == pytest.approx(total.value)
        for t in planned.terminals:
            expected = direct.flow(terminal_link(t.terminal_id))
            assert t.open_m3_s.value == pytest.approx(expected, rel=1e-9)
            assert t.open_ratio.value == pytest.approx(expected / t.design_m3_s)


def test_index_run_loses_most_and_nothing_on_it_is_closed():
    for side in plan(houses.house()).systems[0].sides:
        index = next(t for t in side.terminals if t.is_index)
        assert index.terminal_id == side.index_terminal
        assert index.path_pa == max(t.path_pa for t in side.terminals)
        assert index.excess_pa == index.at_terminal_pa == 0.0
        for t in side.terminals:
            parts = t.at_dampers_pa + t.at_terminal_pa + t.unplaced_pa
            assert t.excess_pa == pytest.approx(parts, abs=1e-9)
            assert t.excess_pa == pytest.approx(index.path_pa - t.path_pa)
        assert sum(loss.share for loss in side.index_losses) == pytest.approx(1.0)
        assert sum(loss.drop_pa for loss in side.index_losses) == pytest.approx(index.path_pa)


def test_branch_dampers_take_what_their_terminals_share():
    side = side_of(plan(houses.house()), Side.SUPPLY)
    by_id = {d.branch_id: d for d in side.dampers}
    shut = by_id["hrv-sb"]
    assert by_id["hrv-sa"].throw_away_pa == 0.0 and by_id["hrv-sa"].closing_deg == 0.0
    behind = [t for t in side.terminals if t.terminal_id in ("hrv-s3", "hrv-s4")]
    assert shut.throw_away_pa == pytest.approx(min(t.excess_pa for t in behind))
    assert 20.0 < shut.closing_deg < 60.0
    assert min(t.at_terminal_pa for t in behind) == pytest.approx(0.0, abs=1e-9)


def test_turns_are_those_of_the_table():
    side = side_of(plan(houses.house()), Side.SUPPLY)
    for t in side.terminals:
        assert 3.0 <= t.opening_turns <= 12.0
    tight = next(t for t in side.terminals if t.at_terminal_pa > 1.0)
    below = [(o.opening_turns, o.flow_factor) for o in houses.RING]
    (t0, k0), (t1, k1) = next(pair for pair in pairwise(below) if pair[1][1] >= tight.flow_factor)
    assert t0 <= tight.opening_turns <= t1 and k0 <= tight.flow_factor <= k1


def test_stuck_damper_and_fixed_terminal_can_not_throttle():
    stuck = Damper(kind=DamperKind.BUTTERFLY, diameter_m=0.125, is_stuck=True)
    given = houses.with_branch(houses.system(), "hrv-sb", damper=stuck)
    given = houses.with_terminal(given, "hrv-s4", setter=Setter.FIXED)
    side = side_of(plan(houses.house(given)), Side.SUPPLY)
    damper = next(d for d in side.dampers if d.branch_id == "hrv-sb")
    assert damper.is_stuck and damper.throw_away_pa == 0.0
    fixed = next(t for t in side.terminals if t.terminal_id == "hrv-s4")
    assert fixed.unplaced_pa == pytest.approx(fixed.excess_pa) and fixed.unplaced_pa > 1.0
    flow = next(f for f in side.settings[0].set_flows if f.terminal_id == "hrv-s4")
    others = [f for f in side.settings[0].set_flows if f.terminal_id != "hrv-s4"]
    assert flow.predicted_m3_s.value / flow.planned_m3_s > 1.05 * max(
        f.predicted_m3_s.value / f.planned_m3_s for f in others
    )


def test_iris_is_given_as_an_open_share():
    iris = Damper(kind=DamperKind.IRIS, diameter_m=0.125)
    given = houses.with_branch(houses.system(), "hrv-sb", damper=iris)
    side = side_of(plan(at_design_speed(houses.house(given))), Side.SUPPLY)
    damper = next(d for d in side.dampers if d.branch_id == "hrv-sb")
    assert damper.closing_deg is None and 0.1 < damper.open_ratio < 0.95
    for flow in side.settings[0].set_flows:
        assert flow.predicted_m3_s.value == pytest.approx(flow.planned_m3_s, rel=2e-4)


def test_table_that_ends_too_early_and_loud_terminals_are_marked():
    coarse = houses.table((3.0, 2.2e-3), (6.0, 2.6e-3))
    given = houses.with_terminal(houses.system(), "hrv-x3", opening_table=coarse)
    found = plan(houses.house(given), screen=PlanScreen(terminal_drop_pa=20.0))
    t = next(t for t in side_of(found, Side.EXTRACT).terminals if t.terminal_id == "hrv-x3")
    assert t.is_outside_table and t.opening_turns is None and t.is_drop_over


@pytest.mark.parametrize("side", list(Side))
def test_one_sided_systems(side):
    given = houses.one_sided(houses.system(), side)
    found = plan(houses.house(given))
    (planned,) = found.systems[0].sides
    assert planned.side is side
    assert planned.reach is Verdict.MET
    sign = 1.0 if side is Side.SUPPLY else -1.0
    assert sign * planned.house_pressure_pa == pytest.approx(50.0 * (0.036 / 0.15) ** (1 / 0.65))
    assert sign * planned.settings[0].house_pressure_pa > 1.0
    # The house stands in the way of a fan on its own: the balanced house needs less.
    both = side_of(plan(houses.house()), side)
    lift = planned.needed_pa.value - both.needed_pa.value
    assert lift == pytest.approx(abs(planned.house_pressure_pa), rel=1e-6)
    assert [p.setting for p in found.systems[0].powers] == ["day", "boost"]


def test_two_units_and_a_boost_of_one_of_them():
    house = houses.house(houses.system("a"), houses.system("b"))
    found = plan(house)
    assert [s.system_id for s in found.systems] == ["a", "b"]
    for i in range(2):
        day, boost = side_of(found, Side.SUPPLY, i).settings
        assert boost.open_total_m3_s.value > 1.2 * day.open_total_m3_s.value
        assert boost.role is SettingRole.BOOST
    lone = plan(houses.house(houses.one_sided(houses.system("a"), Side.EXTRACT)))
    with_other = plan(
        houses.house(
            houses.one_sided(houses.system("a"), Side.EXTRACT),
            houses.one_sided(houses.system("b"), Side.SUPPLY),
        )
    )
    alone, helped = (
        f.systems[0].sides[0].settings[0].open_total_m3_s.value for f in (lone, with_other)
    )
    assert helped > alone


def test_boost_flows_are_those_with_the_openings_of_the_balanced_setting():
    given = houses.system()
    given = replace(
        given,
        terminals=tuple(
            replace(t, boost_flow_m3_s=1.4 * t.design_flow_m3_s) for t in given.terminals
        ),
    )
    side = side_of(plan(houses.house(given)), Side.SUPPLY)
    day, boost = side.settings
    for before, after in zip(day.set_flows, boost.set_flows, strict=True):
        ratio = after.predicted_m3_s.value / before.predicted_m3_s.value
        # Near-quadratic losses: flow goes with speed.
        assert ratio == pytest.approx(1.25, rel=0.03)
        assert after.planned_m3_s == pytest.approx(1.4 * before.planned_m3_s)
    assert {run.setting for run in side.runs} == {"boost"}


def test_weak_fan_is_not_shown_to_reach_and_one_size_up_is_solved_anew():
    weak = ((60.0, 0.0), (45.0, 0.04), (0.0, 0.08))
    tight = houses.system(
        ventilation_unit=houses.unit(points=weak),
        outdoor_ducts=(houses.fitting("intake_hood"), houses.round_duct(6.0, 0.1)),
    )
    house = houses.house(tight)
    side = side_of(plan(house), Side.SUPPLY)
    assert side.reach is Verdict.NOT_MET
    assert side.needed_pa.value > side.available_pa.value
    assert side.needed_speed_frac.value > 1.0
    best = side.size_steps[0]
    assert best.where == "system hrv.outdoor_ducts"
    assert (best.from_m, best.to_m) == (0.1, 0.125)
    assert best.saved_pa > 10.0 and best.gained_m3_s > 0.002
    larger = replace(
        tight,
        outdoor_ducts=(houses.fitting("intake_hood"), houses.round_duct(6.0, 0.125)),
    )
    again = side_of(plan(houses.house(larger)), Side.SUPPLY)
    assert again.needed_pa.value == pytest.approx(best.needed_pa, rel=1e-9)
    assert again.settings[0].open_total_m3_s.value == pytest.approx(best.open_total_m3_s, rel=1e-6)


def test_constant_flow_unit_is_planned_without_a_speed():
    given = houses.system(
        ventilation_unit=houses.unit(fan_control=FanControl.CONSTANT_FLOW),
        fan_settings=(
            FanSetting(id="day", role=SettingRole.CONTINUOUS),
            FanSetting(
                id="boost",
                role=SettingRole.BOOST,
                supply_flow_m3_s=0.05,
                extract_flow_m3_s=0.05,
            ),
        ),
    )
    side = side_of(plan(houses.house(given)), Side.SUPPLY)
    assert side.reach is Verdict.MET and side.needed_speed_frac is None
    day, boost = side.settings
    assert day.is_flow_held and not day.is_speed_assumed
    assert day.open_total_m3_s.value == pytest.approx(0.036, rel=0.015)
    assert boost.open_total_m3_s.value == pytest.approx(0.05, rel=0.015)


def test_missing_design_flow_keeps_the_split_and_says_what_is_lost():
    given = houses.with_terminal(houses.system(), "hrv-s1", design_flow_m3_s=None)
    found = plan(houses.house(given))
    assert "design-flow-missing" in codes(found, Severity.REFUSAL)
    side = side_of(found, Side.SUPPLY)
    assert side.needed_pa is None and side.index_terminal is None and side.dampers == ()
    assert all(t.open_m3_s is not None for t in side.terminals)
    assert side_of(found, Side.EXTRACT).reach is Verdict.MET


def test_without_a_fan_curve_the_need_is_known_and_the_reach_is_not():
    given = houses.system(ventilation_unit=houses.unit(fan_curves=()))
    side = side_of(plan(houses.house(given)), Side.SUPPLY)
    assert side.needed_pa.value > 10.0 and side.dampers
    assert side.reach is None and side.settings == () and side.available_pa is None


def test_sixty_terminals_a_side_on_three_levels():
    found = plan(at_design_speed(houses.many_terminals(60)))
    for side in found.systems[0].sides:
        assert len(side.terminals) == 60
        (setting,) = side.settings
        for flow in setting.set_flows:
            assert flow.predicted_m3_s.value == pytest.approx(flow.planned_m3_s, rel=1e-3)


def test_band_is_what_changing_every_piece_gives():
    """First order against brute force: each cause moved by itself, the network solved anew."""
    assembled = network_from(houses.house())
    name = side_name("hrv", Side.SUPPLY)
    predicted = predict(assembled)
    estimate = predicted.flow_m3_s[name]
    moved = {}
    for side in assembled.sides:
        for link, pieces in side.pieces:
            for i, piece in enumerate(pieces):
                for doubt in piece.doubts:
                    moved.setdefault(doubt.influence.id, []).append((link, i, doubt.u_ln_ratio))
    checked = 0
    for component in estimate.components:
        places = moved.get(component.influence.id)
        if places is None or component.influence.id.startswith("plan:fan"):
            continue
        ends = [_flow_with(assembled, name, places, step) for step in (-0.05, 0.05)]
        slope = (ends[1] - ends[0]) / 0.1
        assert component.contribution == pytest.approx(slope, rel=0.02, abs=1e-7)
        checked += 1
    assert checked > 20


def _flow_with(assembled, name, places, step):
    """Flow with the loss of some pieces changed by a share of their doubt."""
    prepared = prepare(assembled.network)
    changes = {}
    for link, i, u in places:
        laws = changes.get(link) or prepared.parts[prepared.entry(link)].laws
        scaled = _Scaled(law=laws[i], ratio=exp(step * u))
        changes[link] = (*laws[:i], scaled, *laws[i + 1 :])
    solution = solve(prepared.with_laws(changes))
    assert isinstance(solution, Solution)
    return solution.flow(name)


class _Scaled:
    """A law with its loss multiplied."""

    def __init__(self, *, law, ratio):
        self.law, self.ratio = law, ratio

    def problems(self):
        return ()

    def terms(self):
        terms = self.law.terms()
        return replace(
            terms,
            linear_pa_per_m3_s=terms.linear_pa_per_m3_s * self.ratio,
            quadratic_pa_per_m6_s2=terms.quadratic_pa_per_m6_s2 * self.ratio,
            curves=tuple(_ScaledCurve(c, self.ratio) for c in terms.curves),
        )


class _ScaledCurve:
    def __init__(self, curve, ratio):
        self.curve, self.ratio = curve, ratio

    def function(self):
        inner, ratio = self.curve.function(), self.ratio

        def scaled(flow):
            drop, slope = inner(flow)
            return ratio * drop, ratio * slope

        return scaled


def test_power_by_rated_points_one_point_and_efficiency():
    def powers(*points):
        given = houses.system(ventilation_unit=houses.unit(rated_points=points))
        return plan(houses.house(given)).systems[0].powers[0]

    def rated(flow, watts):
        return RatedPoint(flow_m3_s=flow, outdoor_temperature_c=7.0, power_w=watts)

    two = powers(rated(0.03, 20.0), rated(0.06, 80.0))
    assert two.basis is PowerBasis.RATED_POINTS and not two.is_beyond_rating
    density = plan(houses.house()).air_density_kg_m3
    assert two.power_w.value == pytest.approx(density / 1.2 * 20.0 * (two.flow_m3_s / 0.03) ** 2)
    assert two.efficacy.efficacy_m3_s_w.value == pytest.approx(two.flow_m3_s / two.power_w.value)
    one = powers(rated(0.05, 60.0))
    assert one.basis is PowerBasis.RATED_POINT and one.is_beyond_rating
    none = powers()
    assert none.basis is PowerBasis.EFFICIENCY
    assert none.power_w.u_std / none.power_w.value > one.power_w.u_std / one.power_w.value
    assert one.power_w.u_std / one.power_w.value > two.power_w.u_std / two.power_w.value


def test_rooms_are_set_beside_the_planner():
    kitchen = replace(houses.house().rooms[0], id="kitchen", name="Kitchen", kind=RoomKind.KITCHEN)
    given = houses.system()
    given = replace(
        given,
        terminals=tuple(
            replace(t, room="kitchen" if t.side is Side.EXTRACT else "room", min_flow_m3_s=0.005)
            for t in given.terminals
        ),
    )
    house = houses.house(given)
    found = plan(replace(house, rooms=(*house.rooms, kitchen)))
    rooms = {(r.room_id, r.side): r for r in found.rooms}
    assert set(rooms) == {("room", Side.SUPPLY), ("kitchen", Side.EXTRACT)}
    assert rooms["room", Side.SUPPLY].chosen_m3_s == pytest.approx(0.036)
    assert found.room_plan is not None
    assert rooms["room", Side.SUPPLY].least_m3_s == pytest.approx(0.02)
    assert not any(r.is_short for r in found.rooms)


def test_totals_that_do_not_add_up_are_said():
    typed = replace(houses.CONTINUOUS, supply_flow_m3_s=0.05)
    found = plan(houses.house(houses.system(fan_settings=(typed,))))
    assert "totals-differ" in codes(found)


def test_terminal_planned_for_nothing_is_shut():
    given = houses.with_terminal(houses.system(), "hrv-s2", design_flow_m3_s=0.0)
    side = side_of(plan(at_design_speed(houses.house(given))), Side.SUPPLY)
    for flow in side.settings[0].set_flows:
        assert flow.predicted_m3_s.value == pytest.approx(flow.planned_m3_s, rel=2e-4)


def test_same_snapshot_same_plan():
    assert plan(houses.house()) == plan(houses.house())
