"""What a House lacks is named; what a usual figure stands in for is said."""

from __future__ import annotations

from dataclasses import replace
from math import sqrt

import pytest

from tests.unit.assembly import houses
from ventwright.assembly import (
    FITTING_NAMES,
    HOUSE_ZONE,
    network_from,
)
from ventwright.house import (
    DuctKind,
    DuctPiece,
    Envelope,
    ExchangerTable,
    FanControl,
    PressureFlowPoint,
    Setter,
)
from ventwright.network import Solution, solve
from ventwright.quantities import AirKind, Severity, Side


def solved(assembled):
    found = solve(assembled.network)
    assert isinstance(found, Solution), found
    return found


def codes(assembled, severity=None):
    return {p.code for p in assembled.problems if severity in (None, p.severity)}


def refused_side(given, code):
    assembled = network_from(houses.house(given))
    assert code in codes(assembled, Severity.REFUSAL)
    assert "side-left-out" in codes(assembled)
    assert [t.name for t in assembled.network.trees] == ["hrv extract"]
    solution = solved(assembled)
    assert solution.flow("hrv extract") > 0.0
    return assembled


def test_missing_length_leaves_that_side_out_and_keeps_the_other():
    piece = DuctPiece(kind=DuctKind.ROUND, diameter_m=0.1)
    given = houses.with_terminal(houses.system(), "hrv-s1", ducts=(piece,))
    assembled = refused_side(given, "duct-length-missing")
    problem = next(p for p in assembled.problems if p.code == "duct-length-missing")
    assert problem.where == "terminal hrv-s1.ducts[0]"
    # The pressure of the house still counts the planned supply.
    zone = next(z for z in assembled.network.zones if z.name == HOUSE_ZONE)
    assert zone.other_inflow_m3_s == pytest.approx(0.036)


@pytest.mark.parametrize(
    ("ducts", "code"),
    [
        ((DuctPiece(kind=DuctKind.ROUND, length_m=2.0),), "duct-size-missing"),
        (
            (DuctPiece(kind=DuctKind.RECTANGULAR, length_m=2.0, diameter_m=0.1),),
            "duct-size-missing",
        ),
        ((houses.fitting("silencer", diameter_m=0.1),), "fitting-unknown"),
        ((houses.fitting("", diameter_m=0.1),), "fitting-unknown"),
        ((houses.fitting("bend_90"),), "duct-size-missing"),
        ((houses.round_duct(2.0, 0.0005),), "value-out-of-range"),
    ],
)
def test_what_can_not_be_known_of_a_run_is_refused_by_name(ducts, code):
    refused_side(houses.with_terminal(houses.system(), "hrv-s1", ducts=ducts), code)


def test_terminal_without_table_or_size_is_refused_and_by_size_is_said():
    bare = {"opening_table": (), "ducts": (), "diameter_m": None}
    refused_side(houses.with_terminal(houses.system(), "hrv-s1", **bare), "terminal-size-missing")
    sized = houses.with_terminal(houses.system(), "hrv-s1", **{**bare, "diameter_m": 0.125})
    assembled = network_from(houses.house(sized))
    assert codes(assembled) == {"terminal-taken-by-size", "no-ducts-listed"}
    assert assembled.is_whole
    assert dict(assembled.sides[0].terminals)["hrv-s1"].is_assumed


def test_the_same_said_of_several_terminals_is_said_once():
    given = houses.system()
    for ident in ("hrv-s1", "hrv-s2"):
        given = houses.with_terminal(given, ident, opening_table=(), diameter_m=0.1)
    (problem,) = network_from(houses.house(given)).problems
    assert problem.where == "hrv supply"
    assert problem.message.endswith("terminal hrv-s1, terminal hrv-s2")


def test_fixed_grille_by_its_face():
    given = houses.with_terminal(
        houses.system(),
        "hrv-s1",
        opening_table=(),
        setter=Setter.FIXED,
        face_area_m2=0.01,
    )
    opening = dict(network_from(houses.house(given)).sides[0].terminals)["hrv-s1"]
    assert opening.open_flow_factor == pytest.approx(0.65 * 0.01 * sqrt(2.0 / 1.2))
    assert not opening.can_turn


def test_table_that_falls_is_refused():
    falling = houses.table((3.0, 2e-3), (6.0, 1e-3))
    given = houses.with_terminal(houses.system(), "hrv-s1", opening_table=falling)
    refused_side(given, "opening-table-not-rising")


@pytest.mark.parametrize(
    ("points", "code"),
    [
        ((), "fan-curve-missing"),
        (((100.0, 0.0), (120.0, 0.05)), "fan-curve-not-falling"),
    ],
)
def test_without_a_usable_fan_curve_nothing_is_solved(points, code):
    curves = () if not points else tuple(houses.fan_curve(side, points) for side in Side)
    given = houses.system(ventilation_unit=houses.unit(fan_curves=curves))
    assembled = network_from(houses.house(given))
    assert code in codes(assembled, Severity.REFUSAL)
    assert assembled.network.trees == ()
    # The losses are known all the same, so that a design can be worked out.
    assert all(side.tree is not None and not side.is_solvable for side in assembled.sides)


def test_constant_flow_fan_without_a_flow_is_refused():
    given = houses.system(
        ventilation_unit=houses.unit(fan_control=FanControl.CONSTANT_FLOW), fan_settings=()
    )
    given = houses.with_terminal(given, "hrv-s1", design_flow_m3_s=None)
    refused_side(given, "set-flow-missing")


def test_unknown_envelope_altitude_and_exponent_are_said():
    assert codes(network_from(houses.house(envelope=None, altitude_m=None))) == {
        "envelope-unknown",
        "altitude-unknown",
    }
    leaky = Envelope(leakage_flow_m3_s=0.2)
    assembled = network_from(houses.house(envelope=leaky))
    assert codes(assembled) == {"leakage-exponent-assumed"}
    zone = assembled.network.zones[1]
    drop, _ = zone.openings[0].law.drop_and_slope(0.2 * 0.5**0.65)
    assert drop == pytest.approx(25.0)


def test_flexible_duct_says_what_it_assumes():
    flexible = DuctPiece(kind=DuctKind.FLEXIBLE, length_m=2.0, diameter_m=0.08)
    given = houses.with_terminal(houses.system(), "hrv-s1", ducts=(flexible,))
    assembled = network_from(houses.house(given))
    assert codes(assembled) == {
        "compression-assumed",
        "flexible-outside-table",
        "no-fittings-listed",
    }
    law = assembled.sides[0].pieces_of("terminal hrv-s1")[0].law
    # 1 + 58·0.10·exp(−4.96·0.1): the curve's factor at 100 mm, its smallest.
    assert law.length_m == pytest.approx(2.0 * 4.532, rel=1e-3)


def test_duct_kinds_and_counts():
    ducts = (
        DuctPiece(kind=DuctKind.RECTANGULAR, length_m=2.0, width_m=0.2, height_m=0.06),
        DuctPiece(kind=DuctKind.SEMI_RIGID, length_m=4.0, diameter_m=0.075),
        DuctPiece(kind=DuctKind.SEMI_RIGID, length_m=4.0, width_m=0.13, height_m=0.05),
        DuctPiece(kind=DuctKind.ROUND, length_m=1.0, diameter_m=0.1, count=3),
        houses.fitting("bend_90", count=2),
        houses.fitting("loss 0,7", diameter_m=0.08),
    )
    given = houses.with_terminal(houses.system(), "hrv-s1", ducts=ducts)
    assembled = network_from(houses.house(given))
    assert codes(assembled) == {"lengths-in-series"}
    pieces = assembled.sides[0].pieces_of("terminal hrv-s1")
    assert pieces[0].area_m2 == pytest.approx(0.012)
    assert pieces[3].length_m == 3.0
    assert pieces[4].law.loss_coeff == pytest.approx(0.44)
    assert pieces[4].diameter_m == 0.1
    assert pieces[5].law.loss_coeff == pytest.approx(0.7)


@pytest.mark.parametrize("name", FITTING_NAMES)
def test_every_named_fitting_has_a_loss(name):
    given = houses.with_terminal(
        houses.system(), "hrv-s1", ducts=(houses.round_duct(2.0), houses.fitting(name))
    )
    assembled = network_from(houses.house(given))
    assert not codes(assembled)
    law = assembled.sides[0].pieces_of("terminal hrv-s1")[1].law
    assert 0.0 <= law.loss_coeff < 8.0


def test_branch_that_serves_nothing_is_left_out_and_unknown_parent_is_refused():
    idle = houses.branch("idle", Side.SUPPLY)
    given = houses.system()
    given = replace(given, branches=(*given.branches, idle))
    assembled = network_from(houses.house(given))
    assert codes(assembled) == {"branch-without-terminals"}
    lost = houses.with_terminal(houses.system(), "hrv-s1", branch="nowhere")
    refused_side(lost, "fan-not-reached")


def test_exchanger_table_that_no_law_fits_is_left_out_and_said():
    rows = tuple(
        PressureFlowPoint(pressure_pa=p, flow_m3_s=q) for p, q in ((90.0, 0.02), (91.0, 0.06))
    )
    table = ExchangerTable(stream=AirKind.SUPPLY, points=rows)
    given = houses.system(ventilation_unit=houses.unit(exchanger_tables=(table,)))
    assembled = network_from(houses.house(given))
    assert codes(assembled) == {"exchanger-table-unusable"}
    assert assembled.is_whole


def test_exchanger_that_would_make_the_fan_rise_is_left_out_and_said():
    rows = tuple(PressureFlowPoint(pressure_pa=1500.0 * q, flow_m3_s=q) for q in (0.02, 0.06))
    table = ExchangerTable(stream=AirKind.SUPPLY, points=rows)
    given = houses.system(ventilation_unit=houses.unit(exchanger_tables=(table,)))
    assert codes(network_from(houses.house(given))) == {"exchanger-table-unusable"}


def test_ids_that_stand_twice_refuse_the_second_system():
    assembled = network_from(houses.house(houses.system("a"), houses.system("a")))
    assert "name-not-unique" in codes(assembled, Severity.REFUSAL)
    assert [side.is_solvable for side in assembled.sides] == [True, True, False, False]
    assert solved(assembled).flow("a supply") > 0.0
