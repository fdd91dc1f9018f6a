"""From SI to text in a unit of the trade; the uncertainty decides how many digits are shown."""

from __future__ import annotations

import math

from ventwright.quantities.dimension import Dimension
from ventwright.quantities.lookup import from_si, unit_of_measure
from ventwright.quantities.parse import NumberStyle
from ventwright.quantities.unit_table import UnitOfMeasure

_DEFAULT_SIGNIFICANT = 3
_FLOAT_DIGITS = 15
"""Digits a float carries for certain; more would print noise."""


def decimals_for(u_expanded: float) -> int:
    """Decimal places that an expanded uncertainty allows.

    Two significant digits of it where its first digit is 1 or 2, else one.

    Parameters
    ----------
    u_expanded
        Expanded uncertainty on the scale shown, > 0 and finite.

    Returns
    -------
    int
        Decimal places; −1 means tens.

    Raises
    ------
    ValueError
        If it is not positive and finite.

    >>> decimals_for(0.14), decimals_for(0.4), decimals_for(23.0), decimals_for(60.0)
    (2, 1, 0, -1)
    """
    if not (math.isfinite(u_expanded) and u_expanded > 0):
        raise ValueError(f"expanded uncertainty must be positive and finite, not {u_expanded}")
    digits, power = f"{u_expanded:.{_FLOAT_DIGITS - 1}e}".split("e")
    return -int(power) + (1 if digits[0] in "12" else 0)


def _default_decimals(value: float) -> int:
    if value == 0:
        return 0
    power = int(f"{value:.{_DEFAULT_SIGNIFICANT - 1}e}".split("e")[1])
    return max(0, _DEFAULT_SIGNIFICANT - 1 - power)


def _number_text(value: float, decimals: int, number_style: NumberStyle) -> str:
    if not math.isfinite(value):
        raise ValueError(f"only a finite number can be shown, not {value}")
    clean = float(f"{value:.{_FLOAT_DIGITS}g}")
    text = f"{round(clean, decimals):.0f}" if decimals < 0 else f"{clean:.{decimals}f}"
    if text.startswith("-"):
        text = text[1:] if not text.strip("-0.") else f"−{text[1:]}"
    return text.replace(".", ",") if number_style is NumberStyle.DECIMAL_COMMA else text


def _with_symbol(number: str, measure: UnitOfMeasure) -> str:
    if not measure.symbol:
        return number
    return f"{number}{'' if measure.symbol == '°' else ' '}{measure.symbol}"


def format_quantity(
    value_si: float,
    *,
    dimension: Dimension,
    unit_symbol: str,
    u_si: float | None = None,
    digits: int | None = None,
    number_style: NumberStyle = NumberStyle.DECIMAL_POINT,
) -> str:
    """Show an SI value in a unit of measure, rounded as its uncertainty allows.

    No groups of thousands are set off, so the text is read back by `parse` in the same number
    style.

    Parameters
    ----------
    value_si
        In the SI of its dimension, finite.
    dimension
        Kind of quantity.
    unit_symbol
        Unit of measure to show, any spelling.
    u_si
        Expanded uncertainty in SI; the value is rounded to the place that `decimals_for` gives.
        It goes before ``digits``; 0 counts as none.
    digits
        Decimals to show; without both, three significant digits, and none cut before the mark.
    number_style
        Decimal mark.

    Returns
    -------
    str
        Number, space, symbol; a true minus sign, never a negative zero.

    Raises
    ------
    ValueError
        If the value is not finite or the uncertainty is negative or not finite.
    QuantityError
        If the unit is unknown or of another dimension.

    >>> format_quantity(0.0557, dimension=Dimension.FLOW, unit_symbol="cfm", u_si=0.0028)
    '118 cfm'
    >>> format_quantity(-0.00001, dimension=Dimension.PRESSURE, unit_symbol="Pa", digits=1)
    '0.0 Pa'
    """
    measure = unit_of_measure(unit_symbol, dimension=dimension)
    value = from_si(value_si, unit_of_measure=measure)
    if not math.isfinite(value):
        raise ValueError(f"only a finite number can be shown, not {value}")
    if u_si:
        decimals = decimals_for(u_si / measure.factor)
    else:
        decimals = digits if digits is not None else _default_decimals(value)
    return _with_symbol(_number_text(value, decimals, number_style), measure)


def format_with_uncertainty(
    value_si: float,
    *,
    u_si: float,
    dimension: Dimension,
    unit_symbol: str,
    number_style: NumberStyle = NumberStyle.DECIMAL_POINT,
) -> str:
    """Show a value with its expanded uncertainty, both rounded to the same place.

    Parameters
    ----------
    value_si
        In the SI of its dimension, finite.
    u_si
        Expanded uncertainty in SI, > 0 and finite.
    dimension
        Kind of quantity.
    unit_symbol
        Unit of measure to show, any spelling.
    number_style
        Decimal mark.

    Returns
    -------
    str
        For example ``118 ± 6 cfm``.

    Raises
    ------
    ValueError
        If the value is not finite or the uncertainty not positive and finite.
    QuantityError
        If the unit is unknown or of another dimension.

    >>> format_with_uncertainty(0.0557, u_si=0.0028, dimension=Dimension.FLOW, unit_symbol="cfm")
    '118 ± 6 cfm'
    """
    measure = unit_of_measure(unit_symbol, dimension=dimension)
    u_shown = u_si / measure.factor
    decimals = decimals_for(u_shown)
    number = _number_text(from_si(value_si, unit_of_measure=measure), decimals, number_style)
    return _with_symbol(f"{number} ± {_number_text(u_shown, decimals, number_style)}", measure)


def format_interval(
    *,
    low_si: float,
    high_si: float,
    dimension: Dimension,
    unit_symbol: str,
    digits: int | None = None,
    number_style: NumberStyle = NumberStyle.DECIMAL_POINT,
) -> str:
    """Show an interval by its two ends, rounded by its half width unless ``digits`` says how.

    Parameters
    ----------
    low_si
        Lower end in the SI of its dimension, finite.
    high_si
        Upper end, not below the lower.
    dimension
        Kind of quantity.
    unit_symbol
        Unit of measure to show, any spelling.
    digits
        Decimals to show.
    number_style
        Decimal mark.

    Returns
    -------
    str
        For example ``112 to 124 cfm``; one number where both ends are equal.

    Raises
    ------
    ValueError
        If the ends are not finite or stand in the wrong order.
    QuantityError
        If the unit is unknown or of another dimension.

    >>> format_interval(low_si=-2.0, high_si=5.0, dimension=Dimension.PRESSURE, unit_symbol="Pa")
    '−2 to 5 Pa'
    """
    if not low_si <= high_si:
        raise ValueError(f"an interval runs from low to high, not from {low_si} to {high_si}")
    measure = unit_of_measure(unit_symbol, dimension=dimension)
    low = from_si(low_si, unit_of_measure=measure)
    high = from_si(high_si, unit_of_measure=measure)
    if digits is not None:
        decimals = digits
    else:
        half_width = (high - low) / 2
        decimals = decimals_for(half_width) if half_width > 0 else _default_decimals(high)
    ends = tuple(dict.fromkeys(_number_text(end, decimals, number_style) for end in (low, high)))
    return _with_symbol(" to ".join(ends), measure)
