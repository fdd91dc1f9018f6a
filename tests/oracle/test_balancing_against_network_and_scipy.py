"""The small model against the network solver, its search and covariance against scipy."""

from __future__ import annotations

from math import exp, log
from random import Random

import numpy as np
import pytest
from scipy.linalg import cho_factor, cho_solve
from scipy.optimize import least_squares

from tests.unit.balancing.network_house import House, play
from ventwright.balancing.inference import infer, picture
from ventwright.balancing.matrix import NotPositiveError, factor
from ventwright.balancing.side_model import SideModel, compile_side
from ventwright.balancing.tree import EXPONENT, Tree, sweep
from ventwright.ducts import PowerLaw
from ventwright.network import (
    Link,
    LinkRole,
    LnLoss,
    Network,
    Solution,
    Zone,
    prepare,
    sensitivities,
    solve,
)
from ventwright.network import Tree as NetworkTree
from ventwright.quantities.words import Side

FAN_PA = 200.0


def random_tree(rng: Random) -> tuple[Tree, list[float]]:
    """A tree of three levels and resistances that give house-like flows."""
    parent = [-1, 0, 0, 1]
    leaves = []
    for run in (0, 1, 2, 3):
        for _ in range(rng.randint(1, 3)):
            leaves.append(len(parent))
            parent.append(run)
    resistance = [log(rng.uniform(5.0, 60.0)) - EXPONENT * log(0.02) for _ in parent]
    return Tree(parent=tuple(parent), leaves=tuple(leaves)), resistance


def network_of(tree: Tree, resistance: list[float]) -> Solution:
    """The same on the network solver, driven by the pressure of the outdoor zone."""

    def law(node: int) -> tuple[PowerLaw, ...]:
        drop_pa = exp(resistance[node]) * 0.01**EXPONENT
        return (PowerLaw(drop_pa=drop_pa, flow_m3_s=0.01, exponent=EXPONENT),)

    links = tuple(
        Link(
            name=str(node),
            parent="0" if parent == 0 else str(parent),
            laws=law(node),
            zone="rooms" if node in tree.leaves else None,
            role=LinkRole.TERMINAL if node in tree.leaves else LinkRole.DUCT,
        )
        for node, parent in enumerate(tree.parent)
        if node > 0
    )
    side = NetworkTree(
        name="0", side=Side.SUPPLY, shared=law(0), links=links, outdoor_zone="outdoors"
    )
    zones = (Zone(name="outdoors", pressure_pa=FAN_PA), Zone(name="rooms"))
    solution = solve(prepare(Network(trees=(side,), zones=zones)))
    assert isinstance(solution, Solution)
    return solution


@pytest.mark.parametrize("seed", range(6))
def test_flows_and_slopes_are_those_of_the_network_solver(seed: int) -> None:
    tree, resistance = random_tree(Random(seed))
    state = sweep(tree, resistance, ln_pressure=log(FAN_PA))
    solution = network_of(tree, resistance)
    names = [str(node) for node in range(len(tree.parent))]
    for node, name in enumerate(names):
        assert exp(state.ln_flow[node]) == pytest.approx(solution.flow(name), rel=1e-6)
    leaves = [str(leaf) for leaf in tree.leaves]
    theirs = sensitivities(solution, outputs=leaves, parameters=[LnLoss(name=n) for n in names])
    for leaf, row in zip(tree.leaves, theirs, strict=True):
        flow = solution.flow(str(leaf))
        ours = state.slopes(leaf)
        assert ours == pytest.approx([value / flow for value in row], rel=1e-5, abs=1e-9)


@pytest.fixture(scope="module")
def model() -> SideModel:
    """A side after a whole visit with noise."""
    rng = Random(11)
    session, _, _ = play(House(noise=lambda: rng.gauss(0.0, 0.005)))
    return compile_side(session, Side.SUPPLY)


def residuals(model: SideModel, unknowns: np.ndarray) -> np.ndarray:
    """Weighted deviations of readings and priors, written out plainly."""
    values = tuple(float(x) for x in unknowns)
    found = [
        (x - mean) / spread
        for x, mean, spread in zip(values, model.prior, model.prior_spread, strict=True)
    ]
    for item in model.observations:
        shown = picture(model, values, epoch=model.epochs[item.epoch])
        found.append((shown.state.ln_flow[item.node] - item.ln_flow) / item.spread)
    return np.array(found)


def test_search_ends_where_scipy_ends(model: SideModel) -> None:
    ours = infer(model)
    theirs = least_squares(
        lambda x: residuals(model, x), np.array(model.prior), xtol=1e-12, ftol=1e-12, gtol=1e-10
    )
    spread = np.sqrt(np.diag(np.linalg.inv(theirs.jac.T @ theirs.jac)))
    assert 2 * theirs.cost == pytest.approx(
        float(np.sum(residuals(model, np.array(ours.unknowns)) ** 2)), abs=2e-3
    )
    assert np.abs((np.array(ours.unknowns) - theirs.x) / spread).max() < 0.05


def test_covariance_is_that_of_a_numerical_jacobian(model: SideModel) -> None:
    ours = infer(model)
    at = np.array(ours.unknowns)
    step = 1e-5
    columns = [
        (residuals(model, at + step * unit) - residuals(model, at - step * unit)) / (2 * step)
        for unit in np.eye(at.size)
    ]
    jacobian = np.stack(columns, axis=1)
    covariance = np.linalg.inv(jacobian.T @ jacobian)
    for leaf in model.tree.leaves:
        row = ours.now.row(leaf)
        theirs = float(np.sqrt(np.array(row) @ covariance @ np.array(row)))
        assert ours.spread(row) == pytest.approx(theirs, rel=1e-3)


def test_factor_solves_as_scipy_does() -> None:
    rng = np.random.default_rng(5)
    half = rng.normal(size=(12, 12))
    square, right = half @ half.T + 0.1 * np.eye(12), rng.normal(size=12)
    ours = factor(square.tolist()).solve(right.tolist())
    assert ours == pytest.approx(cho_solve(cho_factor(square), right).tolist(), rel=1e-9)
    with pytest.raises(NotPositiveError):
        factor([[1.0], [2.0, 1.0]])
