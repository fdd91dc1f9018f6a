"""A room in use over time: humidity, when surfaces fog, when they clear, where the water went."""

from __future__ import annotations

import math
from collections.abc import Sequence

from ventwright.air.kernels import Maths, Number
from ventwright.moisture.elementwise import either, every, larger
from ventwright.moisture.room import ExtractStep, Release, RoomInUse
from ventwright.moisture.room_step import RoomState, RoomStepper, StepInput
from ventwright.quantities.records import dataclass

VISIBLE_FILM_KG_M2 = 0.5e-3
"""Film from which a mirror counts as fogged: half a gram on a square metre. Judgement."""
HUMID_REL_HUMIDITY_FRAC = 0.70
"""Humidity whose duration in a bathroom is worth keeping short. Source: aivc_1994_bathroom"""
STEP_S = 5.0
"""Step of time that leaves fogging and clearing times within half a minute of the limit."""


@dataclass(frozen=True, slots=True, kw_only=True)
class FogSpell:
    """When one surface is fogged.

    Parameters
    ----------
    surface_id
        Which surface.
    fogs_at_s
        When its film first shows [s from the start]; infinite where it never does.
    clears_at_s
        When its film last shows [s]; 0 where it never does, infinite where it still does at the
        end of the run.
    peak_film_kg_m2
        Thickest film [kg/m²].
    """

    surface_id: str
    fogs_at_s: Number
    clears_at_s: Number
    peak_film_kg_m2: Number


@dataclass(frozen=True, slots=True, kw_only=True)
class RoomWater:
    """Where the water went in a run [kg]; what came equals what left and what stayed.

    Parameters
    ----------
    released_kg
        Given to the air as vapour.
    splashed_kg
        Left on surfaces by spray.
    brought_in_kg
        Carried in by supply or transfer air.
    extracted_kg
        Carried out by extract.
    run_off_kg
        Ran off surfaces as drops.
    settled_kg
        Condensed in the air as mist and settled.
    stayed_kg
        More in air, lining and films than at the start.
    """

    released_kg: Number
    splashed_kg: Number
    brought_in_kg: Number
    extracted_kg: Number
    run_off_kg: Number
    settled_kg: Number
    stayed_kg: Number


@dataclass(frozen=True, slots=True, kw_only=True)
class RoomMoment:
    """The room at one moment."""

    time_s: float
    temperature_c: Number
    rel_humidity_frac: Number
    humidity_ratio_kg_kg: Number
    surface_c: tuple[Number, ...]
    film_kg_m2: tuple[Number, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class RoomRun:
    """A room in use, computed over time.

    Parameters
    ----------
    duration_s
        Length of the run [s].
    spells
        One for each surface, in the order of the room's surfaces.
    peak_rel_humidity_frac
        Highest relative humidity of the air.
    humid_s
        How long the air was above 70 % [s].
    humid_until_s
        When the air was last above 70 % [s]; 0 where it never was, infinite where it still is.
    water
        The balance of water.
    moments
        The course over time where it was asked for.
    """

    duration_s: float
    spells: tuple[FogSpell, ...]
    peak_rel_humidity_frac: Number
    humid_s: Number
    humid_until_s: Number
    water: RoomWater
    moments: tuple[RoomMoment, ...] = ()

    def spell(self, surface_id: str) -> FogSpell:
        """The spell of one surface."""
        return next(s for s in self.spells if s.surface_id == surface_id)


def run_room(
    maths: Maths,
    room: RoomInUse,
    *,
    releases: Sequence[Release],
    extract: Sequence[ExtractStep],
    duration_s: float,
    step_s: float = STEP_S,
    moment_every_s: float | None = None,
) -> RoomRun:
    """Compute a room in use over time.

    The air is well mixed and as much comes in as is extracted. Films form and dry by the heat–mass
    analogy, condensing water warms what it condenses on, excess over saturation settles as mist.
    Implicit steps of first order: any step is stable.

    Parameters
    ----------
    maths
        `math` where the room's numbers are floats, `numpy` where they are arrays.
    room
        The room at the start.
    releases
        What gives moisture and heat, and when.
    extract
        Flows in order of time; before the first there is none.
    duration_s
        How long to compute [s], above 0.
    step_s
        Step of time [s], above 0.
    moment_every_s
        Interval of the course over time that is kept [s]; none is where not given.

    Returns
    -------
    RoomRun
        Fogging, clearing, humidity, water.

    Raises
    ------
    ValueError
        A room without air, a surface without area or convection, times or flows out of range.

    Source: lewis_analogy, nordtest_buffer_value

    >>> from ventwright.moisture.room import RoomSurface
    >>> mirror = RoomSurface(surface_id="mirror", area_m2=1.0, temperature_c=21.0,
    ...                      convection_w_m2_k=4.0, film_capacity_kg_m2=0.05)
    >>> bathroom = RoomInUse(volume_m3=12.0, pressure_pa=101325.0, incoming_c=21.0,
    ...     incoming_humidity_ratio_kg_kg=0.007, start_c=24.0,
    ...     start_humidity_ratio_kg_kg=0.007, surfaces=(mirror,), holds_temperature=True)
    >>> run = run_room(math, bathroom, duration_s=3600.0,
    ...     releases=(Release(start_s=0.0, end_s=600.0, moisture_kg_s=40e-3 / 60),),
    ...     extract=(ExtractStep(start_s=0.0, flow_m3_s=0.025),))
    >>> spell = run.spell("mirror")
    >>> round(spell.fogs_at_s / 60), round((spell.clears_at_s - 600) / 60)
    (5, 9)
    """
    _check(maths, room, releases, extract, duration_s, step_s)
    stepper = RoomStepper(maths, room, step_s=step_s)
    state = stepper.start()
    record = _Record(maths, room, stepper, state, moment_every_s=moment_every_s)
    for i in range(round(duration_s / step_s)):
        given = _input(releases, extract, i * step_s, step_s, stepper.volume_m3_kg)
        state, water = stepper.advance(state, given)
        record.note(state, end_s=(i + 1) * step_s, step_s=step_s)
        record.add(
            (
                step_s * given.moisture_kg_s,
                water.splashed_kg,
                water.brought_in_kg,
                water.extracted_kg,
                water.run_off_kg,
                water.settled_kg,
            )
        )
    return record.run(state, duration_s)


def _input(
    releases: Sequence[Release],
    extract: Sequence[ExtractStep],
    start_s: float,
    step_s: float,
    volume_m3_kg: Number,
) -> StepInput:
    """Means over a step, by the share of it that each thing lasts."""
    moisture: Number = 0.0
    heat: Number = 0.0
    is_splashing = False
    end_s = start_s + step_s
    for release in releases:
        share = (min(end_s, release.end_s) - max(start_s, release.start_s)) / step_s
        if share > 0.0:
            moisture = moisture + share * release.moisture_kg_s
            heat = heat + share * release.heat_w
            is_splashing = is_splashing or release.splashes
    flow: Number = 0.0
    for i, step in enumerate(extract):
        until = extract[i + 1].start_s if i + 1 < len(extract) else math.inf
        share = (min(end_s, until) - max(start_s, step.start_s)) / step_s
        if share > 0.0:
            flow = flow + share * step.flow_m3_s
    return StepInput(
        moisture_kg_s=moisture,
        heat_w=heat,
        extract_kg_s=flow / volume_m3_kg,
        is_splashing=is_splashing,
    )


class _Record:
    """Gathers what a run is asked for, step by step."""

    def __init__(
        self,
        maths: Maths,
        room: RoomInUse,
        stepper: RoomStepper,
        state: RoomState,
        *,
        moment_every_s: float | None,
    ) -> None:
        self._maths, self._room, self._stepper = maths, room, stepper
        nothing = 0.0 * (stepper.dry_air_kg + state.humidity_ratio_kg_kg)
        for film in state.film_kg_m2:
            nothing = nothing + 0.0 * film
        self._first: list[Number] = [nothing + math.inf for _ in room.surfaces]
        self._last: list[Number] = [nothing for _ in room.surfaces]
        self._peak: list[Number] = [nothing for _ in room.surfaces]
        self._is_fogged: list[Number] = [nothing > 0.0 for _ in room.surfaces]
        self._humidity = nothing
        self._humid_s, self._humid_until_s, self._is_humid = nothing, nothing, nothing > 0.0
        self._totals: list[Number] = [nothing] * 6
        self._start_kg = self._stored_kg(state)
        self._every_s = moment_every_s
        self._moments: list[RoomMoment] = []

    def note(self, state: RoomState, *, end_s: float, step_s: float) -> None:
        maths = self._maths
        for i, film in enumerate(state.film_kg_m2):
            is_fogged = film > VISIBLE_FILM_KG_M2
            self._is_fogged[i] = is_fogged
            is_new = is_fogged & (self._first[i] > end_s)
            self._first[i] = either(maths, is_new, end_s, self._first[i])
            self._last[i] = either(maths, is_fogged, end_s, self._last[i])
            self._peak[i] = larger(maths, self._peak[i], film)
        humidity = self._stepper.rel_humidity_frac(state)
        self._humidity = larger(maths, self._humidity, humidity)
        self._is_humid = humidity > HUMID_REL_HUMIDITY_FRAC
        self._humid_s = self._humid_s + either(maths, self._is_humid, step_s, 0.0)
        self._humid_until_s = either(maths, self._is_humid, end_s, self._humid_until_s)
        if self._every_s and len(self._moments) * self._every_s < end_s:
            self._moments.append(
                RoomMoment(
                    time_s=end_s,
                    temperature_c=state.temperature_c,
                    rel_humidity_frac=humidity,
                    humidity_ratio_kg_kg=state.humidity_ratio_kg_kg,
                    surface_c=state.surface_c,
                    film_kg_m2=state.film_kg_m2,
                )
            )

    def add(self, amounts_kg: Sequence[Number]) -> None:
        self._totals = [t + a for t, a in zip(self._totals, amounts_kg, strict=True)]

    def run(self, state: RoomState, duration_s: float) -> RoomRun:
        released, splashed, brought_in, extracted, run_off, settled = self._totals
        return RoomRun(
            duration_s=duration_s,
            spells=tuple(
                FogSpell(
                    surface_id=surface.surface_id,
                    fogs_at_s=self._first[i],
                    clears_at_s=either(self._maths, self._is_fogged[i], math.inf, self._last[i]),
                    peak_film_kg_m2=self._peak[i],
                )
                for i, surface in enumerate(self._room.surfaces)
            ),
            peak_rel_humidity_frac=self._humidity,
            humid_s=self._humid_s,
            humid_until_s=either(self._maths, self._is_humid, math.inf, self._humid_until_s),
            water=RoomWater(
                released_kg=released,
                splashed_kg=splashed,
                brought_in_kg=brought_in,
                extracted_kg=extracted,
                run_off_kg=run_off,
                settled_kg=settled,
                stayed_kg=self._stored_kg(state) - self._start_kg,
            ),
            moments=tuple(self._moments),
        )

    def _stored_kg(self, state: RoomState) -> Number:
        stored = self._stepper.dry_air_kg * state.humidity_ratio_kg_kg
        stored = stored + self._stepper.stored_in_lining_kg(state)
        for surface, film in zip(self._room.surfaces, state.film_kg_m2, strict=True):
            stored = stored + surface.area_m2 * film
        return stored


def _check(
    maths: Maths,
    room: RoomInUse,
    releases: Sequence[Release],
    extract: Sequence[ExtractStep],
    duration_s: float,
    step_s: float,
) -> None:
    """Refuse what the balance can't be made of, by name and value."""
    amounts = [
        ("volume_m3", room.volume_m3),
        ("incoming_humidity_ratio_kg_kg", room.incoming_humidity_ratio_kg_kg),
        ("start_humidity_ratio_kg_kg", room.start_humidity_ratio_kg_kg),
    ]
    for surface in room.surfaces:
        amounts.append((f"area_m2 of {surface.surface_id!r}", surface.area_m2))
        amounts.append((f"convection_w_m2_k of {surface.surface_id!r}", surface.convection_w_m2_k))
    for name, value in amounts:
        if not every(maths, value > 0.0):
            raise ValueError(f"{name} is {value!r}; above 0 is wanted")
    flows = [("moisture_kg_s", r.moisture_kg_s) for r in releases]
    for name, value in [*flows, *(("flow_m3_s", s.flow_m3_s) for s in extract)]:
        if not every(maths, value >= 0.0):
            raise ValueError(f"{name} is {value!r}; 0 or more is wanted")
    for release in releases:
        if not 0.0 <= release.start_s < release.end_s:
            raise ValueError(f"a release from {release.start_s!r} s to {release.end_s!r} s")
    starts = [step.start_s for step in extract]
    if starts != sorted(set(starts)):
        raise ValueError(f"extract steps start at {starts!r} s; each later than the one before")
    if not 0.0 < step_s <= duration_s < math.inf:
        raise ValueError(f"step {step_s!r} s in a run of {duration_s!r} s")
