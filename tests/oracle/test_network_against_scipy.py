"""3,000 random networks against a dense root finder that knows no trees.

They hold zero flow (fans off, no wind), closed branches and terminals, laminar flow, flow against
the design direction, all kinds of fans, leakage, zones of unknown pressure and two ventilation
units. Set VENTWRIGHT_TREES to run fewer or more.
"""

from __future__ import annotations

import os
from random import Random

import numpy as np
import pytest

from tests.oracle.dense_network import FLOW_SCALE_M3_S, PRESSURE_SCALE_PA, DenseNetwork
from tests.oracle.random_trees import random_network
from ventwright.network import Solution, solve

TREES_COUNT = int(os.environ.get("VENTWRIGHT_TREES", "3000"))
BLOCKS = 10
TOLERANCE_M3_S = 1e-8 * FLOW_SCALE_M3_S


def near(dense: DenseNetwork, solution: Solution, seed: int) -> np.ndarray:
    """Starting point up to 10 % beside our answer, for the few where scipy loses its way."""
    rng = np.random.default_rng(seed)
    flows = [solution.flow(name) / FLOW_SCALE_M3_S for name in dense.names]
    pressures = []
    for node in dense.nodes:
        kind, name = node.split(":", 1)
        found = solution.zone_pressure(name) if kind == "zone" else solution.pressure(name)
        pressures.append((found or 0.0) / PRESSURE_SCALE_PA)
    x = np.array([*flows, *pressures])
    return x * (1.0 + 0.1 * rng.standard_normal(x.size)) + 0.01 * rng.standard_normal(x.size)


@pytest.mark.filterwarnings("ignore::RuntimeWarning")
@pytest.mark.parametrize("block", range(BLOCKS))
def test_random_networks_agree_with_scipy_root(block: int) -> None:
    helped = 0
    for seed in range(block, TREES_COUNT, BLOCKS):
        network = random_network(Random(seed))
        solution = solve(network)
        assert isinstance(solution, Solution), (seed, solution)
        dense = DenseNetwork(network)
        size = len(dense.names) + len(dense.nodes)
        start = np.zeros(size)
        start[: len(dense.names)] = 1.0
        flows, residual = dense.solve(start)
        if residual > 1e-10:
            helped += 1
            flows, residual = dense.solve(near(dense, solution, seed))
        assert residual < 1e-10, seed
        for name in solution.prepared.layout.names:
            assert abs(solution.flow(name) - flows.get(name, 0.0)) <= TOLERANCE_M3_S, (seed, name)
    assert helped <= 0.02 * TREES_COUNT


@pytest.mark.parametrize("kind", ["reversed", "zero", "huge", "mixed"])
def test_start_does_not_matter(kind: str) -> None:
    for seed in range(150):
        solution = solve(random_network(Random(seed)))
        assert isinstance(solution, Solution)
        rng = Random(seed)
        start = [
            {
                "reversed": -flow,
                "zero": 0.0,
                "huge": 50.0,
                "mixed": rng.uniform(-1.0, 1.0) * 10 ** rng.uniform(-6.0, 1.0),
            }[kind]
            for flow in solution.flow_m3_s
        ]
        again = solve(solution.prepared, start=start)
        assert isinstance(again, Solution), (seed, again)
        gap = max(abs(a - b) for a, b in zip(solution.flow_m3_s, again.flow_m3_s, strict=True))
        assert gap <= TOLERANCE_M3_S, (seed, gap)


def test_states_that_trouble_solvers_do_occur() -> None:
    counts = {"reversed": 0, "still": 0, "closed": 0, "laminar or slow": 0}
    for seed in range(300):
        solution = solve(random_network(Random(seed)))
        assert isinstance(solution, Solution)
        flows = solution.flow_m3_s
        counts["reversed"] += min(flows) < -1e-6
        counts["still"] += max(map(abs, flows)) < 1e-9
        counts["closed"] += any(part.passive.is_closed for part in solution.prepared.parts)
        counts["laminar or slow"] += any(1e-9 < abs(flow) < 1e-3 for flow in flows)
    assert min(counts.values()) >= 3, counts
