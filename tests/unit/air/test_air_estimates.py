"""States of air with uncertainty: known sensitivities, and slopes that hold up to saturation."""

from __future__ import annotations

import math

import pytest

from ventwright.air import AirStateError, air_estimate_from
from ventwright.quantities import HumidityOver
from ventwright.uncertainty import exact, measured

PRESSURE = exact(101_325.0)


def state(temperature_c: float, *, half_width_k: float, **humidity):  # type: ignore[no-untyped-def]
    """A state whose inputs are known within rectangular limits."""
    name, (value, half) = next(iter(humidity.items()))
    return air_estimate_from(
        pressure_pa=PRESSURE,
        temperature_c=measured(
            temperature_c, u_std=half_width_k / math.sqrt(3.0), id="t", label="temperature"
        ),
        humidity_over=HumidityOver.ICE if temperature_c < 0.0 else None,
        **{name: measured(value, u_std=half / math.sqrt(3.0), id="h", label="humidity")},
    )


@pytest.mark.parametrize(
    ("temperature_c", "humidity", "half_k", "half_frac", "expected_k"),
    [
        (20.0, 0.50, 0.5, 0.03, 1.16),
        (20.0, 0.50, 0.3, 0.02, 0.76),
        (21.0, 0.40, 0.5, 0.03, 1.36),
        (22.0, 0.30, 0.5, 0.03, 1.71),
        (-10.0, 0.80, 0.5, 0.03, 0.74),
        (35.0, 0.47, 0.5, 0.02, 0.96),
    ],
)
def test_dew_point_at_twice_its_standard_uncertainty(
    temperature_c: float, humidity: float, half_k: float, half_frac: float, expected_k: float
) -> None:
    """Independent: slopes of psychrolib's dew point, limits rectangular, k = 2."""
    air = state(temperature_c, half_width_k=half_k, rel_humidity_frac=(humidity, half_frac))
    assert 2.0 * air.dew_point_c.u_std == pytest.approx(expected_k, abs=0.01)


@pytest.mark.parametrize(
    ("below", "at"),
    [
        ({"rel_humidity_frac": (0.997, 0.03)}, {"rel_humidity_frac": (1.0, 0.03)}),
        ({"rel_humidity_frac": (0.997, 0.03)}, {"rel_humidity_frac": (1.001, 0.03)}),
        ({"dew_point_c": (9.95, 0.4)}, {"dew_point_c": (10.0, 0.4)}),
        ({"wet_bulb_c": (9.95, 0.4)}, {"wet_bulb_c": (10.0, 0.4)}),
    ],
)
def test_the_uncertainty_does_not_jump_at_saturation(below, at) -> None:  # type: ignore[no-untyped-def]
    before, saturated = (state(10.0, half_width_k=0.5, **given) for given in (below, at))
    for name in ("humidity_ratio_kg_kg", "rel_humidity_frac", "dew_point_c", "density_kg_m3"):
        assert getattr(saturated, name).u_std == pytest.approx(
            getattr(before, name).u_std, rel=0.03
        )


def test_more_than_rounding_above_saturation_is_refused() -> None:
    with pytest.raises(AirStateError, match="relative humidity"):
        state(10.0, half_width_k=0.5, rel_humidity_frac=(1.01, 0.03))
