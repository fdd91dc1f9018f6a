"""Temperatures of surfaces that nobody measured: from a temperature factor, insulation, glazing."""

from __future__ import annotations

import math

from ventwright.uncertainty import Estimate, combine, exact, measured, propagate

OUTSIDE_FILM_M2K_W = 1.0 / (1.46 * 5.678263)
"""Surface resistance of a duct jacket in still air, 1/1.46 ft² h °F/Btu. From memory of the
handbook's table for a vertical, non-reflective surface. Source: ashrae_hof_films"""
FILM_SPREAD_FRAC = 0.2
"""Standard uncertainty of a film in proportion: still or moving air, dull or shiny. Judgement."""
INSIDE_FILM_GLASS_M2K_W = 0.13
"""Inner surface resistance of windows. Source: iso_13788_films"""


def surface_temperature_from_factor(
    *, indoor_c: Estimate, outdoor_c: Estimate, temperature_factor_frac: Estimate
) -> Estimate:
    """Inner surface temperature from a temperature factor, ``T_e + f (T_i − T_e)``.

    ``f = (T_si − T_e)/(T_i − T_e)`` is 1 for a surface as warm as the room.

    Parameters
    ----------
    indoor_c
        Indoor temperature [°C].
    outdoor_c
        Outdoor temperature [°C].
    temperature_factor_frac
        Temperature factor of the place [0..1].

    Returns
    -------
    Estimate
        Surface temperature [°C].

    Source: iso_13788

    >>> from ventwright.uncertainty import exact
    >>> surface_temperature_from_factor(indoor_c=exact(20.0), outdoor_c=exact(-5.0),
    ...     temperature_factor_frac=exact(0.7)).value
    12.5
    """
    f = temperature_factor_frac.value
    rise = indoor_c.value - outdoor_c.value
    return combine(
        outdoor_c.value + f * rise,
        [(f, indoor_c), (1.0 - f, outdoor_c), (rise, temperature_factor_frac)],
    )


def temperature_factor_from(
    *, surface_c: Estimate, indoor_c: Estimate, outdoor_c: Estimate
) -> Estimate:
    """Temperature factor of a place whose surface temperature was measured.

    Parameters
    ----------
    surface_c
        Inner surface temperature [°C].
    indoor_c
        Indoor temperature [°C].
    outdoor_c
        Outdoor temperature [°C], not equal to the indoor one.

    Returns
    -------
    Estimate
        ``(T_si − T_e)/(T_i − T_e)`` [1].

    Raises
    ------
    ZeroDivisionError
        Where both temperatures are the same.

    Source: iso_13788

    >>> from ventwright.uncertainty import exact
    >>> f = temperature_factor_from(surface_c=exact(15.3), indoor_c=exact(20.0),
    ...                             outdoor_c=exact(10.4))
    >>> round(f.value, 2)
    0.51
    """
    rise = indoor_c.value - outdoor_c.value
    f = (surface_c.value - outdoor_c.value) / rise
    return combine(
        f, [(1.0 / rise, surface_c), (-f / rise, indoor_c), (-(1.0 - f) / rise, outdoor_c)]
    )


def usual_film_m2k_w() -> Estimate:
    """Surface resistance of a duct or pipe in still air, with its spread [m² K/W].

    >>> round(usual_film_m2k_w().value, 3)
    0.121
    """
    return measured(
        OUTSIDE_FILM_M2K_W,
        u_std=FILM_SPREAD_FRAC * OUTSIDE_FILM_M2K_W,
        id="moisture:outside-film",
        label="surface resistance in still air",
    )


def duct_skin_temperature(
    *,
    ambient_c: Estimate,
    duct_air_c: Estimate,
    insulation_m2k_w: Estimate,
    film_m2k_w: Estimate | None = None,
) -> Estimate:
    """Temperature of the outer skin of an insulated duct.

    ``T_s = T_a − (T_a − T_d) R_o/(R_i + R_o)``. The resistance inside is left out, which makes the
    skin colder than it is: the safe side for condensation. A bare duct has R_i = 0 and the skin the
    temperature of the air in it. Valid for dry, uncompressed insulation in free air; where it is
    compressed, wet, touching or buried, type its resistance as it is.

    Parameters
    ----------
    ambient_c
        Air around the duct [°C].
    duct_air_c
        Air in the duct [°C].
    insulation_m2k_w
        Resistance of the insulation, referred to its outer area [m² K/W], 0 or more.
    film_m2k_w
        Resistance from the skin to the air around [m² K/W]; still air where not given.

    Returns
    -------
    Estimate
        Skin temperature [°C].

    Raises
    ------
    ValueError
        A negative resistance.

    Source: ashrae_hof_films

    >>> from ventwright.uncertainty import exact
    >>> skin = duct_skin_temperature(ambient_c=exact(25.556), duct_air_c=exact(12.778),
    ...                              insulation_m2k_w=exact(4.2 * 0.176110))
    >>> round(skin.value, 1)
    23.8
    """
    film = usual_film_m2k_w() if film_m2k_w is None else film_m2k_w
    if insulation_m2k_w.value < 0.0 or not film.value > 0.0:
        raise ValueError(
            f"resistances {insulation_m2k_w.value!r} and {film.value!r} m² K/W: "
            "insulation is 0 or more, the film above 0"
        )
    return propagate(
        lambda a, d, r, o: a - (a - d) * o / (r + o),
        [ambient_c, duct_air_c, insulation_m2k_w, film],
    )


def round_insulation_m2k_w(
    *, thickness_m: float, inner_diameter_m: float, conductivity_w_m_k: float
) -> float:
    """Resistance of insulation round a duct or pipe, referred to its outer area.

    ``R = r_o ln(r_o/r_i)/λ``.

    Parameters
    ----------
    thickness_m
        Thickness [m], 0 or more.
    inner_diameter_m
        Outer diameter of the bare duct or pipe [m], above 0.
    conductivity_w_m_k
        Thermal conductivity of the insulation [W/(m K)], above 0.

    Returns
    -------
    float
        Resistance [m² K/W].

    Raises
    ------
    ValueError
        Out of range.

    >>> round(round_insulation_m2k_w(thickness_m=0.025, inner_diameter_m=0.15,
    ...                              conductivity_w_m_k=0.04), 3)
    0.719
    """
    if not (thickness_m >= 0.0 and inner_diameter_m > 0.0 and conductivity_w_m_k > 0.0):
        raise ValueError(
            f"thickness {thickness_m!r} m, diameter {inner_diameter_m!r} m, conductivity "
            f"{conductivity_w_m_k!r} W/(m K)"
        )
    inner = 0.5 * inner_diameter_m
    outer = inner + thickness_m
    return outer * math.log(outer / inner) / conductivity_w_m_k


def pipe_skin_temperature(
    *,
    ambient_c: Estimate,
    water_c: Estimate,
    pipe_diameter_m: float,
    thickness_m: float = 0.0,
    conductivity_w_m_k: float = 0.04,
    film_m2k_w: Estimate | None = None,
) -> Estimate:
    """Temperature of the outer skin of a cold water pipe, bare or insulated.

    As `duct_skin_temperature` with the resistance of `round_insulation_m2k_w`; pipe wall and water
    side are left out, which is the safe side.

    Parameters
    ----------
    ambient_c
        Air around the pipe [°C].
    water_c
        Water in the pipe while it runs [°C].
    pipe_diameter_m
        Outer diameter of the bare pipe [m], above 0.
    thickness_m
        Thickness of the insulation [m]; 0 where there is none.
    conductivity_w_m_k
        Thermal conductivity of the insulation [W/(m K)]; 0.04 is usual for foam (from memory).
    film_m2k_w
        Resistance from the skin to the air around [m² K/W]; still air where not given.

    Returns
    -------
    Estimate
        Skin temperature [°C].

    Raises
    ------
    ValueError
        A size out of range.

    Source: ashrae_hof_films

    >>> from ventwright.uncertainty import exact
    >>> [round(pipe_skin_temperature(ambient_c=exact(24.0), water_c=exact(8.0),
    ...     pipe_diameter_m=0.022, thickness_m=t).value, 1) for t in (0.0, 0.013)]
    [8.0, 20.7]
    """
    resistance_m2k_w = round_insulation_m2k_w(
        thickness_m=thickness_m,
        inner_diameter_m=pipe_diameter_m,
        conductivity_w_m_k=conductivity_w_m_k,
    )
    return duct_skin_temperature(
        ambient_c=ambient_c,
        duct_air_c=water_c,
        insulation_m2k_w=exact(resistance_m2k_w),
        film_m2k_w=film_m2k_w,
    )


def insulation_needed_m2k_w(
    *, ambient_c: float, duct_air_c: float, dew_point_c: float, film_m2k_w: float | None = None
) -> float:
    """Insulation that keeps the skin of a cold duct or pipe at the dew point of the air around it.

    ``R = R_o [(T_a − T_d)/(T_a − T_dew) − 1]``, 0 where the bare skin is warm enough.

    Parameters
    ----------
    ambient_c
        Air around [°C], above the dew point.
    duct_air_c
        Air or water inside [°C].
    dew_point_c
        Dew point of the air around, with any margin wanted [°C].
    film_m2k_w
        Resistance from the skin to the air around [m² K/W]; still air where not given.

    Returns
    -------
    float
        Resistance [m² K/W].

    Raises
    ------
    ValueError
        Where the air around is at its dew point: no insulation helps then.

    Source: ashrae_hof_films

    >>> r = insulation_needed_m2k_w(ambient_c=26.667, duct_air_c=12.778, dew_point_c=23.333)
    >>> round(r / 0.176110, 1)
    2.2
    """
    if not ambient_c > dew_point_c:
        raise ValueError(f"air at {ambient_c!r} °C is at or below its dew point {dew_point_c!r} °C")
    film = OUTSIDE_FILM_M2K_W if film_m2k_w is None else film_m2k_w
    return max(0.0, film * ((ambient_c - duct_air_c) / (ambient_c - dew_point_c) - 1.0))


def supply_terminal_temperature(
    *, supply_c: Estimate, room_c: Estimate, warming_frac: Estimate | None = None
) -> Estimate:
    """Temperature of the face of a supply terminal, between the supply air and the room.

    Parameters
    ----------
    supply_c
        Supply air at the terminal [°C].
    room_c
        Room air [°C].
    warming_frac
        How far towards the room the face lies [0..1]; 0 where not given, the safe side in cooling.

    Returns
    -------
    Estimate
        Face temperature [°C].

    >>> from ventwright.uncertainty import exact
    >>> supply_terminal_temperature(supply_c=exact(13.0), room_c=exact(24.0)).value
    13.0
    """
    return surface_temperature_from_factor(
        indoor_c=room_c,
        outdoor_c=supply_c,
        temperature_factor_frac=exact(0.0) if warming_frac is None else warming_frac,
    )


def glazing_temperature(
    *,
    indoor_c: Estimate,
    outdoor_c: Estimate,
    u_value_w_m2_k: Estimate,
    film_m2k_w: float = INSIDE_FILM_GLASS_M2K_W,
) -> Estimate:
    """Inner surface temperature at the centre of a pane, ``T_i − U R_si (T_i − T_e)``.

    The edge is colder: give it by its temperature factor.

    Parameters
    ----------
    indoor_c
        Indoor temperature [°C].
    outdoor_c
        Outdoor temperature [°C].
    u_value_w_m2_k
        U-value of the centre of the pane [W/(m² K)].
    film_m2k_w
        Inner surface resistance [m² K/W].

    Returns
    -------
    Estimate
        Surface temperature [°C].

    Raises
    ------
    ValueError
        Where U times the resistance is not within 0 and 1.

    Source: iso_13788_films

    >>> from ventwright.uncertainty import exact
    >>> round(glazing_temperature(indoor_c=exact(21.0), outdoor_c=exact(-10.0),
    ...                           u_value_w_m2_k=exact(2.8)).value, 1)
    9.7
    """
    factor = 1.0 - u_value_w_m2_k.value * film_m2k_w
    if not (0.0 <= factor <= 1.0 and film_m2k_w > 0.0):
        raise ValueError(f"U-value {u_value_w_m2_k.value!r} with film {film_m2k_w!r} m² K/W")
    return surface_temperature_from_factor(
        indoor_c=indoor_c,
        outdoor_c=outdoor_c,
        temperature_factor_frac=combine(factor, [(-film_m2k_w, u_value_w_m2_k)]),
    )
