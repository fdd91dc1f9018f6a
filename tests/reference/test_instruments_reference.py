"""Readings made into flows against printed tables and calculations made apart from the program."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any

import pytest

from tests.reference import shelves
from tests.unit.instruments.cases import (
    CFM_M3_S,
    FPM_M_S,
    IN2_M2,
    IN_WC_PA,
    flow_of,
    interpret,
    meter,
    plain_air,
    reading,
)
from ventwright.house import InstrumentKind, SweepPath, TraverseRule
from ventwright.instruments import box_flow_m3_s, traverse_positions
from ventwright.instruments.ducts_read import ROUND_PATHS, centre_factor
from ventwright.instruments.insertion import insertion_factor
from ventwright.instruments.rules import rule_bias
from ventwright.quantities import STANDARD_AIR_DENSITY_KG_M3, Side

HOT_WIRE_FPM = ((420, 505, 540, 545, 515, 450), (400, 480, 530, 555, 530, 460))
PITOT_IN_WC = (
    (0.012, 0.018, 0.020, 0.019, 0.016, 0.011),
    (0.012, 0.017, 0.021, 0.020, 0.016, 0.012),
)


def position(rule: str, points_count: int, is_round: bool, index: int) -> float:
    found = traverse_positions(TraverseRule(rule), points_count=points_count, is_round=is_round)
    assert found is not None
    assert found[-1 - index] == pytest.approx(1.0 - found[index])
    return found[index]


def log_law_mean(rule: str, points_count: int, r_plus: float) -> float:
    """Mean over the rule's points of u⁺ = 2.5 ln y⁺ + 5.5."""
    points = traverse_positions(TraverseRule(rule), points_count=points_count)
    assert points is not None
    values = [2.5 * math.log(2.0 * min(y, 1.0 - y) * r_plus) + 5.5 for y in points]
    return sum(values) / len(values)


def example_a(density_ratio: float, basis: str) -> float:
    found = interpret(
        reading(
            "traverse",
            section={"diameter": "6 in"},
            rule="log_linear",
            velocities=[[f"{v} fpm" for v in line] for line in HOT_WIRE_FPM],
        ),
        meter(InstrumentKind.THERMAL_ANEMOMETER),
        air=plain_air(density_ratio * STANDARD_AIR_DENSITY_KG_M3),
    )
    assert found.figure is not None
    figure = found.figure.std_flow_m3_s if basis == "std" else found.figure.flow_m3_s
    return figure.value / CFM_M3_S


def example_b() -> float:
    found = interpret(
        reading(
            "traverse",
            section={"diameter": "6 in"},
            rule="log_linear",
            velocity_pressures=[[f"{p} inwc" for p in line] for line in PITOT_IN_WC],
        ),
        meter(InstrumentKind.PITOT),
    )
    return flow_of(found).value / CFM_M3_S


def pitot_velocity(velocity_pressure_in_wc: float) -> float:
    """Velocity of a traverse whose points are all alike, in a square of one square metre."""
    line = [f"{velocity_pressure_in_wc} inwc"] * 5
    found = interpret(
        reading(
            "traverse",
            section={"width": "1 m", "height": "1 m"},
            rule="log_tchebycheff",
            velocity_pressures=[line] * 5,
        ),
        meter(InstrumentKind.PITOT),
    )
    return flow_of(found).value / FPM_M_S


READ_BY = {
    "thermal": (
        {"method": "sweep", "section": {"diameter": "6 in"}, "velocities": ["400 fpm"]},
        InstrumentKind.THERMAL_ANEMOMETER,
    ),
    "vane": (
        {"method": "vane", "velocities": ["400 fpm"], "area": "12 in²"},
        InstrumentKind.VANE_METER,
    ),
    "box": (
        {"method": "flow_box", "drops": ["3 Pa"], "opening_area": "9 in²"},
        InstrumentKind.MANOMETER,
    ),
}


def density_factor(density_ratio: float, kind: str) -> float:
    """Actual flow of one indication at a density over that at standard density."""
    fields, instrument = READ_BY[kind]
    one = reading(**fields)
    density = density_ratio * STANDARD_AIR_DENSITY_KG_M3
    thin, standard = (
        flow_of(interpret(one, meter(instrument), air=plain_air(d), side=Side.EXTRACT)).value
        for d in (density, STANDARD_AIR_DENSITY_KG_M3)
    )
    return thin / standard


def box_cfm(area_in2: float, drop_pa: float) -> float:
    """The box's formula in the units it is printed in."""
    return box_flow_m3_s(opening_area_m2=area_in2 * IN2_M2, drop_pa=drop_pa) / CFM_M3_S


def most_taken(hood_drop_pa: float) -> float:
    factor, half_width = insertion_factor(hood_drop_pa=hood_drop_pa)
    return 1.0 / (factor + half_width) - 1.0


def neck_correction(flow_cfm: float, p0_pa: float, p1_pa: float, hood_pa: float) -> float:
    factor, half_width = insertion_factor(
        hood_drop_pa=hood_pa, terminal_pressure_pa=p1_pa, terminal_pressure_free_pa=p0_pa
    )
    assert half_width == 0.0
    return flow_cfm * factor


def bias_of_equal_area(points_count: int, exponent: float) -> float:
    points = traverse_positions(TraverseRule.EQUAL_AREA, points_count=points_count)
    assert points is not None
    return rule_bias(points, exponent=exponent)


FUNCTIONS: dict[str, Callable[..., float]] = {
    "position": position,
    "log_law_mean": log_law_mean,
    "example_a": example_a,
    "example_b": example_b,
    "pitot_velocity": pitot_velocity,
    "density_factor": density_factor,
    "box_cfm": box_cfm,
    "most_taken": most_taken,
    "neck_correction": neck_correction,
    "centre_factor": lambda reynolds: centre_factor(reynolds)[0],
    "sweep_times_bias": lambda path, bias: ROUND_PATHS[SweepPath(path)].factor * bias,
    "rule_bias": bias_of_equal_area,
}


@pytest.mark.parametrize("row", shelves.rows("instruments.csv"), ids=str)
def test_instruments_reference(row: shelves.Row) -> None:
    arguments: dict[str, Any] = row.inputs
    row.check(FUNCTIONS[row["function"]](**arguments))


def test_pressures_averaged_first_would_read_high() -> None:
    """Velocities are averaged, never pressures (UFGS 15951N 3.2.2)."""
    pressures = [p for line in PITOT_IN_WC for p in line]
    area = math.pi * 0.25 * (6 * 0.0254) ** 2
    mean_pa = IN_WC_PA * sum(pressures) / len(pressures)
    wrong = area * math.sqrt(2.0 * mean_pa / STANDARD_AIR_DENSITY_KG_M3) / CFM_M3_S
    assert wrong / example_b() == pytest.approx(1.006, abs=0.001)


def test_common_practice_a_box_of_nine_square_inches_at_twelve_cfm() -> None:
    """Common practice, no source: 12 cfm through 9 in² of opening is about 1.5 Pa."""
    drop = 1.5 * (12.0 / box_cfm(9.0, 1.5)) ** 2
    assert drop == pytest.approx(1.5, abs=0.1)


def test_common_practice_an_eight_inch_duct_with_121_cfm() -> None:
    """Common practice, no source: 121 cfm in an 8-inch duct, a mean velocity near 347 fpm."""
    found = interpret(
        reading("sweep", section={"diameter": "8 in"}, velocities=["347 fpm"], path="stops"),
        meter(InstrumentKind.THERMAL_ANEMOMETER),
    )
    assert flow_of(found).value / CFM_M3_S == pytest.approx(121.0, abs=0.5)
