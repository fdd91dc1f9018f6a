"""How long does a plan take, against a single solve of the same house from scratch?

Made-up houses with 6, 30 and 60 terminals a side on three levels of branching. A plan assembles the
house several times, solves it open and set in two fan settings with the doubts of every piece, and
again with three runs of each side one size larger. The peer is assembling and solving once. Times
are CPU time, the least of several rounds in which the two take turns.
"""

from __future__ import annotations

import argparse
import json
import sys
import time
from collections.abc import Callable
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from tests.unit.assembly import houses
from ventwright.assembly import network_from
from ventwright.findings import PlanSnapshot, plan_house
from ventwright.network import solve

SIZES = (6, 30, 60)
ROUNDS = 5


def seconds(work: Callable[[], object]) -> float:
    began = time.process_time()
    work()
    return time.process_time() - began


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--json", action="store_true", help="one JSON object on the last line")
    options = parser.parse_args()
    result: dict[str, object] = {"benchmark": "plan", "rounds": ROUNDS}
    for count in SIZES:
        house = houses.many_terminals(count)
        snapshot = PlanSnapshot(engine="benchmark", house=house, rule_sets=())
        plan_s, once_s = [], []
        for _ in range(ROUNDS):
            plan_s.append(seconds(lambda s=snapshot: plan_house(s)))  # type: ignore[misc]
            once_s.append(seconds(lambda h=house: solve(network_from(h).network)))  # type: ignore[misc]
        plan_ms, once_ms = 1e3 * min(plan_s), 1e3 * min(once_s)
        result[f"plan_{2 * count}_terminals_ms"] = round(plan_ms, 1)
        result[f"solve_{2 * count}_terminals_ms"] = round(once_ms, 2)
        result[f"plan_{2 * count}_terminals_ratio"] = round(plan_ms / once_ms, 1)
        print(
            f"{2 * count} terminals: a plan in {plan_ms:.0f} ms, assembled and solved once in "
            f"{once_ms:.1f} ms (ratio {plan_ms / once_ms:.0f})"
        )
    if options.json:
        print(json.dumps(result, sort_keys=True))


if __name__ == "__main__":
    main()
