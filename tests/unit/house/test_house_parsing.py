"""A house as typed: good values are kept, each mistake is named where it stands."""

from __future__ import annotations

from typing import Any

import pytest

from ventwright.house import HOUSE_SCHEMA, House, parse_house
from ventwright.quantities import NumberStyle, Problem, Severity


def house(**parts: Any) -> dict[str, Any]:
    return {"schema": HOUSE_SCHEMA, "id": "h", "name": "Barn", **parts}


def system(**parts: Any) -> dict[str, Any]:
    machine = {"name": "machine", "recovery": "heat"}
    return {"id": "sys", "ventilation_unit": machine, **parts}


def terminal(**parts: Any) -> dict[str, Any]:
    return {"id": "t1", "side": "supply", "room": "r1", **parts}


ROOM = {"id": "r1", "name": "Room", "kind": "bedroom"}


def parsed(mapping: dict[str, Any]) -> tuple[House, tuple[Problem, ...]]:
    found, problems = parse_house(mapping)
    assert found is not None, problems
    return found, problems


def the_only(problems: tuple[Problem, ...]) -> Problem:
    assert len(problems) == 1, problems
    assert problems[0].severity is Severity.MISTAKE
    assert problems[0].remedy
    return problems[0]


def test_values_are_in_si_and_keys_lose_their_suffix() -> None:
    found, problems = parsed(
        house(
            altitude="6400 ft",
            rooms=[{**ROOM, "floor_area": "210 ft²", "people": 2}],
            systems=[system(terminals=[terminal(design_flow="25 cfm")])],
        )
    )
    assert problems == ()
    assert found.altitude_m == pytest.approx(1950.72)
    assert found.rooms[0].floor_area_m2 == pytest.approx(19.51, abs=0.01)
    assert found.rooms[0].people == 2
    assert found.systems[0].terminals[0].design_flow_m3_s == pytest.approx(0.011798686)


def test_one_unreadable_value_leaves_all_others() -> None:
    found, problems = parsed(
        house(rooms=[{**ROOM, "floor_area": "16 acres", "people": 2}], volume="300 m³")
    )
    problem = the_only(problems)
    assert (problem.code, problem.where) == ("unknown-unit", "rooms[0].floor_area")
    assert "'acres'" in problem.message
    assert found.rooms[0].floor_area_m2 is None
    assert found.rooms[0].people == 2
    assert found.volume_m3 == 300.0


@pytest.mark.parametrize(
    ("parts", "code", "where"),
    [
        ({"volume": "300"}, "no-unit", "volume"),
        ({"volume": 300}, "not-a-quantity", "volume"),
        ({"volume": True}, "not-a-quantity", "volume"),
        ({"people": True}, "not-a-quantity", "people"),
        ({"people": float("nan")}, "no-number", "people"),
        ({"volume": "300 m²"}, "wrong-dimension", "volume"),
        ({"volume": "-300 m³"}, "out-of-range", "volume"),
        ({"volume": "0 m³"}, "out-of-range", "volume"),
        ({"people": -1}, "out-of-range", "people"),
        ({"place": 7}, "wrong-kind", "place"),
        ({"rule_sets": ["a", 7]}, "wrong-kind", "rule_sets[1]"),
        ({"rooms": "bedroom"}, "not-a-list", "rooms"),
        ({"rooms": ["bedroom"]}, "not-a-table", "rooms[0]"),
        ({"envelope": "tight"}, "not-a-table", "envelope"),
        ({"envelope": {"test_pressure": "50 Pa"}}, "missing-key", "envelope.leakage_flow"),
        ({"surfaces": [{"id": "s", "kind": "roof"}]}, "unknown-word", "surfaces[0].kind"),
    ],
)
def test_each_kind_of_mistake_names_its_place(parts: dict[str, Any], code: str, where: str) -> None:
    _, problems = parsed(house(**parts))
    problem = the_only(problems)
    assert (problem.code, problem.where) == (code, where)


def test_altitude_and_storey_may_lie_below_zero() -> None:
    found, problems = parsed(house(altitude="-3 m", rooms=[{**ROOM, "storey": -1}]))
    assert problems == ()
    assert (found.altitude_m, found.rooms[0].storey) == (-3.0, -1.0)


def test_a_mistyped_key_is_answered_with_the_near_one() -> None:
    _, problems = parsed(house(rooms=[{**ROOM, "floor_aera": "16 m²"}]))
    problem = the_only(problems)
    assert (problem.code, problem.where) == ("unknown-key", "rooms[0].floor_aera")
    assert problem.remedy == "did you mean 'floor_area'?"


def test_a_key_like_no_other_is_answered_with_all_that_are_accepted() -> None:
    _, problems = parsed(house(rooms=[{**ROOM, "zzz": 1}]))
    assert "floor_area" in the_only(problems).remedy


def test_a_mistyped_word_is_answered_with_the_near_one_and_all_words() -> None:
    _, problems = parsed(house(rooms=[{**ROOM, "kind": "bedrom"}]))
    problem = the_only(problems)
    assert problem.code == "unknown-word"
    assert "did you mean 'bedroom'?" in problem.message
    assert "kitchen" in problem.remedy


def test_a_missing_key_leaves_out_its_item_only() -> None:
    found, problems = parsed(house(rooms=[{"id": "r1", "name": "Room"}, {**ROOM, "id": "r2"}]))
    problem = the_only(problems)
    assert (problem.code, problem.where) == ("missing-key", "rooms[0].kind")
    assert "bedroom" in problem.remedy
    assert [room.id for room in found.rooms] == ["r2"]


@pytest.mark.parametrize("schema", [None, "ventwright-house-2", "ventwright-visit-1", 1])
def test_an_unknown_schema_is_refused_with_what_to_do(schema: object) -> None:
    mapping = house()
    mapping["schema"] = schema
    found, problems = parse_house(mapping)
    assert found is None
    problem = the_only(problems)
    assert (problem.code, problem.where) == ("unknown-schema", "schema")
    assert HOUSE_SCHEMA in problem.remedy


def test_a_lone_comma_needs_a_number_style() -> None:
    mapping = house(volume="1,234 m³")
    assert the_only(parsed(mapping)[1]).code == "ambiguous-number"
    for style, value in ((NumberStyle.DECIMAL_POINT, 1234.0), (NumberStyle.DECIMAL_COMMA, 1.234)):
        found, problems = parse_house(mapping, number_style=style)
        assert (found and found.volume_m3, problems) == (value, ())


def test_repeated_ids_are_named() -> None:
    mapping = house(
        rooms=[ROOM, ROOM],
        systems=[system(terminals=[terminal(), terminal()], fan_settings=[])],
        surfaces=[{"id": "w", "kind": "window"}, {"id": "w", "kind": "wall"}],
    )
    _, problems = parsed(mapping)
    assert [(p.code, p.where) for p in problems] == [
        ("repeated-id", "rooms"),
        ("repeated-id", "surfaces"),
        ("repeated-id", "terminals"),
    ]


def test_references_that_lead_nowhere_name_the_item_and_what_is_listed() -> None:
    mapping = house(
        rooms=[ROOM],
        systems=[
            system(
                branches=[{"id": "b1", "side": "supply", "parent": "b7"}],
                terminals=[terminal(room="r9", branch="b9")],
            )
        ],
        surfaces=[{"id": "w", "kind": "window", "room": "r8"}],
    )
    _, problems = parsed(mapping)
    assert {(p.code, p.where) for p in problems} == {
        ("unknown-reference", "surface w.room"),
        ("unknown-reference", "terminal t1.room"),
        ("unknown-reference", "terminal t1.branch"),
        ("unknown-reference", "branch b1.parent"),
    }
    assert next(p for p in problems if p.where == "terminal t1.room").remedy == "listed: r1"


def test_branches_in_a_circle_are_each_named() -> None:
    parents = {"a": "b", "b": "c", "c": "a", "d": "a"}
    branches = [{"id": i, "side": "supply", "parent": p} for i, p in parents.items()]
    _, problems = parsed(house(systems=[system(branches=branches)]))
    assert [(p.code, p.where) for p in problems] == [
        ("branch-circle", f"branch {name}.parent") for name in "abc"
    ]


def test_sides_must_agree_along_a_path() -> None:
    mapping = house(
        rooms=[ROOM],
        systems=[
            system(
                branches=[
                    {"id": "b1", "side": "extract"},
                    {"id": "b2", "side": "supply", "parent": "b1"},
                ],
                terminals=[terminal(branch="b1")],
            )
        ],
    )
    _, problems = parsed(mapping)
    assert [(p.code, p.where) for p in problems] == [
        ("side-clash", "terminal t1.branch"),
        ("side-clash", "branch b2.parent"),
    ]


def test_a_band_that_is_crossed_is_named() -> None:
    mapping = house(
        rooms=[ROOM],
        systems=[system(terminals=[terminal(min_flow="30 cfm", max_flow="20 cfm")])],
    )
    _, problems = parsed(mapping)
    assert (the_only(problems).code, problems[0].where) == ("band-crossed", "terminal t1.min_flow")
