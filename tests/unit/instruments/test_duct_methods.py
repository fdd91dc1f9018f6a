"""Sweeps, traverses and single points in a duct."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from tests.unit.instruments.cases import (
    FPM_M_S,
    codes,
    flow_of,
    interpret,
    measured_air,
    message,
    meter,
    plain_air,
    reading,
    share_of,
)
from ventwright.house import (
    AirReference,
    InstrumentKind,
    PressureChannel,
    TraverseRule,
    VelocityChannel,
)
from ventwright.instruments import traverse_positions
from ventwright.quantities import Severity
from ventwright.uncertainty import correlation, difference, ratio, total

THERMAL = meter(InstrumentKind.THERMAL_ANEMOMETER)
TYPED = meter(
    InstrumentKind.THERMAL_ANEMOMETER,
    velocity=VelocityChannel(
        accuracy_of_reading_frac=0.03,
        accuracy_fixed_m_s=0.05,
        resolution_m_s=0.01,
        range_min_m_s=0.2,
        range_max_m_s=10.0,
    ),
)
SIX_IN = {"diameter": "6 in"}


def sweep(*texts: str, **fields):  # type: ignore[no-untyped-def]
    return reading("sweep", section=SIX_IN, velocities=list(texts), **fields)


@pytest.mark.parametrize(
    ("path", "factor"),
    [("one_diameter", 0.92), ("two_diameters", 0.92), ("zigzag", 1.037), ("stops", 1.0)],
)
def test_a_path_has_its_factor(path: str, factor: float) -> None:
    found = interpret(sweep("400 fpm", path=path), THERMAL)
    area = math.pi * 0.25 * (6 * 0.0254) ** 2
    assert flow_of(found).value == pytest.approx(factor * 400 * FPM_M_S * area, rel=1e-6)
    assert "sweep-path-unknown" not in codes(found)


def test_an_unknown_path_has_no_factor_and_is_wide() -> None:
    known = flow_of(interpret(sweep("400 fpm", path="stops"), THERMAL))
    found = interpret(sweep("400 fpm"), THERMAL)
    unknown = flow_of(found)
    assert unknown.value == pytest.approx(known.value)
    assert unknown.u_std > 1.1 * known.u_std
    assert "no factor" in message(found, "sweep-path-unknown")
    # The interval takes in a line average (8 % high) and a zigzag (4 % low).
    assert share_of(unknown, "reading:r1:path") * math.sqrt(3) >= 0.09


def test_a_rectangular_duct_has_no_factor_for_a_line() -> None:
    found = interpret(
        reading(
            "sweep",
            section={"width": "200 mm", "height": "100 mm"},
            velocities=["2 m/s"],
            path="one_diameter",
        ),
        THERMAL,
    )
    assert flow_of(found).value == pytest.approx(0.04, rel=1e-6)
    assert "round ducts only" in message(found, "sweep-path-unknown")


def test_two_diameters_mind_a_bend_less_than_one() -> None:
    near = {"straight_upstream": "1 ft"}
    one = flow_of(interpret(sweep("400 fpm", path="one_diameter", **near), THERMAL))
    two = flow_of(interpret(sweep("400 fpm", path="two_diameters", **near), THERMAL))
    assert two.u_std < one.u_std


def test_straight_lengths_narrow_the_interval_and_short_ones_are_said() -> None:
    lengths = ("6 in", "2 ft", "3 ft", "5 ft", "9 ft")
    found = [
        interpret(sweep("400 fpm", path="one_diameter", straight_upstream=text), THERMAL)
        for text in lengths
    ]
    spreads = [flow_of(f).u_std for f in found]
    assert spreads == sorted(spreads, reverse=True)
    assert "1.0 diameters" in message(found[0], "straight-length-short")
    assert "straight-length-short" not in codes(found[-1])
    unknown = interpret(sweep("400 fpm", path="one_diameter"), THERMAL)
    assert "straight-length-unknown" in codes(unknown)


def test_a_short_straight_after_the_plane_counts_too() -> None:
    long_before = {"path": "two_diameters", "straight_upstream": "9 ft"}
    free = interpret(sweep("400 fpm", **long_before, straight_downstream="3 ft"), THERMAL)
    close = interpret(sweep("400 fpm", **long_before, straight_downstream="2 in"), THERMAL)
    assert flow_of(close).u_std > flow_of(free).u_std
    assert "after" in message(close, "straight-length-short")


def test_the_instruments_limit_over_root_three_is_what_it_adds() -> None:
    flow = flow_of(interpret(sweep("2 m/s", path="stops"), TYPED))
    whole = math.hypot(
        share_of(flow, "instrument:m1:velocity:sweep"), share_of(flow, "reading:r1:zero")
    )
    assert whole == pytest.approx((0.03 * 2.0 + 0.05) / 2.0 / math.sqrt(3.0), rel=1e-6)
    assert share_of(flow, "reading:r1:resolution") == pytest.approx(
        0.005 / 2.0 / math.sqrt(3.0), rel=1e-6
    )


def test_one_meter_cancels_in_a_share_and_not_in_a_flow() -> None:
    typed = meter(
        InstrumentKind.THERMAL_ANEMOMETER,
        velocity=VelocityChannel(accuracy_of_reading_frac=0.08, resolution_m_s=0.001),
    )
    supply, extract = (
        flow_of(interpret(sweep("400 fpm", "404 fpm", path="stops", id=id, station=station), typed))
        for id, station in (("r1", "SUP"), ("r2", "ETA"))
    )
    meter_share = 0.08 / math.sqrt(3.0)
    assert supply.u_std / supply.value > meter_share
    assert ratio(supply, extract).u_std < supply.u_std / supply.value * math.sqrt(2.0) * 0.75
    assert correlation(supply, extract) > 0.4
    assert total([supply, extract]).u_std / (supply.value + extract.value) > meter_share


def test_two_looks_at_one_station_share_its_profile_and_section() -> None:
    before, after = (
        flow_of(interpret(sweep("400 fpm", path="one_diameter", id=id), THERMAL))
        for id in ("r1", "r2")
    )
    assert difference(before, after).u_std < 0.75 * before.u_std


def test_more_sweeps_narrow_the_scatter_alone() -> None:
    def scatter(*texts: str) -> float:
        flow = flow_of(interpret(sweep(*texts, path="stops"), THERMAL))
        return share_of(flow, "reading:r1:scatter")

    assert scatter("400 fpm", "404 fpm", "398 fpm") < scatter("400 fpm", "404 fpm")
    assert scatter("400 fpm", "404 fpm") < scatter("400 fpm")


def test_values_that_contradict_each_other_are_said() -> None:
    found = interpret(sweep("400 fpm", "560 fpm", path="stops"), THERMAL)
    assert "33 %" in message(found, "readings-apart")
    calm = flow_of(interpret(sweep("476 fpm", "484 fpm", path="stops"), THERMAL))
    assert flow_of(found).u_std > 2.0 * calm.u_std


def test_a_thermal_probe_reads_standard_and_says_what_if_not() -> None:
    thin = plain_air(0.985)
    found = interpret(sweep("400 fpm", path="stops"), THERMAL, air=thin)
    assert found.figure is not None
    sea_level = interpret(sweep("400 fpm", path="stops"), THERMAL)
    assert sea_level.figure is not None
    assert found.figure.std_flow_m3_s.value == pytest.approx(sea_level.figure.std_flow_m3_s.value)
    assert found.figure.flow_m3_s.value > 1.2 * sea_level.figure.flow_m3_s.value
    assert "18 % lower" in message(found, "air-reference-unknown")
    assert "air-reference-unknown" not in codes(sea_level)
    corrects_itself = meter(InstrumentKind.THERMAL_ANEMOMETER, air_reference=AirReference.ACTUAL)
    typed = interpret(sweep("400 fpm", path="stops"), corrects_itself, air=thin)
    assert flow_of(typed).value == pytest.approx(flow_of(sea_level).value)
    assert "air-reference-unknown" not in codes(typed)


def test_density_cancels_in_the_mass_flow_of_a_thermal_probe() -> None:
    found = interpret(sweep("400 fpm", path="stops"), THERMAL, air=measured_air())
    assert found.figure is not None
    assert share_of(found.figure.flow_m3_s, "barometer") != 0.0
    assert share_of(found.figure.mass_flow_kg_s, "barometer") == pytest.approx(0.0, abs=2e-5)
    assert share_of(found.figure.std_flow_m3_s, "t") == pytest.approx(0.0, abs=2e-5)


def test_an_unnamed_instrument_is_wide_and_its_own() -> None:
    found = interpret(sweep("400 fpm", path="stops"), None)
    assert "instrument-unnamed" in codes(found)
    ids = [c.influence.id for c in flow_of(found).components]
    assert "reading:r1:velocity" in ids
    assert not [i for i in ids if i.startswith("instrument:")]


def test_a_typed_range_refuses_and_a_class_range_warns() -> None:
    below = interpret(sweep("0.15 m/s", path="stops"), TYPED)
    assert below.figure is None
    assert "0.20 m/s (39 fpm)" in message(below, "outside-range")
    assert interpret(sweep("12 m/s", path="stops"), TYPED).figure is None
    untyped = interpret(sweep("0.05 m/s", path="stops"), THERMAL)
    assert untyped.figure is not None
    assert "memory" in message(untyped, "outside-class-range")


@pytest.mark.parametrize(
    ("velocity_m_s", "code"),
    [
        (0.0, "reading-not-positive"),
        (-1.0, "reading-not-positive"),
        (math.nan, "reading-not-positive"),
        (math.inf, "reading-implausible"),
        (400.0, "reading-implausible"),
    ],
)
def test_no_flow_is_refused_with_its_reason(velocity_m_s: float, code: str) -> None:
    one = sweep("1 m/s", path="stops")
    found = interpret(replace(one, look=replace(one.look, velocities_m_s=(velocity_m_s,))), THERMAL)
    assert found.figure is None
    assert codes(found) == [code]
    assert found.flags[0].severity is Severity.REFUSAL
    assert found.flags[0].where == "reading r1"
    assert found.method_note.startswith("no flow is given")


def test_a_section_without_dimensions_is_refused() -> None:
    found = interpret(reading("sweep", section={}, velocities=["2 m/s"]), THERMAL)
    assert codes(found)[-1] == "section-missing"


def test_a_hasty_sweep_and_a_defrosting_unit_are_said() -> None:
    found = interpret(sweep("400 fpm", path="stops", duration="4 s", is_defrosting=True), THERMAL)
    assert {"sweep-short", "defrosting"} <= set(codes(found))
    assert found.figure is not None


def test_the_wrong_instrument_is_doubted() -> None:
    found = interpret(sweep("400 fpm", path="stops"), meter(InstrumentKind.BAROMETER))
    assert "shows no velocity" in message(found, "instrument-unlikely")


def test_a_traverse_by_equal_areas_is_corrected_for_its_rule() -> None:
    lines = [["400 fpm"] * 6] * 2
    by_rule = {
        rule: flow_of(
            interpret(reading("traverse", section=SIX_IN, rule=rule, velocities=lines), THERMAL)
        ).value
        for rule in ("log_linear", "log_tchebycheff", "equal_area")
    }
    assert by_rule["log_linear"] == by_rule["log_tchebycheff"]
    assert by_rule["equal_area"] == pytest.approx(0.990 * by_rule["log_linear"], abs=1e-4)


@pytest.mark.parametrize(
    ("rule", "counts", "is_round"),
    [
        ("log_linear", (5, 5), True),
        ("log_linear", (6, 8), True),
        ("log_linear", (6, 6), False),
        ("log_tchebycheff", (4, 4), True),
        ("log_tchebycheff", (5, 5, 5), False),
        ("equal_area", (5, 5), True),
    ],
)
def test_points_that_fit_no_rule_are_averaged_and_said(
    rule: str, counts: tuple[int, ...], is_round: bool
) -> None:
    section = SIX_IN if is_round else {"width": "8 in", "height": "4 in"}
    found = interpret(
        reading(
            "traverse",
            section=section,
            rule=rule,
            velocities=[["2 m/s"] * count for count in counts],
        ),
        THERMAL,
    )
    assert "traverse-off-rule" in codes(found)
    assert found.figure is not None


def test_rules_that_do_not_exist_have_no_positions() -> None:
    assert traverse_positions(TraverseRule.LOG_LINEAR, points_count=7) is None
    assert traverse_positions(TraverseRule.LOG_LINEAR, points_count=6, is_round=False) is None
    assert traverse_positions(TraverseRule.EQUAL_AREA, points_count=0) is None
    assert traverse_positions(TraverseRule.EQUAL_AREA, points_count=4, is_round=False) == (
        0.125,
        0.375,
        0.625,
        0.875,
    )


def test_a_reversed_or_empty_plane_is_refused_and_a_rough_one_widened() -> None:
    def traverse(*lines: list[str]):  # type: ignore[no-untyped-def]
        return interpret(
            reading("traverse", section=SIX_IN, rule="log_linear", velocity_pressures=list(lines)),
            meter(InstrumentKind.PITOT),
        )

    smooth = ["10 Pa", "11 Pa", "12 Pa", "12 Pa", "11 Pa", "10 Pa"]
    rough = ["0.2 Pa", "0.3 Pa", "12 Pa", "12 Pa", "0.5 Pa", "0.2 Pa"]
    assert codes(traverse(smooth, ["-1 Pa", *smooth[1:]]))[-1] == "traverse-reversed"
    assert traverse(["0 Pa"] * 6).figure is None
    assert traverse([]).figure is None
    found = traverse(smooth, rough)
    assert "8 of 12" in message(found, "traverse-plane-rough")
    assert share_of(flow_of(found), "station:SUP:plane") * math.sqrt(3) == pytest.approx(0.15)
    assert "traverse-plane-rough" not in codes(traverse(smooth, smooth))


def test_a_pitot_says_where_it_is_slow_and_its_gauge_decides() -> None:
    def at(pressure: str, fixed_pa: float) -> float:
        gauge = meter(InstrumentKind.PITOT, pressure=PressureChannel(accuracy_fixed_pa=fixed_pa))
        one = reading(
            "traverse",
            section=SIX_IN,
            rule="log_linear",
            velocity_pressures=[[pressure] * 6] * 2,
        )
        found = interpret(one, gauge)
        assert ("pitot-slow" in codes(found)) is (pressure == "2.5 Pa")
        flow = flow_of(found)
        return math.hypot(
            share_of(flow, "instrument:m1:pressure:traverse"), share_of(flow, "reading:r1:zero")
        )

    # Half the relative uncertainty of the pressure.
    assert at("2.5 Pa", 0.5) == pytest.approx(0.5 * 0.5 / 2.5 / math.sqrt(3), rel=0.02)
    assert at("10 Pa", 0.5) == pytest.approx(0.5 * 0.5 / 10.0 / math.sqrt(3), rel=0.02)


def test_few_points_and_one_line_are_noted() -> None:
    one = reading("traverse", section=SIX_IN, rule="log_linear", velocities=[["2 m/s"] * 6])
    found = interpret(one, THERMAL)
    assert "traverse-few-points" in codes(found)
    two = reading("traverse", section=SIX_IN, rule="log_linear", velocities=[["2 m/s"] * 6] * 2)
    assert flow_of(interpret(two, THERMAL)).u_std < flow_of(found).u_std


def test_a_single_point_has_the_centre_factor_or_none() -> None:
    def point(text: str, **fields):  # type: ignore[no-untyped-def]
        return interpret(
            reading("fixed_point", section=SIX_IN, velocities=[text], **fields), THERMAL
        )

    area = math.pi * 0.25 * (6 * 0.0254) ** 2
    centre = flow_of(point("600 fpm")).value / (600 * FPM_M_S * area)
    assert 0.80 < centre < 0.85
    mean = flow_of(point("600 fpm", position="mean_radius")).value / (600 * FPM_M_S * area)
    assert mean == pytest.approx(1.0)
    slow = point("0.2 m/s")
    assert "laminar" in message(slow, "centre-factor-open")
    assert flow_of(slow).u_std > flow_of(point("2 m/s")).u_std / 10
