"""What guidance loses without one of its sources, and gains from known ducts, on simulated houses.

Each variant balances the same houses with the same meters and biases. `ducts known` tells the
guidance the share of pressure lost in the shared path, in each piece of the main duct and in each
branch as found, as one would work it out from drawings: from the truth, with an error of a quarter
in the odds. Nothing else of the truth reaches the guidance.
"""

from __future__ import annotations

import argparse
import json
import math
import sys
from collections.abc import Callable
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, field, replace
from functools import partial
from itertools import pairwise
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from benchmarks.guided_visit import Guided, session_of
from ventwright.balancing import LossShare, Method, Outlet, Session, SideSetup
from ventwright.trials import (
    COARSE,
    FINE,
    Floor,
    HandModel,
    MeterModel,
    Outcome,
    Score,
    Site,
    Style,
    TruthHouse,
    draw_houses,
    floor_of,
    try_procedure,
)

SEED = 20_240_612
DRAWINGS_SPREAD = 0.25
DROPS_SPREAD = 0.35
METERS = {"fine": FINE, "coarse": COARSE}


@dataclass(frozen=True, slots=True, kw_only=True)
class Informed:
    """Guidance that is told more on arrival."""

    name: str
    tell: Callable[[Session], Session]
    method: Method = field(default_factory=Method)

    def balance(self, site: Site) -> Outcome:
        guided = Guided(name=self.name, method=self.method)
        return guided.balance_from(site, self.tell(session_of(site)))


def shares_of(house: TruthHouse, members: list[set[int]]) -> list[float]:
    """Share of pressure lost in each of a row of nested ducts, from the fan outwards, as found.

    A duct is known by the terminals behind it; the fall of the fan's curve belongs to the first.
    """
    flows = house.flows(house.as_found)
    elements = house.elements_at(house.as_found)
    count = len(house.terminals)
    behind = [set(np.flatnonzero(row[:count]).tolist()) for row in elements.incidence]
    whole = float(max(elements.lift_pa[e] for e, b in enumerate(behind) if b == members[0]))
    found = []
    for group in members:
        lost = sum(
            float(flows.drop_pa[e] + elements.lift_pa[e])
            for e, b in enumerate(behind)
            if b == group
        )
        found.append(min(max(lost / whole, 0.002), 0.998))
        whole = max(whole - lost, 1e-3)
    return found


def with_drawings(session: Session, *, house: TruthHouse, seed: int) -> Session:
    rng = np.random.default_rng(seed)

    def known(share: float) -> LossShare:
        odds = math.log(share / (1 - share)) + float(rng.normal(0, DRAWINGS_SPREAD))
        return LossShare(likely_frac=1 / (1 + math.exp(-odds)), spread_ratio=DRAWINGS_SPREAD)

    return replace(session, sides=tuple(_informed(x, house, known) for x in session.sides))


def with_drops(session: Session, house: TruthHouse) -> Session:
    """Each open terminal's drop against that of its own duct, as worked out from drawings."""
    rng = np.random.default_rng(len(house.terminals))
    at = {item.id: i for i, item in enumerate(house.terminals)}

    def told(outlet: Outlet) -> Outlet:
        error = float(rng.normal(0, DROPS_SPREAD))
        ratio = drop_ratio(house, at[outlet.id]) * math.exp(error)
        return replace(outlet, duct_ratio=ratio, duct_spread_ratio=DROPS_SPREAD)

    sides = [replace(x, outlets=tuple(map(told, x.outlets))) for x in session.sides]
    return replace(session, sides=tuple(sides))


def drop_ratio(house: TruthHouse, terminal: int) -> float:
    """Drop of a terminal, fully open, over that of the elements which only its air passes."""
    count = len(house.terminals)
    flow = np.zeros(house.elements.incidence.shape[0])
    own = [
        e
        for e, row in enumerate(house.elements.incidence)
        if np.flatnonzero(row[:count]).tolist() == [terminal]
    ]
    flow[own] = house.terminals[terminal].target_m3_s
    drops = house.elements.drop_pa(flow)
    return float(drops[terminal] / sum(drops[e] for e in own if e != terminal))


def _informed(
    setup: SideSetup, house: TruthHouse, known: Callable[[float], LossShare]
) -> SideSetup:
    at = {item.id: i for i, item in enumerate(house.terminals)}
    everything = {at[item.id] for item in setup.outlets}
    parents = {run.id: run.parent_id for run in setup.runs}

    def behind(name: str) -> set[int]:
        own = {at[item.id] for item in setup.outlets if item.run_id == name}
        return own.union(*(behind(run) for run, parent in parents.items() if parent == name))

    runs = []
    for run in setup.runs:
        row = [run.id]
        while (parent := parents[row[0]]) is not None:
            row.insert(0, parent)
        members = [everything, *(behind(name) for name in row)]
        # A branch of one terminal can't be told from that terminal's own duct: left as it is.
        is_plain = len(members[-1]) > 1 and all(a != b for a, b in pairwise(members))
        runs.append(replace(run, loss=known(shares_of(house, members)[-1])) if is_plain else run)
    shared = known(shares_of(house, [everything])[0])
    return replace(setup, runs=tuple(runs), shared=shared)


def try_house(
    item: tuple[TruthHouse, np.random.SeedSequence, int], *, meter: MeterModel, style: Style
) -> tuple[Floor, tuple[Score, ...]]:
    house, seed, number = item
    tell = partial(with_drawings, house=house, seed=number)
    variants = (
        Guided(name="as it is"),
        Guided(name="no reading before turns", method=Method(reads_before_turn=False)),
        Informed(name="ducts known", tell=tell),
        Informed(name="ducts and drops known", tell=lambda told: with_drops(tell(told), house)),
    )
    scores = tuple(
        try_procedure(x, house, style=style, meter=meter, hand=HandModel(), seed=seed)
        for x in variants
    )
    return floor_of(house), scores


def figures(rows: list[tuple[Floor, Score]]) -> dict[str, float]:
    floor = sum(floor.stop_count for floor, _ in rows)
    scores = [score for _, score in rows]
    result = {
        "stops_over_floor_ratio": sum(score.stop_count for score in scores) / floor,
        "placements": float(np.mean([score.placement_count for score in scores])),
        "moves": float(np.mean([score.move_count for score in scores])),
        "trips": float(np.mean([score.trip_count for score in scores])),
        "right_frac": float(np.mean([score.is_right for score in scores])),
        "worst_mean_frac": float(np.mean([score.worst_frac for score in scores])),
        "claims_held_frac": sum(score.claim_held_count for score in scores)
        / max(sum(score.claim_count for score in scores), 1),
    }
    return {key: round(value, 4) for key, value in result.items()}


def main() -> None:
    """Print each variant's figures."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--json", action="store_true", help="one JSON object on the last line")
    parser.add_argument("--houses", type=int, default=20)
    parser.add_argument("--meter", choices=METERS, default="fine")
    parser.add_argument("--style", choices=list(Style), default="live")
    parser.add_argument("--jobs", type=int, default=2)
    options = parser.parse_args()
    house_seed, visit_seed = np.random.SeedSequence(SEED).spawn(2)
    houses = draw_houses(house_seed, count=options.houses)
    items = list(zip(houses, visit_seed.spawn(len(houses)), range(len(houses)), strict=True))
    work = partial(try_house, meter=METERS[options.meter], style=Style(options.style))
    with ProcessPoolExecutor(options.jobs) as pool:
        tried = list(pool.map(work, items, chunksize=2))
    result: dict[str, object] = {
        "benchmark": "balancing_ablations",
        "houses": options.houses,
        "seed": SEED,
        "meter": options.meter,
        "style": str(options.style),
    }
    for place in range(len(tried[0][1])):
        rows = [(floor, scores[place]) for floor, scores in tried]
        result[rows[0][1].procedure] = figures(rows)
        if not options.json:
            print(f"{rows[0][1].procedure:26}{result[rows[0][1].procedure]}")
    if options.json:
        print(json.dumps(result))


if __name__ == "__main__":
    main()
