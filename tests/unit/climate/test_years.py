"""Years: sums close, one house is as many, drying obeys, frost and gaps count as they should."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from tests.unit.climate.weather_files import content, epw, hours, real
from ventwright.climate import (
    CoolingCoil,
    Weather,
    YearFindings,
    YearPlan,
    YearSurface,
    assess_year,
    follow_year,
    follow_years,
    parse_weather,
    without_moisture_recovery,
)
from ventwright.climate.balance import HOUR_S, balance_years, values_of
from ventwright.moisture import household_release
from ventwright.recovery import TYPICAL_DEFROST, DefrostKind, defrost_time_frac
from ventwright.uncertainty import Estimate, budget, exact, measured

MIAMI, SAND_POINT, GREENSBORO = "12839.tm2", "703165TY.csv", "723170TYA.CSV"


def plan(**changes: object) -> YearPlan:
    house = YearPlan(
        name="made-up house",
        volume_m3=300.0,
        supply_m3_s=exact(0.05),
        extract_m3_s=exact(0.05),
        infiltration_m3_s=exact(0.01),
        sensible_effectiveness=exact(0.80),
        latent_effectiveness=exact(0.0),
        exhaust_transfer_frac=exact(0.0),
        release_kg_s=household_release(4),
        cooling_c=24.0,
    )
    return replace(house, **changes)  # type: ignore[arg-type]


def energy_plan(**changes: object) -> YearPlan:
    return plan(latent_effectiveness=exact(0.55), **changes)


@pytest.mark.parametrize("file", [MIAMI, SAND_POINT, GREENSBORO])
@pytest.mark.parametrize("latent", [0.0, 0.55])
def test_water_of_the_year_is_closed(file: str, latent: float) -> None:
    """What came in and was released went out, was taken out, or is stored at the end."""
    weather = real(file)
    house = plan(
        latent_effectiveness=exact(latent),
        dehumidifier_kg_s=3e-4,
        coil=CoolingCoil(balance_c=22.0, sensible_w_k=200.0),
    )
    values = values_of([house], weather)
    year = balance_years(house, values, weather, is_scalar=True)
    supply = values.supply_kg_s[0] * year.running_share
    gained = values.release_kg_s[0] + supply * (year.supply_kg_kg - year.indoor_kg_kg)[:, 0]
    gained += values.infiltration_kg_s[0] * (weather.humidity_ratio_kg_kg - year.indoor_kg_kg[:, 0])
    taken = (year.dehumidifier_kg_s + year.coil_kg_s)[:, 0]
    stored_kg = float(HOUR_S * np.sum(gained - taken))
    most_kg = 0.02 * float(values.storage_ratio[0] * values.air_kg[0])
    assert abs(stored_kg) < most_kg
    throughput_kg = float(HOUR_S * np.sum(np.abs(gained)))
    assert abs(stored_kg) < 0.02 * throughput_kg


@pytest.mark.parametrize("file", [MIAMI, SAND_POINT])
def test_one_house_by_floats_is_one_of_many_by_arrays(file: str) -> None:
    weather = real(file)
    house = energy_plan(dehumidifier_kg_s=2e-4, coil=CoolingCoil(balance_c=20.0, sensible_w_k=99.0))
    alone = follow_year(house, weather)
    several = list(follow_years([house, replace(house, release_kg_s=exact(2e-4)), house], weather))
    assert several[0] == several[2]
    assert several[1] != several[0]
    assert several[0].moisture.dehumidifier_kg == pytest.approx(alone.moisture.dehumidifier_kg)
    assert several[0].moisture.coil_kg == pytest.approx(alone.moisture.coil_kg)
    assert several[0].indoor.mid_frac == pytest.approx(alone.indoor.mid_frac)
    assert several[0].energy == alone.energy


def test_houses_that_differ_in_their_settings_are_kept_apart() -> None:
    houses = [plan(), plan(heating_c=22.0), plan(wanted_rel_humidity_frac=0.5), plan()]
    found = list(follow_years(houses, real(SAND_POINT)))
    assert found[0] == found[3]
    assert found[1].energy.recovered_heating_j > found[0].energy.recovered_heating_j
    assert found[2].wanted_rel_humidity_frac == 0.5


def test_heat_recovered_and_lost_by_hand() -> None:
    """A flat year at 5 °C: 0.05 m³/s · 15 K, four fifths of it brought back."""
    flat = parse_weather(b"temperature [C],rh [%]\n" + b"5,70\n" * 8760, name="flat.csv")
    found = follow_year(plan(), flat)
    dry_kg_m3 = (101_325.0 / 287.042 / 293.15) / (1.0 + 0.008 / 0.621945)
    heat_w = 0.05 * dry_kg_m3 * (1006.0 + 1860.0 * 0.00378) * 15.0
    assert found.energy.recovered_heating_j == pytest.approx(0.8 * heat_w * 8760 * 3600, rel=1e-4)
    assert found.energy.lost_heating_j == pytest.approx(0.2 * heat_w * 8760 * 3600, rel=1e-4)
    assert found.energy.kept_out_cooling_j == 0.0
    fresh_kg_s = 0.06 * dry_kg_m3
    excess = household_release(4).value / fresh_kg_s
    settled = 0.003781 + excess
    assert found.stream("indoor").mean_humidity_ratio_kg_kg == pytest.approx(settled, rel=2e-3)


def test_an_ideal_dehumidifier_holds_what_is_wanted() -> None:
    found = follow_year(plan(dehumidifier_kg_s=math.inf, wanted_rel_humidity_frac=0.5), real(MIAMI))
    assert found.indoor.high_frac < 0.53
    assert found.moisture.dehumidifier_kg > 5000.0
    undried = follow_year(plan(wanted_rel_humidity_frac=0.5), real(MIAMI))
    assert undried.moisture.dehumidifier_kg == 0.0
    assert undried.moisture.worst_day_kg_s == found.moisture.worst_day_kg_s > 0.0


def test_a_small_dehumidifier_never_takes_more_than_it_can() -> None:
    capacity = 1e-4
    weather = real(MIAMI)
    house = plan(dehumidifier_kg_s=capacity, wanted_rel_humidity_frac=0.5)
    year = balance_years(house, values_of([house], weather), weather, is_scalar=True)
    assert float(year.dehumidifier_kg_s.max()) == capacity
    assert float(year.dehumidifier_kg_s.min()) >= 0.0


def test_moisture_recovery_keeps_water_out_in_summer_and_in_in_winter() -> None:
    miami = follow_year(energy_plan(dehumidifier_kg_s=math.inf), real(MIAMI))
    plain = follow_year(
        without_moisture_recovery(energy_plan(dehumidifier_kg_s=math.inf)), real(MIAMI)
    )
    assert miami.moisture.dehumidifier_kg < 0.85 * plain.moisture.dehumidifier_kg
    assert miami.moisture.kept_out_kg > 1000.0
    cold = follow_year(energy_plan(), real(SAND_POINT))
    assert cold.indoor.mid_frac > follow_year(plan(), real(SAND_POINT)).indoor.mid_frac + 0.05
    assert cold.moisture.given_back_kg > 1000.0


def test_a_coil_dries_where_cooling_is_called_for() -> None:
    coil = CoolingCoil(balance_c=20.0, sensible_w_k=200.0)
    cooled, plain = (follow_year(plan(coil=c), real(MIAMI)) for c in (coil, None))
    assert cooled.moisture.coil_kg > 2000.0
    assert cooled.indoor.mid_frac < plain.indoor.mid_frac
    assert follow_year(plan(coil=coil), real(SAND_POINT)).moisture.coil_kg == 0.0


def test_frost_hours_and_the_ventilation_that_defrost_takes() -> None:
    """The share of each hour is that of the engine's own law for one hour."""
    weather = real(SAND_POINT)
    law = TYPICAL_DEFROST[DefrostKind.RECIRCULATION]
    found = follow_year(plan(frost_threshold_c=-1.1, defrost=law), weather)
    shares = [
        defrost_time_frac(outdoor_c=t, threshold_c=-1.1, kind=DefrostKind.RECIRCULATION)
        for t in weather.temperature_c.tolist()
    ]
    assert found.frost.frost_h == sum(t < -1.1 for t in weather.temperature_c.tolist())
    assert found.frost.lost_ventilation_h == pytest.approx(sum(shares))
    assert (
        found.energy.recovered_heating_j < follow_year(plan(), weather).energy.recovered_heating_j
    )
    assert follow_year(plan(), weather).frost.frost_h is None


def test_surfaces_are_followed_by_temperature_factor_or_supply_air() -> None:
    surfaces = (
        YearSurface(surface_id="glass", name="Glass", air="room", temperature_factor_frac=0.30),
        YearSurface(surface_id="wall", name="Wall", air="room", temperature_factor_frac=0.9),
        YearSurface(surface_id="grille", name="Grille", air="room", is_as_supply=True),
        YearSurface(surface_id="slab", name="Slab", air="outdoor", temperature_c=20.0),
        YearSurface(surface_id="pipe", name="Pipe", air="room"),
    )
    found = follow_year(plan(surfaces=surfaces), real(MIAMI))
    by_id = {s.surface_id: s for s in found.surfaces}
    slab = by_id["slab"]
    assert slab.wet_h is not None and slab.wet_h > 3000.0
    assert slab.longest_wet_h is not None and 24.0 < slab.longest_wet_h <= slab.wet_h
    cold = {
        s.surface_id: s for s in follow_year(plan(surfaces=surfaces), real(SAND_POINT)).surfaces
    }
    glass, wall = cold["glass"], cold["wall"]
    assert glass.wet_h is not None and wall.wet_h is not None and glass.wet_h > wall.wet_h
    assert glass.mould_h is not None and glass.mould_h > glass.wet_h
    assert by_id["pipe"].wet_h is None
    assert [p.where for p in found.problems if p.code == "surface-not-followed"] == ["pipe"]


def test_distributions_count_every_known_hour_once() -> None:
    found = follow_year(energy_plan(), real(GREENSBORO))
    for stream in found.streams:
        assert sum(b.hours_h for b in stream.dew_point_bins) == 8760.0
        cells = [c for c in found.cloud if c.stream == stream.name]
        assert sum(c.hours_h for c in cells) == 8760.0
    assert sum(found.indoor.humidity_bins_h) == 8760.0
    assert sum(m.known_h for m in found.months) == 8760.0
    for name in ("recovered_heating_j", "kept_out_cooling_j"):
        assert sum(getattr(m, name) for m in found.months) == pytest.approx(
            getattr(found.energy, name)
        )
    outdoor = found.stream("outdoor")
    assert outdoor.low_dew_point_c < outdoor.mid_dew_point_c < outdoor.high_dew_point_c


def half_a_year() -> Weather:
    return parse_weather(content(epw(hours())[: 8 + 4380]), name="half.epw")


def test_missing_hours_count_nothing_and_are_told() -> None:
    found = follow_year(plan(), half_a_year())
    assert (found.known_h, found.missing_h) == (4380.0, 4380.0)
    assert sum(m.known_h for m in found.months) == 4380.0
    assert "hours-missing" in [p.code for p in found.problems]
    numbers = [v for s in found.streams for v in (s.mean_c, s.mean_humidity_ratio_kg_kg)]
    assert all(map(math.isfinite, [*numbers, found.energy.recovered_heating_j]))


def test_storage_evens_out_the_day() -> None:
    light, heavy = (
        follow_year(plan(storage_ratio=exact(ratio)), real(GREENSBORO)) for ratio in (1.0, 25.0)
    )
    assert heavy.indoor.swing_ratio < 0.5 * light.indoor.swing_ratio


def test_design_states_lie_in_the_moist_tail() -> None:
    found = follow_year(energy_plan(), real(GREENSBORO))
    dews = [d.dew_point_c for d in found.design]
    assert dews == sorted(dews, reverse=True)
    outdoor = found.stream("outdoor")
    assert dews[1] == pytest.approx(outdoor.high_dew_point_c)
    assert found.design[0].drying_kg_s.value > 0.0
    assert found.design[0].drying_kg_s.u_std > 0.0


def test_progress_is_told_house_by_house() -> None:
    told: list[int] = []
    list(follow_years([plan(), plan()], real(SAND_POINT), on_progress=told.append))
    assert told == [1, 2]


def uncertain(value: float, u_std: float, name: str) -> Estimate:
    return measured(value, u_std=u_std, id=name, label=name)


def assessed() -> YearFindings:
    house = energy_plan(
        supply_m3_s=uncertain(0.05, 0.0025, "supply"),
        extract_m3_s=uncertain(0.05, 0.0025, "extract"),
        infiltration_m3_s=uncertain(0.01, 0.0025, "infiltration"),
        sensible_effectiveness=uncertain(0.8, 0.025, "sensible"),
        dehumidifier_kg_s=math.inf,
    )
    return assess_year(house, real(GREENSBORO))


def test_every_figure_gets_a_budget_of_its_assumptions() -> None:
    found = assessed()
    dried = found.estimate_si("dehumidifier_kg")
    assert dried is not None and dried.value == found.moisture.dehumidifier_kg
    assert dried.u_std > 0.05 * dried.value
    assert budget(dried)[0].id == "moisture:release:household"
    heat = found.estimate_si("recovered_heating_j")
    assert heat is not None
    assert {row.id for row in budget(heat)} == {"supply", "extract", "sensible"}
    assert found.estimate_si("nothing") is None


def test_an_energy_exchanger_is_compared_with_one_for_heat_alone() -> None:
    found = assessed()
    assert found.heat_only is not None
    assert found.heat_only.moisture.dehumidifier_kg > found.moisture.dehumidifier_kg
    assert assess_year(plan(), real(SAND_POINT)).heat_only is None


def test_the_worst_day_is_a_day_of_the_calendar() -> None:
    """Also where the file begins in the middle of a month."""
    lines = epw(hours(mean_c=22.0))
    part = parse_weather(content([*lines[:8], *lines[8 + 24 * 190 :]]), name="part.epw")
    found = follow_year(plan(), part).moisture
    day = (part.month == found.worst_month_number) & (part.day == found.worst_day_number)
    assert found.worst_day_kg_s > 0.0
    assert int(np.count_nonzero(day & part.is_known)) == 24
