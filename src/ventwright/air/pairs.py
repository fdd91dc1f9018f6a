"""Making a state of moist air: what may be given, what is refused."""

from __future__ import annotations

from collections.abc import Mapping

from ventwright.air.errors import air_state_error
from ventwright.air.solvers import Setting, solve_pair
from ventwright.air.states import (
    HIGHEST_HUMIDITY_RATIO_KG_KG,
    HIGHEST_PRESSURE_PA,
    HIGHEST_TEMPERATURE_C,
    LOWEST_DEW_POINT_C,
    LOWEST_HUMIDITY_RATIO_KG_KG,
    LOWEST_PRESSURE_PA,
    LOWEST_WET_BULB_C,
    SATURATION_ROUNDING_FRAC,
    MoistAir,
    check_range,
)
from ventwright.quantities.words import HumidityOver

_PLANE_MATTERS = ("rel_humidity_frac", "dew_point_c", "wet_bulb_c")
_SAME_THING = (
    "both say how much vapour there is and neither says how warm the air is; "
    "give the dry bulb with one of them"
)
_UNDETERMINED: Mapping[frozenset[str], str] = {
    frozenset(("dew_point_c", "humidity_ratio_kg_kg")): _SAME_THING,
    frozenset(("wet_bulb_c", "enthalpy_j_kg")): (
        "lines of equal wet bulb and equal enthalpy are almost parallel, so a rounded pair fits "
        "very different states; give the dry bulb with one of them"
    ),
}


def moist_air_from(  # noqa: PLR0913 - six properties of which two are given, and the setting
    *,
    pressure_pa: float,
    temperature_c: float | None = None,
    rel_humidity_frac: float | None = None,
    dew_point_c: float | None = None,
    wet_bulb_c: float | None = None,
    humidity_ratio_kg_kg: float | None = None,
    enthalpy_j_kg: float | None = None,
    humidity_over: HumidityOver | None = None,
    is_enhanced: bool = True,
) -> MoistAir:
    """State of moist air from a pressure and any two of six properties.

    Dew point with humidity ratio and wet bulb with enthalpy don't fix a state and are refused. Of
    air below 0 °C the relative humidity, and below 0 °C a dew point or a wet bulb, mean different
    things over water and over ice (10 % of the vapour at −10 °C), so there `humidity_over` has to
    be said. Where it doesn't matter and is left out it is `ICE`, so that a dew point below 0 °C
    asked of the state is the frost point, as in tables. Up to 0.2 % above saturation is read as
    saturated; more is refused.

    With the enhancement factor the humidity ratio is within 0.04 % of a real-gas calculation from
    −40 to 50 °C and 50 to 110 kPa. Enthalpy and volume are those of ideal gases: saturated enthalpy
    within 0.1 % of the published table from 0 to 50 °C, volume up to 0.13 % high in the cold and
    0.05 % high in rooms.

    Parameters
    ----------
    pressure_pa
        Barometric pressure [Pa], 50 000 to 110 000.
    temperature_c
        Dry-bulb temperature [°C], −40 to 90.
    rel_humidity_frac
        Relative humidity [0..1].
    dew_point_c
        Dew point over `humidity_over` [°C].
    wet_bulb_c
        Thermodynamic wet bulb, bearing `humidity_over` below 0 °C [°C].
    humidity_ratio_kg_kg
        Humidity ratio [kg of water per kg of dry air], 1e-7 to 1.5.
    enthalpy_j_kg
        Enthalpy [J per kg of dry air].
    humidity_over
        Plane of the humidity readings below 0 °C.
    is_enhanced
        Whether saturation carries the enhancement factor.

    Returns
    -------
    MoistAir
        The state.

    Raises
    ------
    AirStateError
        Not exactly two properties, a pair that fixes no state, out of range, above saturation, or
        a humidity below 0 °C whose plane isn't said.

    Source: ashrae_hof_2017_ch1, hyland_wexler_1983, greenspan_1976.

    >>> air = moist_air_from(pressure_pa=101325.0, temperature_c=20.0, rel_humidity_frac=0.5)
    >>> round(air.humidity_ratio_kg_kg, 5), round(air.dew_point_c, 2), round(air.enthalpy_j_kg)
    (0.00729, 9.27, 38626)
    """
    check_range("pressure_pa", pressure_pa, LOWEST_PRESSURE_PA, HIGHEST_PRESSURE_PA)
    given = {
        name: value
        for name, value in (
            ("temperature_c", temperature_c),
            ("rel_humidity_frac", rel_humidity_frac),
            ("dew_point_c", dew_point_c),
            ("wet_bulb_c", wet_bulb_c),
            ("humidity_ratio_kg_kg", humidity_ratio_kg_kg),
            ("enthalpy_j_kg", enthalpy_j_kg),
        )
        if value is not None
    }
    _check_given(given)
    setting = Setting(
        pressure_pa=pressure_pa,
        over=humidity_over or HumidityOver.ICE,
        is_enhanced=is_enhanced,
    )
    air = solve_pair(given, setting)
    if humidity_over is None:
        _check_plane(given, air)
    return air


def dew_point_c_from(
    *,
    temperature_c: float,
    rel_humidity_frac: float,
    pressure_pa: float,
    humidity_over: HumidityOver | None = None,
) -> float:
    """Dew point of air whose temperature and relative humidity are known.

    Parameters
    ----------
    temperature_c
        Dry-bulb temperature [°C], −40 to 90.
    rel_humidity_frac
        Relative humidity [0..1].
    pressure_pa
        Barometric pressure [Pa]; a change of 10 kPa moves the dew point by less than 0.001 K.
    humidity_over
        Plane of the relative humidity below 0 °C and of the answer below 0 °C, ice if left out.

    Returns
    -------
    float
        Dew point [°C].

    Raises
    ------
    AirStateError
        As `moist_air_from`.

    Source: hyland_wexler_1983, greenspan_1976.

    >>> round(dew_point_c_from(temperature_c=21.0, rel_humidity_frac=0.4, pressure_pa=101325.0), 1)
    6.9
    """
    return moist_air_from(
        pressure_pa=pressure_pa,
        temperature_c=temperature_c,
        rel_humidity_frac=rel_humidity_frac,
        humidity_over=humidity_over,
    ).dew_point_c


def density_kg_m3_from(
    *,
    temperature_c: float,
    rel_humidity_frac: float,
    pressure_pa: float,
    humidity_over: HumidityOver | None = None,
) -> float:
    """Density of moist air whose temperature and relative humidity are known.

    Humidity matters little: from dry to saturated at 20 °C it lowers the density by 0.9 %.

    Parameters
    ----------
    temperature_c
        Dry-bulb temperature [°C], −40 to 90.
    rel_humidity_frac
        Relative humidity [0..1].
    pressure_pa
        Barometric pressure [Pa].
    humidity_over
        Plane of the relative humidity below 0 °C.

    Returns
    -------
    float
        Density [kg/m³].

    Raises
    ------
    AirStateError
        As `moist_air_from`.

    Source: ashrae_hof_2017_ch1 equation 11.

    >>> round(density_kg_m3_from(temperature_c=20.0, rel_humidity_frac=0.5,
    ...                          pressure_pa=101325.0), 4)
    1.1989
    """
    return moist_air_from(
        pressure_pa=pressure_pa,
        temperature_c=temperature_c,
        rel_humidity_frac=rel_humidity_frac,
        humidity_over=humidity_over,
    ).density_kg_m3


def _check_given(given: Mapping[str, float]) -> None:
    names = ", ".join(given) or "none"
    if len(given) != 2:
        raise air_state_error(
            "air-state-inputs",
            "moist_air_from",
            f"two properties of the air are needed, {len(given)} given ({names})",
            "give two of temperature, relative humidity, dew point, wet bulb, humidity ratio, "
            "enthalpy",
        )
    reason = _UNDETERMINED.get(frozenset(given))
    if reason:
        raise air_state_error("air-state-pair", names, f"{names} don't fix a state", reason)
    rel = given.get("rel_humidity_frac")
    if rel is not None and not 0.0 < rel <= 1.0 + SATURATION_ROUNDING_FRAC:
        raise air_state_error(
            "air-out-of-range",
            "rel_humidity_frac",
            f"relative humidity {rel:g} is not a fraction above 0 and up to 1",
            "write 65 % as 0.65; for dry air give a small humidity ratio",
        )
    ratio = given.get("humidity_ratio_kg_kg")
    if ratio is not None:
        check_range(
            "humidity_ratio_kg_kg",
            ratio,
            LOWEST_HUMIDITY_RATIO_KG_KG,
            HIGHEST_HUMIDITY_RATIO_KG_KG,
        )
    for name, lowest in (("dew_point_c", LOWEST_DEW_POINT_C), ("wet_bulb_c", LOWEST_WET_BULB_C)):
        if name in given:
            check_range(name, given[name], lowest, HIGHEST_TEMPERATURE_C)
    enthalpy = given.get("enthalpy_j_kg")
    if enthalpy is not None:
        check_range("enthalpy_j_kg", enthalpy, -41_000.0, 4.1e6)


def _check_plane(given: Mapping[str, float], air: MoistAir) -> None:
    """Refuse a humidity below freezing that may be meant over water or over ice."""
    readings = {**given}
    if "rel_humidity_frac" in readings:
        readings["rel_humidity_frac"] = air.temperature_c
    for name in _PLANE_MATTERS:
        if name in readings and readings[name] < 0.0:
            raise air_state_error(
                "air-humidity-plane",
                name,
                f"{name} at {readings[name]:.3g} °C differs between water and ice",
                "say humidity_over: probes for relative humidity are usually meant over water, "
                "tables and chilled mirrors with frost over ice",
            )
