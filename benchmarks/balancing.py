"""What a balancing procedure costs and leaves behind, on simulated houses.

The reference procedures, and the guidance where it is there, balance the same houses with the same
meters, biases and averaging allowance. Figures are given for each case (meter and houses), style of
setting (live, blind, remote) and layout (trunk, manifold, both).

The guidance is found as ``guided_visit`` beside this file: a function ``procedures()`` that returns
objects with a ``name`` and a method ``balance(site)``, see ``ventwright.trials.Procedure``; what a
technician knows of the meter is ``site.meter``. Where it or `ventwright.balancing` is missing, the
result says so and only the references are run.
"""

from __future__ import annotations

import argparse
import importlib
import json
import time
from collections.abc import Iterable
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, replace
from functools import partial

import numpy as np

from ventwright.trials import (
    COARSE,
    FINE,
    AllAtOnce,
    Floor,
    HandModel,
    MeterModel,
    OwnTarget,
    Procedure,
    Ratio,
    Score,
    Style,
    TruthHouse,
    draw_houses,
    floor_of,
    least_trips,
    try_procedure,
)

SEED = 20_240_611
HAND = HandModel(setting_frac=0.01)
STRICT_FRAC = 0.8
"""Share of the band accepted by references that leave about as many houses right as guidance."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Case:
    """A meter and a kind of houses."""

    meter: MeterModel
    has_small: bool = False


CASES = {
    "fine": Case(meter=FINE),
    "coarse": Case(meter=COARSE),
    "small": Case(meter=FINE, has_small=True),
    "slips": Case(meter=replace(FINE, slip_frac=0.03)),
    "hood": Case(meter=replace(FINE, hood_loss_coeff=2.0 / 0.014**2, drift_frac_1_h=0.01)),
}
"""`fine`: 1.5 % repeatability, 2 % bias, 0.25 cfm steps; `coarse`: 3 % and 0.5 cfm; `small`: with
terminals of 5 cfm on lines of their own; `slips`: 3 % of readings slip; `hood`: the hood takes 2 Pa
at 30 cfm and the meter drifts 1 % an hour."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Trial:
    """Everything tried on one house."""

    floor: Floor
    least_trips: dict[str, int]
    scores: tuple[Score, ...]


def guidance() -> tuple[tuple[Procedure, ...], str]:
    """The guidance's procedures, or none and why."""
    try:
        importlib.import_module("ventwright.balancing")
        procedures = importlib.import_module("guided_visit").procedures
    except (ImportError, AttributeError) as missing:
        return (), f"no guidance, only the references were run: {missing}"
    return tuple(procedures()), ""


def try_house(
    item: tuple[TruthHouse, np.random.SeedSequence], *, case: Case, styles: tuple[Style, ...]
) -> Trial:
    """Run every procedure in every style on one house."""
    house, seed = item
    procedures: list[Procedure] = [
        Ratio(),
        Ratio(accept_frac=STRICT_FRAC),
        OwnTarget(),
        AllAtOnce(),
        AllAtOnce(accept_frac=STRICT_FRAC),
        *guidance()[0],
    ]
    scores = [
        try_procedure(procedure, house, style=style, meter=case.meter, hand=HAND, seed=seed)
        for style in styles
        for procedure in procedures
    ]
    floor = floor_of(house)
    trips = {str(style): least_trips(house, floor, style=style) for style in styles}
    return Trial(floor=floor, least_trips=trips, scores=tuple(scores))


def run_case(
    case: Case, *, houses: int, seed: int, jobs: int, styles: tuple[Style, ...]
) -> list[Trial]:
    """Try all procedures on fresh houses."""
    house_seed, visit_seed = np.random.SeedSequence(seed).spawn(2)
    drawn = draw_houses(house_seed, count=houses, has_small=case.has_small)
    items = list(zip(drawn, visit_seed.spawn(houses), strict=True))
    work = partial(try_house, case=case, styles=styles)
    if jobs == 1:
        return [work(item) for item in items]
    with ProcessPoolExecutor(jobs) as pool:
        return list(pool.map(work, items, chunksize=4))


def share(flags: Iterable[bool]) -> float:
    """Share of flags that are set."""
    return round(float(np.mean(list(flags))), 4)


def figures(scores: list[Score], floors: list[Floor]) -> dict[str, float]:
    """Figures of one procedure over some houses."""
    terminals = sum(score.terminal_count for score in scores)
    houses = len(scores)
    stops = sum(score.stop_count for score in scores)
    readings = sum(score.reading_count for score in scores)
    worst = [score.worst_frac for score in scores]
    off_total = [max(abs(x - 1) for x in score.total_frac) for score in scores]
    result = {
        "houses": houses,
        "stops_per_terminal": stops / terminals,
        "stops_over_floor_ratio": stops / sum(floor.stop_count for floor in floors),
        "stops_over_exact_floor_ratio": stops / sum(floor.exact_stop_count for floor in floors),
        "placements_per_terminal": sum(score.placement_count for score in scores) / terminals,
        "readings_per_terminal": readings / terminals,
        "readings_per_stop": readings / stops,
        "moves_per_terminal": sum(score.move_count for score in scores) / terminals,
        "trips_per_house": sum(score.trip_count for score in scores) / houses,
        "minutes_per_house": sum(score.elapsed_s for score in scores) / 60 / houses,
        "right_frac": share(score.is_right for score in scores),
        "closed_frac": share(score.is_closed for score in scores),
        "worst_mean_frac": float(np.mean(worst)),
        "worst_p90_frac": float(np.quantile(worst, 0.9)),
        "open_on_both_sides_frac": share(all(score.is_open) for score in scores),
        "total_within_5_percent_frac": share(x <= 0.05 for x in off_total),
        "mass_within_10_percent_frac": share(abs(s.mass_ratio - 1) <= 0.1 for s in scores),
        "watts_saved_frac": 1
        - sum(score.electric_w for score in scores) / sum(score.throttled_w for score in scores),
    }
    slips = sum(score.slip_count for score in scores)
    if slips:
        result["slips"] = slips
        result["slips_named_frac"] = sum(score.slip_named_count for score in scores) / slips
    result["visits_with_false_alarm_frac"] = share(score.false_alarm_count > 0 for score in scores)
    claims = sum(score.claim_count for score in scores)
    if claims:
        result["claims"] = claims
        result["claims_held_frac"] = sum(score.claim_held_count for score in scores) / claims
    return {key: round(value, 4) for key, value in result.items()}


def table(trials: list[Trial]) -> dict[str, dict[str, dict[str, dict[str, float]]]]:
    """Figures by style, layout and procedure."""
    result: dict[str, dict[str, dict[str, dict[str, float]]]] = {}
    first = trials[0].scores
    for style, procedure in dict.fromkeys((score.style, score.procedure) for score in first):
        for layout in ("both", "trunk", "manifold"):
            pairs = [
                (score, trial.floor)
                for trial in trials
                for score in trial.scores
                if score.style == style
                and score.procedure == procedure
                and layout in ("both", score.layout)
            ]
            if pairs:
                scores, floors = zip(*pairs, strict=True)
                rows = result.setdefault(style, {}).setdefault(layout, {})
                rows[procedure] = figures(list(scores), list(floors))
    return result


def floor_figures(trials: list[Trial]) -> dict[str, float]:
    """The floor itself."""
    terminals = sum(trial.floor.terminal_count for trial in trials)
    return {
        "floor_stops_per_terminal": round(
            sum(trial.floor.stop_count for trial in trials) / terminals, 4
        ),
        "exact_floor_stops_per_terminal": round(
            sum(trial.floor.exact_stop_count for trial in trials) / terminals, 4
        ),
    } | {
        f"least_trips_per_house_{style}": round(
            float(np.mean([trial.least_trips[style] for trial in trials])), 4
        )
        for style in trials[0].least_trips
    }


COLUMNS = {
    "stops": "stops_per_terminal",
    "/floor": "stops_over_floor_ratio",
    "/exact": "stops_over_exact_floor_ratio",
    "read": "readings_per_terminal",
    "r/stop": "readings_per_stop",
    "moves": "moves_per_terminal",
    "trips": "trips_per_house",
    "min": "minutes_per_house",
    "right": "right_frac",
    "worst": "worst_mean_frac",
    "w90": "worst_p90_frac",
    "open": "open_on_both_sides_frac",
}


def show(name: str, rows: dict[str, dict[str, dict[str, dict[str, float]]]]) -> None:
    """Print one case for people."""
    for style, layouts in rows.items():
        for layout, procedures in layouts.items():
            print(f"\n{name}, {style}, {layout}")
            print(f"{'':20}" + "".join(f"{title:>8}" for title in COLUMNS))
            for procedure, row in procedures.items():
                print(f"{procedure:20}" + "".join(f"{row[key]:8.2f}" for key in COLUMNS.values()))


def main() -> None:
    """Run the cases asked for and print the figures."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--json", action="store_true", help="one JSON object on the last line")
    parser.add_argument("--houses", type=int, default=20)
    parser.add_argument("--seed", type=int, default=SEED)
    parser.add_argument("--jobs", type=int, default=2, help="processes")
    parser.add_argument("--cases", nargs="+", choices=CASES, default=["fine", "coarse"])
    parser.add_argument("--styles", nargs="+", choices=list(Style), default=list(Style))
    options = parser.parse_args()
    if options.houses < 2:
        parser.error("--houses takes at least 2: one trunk, one manifold")
    _, why_not = guidance()
    result: dict[str, object] = {
        "benchmark": "balancing",
        "houses": options.houses,
        "seed": options.seed,
        "has_guidance": not why_not,
        "note": why_not,
    }
    for name in options.cases:
        began = time.perf_counter()
        trials = run_case(
            CASES[name],
            houses=options.houses,
            seed=options.seed,
            jobs=options.jobs,
            styles=tuple(Style(style) for style in options.styles),
        )
        rows = table(trials)
        result[name] = floor_figures(trials) | {
            "elapsed_s": round(time.perf_counter() - began, 1),
            "styles": rows,
        }
        if not options.json:
            floors = floor_figures(trials).items()
            print(f"\n{name}: " + ", ".join(f"{key} {value:.2f}" for key, value in floors))
            show(name, rows)
    if why_not and not options.json:
        print(f"\n{why_not}")
    if options.json:
        print(json.dumps(result))


if __name__ == "__main__":
    main()
