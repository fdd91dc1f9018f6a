"""Saturation of moist air over water and over ice, and its inverse, the dew or frost point.

The curves are Hyland and Wexler's for pure water, corrected for the presence of air by Greenspan's
enhancement factor. A plane (`HumidityOver`) only matters below the ice point: above it there is no
ice, so both planes give the same number. Pure ice and water meet at the triple point, 0.01 °C;
under air they meet at 0 °C, which the enhanced curves show to 0.003 K.
"""

from __future__ import annotations

import math
from typing import Any, Protocol

from ventwright.quantities.constants import ICE_POINT_K
from ventwright.quantities.words import HumidityOver

Number = Any
"""A float with `math`, an array of floats with `numpy`; all arrays of one call broadcast."""

TRIPLE_POINT_C = 0.01
ICE_POINT_C = 0.0

# ln p = c0/T + c1 + c2 T + c3 T² + c4 T³ + c5 T⁴ + c6 ln T (T in kelvin, p in pascal).
# Source: hyland_wexler_1983, as printed in ashrae_hof_2017_ch1 equations 5 and 6.
_ICE = (
    -5.6745359e3,
    6.3925247,
    -9.677843e-3,
    6.2215701e-7,
    2.0747825e-9,
    -9.484024e-13,
    4.1635019,
)
_WATER = (
    -5.8002206e3,
    1.3914993,
    -4.8640239e-2,
    4.1764768e-5,
    -1.4452093e-8,
    0.0,
    6.5459673,
)

# ln f = a (1 - e/p) + b (p/e - 1), a and ln b cubic in °C: four coefficients of a, four of ln b.
# Source: greenspan_1976, with the three ranges −100..0 (ice), −50..0 (water), 0..100 °C (water).
_FACTOR_ICE = (
    3.64449e-4, 2.93631e-5, 4.88635e-7, 4.36543e-9,
    -1.07271e1, 7.61989e-2, -1.74771e-4, 2.46721e-6,
)  # fmt: skip
_FACTOR_SUPERCOOLED = (
    3.62183e-4, 2.60553e-5, 3.86501e-7, 3.82449e-9,
    -1.07604e1, 6.39725e-2, -2.63416e-4, 1.67254e-6,
)  # fmt: skip
_FACTOR_WATER = (
    3.53624e-4, 2.93228e-5, 2.61474e-7, 8.57538e-9,
    -1.07588e1, 6.32529e-2, -2.53591e-4, 6.33784e-7,
)  # fmt: skip

# Over-water and over-ice constants of the Magnus form (slope, kelvin), only where Newton starts.
_MAGNUS_WATER = (17.62, 243.12)
_MAGNUS_ICE = (22.46, 272.62)
_MAGNUS_LOG_PRESSURE = math.log(611.2)
_TYPICAL_ENHANCEMENT = 1.004


class Maths(Protocol):
    """What a kernel asks of `math` or `numpy`."""

    @property
    def exp(self) -> Any:
        """Exponential function."""

    @property
    def log(self) -> Any:
        """Natural logarithm."""


def saturation_pressure_pa(
    maths: Maths,
    *,
    temperature_c: Number,
    pressure_pa: Number,
    over: HumidityOver,
    is_enhanced: bool = True,
) -> Number:
    """Vapour pressure of saturated moist air.

    ``e_s = f(T, p) e(T)``, with ``e`` the pure-water curve and ``f`` the enhancement factor; ``f``
    is 1.0039 at 0 °C and 1.0052 at 50 °C under 101 325 Pa.

    Parameters
    ----------
    maths
        `math` for floats, `numpy` for arrays.
    temperature_c
        Temperature [°C], −100 to 100 over ice and above freezing, −50 to 100 over water.
    pressure_pa
        Barometric pressure [Pa].
    over
        Plane below the ice point.
    is_enhanced
        Whether to apply the enhancement factor.

    Returns
    -------
    Number
        Saturation vapour pressure [Pa].

    Source: hyland_wexler_1983, greenspan_1976.

    >>> round(saturation_pressure_pa(math, temperature_c=25.0, pressure_pa=101325.0,
    ...                              over=HumidityOver.ICE, is_enhanced=False), 1)
    3169.2
    """
    below = temperature_c < _ice_point_c(is_enhanced)
    curve = pick(maths, below, _curve_below(over), _WATER)
    log_pressure = _log_pure_pressure(maths, temperature_c + ICE_POINT_K, curve)
    if is_enhanced:
        factor = pick(maths, below, _factor_below(over), _FACTOR_WATER)
        log_pressure = log_pressure + _log_enhancement(
            maths, temperature_c, pressure_pa / maths.exp(log_pressure), factor
        )
    return maths.exp(log_pressure)


def enhancement_factor(
    maths: Maths, *, temperature_c: Number, pressure_pa: Number, over: HumidityOver
) -> Number:
    """Saturation vapour pressure in air over that of pure water at the same temperature.

    ``ln f = a (1 − e/p) + b (p/e − 1)``, ``a`` and ``ln b`` cubic in temperature.

    Parameters
    ----------
    maths
        `math` for floats, `numpy` for arrays.
    temperature_c
        Temperature [°C], −100 to 100 over ice and above freezing, −50 to 100 over water.
    pressure_pa
        Barometric pressure [Pa], above the saturation pressure.
    over
        Plane below the ice point.

    Returns
    -------
    Number
        Enhancement factor, a little over 1.

    Source: greenspan_1976.

    >>> round(enhancement_factor(math, temperature_c=25.0, pressure_pa=101325.0,
    ...                          over=HumidityOver.ICE), 4)
    1.0041
    """
    below = temperature_c < ICE_POINT_C
    curve = pick(maths, below, _curve_below(over), _WATER)
    factor = pick(maths, below, _factor_below(over), _FACTOR_WATER)
    pure = maths.exp(_log_pure_pressure(maths, temperature_c + ICE_POINT_K, curve))
    return maths.exp(_log_enhancement(maths, temperature_c, pressure_pa / pure, factor))


def saturation_temperature_c(
    maths: Maths,
    *,
    vapour_pressure_pa: Number,
    pressure_pa: Number,
    over: HumidityOver,
    is_enhanced: bool = True,
) -> Number:
    """Temperature at which a vapour pressure saturates: the dew point, or the frost point.

    Two Newton steps on the logarithm of the pressure from Magnus's inverse, which start within a
    tenth of a kelvin and end within 1e-7 K up to 60 °C and 2e-5 K up to 90 °C. The answer is kept
    on its side of the ice point, so it never falls while the vapour pressure rises.

    Parameters
    ----------
    maths
        `math` for floats, `numpy` for arrays.
    vapour_pressure_pa
        Vapour pressure [Pa], 0.01 Pa to 0.9 of the barometric pressure.
    pressure_pa
        Barometric pressure [Pa].
    over
        Plane below the ice point: `ICE` gives the frost point there, `WATER` the dew point.
    is_enhanced
        Whether the enhancement factor applies.

    Returns
    -------
    Number
        Temperature [°C].

    Source: hyland_wexler_1983, greenspan_1976, magnus_sonntag_1990.

    >>> round(saturation_temperature_c(math, vapour_pressure_pa=1169.4, pressure_pa=101325.0,
    ...                                over=HumidityOver.ICE, is_enhanced=False), 2)
    9.27
    """
    ice_point_c = _ice_point_c(is_enhanced)
    below = vapour_pressure_pa < _ice_point_pressure_pa(maths, pressure_pa, is_enhanced)
    curve = pick(maths, below, _curve_below(over), _WATER)
    factor = pick(maths, below, _factor_below(over), _FACTOR_WATER)
    wanted = maths.log(vapour_pressure_pa)
    pure = vapour_pressure_pa / _TYPICAL_ENHANCEMENT if is_enhanced else vapour_pressure_pa
    temperature = magnus_temperature_c(maths, vapour_pressure_pa=pure, over=over, below=below)
    for _ in range(2):
        kelvin = temperature + ICE_POINT_K
        log_pressure = _log_pure_pressure(maths, kelvin, curve)
        slope = _slope(kelvin, curve)
        if is_enhanced:
            over_pressure = pressure_pa / maths.exp(log_pressure)
            log_pressure = log_pressure + _log_enhancement(
                maths, temperature, over_pressure, factor
            )
        temperature = temperature + (wanted - log_pressure) / slope
    if maths is math:
        return min(temperature, ice_point_c) if below else max(temperature, ice_point_c)
    array: Any = maths
    return array.where(
        below,
        array.minimum(temperature, ice_point_c),
        array.maximum(temperature, ice_point_c),
    )


def log_pressure_slope(maths: Maths, *, temperature_c: Number, over: HumidityOver) -> Number:
    """Relative rise of the saturation pressure with temperature, ``d(ln e)/dT``.

    That of pure water: the enhancement factor changes it by less than 0.1 %.

    Parameters
    ----------
    maths
        `math` for floats, `numpy` for arrays.
    temperature_c
        Temperature [°C], −100 to 100.
    over
        Plane below the ice point.

    Returns
    -------
    Number
        Slope [1/K].

    Source: hyland_wexler_1983.

    >>> round(log_pressure_slope(math, temperature_c=20.0, over=HumidityOver.ICE), 4)
    0.0619
    """
    curve = pick(maths, temperature_c < ICE_POINT_C, _curve_below(over), _WATER)
    return _slope(temperature_c + ICE_POINT_K, curve)


def magnus_temperature_c(
    maths: Maths, *, vapour_pressure_pa: Number, over: HumidityOver, below: Number
) -> Number:
    """Dew or frost point by Magnus's inverse, near enough to start Newton's method.

    ``T = m2 ln(e/611.2) / (m1 − ln(e/611.2))``, within 0.1 K from −40 to 50 °C.

    Parameters
    ----------
    maths
        `math` for floats, `numpy` for arrays.
    vapour_pressure_pa
        Vapour pressure [Pa].
    over
        Plane below the ice point.
    below
        Whether the answer lies below the ice point (a bool, or an array of them).

    Returns
    -------
    Number
        Temperature [°C].

    Source: magnus_sonntag_1990.

    >>> round(magnus_temperature_c(math, vapour_pressure_pa=1169.4, over=HumidityOver.ICE,
    ...                            below=False), 1)
    9.3
    """
    lower = _MAGNUS_ICE if over is HumidityOver.ICE else _MAGNUS_WATER
    steepness, offset_k = pick(maths, below, lower, _MAGNUS_WATER)
    rise = maths.log(vapour_pressure_pa) - _MAGNUS_LOG_PRESSURE
    return offset_k * rise / (steepness - rise)


def pick(
    maths: Maths, below: Number, lower: tuple[float, ...], upper: tuple[float, ...]
) -> tuple[Number, ...]:
    """Coefficients of the lower curve where `below` is true, of the upper one elsewhere.

    Parameters
    ----------
    maths
        `math` for floats, `numpy` for arrays.
    below
        A bool, or an array of them.
    lower
        Coefficients of the curve below the ice point.
    upper
        Coefficients of the curve above it.

    Returns
    -------
    tuple[Number, ...]
        One of the two tuples, or arrays chosen element by element.

    >>> pick(math, True, (1.0, 2.0), (3.0, 4.0))
    (1.0, 2.0)
    """
    if lower is upper:
        return upper
    if maths is math:
        return lower if below else upper
    array: Any = maths
    if not array.any(below):
        return upper
    if array.all(below):
        return lower
    return tuple(array.where(below, low, high) for low, high in zip(lower, upper, strict=True))


def _curve_below(over: HumidityOver) -> tuple[float, ...]:
    return _ICE if over is HumidityOver.ICE else _WATER


def _factor_below(over: HumidityOver) -> tuple[float, ...]:
    return _FACTOR_ICE if over is HumidityOver.ICE else _FACTOR_SUPERCOOLED


def _log_pure_pressure(maths: Maths, kelvin: Number, curve: tuple[Number, ...]) -> Number:
    c0, c1, c2, c3, c4, c5, c6 = curve
    return (
        c0 / kelvin
        + c1
        + kelvin * (c2 + kelvin * (c3 + kelvin * (c4 + kelvin * c5)))
        + c6 * maths.log(kelvin)
    )


def _slope(kelvin: Number, curve: tuple[Number, ...]) -> Number:
    """Derivative of `_log_pure_pressure` by temperature."""
    c0, _, c2, c3, c4, c5, c6 = curve
    return (c6 - c0 / kelvin) / kelvin + (
        c2 + kelvin * (2.0 * c3 + kelvin * (3.0 * c4 + kelvin * 4.0 * c5))
    )


def _log_enhancement(
    maths: Maths, temperature_c: Number, over_pressure: Number, factor: tuple[Number, ...]
) -> Number:
    """Natural logarithm of the enhancement factor; `over_pressure` is p/e of the pure curve."""
    a0, a1, a2, a3, b0, b1, b2, b3 = factor
    t = temperature_c
    first = a0 + t * (a1 + t * (a2 + t * a3))
    second = maths.exp(b0 + t * (b1 + t * (b2 + t * b3)))
    return first * (1.0 - 1.0 / over_pressure) + second * (over_pressure - 1.0)


def _ice_point_c(is_enhanced: bool) -> float:
    """Where ice gives way to water: under air, or alone with its vapour."""
    return ICE_POINT_C if is_enhanced else TRIPLE_POINT_C


def _ice_point_pressure_pa(maths: Maths, pressure_pa: Number, is_enhanced: bool) -> Number:
    if not is_enhanced:
        return _PURE_TRIPLE_POINT_PA
    return _PURE_ICE_POINT_PA * maths.exp(
        _log_enhancement(maths, ICE_POINT_C, pressure_pa / _PURE_ICE_POINT_PA, _FACTOR_WATER)
    )


_PURE_TRIPLE_POINT_PA: float = math.exp(
    _log_pure_pressure(math, ICE_POINT_K + TRIPLE_POINT_C, _WATER)
)
_PURE_ICE_POINT_PA: float = math.exp(_log_pure_pressure(math, ICE_POINT_K, _WATER))
