"""The closed table: spellings, kinds of quantity, refusals that help."""

from __future__ import annotations

from typing import get_args

import pytest

from ventwright import quantities
from ventwright.quantities import (
    Dimension,
    QuantityError,
    UnitPreference,
    from_si,
    parse,
    to_si,
    unit_of_measure,
    units_of,
)
from ventwright.quantities.lookup import _key

EVERY_UNIT = [measure for dimension in Dimension for measure in units_of(dimension)]


@pytest.mark.parametrize(
    ("dimension", "symbol", "spellings"),
    [
        ("FLOW", "cfm", "cfm|CFM|Cfm|ft³/min|ft3/min|ft^3/min|cu. ft./min|acfm"),
        ("FLOW", "L/s", "L/s|l/s|lps|LPS|L / s|L·s⁻¹|L s-1|dm³/s"),
        ("FLOW", "m³/h", "m³/h|m3/h|M3/H|cmh|m³/hr|m^3/h|m³·h⁻¹"),
        ("FLOW", "m³/s", "m³/s|m3/s"),
        ("PRESSURE", "Pa", "Pa|pa|PA|pascals"),
        ("PRESSURE", "kPa", "kPa|KPA"),
        ("PRESSURE", "hPa", "hPa"),
        ("PRESSURE", "mbar", "mbar|mb"),
        (
            "PRESSURE",
            "in. w.c.",
            'in. w.c.|inwc|"wc|in wc|in.w.c.|inH2O|inH₂O|in w.g.|in. W.C.|″wc|″ w.c.|iwc|'
            "inches of water|IN. WG",
        ),
        ("PRESSURE", "mm w.c.", "mm w.c.|mmwc|mmH2O|mm wg"),
        ("TEMPERATURE", "°C", "°C|C|degC|deg C|℃|º C|˚C"),
        ("TEMPERATURE", "°F", "°F|F|degF|deg. F|℉|f"),
        ("TEMPERATURE", "K", "K|\N{KELVIN SIGN}|kelvin"),
        ("TEMPERATURE_DIFF", "K", "K|°C|C"),
        ("TEMPERATURE_DIFF", "°F", "°F|°R|F"),
        ("VELOCITY", "fpm", "fpm|FPM|ft/min|ft./min"),
        ("VELOCITY", "m/s", "m/s|M/S|m·s⁻¹"),
        ("LENGTH", "in", "in|in.|\"|″|''|inch|inches|IN"),
        ("LENGTH", "ft", "ft|ft.|'|′|feet|foot"),
        ("LENGTH", "mm", "mm|MM"),
        ("AREA", "ft²", "ft²|ft2|sq ft|sq. ft.|sqft|SF|ft^2"),
        ("AREA", "in²", "in²|in2|sq in|sq. in."),
        ("AREA", "m²", "m²|m2|sq m|sqm"),
        ("AREA", "cm²", "cm²|cm2"),
        ("POWER", "W", "W|w|watts"),
        ("FAN_EFFICACY", "cfm/W", "cfm/W|CFM/W|cfm/watt"),
        ("SPECIFIC_FAN_POWER", "W/cfm", "W/cfm|w/CFM"),
        ("SPECIFIC_FAN_POWER", "W/(L/s)", "W/(L/s)|W/(l/s)|W/L/s|W·s/L|kW/(m³/s)"),
        ("SPECIFIC_FAN_POWER", "W/(m³/h)", "W/(m³/h)|W/(m3/h)"),
        ("SPECIFIC_FAN_POWER", "Wh/m³", "Wh/m³|Wh/m3|W·h/m³"),
        ("FRACTION", "%", "%|percent|% RH|%rh"),
        ("HUMIDITY_RATIO", "gr/lb", "gr/lb|grains/lb|gpp|GR/LB"),
        ("HUMIDITY_RATIO", "g/kg", "g/kg"),
        ("MOISTURE_RATE", "pints/day", "pints/day|pt/day|pints/d|ppd"),
        ("MOISTURE_RATE", "L/day", "L/day|l/d"),
        ("HEAT_RATE", "Btu/h", "Btu/h|BTU/h|BTUH|btu/hr"),
        ("SOUND_LEVEL", "dB(A)", "dB(A)|dBA|db(a)"),
        ("FLOW_FACTOR", "L/s/√Pa", "L/s/√Pa|L/(s·√Pa)|l/s/sqrt(Pa)|L/s/Pa^0.5"),
        ("U_VALUE", "W/(m²·K)", "W/(m²·K)|W/(m2K)|W/m²K|W/m2.K|W/(m² K)"),
        ("U_VALUE", "Btu/(h·ft²·°F)", "Btu/(h·ft²·°F)|BTU/(h ft2 F)|Btu/h ft² F"),
        ("AIR_CHANGE_RATE", "1/h", "1/h|h⁻¹|/h|ACH|ac/h"),
        ("CONCENTRATION", "ppm", "ppm|PPM"),
        ("ANGLE", "°", "°|deg|degrees"),
        ("ENERGY", "kWh", "kWh|KWH|kW·h"),
        ("ENERGY", "MJ", "MJ"),
    ],
)
def test_spellings_of_the_trade(dimension: str, symbol: str, spellings: str) -> None:
    for spelling in spellings.split("|"):
        parsed = parse(f"3 {spelling}", dimension=Dimension[dimension])
        assert parsed.unit_of_measure.symbol == symbol, spelling


def test_no_spelling_means_two_units_of_one_kind() -> None:
    for dimension in Dimension:
        owner: dict[str, str] = {}
        for measure in units_of(dimension):
            for spelling in (measure.symbol, *measure.aliases):
                for key in (_key(spelling), _key(spelling).casefold()):
                    assert owner.setdefault(key, measure.symbol) == measure.symbol, spelling


@pytest.mark.parametrize("measure", EVERY_UNIT, ids=lambda m: f"{m.dimension}-{m.symbol}")
def test_every_unit_is_found_again_by_each_spelling(measure: quantities.UnitOfMeasure) -> None:
    assert measure.factor > 0.0
    for spelling in (measure.symbol, *measure.aliases):
        assert unit_of_measure(spelling, dimension=measure.dimension) == measure
    for value in (-40.0, 0.0, 0.37, 118.0):
        there = to_si(value, unit_of_measure=measure)
        assert from_si(there, unit_of_measure=measure) == pytest.approx(value, rel=1e-13, abs=1e-12)


@pytest.mark.parametrize("symbol", ["scfm", "SCFM", "Nm³/h", "sL/s", "slpm", "std cfm"])
def test_a_standard_flow_is_refused_with_the_field_that_takes_it(symbol: str) -> None:
    for dimension in (Dimension.FLOW, None):
        with pytest.raises(QuantityError) as caught:
            unit_of_measure(symbol, dimension=dimension)
        assert caught.value.code == "standard-flow-unit"
        assert "'standard' field" in caught.value.remedy


def test_a_unit_of_another_kind_is_named_with_what_is_wanted() -> None:
    with pytest.raises(QuantityError, match="'Pa' is a pressure; a flow is wanted: cfm, L/s, m³/h"):
        parse("5 Pa", dimension=Dimension.FLOW)
    with pytest.raises(QuantityError, match="'W/cfm' is a specific fan power; a fan efficacy"):
        parse("0.8 W/cfm", dimension=Dimension.FAN_EFFICACY)
    # Degrees of what? An angle can't stand for a temperature.
    with pytest.raises(QuantityError, match="'°' is an angle; a temperature is wanted"):
        parse("68°", dimension=Dimension.TEMPERATURE)


@pytest.mark.parametrize(
    ("text", "dimension", "near"),
    [
        ("118 cmf", Dimension.FLOW, "cfm"),
        ("6 pz", Dimension.PRESSURE, "Pa"),
        ("0.2 in wx", Dimension.PRESSURE, "in. w.c."),
        ("16 sq mt", Dimension.AREA, "m²"),
        ("3 qqqq", Dimension.VELOCITY, "m/s, fpm"),
        ("20 mJ", Dimension.ENERGY, "J"),
    ],
)
def test_an_unknown_unit_brings_near_names(text: str, dimension: Dimension, near: str) -> None:
    with pytest.raises(QuantityError) as caught:
        parse(text, dimension=dimension)
    assert caught.value.code == "unknown-unit"
    assert near in caught.value.remedy


def test_a_spelling_of_several_kinds_needs_the_kind() -> None:
    for symbol in ("K", "W", "lb/h", "frac"):
        with pytest.raises(QuantityError) as caught:
            unit_of_measure(symbol)
        assert caught.value.code == "ambiguous-unit"
    assert unit_of_measure("fpm").dimension is Dimension.VELOCITY
    with pytest.raises(QuantityError) as caught:
        unit_of_measure("flob")
    assert caught.value.code == "unknown-unit"


def test_every_kind_has_suffix_label_units_and_preferences() -> None:
    for dimension in Dimension:
        assert dimension.label.split(" ")[0] in {"a", "an"}
        assert dimension.suffix == dimension.suffix.lower()
        si = [u for u in units_of(dimension) if u.factor == 1.0 and u.offset == 0.0]
        assert si, f"no unit of {dimension} is the SI one"
        for preference in UnitPreference:
            symbol = preference.symbol(dimension)
            assert unit_of_measure(symbol, dimension=dimension).symbol == symbol


def test_preferences_differ_where_the_habits_do() -> None:
    shown = {p: (p.symbol(Dimension.FLOW), p.symbol(Dimension.TEMPERATURE)) for p in UnitPreference}
    assert shown == {"ip": ("cfm", "°F"), "si_ls": ("L/s", "°C"), "si_m3h": ("m³/h", "°C")}


def test_every_kind_has_one_alias_for_record_fields() -> None:
    carried = [
        get_args(value)[1]
        for name, value in vars(quantities).items()
        if name in quantities.__all__ and get_args(value)[:1] == (float,)
    ]
    assert sorted(carried) == sorted(Dimension)


def test_public_names_are_all_there() -> None:
    assert all(hasattr(quantities, name) for name in quantities.__all__)
