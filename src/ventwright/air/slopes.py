"""How a state's properties move with what a probe and a barometer read."""

from __future__ import annotations

import math

from ventwright.air import kernels
from ventwright.air.mixture import (
    DRY_AIR_HEAT_CAPACITY_J_KG_K,
    MASS_RATIO_WATER_TO_AIR,
    VAPOUR_ENTHALPY_AT_ZERO_J_KG,
    VAPOUR_HEAT_CAPACITY_J_KG_K,
)
from ventwright.air.states import MoistAir
from ventwright.quantities.constants import ICE_POINT_K
from ventwright.quantities.records import dataclass
from ventwright.quantities.words import HumidityOver


@dataclass(frozen=True, slots=True, kw_only=True)
class Slopes:
    """Partial derivatives of one property.

    Parameters
    ----------
    by_temperature_per_k
        Per kelvin of dry bulb, relative humidity and pressure held [property/K].
    by_rel_humidity_per_frac
        Per unit fraction of relative humidity, 0.01 of it per percent [property].
    by_pressure_per_pa
        Per pascal of barometric pressure, temperature and relative humidity held [property/Pa].
    """

    by_temperature_per_k: float
    by_rel_humidity_per_frac: float
    by_pressure_per_pa: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Sensitivities:
    """Slopes of the properties of one state with temperature, relative humidity and pressure.

    Parameters
    ----------
    dew_point
        Of the dew point over the state's plane [°C].
    frost_point
        Of the dew point over ice below 0 °C [°C].
    humidity_ratio
        Of the humidity ratio [kg/kg].
    enthalpy
        Of the enthalpy [J per kg of dry air].
    specific_volume
        Of the volume of moist air [m³ per kg of dry air].
    density
        Of the density of moist air [kg/m³].
    """

    dew_point: Slopes
    frost_point: Slopes
    humidity_ratio: Slopes
    enthalpy: Slopes
    specific_volume: Slopes
    density: Slopes


def sensitivities(air: MoistAir) -> Sensitivities:
    """Partial derivatives at a state known by temperature and relative humidity.

    Analytic, from ``e = φ e_s(T)`` with ``s = d(ln e_s)/dT``: ``∂T_d/∂T = s(T)/s(T_d)``,
    ``∂T_d/∂φ = 1/(φ s(T_d))``, ``∂W/∂e = 0.621945 p/(p − e)²``, the rest by the chain rule. The
    enhancement factor's own small slopes are left out, which changes the slopes by less than
    0.4 % (the dew point's with pressure, under 1e-6 K/Pa, is given as zero).

    Parameters
    ----------
    air
        The state.

    Returns
    -------
    Sensitivities
        All slopes.

    Source: hyland_wexler_1983, ashrae_hof_2017_ch1.

    >>> from ventwright.air import moist_air_from
    >>> room = moist_air_from(pressure_pa=101325.0, temperature_c=20.0, rel_humidity_frac=0.5)
    >>> slopes = sensitivities(room).dew_point
    >>> round(slopes.by_temperature_per_k, 3), round(0.01 * slopes.by_rel_humidity_per_frac, 3)
    (0.919, 0.297)
    """
    vapour = _vapour_slopes(air)
    humidity_ratio = _humidity_ratio_slopes(air, vapour)
    volume = _specific_volume_slopes(air, humidity_ratio)
    return Sensitivities(
        dew_point=_saturation_temperature_slopes(air, vapour, air.humidity_over),
        frost_point=_saturation_temperature_slopes(air, vapour, HumidityOver.ICE),
        humidity_ratio=humidity_ratio,
        enthalpy=_enthalpy_slopes(air, humidity_ratio),
        specific_volume=volume,
        density=_density_slopes(air, humidity_ratio, volume),
    )


def _vapour_slopes(air: MoistAir) -> Slopes:
    steepness = kernels.log_pressure_slope(
        math, temperature_c=air.temperature_c, over=air.humidity_over
    )
    return Slopes(
        by_temperature_per_k=air.vapour_pressure_pa * steepness,
        by_rel_humidity_per_frac=air.saturation_pressure_pa,
        by_pressure_per_pa=0.0,
    )


def _saturation_temperature_slopes(air: MoistAir, vapour: Slopes, over: HumidityOver) -> Slopes:
    point = air.dew_point_c if over is air.humidity_over else air.frost_point_c
    steepness = kernels.log_pressure_slope(math, temperature_c=point, over=over)
    per_pa = 1.0 / (air.vapour_pressure_pa * steepness)
    return Slopes(
        by_temperature_per_k=per_pa * vapour.by_temperature_per_k,
        by_rel_humidity_per_frac=per_pa * vapour.by_rel_humidity_per_frac,
        by_pressure_per_pa=0.0,
    )


def _humidity_ratio_slopes(air: MoistAir, vapour: Slopes) -> Slopes:
    dry_pressure_pa = air.pressure_pa - air.vapour_pressure_pa
    per_pa = MASS_RATIO_WATER_TO_AIR * air.pressure_pa / dry_pressure_pa**2
    return Slopes(
        by_temperature_per_k=per_pa * vapour.by_temperature_per_k,
        by_rel_humidity_per_frac=per_pa * vapour.by_rel_humidity_per_frac,
        by_pressure_per_pa=-air.humidity_ratio_kg_kg / dry_pressure_pa,
    )


def _enthalpy_slopes(air: MoistAir, ratio: Slopes) -> Slopes:
    heat_capacity = (
        DRY_AIR_HEAT_CAPACITY_J_KG_K + VAPOUR_HEAT_CAPACITY_J_KG_K * air.humidity_ratio_kg_kg
    )
    vapour_j_kg = VAPOUR_ENTHALPY_AT_ZERO_J_KG + VAPOUR_HEAT_CAPACITY_J_KG_K * air.temperature_c
    return Slopes(
        by_temperature_per_k=heat_capacity + vapour_j_kg * ratio.by_temperature_per_k,
        by_rel_humidity_per_frac=vapour_j_kg * ratio.by_rel_humidity_per_frac,
        by_pressure_per_pa=vapour_j_kg * ratio.by_pressure_per_pa,
    )


def _specific_volume_slopes(air: MoistAir, ratio: Slopes) -> Slopes:
    volume = air.specific_volume_m3_kg
    per_ratio = volume / (MASS_RATIO_WATER_TO_AIR + air.humidity_ratio_kg_kg)
    return Slopes(
        by_temperature_per_k=volume / (air.temperature_c + ICE_POINT_K)
        + per_ratio * ratio.by_temperature_per_k,
        by_rel_humidity_per_frac=per_ratio * ratio.by_rel_humidity_per_frac,
        by_pressure_per_pa=-volume / air.pressure_pa + per_ratio * ratio.by_pressure_per_pa,
    )


def _density_slopes(air: MoistAir, ratio: Slopes, volume: Slopes) -> Slopes:
    """Of ``(1 + W) / v``."""

    def slope(ratio_slope: float, volume_slope: float) -> float:
        return (ratio_slope - air.density_kg_m3 * volume_slope) / air.specific_volume_m3_kg

    return Slopes(
        by_temperature_per_k=slope(ratio.by_temperature_per_k, volume.by_temperature_per_k),
        by_rel_humidity_per_frac=slope(
            ratio.by_rel_humidity_per_frac, volume.by_rel_humidity_per_frac
        ),
        by_pressure_per_pa=slope(ratio.by_pressure_per_pa, volume.by_pressure_per_pa),
    )
