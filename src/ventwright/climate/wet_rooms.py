"""A bathroom with everything nobody measured drawn from its range: hundreds of rooms at once."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, fields

import numpy as np

from ventwright.climate.weather import Floats
from ventwright.moisture import (
    ExtractStep,
    WetRoomAssumptions,
    WetRoomPlan,
    WetRoomValues,
    run_room,
    smallest_extract,
    wet_room,
)
from ventwright.uncertainty import Estimate

COVERAGE_FRAC = 0.95
DRAWS_COUNT = 400
STEP_S = 10.0
# What an assumption can be at all; a draw beyond it is taken back to it.
_BOUNDS = {
    "mixing_frac": (0.2, 1.0),
    "splashed_kg_m2": (0.0, np.inf),
    "surface_below_air_k": (-np.inf, np.inf),
}
_LEAST_SHARE = 0.1
"""Of the middle, below which no other assumption falls."""


@dataclass(frozen=True, slots=True, kw_only=True)
class RangeOf:
    """Middle and ends of what draws gave; infinite where it isn't over by the end of the run.

    Parameters
    ----------
    low_s
        Exceeded by all but 2.5 % of the draws [s].
    mid_s
        Median [s].
    high_s
        Exceeded by 2.5 % of the draws [s].
    """

    low_s: float
    mid_s: float
    high_s: float


@dataclass(frozen=True, slots=True, kw_only=True)
class SurfaceRange:
    """One surface over the draws.

    Parameters
    ----------
    surface_id
        Which.
    fogs_frac
        Share of the draws in which it fogs at all.
    fogs_after_s
        From the start of the shower, over the draws in which it fogs [s]; None where none does.
    clears_after_s
        From the end of the shower; 0 in draws in which it is clear by then [s].
    """

    surface_id: str
    fogs_frac: float
    fogs_after_s: RangeOf | None
    clears_after_s: RangeOf


@dataclass(frozen=True, slots=True, kw_only=True)
class WetRoomRange:
    """A bathroom in use over the draws: ranges of assumptions, no promises.

    Parameters
    ----------
    count
        Draws.
    surfaces
        Mirror and tiles.
    humid_after_s
        How long after the shower the air is above 70 % relative humidity [s].
    """

    count: int
    surfaces: tuple[SurfaceRange, ...]
    humid_after_s: RangeOf

    def surface(self, surface_id: str) -> SurfaceRange:
        """One surface by its id."""
        return next(s for s in self.surfaces if s.surface_id == surface_id)


@dataclass(frozen=True, slots=True, kw_only=True)
class ExtractRange:
    """Smallest extract over the draws.

    Parameters
    ----------
    count
        Draws.
    reachable_frac
        Share of the draws in which any flow looked at does it.
    low_m3_s
        Enough in 2.5 % of the draws [m³/s].
    mid_m3_s
        Enough in half of them [m³/s].
    high_m3_s
        Enough in 97.5 % [m³/s]; infinite where no flow looked at is.
    """

    count: int
    reachable_frac: float
    low_m3_s: float
    mid_m3_s: float
    high_m3_s: float


def draw_values(
    assumptions: WetRoomAssumptions, *, count: int, random: np.random.Generator
) -> WetRoomValues:
    """Sets of values for the assumptions, drawn from their ranges.

    Parameters
    ----------
    assumptions
        Each with its range.
    count
        How many sets.
    random
        Generator, handed in so that the same seed gives the same answer.

    Returns
    -------
    WetRoomValues
        Arrays of `count` values.

    >>> from ventwright.moisture import usual_wet_room_assumptions
    >>> drawn = draw_values(usual_wet_room_assumptions(), count=1000,
    ...                     random=np.random.default_rng(1))
    >>> bool((drawn.mixing_frac <= 1.0).all()), round(float(drawn.convection_w_m2_k.mean()), 1)
    (True, 4.0)
    """

    def drawn(name: str) -> Floats:
        estimate: Estimate = getattr(assumptions, name)
        low, high = _BOUNDS.get(name, (_LEAST_SHARE * estimate.value, np.inf))
        return np.clip(random.normal(estimate.value, estimate.u_std, count), low, high)

    return WetRoomValues(**{f.name: drawn(f.name) for f in fields(assumptions)})


def range_of_wet_room(
    plan: WetRoomPlan,
    *,
    extract: Sequence[ExtractStep],
    assumptions: WetRoomAssumptions,
    random: np.random.Generator,
    count: int = DRAWS_COUNT,
    after_s: float = 7200.0,
) -> WetRoomRange:
    """When mirror and tiles of a bathroom fog and clear, over the range of the assumptions.

    Parameters
    ----------
    plan
        What is known of the bathroom.
    extract
        Extract flow over time.
    assumptions
        What isn't known, with ranges.
    random
        Generator.
    count
        Draws.
    after_s
        How long to follow the room after the shower [s].

    Returns
    -------
    WetRoomRange
        Ranges that hold 95 % of the draws.

    Source: lewis_analogy, gum_s1_2008

    >>> from ventwright.moisture import usual_wet_room_assumptions
    >>> plan = WetRoomPlan(volume_m3=12.0, mirror_m2=1.0, tiles_m2=15.0, lining_m2=18.0,
    ...     incoming_c=21.0, incoming_humidity_ratio_kg_kg=0.007, pressure_pa=101325.0,
    ...     shower_s=600.0)
    >>> found = range_of_wet_room(plan, extract=(ExtractStep(start_s=0.0, flow_m3_s=0.0118),),
    ...     assumptions=usual_wet_room_assumptions(), random=np.random.default_rng(1), count=100)
    >>> clears = found.surface("mirror").clears_after_s
    >>> 0.0 < clears.low_s < clears.mid_s < clears.high_s
    True
    """
    values = draw_values(assumptions, count=count, random=random)
    room, releases = wet_room(plan, values)
    run = run_room(
        np,
        room,
        releases=releases,
        extract=_mixed(extract, values),
        duration_s=plan.shower_s + after_s,
        step_s=STEP_S,
    )
    return WetRoomRange(
        count=count,
        surfaces=tuple(
            SurfaceRange(
                surface_id=spell.surface_id,
                fogs_frac=float(np.mean(np.isfinite(spell.fogs_at_s))),
                fogs_after_s=_finite_range(spell.fogs_at_s),
                clears_after_s=_range(np.maximum(spell.clears_at_s - plan.shower_s, 0.0)),
            )
            for spell in run.spells
        ),
        humid_after_s=_range(np.maximum(run.humid_until_s - plan.shower_s, 0.0)),
    )


def range_of_smallest_extract(
    plan: WetRoomPlan,
    *,
    surface_ids: Sequence[str],
    assumptions: WetRoomAssumptions,
    random: np.random.Generator,
    clear_within_s: float | None = None,
    schedule: Callable[[Floats], Sequence[ExtractStep]] | None = None,
    count: int = DRAWS_COUNT,
) -> ExtractRange:
    """Smallest extract that keeps surfaces clear, or clears them in time, over the assumptions.

    Parameters
    ----------
    plan
        What is known of the bathroom.
    surface_ids
        The surfaces that count.
    assumptions
        What isn't known, with ranges.
    random
        Generator.
    clear_within_s
        Time after the shower within which they are clear [s]; None asks that no film ever shows.
    schedule
        Makes the extract steps from the flow that is looked for; a constant flow where not given.
    count
        Draws.

    Returns
    -------
    ExtractRange
        Flows that are enough in 2.5, 50 and 97.5 % of the draws.

    Source: lewis_analogy, gum_s1_2008

    >>> from ventwright.moisture import usual_wet_room_assumptions
    >>> plan = WetRoomPlan(volume_m3=12.0, mirror_m2=1.0, tiles_m2=15.0, lining_m2=18.0,
    ...     incoming_c=21.0, incoming_humidity_ratio_kg_kg=0.007, pressure_pa=101325.0,
    ...     shower_s=600.0)
    >>> found = range_of_smallest_extract(plan, surface_ids=("mirror",), clear_within_s=900.0,
    ...     assumptions=usual_wet_room_assumptions(), random=np.random.default_rng(1), count=50)
    >>> found.low_m3_s < found.mid_m3_s < found.high_m3_s
    True
    """
    values = draw_values(assumptions, count=count, random=random)
    room, releases = wet_room(plan, values)

    def mixed(flow_m3_s: Floats) -> Sequence[ExtractStep]:
        steps = (
            (ExtractStep(start_s=0.0, flow_m3_s=flow_m3_s),)
            if schedule is None
            else schedule(flow_m3_s)
        )
        return _mixed(steps, values)

    need = smallest_extract(
        np,
        room,
        releases=releases,
        surface_ids=surface_ids,
        schedule=mixed,
        clear_within_s=clear_within_s,
        step_s=STEP_S,
    )
    low, mid, high = _quantiles(np.broadcast_to(need.flow_m3_s, (count,)))
    return ExtractRange(
        count=count,
        reachable_frac=float(np.mean(need.is_reachable)),
        low_m3_s=low,
        mid_m3_s=mid,
        high_m3_s=high,
    )


def _mixed(extract: Sequence[ExtractStep], values: WetRoomValues) -> tuple[ExtractStep, ...]:
    """The part of each flow that does its work in the room."""
    return tuple(
        ExtractStep(start_s=s.start_s, flow_m3_s=s.flow_m3_s * values.mixing_frac) for s in extract
    )


def _quantiles(values: Floats) -> tuple[float, float, float]:
    tail = 0.5 * (1.0 - COVERAGE_FRAC)
    # Of the draws themselves, so that an infinite end stays infinite.
    found = np.quantile(values, [tail, 0.5, 1.0 - tail], method="inverted_cdf")
    return float(found[0]), float(found[1]), float(found[2])


def _range(values: Floats) -> RangeOf:
    low, mid, high = _quantiles(values)
    return RangeOf(low_s=low, mid_s=mid, high_s=high)


def _finite_range(values: Floats) -> RangeOf | None:
    finite = values[np.isfinite(values)]
    return _range(finite) if finite.size else None
