"""How far a house may be cooled, or its air be moist, before the first surface gets wet."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

from ventwright.air import kernels
from ventwright.moisture.surfaces import CONFIDENCE_FRAC
from ventwright.quantities import HumidityOver
from ventwright.quantities.records import dataclass
from ventwright.uncertainty import Estimate, combine, coverage_factor_from


@dataclass(frozen=True, slots=True, kw_only=True)
class SafeLimit:
    """A limit kept with confidence.

    Parameters
    ----------
    limit_c
        The limit to hold [°C]: the estimate moved to the safe side.
    estimate_c
        The limit itself with its uncertainty [°C].
    surface_id
        The surface that sets it.
    confidence_frac
        Probability that the surface is dry at the limit.
    """

    limit_c: float
    estimate_c: Estimate
    surface_id: str
    confidence_frac: float


@dataclass(frozen=True, slots=True, kw_only=True)
class CooledSurface:
    """A surface that follows the room as the house is cooled.

    Its temperature is ``T_o + f (T_room − T_o)``: f = 1 for a surface as cold as the room, less for
    one that takes part of the warmth on its other side, more than 1 for one colder than the room.

    Parameters
    ----------
    surface_id
        Which surface.
    other_side_c
        Temperature on its other side [°C].
    temperature_factor
        f [1], above 0.
    dew_point_c
        Dew point of the air that touches it [°C]: of outdoor air where that gets to it.
    """

    surface_id: str
    other_side_c: Estimate
    temperature_factor: Estimate
    dew_point_c: Estimate


def highest_safe_dew_point(
    surfaces: Mapping[str, Estimate],
    *,
    u_dew_point_k: float = 0.0,
    confidence_frac: float = CONFIDENCE_FRAC,
) -> SafeLimit | None:
    """Highest indoor dew point that leaves every surface dry with confidence.

    Parameters
    ----------
    surfaces
        Surface temperatures by id [°C].
    u_dew_point_k
        Standard uncertainty of the dew point that will be compared with it [K].
    confidence_frac
        Confidence, 0.5 to 1.

    Returns
    -------
    SafeLimit or None
        Set by the surface with the lowest limit; None without surfaces.

    Raises
    ------
    ValueError
        A confidence out of range.

    Source: jcgm_106_2012

    >>> from ventwright.uncertainty import measured
    >>> found = highest_safe_dew_point(
    ...     {"window": measured(13.5, u_std=0.4, id="w", label="window"),
    ...      "wall": measured(17.0, u_std=0.4, id="v", label="wall")}, u_dew_point_k=0.58)
    >>> found.surface_id, round(found.limit_c, 1)
    ('window', 12.3)
    """
    limits = [
        SafeLimit(
            limit_c=t.value
            - _guard_factor(t, confidence_frac) * math.hypot(t.u_std, u_dew_point_k),
            estimate_c=t,
            surface_id=surface_id,
            confidence_frac=confidence_frac,
        )
        for surface_id, t in surfaces.items()
    ]
    return min(limits, key=lambda s: (s.limit_c, s.surface_id), default=None)


def lowest_safe_set_point(
    surfaces: Sequence[CooledSurface],
    *,
    margin_k: float = 0.0,
    confidence_frac: float = CONFIDENCE_FRAC,
) -> SafeLimit | None:
    """Lowest thermostat set point in cooling that leaves every surface dry with confidence.

    From ``T_o + f (T_set − T_o) = T_dew``: ``T_set = T_o + (T_dew − T_o)/f``, raised by the guard
    band. Surfaces that are not cooled by the room (a supply boot, a duct) have no set point; check
    them by `check_surface`.

    Parameters
    ----------
    surfaces
        The surfaces that follow the room.
    margin_k
        Margin to the dew point asked for besides [K].
    confidence_frac
        Confidence, 0.5 to 1.

    Returns
    -------
    SafeLimit or None
        Set by the surface with the highest limit; None without surfaces.

    Raises
    ------
    ValueError
        A factor that is not above zero, a confidence out of range.

    Source: jcgm_106_2012

    >>> from ventwright.uncertainty import exact, measured
    >>> lining = CooledSurface(surface_id="lining", other_side_c=exact(30.0),
    ...     temperature_factor=exact(1.0),
    ...     dew_point_c=measured(22.0, u_std=0.4, id="dew", label="outdoor dew point"))
    >>> round(lowest_safe_set_point((lining,)).limit_c, 1)
    22.7
    """
    limits = []
    for s in surfaces:
        estimate = _set_point(s, margin_k)
        guard = _guard_factor(estimate, confidence_frac) * estimate.u_std
        limits.append(
            SafeLimit(
                limit_c=estimate.value + guard,
                estimate_c=estimate,
                surface_id=s.surface_id,
                confidence_frac=confidence_frac,
            )
        )
    return max(limits, key=lambda s: (s.limit_c, s.surface_id), default=None)


def _set_point(surface: CooledSurface, margin_k: float) -> Estimate:
    f = surface.temperature_factor.value
    if not f > 0.0:
        raise ValueError(f"temperature factor of {surface.surface_id!r} is {f!r}, not above 0")
    fall = surface.dew_point_c.value + margin_k - surface.other_side_c.value
    return combine(
        surface.other_side_c.value + fall / f,
        [
            (1.0 - 1.0 / f, surface.other_side_c),
            (1.0 / f, surface.dew_point_c),
            (-fall / (f * f), surface.temperature_factor),
        ],
    )


def _guard_factor(estimate: Estimate, confidence_frac: float) -> float:
    """One-sided coverage factor: k such that the limit is kept with the confidence."""
    if not 0.5 <= confidence_frac < 1.0:
        raise ValueError(f"confidence {confidence_frac!r} is not in [0.5, 1)")
    if confidence_frac == 0.5:
        return 0.0
    return coverage_factor_from(
        coverage_frac=2.0 * confidence_frac - 1.0, dof=max(estimate.dof, 1.0)
    )


def rel_humidity_at_dew_point_frac(
    *, dew_point_c: float, temperature_c: float, pressure_pa: float = 101_325.0
) -> float:
    """Relative humidity that a room shows when its dew point is as given.

    A dew point is what a surface feels; a hygrometer on the wall shows this.

    Parameters
    ----------
    dew_point_c
        Dew point, or frost point below 0 °C [°C], not above the temperature.
    temperature_c
        Room temperature [°C].
    pressure_pa
        Barometric pressure [Pa].

    Returns
    -------
    float
        Relative humidity [0..1].

    Raises
    ------
    ValueError
        A dew point above the temperature.

    Source: hyland_wexler_1983

    >>> round(rel_humidity_at_dew_point_frac(dew_point_c=12.78, temperature_c=23.89), 2)
    0.5
    """
    if dew_point_c > temperature_c:
        raise ValueError(f"dew point {dew_point_c!r} °C is above the air's {temperature_c!r} °C")
    at_dew_pa, at_room_pa = (
        kernels.saturation_pressure_pa(
            math,
            temperature_c=t,
            pressure_pa=pressure_pa,
            over=HumidityOver.ICE,
            is_enhanced=True,
        )
        for t in (dew_point_c, temperature_c)
    )
    return float(at_dew_pa / at_room_pa)
