"""Every law is smooth, rises with flow, is odd where it is passive, and refuses bad figures."""

from __future__ import annotations

import itertools
from dataclasses import replace
from math import inf, nan

import pytest

from ventwright.ducts import (
    STANDARD_DUCT_AIR,
    ButterflyDamper,
    Closed,
    DuctAir,
    ExchangerCore,
    FanCurve,
    FanLaw,
    FanPoint,
    Filter,
    FlexDuct,
    FlowFactorOpening,
    IrisDamper,
    Law,
    Loss,
    ParabolicFan,
    Polynomial,
    PowerLaw,
    RectDuct,
    RingTable,
    RingValve,
    RoundDuct,
    SteadyFlowFan,
    TightnessClass,
    added,
    butterfly_angle_deg,
    butterfly_loss_coeff,
    curtain_flow_factor,
    darcy_friction,
    duct_leakage,
    fan_power_at_speed_w,
    fan_power_w,
    flow_factor_at_density,
    iris_loss_coeff,
    ring_table_from_seat,
    tee_branch_loss_coeff,
)
from ventwright.quantities.problems import UserError

FAN = FanCurve(
    points=(
        FanPoint(flow_m3_s=0.01, rise_pa=300.0),
        FanPoint(flow_m3_s=0.05, rise_pa=250.0),
        FanPoint(flow_m3_s=0.1, rise_pa=20.0),
    )
)
TABLE = ring_table_from_seat(seat_diameter_m=0.09)
PASSIVE: tuple[Law, ...] = (
    RoundDuct(length_m=3.0, diameter_m=0.125),
    RectDuct(length_m=3.0, width_m=0.204, height_m=0.06),
    FlexDuct(length_m=3.0, diameter_m=0.125, compression_frac=0.1),
    Loss(loss_coeff=0.5, diameter_m=0.125),
    Loss(loss_coeff=0.5, diameter_m=0.09, area_m2=0.01),
    ButterflyDamper(diameter_m=0.125, closing_deg=35.0),
    IrisDamper(diameter_m=0.125, open_ratio=0.4),
    RingValve(table=TABLE, opening_turns=3.0),
    FlowFactorOpening(flow_factor=2e-3),
    Filter(clean_drop_pa=30.0, rated_flow_m3_s=0.05, loading_ratio=2.0),
    ExchangerCore(rated_drop_pa=80.0, rated_flow_m3_s=0.05),
    PowerLaw(drop_pa=50.0, flow_m3_s=0.1, exponent=1.54),
    Polynomial(linear_pa_per_m3_s=10.0, quadratic_pa_per_m6_s2=1e5),
    duct_leakage(surface_m2=10.0, tightness=TightnessClass.ATC_4),
)
FANS: tuple[FanLaw, ...] = (
    FAN,
    FAN.at_speed(0.4),
    FAN.at_speed(0.0),
    ParabolicFan(shut_off_pa=300.0, free_flow_m3_s=0.1, speed_frac=0.8),
    SteadyFlowFan(set_flow_m3_s=0.05, full=FAN),
)
FLOWS = [x * 1e-5 for x in range(-8000, 15001, 7)]


@pytest.mark.parametrize("law", PASSIVE, ids=lambda law: type(law).__name__)
def test_a_passive_law_is_odd_rises_and_has_a_slope_at_zero(law: Law) -> None:
    assert law.problems() == ()
    before = -inf
    for flow in FLOWS:
        drop, slope = law.drop_and_slope(flow)
        back, back_slope = law.drop_and_slope(-flow)
        assert drop == pytest.approx(-back, rel=1e-12, abs=1e-15)
        assert slope == pytest.approx(back_slope, rel=1e-12)
        assert drop > before
        before = drop
    assert law.drop_and_slope(0.0)[0] == 0.0
    assert law.drop_and_slope(0.0)[1] > 0.0


@pytest.mark.parametrize("fan", FANS, ids=range(len(FANS)))
def test_a_fan_never_lifts_more_at_a_greater_flow(fan: FanLaw) -> None:
    drops = [fan.drop_and_slope(flow) for flow in FLOWS]
    assert all(a[0] <= b[0] for a, b in itertools.pairwise(drops))
    assert all(slope >= 0.0 for _, slope in drops)
    step = 1e-7
    for flow in (-0.05, -0.001, 0.004, 0.02, 0.045, 0.0501, 0.07, 0.13):
        rise = fan.drop_and_slope(flow + step)[0] - fan.drop_and_slope(flow - step)[0]
        assert rise / (2.0 * step) == pytest.approx(fan.drop_and_slope(flow)[1], rel=1e-4, abs=1e-2)


@pytest.mark.parametrize("fan", FANS, ids=range(len(FANS)))
def test_speed_slopes_are_differences_in_the_limit(fan: FanLaw) -> None:
    speed, step = fan.speed_frac, 1e-6
    low = 0.0 if speed == 0.0 else speed - step
    for flow in (-0.02, 0.02, 0.045, 0.07, 0.12):
        upper = -fan.at_speed(speed + step).drop_and_slope(flow)[0]
        lower = -fan.at_speed(low).drop_and_slope(flow)[0]
        slope = (upper - lower) / (speed + step - low)
        assert fan.speed_slope_pa(flow) == pytest.approx(slope, rel=1e-3, abs=0.02)


def test_fan_laws_hold_for_a_fan_by_points() -> None:
    for speed in (0.2, 0.5, 1.3):
        for flow in (-0.03, 0.02, 0.05, 0.08, 0.2):
            drop = FAN.drop_and_slope(flow)[0]
            turned = FAN.at_speed(speed).drop_and_slope(speed * flow)[0]
            assert turned == pytest.approx(speed * speed * drop, rel=1e-12)


def test_losses_in_series_add_up() -> None:
    total = added(PASSIVE)
    for flow in (-0.03, 0.0, 0.002, 0.04):
        each = [law.drop_and_slope(flow) for law in PASSIVE]
        drop, slope = total.drop_and_slope(flow)
        assert drop == pytest.approx(sum(pair[0] for pair in each), rel=1e-12)
        assert slope == pytest.approx(sum(pair[1] for pair in each), rel=1e-12)
    assert added((*PASSIVE, Closed())).is_closed
    with pytest.raises(UserError, match="closed"):
        Closed().drop_and_slope(0.01)


@pytest.mark.parametrize(
    ("law", "field"),
    [
        (RoundDuct(length_m=0.0, diameter_m=0.1), "length_m"),
        (RoundDuct(length_m=1.0, diameter_m=-0.1), "diameter_m"),
        (RoundDuct(length_m=1.0, diameter_m=0.1, roughness_m=0.01), "roughness_m"),
        (RoundDuct(length_m=nan, diameter_m=0.1), "length_m"),
        (RoundDuct(length_m=inf, diameter_m=0.1), "length_m"),
        (
            RoundDuct(length_m=1.0, diameter_m=0.1, air=DuctAir(density_kg_m3=0.0)),
            "density_kg_m3",
        ),
        (RectDuct(length_m=1.0, width_m=0.0, height_m=0.1), "width_m"),
        (RectDuct(length_m=1.0, width_m=0.1, height_m=0.1, roughness_m=0.1), "roughness_m"),
        (FlexDuct(length_m=1.0, diameter_m=0.125, compression_frac=0.6), "compression_frac"),
        (FlexDuct(length_m=1.0, diameter_m=0.05, compression_frac=0.1), "diameter_m"),
        (Loss(loss_coeff=-0.1, diameter_m=0.1), "loss_coeff"),
        (Loss(loss_coeff=1.0, diameter_m=0.1, area_m2=0.0), "area_m2"),
        (ButterflyDamper(diameter_m=0.1, closing_deg=91.0), "closing_deg"),
        (IrisDamper(diameter_m=0.1, open_ratio=0.0), "open_ratio"),
        (RingValve(table=TABLE, opening_turns=0.0), "opening_turns"),
        (
            RingValve(
                table=RingTable(opening_turns=(1.0, 2.0), flow_factor=(2e-3, 1e-3)),
                opening_turns=1.5,
            ),
            "flow_factor",
        ),
        (FlowFactorOpening(flow_factor=0.0), "flow_factor"),
        (Filter(clean_drop_pa=20.0, rated_flow_m3_s=0.05, loading_ratio=0.5), "loading_ratio"),
        (ExchangerCore(rated_drop_pa=20.0, rated_flow_m3_s=0.0), "rated_flow_m3_s"),
        (PowerLaw(drop_pa=50.0, flow_m3_s=0.1, exponent=0.2), "exponent"),
        (Polynomial(linear_pa_per_m3_s=-1.0), "linear_pa_per_m3_s"),
        (ParabolicFan(shut_off_pa=0.0, free_flow_m3_s=0.1), "shut_off_pa"),
        (FAN.at_speed(3.0), "speed_frac"),
        (FanCurve(points=FAN.points[:1]), "points"),
        (FanCurve(points=FAN.points[::-1]), "points[1]"),
        (
            FanCurve(points=(*FAN.points, FanPoint(flow_m3_s=0.2, rise_pa=30.0))),
            "points[3]",
        ),
        (
            FanCurve(points=(replace(FAN.points[0], rise_pa=nan), *FAN.points[1:])),
            "points[0].rise_pa",
        ),
        (SteadyFlowFan(set_flow_m3_s=0.05, full=FAN, droop_frac=0.0), "droop_frac"),
    ],
    ids=lambda value: value if isinstance(value, str) else type(value).__name__,
)
def test_bad_figures_are_named_and_never_computed_with(law: Law, field: str) -> None:
    found = law.problems()
    assert field in [problem.where for problem in found]
    assert all(problem.message and problem.remedy for problem in found)
    with pytest.raises(UserError) as refusal:
        law.drop_and_slope(0.01)
    assert refusal.value.problems == found


def test_a_flow_that_is_no_number_is_refused() -> None:
    for flow in (nan, inf):
        with pytest.raises(UserError, match="finite"):
            PASSIVE[0].drop_and_slope(flow)


def test_places_outside_tables_are_refused() -> None:
    with pytest.raises(UserError, match=r"0 to 0\.05"):
        darcy_friction(reynolds=-1.0, roughness_ratio=0.0)
    with pytest.raises(UserError, match=r"area_ratio is 0\.9"):
        tee_branch_loss_coeff(area_ratio=0.9, flow_ratio=0.5, angle_deg=90)
    with pytest.raises(UserError, match="45° and tees of 90°"):
        tee_branch_loss_coeff(area_ratio=0.4, flow_ratio=0.5, angle_deg=60)
    with pytest.raises(UserError, match="open_ratio"):
        iris_loss_coeff(open_ratio=1.5)
    with pytest.raises(UserError, match="closing_deg"):
        butterfly_loss_coeff(closing_deg=-5.0)
    with pytest.raises(UserError, match="efficiency_frac"):
        fan_power_w(flow_m3_s=0.05, rise_pa=100.0, efficiency_frac=0.0)


def test_dampers_and_valves_find_the_position_they_were_set_to() -> None:
    for angle in (0.0, 7.0, 22.5, 41.0, 60.0, 85.0):
        loss = butterfly_loss_coeff(closing_deg=angle)
        assert butterfly_angle_deg(loss_coeff=loss) == pytest.approx(angle, abs=1e-6)
    for turns in (0.25, 0.9, 3.3, 12.0):
        assert TABLE.turns_for(TABLE.flow_factor_at(turns)) == pytest.approx(turns, abs=1e-6)
    assert TABLE.turns_for(1.0) == pytest.approx(12.0)
    assert butterfly_angle_deg(loss_coeff=1e9) == pytest.approx(90.0)


def test_a_damper_closes_steadily() -> None:
    butterfly = [butterfly_loss_coeff(closing_deg=float(x)) for x in range(91)]
    assert all(a < b for a, b in itertools.pairwise(butterfly))
    iris = [iris_loss_coeff(open_ratio=x / 100.0) for x in range(2, 101)]
    assert all(a > b for a, b in itertools.pairwise(iris))
    assert iris[-1] == 0.0


def test_curtain_model_is_linear_at_first_and_ends_at_the_neck() -> None:
    """Figures of a hand calculation with discharge 0.65: L/s per √Pa for a 90 mm seat."""
    small = curtain_flow_factor(gap_m=0.001, seat_diameter_m=0.09)
    assert small * 1e3 == pytest.approx(0.2373, abs=5e-4)
    neck = 0.65 * 3.141592653589793 / 4 * 0.09**2 * (2.0 / 1.2) ** 0.5
    assert curtain_flow_factor(gap_m=1.0, seat_diameter_m=0.09) == pytest.approx(neck, rel=1e-3)


def test_thinner_air_passes_more_through_an_opening() -> None:
    thin = DuctAir(density_kg_m3=0.97, viscosity_pa_s=STANDARD_DUCT_AIR.viscosity_pa_s)
    valve = RingValve(table=TABLE, opening_turns=3.0, air=thin)
    plain = RingValve(table=TABLE, opening_turns=3.0)
    factor = flow_factor_at_density(
        flow_factor=TABLE.flow_factor_at(3.0), stated_density_kg_m3=1.2, density_kg_m3=0.97
    )
    expected = FlowFactorOpening(flow_factor=factor).drop_and_slope(0.01)[0]
    assert valve.drop_and_slope(0.01)[0] == pytest.approx(expected)
    assert expected < plain.drop_and_slope(0.01)[0]


def test_fan_power_by_hand() -> None:
    """100 cfm against 150 Pa at 25 % is 28.3 W; at 0.9 of the flow 27 % less without standby."""
    watts = fan_power_w(flow_m3_s=100 * 0.000471947, rise_pa=150.0, efficiency_frac=0.25)
    assert watts == pytest.approx(28.3, abs=0.05)
    less = fan_power_at_speed_w(full_power_w=80.0, standby_power_w=0.0, speed_frac=0.9)
    assert less / 80.0 == pytest.approx(1.0 - 0.271)


def test_a_loaded_filter_costs_flow_only_through_the_network() -> None:
    clean = Filter(clean_drop_pa=25.0, rated_flow_m3_s=0.0472)
    for loading in (1.0, 1.5, 4.0):
        loaded = replace(clean, loading_ratio=loading)
        assert loaded.drop_and_slope(0.03)[0] == pytest.approx(
            loading * clean.drop_and_slope(0.03)[0]
        )


def test_ways_to_state_an_opening_agree() -> None:
    """A loss coefficient on an area and a flow factor say the same: k = A·√(2/(K·density))."""
    for loss_coeff in (0.5, 3.0, 60.0):
        area_m2 = 0.785398163 * 0.1**2
        factor = area_m2 * (2.0 / (loss_coeff * STANDARD_DUCT_AIR.density_kg_m3)) ** 0.5
        loss = Loss(loss_coeff=loss_coeff, diameter_m=0.1, growth_reynolds=0.0)
        opening = FlowFactorOpening(flow_factor=factor)
        for flow in (0.002, 0.01, 0.03):
            drop = loss.drop_and_slope(flow)[0]
            assert opening.drop_and_slope(flow)[0] == pytest.approx(drop, rel=1e-3)


def test_ways_to_state_a_fan_agree() -> None:
    """Points taken from a parabola give the parabola back within 1 % of shut-off."""
    parabola = ParabolicFan(shut_off_pa=300.0, free_flow_m3_s=0.1)
    points = tuple(
        FanPoint(flow_m3_s=q, rise_pa=-parabola.drop_and_slope(q)[0])
        for q in (0.0, 0.02, 0.04, 0.06, 0.08, 0.1)
    )
    for speed in (0.5, 1.0, 1.2):
        for flow in (0.0, 0.013, 0.031, 0.055, 0.07, 0.09, 0.12):
            by_points = FanCurve(points=points).at_speed(speed).drop_and_slope(speed * flow)[0]
            exact = parabola.at_speed(speed).drop_and_slope(speed * flow)[0]
            assert by_points == pytest.approx(exact, abs=3.0 * speed * speed)


def test_ways_to_state_an_exchanger_agree() -> None:
    """Linear plus quadratic against a power of 1.1 through the same point, half to full flow."""
    mixed = ExchangerCore(rated_drop_pa=80.0, rated_flow_m3_s=0.05)
    power = PowerLaw(drop_pa=80.0, flow_m3_s=0.05, exponent=1.1)
    for flow in (0.025, 0.035, 0.05, 0.06):
        drop = power.drop_and_slope(flow)[0]
        assert mixed.drop_and_slope(flow)[0] == pytest.approx(drop, rel=0.02)


def test_ways_to_state_a_valve_agree() -> None:
    """The table made from the curtain model gives the model back between its points."""
    for turns in (0.6, 1.5, 3.7, 8.2, 11.5):
        direct = curtain_flow_factor(gap_m=turns * 0.00125, seat_diameter_m=0.09)
        assert TABLE.flow_factor_at(turns) == pytest.approx(direct, rel=0.01)
