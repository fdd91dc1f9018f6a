"""The record written as TOML."""

from __future__ import annotations

import math
import tomllib
from dataclasses import replace

import pytest

from tests.unit.exchange.samples import HOUSE, VISIT
from ventwright.exchange import write_house, write_visit
from ventwright.exchange.toml_scalars import is_bare_number, key_text, quantity_text, text_text
from ventwright.house import (
    DirectFlow,
    House,
    Instrument,
    InstrumentKind,
    TypedText,
    Vane,
    VelocityChannel,
    Visit,
    parse_house,
    parse_visit,
)
from ventwright.quantities import Dimension, NumberStyle, UserError, parse, units_of


def visit_of(text: str, style: NumberStyle | None = None) -> Visit:
    found, problems = parse_visit(tomllib.loads(text), number_style=style)
    assert found is not None and not problems
    return found


def test_a_house_is_written_as_a_person_would(house: House) -> None:
    assert write_house(house) == HOUSE


def test_a_visit_is_written_as_it_was_typed() -> None:
    text = VISIT.replace('[\n  "12 L/s",\n  "13 L/s",\n]', '["12 L/s", "13,5 l/sec"]')
    assert write_visit(visit_of(text)) == text


def test_texts_that_need_a_number_style_are_listed_beside_exact_values() -> None:
    text = VISIT.replace("12 L/s", "1.234 L/s")
    found = visit_of(text, NumberStyle.DECIMAL_COMMA)
    look = found.readings[0].look
    assert isinstance(look, DirectFlow) and look.flows_m3_s == pytest.approx((1.234, 0.013))
    written = write_visit(found)
    assert '{ key = "flows[0]", text = "1.234 L/s" }' in written
    assert visit_of(written) == found


def test_readings_without_texts_stay_without() -> None:
    found = visit_of(VISIT)
    bare = replace(found, readings=(replace(found.readings[0], typed=()),))
    written = write_visit(bare)
    assert "typed = []" in written
    assert visit_of(written) == bare


def test_numbers_keep_their_form() -> None:
    vane = """
[[readings]]
id = "r2"
station = "terminal:t.1"
method = "vane"
setting = "day"
phase = "as_left"
velocities = ["1 m/s"]
area = "80 cm²"
factor_ratio = 1.040
"""
    found = visit_of(VISIT + vane)
    look = found.readings[1].look
    assert isinstance(look, Vane) and look.factor_ratio == 1.04
    assert found.readings[1].typed[-1] == TypedText(key="factor_ratio", text="1.04")
    written = write_visit(found)
    assert "factor_ratio = 1.04\n" in written
    quoted = visit_of(VISIT + vane.replace("1.040", '"1.040"'))
    assert 'factor_ratio = "1.040"\n' in write_visit(quoted)
    assert visit_of(write_visit(quoted)) == quoted


def test_a_default_that_was_typed_is_written() -> None:
    table = '[[systems]]\nid = "s"\n[systems.ventilation_unit]\nname = "m"\nrecovery = "heat"\n'
    found, _ = parse_house(tomllib.loads(HOUSE.split("\n[[systems]]")[0] + "\n" + table))
    assert found is not None
    assert "fan_control" not in write_house(found)


def test_empty_tables_are_not_lost() -> None:
    meter = Instrument(id="i", kind=InstrumentKind.PITOT, velocity=VelocityChannel())
    found = replace(visit_of(VISIT), instruments=(meter,))
    assert visit_of(write_visit(found)).instruments == (meter,)


@pytest.mark.parametrize(
    ("text", "dimension", "written"),
    [
        ("25 cfm", Dimension.FLOW, "25 cfm"),
        ("42.5 m³/h", Dimension.FLOW, "42.5 m³/h"),
        ("68 °F", Dimension.TEMPERATURE, "20 °C"),
        ("69.6 °F", Dimension.TEMPERATURE, "69.6 °F"),
        ("6 in", Dimension.LENGTH, "6 in"),
        ("5 cm", Dimension.LENGTH, "50 mm"),
        ("0.25 in. w.c.", Dimension.PRESSURE, "0.25 in. w.c."),
        ("3 hPa", Dimension.PRESSURE, "300 Pa"),
        ("20 min", Dimension.TIME, "20 min"),
        ("3", Dimension.COUNT, "3"),
        ("-2.5 turns", Dimension.TURNS, "-2.5 turns"),
    ],
)
def test_quantities_come_back_in_units_of_the_trade(
    text: str, dimension: Dimension, written: str
) -> None:
    value_si = parse(text, dimension=dimension).value_si
    assert quantity_text(value_si, dimension=dimension) == written


@pytest.mark.parametrize("dimension", list(Dimension))
@pytest.mark.parametrize("value", [1 / 3, 2 / 3e9, 123456.789012345678, 1e22 / 7, 0.0, 3e-29])
def test_any_value_of_any_kind_is_written_exactly(dimension: Dimension, value: float) -> None:
    text = quantity_text(value, dimension=dimension)
    assert parse(text, dimension=dimension).value_si == value


@pytest.mark.parametrize("dimension", list(Dimension))
def test_every_kind_has_a_unit_that_is_si_itself(dimension: Dimension) -> None:
    assert any(u.factor == 1.0 and u.offset == 0.0 for u in units_of(dimension))


@pytest.mark.parametrize("value", [math.nan, math.inf, -math.inf, 1e300, 1e-300])
def test_what_no_reading_is_can_not_be_written(value: float) -> None:
    with pytest.raises(UserError, match="can't be written as a flow") as caught:
        quantity_text(value, dimension=Dimension.FLOW)
    assert caught.value.problems[0].code == "not-writable"


@pytest.mark.parametrize("text", ["", "a b", 'say "hi"', "a\\b", "\x00\x1f\x7f\r\n\t", "é\u2028😀"])
def test_any_text_is_a_text_and_a_key(text: str) -> None:
    assert tomllib.loads(f"a = {text_text(text)}") == {"a": text}
    assert tomllib.loads(f"{key_text(text)} = 1") == {text: 1}


@pytest.mark.parametrize(
    ("text", "is_bare"),
    [
        *(("1", True), ("-1.5", True), ("1e+16", True), ("01", False), ("1.50", False)),
        *(("inf", False), ("nan", False), ("1_0", False), ("٣", False), ("1 ", False)),
    ],
)
def test_bare_numbers(text: str, is_bare: bool) -> None:
    assert is_bare_number(text) is is_bare
    if is_bare:
        assert repr(tomllib.loads(f"a = {text}")["a"]) == text
