"""Every unit of measure against pint 0.24 or later, built there from its base units.

pint is asked only for base and coherent units (foot, minute, pound, …), never for the trade's own
spellings: it reads 'cfm' as centifermi, a length, and knows no 'fpm'. Sound levels, turns and plain
numbers have nothing to convert.
"""

from __future__ import annotations

import pint
import pytest

from ventwright.quantities import Dimension, UnitOfMeasure, from_si, to_si, units_of

REGISTRY = pint.UnitRegistry(cache_folder=None)

SI = {
    Dimension.FLOW: "m**3/s",
    Dimension.MASS_FLOW: "kg/s",
    Dimension.PRESSURE: "Pa",
    Dimension.TEMPERATURE: "degC",
    Dimension.TEMPERATURE_DIFF: "delta_degC",
    Dimension.VELOCITY: "m/s",
    Dimension.LENGTH: "m",
    Dimension.AREA: "m**2",
    Dimension.VOLUME: "m**3",
    Dimension.TIME: "s",
    Dimension.POWER: "W",
    Dimension.FAN_EFFICACY: "m**3/s/W",
    Dimension.SPECIFIC_FAN_POWER: "W*s/m**3",
    Dimension.FRACTION: "dimensionless",
    Dimension.HUMIDITY_RATIO: "kg/kg",
    Dimension.MOISTURE_RATE: "kg/s",
    Dimension.HEAT_RATE: "W",
    Dimension.DENSITY: "kg/m**3",
    Dimension.FLOW_FACTOR: "m**3/s/Pa**0.5",
    Dimension.ANGLE: "degree",
    Dimension.ENTHALPY: "J/kg",
    Dimension.U_VALUE: "W/m**2/delta_degC",
    Dimension.R_VALUE: "m**2*delta_degC/W",
    Dimension.CONCENTRATION: "dimensionless",
    Dimension.ENERGY: "J",
    Dimension.AIR_CHANGE_RATE: "1/hour",
}

# The conventional column, written out so that the convention is seen: 1000 kg/m³, standard gravity.
WATER_COLUMN = "*1000*kg/m**3*standard_gravity"
INCH_WC = f"(inch{WATER_COLUMN})"
DRAINED = "*998.2*kg/m**3"
BTU = "(1055.05585262*J)"  # International Table

BASE = {
    "cfm": "foot**3/minute",
    "L/s": "liter/second",
    "m³/h": "meter**3/hour",
    "m³/s": "meter**3/second",
    "m³/min": "meter**3/minute",
    "L/min": "liter/minute",
    "kg/s": "kg/second",
    "kg/h": "kg/hour",
    "lb/h": "pound/hour",
    "lb/min": "pound/minute",
    "lb/day": "pound/day",
    "g/s": "gram/second",
    "g/h": "gram/hour",
    "g/min": "gram/minute",
    "kg/day": "kg/day",
    "pints/day": f"US_pint/day{DRAINED}",
    "L/day": f"liter/day{DRAINED}",
    "Pa": "pascal",
    "in. w.c.": INCH_WC,
    "hPa": "hectopascal",
    "kPa": "kilopascal",
    "mbar": "millibar",
    "mm w.c.": f"millimeter{WATER_COLUMN}",
    "m/s": "meter/second",
    "fpm": "foot/minute",
    "ft/s": "foot/second",
    "km/h": "kilometer/hour",
    "mph": "mile/hour",
    "m": "meter",
    "mm": "millimeter",
    "in": "inch",
    "ft": "foot",
    "cm": "centimeter",
    "m²": "meter**2",
    "ft²": "foot**2",
    "in²": "inch**2",
    "cm²": "centimeter**2",
    "mm²": "millimeter**2",
    "m³": "meter**3",
    "ft³": "foot**3",
    "L": "liter",
    "mL": "milliliter",
    "pint": "US_pint",
    "s": "second",
    "min": "minute",
    "h": "hour",
    "day": "day",
    "W": "watt",
    "kW": "kilowatt",
    "cfm/W": "foot**3/minute/watt",
    "(L/s)/W": "liter/second/watt",
    "(m³/h)/W": "meter**3/hour/watt",
    "(m³/s)/W": "meter**3/second/watt",
    "W/cfm": "watt*minute/foot**3",
    "W/(L/s)": "watt*second/liter",
    "W/(m³/h)": "watt*hour/meter**3",
    "Wh/m³": "watt*hour/meter**3",
    "W/(m³/s)": "watt*second/meter**3",
    "%": "percent",
    "frac": "dimensionless",
    "gr/lb": "grain/pound",
    "g/kg": "gram/kilogram",
    "kg/kg": "kilogram/kilogram",
    "lb/lb": "pound/pound",
    "Btu/h": f"{BTU}/hour",
    "kg/m³": "kilogram/meter**3",
    "lb/ft³": "pound/foot**3",
    "L/s/√Pa": "liter/second/pascal**0.5",
    "m³/h/√Pa": "meter**3/hour/pascal**0.5",
    "cfm/√Pa": "foot**3/minute/pascal**0.5",
    "cfm/√in. w.c.": f"foot**3/minute/{INCH_WC}**0.5",
    "m³/s/√Pa": "meter**3/second/pascal**0.5",
    "°": "degree",
    "kJ/kg": "kilojoule/kilogram",
    "J/kg": "joule/kilogram",
    "W/(m²·K)": "watt/meter**2/delta_degC",
    "Btu/(h·ft²·°F)": f"{BTU}/hour/foot**2/delta_degF",
    "m²·K/W": "meter**2*delta_degC/watt",
    "h·ft²·°F/Btu": f"hour*foot**2*delta_degF/{BTU}",
    "ppm": "ppm",
    "ppb": "1e-9*dimensionless",
    "kWh": "kilowatt_hour",
    "Wh": "watt_hour",
    "J": "joule",
    "MJ": "megajoule",
    "Btu": BTU,
    "1/h": "1/hour",
    "1/s": "1/second",
}
LEVELS = {"°C": "degC", "°F": "degF", "K": "kelvin"}
DIFFERENCES = {"K": "delta_degC", "°F": "delta_degF"}

COMPARED = [measure for dimension in SI for measure in units_of(dimension)]


def test_nothing_that_converts_is_left_out() -> None:
    left_out = set(Dimension) - set(SI)
    assert left_out == {Dimension.TURNS, Dimension.SOUND_LEVEL, Dimension.COUNT}
    assert all(u.factor == 1.0 for dimension in left_out for u in units_of(dimension))


@pytest.mark.parametrize("measure", COMPARED, ids=lambda m: f"{m.dimension}-{m.symbol}")
@pytest.mark.parametrize("value", [1.0, 37.5, 118.0])
def test_to_si_and_back(measure: UnitOfMeasure, value: float) -> None:
    if measure.dimension is Dimension.TEMPERATURE:
        there = REGISTRY.Quantity(value, LEVELS[measure.symbol])
    else:
        names = DIFFERENCES if measure.dimension is Dimension.TEMPERATURE_DIFF else BASE
        there = value * REGISTRY.parse_expression(names[measure.symbol])
        if not isinstance(there, pint.Quantity):
            there = REGISTRY.Quantity(there, "dimensionless")
    expected = there.to(SI[measure.dimension]).magnitude
    assert to_si(value, unit_of_measure=measure) == pytest.approx(expected, rel=2e-12)
    assert from_si(expected, unit_of_measure=measure) == pytest.approx(value, rel=2e-12)


def test_pint_measures_inches_of_water_by_the_same_convention() -> None:
    (inch_wc,) = (u for u in units_of(Dimension.PRESSURE) if u.symbol == "in. w.c.")
    assert inch_wc.factor == pytest.approx(REGISTRY.Quantity(1, "inH2O").to("Pa").m, rel=1e-9)
