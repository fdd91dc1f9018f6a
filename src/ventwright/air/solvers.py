"""From two properties to a state: one small solver for each pair."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping

from ventwright.air import kernels
from ventwright.air.errors import air_state_error
from ventwright.air.states import (
    HIGHEST_HUMIDITY_RATIO_KG_KG,
    HIGHEST_TEMPERATURE_C,
    LOWEST_HUMIDITY_RATIO_KG_KG,
    LOWEST_TEMPERATURE_C,
    MoistAir,
    check_range,
    state_at,
)
from ventwright.quantities.records import dataclass
from ventwright.quantities.words import HumidityOver


@dataclass(frozen=True, slots=True, kw_only=True)
class Setting:
    """What stays the same while a pair is solved, and the equations under it.

    Parameters
    ----------
    pressure_pa
        Barometric pressure [Pa].
    over
        Plane below freezing.
    is_enhanced
        Whether saturation carries the enhancement factor.
    """

    pressure_pa: float
    over: HumidityOver
    is_enhanced: bool

    def state(
        self, temperature_c: float, *, vapour_pa: float | None = None, rel: float | None = None
    ) -> MoistAir:
        """State at a temperature [°C], from a vapour pressure [Pa] or a relative humidity."""
        return state_at(
            temperature_c=temperature_c,
            pressure_pa=self.pressure_pa,
            humidity_over=self.over,
            is_enhanced=self.is_enhanced,
            vapour_pressure_pa=vapour_pa,
            rel_humidity_frac=rel,
        )

    def saturation_pa(self, temperature_c: float) -> float:
        """Saturation vapour pressure [Pa]."""
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
        """Temperature [°C] at which a vapour pressure saturates."""
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
        """Vapour pressure [Pa] of a humidity ratio."""
        return float(
            kernels.vapour_pressure_pa(
                humidity_ratio_kg_kg=humidity_ratio, pressure_pa=self.pressure_pa
            )
        )

    def humidity_ratio(self, vapour_pa: float) -> float:
        """Humidity ratio [kg/kg] of a vapour pressure."""
        return float(
            kernels.humidity_ratio_kg_kg(vapour_pressure_pa=vapour_pa, pressure_pa=self.pressure_pa)
        )

    def humidity_ratio_at_bulb(self, dry_c: float, wet_c: float) -> float:
        """Humidity ratio [kg/kg] of a dry and a wet bulb."""
        return float(
            kernels.humidity_ratio_from_wet_bulb_kg_kg(
                math,
                temperature_c=dry_c,
                wet_bulb_c=wet_c,
                pressure_pa=self.pressure_pa,
                over=self.over,
                is_enhanced=self.is_enhanced,
            )
        )

    def dry_at_bulb(self, wet_c: float, humidity_ratio: float) -> float:
        """Dry bulb [°C] of a wet bulb and a humidity ratio."""
        return float(
            kernels.temperature_from_wet_bulb_c(
                math,
                wet_bulb_c=wet_c,
                humidity_ratio_kg_kg=humidity_ratio,
                pressure_pa=self.pressure_pa,
                over=self.over,
                is_enhanced=self.is_enhanced,
            )
        )


def solve_pair(given: Mapping[str, float], setting: Setting) -> MoistAir:
    """State from two of the six properties, by their names in `moist_air_from`.

    Parameters
    ----------
    given
        Two properties that fix a state.
    setting
        Pressure, plane and enhancement.

    Returns
    -------
    MoistAir
        The state.

    Raises
    ------
    AirStateError
        Out of range or above saturation.
    """
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


def _vapour_alone(given: Mapping[str, float], setting: Setting) -> float | None:
    """Vapour pressure where one property gives it without the dry bulb."""
    if "dew_point_c" in given:
        return setting.saturation_pa(given["dew_point_c"])
    if "humidity_ratio_kg_kg" in given:
        return setting.vapour_pa(given["humidity_ratio_kg_kg"])
    return None


def _vapour_at(dry: float, given: Mapping[str, float], setting: Setting) -> float:
    """Vapour pressure from the property given beside the dry bulb."""
    vapour = _vapour_alone(given, setting)
    if vapour is not None:
        return vapour
    check_range("temperature_c", dry, LOWEST_TEMPERATURE_C, HIGHEST_TEMPERATURE_C)
    if "wet_bulb_c" in given:
        where = "wet_bulb_c"
        if given[where] > dry:
            # Above the dry bulb saturation is exceeded; let the check there say by how much.
            return setting.saturation_pa(given[where])
        humidity_ratio = setting.humidity_ratio_at_bulb(dry, given[where])
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


def _with_vapour(vapour: float, given: Mapping[str, float], setting: Setting) -> MoistAir:
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
    dry = setting.dry_at_bulb(wet, humidity_ratio)
    # Below the wet bulb the air is above saturation: the check at the bulb says by how much.
    return setting.state(max(dry, wet), vapour_pa=vapour)


def _from_humidity_and_bulb(rel: float, wet: float, setting: Setting) -> MoistAir:
    if rel >= 1.0:
        return setting.state(wet, rel=rel)

    def excess(dry_c: float) -> float:
        humidity_ratio = setting.humidity_ratio(rel * setting.saturation_pa(dry_c))
        return humidity_ratio - setting.humidity_ratio_at_bulb(dry_c, wet)

    lowest = max(wet, LOWEST_TEMPERATURE_C)
    highest = max(lowest, _warmest(rel, setting))
    return setting.state(
        _root(excess, lowest=lowest, highest=highest, what="humidity and wet bulb"), rel=rel
    )


def _from_humidity_and_enthalpy(rel: float, enthalpy: float, setting: Setting) -> MoistAir:
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


def _warmest(rel: float, setting: Setting) -> float:
    """Highest temperature to search: that of the range, or where the air is mostly vapour."""
    most = setting.vapour_pa(HIGHEST_HUMIDITY_RATIO_KG_KG)
    if rel * setting.saturation_pa(HIGHEST_TEMPERATURE_C) <= most:
        return HIGHEST_TEMPERATURE_C
    return setting.saturation_c(most / rel)


def _root(excess: Callable[[float], float], *, lowest: float, highest: float, what: str) -> float:
    """Where a rising function crosses zero: regula falsi in its Illinois form, inside a bracket.

    Ends within a part in 1e13 of the function's span; a hundred steps are several times what the
    steepest of these functions needs.
    """
    low, high = lowest, highest
    at_low, at_high = excess(low), excess(high)
    if at_low > 0.0 or at_high < 0.0:
        raise air_state_error(
            "air-out-of-range",
            what.replace(" ", "-"),
            f"no air between {lowest:g} and {highest:g} °C has this {what}",
            "check both readings",
        )
    close = 1e-13 * (at_high - at_low)
    last_side = 0
    for _ in range(100):
        found = high - at_high * (high - low) / (at_high - at_low) if high > low else low
        at_found = excess(found)
        if abs(at_found) <= close:
            return found
        side = 1 if at_found > 0.0 else -1
        if side > 0:
            high, at_high = found, at_found
            at_low = at_low / 2.0 if side == last_side else at_low
        else:
            low, at_low = found, at_found
            at_high = at_high / 2.0 if side == last_side else at_high
        last_side = side
    raise ArithmeticError(f"no root of {what} within a hundred steps")
