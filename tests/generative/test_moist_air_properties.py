"""Laws that hold for every state of moist air, whatever the pair it was made from."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from ventwright.air import AirStateError, MoistAir, kernels, moist_air_from
from ventwright.quantities.words import HumidityOver

PRESSURES_PA = st.floats(50_000.0, 110_000.0)
TEMPERATURES_C = st.floats(-39.9, 60.0)
RELS = st.floats(0.01, 1.0)
PLANES = st.sampled_from(HumidityOver)
# A frozen and a wet bulb of one air differ by up to a kelvin about 0 °C, so there two states have
# one wet bulb.
BULB_GAP_C = (-2.0, 1.0)


@st.composite
def airs(draw: st.DrawFn) -> MoistAir:
    return moist_air_from(
        pressure_pa=draw(PRESSURES_PA),
        temperature_c=draw(TEMPERATURES_C),
        rel_humidity_frac=draw(RELS),
        humidity_over=draw(PLANES),
        is_enhanced=draw(st.booleans()),
    )


@given(
    air=airs(),
    pair=st.sampled_from(
        [
            ("temperature_c", "dew_point_c"),
            ("temperature_c", "wet_bulb_c"),
            ("temperature_c", "humidity_ratio_kg_kg"),
            ("temperature_c", "enthalpy_j_kg"),
            ("rel_humidity_frac", "dew_point_c"),
            ("rel_humidity_frac", "wet_bulb_c"),
            ("rel_humidity_frac", "humidity_ratio_kg_kg"),
            ("rel_humidity_frac", "enthalpy_j_kg"),
            ("dew_point_c", "wet_bulb_c"),
            ("dew_point_c", "enthalpy_j_kg"),
            ("wet_bulb_c", "humidity_ratio_kg_kg"),
            ("humidity_ratio_kg_kg", "enthalpy_j_kg"),
        ]
    ),
)
def test_every_pair_leads_back(air: MoistAir, pair: tuple[str, str]) -> None:
    if "wet_bulb_c" in pair:
        assume(not BULB_GAP_C[0] < air.wet_bulb_c < BULB_GAP_C[1])
    assume(all(abs(t) > 0.02 for t in (air.temperature_c, air.dew_point_c)))
    again = moist_air_from(
        pressure_pa=air.pressure_pa,
        humidity_over=air.humidity_over,
        is_enhanced=air.is_enhanced,
        **{name: getattr(air, name) for name in pair},
    )
    assert again.temperature_c == pytest.approx(air.temperature_c, abs=1e-6)
    assert again.rel_humidity_frac == pytest.approx(air.rel_humidity_frac, rel=1e-6)
    assert again.humidity_ratio_kg_kg == pytest.approx(air.humidity_ratio_kg_kg, rel=1e-6)


@given(air=airs())
def test_temperatures_stand_in_order(air: MoistAir) -> None:
    """Dew point ≤ wet bulb ≤ dry bulb, and frost forms no later than dew."""
    slack_k = 4e-4  # the enhanced curves of ice and water meet 0.003 K from 0 °C, not at it
    assert air.wet_bulb_c <= air.temperature_c + slack_k
    assert air.dew_point_c <= air.frost_point_c + slack_k
    # A frozen bulb near 0 °C reads up to a kelvin lower than a wet one; the order is of one phase.
    if not BULB_GAP_C[0] < air.wet_bulb_c < BULB_GAP_C[1]:
        assert air.dew_point_c <= air.wet_bulb_c + slack_k


@given(air=airs(), other_rel=RELS)
def test_more_vapour_means_a_higher_dew_point_and_lighter_air(
    air: MoistAir, other_rel: float
) -> None:
    assume(other_rel > air.rel_humidity_frac + 1e-4)
    damper = moist_air_from(
        pressure_pa=air.pressure_pa,
        temperature_c=air.temperature_c,
        rel_humidity_frac=other_rel,
        humidity_over=air.humidity_over,
        is_enhanced=air.is_enhanced,
    )
    assert damper.dew_point_c >= air.dew_point_c
    assert damper.frost_point_c >= air.frost_point_c
    assert damper.enthalpy_j_kg > air.enthalpy_j_kg
    assert damper.density_kg_m3 < air.density_kg_m3


@pytest.mark.parametrize("over", HumidityOver)
@pytest.mark.parametrize("is_enhanced", [True, False])
def test_dew_point_rises_with_vapour_through_the_triple_point(
    over: HumidityOver, is_enhanced: bool
) -> None:
    vapour_pa = np.linspace(600.0, 625.0, 20_001)
    step_k = 25.0 / 20_000 / 44.0  # a step of pressure over the curve's slope, 44 Pa/K and more
    dew_c = kernels.saturation_temperature_c(
        np, vapour_pressure_pa=vapour_pa, pressure_pa=101_325.0, over=over, is_enhanced=is_enhanced
    )
    assert np.all(np.diff(dew_c) >= 0.0)
    # Where ice and water meet the curves may leave a gap of 0.0004 K, no more.
    assert np.max(np.diff(dew_c)) < step_k + 4e-4


@given(
    states=st.lists(st.tuples(st.floats(-39.9, 89.0), RELS, PRESSURES_PA), min_size=1, max_size=20),
    over=PLANES,
    is_enhanced=st.booleans(),
)
def test_one_state_and_many_agree(
    states: list[tuple[float, float, float]], over: HumidityOver, is_enhanced: bool
) -> None:
    """The same kernels by `math` and by NumPy, over ice and water, side by side."""
    airs_one_by_one = []
    for temperature_c, rel, pressure_pa in states:
        try:
            air = moist_air_from(
                pressure_pa=pressure_pa,
                temperature_c=temperature_c,
                rel_humidity_frac=rel,
                humidity_over=over,
                is_enhanced=is_enhanced,
            )
        except AirStateError:
            continue  # hot and low: beyond boiling
        airs_one_by_one.append(air)
    assume(airs_one_by_one)
    temperature, rel, pressure = (
        np.array([getattr(air, name) for air in airs_one_by_one])
        for name in ("temperature_c", "rel_humidity_frac", "pressure_pa")
    )
    vapour = rel * kernels.saturation_pressure_pa(
        np, temperature_c=temperature, pressure_pa=pressure, over=over, is_enhanced=is_enhanced
    )
    ratio = kernels.humidity_ratio_kg_kg(vapour_pressure_pa=vapour, pressure_pa=pressure)
    many = {
        "humidity_ratio_kg_kg": ratio,
        "dew_point_c": kernels.saturation_temperature_c(
            np, vapour_pressure_pa=vapour, pressure_pa=pressure, over=over, is_enhanced=is_enhanced
        ),
        "wet_bulb_c": kernels.wet_bulb_c(
            np,
            temperature_c=temperature,
            humidity_ratio_kg_kg=ratio,
            pressure_pa=pressure,
            over=over,
            is_enhanced=is_enhanced,
        ),
        "enthalpy_j_kg": kernels.enthalpy_j_kg(
            temperature_c=temperature, humidity_ratio_kg_kg=ratio
        ),
        "density_kg_m3": kernels.density_kg_m3(
            temperature_c=temperature, humidity_ratio_kg_kg=ratio, pressure_pa=pressure
        ),
    }
    for name, values in many.items():
        single = [getattr(air, name) for air in airs_one_by_one]
        assert values == pytest.approx(single, rel=1e-11, abs=1e-11), name


def test_kernels_take_a_scalar_beside_an_array() -> None:
    dew_c = kernels.saturation_temperature_c(
        np,
        vapour_pressure_pa=np.array([300.0, 611.0, 612.0, 1200.0]),
        pressure_pa=101_325.0,
        over=HumidityOver.ICE,
    )
    singly = [
        kernels.saturation_temperature_c(
            math, vapour_pressure_pa=v, pressure_pa=101_325.0, over=HumidityOver.ICE
        )
        for v in (300.0, 611.0, 612.0, 1200.0)
    ]
    assert dew_c == pytest.approx(singly, abs=1e-12)
