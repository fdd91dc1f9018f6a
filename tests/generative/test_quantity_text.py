"""Properties of quantities as text, for every unit of measure and number style."""

from __future__ import annotations

import math

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from ventwright.quantities import (
    Dimension,
    NumberStyle,
    QuantityError,
    UnitOfMeasure,
    decimals_for,
    format_quantity,
    parse,
    to_si,
    units_of,
)

EVERY_UNIT = [measure for dimension in Dimension for measure in units_of(dimension)]
NARROW_SPACE = "\N{NARROW NO-BREAK SPACE}"
STYLES = st.sampled_from(NumberStyle)


@pytest.mark.parametrize("measure", EVERY_UNIT, ids=lambda m: f"{m.dimension}-{m.symbol}")
@settings(max_examples=20)
@given(
    steps=st.integers(-99_999_999, 99_999_999),
    digits=st.integers(0, 6),
    style=STYLES,
)
def test_what_was_formatted_is_parsed_to_the_same_value(
    measure: UnitOfMeasure, steps: int, digits: int, style: NumberStyle
) -> None:
    typed = steps / 10**digits
    value_si = to_si(typed, unit_of_measure=measure)
    if measure.dimension is Dimension.TEMPERATURE and value_si < -273.15:
        value_si = to_si(abs(typed), unit_of_measure=measure)
    text = format_quantity(
        value_si,
        dimension=measure.dimension,
        unit_symbol=measure.symbol,
        digits=digits,
        number_style=style,
    )
    back = parse(text, dimension=measure.dimension, number_style=style)
    assert back.unit_of_measure == measure
    assert back.resolution_si == pytest.approx(measure.factor * 10.0**-digits, rel=1e-12)
    assert back.value_si == pytest.approx(value_si, rel=1e-12, abs=1e-9 * back.resolution_si)
    again = format_quantity(
        back.value_si,
        dimension=measure.dimension,
        unit_symbol=measure.symbol,
        digits=digits,
        number_style=style,
    )
    assert again == text


@pytest.mark.parametrize("measure", EVERY_UNIT, ids=lambda m: f"{m.dimension}-{m.symbol}")
@settings(max_examples=20)
@given(value=st.floats(0.0, 1e6), u=st.floats(1e-6, 1e3), style=STYLES)
def test_rounding_never_moves_a_value_by_more_than_half_its_last_place(
    measure: UnitOfMeasure, value: float, u: float, style: NumberStyle
) -> None:
    value_si = to_si(value, unit_of_measure=measure)
    text = format_quantity(
        value_si,
        dimension=measure.dimension,
        unit_symbol=measure.symbol,
        u_si=u * measure.factor,
        number_style=style,
    )
    back = parse(text, dimension=measure.dimension, number_style=style)
    u_shown = u * measure.factor / measure.factor
    place = 10.0 ** -decimals_for(u_shown)
    assert place <= u_shown * (1 + 1e-12), "rounded coarser than the uncertainty itself"
    noise_si = 1e-14 * measure.factor * (value + 300.0)
    assert abs(back.value_si - value_si) <= 0.5 * place * measure.factor * (1 + 1e-9) + noise_si


@given(
    whole=st.integers(1, 999),
    groups=st.lists(st.integers(0, 999), min_size=2, max_size=3),
    decimals=st.integers(0, 9999),
    style=st.sampled_from([None, *NumberStyle]),
)
def test_grouped_numbers_mean_one_thing(
    whole: int, groups: list[int], decimals: int, style: NumberStyle | None
) -> None:
    parts = [str(whole), *(f"{group:03d}" for group in groups)]
    expected = float(f"{''.join(parts)}.{decimals:04d}")
    texts = [
        f"{','.join(parts)}.{decimals:04d}",
        f"{'.'.join(parts)},{decimals:04d}",
        f"{' '.join(parts)}.{decimals:04d}",
        f"{NARROW_SPACE.join(parts)},{decimals:04d}",
    ]
    read = {
        parse(f"{text} Pa", dimension=Dimension.PRESSURE, number_style=style).value_si
        for text in texts
    }
    assert read == {expected}


def check_read_or_refused(text: str, dimension: Dimension) -> None:
    try:
        parsed = parse(text, dimension=dimension)
    except QuantityError as mistake:
        assert mistake.code and mistake.message and mistake.remedy
    else:
        assert math.isfinite(parsed.value_si)
        assert parsed.resolution_si > 0.0
        assert parsed.typed_text == text


@given(text=st.text(max_size=40), dimension=st.sampled_from(Dimension))
@example(text="\N{LATIN SMALL LIGATURE FFI} Pa", dimension=Dimension.PRESSURE)
@example(text="\N{ARABIC-INDIC DIGIT THREE} Pa", dimension=Dimension.PRESSURE)
@example(text="6 \x00", dimension=Dimension.PRESSURE)
@example(text="8 ft \N{SUPERSCRIPT TWO}", dimension=Dimension.LENGTH)
def test_any_text_is_read_to_a_finite_number_or_refused_in_words(
    text: str, dimension: Dimension
) -> None:
    check_read_or_refused(text, dimension)


@given(
    text=st.from_regex(
        r"[+−-]?[0-9 .,]{1,12}(e[0-9]{1,4})? ?(Pa|cfm|°F|in|ft 6 in|')?", fullmatch=True
    ),
    dimension=st.sampled_from([Dimension.PRESSURE, Dimension.LENGTH, Dimension.TEMPERATURE]),
)
def test_near_numbers_are_read_or_refused_in_words(text: str, dimension: Dimension) -> None:
    check_read_or_refused(text, dimension)
