"""From any two properties to a state: one small solver for each pair."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping

from ventwright.air import kernels, wet_bulb
from ventwright.air.errors import air_state_error
from ventwright.air.states import (
    HIGHEST_HUMIDITY_RATIO_KG_KG,
    HIGHEST_PRESSURE_PA,
    HIGHEST_TEMPERATURE_C,
    LOWEST_DEW_POINT_C,
    LOWEST_HUMIDITY_RATIO_KG_KG,
    LOWEST_PRESSURE_PA,
    LOWEST_TEMPERATURE_C,
    SATURATION_ROUNDING_FRAC,
    MoistAir,
    check_range,
    state_at,
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
    −40 to 50 °C and 50 to 110 kPa. Enthalpy and volume are those of ideal gases: enthalpy within
    0.12 % of the published saturation table from 0 to 50 °C, volume within 0.1 %.

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
    setting = _Setting(pressure_pa, humidity_over or HumidityOver.ICE, is_enhanced)
    air = _solve(given, setting)
    if humidity_over is None:
        _check_plane(given, air)
    return air


class _Setting:
    """What stays the same while a pair is solved: pressure, plane, enhancement."""

    __slots__ = ("is_enhanced", "over", "pressure_pa")

    def __init__(self, pressure_pa: float, over: HumidityOver, is_enhanced: bool) -> None:
        self.pressure_pa = pressure_pa
        self.over = over
        self.is_enhanced = is_enhanced

    def state(
        self, temperature_c: float, *, vapour_pa: float | None = None, rel: float | None = None
    ) -> MoistAir:
        return state_at(
            temperature_c=temperature_c,
            pressure_pa=self.pressure_pa,
            humidity_over=self.over,
            is_enhanced=self.is_enhanced,
            vapour_pressure_pa=vapour_pa,
            rel_humidity_frac=rel,
        )

    def saturation_pa(self, temperature_c: float) -> float:
        return float(
            kernels.saturation_pressure_pa(
                math,
                temperature_c=temperature_c,
                pressure_pa=self.pressure_pa,
                over=self.over,
                is_enhanced=self.is_enhanced,
            )
        )

    def saturation_c(self, vapour_pa: float) -> float:
        return float(
            kernels.saturation_temperature_c(
                math,
                vapour_pressure_pa=vapour_pa,
                pressure_pa=self.pressure_pa,
                over=self.over,
                is_enhanced=self.is_enhanced,
            )
        )

    def vapour_pa(self, humidity_ratio: float) -> float:
        return float(
            kernels.vapour_pressure_pa(
                humidity_ratio_kg_kg=humidity_ratio, pressure_pa=self.pressure_pa
            )
        )

    def humidity_ratio(self, vapour_pa: float) -> float:
        return float(
            kernels.humidity_ratio_kg_kg(vapour_pressure_pa=vapour_pa, pressure_pa=self.pressure_pa)
        )

    def humidity_ratio_at_bulb(self, dry_c: float, wet_c: float) -> float:
        return float(
            wet_bulb.humidity_ratio_from_wet_bulb_kg_kg(
                math,
                temperature_c=dry_c,
                wet_bulb_c=wet_c,
                pressure_pa=self.pressure_pa,
                over=self.over,
                is_enhanced=self.is_enhanced,
            )
        )


def _solve(given: Mapping[str, float], setting: _Setting) -> MoistAir:
    dry = given.get("temperature_c")
    rel = given.get("rel_humidity_frac")
    if dry is not None:
        if rel is not None:
            return setting.state(dry, rel=rel)
        return setting.state(dry, vapour_pa=_vapour_at(dry, given, setting))
    vapour = _vapour_alone(given, setting)
    if vapour is not None:
        return _with_vapour(vapour, given, setting)
    assert rel is not None  # every pair without dry bulb, dew point and humidity ratio has it
    if "wet_bulb_c" in given:
        return _from_humidity_and_bulb(rel, given["wet_bulb_c"], setting)
    return _from_humidity_and_enthalpy(rel, given["enthalpy_j_kg"], setting)


def _vapour_alone(given: Mapping[str, float], setting: _Setting) -> float | None:
    """Vapour pressure where one property gives it without the dry bulb."""
    if "dew_point_c" in given:
        return setting.saturation_pa(given["dew_point_c"])
    if "humidity_ratio_kg_kg" in given:
        return setting.vapour_pa(given["humidity_ratio_kg_kg"])
    return None


def _vapour_at(dry: float, given: Mapping[str, float], setting: _Setting) -> float:
    """Vapour pressure from the property given beside the dry bulb."""
    vapour = _vapour_alone(given, setting)
    if vapour is not None:
        return vapour
    check_range("temperature_c", dry, LOWEST_TEMPERATURE_C, HIGHEST_TEMPERATURE_C)
    if "wet_bulb_c" in given:
        where = "wet_bulb_c"
        humidity_ratio = setting.humidity_ratio_at_bulb(dry, min(given[where], dry))
        if given[where] > dry:
            # Above the dry bulb saturation is exceeded; let the check there say by how much.
            return setting.saturation_pa(given[where])
    else:
        where = "enthalpy_j_kg"
        dry_part = kernels.enthalpy_j_kg(temperature_c=dry, humidity_ratio_kg_kg=0.0)
        per_vapour = kernels.enthalpy_j_kg(temperature_c=dry, humidity_ratio_kg_kg=1.0) - dry_part
        humidity_ratio = (given[where] - dry_part) / per_vapour
    if humidity_ratio < LOWEST_HUMIDITY_RATIO_KG_KG:
        raise air_state_error(
            "air-out-of-range",
            where,
            f"{where} = {given[where]:g} at {dry:g} °C is lower than dry air has",
            "check both readings",
        )
    return setting.vapour_pa(humidity_ratio)


def _with_vapour(vapour: float, given: Mapping[str, float], setting: _Setting) -> MoistAir:
    """State whose vapour pressure is known and whose dry bulb isn't."""
    if "rel_humidity_frac" in given:
        dry = setting.saturation_c(vapour / given["rel_humidity_frac"])
        return setting.state(dry, vapour_pa=vapour)
    humidity_ratio = setting.humidity_ratio(vapour)
    if "enthalpy_j_kg" in given:
        at_zero = kernels.enthalpy_j_kg(temperature_c=0.0, humidity_ratio_kg_kg=humidity_ratio)
        per_kelvin = (
            kernels.enthalpy_j_kg(temperature_c=1.0, humidity_ratio_kg_kg=humidity_ratio) - at_zero
        )
        return setting.state((given["enthalpy_j_kg"] - at_zero) / per_kelvin, vapour_pa=vapour)
    wet = given["wet_bulb_c"]
    check_range("wet_bulb_c", wet, LOWEST_TEMPERATURE_C, HIGHEST_TEMPERATURE_C)
    if vapour >= setting.saturation_pa(wet):
        return setting.state(wet, vapour_pa=vapour)
    dry = _root(
        lambda dry_c: humidity_ratio - setting.humidity_ratio_at_bulb(dry_c, wet),
        lowest=wet,
        highest=HIGHEST_TEMPERATURE_C,
        what="wet bulb and vapour",
    )
    return setting.state(dry, vapour_pa=vapour)


def _from_humidity_and_bulb(rel: float, wet: float, setting: _Setting) -> MoistAir:
    check_range("wet_bulb_c", wet, LOWEST_TEMPERATURE_C, HIGHEST_TEMPERATURE_C)
    if rel >= 1.0:
        return setting.state(wet, rel=rel)

    def excess(dry_c: float) -> float:
        humidity_ratio = setting.humidity_ratio(rel * setting.saturation_pa(dry_c))
        return humidity_ratio - setting.humidity_ratio_at_bulb(dry_c, wet)

    highest = max(wet, _warmest(rel, setting))
    return setting.state(
        _root(excess, lowest=wet, highest=highest, what="humidity and wet bulb"), rel=rel
    )


def _from_humidity_and_enthalpy(rel: float, enthalpy: float, setting: _Setting) -> MoistAir:
    def excess(dry_c: float) -> float:
        humidity_ratio = setting.humidity_ratio(rel * setting.saturation_pa(dry_c))
        found = kernels.enthalpy_j_kg(temperature_c=dry_c, humidity_ratio_kg_kg=humidity_ratio)
        return float(found) - enthalpy

    dry = _root(
        excess,
        lowest=LOWEST_TEMPERATURE_C,
        highest=_warmest(rel, setting),
        what="humidity and enthalpy",
    )
    return setting.state(dry, rel=rel)


def _warmest(rel: float, setting: _Setting) -> float:
    """Highest temperature to search: that of the range, or where the air is mostly vapour."""
    most = setting.vapour_pa(HIGHEST_HUMIDITY_RATIO_KG_KG)
    if rel * setting.saturation_pa(HIGHEST_TEMPERATURE_C) <= most:
        return HIGHEST_TEMPERATURE_C
    return setting.saturation_c(most / rel)


def _root(excess: Callable[[float], float], *, lowest: float, highest: float, what: str) -> float:
    """Where a rising function crosses zero: regula falsi in its Illinois form.

    It keeps the bracket, and can't fail on functions as smooth as these; a hundred steps would be
    bisection's worth many times over.
    """
    low, high = lowest, highest
    at_low, at_high = excess(low), excess(high)
    if at_low > 0.0 or at_high < 0.0:
        raise air_state_error(
            "air-out-of-range",
            what.replace(" ", "-"),
            f"no air between {lowest:g} and {highest:g} °C has this {what} together",
            "check both readings",
        )
    found = low
    for _ in range(100):
        if at_high == at_low or high - low < 1e-11:
            break
        found = high - at_high * (high - low) / (at_high - at_low)
        at_found = excess(found)
        if at_found == 0.0 or abs(at_found) < 1e-13 * max(abs(at_low), abs(at_high), 1e-3):
            break
        if at_found > 0.0:
            high, at_high, at_low = found, at_found, at_low / 2.0
        else:
            low, at_low, at_high = found, at_found, at_high / 2.0
    return found


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
    for name in ("dew_point_c", "wet_bulb_c"):
        if name in given:
            check_range(name, given[name], LOWEST_DEW_POINT_C, HIGHEST_TEMPERATURE_C)
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
