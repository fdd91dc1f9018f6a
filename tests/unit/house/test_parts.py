"""Parts of a plan: every one found, put back as it was, and changed without touching the rest."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace
from typing import Any

import pytest

from ventwright.actions import examples_folder
from ventwright.exchange import read_house
from ventwright.house import (
    Branch,
    Damper,
    DamperKind,
    House,
    PartPath,
    Reader,
    Terminal,
    check_house,
    part_at,
    part_keys,
    part_lists,
    part_sha256,
    part_type,
    part_values,
    put_part,
    read_part,
)
from ventwright.quantities import NumberStyle, Side, UserError

HOUSES = ("juniper_mesa", "harbour_terrace")


def house_of(name: str) -> House:
    house, problems = read_house(examples_folder() / name / "house.toml")
    assert house is not None
    assert not [p for p in problems if p.severity == "mistake"]
    return house


def paths(part: Any, at: PartPath = ()) -> Iterator[PartPath]:
    yield at
    for names, held in part_lists(type(part)):
        found = part
        for name in names:
            found = getattr(found, name)
        for i, one in enumerate(found):
            assert isinstance(one, held)
            yield from paths(one, (*at, *names, getattr(one, "id", str(i))))


@pytest.mark.parametrize("name", HOUSES)
def test_every_part_is_found_and_put_back_as_it_was(name: str) -> None:
    house = house_of(name)
    found = list(paths(house))
    assert len(found) > 40
    assert len(set(found)) == len(found)
    for path in found:
        part = part_at(house, path)
        assert part is not None
        assert isinstance(part, part_type(path))
        assert put_part(house, path, part) == house


@pytest.mark.parametrize("name", HOUSES)
def test_nothing_typed_changes_nothing(name: str) -> None:
    house = house_of(name)
    for path in paths(house):
        part = part_at(house, path)
        reader = Reader()
        assert read_part(part_type(path), part, {}, reader=reader) == part
        assert not reader.problems


@pytest.mark.parametrize("name", HOUSES)
def test_what_is_taken_out_and_put_in_again_stands_at_the_end(name: str) -> None:
    house = house_of(name)
    for path in paths(house):
        if not path:
            continue
        part = part_at(house, path)
        without = put_part(house, path, None)
        assert without != house
        listed = part_at(without, path)
        assert len(list(paths(without))) < len(list(paths(house)))
        # Of parts without an id the next one has its place now.
        if not path[-1].isdigit():
            assert listed is None
            again = put_part(without, path, part)
            assert part_at(again, path) == part
            assert {c.code for c in check_house(again)} == {c.code for c in check_house(house)}


@pytest.mark.parametrize("name", HOUSES)
def test_keys_are_those_of_house_files_and_each_stands_once(name: str) -> None:
    house = house_of(name)
    for path in paths(house):
        part = part_at(house, path)
        keys = [key for key, _ in part_keys(part_type(path))]
        assert len(set(keys)) == len(keys)
        assert {key for key, _, _ in part_values(part)} <= set(keys)


def test_hash_sees_what_is_typed_and_not_the_lists_inside() -> None:
    house = house_of("juniper_mesa")
    (system,) = house.systems
    terminal = system.terminals[0]
    assert part_sha256(terminal) == part_sha256(replace(terminal, ducts=()))
    assert part_sha256(system) == part_sha256(replace(system, terminals=()))
    assert part_sha256(terminal) != part_sha256(replace(terminal, place="high"))
    unit = replace(system.ventilation_unit, serial_no="7")
    assert part_sha256(system) != part_sha256(replace(system, ventilation_unit=unit))


def test_a_record_inside_is_changed_key_by_key_and_goes_when_emptied() -> None:
    damper = Damper(kind=DamperKind.IRIS, diameter_m=0.125, place="hatch")
    branch = Branch(id="b1", side=Side.SUPPLY, damper=damper)
    reader = Reader(number_style=NumberStyle.DECIMAL_COMMA)
    changed = read_part(Branch, branch, {"damper.diameter": "160,5 mm"}, reader=reader)
    assert changed is not None
    assert changed.damper is not None
    assert changed.damper.diameter_m == pytest.approx(0.1605)
    assert replace(changed.damper, diameter_m=0.125) == damper
    half = {"damper.diameter": None, "damper.place": None}
    kept = read_part(Branch, branch, half, reader=reader)
    assert kept is not None
    assert kept.damper == Damper(kind=DamperKind.IRIS)
    assert not reader.problems
    gone = read_part(Branch, branch, {**half, "damper.kind": None}, reader=reader)
    assert gone == replace(branch, damper=None)
    # A kind can't go while the rest stays.
    read_part(Branch, branch, {"damper.kind": None}, reader=reader)
    assert [(p.code, p.where) for p in reader.problems] == [("missing-key", "damper.kind")]


def test_good_values_beside_a_mistake_are_read_and_the_mistake_is_named() -> None:
    reader = Reader()
    typed = {"side": "supply", "room": "hall", "design_flow": "25 furlongs", "place": "high"}
    terminal = read_part(Terminal, None, {"id": "s1", **typed}, reader=reader)
    assert terminal is not None
    assert (terminal.room, terminal.place, terminal.design_flow_m3_s) == ("hall", "high", None)
    (problem,) = reader.problems
    assert problem.where == "design_flow"
    assert "furlongs" in problem.message


@pytest.mark.parametrize(
    "path",
    [
        ("attic",),
        ("rooms",),
        ("name",),
        ("systems", "hrv", "pumps", "p1"),
        ("systems", "hrv", "terminals", "s1", "opening_table", "0"),
        ("rule_sets", "own_targets"),
    ],
)
def test_a_path_that_leads_nowhere_is_refused(path: PartPath) -> None:
    house = house_of("juniper_mesa")
    jobs: tuple[Callable[[], object], ...] = (
        lambda: part_type(path),
        lambda: part_at(house, path),
        lambda: put_part(house, path, None),
    )
    for job in jobs:
        with pytest.raises(UserError) as caught:
            job()
        assert caught.value.problems[0].code == "unknown-part"


def test_a_part_is_not_put_into_a_list_that_is_not_there() -> None:
    house = house_of("juniper_mesa")
    terminal = house.systems[0].terminals[0]
    with pytest.raises(UserError) as caught:
        put_part(house, ("systems", "none", "terminals", "s9"), terminal)
    assert caught.value.problems[0].code == "unknown-part"
