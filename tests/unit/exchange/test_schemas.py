"""The published JSON Schemas, tried with an independent validator (the jsonschema package)."""

from __future__ import annotations

import json
import tomllib
from datetime import date
from typing import Any

import jsonschema
import pytest

from tests.unit.exchange.samples import HOUSE, VISIT
from ventwright.exchange import json_schemas
from ventwright.house import LOOK_OF_METHOD, Reading, Visit, hints_of, key_of

SCHEMAS = json_schemas()


def plain(value: Any) -> Any:
    """What a file holds, with dates as the texts that JSON has for them."""
    if isinstance(value, dict):
        return {key: plain(item) for key, item in value.items()}
    if isinstance(value, list):
        return [plain(item) for item in value]
    return value.isoformat() if isinstance(value, date) else value


def mistakes(name: str, text: str) -> list[str]:
    validator = jsonschema.Draft202012Validator(
        SCHEMAS[name], format_checker=jsonschema.FormatChecker()
    )
    return [found.json_path for found in validator.iter_errors(plain(tomllib.loads(text)))]


@pytest.mark.parametrize("name", SCHEMAS)
def test_they_are_schemas(name: str) -> None:
    jsonschema.Draft202012Validator.check_schema(SCHEMAS[name])
    assert SCHEMAS[name]["$schema"].endswith("2020-12/schema")


def test_good_files_are_valid() -> None:
    assert mistakes("house.schema.json", HOUSE) == []
    assert mistakes("visit.schema.json", VISIT) == []


@pytest.mark.parametrize(
    ("old", "new", "path"),
    [
        ('"300 m³"', '"300"', "$.volume"),
        ('"300 m³"', "300", "$.volume"),
        ('"300 m³"', '"large"', "$.volume"),
        ("volume", "vloume", "$"),
        ('"bathroom"', '"bath room"', "$.rooms[0].kind"),
        ('name = "Bath"\n', "", "$.rooms[0]"),
        ('"ventwright-house-1"', '"ventwright-house-2"', "$.schema"),
        ('id = "bath"', "id = 7", "$.rooms[0].id"),
    ],
)
def test_mistakes_in_a_house_are_found(old: str, new: str, path: str) -> None:
    assert mistakes("house.schema.json", HOUSE.replace(old, new)) == [path]


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("terminal:t.1", "terminal"),
        ('"direct_flow"', '"guess"'),
        ('"as_left"', '"as left"'),
        ("flows", "flow"),
        ('"12 L/s"', "12"),
        ('setting = "day"\n', ""),
        ('id = "r1"', 'id = "r1"\npower = "62 W"'),
        ('id = "r1"', 'id = "r1"\nlook = "x"'),
        ('id = "v"', 'id = "v"\nreadings_csv = "../r.csv"'),
    ],
)
def test_mistakes_in_a_visit_are_found(old: str, new: str) -> None:
    assert mistakes("visit.schema.json", VISIT.replace(old, new))


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("terminal:t.1", "SUP"),
        ("terminal:t.1", "eta"),
        ('[\n  "12 L/s",\n  "13 L/s",\n]', '"42,5 m³/h"'),
        ('"12 L/s"', '"−1 234,5 L/s"'),
        ('id = "v"', 'id = "v"\nreadings_csv = "r.csv"'),
        ('id = "r1"', 'id = "r1"\nat = 2026-02-11T09:20:00-07:00'),
        ('id = "r1"', 'id = "r1"\ntyped = [{ key = "flows[0]", text = "12" }]'),
        ('id = "r1"', 'id = "r1"\nfilter_side = "after"\nsystem = "sys"'),
    ],
)
def test_other_ways_of_typing_are_accepted(old: str, new: str) -> None:
    assert mistakes("visit.schema.json", VISIT.replace(old, new)) == []


@pytest.mark.parametrize("text", ["3", "3.5", '"3"', '"1 200"'])
def test_plain_numbers_with_or_without_quotes(text: str) -> None:
    assert mistakes("house.schema.json", f"people = {text}\n" + HOUSE) == []


def test_every_method_has_its_keys() -> None:
    defs = SCHEMAS["visit.schema.json"]["$defs"]
    branches = defs["Reading"]["allOf"]
    assert len(branches) == len(LOOK_OF_METHOD)
    for branch in branches:
        name = branch["then"]["$ref"].rpartition("/")[2]
        look = next(look for look in LOOK_OF_METHOD.values() if look.__name__ == name)
        keys = {key_of(field, hint) for field, hint in hints_of(look).items()}
        assert set(defs[name]["properties"]) == keys
        assert "additionalProperties" not in defs[name]


def test_keys_are_those_that_are_typed_and_docstrings_speak_of_them() -> None:
    visit = SCHEMAS["visit.schema.json"]
    assert set(visit["properties"]) == set(hints_of(Visit)) | {"readings_csv"}
    assert set(visit["$defs"]["Reading"]["properties"]) == (
        set(hints_of(Reading)) - {"look"} | {"system", "filter_side"}
    )
    terminal = SCHEMAS["house.schema.json"]["$defs"]["Terminal"]
    assert "`design_flow`" in terminal["description"]
    assert "_m3_s" not in json.dumps(SCHEMAS)


def test_quantities_name_their_units_and_an_example() -> None:
    flow = SCHEMAS["house.schema.json"]["$defs"]["flow"]
    assert flow["examples"] == ["25 cfm"]
    assert "L/s" in flow["description"]
    for definition in SCHEMAS["visit.schema.json"]["$defs"].values():
        assert definition.get("description"), definition
