"""The smallest extract that keeps a room free of condensation, or clears it in time."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence

from ventwright.air.kernels import Maths, Number
from ventwright.moisture.elementwise import either, every
from ventwright.moisture.room import ExtractStep, Release, RoomInUse
from ventwright.moisture.room_run import STEP_S, RoomRun, run_room
from ventwright.quantities.records import dataclass

HIGHEST_EXTRACT_M3_S = 0.150
"""Highest flow looked at: beyond it no house fan of a bathroom reaches. Judgement."""
FLOW_STEPS = 10
"""Halvings of the range: the answer is within a thousandth of the highest flow."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ExtractNeed:
    """The smallest extract that does what is asked.

    Parameters
    ----------
    flow_m3_s
        Smallest flow found [m³/s]; infinite where even the highest looked at doesn't do it.
    highest_m3_s
        Highest flow looked at [m³/s].
    is_reachable
        Whether the highest flow does it.
    """

    flow_m3_s: Number
    highest_m3_s: float
    is_reachable: Number


def is_clear(
    maths: Maths,
    run: RoomRun,
    *,
    surface_ids: Sequence[str],
    end_s: float,
    clear_within_s: float | None,
) -> Number:
    """Whether surfaces stay free of visible film, or are clear within a time after an end.

    Parameters
    ----------
    maths
        `math` or `numpy`, as the run was made with.
    run
        A run that lasts longer than the time asked about.
    surface_ids
        The surfaces asked about.
    end_s
        End of the last release [s from the start].
    clear_within_s
        Time after it [s]; None asks that no film ever shows.

    Returns
    -------
    Number
        True or false, element by element for arrays.

    Raises
    ------
    ValueError
        A run that ends before the time asked about.

    >>> from ventwright.moisture.room_run import FogSpell, RoomWater
    >>> water = RoomWater(released_kg=0.0, splashed_kg=0.0, brought_in_kg=0.0, extracted_kg=0.0,
    ...                   run_off_kg=0.0, settled_kg=0.0, stayed_kg=0.0)
    >>> run = RoomRun(duration_s=3600.0, peak_rel_humidity_frac=0.9, humid_s=0.0,
    ...     humid_until_s=0.0, water=water, spells=(FogSpell(surface_id="mirror",
    ...     fogs_at_s=300.0, clears_at_s=900.0, peak_film_kg_m2=0.01),))
    >>> is_clear(math, run, surface_ids=("mirror",), end_s=600.0, clear_within_s=420.0)
    True
    """
    if clear_within_s is not None and end_s + clear_within_s > run.duration_s:
        raise ValueError(f"a run of {run.duration_s!r} s says nothing of {clear_within_s!r} s")
    clear: Number = True
    for surface_id in surface_ids:
        spell = run.spell(surface_id)
        if clear_within_s is None:
            clear = clear & (spell.fogs_at_s > run.duration_s)
        else:
            clear = clear & (spell.clears_at_s <= end_s + clear_within_s)
    return either(maths, clear, True, False)


def smallest_extract(
    maths: Maths,
    room: RoomInUse,
    *,
    releases: Sequence[Release],
    surface_ids: Sequence[str],
    schedule: Callable[[Number], Sequence[ExtractStep]] | None = None,
    clear_within_s: float | None = None,
    highest_m3_s: float = HIGHEST_EXTRACT_M3_S,
    step_s: float = STEP_S,
) -> ExtractNeed:
    """Smallest extract that leaves surfaces free of film, or clears them within a time.

    Halves the range of flows; more flow never fogs a surface sooner or clears it later while the
    air that comes in is drier than air saturated at the surface. Where it isn't, no flow clears it
    and the answer says so.

    Parameters
    ----------
    maths
        `math` where the room's numbers are floats, `numpy` where they are arrays.
    room
        The room at the start.
    releases
        What gives moisture and heat; at least one.
    surface_ids
        The surfaces that count.
    schedule
        Makes the extract steps from the flow that is looked for; a constant flow where not given.
    clear_within_s
        Time after the last release within which they are clear [s]; None asks that no film ever
        shows.
    highest_m3_s
        Highest flow looked at [m³/s].
    step_s
        Step of time [s].

    Returns
    -------
    ExtractNeed
        The flow, or that it is out of reach.

    Raises
    ------
    ValueError
        No release, or as `run_room`.

    Source: lewis_analogy

    >>> from ventwright.moisture.room import RoomSurface
    >>> mirror = RoomSurface(surface_id="mirror", area_m2=1.0, temperature_c=21.0,
    ...                      convection_w_m2_k=4.0, film_capacity_kg_m2=0.05)
    >>> bathroom = RoomInUse(volume_m3=12.0, pressure_pa=101325.0, incoming_c=21.0,
    ...     incoming_humidity_ratio_kg_kg=0.007, start_c=24.0,
    ...     start_humidity_ratio_kg_kg=0.007, surfaces=(mirror,), holds_temperature=True)
    >>> shower = Release(start_s=0.0, end_s=600.0, moisture_kg_s=40e-3 / 60)
    >>> need = smallest_extract(math, bathroom, releases=(shower,), surface_ids=("mirror",),
    ...                         clear_within_s=900.0, step_s=20.0)
    >>> round(need.flow_m3_s * 1000)
    14
    """
    if not releases:
        raise ValueError("no release: nothing to clear")
    end_s = max(r.end_s for r in releases)
    duration_s = end_s + (0.0 if clear_within_s is None else clear_within_s) + 60.0

    def does_it(flow_m3_s: Number) -> Number:
        steps = (
            (ExtractStep(start_s=0.0, flow_m3_s=flow_m3_s),)
            if schedule is None
            else schedule(flow_m3_s)
        )
        run = run_room(
            maths, room, releases=releases, extract=steps, duration_s=duration_s, step_s=step_s
        )
        return is_clear(
            maths, run, surface_ids=surface_ids, end_s=end_s, clear_within_s=clear_within_s
        )

    is_reachable = does_it(highest_m3_s)
    low_m3_s: Number = 0.0
    high_m3_s: Number = either(maths, does_it(0.0), 0.0, highest_m3_s)
    for _ in range(FLOW_STEPS):
        if every(maths, high_m3_s <= 0.0):
            break
        middle = 0.5 * (low_m3_s + high_m3_s)
        enough = does_it(middle)
        low_m3_s = either(maths, enough, low_m3_s, middle)
        high_m3_s = either(maths, enough, middle, high_m3_s)
    return ExtractNeed(
        flow_m3_s=either(maths, is_reachable, high_m3_s, math.inf),
        highest_m3_s=highest_m3_s,
        is_reachable=is_reachable,
    )
