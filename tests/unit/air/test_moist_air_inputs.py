"""What `moist_air_from` accepts and what it refuses, by name."""

from __future__ import annotations

import itertools
from typing import Any

import pytest

from ventwright.air import AirStateError, MoistAir, dew_point_c_from, moist_air_from
from ventwright.air.states import SATURATION_ROUNDING_FRAC
from ventwright.quantities.problems import Severity, UserError
from ventwright.quantities.words import HumidityOver

SIX = (
    "temperature_c",
    "rel_humidity_frac",
    "dew_point_c",
    "wet_bulb_c",
    "humidity_ratio_kg_kg",
    "enthalpy_j_kg",
)
UNDETERMINED = ({"dew_point_c", "humidity_ratio_kg_kg"}, {"wet_bulb_c", "enthalpy_j_kg"})
PAIRS = [pair for pair in itertools.combinations(SIX, 2) if set(pair) not in UNDETERMINED]


def refusal(**given: Any) -> AirStateError:
    with pytest.raises(AirStateError) as caught:
        moist_air_from(**{"pressure_pa": 101_325.0, **given})
    return caught.value


def room() -> MoistAir:
    return moist_air_from(pressure_pa=101_325.0, temperature_c=21.0, rel_humidity_frac=0.4)


@pytest.mark.parametrize("pair", PAIRS, ids="+".join)
def test_each_pair_leads_back_to_the_state(pair: tuple[str, str]) -> None:
    air = room()
    again = moist_air_from(pressure_pa=101_325.0, **{name: getattr(air, name) for name in pair})
    for name in SIX:
        assert getattr(again, name) == pytest.approx(getattr(air, name), rel=1e-7), name


@pytest.mark.parametrize("pair", UNDETERMINED, ids=sorted)
def test_pairs_that_fix_no_state_are_refused(pair: set[str]) -> None:
    error = refusal(**{name: getattr(room(), name) for name in pair})
    assert error.problems[0].code == "air-state-pair"
    assert all(name in str(error) for name in pair)


def test_one_or_three_properties_are_refused_by_name() -> None:
    assert "1 given (temperature_c)" in str(refusal(temperature_c=20.0))
    assert "none" in str(refusal())
    three = refusal(temperature_c=20.0, rel_humidity_frac=0.5, dew_point_c=9.0)
    assert "temperature_c, rel_humidity_frac, dew_point_c" in str(three)


def test_an_air_error_is_the_users_and_carries_its_problem() -> None:
    error = refusal(temperature_c=20.0, rel_humidity_frac=65.0)
    assert isinstance(error, UserError)
    (problem,) = error.problems
    assert (problem.code, problem.severity) == ("air-out-of-range", Severity.REFUSAL)
    assert "0.65" in problem.remedy


@pytest.mark.parametrize(
    ("given", "where"),
    [
        ({"temperature_c": -41.0, "rel_humidity_frac": 0.5}, "temperature_c"),
        ({"temperature_c": 91.0, "rel_humidity_frac": 0.1}, "temperature_c"),
        ({"temperature_c": float("nan"), "rel_humidity_frac": 0.1}, "temperature_c"),
        ({"temperature_c": float("nan"), "wet_bulb_c": 10.0}, "temperature_c"),
        ({"temperature_c": 20.0, "rel_humidity_frac": float("nan")}, "rel_humidity_frac"),
        ({"temperature_c": 20.0, "rel_humidity_frac": 0.0}, "rel_humidity_frac"),
        ({"temperature_c": 20.0, "dew_point_c": float("nan")}, "dew_point_c"),
        ({"temperature_c": 20.0, "dew_point_c": -96.0}, "dew_point_c"),
        ({"temperature_c": 20.0, "humidity_ratio_kg_kg": -0.001}, "humidity_ratio_kg_kg"),
        ({"temperature_c": 20.0, "enthalpy_j_kg": float("inf")}, "enthalpy_j_kg"),
        ({"temperature_c": 20.0, "enthalpy_j_kg": 10_000.0}, "enthalpy_j_kg"),
        ({"temperature_c": 40.0, "wet_bulb_c": 5.0}, "wet_bulb_c"),
        ({"humidity_ratio_kg_kg": 0.001, "enthalpy_j_kg": 120_000.0}, "temperature_c"),
        ({"rel_humidity_frac": 0.5, "enthalpy_j_kg": 4.0e6}, "humidity-and-enthalpy"),
        ({"temperature_c": 20.0, "rel_humidity_frac": 0.5, "pressure_pa": 49_999.0}, "pressure_pa"),
        ({"temperature_c": 20.0, "rel_humidity_frac": 0.5, "pressure_pa": 1013.25}, "pressure_pa"),
        ({"temperature_c": 85.0, "rel_humidity_frac": 0.1, "pressure_pa": 5e4}, "temperature_c"),
        (
            {"temperature_c": 90.0, "rel_humidity_frac": 1.0, "pressure_pa": 9e4},
            "humidity_ratio_kg_kg",
        ),
    ],
)
def test_out_of_range_is_refused_by_field(given: dict[str, float], where: str) -> None:
    (problem,) = refusal(**given).problems
    assert (problem.code, problem.where) == ("air-out-of-range", where)


def test_above_saturation_is_refused_and_says_by_how_much() -> None:
    error = refusal(temperature_c=20.0, dew_point_c=21.0)
    assert error.problems[0].code == "air-above-saturation"
    assert "6.4 % above saturation" in str(error)
    assert refusal(temperature_c=20.0, wet_bulb_c=20.5).problems[0].code == "air-above-saturation"
    for other in ({"dew_point_c": 20.5}, {"humidity_ratio_kg_kg": 0.016}):
        assert refusal(wet_bulb_c=20.0, **other).problems[0].code == "air-above-saturation"


def test_rounding_above_saturation_is_read_as_saturated() -> None:
    for given in (
        {"temperature_c": 20.0, "dew_point_c": 20.02},
        {"temperature_c": 20.0, "wet_bulb_c": 20.02},
        {"temperature_c": 20.0, "rel_humidity_frac": 1.0 + SATURATION_ROUNDING_FRAC},
        {"wet_bulb_c": 20.0, "dew_point_c": 20.02},
        {"wet_bulb_c": 20.0, "rel_humidity_frac": 1.0},
    ):
        air = moist_air_from(pressure_pa=101_325.0, **given)
        assert air.rel_humidity_frac == 1.0
        assert air.vapour_pressure_pa == air.saturation_pressure_pa
        assert air.dew_point_c == pytest.approx(20.0, abs=1e-6)
        assert air.wet_bulb_c == pytest.approx(20.0, abs=1e-6)


@pytest.mark.parametrize(
    ("given", "where"),
    [
        ({"temperature_c": -10.0, "rel_humidity_frac": 0.8}, "rel_humidity_frac"),
        ({"temperature_c": 5.0, "dew_point_c": -3.0}, "dew_point_c"),
        ({"temperature_c": 2.0, "wet_bulb_c": -1.0}, "wet_bulb_c"),
        ({"rel_humidity_frac": 0.8, "humidity_ratio_kg_kg": 0.0012}, "rel_humidity_frac"),
    ],
)
def test_a_humidity_below_freezing_needs_its_plane(given: dict[str, float], where: str) -> None:
    (problem,) = refusal(**given).problems
    assert (problem.code, problem.where) == ("air-humidity-plane", where)
    over_ice = moist_air_from(pressure_pa=101_325.0, **given, humidity_over=HumidityOver.ICE)
    over_water = moist_air_from(pressure_pa=101_325.0, **given, humidity_over=HumidityOver.WATER)
    assert over_ice != over_water


def test_the_plane_is_not_asked_where_it_does_not_matter() -> None:
    cold = moist_air_from(pressure_pa=101_325.0, temperature_c=-10.0, humidity_ratio_kg_kg=0.0012)
    assert cold.humidity_over is HumidityOver.ICE
    warm = moist_air_from(pressure_pa=101_325.0, temperature_c=20.0, rel_humidity_frac=0.2)
    assert warm.dew_point_c == warm.frost_point_c < 0.0


def test_a_probe_over_water_holds_more_vapour_below_freezing() -> None:
    """The ratio of the planes at −10 °C is 1/0.9054 after Magnus (magnus_sonntag_1990)."""
    states = [
        moist_air_from(
            pressure_pa=101_325.0, temperature_c=-10.0, rel_humidity_frac=0.8, humidity_over=over
        )
        for over in (HumidityOver.WATER, HumidityOver.ICE)
    ]
    ratio = states[0].vapour_pressure_pa / states[1].vapour_pressure_pa
    assert ratio == pytest.approx(1.0 / 0.9054, rel=0.003)
    assert states[0].dew_point_c < states[0].frost_point_c
    assert states[1].dew_point_c == states[1].frost_point_c


def test_air_between_ice_and_water_saturation_needs_the_water_plane() -> None:
    """Supercooled fog exists: 100 % over water at −10 °C is 110 % over ice."""
    fog = moist_air_from(
        pressure_pa=101_325.0,
        temperature_c=-10.0,
        rel_humidity_frac=1.0,
        humidity_over=HumidityOver.WATER,
    )
    assert fog.frost_point_c > fog.temperature_c
    error = refusal(temperature_c=-10.0, humidity_ratio_kg_kg=fog.humidity_ratio_kg_kg)
    assert "over water" in str(error)


def test_pressure_hardly_moves_a_dew_point() -> None:
    dew_points = [
        dew_point_c_from(temperature_c=21.0, rel_humidity_frac=0.4, pressure_pa=pressure_pa)
        for pressure_pa in (91_325.0, 101_325.0)
    ]
    assert dew_points[0] == pytest.approx(dew_points[1], abs=1e-3)
