"""Many houses of one layout solved at once, or many draws of one house.

The tangent system and the criterion are those of `network`; only the laws have an array form here.
Both agree to 1e-9 m³/s.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, cast

import numpy as np
from numpy.typing import ArrayLike, NDArray

from ventwright.fleet.network_laws import Array, ManyLaws, many_laws, taken
from ventwright.network import FailureCause, Prepared, SolveFailure, solve
from ventwright.network.newton import (
    FLOW_TOLERANCE_M3_S,
    OVERSHOOT_RATIO,
    SETTLED_PA,
    STALLED_RATIO,
    STRICT_AFTER,
    TINY,
)
from ventwright.network.tangent import Tangent
from ventwright.quantities.problems import UserError

CHUNK_COUNT = 2500
MOST_ITERATIONS = 100


@dataclass(frozen=True, slots=True, kw_only=True)
class ManySolutions:
    """Flows of many houses; arrays are entries by houses.

    Parameters
    ----------
    prepared
        The layout all share.
    flow_m3_s
        Flow of each entry of `prepared.layout.names` in each house [m³/s].
    zone_pressure_pa
        Pressure of each zone in each house [Pa].
    iterations
        Sweeps each house took.
    """

    prepared: Prepared
    flow_m3_s: NDArray[np.float64]
    zone_pressure_pa: NDArray[np.float64]
    iterations: NDArray[np.int64]

    def flows(self, name: str) -> NDArray[np.float64]:
        """Flow [m³/s] of a link, tree or opening in each house."""
        return cast(Array, self.flow_m3_s[self.prepared.entry(name)])


def solve_many(
    prepared: Prepared,
    *,
    house_count: int,
    loss_ratio: Mapping[str, ArrayLike] | None = None,
    speed_frac: Mapping[str, ArrayLike] | None = None,
    zone_pressure_pa: Mapping[str, ArrayLike] | None = None,
    other_inflow_m3_s: Mapping[str, ArrayLike] | None = None,
) -> ManySolutions | SolveFailure:
    """Solve many houses that differ in losses, fan speeds, zone pressures or other fans.

    Parameters
    ----------
    prepared
        The layout and laws all share.
    house_count
        Number of houses, at least 1.
    loss_ratio
        Factor on the passive laws, by name: one for each house or one for all.
    speed_frac
        Fan speed, by name of tree or link.
    zone_pressure_pa
        Pressure of zones of known pressure, by name [Pa].
    other_inflow_m3_s
        Net flow of other fans into zones, by name [m³/s].

    Returns
    -------
    ManySolutions or SolveFailure
        A failure names the house (counted from 0), the cause and the place.

    Raises
    ------
    UserError
        A name is unknown or an array has neither one value nor one for each house.

    >>> from ventwright.ducts import FlowFactorOpening, ParabolicFan
    >>> from ventwright.network import Link, LinkRole, Network, Tree, Zone, prepare
    >>> from ventwright.quantities.words import Side
    >>> terminal = Link(name="study", parent="supply", laws=(FlowFactorOpening(flow_factor=2e-3),),
    ...                 zone="house", role=LinkRole.TERMINAL)
    >>> tree = Tree(name="supply", side=Side.SUPPLY, links=(terminal,), outdoor_zone="outdoors",
    ...             shared=(ParabolicFan(shut_off_pa=100.0, free_flow_m3_s=0.03),))
    >>> prepared = prepare(Network(trees=(tree,), zones=(Zone(name="outdoors"),
    ...                                                  Zone(name="house"))))
    >>> many = solve_many(prepared, house_count=2, speed_frac={"supply": [1.0, 0.5]})
    >>> [round(float(flow), 4) for flow in many.flows("study")]
    [0.0166, 0.0083]
    """
    if prepared.order.stranded:
        return cast(SolveFailure, solve(prepared))
    given = _Given(
        loss_ratio=_arrays(loss_ratio, house_count),
        speed_frac=_arrays(speed_frac, house_count),
        zone_pressure_pa=_arrays(zone_pressure_pa, house_count),
        other_inflow_m3_s=_arrays(other_inflow_m3_s, house_count),
    )
    chunks = []
    for first in range(0, house_count, CHUNK_COUNT):
        houses = np.arange(first, min(first + CHUNK_COUNT, house_count))
        chunk = _solve_chunk(prepared, given.take(houses), len(houses))
        if isinstance(chunk, int):
            return _failure(prepared, given, first + chunk)
        chunks.append(chunk)
    return ManySolutions(
        prepared=prepared,
        flow_m3_s=np.concatenate([flow for flow, _, _ in chunks], axis=1),
        zone_pressure_pa=np.concatenate([zone for _, zone, _ in chunks], axis=1),
        iterations=np.concatenate([steps for _, _, steps in chunks]),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class _Given:
    """What differs between houses, as arrays of one value or one for each house."""

    loss_ratio: Mapping[str, Array]
    speed_frac: Mapping[str, Array]
    zone_pressure_pa: Mapping[str, Array]
    other_inflow_m3_s: Mapping[str, Array]

    def take(self, houses: NDArray[np.intp]) -> _Given:
        def some(values: Mapping[str, Array]) -> Mapping[str, Array]:
            return {name: taken(value, houses) for name, value in values.items()}

        return _Given(
            loss_ratio=some(self.loss_ratio),
            speed_frac=some(self.speed_frac),
            zone_pressure_pa=some(self.zone_pressure_pa),
            other_inflow_m3_s=some(self.other_inflow_m3_s),
        )


def _arrays(given: Mapping[str, ArrayLike] | None, house_count: int) -> Mapping[str, Array]:
    arrays = {name: np.atleast_1d(np.asarray(v, dtype=float)) for name, v in (given or {}).items()}
    for name, array in arrays.items():
        if array.shape not in ((1,), (house_count,)) or not np.all(np.isfinite(array)):
            msg = f"'{name}' needs one finite value, or one for each of {house_count} houses"
            raise UserError(msg)
    return arrays


def _failure(prepared: Prepared, given: _Given, house: int) -> SolveFailure:
    """Solve the house alone, to say what is wrong with it."""
    one = given.take(np.array([house]))

    def numbers(values: Mapping[str, Array]) -> dict[str, float]:
        return {name: float(value[0]) for name, value in values.items()}

    alone = (
        prepared.with_loss_ratios(numbers(one.loss_ratio))
        .with_speeds(numbers(one.speed_frac))
        .with_zones(
            pressure_pa=numbers(one.zone_pressure_pa),
            other_inflow_m3_s=numbers(one.other_inflow_m3_s),
        )
    )
    answer = solve(alone)
    if isinstance(answer, SolveFailure):
        return SolveFailure(
            cause=answer.cause,
            where=f"house {house}: {answer.where}",
            message=f"house {house}: {answer.message}",
            residual_pa=answer.residual_pa,
            iterations=answer.iterations,
        )
    return SolveFailure(
        cause=FailureCause.TOO_MANY_STEPS,
        where=f"house {house}",
        message=f"house {house} did not settle among the others, but does alone",
        iterations=MOST_ITERATIONS,
    )


def _zones(
    prepared: Prepared, base: tuple[float, ...], given: Mapping[str, Array], *, is_sought: bool
) -> list[Any]:
    rows: list[Any] = list(base)
    for name, values in given.items():
        rows[prepared.layout.zone_place(name, is_sought=is_sought)] = values
    return rows


def _solve_chunk(
    prepared: Prepared, given: _Given, count: int
) -> tuple[Array, Array, NDArray[np.int64]] | int:
    """Solve some houses; the number of the first that can't be solved, if any."""
    state = _State(
        prepared=prepared,
        laws=many_laws(
            prepared,
            loss_ratio=given.loss_ratio,
            speed_frac=given.speed_frac,
            house_count=count,
        ),
        zone_pa=_zones(
            prepared, prepared.zone_pressure_pa, given.zone_pressure_pa, is_sought=False
        ),
        inflow_m3_s=_zones(
            prepared, prepared.other_inflow_m3_s, given.other_inflow_m3_s, is_sought=True
        ),
        flow=np.repeat(np.array(prepared.layout.start_m3_s)[:, np.newaxis], count, axis=1),
    )
    flows = np.empty((len(prepared.layout.names), count))
    zones = np.empty((len(prepared.layout.zone_names), count))
    steps = np.zeros(count, dtype=np.int64)
    active = np.arange(count)
    for iteration in range(1, MOST_ITERATIONS + 1):
        is_done = state.step(iteration)
        done = active[is_done]
        flows[:, done] = state.flow[:, is_done]
        zones[:, done] = state.zones[:, is_done]
        steps[done] = iteration
        active = active[~is_done]
        if not active.size:
            return flows, zones, steps
        if np.any(is_done):
            state = state.take(np.flatnonzero(~is_done))
    return int(active[0])


class _State:
    """Houses still on their way, and one Newton step of all of them."""

    def __init__(
        self,
        *,
        prepared: Prepared,
        laws: ManyLaws,
        zone_pa: list[Any],
        inflow_m3_s: list[Any],
        flow: Array,
    ) -> None:
        self.prepared, self.laws = prepared, laws
        self.zone_pa, self.inflow_m3_s = zone_pa, inflow_m3_s
        self.flow = flow
        self.drop, self.slope = laws.drop_and_slope(flow)
        self.zones = np.zeros((len(zone_pa), flow.shape[1]))
        self.last_size = np.full(flow.shape[1], np.inf)

    def take(self, houses: NDArray[np.intp]) -> _State:
        """Keep some houses."""
        kept = object.__new__(_State)
        kept.prepared, kept.laws = self.prepared, self.laws.take(houses)
        kept.zone_pa = [taken(np.asarray(row), houses) for row in self.zone_pa]
        kept.inflow_m3_s = [taken(np.asarray(row), houses) for row in self.inflow_m3_s]
        kept.flow, kept.drop, kept.slope, kept.zones, kept.last_size = (
            taken(array, houses)
            for array in (self.flow, self.drop, self.slope, self.zones, self.last_size)
        )
        return kept

    def step(self, iteration: int) -> NDArray[np.bool_]:
        """Take one step; which houses have arrived."""
        offset = self.drop - self.slope * self.flow
        answer = Tangent(self.prepared, cast(Any, list(self.slope))).solve(
            offset=cast(Any, list(offset)),
            zone_pa=self.zone_pa,
            inflow_m3_s=self.inflow_m3_s,
        )
        new = self._rows(answer.flow_m3_s)
        self.zones = self._rows(answer.zone_pa)
        drop, slope = self.laws.drop_and_slope(new)
        residual = drop - offset - self.slope * new
        step = new - self.flow
        size = np.sum(residual * residual / (slope + TINY), axis=0)
        along = np.sum(residual * step, axis=0)
        scale = np.sum(self.slope * step * step, axis=0)
        is_done = size <= FLOW_TOLERANCE_M3_S**2 * np.min(slope, axis=0)
        is_stalled = size >= STALLED_RATIO * self.last_size
        is_done |= is_stalled & (size <= SETTLED_PA**2 / np.max(slope, axis=0))
        limit = OVERSHOOT_RATIO if iteration < STRICT_AFTER else 0.0
        over = np.flatnonzero(~is_done & (along > limit * scale) & (iteration > 1))
        if over.size:
            goal = offset + self.slope * new
            share = self._cut_back(over, step, goal, along[over], scale[over])
            new[:, over] = self.flow[:, over] + share * step[:, over]
            drop, slope = self.laws.drop_and_slope(new)
        self.flow, self.drop, self.slope, self.last_size = new, drop, slope, size
        return np.asarray(is_done, dtype=np.bool_)

    def _cut_back(
        self, over: NDArray[np.intp], step: Array, goal: Array, along: Array, scale: Array
    ) -> Array:
        """Share of the step, house by house, up to where the energy no longer rises."""
        laws = self.laws.take(over)
        flow, step, goal = (taken(array, over) for array in (self.flow, step, goal))
        low, high = np.zeros(len(over)), np.ones(len(over))
        at_low, at_high = -scale, along.copy()
        best = np.ones(len(over))
        is_open = np.ones(len(over), dtype=bool)
        for _ in range(60):
            guess = np.clip(at_low / (at_low - at_high), 0.1, 0.9)
            t = np.where(is_open, low + guess * (high - low), best)
            drop, _ = laws.drop_and_slope(flow + t * step)
            at = np.sum((drop - goal) * step, axis=0)
            best = t
            is_open &= ~((np.abs(at) <= 0.5 * scale) & (at <= 0.1 * scale))
            if not np.any(is_open):
                break
            is_high = at > 0.0
            high, at_high = np.where(is_high, t, high), np.where(is_high, at, at_high)
            low, at_low = np.where(is_high, low, t), np.where(is_high, at_low, at)
        return best

    def _rows(self, values: list[Any]) -> Array:
        return np.array([np.broadcast_to(row, self.flow.shape[1]) for row in values])
