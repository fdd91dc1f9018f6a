"""The closed table of units of measure: every one we read, its exact factor and its spellings.

Factors are built from exact definitions (inch 25.4 mm, pound 0.45359237 kg, the International
Table Btu 1055.05585262 J, US liquid pint 0.473176473 L) by arithmetic that stands in the table.
Two of them rest on a convention and not on a definition:

- a column of water counts with 1000 kg/m³ and standard gravity ("conventional" inch of water,
  249.08891 Pa). Real water gives less: 249.082 Pa at 4 °C, 248.84 Pa at 60 °F, so a gauge marked
  for 60 °F reads 0.1 % apart;
- drained water turns from volume to mass with 998.2 kg/m³, its density at 20 °C.

Btu/lb is left out on purpose: charts in it count enthalpy from 0 °F and ours from 0 °C, so a factor
alone would be 18 kJ/kg wrong.

Source: nist_sp811, exact_definitions, water_density
"""

from __future__ import annotations

from functools import cache

from ventwright.quantities.constants import (
    CONVENTIONAL_WATER_DENSITY_KG_M3,
    ICE_POINT_K,
    STANDARD_GRAVITY_M_S2,
    WATER_DENSITY_20C_KG_M3,
)
from ventwright.quantities.dimension import Dimension
from ventwright.quantities.records import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class UnitOfMeasure:
    """One unit of measure of the closed table: SI value = (value − offset) · factor.

    Parameters
    ----------
    symbol
        How we write it.
    dimension
        What kind of quantity it measures.
    factor
        SI value of one step of this scale.
    offset
        Reading on this scale where the SI scale stands at zero; other than 0 only for
        temperatures, e.g. 32 for °F.
    aliases
        Other spellings that are read; spaces, dots and, where nothing is confused, case are
        ignored on top of these.
    """

    symbol: str
    dimension: Dimension
    factor: float
    offset: float = 0.0
    aliases: tuple[str, ...] = ()


_IN = 0.0254
_FT = 0.3048
_LB = 0.45359237
_GRAIN_PER_LB = 7000.0
_BTU = 1055.05585262
_PINT = 0.473176473e-3
_MIN, _H, _DAY = 60.0, 3600.0, 86400.0
_L = 1e-3
_CFM = _FT**3 / _MIN
_RANKINE = 5.0 / 9.0
_WATER_COLUMN = CONVENTIONAL_WATER_DENSITY_KG_M3 * STANDARD_GRAVITY_M_S2
_IN_WC = _IN * _WATER_COLUMN

_Row = tuple[str, float, str]
"""Symbol, factor, aliases separated by semicolons."""

_SIMPLE: dict[Dimension, tuple[_Row, ...]] = {
    Dimension.FLOW: (
        ("cfm", _CFM, "ft³/min; cf/m; cu ft/min; acfm; ft³·min⁻¹"),
        ("L/s", _L, "lps; L/sec; L·s⁻¹; ltr/s; litre/s; liter/s; dm³/s"),
        ("m³/h", 1 / _H, "cmh; m³/hr; cbm/h; m³·h⁻¹"),
        ("m³/s", 1.0, "cms; m³·s⁻¹"),
        ("m³/min", 1 / _MIN, "cmm"),
        ("L/min", _L / _MIN, "lpm"),
    ),
    Dimension.MASS_FLOW: (
        ("kg/s", 1.0, "kg·s⁻¹"),
        ("kg/h", 1 / _H, "kg/hr"),
        ("lb/h", _LB / _H, "lb/hr; lbs/h; lbs/hr; pph"),
        ("lb/min", _LB / _MIN, "lbs/min"),
        ("g/s", 1e-3, ""),
    ),
    Dimension.PRESSURE: (
        ("Pa", 1.0, "pascal; pascals"),
        (
            "in. w.c.",
            _IN_WC,
            'inwc; "wc; iwc; in w.g.; "wg; iwg; in wtr; inH2O; "H2O; inch w.c.; inches w.c.; '
            "inch w.g.; inches w.g.; inch of water; inches of water; in. of water; in aq",
        ),
        ("hPa", 100.0, ""),
        ("kPa", 1000.0, ""),
        ("mbar", 100.0, "mb; millibar"),
        ("mm w.c.", 1e-3 * _WATER_COLUMN, "mmH2O; mm w.g.; mmws; mm of water"),
    ),
    Dimension.TEMPERATURE_DIFF: (
        ("K", 1.0, "kelvin; °C; C; degC; deg C; celsius"),
        ("°F", _RANKINE, "F; degF; deg F; fahrenheit; °R; R; degR"),
    ),
    Dimension.VELOCITY: (
        ("m/s", 1.0, "mps; m·s⁻¹"),
        ("fpm", _FT / _MIN, "ft/min; ft·min⁻¹; feet/min"),
        ("ft/s", _FT, "fps"),
        ("km/h", 1000 / _H, "kph; kmh"),
        ("mph", 5280 * _FT / _H, "mi/h"),
    ),
    Dimension.LENGTH: (
        ("m", 1.0, "meter; metre; meters; metres"),
        ("mm", 1e-3, ""),
        ("in", _IN, '"; inch; inches'),
        ("ft", _FT, "'; feet; foot"),
        ("cm", 1e-2, ""),
    ),
    Dimension.AREA: (
        ("m²", 1.0, "sqm; sq m"),
        ("ft²", _FT**2, "sq ft; sqft; sf; square feet; square foot"),
        ("in²", _IN**2, "sq in; sqin; square inch; square inches"),
        ("cm²", 1e-4, "sq cm"),
        ("mm²", 1e-6, "sq mm"),
    ),
    Dimension.VOLUME: (
        ("m³", 1.0, "cbm; cu m; cubic metres; cubic meters"),
        ("ft³", _FT**3, "cu ft; cuft; cubic feet; cubic foot"),
        ("L", _L, "ltr; litre; liter; litres; liters; dm³"),
        ("mL", 1e-6, "cm³"),
        ("pint", _PINT, "pt; pints; US pint; US pints"),
    ),
    Dimension.TIME: (
        ("s", 1.0, "sec; second; seconds"),
        ("min", _MIN, "minute; minutes"),
        ("h", _H, "hr; hrs; hour; hours"),
        ("day", _DAY, "d; days"),
    ),
    Dimension.POWER: (
        ("W", 1.0, "watt; watts"),
        ("kW", 1000.0, ""),
    ),
    Dimension.FAN_EFFICACY: (
        ("cfm/W", _CFM, "cfm/watt; (cfm)/W"),
        ("(L/s)/W", _L, "L/s/W; L/(s·W)"),
        ("(m³/h)/W", 1 / _H, "m³/h/W; m³/(h·W); m³/Wh"),
        ("(m³/s)/W", 1.0, "m³/s/W; m³/(s·W)"),
    ),
    Dimension.SPECIFIC_FAN_POWER: (
        ("W/cfm", 1 / _CFM, "W/(cfm); watt/cfm; watts/cfm"),
        ("W/(L/s)", 1 / _L, "W/L/s; W·s/L; W/lps; kW/(m³/s); kW/m³/s"),
        ("W/(m³/h)", _H, "W/m³/h"),
        ("Wh/m³", _H, "W·h/m³"),
        ("W/(m³/s)", 1.0, "W/m³/s; W·s/m³"),
    ),
    Dimension.FRACTION: (
        ("%", 0.01, "percent; per cent; pct; % RH; % r.h."),
        ("frac", 1.0, "fraction"),
    ),
    Dimension.HUMIDITY_RATIO: (
        ("gr/lb", 1 / _GRAIN_PER_LB, "grains/lb; gr/lbs; grain/lb; grains per pound; gpp"),
        ("g/kg", 1e-3, ""),
        ("kg/kg", 1.0, ""),
        ("lb/lb", 1.0, ""),
    ),
    Dimension.MOISTURE_RATE: (
        (
            "pints/day",
            _PINT * WATER_DENSITY_20C_KG_M3 / _DAY,
            "pt/day; pint/day; pints/d; pt/d; ppd; pints per day",
        ),
        ("L/day", _L * WATER_DENSITY_20C_KG_M3 / _DAY, "L/d; litres/day; liters/day"),
        ("g/h", 1e-3 / _H, "g/hr"),
        ("kg/day", 1 / _DAY, "kg/d"),
        ("g/min", 1e-3 / _MIN, ""),
        ("kg/h", 1 / _H, "kg/hr"),
        ("lb/h", _LB / _H, "lb/hr; lbs/h; lbs/hr"),
        ("lb/day", _LB / _DAY, "lb/d; lbs/day"),
        ("kg/s", 1.0, ""),
    ),
    Dimension.HEAT_RATE: (
        ("W", 1.0, "watt; watts"),
        ("Btu/h", _BTU / _H, "btuh; btu/hr"),
        ("kW", 1000.0, ""),
    ),
    Dimension.DENSITY: (
        ("kg/m³", 1.0, ""),
        ("lb/ft³", _LB / _FT**3, "lbs/ft³; lb/cu ft; pcf"),
    ),
    Dimension.FLOW_FACTOR: (
        ("L/s/√Pa", _L, "L/(s·√Pa); L/s/sqrt(Pa); L/s/Pa^0.5; L/s/Pa^½"),
        ("m³/h/√Pa", 1 / _H, "m³/(h·√Pa); m³/h/sqrt(Pa); m³/h/Pa^0.5; m³/h/Pa^½"),
        ("cfm/√Pa", _CFM, "cfm/sqrt(Pa); cfm/Pa^0.5; cfm/Pa^½"),
        ("cfm/√in. w.c.", _CFM / _IN_WC**0.5, 'cfm/√"wc; cfm/√(in. w.c.); cfm/sqrt(in. w.c.)'),
        ("m³/s/√Pa", 1.0, "m³/(s·√Pa); m³/s/sqrt(Pa); m³/s/Pa^0.5; m³/s/Pa^½"),
    ),
    Dimension.ANGLE: (("°", 1.0, "deg; degree; degrees"),),
    Dimension.TURNS: (("turns", 1.0, "turn"),),
    Dimension.SOUND_LEVEL: (("dB(A)", 1.0, "dBA; dB A"),),
    Dimension.ENTHALPY: (("kJ/kg", 1000.0, ""), ("J/kg", 1.0, "")),
    Dimension.U_VALUE: (
        ("W/(m²·K)", 1.0, "W/m²·K; W/m²/K; W/(m²·°C)"),
        (
            "Btu/(h·ft²·°F)",
            _BTU / (_H * _FT**2 * _RANKINE),
            "Btu/h·ft²·°F; Btu/(h·ft²·F); Btu/h·ft²·F; Btu/(hr·ft²·°F); Btu/hr·ft²·F",
        ),
    ),
    Dimension.R_VALUE: (
        ("m²·K/W", 1.0, "m²·°C/W; K·m²/W"),
        (
            "h·ft²·°F/Btu",
            _H * _FT**2 * _RANKINE / _BTU,
            "h·ft²·F/Btu; hr·ft²·°F/Btu; ft²·h·°F/Btu; ft²·°F·h/Btu; ft²·F·h/Btu",
        ),
    ),
    Dimension.CONCENTRATION: (("ppm", 1e-6, "ppmv"), ("ppb", 1e-9, "ppbv"), ("frac", 1.0, "")),
    Dimension.ENERGY: (
        ("kWh", 3.6e6, "kW·h"),
        ("Wh", _H, "W·h"),
        ("J", 1.0, "joule; joules"),
        ("MJ", 1e6, ""),
        ("Btu", _BTU, ""),
    ),
    Dimension.AIR_CHANGE_RATE: (("1/h", 1.0, "h⁻¹; ach; ac/h; 1/hr; /h"), ("1/s", _H, "s⁻¹")),
    Dimension.COUNT: (("", 1.0, ""),),
}

_TEMPERATURES = (
    ("°C", 1.0, 0.0, "C; degC; deg C; celsius"),
    ("°F", _RANKINE, 32.0, "F; degF; deg F; fahrenheit"),
    ("K", 1.0, ICE_POINT_K, "kelvin"),
)


def _split(aliases: str) -> tuple[str, ...]:
    return tuple(alias for alias in aliases.split("; ") if alias)


@cache
def units_of(dimension: Dimension) -> tuple[UnitOfMeasure, ...]:
    """Units of measure of one kind of quantity, the most used first.

    Parameters
    ----------
    dimension
        Kind of quantity.

    Returns
    -------
    tuple of UnitOfMeasure
        Never empty.

    >>> [u.symbol for u in units_of(Dimension.TEMPERATURE)]
    ['°C', '°F', 'K']
    """
    if dimension is Dimension.TEMPERATURE:
        return tuple(
            UnitOfMeasure(
                symbol=symbol,
                dimension=dimension,
                factor=factor,
                offset=offset,
                aliases=_split(aliases),
            )
            for symbol, factor, offset, aliases in _TEMPERATURES
        )
    return tuple(
        UnitOfMeasure(symbol=symbol, dimension=dimension, factor=factor, aliases=_split(aliases))
        for symbol, factor, aliases in _SIMPLE[dimension]
    )
