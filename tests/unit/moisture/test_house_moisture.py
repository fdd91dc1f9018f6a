"""The water balance of a house: steady figures with uncertainty, and one hour step by step."""

from __future__ import annotations

import math

import pytest

from ventwright.air import air_estimate_from
from ventwright.moisture import (
    HouseAir,
    advance_humidity,
    drying_needed_kg_s,
    free_response,
    fresh_flow,
    steady_humidity,
    ventilation_load,
)
from ventwright.uncertainty import Estimate, exact, measured


def house(**changes: Estimate) -> HouseAir:
    plain = {
        "supply_kg_s": exact(0.05),
        "extract_kg_s": exact(0.05),
        "infiltration_kg_s": exact(0.01),
        "latent_effectiveness": exact(0.5),
        "exhaust_transfer_frac": exact(0.0),
        "release_kg_s": exact(1e-4),
    }
    return HouseAir(**{**plain, **changes})


def test_moisture_recovery_and_leakage_inside_the_unit_count_as_less_fresh_air() -> None:
    assert fresh_flow(house()).value == pytest.approx(0.035)
    assert fresh_flow(house(exhaust_transfer_frac=exact(0.1))).value == pytest.approx(0.0325)


def test_extract_beyond_supply_comes_in_through_the_envelope() -> None:
    more = fresh_flow(house(extract_kg_s=exact(0.06))).value
    assert more == pytest.approx(fresh_flow(house()).value + 0.01)


def test_steady_humidity_and_drying_agree() -> None:
    """At the humidity the house settles at, nothing has to be taken out."""
    air = house()
    settled = steady_humidity(air, outdoor_kg_kg=exact(0.008)).humidity_ratio_kg_kg
    needed = drying_needed_kg_s(air, outdoor_kg_kg=exact(0.008), wanted_kg_kg=exact(settled.value))
    assert needed.value == pytest.approx(0.0, abs=1e-15)


def test_uncertain_release_carries_through() -> None:
    release = measured(1e-4, u_std=2e-5, id="g", label="release")
    found = steady_humidity(house(release_kg_s=release), outdoor_kg_kg=exact(0.004))
    assert found.excess_kg_kg.u_std / found.excess_kg_kg.value == pytest.approx(0.2, rel=1e-6)


def test_a_sealed_house_never_settles() -> None:
    sealed = house(supply_kg_s=exact(0.0), extract_kg_s=exact(0.0), infiltration_kg_s=exact(0.0))
    with pytest.raises(ValueError, match="never settles"):
        steady_humidity(sealed, outdoor_kg_kg=exact(0.004))


def test_recovery_saves_what_it_returns() -> None:
    hot, room = (
        air_estimate_from(
            pressure_pa=exact(101_325.0), temperature_c=exact(t), rel_humidity_frac=exact(rh)
        )
        for t, rh in ((32.0, 0.65), (24.0, 0.5))
    )
    loads = {}
    for share in (0.0, 0.6):
        loads[share] = ventilation_load(
            supply_kg_s=exact(0.05),
            outdoor=hot,
            indoor=room,
            sensible_returned_frac=exact(share),
            latent_returned_frac=exact(share),
        )
    bare, behind = loads[0.0], loads[0.6]
    assert behind.moisture_kg_s.value == pytest.approx(0.4 * bare.moisture_kg_s.value)
    assert behind.saved_moisture_kg_s.value == pytest.approx(0.6 * bare.moisture_kg_s.value)
    assert behind.sensible_w.value + behind.saved_sensible_w.value == pytest.approx(
        bare.sensible_w.value
    )


HOUR = {"start_kg_kg": 0.010, "response_s_kg": 0.7}


def hour(**changes: float) -> tuple[float, float, float]:
    given = {
        **HOUR,
        "free_end_kg_kg": 0.012,
        "coil_end_kg_kg": 0.012,
        "coil_floor_kg_kg": math.inf,
        "wanted_kg_kg": math.inf,
        "capacity_kg_s": 0.0,
        **changes,
    }
    return advance_humidity(math, **given)


def test_an_hour_without_drying_ends_where_it_drifts() -> None:
    assert hour() == (0.012, 0.0, 0.0)


def test_a_dehumidifier_stops_at_its_set_point_or_at_its_capacity() -> None:
    end, _, taken = hour(wanted_kg_kg=0.011, capacity_kg_s=1.0)
    assert end == pytest.approx(0.011)
    assert taken * HOUR["response_s_kg"] == pytest.approx(0.001)
    end, _, taken = hour(wanted_kg_kg=0.009, capacity_kg_s=1e-3)
    assert taken == 1e-3
    assert end == pytest.approx(0.012 - 0.7e-3)


def test_a_coil_dries_no_further_than_the_air_that_leaves_it() -> None:
    end, taken, _ = hour(coil_floor_kg_kg=0.0105, coil_end_kg_kg=0.0101)
    assert end == pytest.approx(0.0105)
    assert taken == pytest.approx((0.012 - 0.0105) / 0.7)


def test_a_coil_never_moistens() -> None:
    dry = hour(free_end_kg_kg=0.008, coil_floor_kg_kg=0.011, coil_end_kg_kg=0.0095)
    assert dry == (0.008, 0.0, 0.0)


def test_many_short_steps_are_one_long_one() -> None:
    """The step is exact for steady conditions, so its length makes no difference."""
    given = {"settled_kg_kg": 0.012, "fresh_kg_s": 0.03, "stored_kg": 500.0}
    once, _ = free_response(math, start_kg_kg=0.009, step_s=36_000.0, **given)
    ratio = 0.009
    for _ in range(10):
        ratio, _ = free_response(math, start_kg_kg=ratio, step_s=3600.0, **given)
    assert ratio == pytest.approx(once, rel=1e-12)
