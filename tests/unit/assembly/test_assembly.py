"""Networks built from a House: worked by hand, openings, settings."""

from __future__ import annotations

from dataclasses import replace
from math import sqrt

import pytest

from tests.unit.assembly import houses
from ventwright.assembly import (
    HOUSE_ZONE,
    Openings,
    PieceKind,
    branch_link,
    network_from,
    openings_as_left,
    openings_as_recorded,
    side_name,
    terminal_link,
)
from ventwright.ducts import (
    STANDARD_DUCT_AIR,
    Closed,
    FlowFactorOpening,
    RoundDuct,
    bend_loss_coeff,
    butterfly_loss_coeff,
    tee_branch_loss_coeff,
)
from ventwright.house import (
    AdjustmentKind,
    Damper,
    DamperKind,
    ExchangerTable,
    FanControl,
    FinalSetting,
    PressureFlowPoint,
    Visit,
)
from ventwright.network import Solution, solve
from ventwright.quantities import AirKind, Side


def solved(assembled):
    found = solve(assembled.network)
    assert isinstance(found, Solution), found
    return found


def codes(assembled, severity=None):
    return {p.code for p in assembled.problems if severity in (None, p.severity)}


def test_one_terminal_worked_by_hand():
    """Straight fan line against one quadratic: a quadratic equation for the flow.

    Fan 200 Pa at no flow falling straight to 0 at 0.1 m³/s; terminal 2 L/s per √Pa; a loss of 5 on
    a 100 mm duct. No straight duct, so no friction. Independent: pencil and paper.
    """
    extract = houses.terminal(
        "x1",
        Side.EXTRACT,
        opening_table=houses.table((1.0, 0.002)),
        ducts=(houses.fitting("loss 5", diameter_m=0.1),),
    )
    bare = houses.system(
        ventilation_unit=houses.unit(points=((200.0, 0.0), (0.0, 0.1))),
        fan_settings=(),
        branches=(),
        terminals=(extract,),
        outdoor_ducts=(),
        supply_ducts=(),
        extract_ducts=(),
        exhaust_ducts=(),
    )
    assembled = network_from(houses.house(bare, envelope=None))
    density = assembled.air.density_kg_m3
    assert density == pytest.approx(1.199, abs=0.001)
    denser = density / 1.2
    area = 0.25 * 3.141592653589793 * 0.01
    a = denser / 0.002**2 + 5.0 * density / 2.0 / area**2
    b, c = 2000.0 * denser, -200.0 * denser
    by_hand = (-b + sqrt(b * b - 4.0 * a * c)) / (2.0 * a)
    # The plain loss carries a share that grows at low Reynolds number, 200/Re: 1 % here.
    assert solved(assembled).flow("terminal x1") == pytest.approx(by_hand, rel=2e-3)


def test_sides_trees_and_continuity():
    assembled = network_from(houses.house())
    assert [s.name for s in assembled.sides] == ["hrv supply", "hrv extract"]
    assert assembled.is_whole and not codes(assembled)
    solution = solved(assembled)
    for side, letter in ((Side.SUPPLY, "s"), (Side.EXTRACT, "x")):
        ends = [q for name, q in solution.terminal_flows().items() if f"-{letter}" in name]
        assert sum(ends) == pytest.approx(solution.flow(side_name("hrv", side)), rel=1e-9)
        assert all(q > 0.0 for q in ends)
    shell = solution.flow("shell")
    supply, extract = (solution.flow(side_name("hrv", s)) for s in Side)
    assert supply - extract == pytest.approx(shell, abs=1e-11)
    assert solution.zone_pressure(HOUSE_ZONE) * shell >= 0.0


def test_every_piece_of_the_record_becomes_a_law_at_its_place():
    assembled = network_from(houses.house())
    side = assembled.sides[0]
    shared = side.pieces_of(side.name)
    assert [p.kind for p in shared] == [
        PieceKind.FAN,
        PieceKind.FITTING,
        PieceKind.RIGID,
        PieceKind.RIGID,
        PieceKind.FITTING,
    ]
    assert shared[2].where == "system hrv.outdoor_ducts[1]"
    assert shared[2].law == RoundDuct(length_m=3.0, diameter_m=0.16, air=assembled.air)
    terminal = side.pieces_of(terminal_link("hrv-s1"))
    assert terminal[-1].kind is PieceKind.TERMINAL
    assert terminal[1].law.loss_coeff == bend_loss_coeff(radius_ratio=1.0)
    tee = side.pieces_of(branch_link("hrv-sa"))[0]
    expected = tee_branch_loss_coeff(
        area_ratio=(0.125 / 0.16) ** 2, flow_ratio=0.022 / 0.036, angle_deg=90
    )
    assert tee.law.loss_coeff == pytest.approx(expected)


def test_extract_tees_look_at_the_end_of_the_parent_away_from_the_unit():
    """On the extract side the list runs towards the unit, so its first piece is the far one."""
    given = houses.with_branch(
        houses.system(),
        "hrv-xa",
        ducts=(houses.round_duct(1.0, 0.125), houses.round_duct(2.0, 0.2)),
    )
    given = houses.with_terminal(
        given, "hrv-x2", ducts=(houses.round_duct(1.0), houses.fitting("tee_branch"))
    )
    assembled = network_from(houses.house(given))
    tee = assembled.sides[1].pieces_of(terminal_link("hrv-x2"))[1]
    expected = tee_branch_loss_coeff(
        area_ratio=(0.1 / 0.125) ** 2, flow_ratio=0.012 / 0.028, angle_deg=90
    )
    assert tee.law.loss_coeff == pytest.approx(expected)


def test_exchanger_is_taken_apart_from_the_fan_so_that_full_speed_stays_as_printed():
    linear, quadratic = 500.0, 2000.0
    rows = tuple(
        PressureFlowPoint(pressure_pa=linear * q + quadratic * q * q, flow_m3_s=q)
        for q in (0.02, 0.04, 0.06)
    )
    tables = tuple(
        ExchangerTable(stream=stream, points=rows) for stream in (AirKind.SUPPLY, AirKind.EXTRACT)
    )
    given = houses.system(ventilation_unit=houses.unit(exchanger_tables=tables))
    assembled = network_from(houses.house(given))
    fan, inside = assembled.sides[0].pieces_of("hrv supply")[:2]
    assert inside.kind is PieceKind.EXCHANGER
    denser = assembled.air.density_kg_m3 / 1.2
    assert inside.law.linear_pa_per_m3_s == pytest.approx(linear, rel=1e-9)
    assert inside.law.quadratic_pa_per_m6_s2 == pytest.approx(quadratic * denser, rel=1e-9)
    for pressure, flow in houses.STEEP_FAN:
        at_port = -fan.law.at_speed(1.0).drop_and_slope(flow)[0]
        at_port -= linear * flow * denser + quadratic * flow * flow * denser
        assert at_port == pytest.approx(pressure * denser, abs=1e-9)
    # At half speed the fan's own rise falls to a quarter, the exchanger's linear part to a half.
    slow = -fan.law.at_speed(0.5).drop_and_slope(0.02)[0]
    own = 200.0 + linear * 0.04 + quadratic * 0.04**2
    assert slow == pytest.approx(0.25 * own * denser, rel=1e-9)


def test_constant_flow_fan_holds_the_planned_total():
    given = houses.system(
        ventilation_unit=houses.unit(fan_control=FanControl.CONSTANT_FLOW),
        fan_settings=(replace(houses.CONTINUOUS, supply_speed_frac=None, extract_speed_frac=None),),
    )
    solution = solved(network_from(houses.house(given)))
    for side in Side:
        assert solution.flow(side_name("hrv", side)) == pytest.approx(0.036, rel=0.015)


def test_thinner_air_leaves_flows_where_all_losses_are_quadratic():
    """Rises and losses both go with density, so flows at altitude differ by friction alone."""
    low = solved(network_from(houses.house()))
    high = solved(network_from(houses.house(altitude_m=2000.0)))
    for name, flow in low.terminal_flows().items():
        assert high.flow(name) == pytest.approx(flow, rel=0.02)
    ratio = high.pressure("branch hrv-sa") / low.pressure("branch hrv-sa")
    assert ratio == pytest.approx(0.785, abs=0.02)


def test_openings_move_dampers_and_terminals():
    openings = Openings(
        dampers_deg={"hrv-sa": 30.0},
        terminal_turns={"hrv-s1": 6.0},
        terminal_flow_factors={"hrv-s2": 1e-3},
        closed=frozenset({"hrv-s3"}),
    )
    assembled = network_from(houses.house(), openings=openings)
    side = assembled.sides[0]
    damper = side.pieces_of("branch hrv-sa")[-1]
    pv = 0.5 * assembled.air.density_kg_m3 * (0.02 / damper.area_m2) ** 2
    expected = butterfly_loss_coeff(closing_deg=30.0) * pv
    assert damper.law.drop_and_slope(0.02)[0] == pytest.approx(expected, rel=0.02)
    denser = assembled.air.density_kg_m3 / STANDARD_DUCT_AIR.density_kg_m3
    for link, factor in (("hrv-s1", 1.5e-3), ("hrv-s2", 1e-3)):
        law = side.pieces_of(terminal_link(link))[-1].law
        assert isinstance(law, FlowFactorOpening)
        assert law.flow_factor == pytest.approx(factor / sqrt(denser))
    assert side.pieces_of(terminal_link("hrv-s3"))[-1].law == Closed()
    assert solved(assembled).flow(terminal_link("hrv-s3")) == 0.0


def test_as_recorded_and_as_left():
    given = houses.with_branch(
        houses.system(),
        "hrv-sa",
        damper=Damper(kind=DamperKind.BUTTERFLY, diameter_m=0.125, position_deg=20.0),
    )
    house = houses.house(given)
    assert openings_as_recorded(house).dampers_deg == {"hrv-sa": 20.0}
    visit = Visit(
        schema="ventwright-visit-1",
        id="v",
        house="test",
        final_settings=(
            FinalSetting(target="hrv-sa", kind=AdjustmentKind.DAMPER, position_deg=35.0),
            FinalSetting(target="hrv-s1", kind=AdjustmentKind.TERMINAL, opening_turns=4.0),
        ),
    )
    left = openings_as_left(house, visit)
    assert left.dampers_deg == {"hrv-sa": 35.0} and left.terminal_turns == {"hrv-s1": 4.0}
    flows = [
        solved(network_from(house, openings=o)).flow("terminal hrv-s1")
        for o in (Openings(), openings_as_recorded(house), left)
    ]
    assert flows == sorted(flows, reverse=True)


def test_stuck_damper_stays_where_it_was_seen():
    stuck = Damper(kind=DamperKind.BUTTERFLY, diameter_m=0.125, position_deg=40.0, is_stuck=True)
    given = houses.with_branch(houses.system(), "hrv-sa", damper=stuck)
    open_house, shut = (network_from(houses.house(s)) for s in (houses.system(), given))
    assert solved(shut).flow("branch hrv-sa") < 0.9 * solved(open_house).flow("branch hrv-sa")


@pytest.mark.parametrize("kind", [DamperKind.IRIS, DamperKind.SLIDE])
def test_iris_and_slide_are_open_unless_told(kind):
    given = houses.with_branch(
        houses.system(), "hrv-sa", damper=Damper(kind=kind, diameter_m=0.125)
    )
    assembled = network_from(houses.house(given))
    assert assembled.sides[0].pieces_of("branch hrv-sa")[-1].law.drop_and_slope(0.02)[0] == 0.0
    half = network_from(houses.house(given), openings=Openings(damper_open_ratios={"hrv-sa": 0.5}))
    assert solved(half).flow("branch hrv-sa") < solved(assembled).flow("branch hrv-sa")


def test_added_laws_stand_in_series():
    more = {"hrv supply": (FlowFactorOpening(flow_factor=5e-3),)}
    plain, loaded = (
        solved(network_from(houses.house(), added_laws=added)) for added in (None, more)
    )
    assert loaded.flow("hrv supply") < plain.flow("hrv supply")


def test_two_systems_share_the_pressure_of_the_house():
    both = houses.house(houses.system("a"), houses.one_sided(houses.system("b"), Side.EXTRACT))
    alone = houses.house(houses.system("a"))
    pressures = [solved(network_from(h)).zone_pressure(HOUSE_ZONE) for h in (alone, both)]
    assert pressures[1] < pressures[0] - 1.0
    assert [s.name for s in network_from(both).sides] == ["a supply", "a extract", "b extract"]


def test_settings_choose_speeds_and_unknown_ones_are_our_fault():
    slow = solved(network_from(houses.house()))
    fast = solved(network_from(houses.house(), settings={"hrv": "boost"}))
    assert fast.flow("hrv supply") > 1.2 * slow.flow("hrv supply")
    with pytest.raises(ValueError, match="has no setting 'night'"):
        network_from(houses.house(), settings={"hrv": "night"})
