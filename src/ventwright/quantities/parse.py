"""From typed text to SI: '42,5 m³/h' becomes 0.0118 m³/s, and what can be misread is refused."""

from __future__ import annotations

import re
from enum import StrEnum
from functools import cache
from math import copysign

from ventwright.quantities.constants import ABSOLUTE_ZERO_C
from ventwright.quantities.dimension import Dimension
from ventwright.quantities.lookup import QuantityError, examples, to_si, unit_of_measure
from ventwright.quantities.records import dataclass
from ventwright.quantities.unit_table import UnitOfMeasure


class NumberStyle(StrEnum):
    """Which mark sets off the decimals; decides only where a number could be read two ways."""

    DECIMAL_POINT = "decimal_point"
    DECIMAL_COMMA = "decimal_comma"


@dataclass(frozen=True, slots=True, kw_only=True)
class Parsed:
    """A typed quantity, read.

    Parameters
    ----------
    value_si
        In the SI of its dimension (temperatures in °C).
    unit_of_measure
        The unit it was typed in, or the default one.
    typed_text
        Exactly what was typed.
    resolution_si
        Place value of the last typed digit, in SI: 0.01 Pa for '6.20 Pa'.
    """

    value_si: float
    unit_of_measure: UnitOfMeasure
    typed_text: str
    resolution_si: float


_MAX_DIGITS = 17
_MAX_EXPONENT = 30
_SPACES = dict.fromkeys(map(ord, "\t\n\r\u00a0\u2002\u2003\u2007\u2008\u2009\u200a\u202f"), " ")
_MINUS = dict.fromkeys(map(ord, "−–‐‑"), "-")
_CLEAN = _SPACES | _MINUS


@cache
def _pattern() -> re.Pattern[str]:
    return re.compile(
        r"([+-]?) ?"
        r"([0-9]{1,3}(?: [0-9]{3})+(?![0-9])(?:[.,][0-9]+)?(?![.,]?[0-9])|[0-9.,]*[0-9][0-9.,]*)"
        r"(?:[eE]([+-]?[0-9]+))?"
        r"(.*)"
    )


def parse(
    text: str,
    *,
    dimension: Dimension,
    number_style: NumberStyle | None = None,
    default_unit: str | None = None,
) -> Parsed:
    """Read a typed quantity into SI.

    A number is read the same in every number style unless its marks can mean two things, which is
    so only for one comma or one point followed by exactly three digits and led by one to three
    digits not beginning with 0. Without a style ``1,234`` is refused; ``1.234`` is read as a
    decimal, because files and instruments of the trade write points, and a lone comma group is what
    is typed by mistake a thousandfold wrong.

    Parameters
    ----------
    text
        Number and unit of measure; decimal comma or point, groups of three set off by a space,
        comma or point, a typographic minus, superscripts and prime marks are accepted, and feet
        with inches where a length is wanted.
    dimension
        Kind of quantity wanted.
    number_style
        Settles what ``1,234`` and ``1.234`` mean.
    default_unit
        Unit of measure of a bare number. Without it a bare number is read only as a count.

    Returns
    -------
    Parsed
        SI value, unit, typed text, resolution.

    Raises
    ------
    QuantityError
        ``no-number``, ``malformed-number``, ``ambiguous-number``, ``too-long-number``,
        ``no-unit``, ``below-absolute-zero``, and those of `unit_of_measure`.

    >>> parse("42,5 m³/h", dimension=Dimension.FLOW).value_si
    0.0118
    >>> parse("6.20 Pa", dimension=Dimension.PRESSURE).resolution_si
    0.01
    >>> parse("8' 6\\"", dimension=Dimension.LENGTH).value_si
    2.5908
    """
    match = _pattern().fullmatch(text.translate(_CLEAN).strip())
    if match is None:
        raise QuantityError(
            code="no-number",
            message=f"{text.strip()!r} does not begin with a number",
            remedy=_accepted(dimension, default_unit),
        )
    sign, body, exponent, rest = match.groups()
    magnitude, place = _number(body, exponent, text=text, number_style=number_style)
    value = -magnitude if sign == "-" else magnitude
    if dimension is Dimension.LENGTH and (inches := _inches_after_feet(rest)) is not None:
        return _feet_and_inches(text, feet=value, feet_place=place, inches=inches)
    measure = _measure(rest, text=text, dimension=dimension, default_unit=default_unit)
    value_si = to_si(value, unit_of_measure=measure)
    if dimension is Dimension.TEMPERATURE and value_si < ABSOLUTE_ZERO_C - 1e-9:
        raise QuantityError(
            code="below-absolute-zero",
            message=f"{text.strip()!r} is below absolute zero (−273.15 °C)",
            remedy="check the sign and the unit",
        )
    return Parsed(
        value_si=value_si,
        unit_of_measure=measure,
        typed_text=text,
        resolution_si=place * measure.factor,
    )


def _accepted(dimension: Dimension, default_unit: str | None) -> str:
    if dimension is Dimension.COUNT:
        return "type a plain number, e.g. 3"
    example = unit_of_measure(default_unit, dimension=dimension).symbol if default_unit else ""
    return f"type a number and a unit of measure: {example or examples(dimension)}"


def _measure(
    rest: str, *, text: str, dimension: Dimension, default_unit: str | None
) -> UnitOfMeasure:
    symbol = rest.strip()
    if not symbol:
        if dimension is Dimension.COUNT:
            return unit_of_measure("", dimension=dimension)
        if default_unit is None:
            raise QuantityError(
                code="no-unit",
                message=f"{text.strip()!r} has no unit of measure",
                remedy=f"{dimension.label} is wanted: {examples(dimension)}",
            )
        return unit_of_measure(default_unit, dimension=dimension)
    try:
        return unit_of_measure(symbol, dimension=dimension)
    except QuantityError as mistake:
        if mistake.code == "unknown-unit" and symbol.lstrip(" -/,.")[:1].isdigit():
            raise _malformed(text, "holds more than one number") from None
        raise


_ONE_NUMBER = "type one decimal number such as 42.5 or 42,5 before the unit of measure"


def _malformed(text: str, why: str, *, remedy: str = _ONE_NUMBER) -> QuantityError:
    return QuantityError(code="malformed-number", message=f"{text.strip()!r} {why}", remedy=remedy)


def _number(
    body: str, exponent: str | None, *, text: str, number_style: NumberStyle | None
) -> tuple[float, float]:
    """Value and place value of the last digit of an unsigned number."""
    power = int(exponent) if exponent and len(exponent) <= 4 else 0
    digit_count = sum(c.isdigit() for c in body)
    too_long_exponent = exponent is not None and len(exponent) > 4
    if digit_count > _MAX_DIGITS or abs(power) > _MAX_EXPONENT or too_long_exponent:
        raise QuantityError(
            code="too-long-number",
            message=f"{text.strip()[:40]!r} is longer than any reading",
            remedy=f"type at most {_MAX_DIGITS} digits and a power of ten within ±{_MAX_EXPONENT}",
        )
    whole, decimals = _split_marks(body, text=text, number_style=number_style)
    value = float(f"{whole or '0'}.{decimals or '0'}e{power}")
    return value, float(f"1e{power - len(decimals)}")


def _split_marks(body: str, *, text: str, number_style: NumberStyle | None) -> tuple[str, str]:
    """Digits before and after the decimal mark."""
    spaced = " " in body
    if spaced and body.startswith("0"):
        raise _malformed(text, "begins with 0 and yet has a group of thousands")
    body = body.replace(" ", "")
    points, commas = body.count("."), body.count(",")
    if not points and not commas:
        return body, ""
    last = max(body.rfind("."), body.rfind(","))
    mark = body[last]
    whole, decimals = body[:last], body[last + 1 :]
    if points and commas:
        other = "," if mark == "." else "."
        if body.count(mark) > 1 or not _grouped(whole, other):
            raise _malformed(text, "mixes commas and points in a way no number does")
        return whole.replace(other, ""), decimals
    if points + commas > 1:
        if not _grouped(body, mark):
            raise _malformed(text, f"has more than one {mark!r}, but no groups of three digits")
        return body.replace(mark, ""), ""
    if mark == "," and not decimals:
        raise _malformed(text, "ends in a comma")
    could_be_group = not spaced and _grouped(body, mark)
    if could_be_group and number_style is None and mark == ",":
        raise QuantityError(
            code="ambiguous-number",
            message=f"{text.strip()!r} may mean {whole}{decimals} or {whole}.{decimals}",
            remedy=f"write {whole}{decimals} or {whole}.{decimals}",
        )
    if could_be_group and _is_group_mark(mark, number_style):
        return whole + decimals, ""
    return whole, decimals


def _is_group_mark(mark: str, number_style: NumberStyle | None) -> bool:
    return (mark == "," and number_style is NumberStyle.DECIMAL_POINT) or (
        mark == "." and number_style is NumberStyle.DECIMAL_COMMA
    )


def _grouped(digits: str, mark: str) -> bool:
    first, *others = digits.split(mark)
    return (
        1 <= len(first) <= 3
        and first[0] != "0"
        and bool(others)
        and all(len(group) == 3 and group.isdigit() for group in others)
    )


def _inches_after_feet(rest: str) -> str | None:
    """Return the second half of '8 ft 6 in' or '8' 6"', None where there is no such second half."""
    start = next((i for i, c in enumerate(rest) if c.isdigit()), 0)
    if not start:
        return None
    try:
        feet = unit_of_measure(rest[:start].rstrip(" -"), dimension=Dimension.LENGTH)
    except QuantityError:
        return None
    return rest[start:] if feet.symbol == "ft" else None


def _feet_and_inches(text: str, *, feet: float, feet_place: float, inches: str) -> Parsed:
    mistake = _malformed(
        text,
        "is not whole feet followed by fewer than 12 inches",
        remedy="type feet and inches as in 8 ft 6 in, or one number such as 8.5 ft",
    )
    try:
        small = parse(inches, dimension=Dimension.LENGTH)
    except QuantityError:
        raise mistake from None
    foot = unit_of_measure("ft", dimension=Dimension.LENGTH)
    is_sound = (
        small.unit_of_measure.symbol == "in"
        and feet_place == 1.0
        and copysign(1.0, feet) > 0.0
        and small.value_si < foot.factor * (1.0 - 1e-12)  # 12 × 0.0254 falls short of 0.3048
    )
    if not is_sound:
        raise mistake
    return Parsed(
        value_si=feet * foot.factor + small.value_si,
        unit_of_measure=foot,
        typed_text=text,
        resolution_si=small.resolution_si,
    )
