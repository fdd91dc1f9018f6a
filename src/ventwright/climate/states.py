"""Moist-air states of many hours at once, in pieces whose temporaries stay in the cache."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from ventwright.air import kernels
from ventwright.climate.weather import Floats
from ventwright.quantities import HumidityOver

PIECE_COUNT = 8_000
"""Values in a piece: several times faster than a whole year in one go."""


def dew_points_c(*, humidity_ratio_kg_kg: Floats, pressure_pa: Floats) -> Floats:
    """Dew point of every hour; the frost point below 0 °C, which is what a surface feels.

    Parameters
    ----------
    humidity_ratio_kg_kg
        Humidity ratio [kg/kg], any number of values above 0.
    pressure_pa
        Barometric pressure [Pa], as many.

    Returns
    -------
    Floats
        Dew or frost point [°C].

    Source: hyland_wexler_1983

    >>> found = dew_points_c(humidity_ratio_kg_kg=np.array([0.007, 0.002]),
    ...                      pressure_pa=np.array([101325.0, 101325.0]))
    >>> [round(float(t), 1) for t in found]
    [8.7, -7.5]
    """

    def piece(ratio: Floats, pressure: Floats) -> Floats:
        vapour_pa = kernels.vapour_pressure_pa(humidity_ratio_kg_kg=ratio, pressure_pa=pressure)
        found: Floats = kernels.saturation_temperature_c(
            np, vapour_pressure_pa=vapour_pa, pressure_pa=pressure, over=HumidityOver.ICE
        )
        return found

    return _in_pieces(piece, humidity_ratio_kg_kg, pressure_pa)


def humidity_ratios_kg_kg(
    *, temperature_c: Floats, pressure_pa: Floats, rel_humidity_frac: float = 1.0
) -> Floats:
    """Humidity ratio of every hour at a relative humidity, over ice below 0 °C.

    Parameters
    ----------
    temperature_c
        Temperature [°C].
    pressure_pa
        Barometric pressure [Pa], as many.
    rel_humidity_frac
        Relative humidity; 1 is saturation.

    Returns
    -------
    Floats
        Humidity ratio [kg/kg].

    Source: hyland_wexler_1983

    >>> found = humidity_ratios_kg_kg(temperature_c=np.array([20.0]),
    ...                               pressure_pa=np.array([101325.0]))
    >>> round(float(found[0]), 4)
    0.0148
    """

    def piece(temperature: Floats, pressure: Floats) -> Floats:
        vapour_pa = rel_humidity_frac * kernels.saturation_pressure_pa(
            np, temperature_c=temperature, pressure_pa=pressure, over=HumidityOver.ICE
        )
        found: Floats = kernels.humidity_ratio_kg_kg(
            vapour_pressure_pa=vapour_pa, pressure_pa=pressure
        )
        return found

    return _in_pieces(piece, temperature_c, pressure_pa)


def rel_humidities_frac(
    *, temperature_c: Floats, humidity_ratio_kg_kg: Floats, pressure_pa: Floats
) -> Floats:
    """Relative humidity of every hour, over ice below 0 °C; above 1 where water would condense.

    Parameters
    ----------
    temperature_c
        Temperature [°C].
    humidity_ratio_kg_kg
        Humidity ratio [kg/kg], as many.
    pressure_pa
        Barometric pressure [Pa], as many.

    Returns
    -------
    Floats
        Relative humidity [0..1].

    Source: hyland_wexler_1983

    >>> found = rel_humidities_frac(temperature_c=np.array([20.0]),
    ...     humidity_ratio_kg_kg=np.array([0.00729]), pressure_pa=np.array([101325.0]))
    >>> round(float(found[0]), 2)
    0.5
    """

    def piece(temperature: Floats, ratio: Floats, pressure: Floats) -> Floats:
        vapour_pa: Floats = kernels.vapour_pressure_pa(
            humidity_ratio_kg_kg=ratio, pressure_pa=pressure
        )
        saturated_pa: Floats = kernels.saturation_pressure_pa(
            np, temperature_c=temperature, pressure_pa=pressure, over=HumidityOver.ICE
        )
        return vapour_pa / saturated_pa

    return _in_pieces(piece, temperature_c, humidity_ratio_kg_kg, pressure_pa)


def _in_pieces(function: Callable[..., Floats], *columns: Floats) -> Floats:
    """Apply a function of several arrays of one shape piece by piece."""
    shape = columns[0].shape
    flat = [np.ascontiguousarray(c).reshape(-1) for c in columns]
    result = np.empty(flat[0].size)
    for start in range(0, result.size, PIECE_COUNT):
        part = slice(start, start + PIECE_COUNT)
        result[part] = function(*(c[part] for c in flat))
    return result.reshape(shape)
