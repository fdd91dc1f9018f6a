"""Texts, keys, numbers and quantities as TOML writes them."""

from __future__ import annotations

import json
import math
import re

from ventwright.quantities import (
    Dimension,
    Problem,
    QuantityError,
    Severity,
    UnitOfMeasure,
    UserError,
    from_si,
    parse,
    to_si,
    units_of,
)

_BARE_KEY = re.compile(r"[A-Za-z0-9_-]+")
_FEW_DIGITS = 7
_ALL_DIGITS = 17
_SELDOM_TYPED = frozenset(
    {
        *("m³/s", "m³/min", "L/min", "hPa", "kPa", "mbar", "mm w.c.", "ft/s", "km/h", "mph", "cm"),
        *("kW", "day", "m³/s/√Pa", "mm²", "mL", "pint"),
    }
)
"""Read like the others, but nobody expects a flow to come back in them."""


def text_text(text: str) -> str:
    """Write a text as a TOML basic string.

    Parameters
    ----------
    text
        Any text.

    >>> text_text('3" duct')
    '"3\\\\" duct"'
    """
    return json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007f")


def key_text(key: str) -> str:
    """Write a key, in quotes where it must be.

    Parameters
    ----------
    key
        Any text.

    >>> key_text("design_flow"), key_text("a b")
    ('design_flow', '"a b"')
    """
    return key if _BARE_KEY.fullmatch(key) else text_text(key)


def is_bare_number(text: str) -> bool:
    """Tell whether TOML reads a text as a number that Python shows as that same text.

    Parameters
    ----------
    text
        A number as typed.

    >>> is_bare_number("1.04"), is_bare_number("3"), is_bare_number("03")
    (True, True, False)
    """
    for kind in (int, float):
        try:
            if repr(kind(text)) == text:
                return math.isfinite(float(text))
        except (ValueError, OverflowError):
            continue
    return False


def reads_as(text: str, value_si: float, *, dimension: Dimension) -> bool:
    """Tell whether a typed text gives exactly a value, without a number style.

    Parameters
    ----------
    text
        As typed.
    value_si
        In the SI of its dimension.
    dimension
        Kind of quantity.

    >>> reads_as("1 kPa", 1000.0, dimension=Dimension.PRESSURE)
    True
    """
    try:
        return parse(text, dimension=dimension).value_si == value_si
    except QuantityError:
        return False


def quantity_text(value_si: float, *, dimension: Dimension) -> str:
    """Write a quantity so that it reads back to exactly the same SI value.

    Parameters
    ----------
    value_si
        In the SI of its dimension, finite, 0 or between 10^-30 and 10^30.
    dimension
        Kind of quantity.

    Returns
    -------
    str
        In the unit of measure that needs the fewest digits; in SI with every digit where none
        does with seven.

    Raises
    ------
    UserError
        ``not-writable`` outside that range.

    >>> quantity_text(25 * 0.3048**3 / 60.0, dimension=Dimension.FLOW)
    '25 cfm'
    >>> quantity_text(0.3333333333333333, dimension=Dimension.FRACTION)
    '0.3333333333333333 frac'
    """
    found = (
        (place, _short_text(value_si, measure))
        for place, measure in enumerate(units_of(dimension))
        if measure.symbol not in _SELDOM_TYPED
    )
    short = [(digits, len(text), place, text) for place, (digits, text) in found if digits]
    for *_, text in sorted(short):
        if reads_as(text, value_si, dimension=dimension):
            return text
    si = next(u for u in units_of(dimension) if u.factor == 1.0 and u.offset == 0.0)
    text = f"{_long_number(value_si)} {si.symbol}".rstrip()
    if reads_as(text, value_si, dimension=dimension):
        return text
    problem = Problem(
        code="not-writable",
        where="",
        message=f"{value_si!r} can't be written as {dimension.label}",
        remedy="a finite number between 10^-30 and 10^30 is wanted",
        severity=Severity.MISTAKE,
    )
    raise UserError(f"{problem.message}; {problem.remedy}", problems=(problem,))


def _short_text(value_si: float, measure: UnitOfMeasure) -> tuple[int, str]:
    """Fewest digits, and the text, that give the value in one unit of measure; 0 if too many."""
    value = from_si(value_si, unit_of_measure=measure)
    for digits in range(1, _FEW_DIGITS + 1):
        # Rounded first and then shown in full, so that 50 counts as one digit and not two.
        number = f"{float(f'{value:.{digits}g}'):.12g}"
        if "e" in number or "n" in number:
            continue
        if to_si(float(number), unit_of_measure=measure) == value_si:
            return digits, f"{number} {measure.symbol}".rstrip()
    return 0, ""


def _long_number(value: float) -> str:
    text = repr(value)
    return text if sum(c.isdigit() for c in text) <= _ALL_DIGITS else f"{value:.16e}"
