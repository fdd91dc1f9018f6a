"""How warm a place must be so that mould finds no water: screens, not a forecast of growth."""

from __future__ import annotations

import math
from collections.abc import Sequence

from ventwright.air import AirEstimate, kernels
from ventwright.moisture.surfaces import MOULD_REL_HUMIDITY_FRAC
from ventwright.moisture.temperatures import temperature_factor_from
from ventwright.quantities import HumidityOver
from ventwright.quantities.records import dataclass
from ventwright.uncertainty import Estimate, propagate

EXCESS_FACTOR = 1.10
"""By which the indoor excess of vapour pressure is raised to be safe. Source: iso_13788_code"""
LEAST_GROWTH_REL_HUMIDITY_FRAC = {"sensitive": 0.80, "resistant": 0.85}
"""Floor of the critical humidity by class of material. Source: vtt_mould_code"""


def critical_surface_temperature_c(
    air: AirEstimate, *, rel_humidity_frac: float = MOULD_REL_HUMIDITY_FRAC
) -> Estimate:
    """Surface temperature at which an air reaches a given relative humidity.

    0.80 is the mould screen, 1 the dew or frost point.

    Parameters
    ----------
    air
        The air.
    rel_humidity_frac
        Humidity not to be exceeded at the surface, above 0 and up to 1.

    Returns
    -------
    Estimate
        Least surface temperature [°C].

    Raises
    ------
    ValueError
        A humidity out of range.

    Source: iso_13788

    >>> from ventwright.air import air_estimate_from
    >>> from ventwright.uncertainty import exact
    >>> room = air_estimate_from(pressure_pa=exact(101325.0), temperature_c=exact(20.0),
    ...                          rel_humidity_frac=exact(0.5))
    >>> round(critical_surface_temperature_c(room).value, 1)
    12.6
    """
    if not 0.0 < rel_humidity_frac <= 1.0:
        raise ValueError(f"relative humidity {rel_humidity_frac!r} is not above 0 and up to 1")
    pressure_pa, is_enhanced = air.state.pressure_pa, air.state.is_enhanced

    def temperature_c(humidity_ratio_kg_kg: float) -> float:
        vapour_pa = kernels.vapour_pressure_pa(
            humidity_ratio_kg_kg=humidity_ratio_kg_kg, pressure_pa=pressure_pa
        )
        return _saturation_temperature_c(
            vapour_pa / rel_humidity_frac, pressure_pa=pressure_pa, is_enhanced=is_enhanced
        )

    return propagate(temperature_c, [air.humidity_ratio_kg_kg])


def least_temperature_factor(
    air: AirEstimate, *, outdoor_c: Estimate, rel_humidity_frac: float = MOULD_REL_HUMIDITY_FRAC
) -> Estimate:
    """Temperature factor that a place needs in this indoor air and outdoor temperature.

    Parameters
    ----------
    air
        Indoor air.
    outdoor_c
        Outdoor temperature [°C].
    rel_humidity_frac
        Humidity not to be exceeded at the surface.

    Returns
    -------
    Estimate
        Factor [1].

    Raises
    ------
    ValueError
        A humidity out of range.

    Source: iso_13788

    >>> from ventwright.air import air_estimate_from
    >>> from ventwright.uncertainty import exact
    >>> room = air_estimate_from(pressure_pa=exact(101325.0), temperature_c=exact(20.0),
    ...                          rel_humidity_frac=exact(0.5))
    >>> round(least_temperature_factor(room, outdoor_c=exact(-5.0)).value, 2)
    0.71
    """
    return temperature_factor_from(
        surface_c=critical_surface_temperature_c(air, rel_humidity_frac=rel_humidity_frac),
        indoor_c=air.temperature_c,
        outdoor_c=outdoor_c,
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class ClimateMonth:
    """Mean outdoor air of a month, and the moisture the house adds.

    Parameters
    ----------
    name
        Of the month.
    outdoor_c
        Mean temperature [°C].
    outdoor_rel_humidity_frac
        Mean relative humidity [0..1]; below 0 °C over ice, as the standard's formula has it (from
        memory).
    excess_pa
        Indoor less outdoor vapour pressure [Pa], before the factor of safety.
    """

    name: str
    outdoor_c: float
    outdoor_rel_humidity_frac: float
    excess_pa: float


@dataclass(frozen=True, slots=True, kw_only=True)
class CriticalMonth:
    """The month that asks for the highest temperature factor, and that factor [1]."""

    month: ClimateMonth
    temperature_factor: float


def critical_month(
    months: Sequence[ClimateMonth],
    *,
    indoor_c: float,
    pressure_pa: float = 101_325.0,
    rel_humidity_frac: float = MOULD_REL_HUMIDITY_FRAC,
) -> CriticalMonth | None:
    """Month that decides the temperature factor of a house, in the manner of EN ISO 13788.

    ``e_i = e_e + 1.10 Δe``, saturation at ``e_i/0.80``, and the factor from that temperature. The
    excess is the caller's: the lines of the standard's humidity classes are known from memory only.
    Months as warm outside as inside need no factor and are passed over.

    Parameters
    ----------
    months
        Any number.
    indoor_c
        Indoor temperature [°C].
    pressure_pa
        Barometric pressure [Pa].
    rel_humidity_frac
        Humidity not to be exceeded at the surface.

    Returns
    -------
    CriticalMonth or None
        None where no month is colder outside than inside.

    Source: iso_13788, iso_13788_code

    >>> january = ClimateMonth(name="January", outdoor_c=-5.0, outdoor_rel_humidity_frac=0.9,
    ...                        excess_pa=540.0)
    >>> round(critical_month([january], indoor_c=20.0).temperature_factor, 2)
    0.58
    """
    found = [
        CriticalMonth(
            month=month,
            temperature_factor=_factor_of_month(
                month, indoor_c, pressure_pa=pressure_pa, rel_humidity_frac=rel_humidity_frac
            ),
        )
        for month in months
        if month.outdoor_c < indoor_c
    ]
    return max(found, key=lambda f: f.temperature_factor, default=None)


def _factor_of_month(
    month: ClimateMonth, indoor_c: float, *, pressure_pa: float, rel_humidity_frac: float
) -> float:
    saturated_pa = kernels.saturation_pressure_pa(
        math,
        temperature_c=month.outdoor_c,
        pressure_pa=pressure_pa,
        over=HumidityOver.ICE,
        is_enhanced=True,
    )
    vapour_pa = month.outdoor_rel_humidity_frac * saturated_pa + EXCESS_FACTOR * month.excess_pa
    surface_c = _saturation_temperature_c(
        vapour_pa / rel_humidity_frac, pressure_pa=pressure_pa, is_enhanced=True
    )
    return (surface_c - month.outdoor_c) / (indoor_c - month.outdoor_c)


def _saturation_temperature_c(vapour_pa: float, *, pressure_pa: float, is_enhanced: bool) -> float:
    return float(
        kernels.saturation_temperature_c(
            math,
            vapour_pressure_pa=vapour_pa,
            pressure_pa=pressure_pa,
            over=HumidityOver.ICE,
            is_enhanced=is_enhanced,
        )
    )


def growth_rel_humidity_frac(surface_c: float, *, is_sensitive: bool = True) -> float:
    """Relative humidity at a surface from which mould can grow there, given weeks.

    ``RH = max(floor, −0.00267 T³ + 0.160 T² − 3.13 T + 100)`` per cent: cold surfaces need moister
    air. 1 below 0 °C; the floor above 20 °C.

    Parameters
    ----------
    surface_c
        Surface temperature [°C].
    is_sensitive
        Wood, paper and the like (floor 0.80), as against mineral and synthetic materials (0.85).

    Returns
    -------
    float
        Relative humidity [0..1].

    Source: vtt_mould_code

    >>> round(growth_rel_humidity_frac(5.0), 2), growth_rel_humidity_frac(18.0)
    (0.88, 0.8)
    """
    if surface_c < 0.0:
        return 1.0
    floor = LEAST_GROWTH_REL_HUMIDITY_FRAC["sensitive" if is_sensitive else "resistant"]
    if surface_c > 20.0:
        return floor
    t = surface_c
    return max(floor, 0.01 * (((-0.00267 * t + 0.160) * t - 3.13) * t + 100.0))
