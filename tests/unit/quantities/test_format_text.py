"""SI to text: rounding by the uncertainty, signs, marks."""

from __future__ import annotations

import math

import pytest

from ventwright.quantities import (
    Dimension,
    NumberStyle,
    QuantityError,
    decimals_for,
    format_interval,
    format_quantity,
    format_with_uncertainty,
)

COMMA = NumberStyle.DECIMAL_COMMA
PA = {"dimension": Dimension.PRESSURE, "unit_symbol": "Pa"}


@pytest.mark.parametrize(
    ("u_expanded", "decimals"),
    [
        (0.1, 2),
        (0.14, 2),
        (0.299, 2),
        (0.3, 1),
        (0.96, 1),
        (1.0, 1),
        (2.96, 1),
        (3.0, 0),
        (9.9, 0),
        (10.0, 0),
        (29.0, 0),
        (30.0, -1),
        (120.0, -1),
        (0.1 + 0.2, 1),
    ],
)
def test_two_digits_of_an_uncertainty_led_by_1_or_2_else_one(
    u_expanded: float, decimals: int
) -> None:
    assert decimals_for(u_expanded) == decimals


@pytest.mark.parametrize(
    ("value", "u", "shown"),
    [
        (118.26, 5.9, "118 Pa"),
        (118.26, 0.14, "118.26 Pa"),
        (118.26, 0.4, "118.3 Pa"),
        (118.26, 23.0, "118 Pa"),
        (118.26, 60.0, "120 Pa"),
        (118.26, 400.0, "100 Pa"),
        (-0.04, 0.5, "0.0 Pa"),
        (-6.25, 0.3, "−6.2 Pa"),
        (118.26, 0.0, "118 Pa"),
    ],
)
def test_the_value_is_rounded_where_its_uncertainty_is(value: float, u: float, shown: str) -> None:
    assert format_quantity(value, u_si=u, **PA) == shown


@pytest.mark.parametrize(
    ("value", "shown"),
    [
        (0.0, "0 Pa"),
        (-0.0, "0 Pa"),
        (12345.6, "12346 Pa"),
        (123.456, "123 Pa"),
        (12.3456, "12.3 Pa"),
        (0.0123456, "0.0123 Pa"),
        (9.996, "10.0 Pa"),
        (-1.5, "−1.50 Pa"),
    ],
)
def test_without_uncertainty_three_digits_and_none_cut_before_the_mark(
    value: float, shown: str
) -> None:
    assert format_quantity(value, **PA) == shown


def test_digits_marks_and_symbols() -> None:
    assert format_quantity(6.2, digits=2, **PA) == "6.20 Pa"
    assert format_quantity(6.2, digits=1, number_style=COMMA, **PA) == "6,2 Pa"
    assert format_quantity(-0.004, digits=2, **PA) == "0.00 Pa"
    # The uncertainty goes before the wish.
    assert format_quantity(6.2, digits=3, u_si=0.4, **PA) == "6.2 Pa"
    assert format_quantity(3, dimension=Dimension.COUNT, unit_symbol="") == "3.00"
    assert format_quantity(3, dimension=Dimension.COUNT, unit_symbol="", digits=0) == "3"
    assert format_quantity(45, dimension=Dimension.ANGLE, unit_symbol="deg") == "45.0°"
    assert format_quantity(0.4, dimension=Dimension.FRACTION, unit_symbol="%", digits=0) == "40 %"


def test_an_uncertainty_of_a_temperature_is_a_difference() -> None:
    shown = format_with_uncertainty(
        20.0, u_si=0.5, dimension=Dimension.TEMPERATURE, unit_symbol="°F"
    )
    assert shown == "68.0 ± 0.9 °F"


@pytest.mark.parametrize(
    ("value", "u", "shown"),
    [
        (118.26, 5.9, "118 ± 6 Pa"),
        (118.26, 0.96, "118.3 ± 1.0 Pa"),
        (118.26, 2.96, "118.3 ± 3.0 Pa"),
        (118.26, 37.0, "120 ± 40 Pa"),
        (-0.02, 0.16, "−0.02 ± 0.16 Pa"),
    ],
)
def test_value_and_uncertainty_share_the_place(value: float, u: float, shown: str) -> None:
    assert format_with_uncertainty(value, u_si=u, **PA) == shown


def test_intervals() -> None:
    assert format_interval(low_si=112.4, high_si=124.2, **PA) == "112 to 124 Pa"
    assert format_interval(low_si=-1.04, high_si=1.04, **PA) == "−1.0 to 1.0 Pa"
    assert format_interval(low_si=112.4, high_si=124.2, digits=1, **PA) == "112.4 to 124.2 Pa"
    assert format_interval(low_si=5.0, high_si=5.0, **PA) == "5.00 Pa"
    assert format_interval(low_si=0.5, high_si=1.5, number_style=COMMA, **PA) == "0,5 to 1,5 Pa"


@pytest.mark.parametrize("bad", [math.nan, math.inf, -math.inf])
def test_what_is_not_finite_is_never_shown(bad: float) -> None:
    with pytest.raises(ValueError, match="finite"):
        format_quantity(bad, **PA)
    with pytest.raises(ValueError, match="finite"):
        format_with_uncertainty(bad, u_si=1.0, **PA)
    with pytest.raises(ValueError, match="finite"):
        format_quantity(1.0, u_si=bad, **PA)
    with pytest.raises(ValueError, match=r"finite|low to high"):
        format_interval(low_si=1.0, high_si=bad, **PA)


def test_nonsense_is_refused() -> None:
    with pytest.raises(ValueError, match="positive"):
        format_quantity(1.0, u_si=-0.1, **PA)
    with pytest.raises(ValueError, match="positive"):
        format_with_uncertainty(1.0, u_si=0.0, **PA)
    with pytest.raises(ValueError, match="low to high"):
        format_interval(low_si=2.0, high_si=1.0, **PA)
    with pytest.raises(QuantityError, match="a pressure is wanted"):
        format_quantity(1.0, dimension=Dimension.PRESSURE, unit_symbol="cfm")
