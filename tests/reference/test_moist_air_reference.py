"""Moist air against published tables and independent calculations, row by row."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any

import pytest

from tests.reference import shelves
from ventwright.air import (
    MoistAir,
    kernels,
    moist_air_from,
    pressure_from_altitude_pa,
    sensitivities,
)
from ventwright.quantities.words import HumidityOver

ICE, WATER = HumidityOver.ICE, HumidityOver.WATER
BTU_LB_J_KG = 2326.0
FT3_LB_M3_KG = 0.3048**3 / 0.45359237
FOOT_M = 0.3048
PSI_PA = 6894.757293168
# The handbook's IP table counts from 0 °F: 17.78 K of dry air, and liquid water at 32 °F as in SI.
DRY_AIR_ENTHALPY_AT_ZERO_F_J_KG = 1006.0 * -160.0 / 9.0


def celsius(fahrenheit: float) -> float:
    return (fahrenheit - 32.0) / 1.8


def in_si(inputs: dict[str, Any]) -> dict[str, Any]:
    """Replace Fahrenheit and feet by Celsius and metres; make the plane an enum."""
    converted: dict[str, Any] = {}
    for name, value in inputs.items():
        if name.endswith("_f"):
            converted[name[:-2] + "_c"] = celsius(value)
        elif name.endswith("_ft"):
            converted[name[:-3] + "_m"] = value * FOOT_M
        elif name == "humidity_over":
            converted[name] = HumidityOver(value)
        else:
            converted[name] = value
    return converted


def pure(temperature_c: float, over: HumidityOver = ICE) -> float:
    return float(
        kernels.saturation_pressure_pa(
            math, temperature_c=temperature_c, pressure_pa=1e5, over=over, is_enhanced=False
        )
    )


def saturated(temperature_c: float, pressure_pa: float) -> tuple[float, float]:
    """Humidity ratio and enthalpy of saturated air, also beyond the range of `moist_air_from`."""
    vapour = kernels.saturation_pressure_pa(
        math, temperature_c=temperature_c, pressure_pa=pressure_pa, over=ICE
    )
    ratio = kernels.humidity_ratio_kg_kg(vapour_pressure_pa=vapour, pressure_pa=pressure_pa)
    return ratio, kernels.enthalpy_j_kg(temperature_c=temperature_c, humidity_ratio_kg_kg=ratio)


def btu_lb(enthalpy_j_kg: float) -> float:
    return (enthalpy_j_kg - DRY_AIR_ENTHALPY_AT_ZERO_F_J_KG) / BTU_LB_J_KG


FUNCTIONS: dict[str, Callable[..., float]] = {
    "pure_saturation_pressure_pa": pure,
    "pure_saturation_temperature_c": lambda vapour_pressure_pa: kernels.saturation_temperature_c(
        math,
        vapour_pressure_pa=vapour_pressure_pa,
        pressure_pa=2.0 * vapour_pressure_pa,
        over=ICE,
        is_enhanced=False,
    ),
    "ice_to_water_ratio": lambda temperature_c: pure(temperature_c) / pure(temperature_c, WATER),
    "saturated.humidity_ratio_kg_kg": lambda **given: saturated(**given)[0],
    "saturated.enthalpy_j_kg": lambda **given: saturated(**given)[1],
    "saturated.enthalpy_btu_lb": lambda **given: btu_lb(saturated(**given)[1]),
    "enthalpy_j_kg": kernels.enthalpy_j_kg,
    "specific_volume_m3_kg": kernels.specific_volume_m3_kg,
    "specific_volume_ft3_lb": lambda **given: kernels.specific_volume_m3_kg(**given) / FT3_LB_M3_KG,
    "density_kg_m3": kernels.density_kg_m3,
    "humidity_ratio_kg_kg": kernels.humidity_ratio_kg_kg,
    "humidity_ratio_from_wet_bulb": lambda **given: kernels.humidity_ratio_from_wet_bulb_kg_kg(
        math, **given, over=ICE, is_enhanced=False
    ),
    "pressure_from_altitude_pa": pressure_from_altitude_pa,
    "pressure_from_altitude_psi": lambda altitude_m: pressure_from_altitude_pa(altitude_m) / PSI_PA,
}


def of_state(property_name: str, inputs: dict[str, Any]) -> float:
    air = moist_air_from(**inputs)
    if property_name == "dew_point_f":
        return 32.0 + 1.8 * air.dew_point_c
    if property_name == "enthalpy_btu_lb":
        return btu_lb(air.enthalpy_j_kg)
    if property_name == "specific_volume_ft3_lb":
        return air.specific_volume_m3_kg / FT3_LB_M3_KG
    return float(getattr(air, property_name))


def slope(path: str, inputs: dict[str, Any]) -> float:
    quantity, by = path.split(".")
    slopes = getattr(sensitivities(moist_air_from(**inputs)), quantity)
    if by == "by_rel_humidity_per_percent":
        return float(slopes.by_rel_humidity_per_frac) / 100.0
    return float(getattr(slopes, by))


@pytest.mark.parametrize("row", shelves.rows("moist_air.csv"), ids=str)
def test_moist_air(row: shelves.Row) -> None:
    inputs = in_si(row.inputs)
    function = row["function"]
    if function.startswith("state."):
        actual = of_state(function.removeprefix("state."), inputs)
    elif function.startswith("slope."):
        actual = slope(function.removeprefix("slope."), inputs)
    else:
        actual = FUNCTIONS[function](**inputs)
    row.check(actual)


@pytest.mark.parametrize("row", shelves.rows("psychro.csv"), ids=str)
def test_states_of_two_libraries(row: shelves.Row) -> None:
    """Ideal gas as psychrolib, to its printed digits; enhanced as CoolProp's real gas."""
    for library, is_enhanced in (("psychrolib", False), ("coolprop", True)):
        air = moist_air_from(
            pressure_pa=row.number("p_Pa"),
            temperature_c=row.number("t_C"),
            rel_humidity_frac=row.number("rh"),
            humidity_over=ICE,
            is_enhanced=is_enhanced,
        )
        for column, (actual, absolute, relative) in tolerances(air, is_enhanced).items():
            expected = row.number(f"{column}_{library}")
            assert actual == pytest.approx(expected, abs=absolute, rel=relative), (library, column)


def tolerances(air: MoistAir, is_enhanced: bool) -> dict[str, tuple[float, float, float]]:
    """Value, absolute and relative tolerance for each column of the wide table.

    Against the ideal-gas library half a printed digit; the wet bulb there is bisected to 0.001 K.
    Against the real gas 0.1 % of humidity, and what its own definitions differ by.
    """
    found = {
        "dewpoint_C": air.dew_point_c,
        "W_kg_kg": air.humidity_ratio_kg_kg,
        "wetbulb_C": air.wet_bulb_c,
        "h_kJ_kgda": air.enthalpy_j_kg / 1000.0,
        "rho_kg_m3": air.density_kg_m3,
        "v_m3_kgda": air.specific_volume_m3_kg,
        "pw_Pa": air.vapour_pressure_pa,
    }
    real = (
        (0.003, 0.0),
        (0.0, 1e-3),
        (0.018, 0.0),
        (0.15, 0.0),
        (0.0, 1e-3),
        (0.0, 1e-3),
        (0.0, 1e-3),
    )
    ideal = (
        (6e-4, 0.0),
        (6e-8, 0.0),
        (0.0015, 0.0),
        (6e-4, 0.0),
        (6e-6, 0.0),
        (6e-6, 0.0),
        (6e-3, 1e-5),
    )
    allowed = real if is_enhanced else ideal
    return {
        column: (value, *limits)
        for (column, value), limits in zip(found.items(), allowed, strict=True)
    }
