"""A house-year: its moist-air states against psychrolib, its hourly balance alone and in a batch.

The states are what a year works out for four airs of each hour: humidity ratio, dew point, enthalpy
of 35 040 invented states, ours in pieces of at most 8000, psychrolib's in a loop, both in each
round. The balance is the whole of `follow_years`, from a year of weather in memory to findings
with dew points, surfaces, months and distributions; the same invented year serves all houses.
Beside each time on the wall stands that of the processor, which nobody else's work on the machine
lengthens; growth with the number of houses is told in it.
"""

from __future__ import annotations

import argparse
import json
import statistics
import time
from collections.abc import Callable
from functools import partial
from typing import Any

import numpy as np
import psychrolib

from ventwright.air import kernels
from ventwright.climate import (
    CoolingCoil,
    Weather,
    YearPlan,
    YearSurface,
    dew_points_c,
    follow_year,
    follow_years,
    humidity_ratios_kg_kg,
    parse_weather,
)
from ventwright.moisture import household_release
from ventwright.uncertainty import exact

HOURS, AIRS = 8760, 4
BATCH = 100
REPEATS = 20
GROWTH = (100, 300, 1000)


def invented_weather() -> Weather:
    """A warm, moist invented year with a frosty winter."""
    random = np.random.default_rng(21)
    hour = np.arange(HOURS)
    swing = -14.0 * np.cos(2.0 * np.pi * hour / HOURS) - 5.0 * np.cos(np.pi * hour / 12.0)
    temperature = np.round(14.0 + swing + random.normal(0.0, 2.0, HOURS), 1)
    humidity = np.round(np.clip(random.normal(72.0, 14.0, HOURS), 15.0, 100.0))
    rows = "".join(f"{t},{rh:.0f},990\n" for t, rh in zip(temperature, humidity, strict=True))
    head = "temperature [°C],relative humidity [%],pressure [hPa]\n"
    return parse_weather((head + rows).encode(), name="invented")


def house(index: int) -> YearPlan:
    return YearPlan(
        name=f"house {index}",
        volume_m3=300.0 + index % 50,
        supply_m3_s=exact(0.040 + 1e-4 * (index % 97)),
        extract_m3_s=exact(0.042 + 1e-4 * (index % 89)),
        infiltration_m3_s=exact(0.010),
        sensible_effectiveness=exact(0.78),
        latent_effectiveness=exact(0.01 * (index % 60)),
        exhaust_transfer_frac=exact(0.01),
        release_kg_s=household_release(2 + index % 4),
        cooling_c=24.0,
        frost_threshold_c=-5.0,
        dehumidifier_kg_s=3e-4,
        coil=CoolingCoil(balance_c=19.0, sensible_w_k=150.0),
        surfaces=(
            YearSurface(surface_id="glass", name="Glass", air="room", temperature_factor_frac=0.55),
            YearSurface(surface_id="grille", name="Grille", air="room", is_as_supply=True),
        ),
    )


def invented_states() -> tuple[Any, Any, Any]:
    random = np.random.default_rng(20)
    count = HOURS * AIRS
    temperature = 15.0 + 15.0 * random.standard_normal(count).clip(-2.2, 1.7)
    return temperature, random.uniform(0.1, 1.0, count), np.full(count, 99_000.0)


def ours(states: tuple[Any, Any, Any]) -> None:
    """As `follow_years` works: saturation from temperatures, dew points from humidity ratios."""
    temperature, humidity, pressure = states
    saturated = humidity_ratios_kg_kg(temperature_c=temperature, pressure_pa=pressure)
    ratio = humidity * saturated
    dew_points_c(humidity_ratio_kg_kg=ratio, pressure_pa=pressure)
    kernels.enthalpy_j_kg(temperature_c=temperature, humidity_ratio_kg_kg=ratio)


def theirs(states: list[tuple[float, float, float]]) -> None:
    for temperature, humidity, pressure in states:
        ratio = psychrolib.GetHumRatioFromRelHum(temperature, humidity, pressure)
        psychrolib.GetTDewPointFromRelHum(temperature, humidity)
        psychrolib.GetMoistAirEnthalpy(temperature, ratio)


Times = tuple[float, float]


def timed(work: Callable[[], object]) -> Times:
    """Time on the wall and time of the processor [s]."""
    wall, processor = time.perf_counter(), time.process_time()
    work()
    return time.perf_counter() - wall, time.process_time() - processor


def medians_ms(times: list[Times]) -> Times:
    wall, processor = (1e3 * statistics.median(column) for column in zip(*times, strict=True))
    return wall, processor


def states_result(rounds: int) -> dict[str, float]:
    psychrolib.SetUnitSystem(psychrolib.SI)
    states = invented_states()
    rows = list(zip(*(column.tolist() for column in states), strict=True))
    ours_s: list[Times] = []
    theirs_s: list[Times] = []
    for _ in range(rounds):
        # The peer takes a hundred times as long; ours is timed as often as fits beside it.
        ours_s += [timed(lambda: ours(states)) for _ in range(REPEATS)]
        theirs_s.append(timed(lambda: theirs(rows)))
    (wall, processor), (peer, _) = medians_ms(ours_s), medians_ms(theirs_s)
    return {
        "states": HOURS * AIRS,
        "moist_air_ms": round(wall, 2),
        "moist_air_cpu_ms": round(processor, 2),
        "psychrolib_ms": round(peer, 1),
        "ratio": round(peer / wall, 1),
    }


def balance_result(rounds: int) -> dict[str, Any]:
    weather = invented_weather()
    alone: list[Times] = []
    batch: list[Times] = []
    for _ in range(rounds):
        alone.append(timed(lambda: follow_year(house(0), weather)))
        batch.append(timed(lambda: _drain(BATCH, weather)))
    growth = {}
    for count in GROWTH:
        _, processor = timed(partial(_drain, count, weather))
        growth[str(count)] = round(1e3 * processor / count, 2)
    (alone_ms, alone_cpu), (batch_ms, batch_cpu) = medians_ms(alone), medians_ms(batch)
    return {
        "house_alone_ms": round(alone_ms, 1),
        "house_alone_cpu_ms": round(alone_cpu, 1),
        "house_in_batch_ms": round(batch_ms / BATCH, 2),
        "house_in_batch_cpu_ms": round(batch_cpu / BATCH, 2),
        "batch": BATCH,
        "per_house_by_count_cpu_ms": growth,
        "growth_ratio": round(growth[str(GROWTH[-1])] / growth[str(GROWTH[0])], 2),
    }


def _drain(count: int, weather: Weather) -> None:
    """Follow houses and keep none: memory stays that of one batch."""
    for _ in follow_years([house(i) for i in range(count)], weather):
        pass


def main() -> None:
    """Print the medians and ratios."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--json", action="store_true", help="one JSON object on the last line")
    parser.add_argument("--rounds", type=int, default=5)
    options = parser.parse_args()
    result = {
        "benchmark": "year",
        "rounds": options.rounds,
        **states_result(options.rounds),
        **balance_result(options.rounds),
    }
    if options.json:
        print(json.dumps(result))
        return
    print(f"{result['states']} states: {result['moist_air_ms']} ms (ratio {result['ratio']})")
    print(f"a house-year alone {result['house_alone_ms']} ms, in a batch of {BATCH}", end=" ")
    print(f"{result['house_in_batch_ms']} ms; by count {result['per_house_by_count_cpu_ms']} ms")


if __name__ == "__main__":
    main()
