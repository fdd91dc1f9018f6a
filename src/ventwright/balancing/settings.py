"""Where dampers must end: the fewest that bring every terminal of a side into its band."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from math import exp, inf
from operator import mul

from ventwright.balancing.inference import Picture
from ventwright.balancing.matrix import factor
from ventwright.balancing.reach import Reach
from ventwright.balancing.shares import Departures, departures
from ventwright.balancing.side_model import speed_power_at
from ventwright.balancing.tree import TreeState, sweep
from ventwright.quantities.records import dataclass, replace

_STEPS_MAX = 14
_INDICES_MAX = 4
_LARGEST_STEP = 1.5
MANY_TERMINALS = 20


@dataclass(frozen=True, slots=True, kw_only=True)
class Target:
    """Where everything should end.

    Parameters
    ----------
    moves
        Nodes to be moved, with the resistance each should have in the end.
    opened
        Those of them that are opened fully.
    ln_resistance
        Resistance of every node in the end.
    departures
        What the terminals' departures would be.
    is_within
        Whether all are within what was asked.
    cost
        Stops the moves take.
    """

    moves: Mapping[int, float]
    opened: frozenset[int]
    ln_resistance: tuple[float, ...]
    departures: Departures
    is_within: bool
    cost: float


@dataclass(slots=True, kw_only=True)
class Planner:
    """Searches final settings of one side.

    Parameters
    ----------
    shown
        The side as it stands.
    guards
        For each terminal, how far it may end from its share, in half bands.
    costs
        Stops it takes to move each node that can be moved.
    """

    shown: Picture
    guards: Sequence[float]
    costs: Mapping[int, float]
    reach: dict[int, Reach]

    def search(self) -> Target:
        """The cheapest target found; where none is within, the one nearest to it."""
        now = list(self.shown.ln_resistance)
        off = self._departures(self._sweep(now))
        rings, runs = self._movable()
        if self._is_within(off) and self.has_open_path(frozenset(), frozenset()):
            return self._target(now, frozenset(), frozenset())
        found: list[Target] = []
        likely, others = self._indices(rings | runs)
        for index in likely + others:
            if index in others and any(target.is_within for target in found):
                break
            for loose in (rings, rings | runs) if runs else (rings,):
                found.append(self._with_index(now, index, loose))
        return min(found, key=_rank)

    def _movable(self) -> tuple[frozenset[int], frozenset[int]]:
        first = self.shown.model.first_leaf
        nodes = [node for node in self.reach if node in self.costs]
        return (
            frozenset(n for n in nodes if n >= first),
            frozenset(n for n in nodes if n < first),
        )

    def _indices(self, loose: frozenset[int]) -> tuple[list[int], list[int]]:
        """Terminals that may be the one whose path stays fully open: likely ones, and others.

        With all dampers free to move, the neediest is where least is left to open on the path; of
        several the one that is shortest of air now. A path that is open already comes next, since
        keeping it open costs nothing.
        """
        leaves = self.shown.model.tree.leaves
        now = list(self.shown.ln_resistance)
        wide, _ = self._solve(now, loose, stop_early=False)
        short = self._departures(self._sweep(now)).offs
        need = {}
        for leaf, off in zip(leaves, short, strict=True):
            path = [node for node in self.shown.model.tree.path(leaf) if node in self.reach]
            room = sum(wide[node] - self.reach[node].least for node in path)
            need[leaf] = (round(room, 1) if path else inf, off)
        order = sorted(leaves, key=lambda leaf: need[leaf])
        none: frozenset[int] = frozenset()
        is_open = [leaf for leaf in order if self._is_open(leaf, none, none)]
        likely = list(dict.fromkeys(order[:1] + is_open[:1]))
        return likely, [leaf for leaf in order[1:_INDICES_MAX] if leaf not in likely]

    def _with_index(self, now: list[float], index: int, loose: frozenset[int]) -> Target:
        """Fewest moves with one terminal's path fully open."""
        path = [node for node in self.shown.model.tree.path(index) if node in self.reach]
        opened = frozenset(node for node in path if not self.reach[node].is_open_now)
        start = list(now)
        for node in opened:
            start[node] = self.reach[node].when_open
        free = loose - frozenset(path)
        resistance, off = self._solve(start, free)
        guards = self.guards
        if not self._is_within(off):
            resistance, off = self._solve(start, free, stop_early=False)
            worst = max(abs(x) / g for x, g in zip(off.offs, guards, strict=True))
            self.guards = [g * max(1.0, 1.05 * worst) for g in guards]
        target = self._fewest(now, resistance, free, opened)
        self.guards = guards
        return replace(target, is_within=self._is_within(target.departures))

    def _fewest(
        self,
        now: list[float],
        resistance: list[float],
        free: frozenset[int],
        opened: frozenset[int],
    ) -> Target:
        """Strike out moves, then settle the rest as well as they can be."""
        kept = self._strike_out(now, resistance, free)
        start = list(now)
        for node in opened:
            start[node] = self.reach[node].when_open
        for node in kept[0]:
            start[node] = kept[1][node]
        final, final_off = self._solve(start, kept[0], stop_early=False)
        if not self._is_within(final_off):
            final = kept[1]
        return self._target(final, kept[0], opened)

    def _strike_out(
        self,
        now: list[float],
        resistance: list[float],
        free: frozenset[int],
    ) -> tuple[frozenset[int], list[float]]:
        """Leave moves out one by one, dearest and least moved first, while the rest can do it."""
        order = sorted(free, key=lambda n: abs(resistance[n] - now[n]) / self.costs.get(n, 1.0))
        left, best = free, resistance
        if len(order) > MANY_TERMINALS:
            left, best, order = self._by_halves(now, best, order)
        for node in order:
            trial_left = left - {node}
            start = list(best)
            start[node] = now[node]
            trial, off = self._solve(start, trial_left)
            if self._is_within(off):
                left, best = trial_left, trial
        return left, best

    def _by_halves(
        self, now: list[float], best: list[float], order: list[int]
    ) -> tuple[frozenset[int], list[float], list[int]]:
        """For many terminals: find by halving how many of the least moved can stay at once."""
        low, high = 0, len(order)
        left = frozenset(order)
        while high - low > 1:
            middle = (low + high) // 2
            start = list(best)
            for node in order[:middle]:
                start[node] = now[node]
            trial, off = self._solve(start, frozenset(order[middle:]))
            if self._is_within(off):
                low, best, left = middle, trial, frozenset(order[middle:])
            else:
                high = middle
        return left, best, order[low : low + 6]

    def _solve(
        self,
        start: list[float],
        free: frozenset[int],
        *,
        stop_early: bool = True,
    ) -> tuple[list[float], Departures]:
        """Damped Gauss–Newton on the fourth powers of departures, within the dampers' reach."""
        nodes = sorted(free)
        resistance = list(start)
        state = self._sweep(resistance)
        off = self._departures(state)
        size = self._size(off)
        damping = 1e-3
        for _ in range(_STEPS_MAX):
            if not nodes or (stop_early and self._is_within(off)):
                break
            step = self._step(state, off, nodes, resistance, damping)
            part = min(1.0, _LARGEST_STEP / max(*map(abs, step), 1e-9))
            trial = list(resistance)
            for node, change in zip(nodes, step, strict=True):
                reach = self.reach[node]
                trial[node] = min(max(trial[node] + part * change, reach.least), reach.most)
            trial_state = self._sweep(trial)
            trial_off = self._departures(trial_state)
            trial_size = self._size(trial_off)
            if trial_size >= size * 0.998:
                if trial_size < size:
                    resistance, off = trial, trial_off
                    break
                damping *= 30.0
                if damping > 10.0:
                    break
                continue
            resistance, state, off, size = trial, trial_state, trial_off, trial_size
            damping = max(damping / 10.0, 1e-5)
        return resistance, off

    def _step(
        self,
        state: TreeState,
        off: Departures,
        nodes: list[int],
        resistance: list[float],
        damping: float,
    ) -> list[float]:
        leaves = self.shown.model.tree.leaves
        slopes = [state.slopes(leaf) for leaf in leaves]
        whole = sum(off.flows_m3_s)
        scaled = [x / g for x, g in zip(off.offs, self.guards, strict=True)]
        top = max(*map(abs, scaled), 1e-9)
        weights = [(x / top) ** 2 + 0.05 for x in scaled]
        columns = []
        for node in nodes:
            moved = [q * row[node] for q, row in zip(off.flows_m3_s, slopes, strict=True)]
            total = sum(moved) / whole
            columns.append(
                [
                    (m - w * total) / (b * g)
                    for m, w, b, g in zip(
                        moved, off.wanted_m3_s, off.bands_m3_s, self.guards, strict=True
                    )
                ]
            )
        weighted = [list(map(mul, weights, column)) for column in columns]
        gradient = [sum(map(mul, row, scaled)) for row in weighted]
        active = [
            i
            for i, node in enumerate(nodes)
            if not self._is_blocked(node, resistance[node], gradient[i])
        ]
        answer = [0.0] * len(nodes)
        if not active:
            return answer
        square = [
            [sum(map(mul, weighted[i], columns[j])) for j in active[: count + 1]]
            for count, i in enumerate(active)
        ]
        mean = sum(square[i][i] for i in range(len(active))) / len(active)
        for i in range(len(active)):
            square[i][i] += damping * mean + 1e-9
        found = factor(square).solve([-gradient[i] for i in active])
        for i, value in zip(active, found, strict=True):
            answer[i] = value
        return answer

    def _is_blocked(self, node: int, value: float, gradient: float) -> bool:
        reach = self.reach[node]
        is_low = value <= reach.least + 1e-9 and gradient > 0.0
        return is_low or (value >= reach.most - 1e-9 and gradient < 0.0)

    def _sweep(self, resistance: Sequence[float]) -> TreeState:
        model = self.shown.model
        power = self.shown.unknowns[speed_power_at(model.setup)]
        return sweep(model.tree, resistance, ln_pressure=power * self.shown.epoch.ln_speed)

    def _departures(self, state: TreeState) -> Departures:
        model = self.shown.model
        return departures(model.setup, [exp(state.ln_flow[leaf]) for leaf in model.tree.leaves])

    def _size(self, off: Departures) -> float:
        total: float = sum((x / g) ** 4 for x, g in zip(off.offs, self.guards, strict=True))
        return float(total**0.25)

    def _is_within(self, off: Departures) -> bool:
        return all(abs(x) <= g + 1e-9 for x, g in zip(off.offs, self.guards, strict=True))

    def _is_open(self, leaf: int, moved: frozenset[int], opened: frozenset[int]) -> bool:
        for node in self.shown.model.tree.path(leaf):
            if node in opened or node not in self.reach:
                continue
            if node in moved or not self.reach[node].is_open_now:
                return False
        return True

    def has_open_path(self, moved: frozenset[int], opened: frozenset[int]) -> bool:
        """Whether some terminal's path is fully open once some dampers moved and others opened."""
        return any(self._is_open(leaf, moved, opened) for leaf in self.shown.model.tree.leaves)

    def _target(
        self, resistance: list[float], moved: frozenset[int], opened: frozenset[int]
    ) -> Target:
        off = self._departures(self._sweep(resistance))
        now = self.shown.ln_resistance
        moves = {n: resistance[n] for n in moved | opened if abs(resistance[n] - now[n]) > 1e-6}
        return Target(
            moves=moves,
            opened=opened & frozenset(moves),
            ln_resistance=tuple(resistance),
            departures=off,
            is_within=self._is_within(off),
            cost=sum(self.costs.get(n, 1.0) for n in moves),
        )


def _rank(target: Target) -> tuple[bool, float]:
    """What is within comes first, then what costs least or comes nearest."""
    return not target.is_within, target.cost if target.is_within else target.departures.worst
