"""Moist air as an ideal mixture: humidity ratio, enthalpy, volume and density.

Plain arithmetic, so one text serves floats and arrays.
"""

from __future__ import annotations

from ventwright.air.saturation import Number
from ventwright.quantities.constants import ICE_POINT_K

DRY_AIR_GAS_CONSTANT_J_KG_K = 287.042
"""Source: ashrae_hof_2017_ch1."""
MASS_RATIO_WATER_TO_AIR = 0.621945
"""Molar mass of water over that of dry air. Source: ashrae_hof_2017_ch1."""
# Heat capacities and latent heat of the linear enthalpy formula. Source: ashrae_hof_2017_ch1.
DRY_AIR_HEAT_CAPACITY_J_KG_K = 1006.0
VAPOUR_HEAT_CAPACITY_J_KG_K = 1860.0
VAPOUR_ENTHALPY_AT_ZERO_J_KG = 2_501_000.0


def humidity_ratio_kg_kg(*, vapour_pressure_pa: Number, pressure_pa: Number) -> Number:
    """Mass of water vapour per mass of dry air, ``W = 0.621945 e / (p − e)``.

    Parameters
    ----------
    vapour_pressure_pa
        Vapour pressure [Pa], below the barometric pressure.
    pressure_pa
        Barometric pressure [Pa].

    Returns
    -------
    Number
        Humidity ratio [kg of water per kg of dry air].

    Source: ashrae_hof_2017_ch1 equation 20.

    >>> round(humidity_ratio_kg_kg(vapour_pressure_pa=1169.4, pressure_pa=101325.0), 6)
    0.007262
    """
    return MASS_RATIO_WATER_TO_AIR * vapour_pressure_pa / (pressure_pa - vapour_pressure_pa)


def vapour_pressure_pa(*, humidity_ratio_kg_kg: Number, pressure_pa: Number) -> Number:
    """Vapour pressure of air with a given humidity ratio, ``e = p W / (0.621945 + W)``.

    Parameters
    ----------
    humidity_ratio_kg_kg
        Humidity ratio [kg of water per kg of dry air].
    pressure_pa
        Barometric pressure [Pa].

    Returns
    -------
    Number
        Vapour pressure [Pa].

    Source: ashrae_hof_2017_ch1 equation 36.

    >>> round(vapour_pressure_pa(humidity_ratio_kg_kg=0.0072617, pressure_pa=101325.0), 1)
    1169.4
    """
    return pressure_pa * humidity_ratio_kg_kg / (MASS_RATIO_WATER_TO_AIR + humidity_ratio_kg_kg)


def enthalpy_j_kg(*, temperature_c: Number, humidity_ratio_kg_kg: Number) -> Number:
    """Enthalpy per kilogram of dry air, ``h = 1006 T + W (2 501 000 + 1860 T)``.

    Zero is dry air at 0 °C and liquid water at 0 °C.

    Parameters
    ----------
    temperature_c
        Dry-bulb temperature [°C].
    humidity_ratio_kg_kg
        Humidity ratio [kg of water per kg of dry air].

    Returns
    -------
    Number
        Specific enthalpy [J per kg of dry air].

    Source: ashrae_hof_2017_ch1 equation 30.

    >>> round(enthalpy_j_kg(temperature_c=30.0, humidity_ratio_kg_kg=0.02))
    81316
    """
    return DRY_AIR_HEAT_CAPACITY_J_KG_K * temperature_c + humidity_ratio_kg_kg * (
        VAPOUR_ENTHALPY_AT_ZERO_J_KG + VAPOUR_HEAT_CAPACITY_J_KG_K * temperature_c
    )


def specific_volume_m3_kg(
    *, temperature_c: Number, humidity_ratio_kg_kg: Number, pressure_pa: Number
) -> Number:
    """Volume of moist air that holds one kilogram of dry air.

    ``v = 287.042 T (1 + W / 0.621945) / p`` with T in kelvin.

    Parameters
    ----------
    temperature_c
        Dry-bulb temperature [°C].
    humidity_ratio_kg_kg
        Humidity ratio [kg of water per kg of dry air].
    pressure_pa
        Barometric pressure [Pa].

    Returns
    -------
    Number
        Specific volume [m³ per kg of dry air].

    Source: ashrae_hof_2017_ch1 equation 26.

    >>> round(specific_volume_m3_kg(temperature_c=30.0, humidity_ratio_kg_kg=0.02,
    ...                             pressure_pa=95461.0), 5)
    0.94086
    """
    return (
        DRY_AIR_GAS_CONSTANT_J_KG_K
        * (temperature_c + ICE_POINT_K)
        * (1.0 + humidity_ratio_kg_kg / MASS_RATIO_WATER_TO_AIR)
        / pressure_pa
    )


def density_kg_m3(
    *, temperature_c: Number, humidity_ratio_kg_kg: Number, pressure_pa: Number
) -> Number:
    """Mass of moist air, dry air and vapour together, per volume: ``(1 + W) / v``.

    Parameters
    ----------
    temperature_c
        Dry-bulb temperature [°C].
    humidity_ratio_kg_kg
        Humidity ratio [kg of water per kg of dry air].
    pressure_pa
        Barometric pressure [Pa].

    Returns
    -------
    Number
        Density [kg/m³].

    Source: ashrae_hof_2017_ch1 equation 11.

    >>> round(density_kg_m3(temperature_c=30.0, humidity_ratio_kg_kg=0.02, pressure_pa=95461.0), 4)
    1.0841
    """
    return (1.0 + humidity_ratio_kg_kg) / specific_volume_m3_kg(
        temperature_c=temperature_c,
        humidity_ratio_kg_kg=humidity_ratio_kg_kg,
        pressure_pa=pressure_pa,
    )
