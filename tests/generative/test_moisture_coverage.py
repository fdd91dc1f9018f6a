"""Stated 95 % ranges of years and bathrooms hold what drawn truths do in 92 to 98 % of cases."""

from __future__ import annotations

import math
from collections import Counter
from dataclasses import replace

import numpy as np

from tests.unit.climate.weather_files import real
from ventwright.air import moist_air_from
from ventwright.climate import (
    YearPlan,
    assess_year,
    draw_values,
    follow_years,
    range_of_smallest_extract,
    range_of_wet_room,
)
from ventwright.climate.spread import FIGURES
from ventwright.moisture import (
    ExtractStep,
    WetRoomPlan,
    household_release,
    run_room,
    smallest_extract,
    usual_wet_room_assumptions,
    wet_room,
)
from ventwright.uncertainty import COVERAGE_FACTOR, exact, measured

COUNT = 400
CFM_M3_S = 0.3048**3 / 60.0
OPEN = (
    "supply_m3_s",
    "infiltration_m3_s",
    "sensible_effectiveness",
    "latent_effectiveness",
    "release_kg_s",
    "storage_ratio",
)
# Figures that are smooth in their inputs; counts of hours at a threshold are not.
SMOOTH = (
    "recovered_heating_j",
    "lost_heating_j",
    "dehumidifier_kg",
    "kept_out_kg",
    "worst_day_kg_s",
)


def house() -> YearPlan:
    return YearPlan(
        name="made-up house",
        volume_m3=300.0,
        supply_m3_s=measured(0.05, u_std=0.0025, id="supply", label="supply"),
        extract_m3_s=exact(0.05),
        infiltration_m3_s=measured(0.01, u_std=0.0025, id="leak", label="leak"),
        sensible_effectiveness=measured(0.8, u_std=0.025, id="heat", label="heat"),
        latent_effectiveness=measured(0.5, u_std=0.025, id="moisture", label="moisture"),
        exhaust_transfer_frac=exact(0.0),
        release_kg_s=household_release(4),
        cooling_c=24.0,
        dehumidifier_kg_s=math.inf,
    )


def test_intervals_of_a_year_cover() -> None:
    plan, weather = house(), real("723170TYA.CSV")
    stated = assess_year(plan, weather)
    rng = np.random.default_rng(5)
    truths = [
        replace(
            plan,
            **{
                name: exact(float(rng.normal(getattr(plan, name).value, getattr(plan, name).u_std)))
                for name in OPEN
            },
        )
        for _ in range(COUNT)
    ]
    held: Counter[str] = Counter()
    for truth in follow_years(truths, weather):
        for code in SMOOTH:
            estimate = stated.estimate_si(code)
            assert estimate is not None
            off = abs(FIGURES[code](truth) - estimate.value)
            held[code] += off <= COVERAGE_FACTOR * estimate.u_std
    coverage = {code: held[code] / COUNT for code in SMOOTH}
    print({code: round(c, 3) for code, c in coverage.items()})
    assert all(0.92 <= c <= 0.98 for c in coverage.values()), coverage


def bathroom() -> WetRoomPlan:
    ratio = moist_air_from(
        pressure_pa=101_325.0, temperature_c=21.0, rel_humidity_frac=0.45
    ).humidity_ratio_kg_kg
    return WetRoomPlan(
        volume_m3=12.0,
        mirror_m2=1.0,
        tiles_m2=15.0,
        lining_m2=18.0,
        incoming_c=21.0,
        incoming_humidity_ratio_kg_kg=ratio,
        pressure_pa=101_325.0,
        shower_s=600.0,
    )


def test_ranges_of_a_bathroom_cover() -> None:
    plan, assumptions = bathroom(), usual_wet_room_assumptions()
    extract = (ExtractStep(start_s=0.0, flow_m3_s=25.0 * CFM_M3_S),)
    stated = range_of_wet_room(
        plan, extract=extract, assumptions=assumptions, random=np.random.default_rng(3), count=1000
    )
    truths = draw_values(assumptions, count=1000, random=np.random.default_rng(4))
    room, releases = wet_room(plan, truths)
    run = run_room(
        np,
        room,
        releases=releases,
        extract=(ExtractStep(start_s=0.0, flow_m3_s=extract[0].flow_m3_s * truths.mixing_frac),),
        duration_s=7800.0,
        step_s=10.0,
    )
    coverage = {}
    for spell in run.spells:
        clears = np.maximum(spell.clears_at_s - 600.0, 0.0)
        expected = stated.surface(spell.surface_id).clears_after_s
        coverage[spell.surface_id] = float(
            np.mean((clears >= expected.low_s) & (clears <= expected.high_s))
        )
    print(coverage)
    assert 0.92 <= coverage["mirror"] <= 0.98
    # Tiles may still be wet at the end of the run: an end at infinity leaves only one side open.
    assert 0.92 <= coverage["tiles"] <= 1.0


def test_ranges_of_the_smallest_extract_cover() -> None:
    plan, assumptions = bathroom(), usual_wet_room_assumptions()
    stated = range_of_smallest_extract(
        plan,
        surface_ids=("mirror",),
        clear_within_s=600.0,
        assumptions=assumptions,
        random=np.random.default_rng(6),
        count=600,
    )
    truths = draw_values(assumptions, count=600, random=np.random.default_rng(7))
    room, releases = wet_room(plan, truths)
    need = smallest_extract(
        np,
        room,
        releases=releases,
        surface_ids=("mirror",),
        clear_within_s=600.0,
        schedule=lambda q: (ExtractStep(start_s=0.0, flow_m3_s=q * truths.mixing_frac),),
        step_s=10.0,
    )
    inside = (need.flow_m3_s >= stated.low_m3_s) & (need.flow_m3_s <= stated.high_m3_s)
    assert 0.92 <= float(np.mean(inside)) <= 0.98


def test_a_continuous_25_cfm_promises_nothing() -> None:
    """What the model says of one shower in a bathroom with a continuous 25 cfm.

    The mirror fogs in nearly every draw, and clears between a few minutes and a quarter of an hour
    or more after the shower: a range so wide that no figure for the one bathroom follows.
    """
    plan, assumptions = bathroom(), usual_wet_room_assumptions()
    found = range_of_wet_room(
        plan,
        extract=(ExtractStep(start_s=0.0, flow_m3_s=25.0 * CFM_M3_S),),
        assumptions=assumptions,
        random=np.random.default_rng(1),
        count=1000,
    )
    mirror = found.surface("mirror")
    print(mirror)
    assert mirror.fogs_frac > 0.9
    clears = mirror.clears_after_s
    assert 8.0 < clears.mid_s / 60.0 < 14.0
    assert clears.low_s < 0.5 * clears.mid_s
    assert clears.high_s > 1.3 * clears.mid_s
    clear = range_of_smallest_extract(
        plan,
        surface_ids=("mirror",),
        assumptions=assumptions,
        random=np.random.default_rng(1),
    )
    # To keep the mirror free of any film takes several times that flow, in some draws not three.
    assert clear.mid_m3_s > 3.0 * 25.0 * CFM_M3_S
    assert clear.low_m3_s > 25.0 * CFM_M3_S
