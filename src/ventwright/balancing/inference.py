"""Most likely unknowns of a side from all readings so far, with their covariance.

Gauss–Newton steps on the sum of squared deviations of readings and priors; slopes come from the two
sweeps of the tree. The matrix of the last step is kept: its inverse is the covariance.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import cached_property
from math import exp, log, sqrt
from operator import mul

from ventwright.balancing.damper_law import share_of_odds, softplus
from ventwright.balancing.matrix import Factor, add_outer, factor
from ventwright.balancing.side_model import (
    DamperUnknowns,
    Epoch,
    Observation,
    SideModel,
    speed_power_at,
)
from ventwright.balancing.tree import EXPONENT, TreeState, sweep
from ventwright.quantities.records import dataclass

_STEPS_MAX = 12
_GAIN_SMALL = 1e-3
"""Gain in the sum of squares below which a step is not worth another."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Found:
    """Resistances as found for given unknowns, with what their slopes need.

    `share` and `rest` are the share of pressure lost in each inner node and what it leaves;
    `part` is each terminal's part of the flow of each inner node above it.
    """

    ln_resistance: tuple[float, ...]
    share: tuple[float, ...]
    ln_flow: tuple[float, ...]


def found_state(model: SideModel, unknowns: Sequence[float]) -> Found:
    """Resistances as found that give the as-found flows at the given shares."""
    tree, first = model.tree, model.first_leaf
    flow = [0.0] * len(tree.parent)
    for place, leaf in enumerate(tree.leaves):
        flow[leaf] = exp(unknowns[place])
    for node in range(len(flow) - 1, 0, -1):
        flow[tree.parent[node]] += flow[node]
    leaves = len(tree.leaves)
    share = [share_of_odds(unknowns[leaves + node]) for node in range(first)] + [1.0] * leaves
    ln_flow = [log(value) for value in flow]
    ln_after = [0.0] * len(flow)
    ln_resistance = []
    for node, parent in enumerate(tree.parent):
        before = 0.0 if parent < 0 else ln_after[parent]
        ln_resistance.append(before + log(share[node]) - EXPONENT * ln_flow[node])
        if node < first:
            ln_after[node] = before + log(1.0 - share[node])
    return Found(ln_resistance=tuple(ln_resistance), share=tuple(share), ln_flow=tuple(ln_flow))


def size_and_steepness(unknowns: Sequence[float], damper: DamperUnknowns) -> tuple[float, float]:
    """Size of a damper against its duct when open, and slope of its resistance by its table."""
    size = unknowns[damper.size_at]
    if damper.common_at is not None:
        size += unknowns[damper.common_at]
    return size, 2.0 * (1.0 + unknowns[damper.table_at])


def version_change(model: SideModel, unknowns: Sequence[float], version: int) -> float:
    """Change of the logarithm of a node's resistance from as found to after a move."""
    moved = model.versions[version]
    change = unknowns[moved.free_at]
    damper = moved.damper
    if damper is not None and moved.ln_factor is not None:
        size, steep = size_and_steepness(unknowns, damper)
        now, before = size - steep * moved.ln_factor, size - steep * damper.ln_factor_found
        change += softplus(now) - softplus(before)
    return change


def version_slopes(
    model: SideModel, unknowns: Sequence[float], version: int
) -> list[tuple[int, float]]:
    """Slopes of `version_change` as (unknown, slope)."""
    moved = model.versions[version]
    slopes = [(moved.free_at, 1.0)]
    damper = moved.damper
    if damper is not None and moved.ln_factor is not None:
        size, steep = size_and_steepness(unknowns, damper)
        now = share_of_odds(size - steep * moved.ln_factor)
        before = share_of_odds(size - steep * damper.ln_factor_found)
        slopes.append((damper.size_at, now - before))
        if damper.common_at is not None:
            slopes.append((damper.common_at, now - before))
        table = -2.0 * (now * moved.ln_factor - before * damper.ln_factor_found)
        slopes.append((damper.table_at, table))
    return slopes


@dataclass(frozen=True, slots=True, kw_only=True)
class Picture:
    """A side with all resistances known: flows of every node and how they answer to unknowns.

    Parameters
    ----------
    model
        The side.
    unknowns
        Their values.
    found
        Resistances as found.
    epoch
        State of dampers and fan.
    state
        The tree swept.
    ln_resistance
        Resistance of each node in this state.
    """

    model: SideModel
    unknowns: tuple[float, ...]
    found: Found
    epoch: Epoch
    state: TreeState
    ln_resistance: tuple[float, ...]

    def row(self, node: int, *, fixed: frozenset[int] = frozenset()) -> list[float]:
        """Slopes of the logarithm of a node's flow against all unknowns.

        Parameters
        ----------
        node
            Terminal, run or 0 for the total.
        fixed
            Nodes whose resistance is held whatever the unknowns are.
        """
        model = self.model
        slopes = self.state.slopes(node)
        row = [0.0] * len(self.unknowns)
        for at in fixed:
            slopes[at] = 0.0
        for at, version in enumerate(self.epoch.versions):
            if version >= 0 and at not in fixed:
                for place, slope in version_slopes(model, self.unknowns, version):
                    row[place] += slopes[at] * slope
        self._found_slopes(slopes, row)
        row[speed_power_at(model.setup)] += self.epoch.ln_speed / EXPONENT
        return row

    def _found_slopes(self, slopes: list[float], row: list[float]) -> None:
        """Carry slopes against resistances as found over to flows and shares as found."""
        tree, first = self.model.tree, self.model.first_leaf
        leaves = len(tree.leaves)
        below = list(slopes)
        for node in range(len(below) - 1, 0, -1):
            below[tree.parent[node]] += below[node]
        flow = self.found.ln_flow
        gathered = [0.0] * len(below)
        for node, parent in enumerate(tree.parent):
            above = gathered[parent] if parent >= 0 else 0.0
            if node < first:
                share = self.found.share[node]
                behind = below[node] - slopes[node]
                row[leaves + node] += (1.0 - share) * slopes[node] - share * behind
                gathered[node] = above - EXPONENT * slopes[node] / exp(flow[node])
            else:
                row[node - first] += above * exp(flow[node]) - EXPONENT * slopes[node]


def picture(
    model: SideModel,
    unknowns: tuple[float, ...],
    *,
    epoch: Epoch,
    found: Found | None = None,
    changes: Sequence[float] | None = None,
) -> Picture:
    """Flows of a side in a state.

    Parameters
    ----------
    model
        The side.
    unknowns
        Their values.
    epoch
        State of dampers and fan.
    found
        Resistances as found, if worked out already.
    changes
        Change of each version, if worked out already.
    """
    base = found_state(model, unknowns) if found is None else found
    resistance = list(base.ln_resistance)
    for node, version in enumerate(epoch.versions):
        if version >= 0:
            change = (
                version_change(model, unknowns, version) if changes is None else changes[version]
            )
            resistance[node] += change
    power = unknowns[speed_power_at(model.setup)]
    state = sweep(model.tree, resistance, ln_pressure=power * epoch.ln_speed)
    return Picture(
        model=model,
        unknowns=unknowns,
        found=base,
        epoch=epoch,
        state=state,
        ln_resistance=tuple(resistance),
    )


@dataclass(frozen=True, kw_only=True)
class Posterior:
    """What is known of a side.

    Parameters
    ----------
    model
        The side.
    unknowns
        Most likely values.
    matrix
        Factored inverse of their covariance.
    deviations
        Reading less prediction, in logarithms, for each observation.
    rows
        Slopes of each observation's prediction.
    """

    model: SideModel
    unknowns: tuple[float, ...]
    matrix: Factor
    deviations: tuple[float, ...]
    rows: tuple[tuple[float, ...], ...]

    @cached_property
    def now(self) -> Picture:
        """The side as it stands."""
        return picture(self.model, self.unknowns, epoch=self.model.epochs[-1])

    def half(self, row: Sequence[float]) -> list[float]:
        """Vector whose products with its like are covariances of what rows stand for."""
        return self.matrix.forward(row)

    def spread(self, row: Sequence[float]) -> float:
        """Standard uncertainty of what a row stands for."""
        half = self.half(row)
        return sqrt(sum(map(mul, half, half)))


def infer(model: SideModel) -> Posterior:
    """Most likely unknowns and their covariance.

    Parameters
    ----------
    model
        The side with its observations.
    """
    unknowns = model.start
    cost, deviations, rows = _evaluate(model, unknowns)
    for _ in range(_STEPS_MAX):
        matrix, step, gain = _step(model, unknowns, deviations, rows)
        if gain < _GAIN_SMALL:
            break
        part = 1.0
        while True:
            trial = tuple(x + part * s for x, s in zip(unknowns, step, strict=True))
            new_cost, new_deviations, new_rows = _evaluate(model, trial)
            if new_cost <= cost + 1e-9 or part < 0.02:
                break
            part *= 0.4
        unknowns, cost, deviations, rows = trial, new_cost, new_deviations, new_rows
    else:
        matrix, _, _ = _step(model, unknowns, deviations, rows)
    return Posterior(
        model=model,
        unknowns=unknowns,
        matrix=matrix,
        deviations=tuple(deviations),
        rows=tuple(tuple(row) for row in rows),
    )


def _evaluate(
    model: SideModel, unknowns: tuple[float, ...]
) -> tuple[float, list[float], list[list[float]]]:
    """Cost, deviations and rows at given unknowns."""
    found = found_state(model, unknowns)
    changes = [version_change(model, unknowns, v) for v in range(len(model.versions))]
    pictures: dict[int, Picture] = {}
    deviations, rows = [], []
    cost = sum(
        ((x - mean) / spread) ** 2
        for x, mean, spread in zip(unknowns, model.prior, model.prior_spread, strict=True)
    )
    for item in model.observations:
        if item.epoch not in pictures:
            pictures[item.epoch] = picture(
                model, unknowns, epoch=model.epochs[item.epoch], found=found, changes=changes
            )
        shown = pictures[item.epoch]
        deviation, row = _observe(shown, item)
        deviations.append(deviation)
        rows.append(row)
        cost += (deviation / item.spread) ** 2
    return cost, deviations, rows


def _observe(shown: Picture, item: Observation) -> tuple[float, list[float]]:
    row = shown.row(item.node)
    deviation = item.ln_flow - shown.state.ln_flow[item.node]
    if item.bias_at >= 0:
        deviation -= shown.unknowns[item.bias_at]
        row[item.bias_at] += 1.0
    return deviation, row


def _step(
    model: SideModel,
    unknowns: tuple[float, ...],
    deviations: Sequence[float],
    rows: Sequence[Sequence[float]],
) -> tuple[Factor, list[float], float]:
    """Factored matrix, Gauss–Newton step, and what it should gain in the sum of squares."""
    size = len(unknowns)
    weights = [spread**-2 for spread in model.prior_spread]
    square = [[0.0] * (i + 1) for i in range(size)]
    right = [w * (m - x) for w, m, x in zip(weights, model.prior, unknowns, strict=True)]
    for i in range(size):
        square[i][i] = weights[i]
    for item, deviation, row in zip(model.observations, deviations, rows, strict=True):
        weight = item.spread**-2
        add_outer(square, row, weight_factor=weight)
        pull = weight * deviation
        for i, value in enumerate(row):
            if value != 0.0:
                right[i] += value * pull
    matrix = factor(square)
    step = matrix.solve(right)
    return matrix, step, sum(map(mul, step, right))
