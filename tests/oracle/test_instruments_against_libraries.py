"""Budgets against `uncertainties` and NumPy draws; constants against other libraries."""

from __future__ import annotations

import math
import random

import fluids
import numpy as np
import pytest
from CoolProp.CoolProp import PropsSI
from fluids.flow_meter import C_Reader_Harris_Gallagher
from uncertainties import ufloat, umath

from tests.unit.instruments.cases import (
    IN2_M2,
    flow_of,
    interpret,
    measured_air,
    meter,
    reading,
)
from ventwright.house import InstrumentKind, PressureChannel, VelocityChannel
from ventwright.instruments.box import DEFAULT_COEFF_HALF_WIDTH_FRAC, DISCHARGE_COEFF
from ventwright.instruments.ducts_read import centre_factor
from ventwright.instruments.exchanger import flow_from_table, viscosity_ratio
from ventwright.quantities import STANDARD_AIR_DENSITY_KG_M3, Side
from ventwright.uncertainty import monte_carlo, propagate

ROOT3 = math.sqrt(3.0)
VELOCITY = VelocityChannel(
    accuracy_of_reading_frac=0.03, accuracy_fixed_m_s=0.05, resolution_m_s=0.01
)
PRESSURE = PressureChannel(accuracy_of_reading_frac=0.01, accuracy_fixed_pa=0.2, resolution_pa=0.1)


def pooled(values: tuple[float, ...], *, spread_frac: float, floor: float) -> float:
    """Standard uncertainty of the mean, the values' spread pooled with five typical degrees."""
    mean, count = float(np.mean(values)), len(values)
    prior = max(spread_frac * mean, floor)
    squares = float(np.sum((np.array(values) - mean) ** 2))
    variance = (5.0 * prior**2 + squares) / (5.0 + count - 1.0)
    own = float(np.var(values, ddof=1)) if count > 1 else 0.0
    return math.sqrt(max(variance, own) / count)


def test_a_sweep() -> None:
    air = measured_air(pressure_pa=84_000.0, temperature_c=18.0)
    found = interpret(
        reading(
            "sweep",
            section={"diameter": "150 mm"},
            velocities=["2.50 m/s", "2.62 m/s"],
            path="one_diameter",
            straight_upstream="0.8 m",
        ),
        meter(InstrumentKind.THERMAL_ANEMOMETER, velocity=VELOCITY),
        air=air,
    )
    values = (2.50, 2.62)
    mean = sum(values) / 2
    diameter = ufloat(0.150, 0.001 / ROOT3)
    velocity = (
        mean
        + ufloat(0.0, (0.03 * mean + 0.05) / ROOT3)
        + ufloat(0.0, pooled(values, spread_frac=0.03, floor=0.02))
        + ufloat(0.0, 0.005 / ROOT3)
    )
    density = ufloat(air.density_kg_m3.value, air.density_kg_m3.u_std)
    expected = (
        math.pi
        / 4.0
        * diameter**2
        * velocity
        * ufloat(0.92, 0.02 / ROOT3)
        * ufloat(1.0, 0.05 / ROOT3)
        * STANDARD_AIR_DENSITY_KG_M3
        / density
    )
    flow = flow_of(found)
    assert flow.value == pytest.approx(expected.nominal_value, rel=1e-9)
    assert flow.u_std == pytest.approx(expected.std_dev, rel=1e-6)


def test_a_vane_in_a_cone() -> None:
    found = interpret(
        reading(
            "vane",
            station="terminal:t1",
            velocities=["1.60 m/s", "1.66 m/s", "1.63 m/s"],
            area="78.5 cm²",
            factor_ratio=1.03,
            has_cone=True,
        ),
        meter(InstrumentKind.VANE_METER, velocity=VELOCITY),
        side=Side.SUPPLY,
    )
    values = (1.60, 1.66, 1.63)
    mean = sum(values) / 3
    velocity = (
        mean
        + ufloat(0.0, (0.03 * mean + 0.05) / ROOT3)
        + ufloat(0.0, pooled(values, spread_frac=0.02, floor=0.02))
        + ufloat(0.0, 0.005 / ROOT3)
    )
    drop = 1.5 * 0.5 * STANDARD_AIR_DENSITY_KG_M3 * mean**2
    most = math.sqrt(1.0 + drop / 20.0)
    expected = (
        78.5e-4
        * velocity
        * 1.03
        * ufloat(1.0, 0.03 / ROOT3)
        * ufloat(1.0, 0.05 / ROOT3)
        * ufloat(0.5 * (1.0 + most), 0.5 * (most - 1.0) / ROOT3)
    )
    flow = flow_of(found)
    assert flow.value == pytest.approx(expected.nominal_value, rel=1e-9)
    assert flow.u_std == pytest.approx(expected.std_dev, rel=1e-6)


def test_a_box_with_the_pressures_behind_the_terminal() -> None:
    air = measured_air(pressure_pa=95_000.0)
    found = interpret(
        reading(
            "flow_box",
            station="terminal:t1",
            drops=["3.0 Pa", "3.2 Pa"],
            opening_area="9 in²",
            terminal_pressure="30.7 Pa",
            terminal_pressure_free="30 Pa",
        ),
        meter(InstrumentKind.MANOMETER, pressure=PRESSURE),
        side=Side.EXTRACT,
        air=air,
    )
    # All three pressures share the gauge's calibration; each has a zero and a rounding of its own.
    gauge = ufloat(0.0, 1.0)

    def pressure(value: float):  # type: ignore[no-untyped-def]
        whole, own = (0.01 * value + 0.2) / ROOT3, 0.2 / ROOT3 / math.sqrt(2.0)
        return (
            value
            + math.sqrt(whole**2 - own**2) * gauge
            + ufloat(0.0, own)
            + ufloat(0.0, 0.05 / ROOT3)
        )

    drop = pressure(3.1) + ufloat(0.0, pooled((3.0, 3.2), spread_frac=0.03, floor=0.1))
    p1, p0 = pressure(30.7), pressure(30.0)
    density = ufloat(air.density_kg_m3.value, air.density_kg_m3.u_std)
    expected = (
        ufloat(DISCHARGE_COEFF, DISCHARGE_COEFF * 0.04 / ROOT3)
        * 9
        * IN2_M2
        * ufloat(1.0, 0.015 / ROOT3)
        * umath.sqrt(2.0 * drop / density)
        * umath.sqrt(p0 / (p1 - drop))
    )
    flow = flow_of(found)
    assert flow.value == pytest.approx(expected.nominal_value, rel=1e-9)
    assert flow.u_std == pytest.approx(expected.std_dev, rel=1e-6)


def test_a_boxs_first_order_budget_holds_against_draws() -> None:
    """NumPy draws rectangular limits through the whole formula, square root included."""
    found = interpret(
        reading("flow_box", station="terminal:t1", drops=["2.0 Pa"], opening_area="9 in²"),
        meter(InstrumentKind.MANOMETER, pressure=PRESSURE),
        side=Side.EXTRACT,
    )
    rng = np.random.default_rng(11)
    count = 200_000

    def within(half: float) -> np.ndarray:
        return rng.uniform(-half, half, count)

    drop = 2.0 + within(0.01 * 2.0 + 0.2) + within(0.05) + rng.normal(0.0, 0.1, count)
    most = math.sqrt(1.0 + 2.0 / 20.0)
    flows = (
        DISCHARGE_COEFF
        * (1.0 + within(0.04))
        * 9
        * IN2_M2
        * (1.0 + within(0.015))
        * np.sqrt(2.0 * drop / STANDARD_AIR_DENSITY_KG_M3)
        * (0.5 * (1.0 + most) + within(0.5 * (most - 1.0)))
    )
    flow = flow_of(found)
    assert flow.value == pytest.approx(flows.mean(), rel=0.003)
    assert flow.u_std == pytest.approx(flows.std(), rel=0.02)


def test_our_own_draws_agree_with_the_budget_of_a_flow() -> None:
    found = interpret(
        reading("sweep", section={"diameter": "6 in"}, velocities=["500 fpm"], path="zigzag"),
        meter(InstrumentKind.THERMAL_ANEMOMETER, velocity=VELOCITY),
        air=measured_air(),
    )
    assert found.figure is not None
    inputs = [found.figure.std_flow_m3_s, found.figure.flow_m3_s]
    first_order = propagate(lambda std, actual: std / actual, inputs)
    drawn = monte_carlo(
        lambda std, actual: std / actual, inputs, count=4000, draws=random.Random(2)
    )
    # The two flows share all but density, which alone is left in their ratio.
    assert drawn.u_std == pytest.approx(first_order.u_std, rel=0.05)
    assert first_order.u_std < 0.003


@pytest.mark.parametrize(("area_in2", "flow_cfm"), [(9, 10), (9, 15), (9, 30), (24, 60)])
def test_the_boxs_coefficient_takes_in_the_pipe_orifice_correlation(
    area_in2: float, flow_cfm: float
) -> None:
    """Reader-Harris/Gallagher at a small opening in a large box (a guide: it is for pipes)."""
    opening = math.sqrt(4.0 * area_in2 * IN2_M2 / math.pi)
    mass_flow = flow_cfm * 4.719474e-4 * 1.2
    coeff = C_Reader_Harris_Gallagher(
        D=opening / 0.2, Do=opening, rho=1.2, mu=1.82e-5, m=mass_flow, taps="corner"
    )
    assert abs(coeff / DISCHARGE_COEFF - 1.0) < DEFAULT_COEFF_HALF_WIDTH_FRAC


@pytest.mark.parametrize("reynolds", [5e3, 1e4, 2e4, 5e4, 1e5])
def test_the_centre_factor_takes_in_colebrook_and_the_power_law(reynolds: float) -> None:
    value, half = centre_factor(reynolds)
    friction = fluids.friction_factor(Re=reynolds, eD=9e-5 / 0.125)
    assert abs(value - 1.0 / (1.0 + 1.326 * math.sqrt(friction))) < half
    # n = 1/√f is the usual exponent of the power law at this friction.
    n = 1.0 / math.sqrt(friction)
    assert abs(value - 2.0 * n * n / ((n + 1.0) * (2.0 * n + 1.0))) < half


@pytest.mark.parametrize("temperature_c", [-20.0, 0.0, 20.0, 40.0])
def test_viscosity_against_coolprop(temperature_c: float) -> None:
    at, reference = (
        PropsSI("V", "T", t + 273.15, "P", 101325.0, "Air") for t in (temperature_c, 20.0)
    )
    ours = viscosity_ratio(temperature_c=temperature_c, reference_c=20.0)
    assert ours == pytest.approx(at / reference, rel=2e-3)


def test_a_table_of_a_power_law_is_read_exactly() -> None:
    flows = np.linspace(0.02, 0.09, 6)
    table = tuple((float(900.0 * q**1.15), float(q)) for q in flows)
    for q in np.linspace(0.0201, 0.0899, 17):
        found = flow_from_table(table, pressure_pa=float(900.0 * q**1.15))
        assert found is not None
        assert found[0] == pytest.approx(q, rel=1e-9)
        assert found[1] == pytest.approx(1.15, rel=1e-9)
