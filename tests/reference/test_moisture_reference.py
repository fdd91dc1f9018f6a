"""Rooms in use and moisture balances against printed figures and figures worked out elsewhere."""

from __future__ import annotations

import importlib.util
import math
from functools import cache
from pathlib import Path
from typing import Any

import pytest

from tests.reference import shelves
from ventwright.air import air_estimate_from, moist_air_from
from ventwright.climate import Weather, load_index, parse_weather
from ventwright.moisture import (
    ExtractStep,
    HouseAir,
    Release,
    RoomInUse,
    RoomRun,
    RoomSurface,
    drying_needed_kg_s,
    mass_transfer_kg_m2_s,
    moisture_effusivity_si,
    run_room,
    steady_humidity,
    ton_hours_per_scfm,
    ventilation_load,
)
from ventwright.quantities import STANDARD_AIR_DENSITY_KG_M3
from ventwright.uncertainty import exact

CFM_M3_S = 0.3048**3 / 60.0
GRAIN = 1.0 / 7000.0
BTU_H_W = 1055.05585262 / 3600.0


def weather_folder() -> Path:
    """The data folder of pvlib, found without importing the package."""
    spec = importlib.util.find_spec("pvlib")
    assert spec is not None and spec.submodule_search_locations
    return Path(spec.submodule_search_locations[0]) / "data"


@cache
def year_of(file: str) -> Weather:
    return parse_weather((weather_folder() / file).read_bytes(), name=file)


def house(supply_kg_s: float, *, release_kg_s: float = 0.0, latent: float = 0.0) -> HouseAir:
    return HouseAir(
        supply_kg_s=exact(supply_kg_s),
        extract_kg_s=exact(supply_kg_s),
        infiltration_kg_s=exact(0.0),
        latent_effectiveness=exact(latent),
        exhaust_transfer_frac=exact(0.0),
        release_kg_s=exact(release_kg_s),
    )


def removed_g_m3(*, outdoor_c: float, outdoor_rel_frac: float, flow_m3_h: float = 1.0) -> float:
    """Water that a flow of indoor air at 20 °C and 60 % takes out as outdoor air replaces it."""
    indoor, outdoor = (
        moist_air_from(pressure_pa=101_325.0, temperature_c=t, rel_humidity_frac=rh)
        for t, rh in ((20.0, 0.6), (outdoor_c, outdoor_rel_frac))
    )
    air = house(flow_m3_h / 3600.0 / indoor.specific_volume_m3_kg)
    needed = drying_needed_kg_s(
        air,
        outdoor_kg_kg=exact(outdoor.humidity_ratio_kg_kg),
        wanted_kg_kg=exact(indoor.humidity_ratio_kg_kg),
    )
    return -3.6e6 * needed.value


def loads(flow_m3_s: float, *, warmer_k: float = 0.0, moister: float = 0.0) -> Any:
    room = air_estimate_from(
        pressure_pa=exact(101_325.0), temperature_c=exact(21.0), rel_humidity_frac=exact(0.4)
    )
    outdoor_state = moist_air_from(
        pressure_pa=101_325.0,
        temperature_c=21.0 + warmer_k,
        humidity_ratio_kg_kg=room.state.humidity_ratio_kg_kg + moister,
    )
    outdoor = air_estimate_from(
        pressure_pa=exact(101_325.0),
        temperature_c=exact(21.0 + warmer_k),
        dew_point_c=exact(outdoor_state.dew_point_c),
    )
    return ventilation_load(
        supply_kg_s=exact(flow_m3_s * STANDARD_AIR_DENSITY_KG_M3),
        outdoor=outdoor,
        indoor=room,
        sensible_returned_frac=exact(0.0),
        latent_returned_frac=exact(0.0),
    )


def latent_btu_h_cfm_grain() -> float:
    return float(loads(CFM_M3_S, warmer_k=5.0, moister=GRAIN).latent_w.value / BTU_H_W)


def sensible_kw_l_s_k() -> float:
    return float(loads(1e-3, warmer_k=1.0).sensible_w.value / 1000.0)


def load_index_of(*, file: str, part: str) -> float:
    index = load_index(year_of(file))
    value = index.latent_j_s_m3 if part == "latent" else index.sensible_j_s_m3
    return float(ton_hours_per_scfm(value))


def decay_min(*, changes_1_h: float) -> float:
    """Time in which the excess over the incoming air falls to a tenth, read from the course."""
    room = RoomInUse(
        volume_m3=12.0,
        pressure_pa=101_325.0,
        incoming_c=21.0,
        incoming_humidity_ratio_kg_kg=0.005,
        start_c=21.0,
        start_humidity_ratio_kg_kg=0.010,
    )
    run = run_room(
        math,
        room,
        releases=(),
        extract=(ExtractStep(start_s=0.0, flow_m3_s=12.0 * changes_1_h / 3600.0),),
        duration_s=4200.0,
        step_s=1.0,
        moment_every_s=1.0,
    )
    return next(m.time_s for m in run.moments if m.humidity_ratio_kg_kg <= 0.0055) / 60.0


def steady_excess_g_kg(*, release_kg_day: float, flow_l_s: float) -> float:
    air = house(1.2e-3 * flow_l_s, release_kg_s=release_kg_day / 86_400.0)
    return 1000.0 * steady_humidity(air, outdoor_kg_kg=exact(0.003)).excess_kg_kg.value


def drying_pints_day(
    *,
    flow_cfm: float,
    outdoor_gr_lb: float,
    wanted_gr_lb: float,
    latent_effectiveness: float = 0.0,
) -> float:
    air = house(flow_cfm * CFM_M3_S * STANDARD_AIR_DENSITY_KG_M3, latent=latent_effectiveness)
    needed = drying_needed_kg_s(
        air,
        outdoor_kg_kg=exact(outdoor_gr_lb * GRAIN),
        wanted_kg_kg=exact(wanted_gr_lb * GRAIN),
    )
    return needed.value * 86_400.0 / (0.473176473 * 0.9982)


def vapour_transfer_1e9(*, convection_w_m2_k: float) -> float:
    per_pa = 0.622 / 101_325.0
    return float(mass_transfer_kg_m2_s(convection_w_m2_k) * per_pa * 1e9)


def buffer_coeff() -> float:
    effusivity = moisture_effusivity_si(buffer_value_kg_m2=0.1, saturation_pressure_pa=2339.0)
    return float(0.1 / (effusivity * 2339.0 * math.sqrt(86_400.0)))


def stored_in_air_g_percent(*, volume_m3: float, temperature_c: float) -> float:
    low, high = (
        moist_air_from(pressure_pa=101_325.0, temperature_c=temperature_c, rel_humidity_frac=rh)
        for rh in (0.495, 0.505)
    )
    rise = high.humidity_ratio_kg_kg - low.humidity_ratio_kg_kg
    return 1000.0 * volume_m3 / low.specific_volume_m3_kg * rise


def bath(*, release_g_min: float, flow_l_s: float, walls_m2: float) -> RoomRun:
    """The other program's bathroom: 12 m³, 24 °C throughout, house air 21 °C and 45 %."""
    ratio = moist_air_from(
        pressure_pa=101_325.0, temperature_c=21.0, rel_humidity_frac=0.45
    ).humidity_ratio_kg_kg
    areas = {"mirror": 1.0, "walls": walls_m2}
    surfaces = tuple(
        RoomSurface(
            surface_id=name,
            area_m2=area,
            temperature_c=21.0,
            convection_w_m2_k=4.0,
            film_capacity_kg_m2=10.0,
        )
        for name, area in areas.items()
        if area
    )
    room = RoomInUse(
        volume_m3=12.0,
        pressure_pa=101_325.0,
        incoming_c=21.0,
        incoming_humidity_ratio_kg_kg=ratio,
        start_c=24.0,
        start_humidity_ratio_kg_kg=ratio,
        surfaces=surfaces,
        holds_temperature=True,
    )
    return run_room(
        math,
        room,
        releases=(Release(start_s=0.0, end_s=600.0, moisture_kg_s=release_g_min / 6e4),),
        extract=(ExtractStep(start_s=0.0, flow_m3_s=flow_l_s / 1000.0),),
        duration_s=3600.0,
    )


def bath_peak_frac(**inputs: float) -> float:
    return float(bath(**inputs).peak_rel_humidity_frac)


def bath_clears_min(**inputs: float) -> float:
    return float(bath(**inputs).spell("mirror").clears_at_s - 600.0) / 60.0


FUNCTIONS = {
    "removed_g_m3": removed_g_m3,
    "latent_btu_h_cfm_grain": latent_btu_h_cfm_grain,
    "sensible_kw_l_s_k": sensible_kw_l_s_k,
    "load_index": load_index_of,
    "decay_min": decay_min,
    "steady_excess_g_kg": steady_excess_g_kg,
    "drying_pints_day": drying_pints_day,
    "vapour_transfer_1e9": vapour_transfer_1e9,
    "buffer_coeff": buffer_coeff,
    "stored_in_air_g_percent": stored_in_air_g_percent,
    "bath_peak_frac": bath_peak_frac,
    "bath_clears_min": bath_clears_min,
}


@pytest.mark.parametrize("row", shelves.rows("moisture.csv"), ids=str)
def test_moisture(row: shelves.Row) -> None:
    row.check(FUNCTIONS[row["function"]](**row.inputs))


def test_the_sum_of_the_buffer_series() -> None:
    """The factor between effusivity and buffer value, summed here from its series.

    Source: nordtest_buffer_value.
    """
    terms = 200_000
    total = sum(math.sin(n * math.pi / 3.0) ** 2 / n**1.5 for n in range(1, terms))
    total += 0.5 * 2.0 / math.sqrt(terms)  # the rest: sin² is a half on average
    assert 2.0 / math.pi**1.5 * total == pytest.approx(buffer_coeff(), rel=1e-4)
