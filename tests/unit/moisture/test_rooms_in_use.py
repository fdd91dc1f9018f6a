"""Rooms in use: no water is lost, more air makes nothing worse, odd input is refused by name."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

import pytest

from ventwright.moisture import (
    RELEASE_RATES,
    Activity,
    ExtractStep,
    Release,
    RoomInUse,
    RoomRun,
    RoomSurface,
    WetRoomPlan,
    boosted_extract,
    evaporation_heat_w,
    household_release,
    is_clear,
    middle_of,
    release_rate,
    run_room,
    smallest_extract,
    usual_wet_room_assumptions,
    wet_room,
)

PLAN = WetRoomPlan(
    volume_m3=12.0,
    mirror_m2=1.0,
    tiles_m2=15.0,
    lining_m2=18.0,
    incoming_c=21.0,
    incoming_humidity_ratio_kg_kg=0.0069,
    pressure_pa=101_325.0,
    shower_s=600.0,
)
MIRROR = RoomSurface(
    surface_id="mirror",
    area_m2=1.0,
    temperature_c=21.0,
    convection_w_m2_k=4.0,
    film_capacity_kg_m2=0.05,
)
BATHROOM = RoomInUse(
    volume_m3=12.0,
    pressure_pa=101_325.0,
    incoming_c=21.0,
    incoming_humidity_ratio_kg_kg=0.0069,
    start_c=24.0,
    start_humidity_ratio_kg_kg=0.0069,
    surfaces=(MIRROR,),
    holds_temperature=True,
)
SHOWER = Release(start_s=0.0, end_s=600.0, moisture_kg_s=40e-3 / 60.0)


def flow(flow_m3_s: float) -> tuple[ExtractStep, ...]:
    return (ExtractStep(start_s=0.0, flow_m3_s=flow_m3_s),)


def run(room: RoomInUse = BATHROOM, *, extract: float = 0.02, **more: Any) -> RoomRun:
    given = {"releases": (SHOWER,), "extract": flow(extract), "duration_s": 5400.0, **more}
    return run_room(math, room, **given)


def imbalance_kg(found: RoomRun) -> float:
    w = found.water
    came = w.released_kg + w.splashed_kg + w.brought_in_kg
    return float(came - w.extracted_kg - w.run_off_kg - w.settled_kg - w.stayed_kg)


def test_no_water_is_lost() -> None:
    room, releases = wet_room(PLAN, middle_of(usual_wet_room_assumptions()))
    found = run(room, releases=releases, extract=0.012)
    assert found.water.released_kg == pytest.approx(0.335, rel=1e-6)
    assert found.water.splashed_kg == pytest.approx(15.0 * 0.015, rel=0.2)
    assert found.water.run_off_kg >= 0.0
    assert abs(imbalance_kg(found)) < 1e-12


def test_water_that_condenses_in_the_air_settles() -> None:
    strong = replace(SHOWER, moisture_kg_s=80e-3 / 60.0)
    found = run(extract=0.005, releases=(strong,))
    assert found.water.settled_kg > 0.1
    assert found.peak_rel_humidity_frac == pytest.approx(1.0, abs=1e-9)
    assert abs(imbalance_kg(found)) < 1e-12


def test_drops_run_off_a_full_surface() -> None:
    thin = replace(MIRROR, film_capacity_kg_m2=2e-3)
    found = run(replace(BATHROOM, surfaces=(thin,)), extract=0.01)
    assert found.water.run_off_kg > 0.0
    assert found.spell("mirror").peak_film_kg_m2 == pytest.approx(2e-3)
    assert abs(imbalance_kg(found)) < 1e-12


def test_more_extract_never_fogs_sooner_nor_clears_later() -> None:
    spells = [run(extract=q).spell("mirror") for q in (0.005, 0.01, 0.02, 0.04, 0.08)]
    fogs = [s.fogs_at_s for s in spells]
    clears = [s.clears_at_s for s in spells]
    assert fogs == sorted(fogs)
    assert clears == sorted(clears, reverse=True)


def test_condensing_water_warms_the_mirror_and_thins_its_film() -> None:
    glass = replace(MIRROR, heat_capacity_j_m2_k=10_500.0)
    cold, warm = run(extract=0.01), run(replace(BATHROOM, surfaces=(glass,)), extract=0.01)
    assert warm.spell("mirror").peak_film_kg_m2 < 0.7 * cold.spell("mirror").peak_film_kg_m2
    assert warm.spell("mirror").clears_at_s < cold.spell("mirror").clears_at_s


def test_a_dry_room_never_fogs_and_says_so_by_infinity() -> None:
    found = run(releases=())
    spell = found.spell("mirror")
    assert (spell.fogs_at_s, spell.clears_at_s) == (math.inf, 0.0)
    assert found.humid_s == 0.0


def test_a_surface_still_wet_at_the_end_has_no_time_of_clearing() -> None:
    moist = replace(BATHROOM, incoming_humidity_ratio_kg_kg=0.0158)
    assert run(moist, extract=0.002).spell("mirror").clears_at_s == math.inf


def test_boost_is_a_schedule_of_steps() -> None:
    steps = boosted_extract(
        continuous_m3_s=0.01, boost_m3_s=0.03, boost_start_s=60.0, boost_end_s=1500.0
    )
    assert [(s.start_s, s.flow_m3_s) for s in steps] == [(0.0, 0.01), (60.0, 0.03), (1500.0, 0.01)]
    boosted = run_room(math, BATHROOM, releases=(SHOWER,), extract=steps, duration_s=5400.0)
    assert boosted.spell("mirror").clears_at_s < run(extract=0.01).spell("mirror").clears_at_s
    with pytest.raises(ValueError, match="boost"):
        boosted_extract(continuous_m3_s=0.0, boost_m3_s=0.0, boost_start_s=9.0, boost_end_s=9.0)


@pytest.mark.parametrize("within_s", [None, 300.0, 900.0])
def test_smallest_extract_is_the_smallest(within_s: float | None) -> None:
    need = smallest_extract(
        math,
        BATHROOM,
        releases=(SHOWER,),
        surface_ids=("mirror",),
        clear_within_s=within_s,
        step_s=10.0,
    )
    assert need.is_reachable

    def does_it(flow_m3_s: float) -> bool:
        found = run(extract=flow_m3_s, step_s=10.0)
        return bool(
            is_clear(math, found, surface_ids=("mirror",), end_s=600.0, clear_within_s=within_s)
        )

    grain = 2.0 * need.highest_m3_s / 2**10
    assert does_it(need.flow_m3_s)
    assert not does_it(need.flow_m3_s - grain)


def test_no_flow_helps_against_air_as_moist_as_the_surface() -> None:
    moist = replace(BATHROOM, incoming_humidity_ratio_kg_kg=0.0165)
    need = smallest_extract(
        math,
        moist,
        releases=(SHOWER,),
        surface_ids=("mirror",),
        clear_within_s=600.0,
        step_s=20.0,
    )
    assert not need.is_reachable
    assert need.flow_m3_s == math.inf


def test_nothing_to_clear_needs_no_extract() -> None:
    weak = replace(SHOWER, moisture_kg_s=1e-6)
    need = smallest_extract(math, BATHROOM, releases=(weak,), surface_ids=("mirror",), step_s=20.0)
    assert need.flow_m3_s == 0.0
    with pytest.raises(ValueError, match="no release"):
        smallest_extract(math, BATHROOM, releases=(), surface_ids=("mirror",))


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"room": replace(BATHROOM, volume_m3=0.0)}, "volume_m3"),
        ({"room": replace(BATHROOM, incoming_humidity_ratio_kg_kg=-0.001)}, "incoming_humidity"),
        ({"room": replace(BATHROOM, surfaces=(replace(MIRROR, area_m2=-1.0),))}, "'mirror'"),
        ({"releases": (replace(SHOWER, moisture_kg_s=-1.0),)}, "moisture_kg_s"),
        ({"releases": (replace(SHOWER, end_s=0.0),)}, "release from"),
        ({"extract": -0.01}, "flow_m3_s"),
        ({"extract_steps": (ExtractStep(start_s=5.0, flow_m3_s=0.0),) * 2}, "later than"),
        ({"step_s": 0.0}, "step"),
    ],
)
def test_impossible_rooms_are_refused_by_name(change: dict[str, Any], words: str) -> None:
    if "extract_steps" in change:
        with pytest.raises(ValueError, match=words):
            run_room(
                math,
                BATHROOM,
                releases=(SHOWER,),
                extract=change["extract_steps"],
                duration_s=600.0,
            )
        return
    with pytest.raises(ValueError, match=words):
        run(**change)


def test_a_time_beyond_the_run_is_refused() -> None:
    with pytest.raises(ValueError, match="says nothing"):
        is_clear(
            math, run(duration_s=900.0), surface_ids=("mirror",), end_s=600.0, clear_within_s=900.0
        )


def test_warm_water_gives_heat_along_with_vapour() -> None:
    """Ratio of heat to latent heat by the analogy, worked by hand: 1006 · 0.904 · 13 / (…)."""
    heat = evaporation_heat_w(
        moisture_kg_s=1e-3,
        water_c=36.0,
        water_humidity_ratio_kg_kg=0.0388,
        air_c=23.0,
        air_humidity_ratio_kg_kg=0.0108,
    )
    assert heat == pytest.approx(1e-3 * 1006.0 * 0.9043 * 13.0 / 0.028, rel=1e-3)
    with pytest.raises(ValueError, match="no vapour"):
        evaporation_heat_w(
            moisture_kg_s=1e-3,
            water_c=20.0,
            water_humidity_ratio_kg_kg=0.0147,
            air_c=30.0,
            air_humidity_ratio_kg_kg=0.020,
        )


def test_release_rates_are_ranges_with_sources() -> None:
    assert set(RELEASE_RATES) == set(Activity)
    for rate in RELEASE_RATES.values():
        assert 0.0 < rate.low_kg_s < rate.high_kg_s
        assert rate.source_keys
    two = release_rate(Activity.PERSON_SITTING, count=2.0)
    assert two.value * 3.6e6 == pytest.approx(100.0)
    assert 2.0 * two.u_std * 3.6e6 == pytest.approx(20.0)
    assert household_release(0).value == 0.0
    for call in (lambda: release_rate(Activity.SHOWER, count=-1.0), lambda: household_release(-1)):
        with pytest.raises(ValueError, match="below 0"):
            call()
