"""Barometric pressure of the standard atmosphere at an altitude, and back."""

from __future__ import annotations

from ventwright.air.states import check_range
from ventwright.quantities.constants import STANDARD_ATMOSPHERE_PA

LOWEST_ALTITUDE_M = -500.0
HIGHEST_ALTITUDE_M = 11_000.0
_FALL_1_M = 2.25577e-5
_EXPONENT = 5.2559


def pressure_from_altitude_pa(altitude_m: float) -> float:
    """Barometric pressure of the standard atmosphere.

    ``p = 101 325 (1 − 2.25577e-5 Z)^5.2559``. Weather moves the true pressure by 1 to 3 % around
    it. A weather service's "sea level pressure" is not the pressure at the house: take this one, or
    a barometer on site.

    Parameters
    ----------
    altitude_m
        Altitude above sea level Z [m], −500 to 11 000.

    Returns
    -------
    float
        Barometric pressure [Pa].

    Raises
    ------
    AirStateError
        Outside the range.

    Source: ashrae_hof_2017_ch1 equation 3.

    >>> round(pressure_from_altitude_pa(1000.0))
    89875
    """
    check_range("altitude_m", altitude_m, LOWEST_ALTITUDE_M, HIGHEST_ALTITUDE_M)
    return float(STANDARD_ATMOSPHERE_PA * (1.0 - _FALL_1_M * altitude_m) ** _EXPONENT)


def altitude_from_pressure_m(pressure_pa: float) -> float:
    """Altitude at which the standard atmosphere has a given pressure.

    Parameters
    ----------
    pressure_pa
        Barometric pressure [Pa], 22 632 to 107 478 (11 000 to −500 m).

    Returns
    -------
    float
        Altitude above sea level [m].

    Raises
    ------
    AirStateError
        Outside the range.

    Source: ashrae_hof_2017_ch1 equation 3.

    >>> round(altitude_from_pressure_m(89875.0))
    1000
    """
    check_range("pressure_pa", pressure_pa, _LOWEST_PRESSURE_PA, _HIGHEST_PRESSURE_PA)
    ratio = float((pressure_pa / STANDARD_ATMOSPHERE_PA) ** (1.0 / _EXPONENT))
    return (1.0 - ratio) / _FALL_1_M


_LOWEST_PRESSURE_PA = pressure_from_altitude_pa(HIGHEST_ALTITUDE_M)
_HIGHEST_PRESSURE_PA = pressure_from_altitude_pa(LOWEST_ALTITUDE_M)
