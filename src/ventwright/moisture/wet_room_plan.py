"""A bathroom with a shower, from what a plan says and what has to be assumed.

What nobody measures — how much a shower releases, how cold the tiles are, how well the air mixes —
is named, given a range, and carried through to the answer.
"""

from __future__ import annotations

import math

from ventwright.air.kernels import Number
from ventwright.moisture.release import Activity, release_rate
from ventwright.moisture.room import (
    Lining,
    Release,
    RoomInUse,
    RoomSurface,
    evaporation_heat_w,
)
from ventwright.moisture.room_step import saturation_ratio
from ventwright.quantities.records import dataclass
from ventwright.uncertainty import Distribution, Estimate, measured, u_from_half_width

MIRROR, TILES = "mirror", "tiles"
SHOWER_SURFACE_C = 36.0
"""Mean temperature of falling drops and wet skin. Judgement."""
GLASS_HEAT_CAPACITY_J_M2_K = 0.005 * 2500.0 * 840.0
"""Of 5 mm of glass: density 2500 kg/m³, 840 J/(kg K), from memory. Source: glass_and_tile"""
TILE_HEAT_CAPACITY_J_M2_K = 0.008 * 2000.0 * 840.0
"""Of 8 mm of ceramic: density 2000 kg/m³, 840 J/(kg K), from memory. Source: glass_and_tile"""
TILE_BACKING_M2K_W = 0.05
"""Of the plaster behind tiles to where an hour's warmth reaches. Judgement."""
DRYING_CYCLE_S = 7200.0
"""Shower and drying as the cycle that a lining answers to. Judgement."""


@dataclass(frozen=True, slots=True, kw_only=True)
class WetRoomPlan:
    """What is known of a bathroom and of the air that comes into it.

    Parameters
    ----------
    volume_m3
        Volume of air [m³].
    mirror_m2
        Area of the mirror [m²].
    tiles_m2
        Tiled walls and floor [m²], those of the shower included.
    lining_m2
        Painted plaster, wood and cloth [m²].
    incoming_c
        Air from the house or the supply terminal [°C].
    incoming_humidity_ratio_kg_kg
        Its humidity ratio [kg/kg].
    pressure_pa
        Barometric pressure [Pa].
    shower_s
        How long the shower runs [s].
    """

    volume_m3: float
    mirror_m2: float
    tiles_m2: float
    lining_m2: float
    incoming_c: float
    incoming_humidity_ratio_kg_kg: float
    pressure_pa: float
    shower_s: float


@dataclass(frozen=True, slots=True, kw_only=True)
class WetRoomAssumptions:
    """What has to be assumed, each with its range.

    Parameters
    ----------
    shower_kg_s
        Vapour that the shower releases [kg/s].
    surface_below_air_k
        How much colder than the incoming air mirror and tiles are at the start [K].
    convection_w_m2_k
        Convective heat transfer coefficient of surfaces [W/(m² K)].
    mixing_frac
        Share of the extract that does its work: less than 1 where fresh air goes straight to the
        terminal.
    film_capacity_kg_m2
        Water that glass and tiles hold before drops run off [kg/m²].
    splashed_kg_m2
        Film that spray leaves on the tiles, mean over all of them [kg/m²].
    buffer_value_kg_m2
        Moisture buffer value of the lining for relative humidity from 0 to 1 [kg/m²].
    """

    shower_kg_s: Estimate
    surface_below_air_k: Estimate
    convection_w_m2_k: Estimate
    mixing_frac: Estimate
    film_capacity_kg_m2: Estimate
    splashed_kg_m2: Estimate
    buffer_value_kg_m2: Estimate


def usual_wet_room_assumptions() -> WetRoomAssumptions:
    """Assumptions for a bathroom that nobody measured.

    The shower by published ranges; moisture buffer value by the classes *negligible* to *moderate*;
    the rest is judgement.

    Returns
    -------
    WetRoomAssumptions
        Each with its range as the expanded uncertainty.

    Source: minnesota_moisture_1988, solar_housing_humidity, nordtest_buffer_value

    >>> round(usual_wet_room_assumptions().mixing_frac.value, 2)
    0.85
    """
    return WetRoomAssumptions(
        shower_kg_s=release_rate(Activity.SHOWER),
        surface_below_air_k=_between(0.0, 2.0, "surface-below-air", "surfaces colder than air"),
        convection_w_m2_k=_between(2.5, 5.5, "convection", "convection at surfaces"),
        mixing_frac=_between(0.7, 1.0, "mixing", "mixing of the room's air"),
        film_capacity_kg_m2=_between(0.03, 0.11, "film", "water that a surface holds"),
        splashed_kg_m2=_between(0.0, 0.03, "splash", "water splashed on tiles"),
        buffer_value_kg_m2=_between(0.01, 0.09, "buffer", "moisture buffering of the lining"),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class WetRoomValues:
    """One set of values for the assumptions, or arrays of many; fields as in the assumptions."""

    shower_kg_s: Number
    surface_below_air_k: Number
    convection_w_m2_k: Number
    mixing_frac: Number
    film_capacity_kg_m2: Number
    splashed_kg_m2: Number
    buffer_value_kg_m2: Number


def middle_of(assumptions: WetRoomAssumptions) -> WetRoomValues:
    """The middle of every assumption.

    Parameters
    ----------
    assumptions
        With ranges.

    >>> round(middle_of(usual_wet_room_assumptions()).convection_w_m2_k, 1)
    4.0
    """
    return WetRoomValues(
        shower_kg_s=assumptions.shower_kg_s.value,
        surface_below_air_k=assumptions.surface_below_air_k.value,
        convection_w_m2_k=assumptions.convection_w_m2_k.value,
        mixing_frac=assumptions.mixing_frac.value,
        film_capacity_kg_m2=assumptions.film_capacity_kg_m2.value,
        splashed_kg_m2=assumptions.splashed_kg_m2.value,
        buffer_value_kg_m2=assumptions.buffer_value_kg_m2.value,
    )


def wet_room(plan: WetRoomPlan, values: WetRoomValues) -> tuple[RoomInUse, tuple[Release, ...]]:
    """The room and its shower, ready to be run.

    Mirror and tiles start at one temperature and are warmed by the air and by what condenses on
    them; the shower heats the air in the proportion of the heat–mass analogy. Extract flows given
    to the run are to be multiplied by ``mixing_frac``.

    Parameters
    ----------
    plan
        What is known.
    values
        What is assumed.

    Returns
    -------
    tuple of RoomInUse and releases
        For `run_room` and `smallest_extract`.

    Raises
    ------
    ValueError
        House air as moist as air saturated at the shower's temperature.

    Source: lewis_analogy

    >>> plan = WetRoomPlan(volume_m3=12.0, mirror_m2=1.0, tiles_m2=15.0, lining_m2=15.0,
    ...     incoming_c=21.0, incoming_humidity_ratio_kg_kg=0.007, pressure_pa=101325.0,
    ...     shower_s=600.0)
    >>> room, releases = wet_room(plan, middle_of(usual_wet_room_assumptions()))
    >>> [s.surface_id for s in room.surfaces], round(releases[0].heat_w)
    (['mirror', 'tiles'], 238)
    """
    surface_c = plan.incoming_c - values.surface_below_air_k
    water_ratio = saturation_ratio(math, SHOWER_SURFACE_C, plan.pressure_pa)
    room = RoomInUse(
        volume_m3=plan.volume_m3,
        pressure_pa=plan.pressure_pa,
        incoming_c=plan.incoming_c,
        incoming_humidity_ratio_kg_kg=plan.incoming_humidity_ratio_kg_kg,
        start_c=plan.incoming_c,
        start_humidity_ratio_kg_kg=plan.incoming_humidity_ratio_kg_kg,
        surfaces=_surfaces(plan, values, surface_c),
        lining=_lining(plan, values) if plan.lining_m2 > 0.0 else None,
    )
    shower = Release(
        start_s=0.0,
        end_s=plan.shower_s,
        moisture_kg_s=values.shower_kg_s,
        heat_w=evaporation_heat_w(
            moisture_kg_s=values.shower_kg_s,
            water_c=SHOWER_SURFACE_C,
            water_humidity_ratio_kg_kg=water_ratio,
            air_c=plan.incoming_c,
            air_humidity_ratio_kg_kg=plan.incoming_humidity_ratio_kg_kg,
        ),
        splashes=True,
    )
    return room, (shower,)


def _surfaces(
    plan: WetRoomPlan, values: WetRoomValues, surface_c: Number
) -> tuple[RoomSurface, ...]:
    found = []
    if plan.mirror_m2 > 0.0:
        found.append(
            RoomSurface(
                surface_id=MIRROR,
                area_m2=plan.mirror_m2,
                temperature_c=surface_c,
                convection_w_m2_k=values.convection_w_m2_k,
                film_capacity_kg_m2=values.film_capacity_kg_m2,
                heat_capacity_j_m2_k=GLASS_HEAT_CAPACITY_J_M2_K,
            )
        )
    if plan.tiles_m2 > 0.0:
        found.append(
            RoomSurface(
                surface_id=TILES,
                area_m2=plan.tiles_m2,
                temperature_c=surface_c,
                convection_w_m2_k=values.convection_w_m2_k,
                film_capacity_kg_m2=values.film_capacity_kg_m2,
                heat_capacity_j_m2_k=TILE_HEAT_CAPACITY_J_M2_K,
                backing_m2k_w=TILE_BACKING_M2K_W,
                splashed_kg_m2=values.splashed_kg_m2,
            )
        )
    return tuple(found)


def _lining(plan: WetRoomPlan, values: WetRoomValues) -> Lining:
    return Lining(
        area_m2=plan.lining_m2,
        buffer_value_kg_m2=values.buffer_value_kg_m2,
        temperature_c=plan.incoming_c,
        convection_w_m2_k=values.convection_w_m2_k,
        cycle_s=DRYING_CYCLE_S,
    )


def _between(low: float, high: float, id: str, label: str) -> Estimate:
    return measured(
        0.5 * (low + high),
        u_std=u_from_half_width(0.5 * (high - low), distribution=Distribution.NORMAL),
        id=f"moisture:wet-room:{id}",
        label=label,
    )
