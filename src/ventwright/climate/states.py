"""Moist-air states of many hours at once, in pieces whose temporaries stay in the cache."""

from __future__ import annotations

import itertools
from collections.abc import Callable

import numpy as np

from ventwright.air import kernels
from ventwright.climate.weather import Bools, Floats
from ventwright.quantities import HumidityOver

PIECE_COUNT = 8_000
"""Values in a piece: several times faster than a whole year in one go."""
_ICE_POINT_RATIO_PA = 0.00379 * 101_325.0


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

    # About where vapour saturates at 0 °C; pieces near it may be mixed and are still right.
    is_frosty = humidity_ratio_kg_kg * pressure_pa < _ICE_POINT_RATIO_PA
    return _in_pieces(piece, humidity_ratio_kg_kg, pressure_pa, is_frosty=is_frosty)


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

    return _in_pieces(piece, temperature_c, pressure_pa, is_frosty=temperature_c < 0.0)


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

    return _in_pieces(
        piece, temperature_c, humidity_ratio_kg_kg, pressure_pa, is_frosty=temperature_c < 0.0
    )


def _in_pieces(function: Callable[..., Floats], *columns: Floats, is_frosty: Bools) -> Floats:
    """Apply a function of several arrays of one shape piece by piece, frosty values first.

    A piece that lies on one side of the ice point needs one curve; a mixed one needs both, value by
    value, and takes twice as long. So values are brought into order first and back at the end.
    """
    shape = columns[0].shape
    flat = [np.ascontiguousarray(c).reshape(-1) for c in columns]
    frosty = is_frosty.reshape(-1)
    count = int(np.count_nonzero(frosty))
    result = np.empty(flat[0].size)
    if 0 < count < frosty.size:
        order = np.concatenate([np.flatnonzero(frosty), np.flatnonzero(~frosty)])
        ordered = np.empty(flat[0].size)
        _fill(function, [c[order] for c in flat], ordered, cut=count)
        result[order] = ordered
    else:
        _fill(function, flat, result, cut=0)
    return result.reshape(shape)


def _fill(
    function: Callable[..., Floats], columns: list[Floats], result: Floats, *, cut: int
) -> None:
    """Results of pieces that end where the frosty values do."""
    edges = [*range(0, cut, PIECE_COUNT), *range(cut, result.size, PIECE_COUNT), result.size]
    for start, end in itertools.pairwise(edges):
        part = slice(start, end)
        result[part] = function(*(c[part] for c in columns))
