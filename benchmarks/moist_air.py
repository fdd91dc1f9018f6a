"""Dew point, humidity ratio and enthalpy of a year of quarter hours, against psychrolib in a loop.

Each round times the same 35 040 invented states both ways, one after the other, so the ratio holds
on a busy machine. Ours works in pieces of 8000, whose temporaries stay in the cache; the whole year
in one go is timed beside it. One state by floats is timed too. How far the two differ with the
enhancement factor off is printed with the times.
"""

from __future__ import annotations

import argparse
import json
import statistics
import time
from collections.abc import Callable
from typing import Any

import numpy as np
import psychrolib

from ventwright.air import kernels, moist_air_from
from ventwright.quantities.words import HumidityOver

STATES = 35_040
PIECE = 8_000
SINGLE_STATES = 2_000


def invented_year() -> tuple[Any, Any, Any]:
    """Temperature [°C], relative humidity and pressure [Pa] of every quarter hour."""
    random = np.random.default_rng(20)
    quarter = np.arange(STATES)
    temperature_c = (
        11.0
        - 14.0 * np.cos(2.0 * np.pi * quarter / STATES)
        - 5.0 * np.cos(2.0 * np.pi * quarter / 96.0)
        + random.normal(0.0, 3.0, STATES)
    )
    rel = np.clip(random.normal(0.7, 0.18, STATES), 0.08, 1.0)
    return temperature_c, rel, random.normal(99_000.0, 700.0, STATES)


def ours(temperature_c: Any, rel: Any, pressure_pa: Any, *, is_enhanced: bool = True) -> Any:
    """Dew point, humidity ratio and enthalpy, saturation over ice below 0 °C."""
    over = HumidityOver.ICE
    vapour_pa = rel * kernels.saturation_pressure_pa(
        np,
        temperature_c=temperature_c,
        pressure_pa=pressure_pa,
        over=over,
        is_enhanced=is_enhanced,
    )
    ratio = kernels.humidity_ratio_kg_kg(vapour_pressure_pa=vapour_pa, pressure_pa=pressure_pa)
    dew_c = kernels.saturation_temperature_c(
        np,
        vapour_pressure_pa=vapour_pa,
        pressure_pa=pressure_pa,
        over=over,
        is_enhanced=is_enhanced,
    )
    return (
        dew_c,
        ratio,
        kernels.enthalpy_j_kg(temperature_c=temperature_c, humidity_ratio_kg_kg=ratio),
    )


def in_pieces(year: tuple[Any, Any, Any]) -> None:
    for start in range(0, STATES, PIECE):
        ours(*(column[start : start + PIECE] for column in year))


def by_psychrolib(states: list[tuple[float, float, float]]) -> list[tuple[float, float, float]]:
    found = []
    for temperature_c, rel, pressure_pa in states:
        ratio = psychrolib.GetHumRatioFromRelHum(temperature_c, rel, pressure_pa)
        dew_c = psychrolib.GetTDewPointFromRelHum(temperature_c, rel)
        found.append((dew_c, ratio, psychrolib.GetMoistAirEnthalpy(temperature_c, ratio)))
    return found


def one_by_one(states: list[tuple[float, float, float]]) -> None:
    for temperature_c, rel, pressure_pa in states:
        moist_air_from(
            pressure_pa=pressure_pa,
            temperature_c=temperature_c,
            rel_humidity_frac=rel,
            humidity_over=HumidityOver.ICE,
        )


def seconds(work: Callable[[], object]) -> float:
    began = time.perf_counter()
    work()
    return time.perf_counter() - began


def largest_difference_k(
    year: tuple[Any, Any, Any], states: list[tuple[float, float, float]]
) -> float:
    """Largest difference in dew point, the enhancement factor off."""
    theirs = np.array([dew_c for dew_c, _, _ in by_psychrolib(states)])
    return float(np.max(np.abs(ours(*year, is_enhanced=False)[0] - theirs)))


def main() -> None:
    """Print the medians and the ratio."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--json", action="store_true", help="one JSON object on the last line")
    parser.add_argument("--rounds", type=int, default=7)
    options = parser.parse_args()
    psychrolib.SetUnitSystem(psychrolib.SI)
    year = invented_year()
    states = list(zip(*(column.tolist() for column in year), strict=True))
    difference_k = largest_difference_k(year, states)
    pieces_s, whole_s, peer_s, single_s = [], [], [], []
    for _ in range(options.rounds):
        pieces_s.append(seconds(lambda: in_pieces(year)))
        whole_s.append(seconds(lambda: ours(*year)))
        peer_s.append(seconds(lambda: by_psychrolib(states)))
        single_s.append(seconds(lambda: one_by_one(states[:SINGLE_STATES])))
    result = {
        "benchmark": "moist_air",
        "states": STATES,
        "rounds": options.rounds,
        "year_ms": round(1e3 * statistics.median(pieces_s), 2),
        "year_in_one_go_ms": round(1e3 * statistics.median(whole_s), 2),
        "psychrolib_ms": round(1e3 * statistics.median(peer_s), 1),
        "ratio": round(statistics.median(peer_s) / statistics.median(pieces_s), 1),
        "single_state_us": round(1e6 * statistics.median(single_s) / SINGLE_STATES, 2),
        "largest_dew_point_difference_k": float(f"{difference_k:.2g}"),
    }
    if options.json:
        print(json.dumps(result))
    else:
        print(f"{STATES} states: {result['year_ms']} ms, psychrolib {result['psychrolib_ms']} ms")
        print(f"(ratio {result['ratio']}); one state {result['single_state_us']} µs.")


if __name__ == "__main__":
    main()
