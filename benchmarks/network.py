"""How fast is a house solved, against a dense Newton in NumPy, scipy's root and pandapipes?

One side of a house with 12, 30 and 60 terminals, every link with friction, losses and a ring valve,
fan by points, filter and exchanger. All solvers but pandapipes see the same laws and must agree;
pandapipes is compared on straight pipes with losses, which is what both can express. Times are CPU
time, the least of several rounds in which the solvers take turns; NumPy is kept to one thread.
"""

from __future__ import annotations

import argparse
import json
import os
import sys
import time
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from benchmarks.peers.network_peers import ABSENT, DensePeer, pandapipes_answers, pipe_tree
from tests.reference.pipe_networks import as_network
from ventwright.ducts import (
    ExchangerCore,
    FanCurve,
    FanPoint,
    Filter,
    Loss,
    RingValve,
    RoundDuct,
    ring_table_from_seat,
)
from ventwright.fleet import ManySolutions, solve_many
from ventwright.network import (
    Link,
    LinkRole,
    LnLoss,
    Network,
    Prepared,
    Solution,
    Tree,
    Zone,
    prepare,
    sensitivities,
    solve,
)
from ventwright.quantities.words import Side

SIZES = (12, 30, 60)
ROUNDS = 15
SEED = 20_240_612
HOUSES = 100_000


def house_side(terminal_count: int) -> Network:
    """Trunk with branches of three terminals each, sized to the number of terminals."""
    share = terminal_count / 12
    table = ring_table_from_seat(seat_diameter_m=0.09)
    links = []
    for branch in range(terminal_count // 3):
        name = f"branch{branch}"
        links.append(
            Link(
                name=name,
                parent="supply" if branch % 2 == 0 else f"branch{branch - 1}",
                laws=(
                    RoundDuct(length_m=4.0, diameter_m=0.125),
                    Loss(loss_coeff=1.0, diameter_m=0.125),
                ),
            )
        )
        for end in range(3):
            laws = (
                RoundDuct(length_m=3.0 + end, diameter_m=0.1),
                Loss(loss_coeff=1.0, diameter_m=0.1),
                RingValve(table=table, opening_turns=4.0 + end),
            )
            links.append(
                Link(
                    name=f"{name}-{end}",
                    parent=name,
                    laws=laws,
                    zone="house",
                    role=LinkRole.TERMINAL,
                )
            )
    points = ((0.0, 300.0), (0.036, 280.0), (0.072, 200.0), (0.12, 0.0))
    shared = (
        FanCurve(points=tuple(FanPoint(flow_m3_s=q * share, rise_pa=p) for q, p in points)),
        Filter(clean_drop_pa=25.0, rated_flow_m3_s=0.06 * share),
        ExchangerCore(rated_drop_pa=60.0, rated_flow_m3_s=0.06 * share),
        RoundDuct(length_m=6.0, diameter_m=0.16 * share**0.4),
    )
    tree = Tree(
        name="supply",
        side=Side.SUPPLY,
        shared=shared,
        links=tuple(links),
        outdoor_zone="outdoors",
    )
    return Network(trees=(tree,), zones=(Zone(name="outdoors"), Zone(name="house")))


@dataclass(frozen=True, slots=True, kw_only=True)
class Contest:
    """The same question put to several solvers."""

    name: str
    solvers: dict[str, Callable[[], object]]

    def least_us(self) -> dict[str, float]:
        """Least time of each solver over rounds in which they take turns [µs]."""
        least = dict.fromkeys(self.solvers, float("inf"))
        repeats = {name: _repeats(run) for name, run in self.solvers.items()}
        for _ in range(ROUNDS):
            for name, run in self.solvers.items():
                began = time.process_time()
                for _ in range(repeats[name]):
                    run()
                least[name] = min(least[name], (time.process_time() - began) / repeats[name])
        return {name: 1e6 * seconds for name, seconds in least.items()}


def _repeats(run: Callable[[], object]) -> int:
    began = time.process_time()
    run()
    return max(1, int(0.02 / (time.process_time() - began)))


def solution(prepared: Prepared, start: Solution | None = None) -> Solution:
    found = solve(prepared, start=start)
    if not isinstance(found, Solution):
        raise SystemExit(found.message)
    return found


def same_laws(terminal_count: int) -> dict[str, float]:
    """Cold and warm times of ours, NumPy dense Newton and scipy root on the same laws."""
    prepared = prepare(house_side(terminal_count))
    cold = solution(prepared)
    peer = DensePeer(prepared)
    flows = np.array(list(cold.terminal_flows().values()))
    moved = prepared.with_loss_ratios({"branch0-0": 1.1})
    moved_peer = DensePeer(moved)
    names = prepared.layout.names
    parameters = [LnLoss(name=name) for name in names]
    gaps = [
        np.max(np.abs(peer.newton(peer.start) - flows)),
        np.max(np.abs(peer.scipy_root(peer.start) - flows)),
    ]
    cold_us = Contest(
        name="cold",
        solvers={
            "ours": lambda: solve(prepared),
            "numpy_dense": lambda: peer.newton(peer.start),
            "scipy_root": lambda: peer.scipy_root(peer.start),
            "prepare": lambda: prepare(prepared_network),
            "sensitivities": lambda: sensitivities(
                cold, outputs=prepared.layout.terminals, parameters=parameters
            ),
        },
    )
    prepared_network = house_side(terminal_count)
    warm_us = Contest(
        name="warm",
        solvers={
            "ours": lambda: solve(moved, start=cold),
            "numpy_dense": lambda: moved_peer.newton(flows),
            "scipy_root": lambda: moved_peer.scipy_root(flows),
        },
    )
    result = {f"{name}_cold_us": value for name, value in cold_us.least_us().items()}
    result |= {f"{name}_warm_us": value for name, value in warm_us.least_us().items()}
    result["sensitivities_us"] = result.pop("sensitivities_cold_us")
    result["prepare_us"] = result.pop("prepare_cold_us")
    for state in ("cold", "warm"):
        ours = result[f"ours_{state}_us"]
        result[f"ours_to_numpy_{state}_ratio"] = ours / result[f"numpy_dense_{state}_us"]
        result[f"ours_to_scipy_{state}_ratio"] = ours / result[f"scipy_root_{state}_us"]
    result["iterations_count"] = cold.iterations
    result["largest_gap_m3_s"] = float(max(gaps))
    return result


def growth() -> float:
    """Cold time at 60 terminals over that at 12, taken in turns."""
    small, large = prepare(house_side(SIZES[0])), prepare(house_side(SIZES[-1]))
    least = Contest(
        name="growth", solvers={"small": lambda: solve(small), "large": lambda: solve(large)}
    ).least_us()
    return least["large"] / least["small"]


def against_pandapipes() -> dict[str, Any] | None:
    """Ours against pandapipes on pipe trees, both with the network already built."""
    trees = [pipe_tree(size) for size in SIZES]
    peers = pandapipes_answers(trees, repeats=15)
    if peers is None:
        return None
    result: dict[str, Any] = {"pandapipes_version": peers["version"]}
    for size, tree, peer in zip(SIZES, trees, peers["answers"], strict=True):
        prepared = prepare(as_network(tree))
        found = solution(prepared)
        cold = Contest(name="pipes", solvers={"ours": lambda p=prepared: solve(p)})  # type: ignore[misc]
        ours_us = cold.least_us()["ours"]
        gap = max(abs(found.flow(name) / flow - 1.0) for name, flow in peer["flow_m3_s"].items())
        result[str(size)] = {
            "ours_us": ours_us,
            "pandapipes_us": 1e6 * peer["seconds"],
            "ours_to_pandapipes_ratio": ours_us / (1e6 * peer["seconds"]),
            "largest_gap_ratio": gap,
        }
    return result


def batch() -> dict[str, float]:
    """Many houses of 12 terminals that differ in every loss and in fan speed."""
    prepared = prepare(house_side(12))
    rng = np.random.default_rng(SEED)
    loss_ratio = {name: np.exp(rng.normal(0.0, 0.3, HOUSES)) for name in prepared.layout.names}
    speed_frac = {"supply": rng.uniform(0.5, 1.0, HOUSES)}
    began = time.process_time()
    many = solve_many(prepared, house_count=HOUSES, loss_ratio=loss_ratio, speed_frac=speed_frac)
    seconds = time.process_time() - began
    if not isinstance(many, ManySolutions):
        raise SystemExit(many.message)
    worst = 0.0
    for house in range(0, HOUSES, HOUSES // 50):
        alone = prepared.with_loss_ratios(
            {name: float(values[house]) for name, values in loss_ratio.items()}
        ).with_speeds({"supply": float(speed_frac["supply"][house])})
        gap = np.abs(np.array(solution(alone).flow_m3_s) - many.flow_m3_s[:, house])
        worst = max(worst, float(gap.max()))
    return {
        "houses_count": HOUSES,
        "seconds_s": seconds,
        "us_per_house_us": 1e6 * seconds / HOUSES,
        "largest_gap_m3_s": worst,
    }


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--json", action="store_true")
    options = parser.parse_args()
    result: dict[str, Any] = {"benchmark": "network"}
    result["same_laws"] = {str(size): same_laws(size) for size in SIZES}
    result["growth_12_to_60_ratio"] = growth()
    pipes = against_pandapipes()
    result["pipes"] = pipes if pipes is not None else ABSENT
    result["batch"] = batch()
    if not options.json:
        show(result)
        return
    print(json.dumps(result))


def show(result: dict[str, Any]) -> None:
    """A few lines for people."""
    for size, row in result["same_laws"].items():
        print(
            f"{size} terminals: cold {row['ours_cold_us']:.0f} µs "
            f"(NumPy dense {row['numpy_dense_cold_us']:.0f}, "
            f"scipy root {row['scipy_root_cold_us']:.0f}), warm {row['ours_warm_us']:.0f} µs "
            f"({row['numpy_dense_warm_us']:.0f}, {row['scipy_root_warm_us']:.0f}), "
            f"prepare {row['prepare_us']:.0f} µs, all sensitivities "
            f"{row['sensitivities_us']:.0f} µs, gap {row['largest_gap_m3_s']:.1e} m³/s"
        )
    print(f"growth from 12 to 60 terminals: {result['growth_12_to_60_ratio']:.1f} times")
    pipes = result["pipes"]
    if isinstance(pipes, str):
        print(pipes)
    else:
        for size in map(str, SIZES):
            row = pipes[size]
            print(
                f"{size} terminals, pipes only: ours {row['ours_us']:.0f} µs, "
                f"pandapipes {row['pandapipes_us']:.0f} µs, 1/"
                f"{1.0 / row['ours_to_pandapipes_ratio']:.0f}, flows within "
                f"{row['largest_gap_ratio']:.1e}"
            )
    row = result["batch"]
    print(
        f"{row['houses_count']} houses of 12 terminals: {row['seconds_s']:.2f} s, "
        f"{row['us_per_house_us']:.1f} µs each, gap {row['largest_gap_m3_s']:.1e} m³/s"
    )


if __name__ == "__main__":
    main()
