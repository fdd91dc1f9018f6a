"""Typed text to SI: what is read, what is refused and with which words."""

from __future__ import annotations

import pytest

from ventwright.quantities import (
    Dimension,
    NumberStyle,
    QuantityError,
    Severity,
    UserError,
    parse,
)

POINT, COMMA = NumberStyle.DECIMAL_POINT, NumberStyle.DECIMAL_COMMA
CFM = 0.3048**3 / 60


def pa(text: str, style: NumberStyle | None = None) -> float:
    return parse(text, dimension=Dimension.PRESSURE, number_style=style).value_si


def refusal(text: str, dimension: Dimension = Dimension.PRESSURE, **options: str) -> QuantityError:
    with pytest.raises(QuantityError) as caught:
        parse(text, dimension=dimension, **options)  # type: ignore[arg-type]
    return caught.value


@pytest.mark.parametrize("style", [None, POINT, COMMA])
@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("6 Pa", 6.0),
        ("6Pa", 6.0),
        ("  6.2   Pa ", 6.2),
        ("6,2 Pa", 6.2),
        ("6. Pa", 6.0),
        (".5 Pa", 0.5),
        (",5 Pa", 0.5),
        ("0,125 Pa", 0.125),
        ("0.125 Pa", 0.125),
        ("1234,567 Pa", 1234.567),
        ("1234.567 Pa", 1234.567),
        ("12,3456 Pa", 12.3456),
        ("1,234.5 Pa", 1234.5),
        ("1.234,5 Pa", 1234.5),
        ("1,234,567 Pa", 1234567.0),
        ("1.234.567 Pa", 1234567.0),
        ("12,345.678 Pa", 12345.678),
        ("1 234 Pa", 1234.0),
        ("1\u00a0234 Pa", 1234.0),
        ("1\u2009234,567 Pa", 1234.567),
        ("1\u202f234.5\u202fPa", 1234.5),
        ("+6 Pa", 6.0),
        ("-6 Pa", -6.0),
        ("−6 Pa", -6.0),
        ("− 6 Pa", -6.0),
        ("6e-3 Pa", 0.006),
        ("6.5E2 Pa", 650.0),
        ("0 Pa", 0.0),
        ("007 Pa", 7.0),
    ],
)
def test_unmistakable_numbers_read_the_same_in_every_style(
    text: str, expected: float, style: NumberStyle | None
) -> None:
    assert pa(text, style) == pytest.approx(expected, rel=1e-15)


@pytest.mark.parametrize("digits", ["1,234", "12,345", "123,456"])
def test_a_lone_comma_group_needs_a_style(digits: str) -> None:
    mistake = refusal(f"{digits} Pa")
    assert mistake.code == "ambiguous-number"
    assert digits.replace(",", "") in mistake.message
    assert digits.replace(",", ".") in mistake.message
    assert pa(f"{digits} Pa", POINT) == float(digits.replace(",", ""))
    assert pa(f"{digits} Pa", COMMA) == float(digits.replace(",", "."))


def test_a_lone_point_group_is_a_decimal_unless_the_style_says_otherwise() -> None:
    # Files and instruments of the trade write points: 1.234 is what a meter shows.
    assert pa("1.234 Pa") == 1.234
    assert pa("1.234 Pa", POINT) == 1.234
    assert pa("1.234 Pa", COMMA) == 1234.0


@pytest.mark.parametrize(
    ("text", "code"),
    [
        ("", "no-number"),
        ("Pa", "no-number"),
        ("nan Pa", "no-number"),
        ("inf Pa", "no-number"),
        ("-inf Pa", "no-number"),
        ("±6 Pa", "no-number"),
        ("<6 Pa", "no-number"),
        ("--6 Pa", "no-number"),
        (". Pa", "no-number"),
        ("٦ Pa", "no-number"),
        ("0x10 Pa", "unknown-unit"),
        ("1_000 Pa", "unknown-unit"),
        ("6", "no-unit"),
        ("6, Pa", "malformed-number"),
        ("1.2.3 Pa", "malformed-number"),
        ("1,23,456 Pa", "malformed-number"),
        ("1,234.567.8 Pa", "malformed-number"),
        ("12,34.5 Pa", "malformed-number"),
        ("0,123.4 Pa", "malformed-number"),
        ("0 123 Pa", "malformed-number"),
        ("1 2345 Pa", "malformed-number"),
        ("5 6 Pa", "malformed-number"),
        ("5-6 Pa", "malformed-number"),
        ("5–6 Pa", "malformed-number"),
        ("1/2 Pa", "malformed-number"),
        ("3 1/2 Pa", "malformed-number"),
        ("123456789012345678 Pa", "too-long-number"),
        ("6e31 Pa", "too-long-number"),
        ("6e-31 Pa", "too-long-number"),
        ("6e99999999 Pa", "too-long-number"),
    ],
)
def test_what_is_no_number_is_refused_by_name(text: str, code: str) -> None:
    mistake = refusal(text)
    assert mistake.code == code
    assert mistake.remedy


@pytest.mark.parametrize(
    ("text", "dimension", "resolution_si"),
    [
        ("6.20 Pa", Dimension.PRESSURE, 0.01),
        ("6 Pa", Dimension.PRESSURE, 1.0),
        ("1,234.50 Pa", Dimension.PRESSURE, 0.01),
        ("1 234 Pa", Dimension.PRESSURE, 1.0),
        ("6.2e2 Pa", Dimension.PRESSURE, 10.0),
        ("118 cfm", Dimension.FLOW, CFM),
        ("70.5 °F", Dimension.TEMPERATURE, 0.1 * 5 / 9),
        ("40 %", Dimension.FRACTION, 0.01),
        ("8 ft 6.5 in", Dimension.LENGTH, 0.00254),
    ],
)
def test_resolution_is_the_place_of_the_last_typed_digit(
    text: str, dimension: Dimension, resolution_si: float
) -> None:
    parsed = parse(text, dimension=dimension)
    assert parsed.resolution_si == pytest.approx(resolution_si, rel=1e-14)
    assert parsed.typed_text == text


def test_typed_text_is_kept_as_typed() -> None:
    assert parse("  6,2\u00a0Pa ", dimension=Dimension.PRESSURE).typed_text == "  6,2\u00a0Pa "


def test_bare_numbers() -> None:
    assert parse("3", dimension=Dimension.COUNT).value_si == 3.0
    assert parse("118", dimension=Dimension.FLOW, default_unit="CFM").value_si == pytest.approx(
        118 * CFM
    )
    # A unit that is typed goes before the default one.
    assert parse("6 Pa", dimension=Dimension.PRESSURE, default_unit="in. w.c.").value_si == 6.0
    mistake = refusal("0.4", Dimension.FRACTION)
    assert mistake.code == "no-unit"
    assert "%" in mistake.remedy
    assert refusal("3 turns", Dimension.COUNT).code == "wrong-dimension"


@pytest.mark.parametrize(
    ("text", "expected_m"),
    [
        ("8 ft 6 in", 102 * 0.0254),
        ("8' 6\"", 102 * 0.0254),
        ("8′6″", 102 * 0.0254),
        ("8'-6\"", 102 * 0.0254),
        ("8 feet 6 inches", 102 * 0.0254),
        ("0 ft 6 in", 6 * 0.0254),
        ("8 ft", 96 * 0.0254),
        ("8'", 96 * 0.0254),
        ('6"', 6 * 0.0254),
        ("6''", 6 * 0.0254),
        ("8.5 ft", 102 * 0.0254),
    ],
)
def test_feet_and_inches(text: str, expected_m: float) -> None:
    parsed = parse(text, dimension=Dimension.LENGTH)
    assert parsed.value_si == pytest.approx(expected_m, rel=1e-14)


@pytest.mark.parametrize(
    "text", ["8 ft 12 in", "8.5 ft 6 in", "-8 ft 6 in", "-0 ft 6 in", "8' 6", "8 ft 6 cm"]
)
def test_what_is_not_feet_and_inches(text: str) -> None:
    mistake = refusal(text, Dimension.LENGTH)
    assert mistake.code == "malformed-number"
    assert "8 ft 6 in" in mistake.remedy


def test_absolute_zero_is_the_floor() -> None:
    for text in ("−273.15 °C", "-459.67 °F", "0 K"):
        value_si = parse(text, dimension=Dimension.TEMPERATURE).value_si
        assert value_si == pytest.approx(-273.15, abs=1e-9)
    for text in ("-273.16 °C", "-459.69 °F", "-0.01 K"):
        assert refusal(text, Dimension.TEMPERATURE).code == "below-absolute-zero"
    # A difference may be as negative as it likes.
    assert parse("-300 K", dimension=Dimension.TEMPERATURE_DIFF).value_si == -300.0


def test_a_level_and_a_difference_of_temperature_are_kept_apart() -> None:
    assert parse("9 °F", dimension=Dimension.TEMPERATURE_DIFF).value_si == pytest.approx(5.0)
    assert parse("9 °F", dimension=Dimension.TEMPERATURE).value_si == pytest.approx(-12.7777777778)
    assert parse("5 K", dimension=Dimension.TEMPERATURE_DIFF).value_si == 5.0
    assert parse("5 K", dimension=Dimension.TEMPERATURE).value_si == pytest.approx(-268.15)


def test_a_mistake_is_the_users_and_becomes_a_problem() -> None:
    mistake = refusal("118 scfm", Dimension.FLOW)
    assert isinstance(mistake, UserError)
    problem = mistake.as_problem(where="readings[3].flow")
    assert (problem.code, problem.where) == ("standard-flow-unit", "readings[3].flow")
    assert problem.severity is Severity.MISTAKE
    assert (problem.message, problem.remedy) == (mistake.message, mistake.remedy)
    assert str(mistake) == f"{mistake.message}; {mistake.remedy}"
