"""Forms and lines of a plan's parts: every key has its words, every value is read back."""

from __future__ import annotations

from collections.abc import Iterator

import pytest

from ventwright.actions import examples_folder
from ventwright.exchange import read_house
from ventwright.house import House, PartPath, Reader, part_at, part_type, read_part
from ventwright.quantities import NumberStyle, UnitPreference
from ventwright.report.field import PlanPart, compose_plan, plan_forms
from ventwright.report.field.plan_forms import PART_FORMS
from ventwright.report.wording import words_of


def house_of(name: str = "juniper_mesa") -> House:
    house, _ = read_house(examples_folder() / name / "house.toml")
    assert house is not None
    return house


def every(part: PlanPart) -> Iterator[PlanPart]:
    yield part
    for one in part.lists:
        for inner in one.parts:
            yield from every(inner)


@pytest.mark.parametrize("preference", list(UnitPreference))
def test_every_key_has_a_label_of_its_own(preference: UnitPreference) -> None:
    words = words_of("en", "words_field")
    for form in plan_forms(preference):
        assert f"plan-part.{form.name}" in words
        labels = [field.label for field in form.fields]
        assert len(set(labels)) == len(labels), form.name
        for field in form.fields:
            last = field.key.rpartition(".")[2]
            codes = (f"plan-field.{field.key}", f"plan-field.{last}", f"field.{field.key}")
            assert any(code in words for code in (*codes, f"field.{last}")), field.key
            assert field.kind != "quantity" or field.symbols


@pytest.mark.parametrize("name", ["juniper_mesa", "harbour_terrace"])
@pytest.mark.parametrize("preference", list(UnitPreference))
@pytest.mark.parametrize("style", list(NumberStyle))
def test_texts_shown_are_read_back_within_their_digits(
    name: str, preference: UnitPreference, style: NumberStyle
) -> None:
    house = house_of(name)
    plan = compose_plan(house, preference=preference, number_style=style)
    forms = {form.name: form for form in plan_forms(preference)}
    seen: set[PartPath] = set()
    for part in every(plan):
        seen.add(part.path)
        standing = part_at(house, part.path)
        keys = {field.key: field for field in forms[part.form].fields}
        typed: dict[str, object] = {}
        for key, text in part.texts:
            field = keys[key]
            if field.kind == "lines":
                columns = [column.key for column in field.columns]
                typed[key] = [dict(zip(columns, row, strict=True)) for row in text]
            elif field.kind == "truth":
                typed[key] = text == "true"
            else:
                typed[key] = list(text) if isinstance(text, tuple) else text
        reader = Reader(number_style=style)
        again = read_part(part_type(part.path), standing, typed, reader=reader)
        assert not reader.problems, (part.path, reader.problems)
        assert _is_near(again, standing), part.path
    assert len(seen) > 40
    assert set(PART_FORMS.values()) >= {part.form for part in every(plan)}


def _is_near(one: object, other: object, name: str = "") -> bool:
    """Equal but for the digits that a form does not show: three, and 0.1 °F of a temperature."""
    if isinstance(one, float) and isinstance(other, float):
        slack = 0.06 if name.endswith("_c") else 0.0
        return abs(one - other) <= 0.006 * abs(other) + slack
    if isinstance(one, tuple) and isinstance(other, tuple):
        return len(one) == len(other) and all(map(_is_near, one, other))
    slots = getattr(type(one), "__dataclass_fields__", None)
    if slots and type(one) is type(other):
        return all(_is_near(getattr(one, key), getattr(other, key), key) for key in slots)
    return one == other


def test_lines_say_target_boost_and_band() -> None:
    plan = compose_plan(
        house_of(),
        preference=UnitPreference.SI_M3H,
        number_style=NumberStyle.DECIMAL_COMMA,
    )
    notes = {part.path[-1]: part.note for part in every(plan) if part.form == "terminal"}
    assert notes["s1"] == "supply, 44,2 m³/h, band 37,4 m³/h to 57,8 m³/h"
    assert notes["x2"] == "extract, 51 m³/h, boost 64,6 m³/h, band from 42,5 m³/h"
