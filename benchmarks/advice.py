"""How long guidance takes to say the next step, by number of terminals on a side.

The peer, in the same run, is one dense least-squares solve by scipy of the same size as the last
inference: what a general library would need for the linear algebra alone.
"""

from __future__ import annotations

import argparse
import json
import statistics
import time
from random import Random

import numpy as np
from scipy.linalg import lstsq

from ventwright.balancing import (
    Damper,
    Deed,
    Finished,
    Meter,
    NextStep,
    Outlet,
    Run,
    Session,
    SideSetup,
    add_move,
    add_reading,
    add_speed,
    next_step,
    start,
)
from ventwright.quantities.words import Side

TABLE = tuple((x / 10, (x / 10) ** 1.1) for x in range(1, 11))
TERMINALS_PER_BRANCH = 4


class ToyHouse:
    """Flows good enough to keep guidance busy: shares of conductances, everything in parallel."""

    def __init__(self, count: int) -> None:
        rng = Random(count)
        self.open = {f"t{i}": rng.uniform(0.6, 1.7) for i in range(count)}
        self.mark = dict.fromkeys(self.open, 1.0)
        self.rng = rng

    def flow(self, name: str) -> float:
        whole = sum(self.open[n] * self.mark[n] for n in self.open)
        total = 0.01 * len(self.open) * float((whole / len(self.open)) ** 0.3)
        return total * self.open[name] * self.mark[name] / whole

    def shown(self, name: str) -> float:
        return self.flow(name) * (1 + self.rng.gauss(0.0, 0.01))


def session_for(count: int) -> Session:
    branches = tuple(Run(id=f"b{i}") for i in range(-(-count // TERMINALS_PER_BRANCH)))
    outlets = tuple(
        Outlet(
            id=f"t{i}",
            run_id=f"b{i // TERMINALS_PER_BRANCH}",
            target_m3_s=0.01,
            damper=Damper(opening_frac=1.0, table=TABLE),
        )
        for i in range(count)
    )
    setup = SideSetup(side=Side.SUPPLY, outlets=outlets, runs=branches)
    return start([setup], meters=[Meter(id="hood", repeat_frac=0.015)])


def do(house: ToyHouse, session: Session, step: NextStep) -> Session:
    if step.deed is Deed.SET_SPEED:
        return add_speed(session, side=step.side, speed_frac=step.speed_frac or 1.0)
    if step.deed is Deed.TURN and step.stop_m3_s is not None:
        now = house.flow(step.thing_id)
        house.mark[step.thing_id] *= (step.stop_m3_s / now) ** 1.2
        session = add_move(
            session,
            thing_id=step.thing_id,
            opening_frac=min(max(house.mark[step.thing_id], 0.1), 1.0),
        )
    return add_reading(session, thing_id=step.read_id, flow_m3_s=house.shown(step.read_id))


def times_s(count: int, *, steps_max: int) -> list[float]:
    """Seconds of processor time for each piece of advice once all terminals have been read."""
    house, session = ToyHouse(count), session_for(count)
    for i in range(count):
        session = add_reading(session, thing_id=f"t{i}", flow_m3_s=house.shown(f"t{i}"))
    found = []
    for _ in range(steps_max):
        began = time.process_time()
        step = next_step(session)
        found.append(time.process_time() - began)
        if isinstance(step, Finished):
            break
        session = do(house, session, step)
    return found


def peer_s(count: int) -> float:
    rng = np.random.default_rng(count)
    matrix, right = rng.normal(size=(4 * count, 3 * count)), rng.normal(size=4 * count)
    began = time.perf_counter()
    lstsq(matrix, right)
    return time.perf_counter() - began


def main() -> None:
    """Print medians and maxima for sides of several sizes."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--json", action="store_true", help="one JSON object on the last line")
    parser.add_argument("--steps", type=int, default=60)
    options = parser.parse_args()
    result: dict[str, object] = {"benchmark": "advice"}
    for count in (6, 12, 24, 60):
        found = times_s(count, steps_max=options.steps)
        peer = statistics.median(peer_s(count) for _ in range(9))
        median = statistics.median(found)
        result[f"terminals_{count}"] = {
            "median_ms": round(1e3 * median, 1),
            "most_ms": round(1e3 * max(found), 1),
            "ratio_to_dense_solve": round(median / peer, 1),
        }
        if not options.json:
            print(count, result[f"terminals_{count}"])
    if options.json:
        print(json.dumps(result))


if __name__ == "__main__":
    main()
