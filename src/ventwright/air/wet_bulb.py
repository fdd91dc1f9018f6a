"""The thermodynamic wet bulb: humidity ratio from it, and it from the humidity ratio.

Equations of adiabatic saturation, over liquid water and over ice, as in the handbook. `math` or
`numpy` comes first, as in the other kernels.
"""

from __future__ import annotations

from ventwright.air import mixture, saturation
from ventwright.air.mixture import (
    DRY_AIR_HEAT_CAPACITY_J_KG_K,
    MASS_RATIO_WATER_TO_AIR,
    VAPOUR_HEAT_CAPACITY_J_KG_K,
)
from ventwright.air.saturation import Maths, Number, pick
from ventwright.quantities.words import HumidityOver

# Latent heat at 0 °C [J/kg], its fall per kelvin, heat capacity of the water or ice [J/(kg K)].
# Source: ashrae_hof_2017_ch1 equations 33 and 35.
_WATER_BULB = (2_501_000.0, 2326.0, 4186.0)
_ICE_BULB = (2_830_000.0, 240.0, 2100.0)
_LEAST_LATENT_HEAT_J_KG = 2.28e6
_NEWTON_STEPS = 6


def humidity_ratio_from_wet_bulb_kg_kg(
    maths: Maths,
    *,
    temperature_c: Number,
    wet_bulb_c: Number,
    pressure_pa: Number,
    over: HumidityOver,
    is_enhanced: bool = True,
) -> Number:
    """Humidity ratio from dry and wet bulb by the balance of adiabatic saturation.

    ``W = ((L0 − b t*) W_s(t*) − 1006 (t − t*)) / (L0 + 1860 t − c t*)`` with L0, b, c of liquid
    water, or of ice where the wet bulb is below 0 °C and `over` is `ICE`.

    Parameters
    ----------
    maths
        `math` for floats, `numpy` for arrays.
    temperature_c
        Dry-bulb temperature t [°C].
    wet_bulb_c
        Wet-bulb temperature t* [°C], at or below the dry bulb.
    pressure_pa
        Barometric pressure [Pa].
    over
        What covers the bulb below 0 °C.
    is_enhanced
        Whether the enhancement factor applies to saturation at the bulb.

    Returns
    -------
    Number
        Humidity ratio [kg of water per kg of dry air]; negative where no air is that dry.

    Source: ashrae_hof_2017_ch1 equations 33 and 35.

    >>> import math
    >>> round(humidity_ratio_from_wet_bulb_kg_kg(math, temperature_c=40.0, wet_bulb_c=20.0,
    ...       pressure_pa=101325.0, over=HumidityOver.ICE), 4)
    0.0065
    """
    bulb = pick(maths, wet_bulb_c < 0.0, _bulb_below(over), _WATER_BULB)
    saturated = _saturated_humidity_ratio(maths, wet_bulb_c, pressure_pa, over, is_enhanced)
    return _balance(temperature_c, wet_bulb_c, saturated, bulb)


def wet_bulb_c(
    maths: Maths,
    *,
    temperature_c: Number,
    humidity_ratio_kg_kg: Number,
    pressure_pa: Number,
    over: HumidityOver,
    is_enhanced: bool = True,
) -> Number:
    """Wet-bulb temperature of air of a given humidity ratio.

    Newton's method from a bound above the answer; the balance is convex there, so the steps come
    down to it without passing it. Over ice the balance jumps at 0 °C, where a wet and a frozen bulb
    differ by up to a kelvin: the wet bulb is taken wherever a liquid one is possible.

    Parameters
    ----------
    maths
        `math` for floats, `numpy` for arrays.
    temperature_c
        Dry-bulb temperature [°C].
    humidity_ratio_kg_kg
        Humidity ratio [kg of water per kg of dry air], at most saturated.
    pressure_pa
        Barometric pressure [Pa].
    over
        What covers the bulb below 0 °C.
    is_enhanced
        Whether the enhancement factor applies to saturation at the bulb.

    Returns
    -------
    Number
        Wet-bulb temperature [°C].

    Source: ashrae_hof_2017_ch1 equations 33 and 35.

    >>> import math
    >>> round(wet_bulb_c(math, temperature_c=20.0, humidity_ratio_kg_kg=0.0072617,
    ...       pressure_pa=101325.0, over=HumidityOver.ICE, is_enhanced=False), 2)
    13.78
    """
    at_zero = humidity_ratio_from_wet_bulb_kg_kg(
        maths,
        temperature_c=temperature_c,
        wet_bulb_c=0.0,
        pressure_pa=pressure_pa,
        over=over,
        is_enhanced=is_enhanced,
    )
    below = humidity_ratio_kg_kg < at_zero
    bulb = pick(maths, below, _bulb_below(over), _WATER_BULB)
    found = _bound_above(
        maths, temperature_c, humidity_ratio_kg_kg, pressure_pa, over=over, below=below
    )
    for _ in range(_NEWTON_STEPS):
        saturated = _saturated_humidity_ratio(maths, found, pressure_pa, over, is_enhanced)
        balance = _balance(temperature_c, found, saturated, bulb)
        latent, fall, capacity = bulb
        rise = (
            saturated
            * (1.0 + saturated / MASS_RATIO_WATER_TO_AIR)
            * saturation.log_pressure_slope(maths, temperature_c=found, over=over)
        )
        slope = (
            (latent - fall * found) * rise
            - fall * saturated
            + DRY_AIR_HEAT_CAPACITY_J_KG_K
            + capacity * balance
        ) / _denominator(temperature_c, found, bulb)
        found = found + (humidity_ratio_kg_kg - balance) / slope
    return found


def temperature_from_wet_bulb_c(
    maths: Maths,
    *,
    wet_bulb_c: Number,
    humidity_ratio_kg_kg: Number,
    pressure_pa: Number,
    over: HumidityOver,
    is_enhanced: bool = True,
) -> Number:
    """Dry bulb of air whose wet bulb and humidity ratio are known.

    The balance of `humidity_ratio_from_wet_bulb_kg_kg`, which is linear in the dry bulb:
    ``t = ((L0 − b t*) W_s(t*) + 1006 t* − W (L0 − c t*)) / (1006 + 1860 W)``.

    Parameters
    ----------
    maths
        `math` for floats, `numpy` for arrays.
    wet_bulb_c
        Wet-bulb temperature t* [°C].
    humidity_ratio_kg_kg
        Humidity ratio W [kg of water per kg of dry air], at most saturated at the wet bulb.
    pressure_pa
        Barometric pressure [Pa].
    over
        What covers the bulb below 0 °C.
    is_enhanced
        Whether the enhancement factor applies to saturation at the bulb.

    Returns
    -------
    Number
        Dry-bulb temperature [°C]; below the wet bulb where the humidity is above saturation.

    Source: ashrae_hof_2017_ch1 equations 33 and 35.

    >>> import math
    >>> round(temperature_from_wet_bulb_c(math, wet_bulb_c=20.0, humidity_ratio_kg_kg=0.0065,
    ...       pressure_pa=101325.0, over=HumidityOver.ICE))
    40
    """
    latent, fall, capacity = pick(maths, wet_bulb_c < 0.0, _bulb_below(over), _WATER_BULB)
    saturated = _saturated_humidity_ratio(maths, wet_bulb_c, pressure_pa, over, is_enhanced)
    return (
        (latent - fall * wet_bulb_c) * saturated
        + DRY_AIR_HEAT_CAPACITY_J_KG_K * wet_bulb_c
        - humidity_ratio_kg_kg * (latent - capacity * wet_bulb_c)
    ) / (DRY_AIR_HEAT_CAPACITY_J_KG_K + VAPOUR_HEAT_CAPACITY_J_KG_K * humidity_ratio_kg_kg)


def _bulb_below(over: HumidityOver) -> tuple[float, float, float]:
    return _ICE_BULB if over is HumidityOver.ICE else _WATER_BULB


def _saturated_humidity_ratio(
    maths: Maths, temperature_c: Number, pressure_pa: Number, over: HumidityOver, is_enhanced: bool
) -> Number:
    return mixture.humidity_ratio_kg_kg(
        vapour_pressure_pa=saturation.saturation_pressure_pa(
            maths,
            temperature_c=temperature_c,
            pressure_pa=pressure_pa,
            over=over,
            is_enhanced=is_enhanced,
        ),
        pressure_pa=pressure_pa,
    )


def _denominator(dry_c: Number, wet_c: Number, bulb: tuple[Number, ...]) -> Number:
    return bulb[0] + VAPOUR_HEAT_CAPACITY_J_KG_K * dry_c - bulb[2] * wet_c


def _balance(dry_c: Number, wet_c: Number, saturated: Number, bulb: tuple[Number, ...]) -> Number:
    warmed = DRY_AIR_HEAT_CAPACITY_J_KG_K * (dry_c - wet_c)
    return ((bulb[0] - bulb[1] * wet_c) * saturated - warmed) / _denominator(dry_c, wet_c, bulb)


def _bound_above(
    maths: Maths,
    dry_c: Number,
    humidity_ratio: Number,
    pressure_pa: Number,
    *,
    over: HumidityOver,
    below: Number,
) -> Number:
    """Temperature a little above the wet bulb: all the heat down to the dew point, as vapour."""
    vapour = mixture.vapour_pressure_pa(
        humidity_ratio_kg_kg=humidity_ratio, pressure_pa=pressure_pa
    )
    dew = saturation.magnus_temperature_c(maths, vapour_pressure_pa=vapour, over=over, below=below)
    heat = (DRY_AIR_HEAT_CAPACITY_J_KG_K + VAPOUR_HEAT_CAPACITY_J_KG_K * humidity_ratio) * (
        dry_c - dew
    )
    vapour = mixture.vapour_pressure_pa(
        humidity_ratio_kg_kg=humidity_ratio + heat / _LEAST_LATENT_HEAT_J_KG,
        pressure_pa=pressure_pa,
    )
    return saturation.magnus_temperature_c(maths, vapour_pressure_pa=vapour, over=over, below=below)
