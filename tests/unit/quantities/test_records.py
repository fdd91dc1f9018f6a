"""Records behave as the standard library's dataclasses do, form for form."""

from __future__ import annotations

import copy
import dataclasses
import pickle
from collections.abc import Callable
from dataclasses import FrozenInstanceError, field
from typing import Any

import pytest
from pydantic import TypeAdapter, ValidationError

from ventwright.quantities.records import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class Ours:
    """A record."""

    flow_m3_s: float
    name: str = "bath"
    parts: tuple[int, ...] = field(default_factory=tuple)
    note: str = field(default="", compare=False, repr=False)
    twice_m3_s: float = field(init=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "twice_m3_s", 2.0 * self.flow_m3_s)


@dataclasses.dataclass(frozen=True, slots=True, kw_only=True)
class Standard:
    """The same, made by the standard library."""

    flow_m3_s: float
    name: str = "bath"
    parts: tuple[int, ...] = field(default_factory=tuple)
    note: str = field(default="", compare=False, repr=False)
    twice_m3_s: float = field(init=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "twice_m3_s", 2.0 * self.flow_m3_s)


def outcome(action: Callable[[Any], Any], kind: Any) -> str:
    """What an action gives or raises, with the class's own name taken out."""
    try:
        result = repr(action(kind))
    except (TypeError, AttributeError, FrozenInstanceError) as raised:
        result = f"{type(raised).__name__}: {raised}"
    return result.replace(kind.__name__, "Record")


def assign(kind: Any) -> None:
    kind(flow_m3_s=1.0).name = "hall"


def delete(kind: Any) -> None:
    del kind(flow_m3_s=1.0).name


def match(kind: Any) -> str:
    match kind(flow_m3_s=1.0):
        case kind(flow_m3_s=1.0, name=name):
            return str(name)
    return "no match"


ACTIONS: dict[str, Callable[[Any], Any]] = {
    "defaults": lambda kind: kind(flow_m3_s=1.5),
    "all fields": lambda kind: kind(flow_m3_s=1.5, name="hall", parts=(1,), note="n"),
    "missing": lambda kind: kind(name="hall"),
    "unknown": lambda kind: kind(flow_m3_s=1.0, colour="red"),
    "positional": lambda kind: kind(1.0),
    "not an argument": lambda kind: kind(flow_m3_s=1.0, twice_m3_s=3.0),
    "assign": assign,
    "delete": delete,
    "match": match,
    "equal": lambda kind: kind(flow_m3_s=1.0) == kind(flow_m3_s=1.0, note="not compared"),
    "not equal": lambda kind: kind(flow_m3_s=1.0) == kind(flow_m3_s=2.0),
    "another type": lambda kind: kind(flow_m3_s=1.0) == 1.0,
    "hash": lambda kind: hash(kind(flow_m3_s=1.0)) == hash(kind(flow_m3_s=1.0, note="n")),
    "in a set": lambda kind: len({kind(flow_m3_s=1.0), kind(flow_m3_s=1.0)}),
    "replace": lambda kind: dataclasses.replace(kind(flow_m3_s=1.0), flow_m3_s=2.0),
    "asdict": lambda kind: dataclasses.asdict(kind(flow_m3_s=1.0, parts=(1, 2))),
    "fields": lambda kind: [(f.name, f.kw_only, f.init) for f in dataclasses.fields(kind)],
    "params": lambda kind: kind.__dataclass_params__,
    "slots": lambda kind: kind.__slots__,
    "no dict": lambda kind: kind(flow_m3_s=1.0).__dict__,
    "doc": lambda kind: kind.__match_args__,
    "copy": lambda kind: copy.deepcopy(kind(flow_m3_s=1.0, parts=(1,))),
    "pickle": lambda kind: pickle.loads(pickle.dumps(kind(flow_m3_s=1.0, note="n"))).note,
}


@pytest.mark.parametrize("name", ACTIONS)
def test_record_does_what_the_standard_dataclass_does(name: str) -> None:
    assert outcome(ACTIONS[name], Ours) == outcome(ACTIONS[name], Standard)


def test_actions_do_not_all_end_the_same_way() -> None:
    outcomes = {outcome(action, Ours) for action in ACTIONS.values()}
    assert len(outcomes) > 12
    assert "FrozenInstanceError: cannot assign to field 'name'" in outcomes


def test_pydantic_validates_the_record_and_makes_its_schema() -> None:
    adapter = TypeAdapter(Ours)
    assert adapter.validate_python({"flow_m3_s": 1.0, "parts": [1]}) == Ours(
        flow_m3_s=1.0, parts=(1,)
    )
    with pytest.raises(ValidationError, match="flow_m3_s"):
        adapter.validate_python({"name": "hall"})
    ours, standard = adapter.json_schema(), TypeAdapter(Standard).json_schema()
    assert {**ours, "title": "", "description": ""} == {
        **standard,
        "title": "",
        "description": "",
    }


def test_default_factory_makes_a_new_value_each_time() -> None:
    @dataclass(frozen=True, slots=True, kw_only=True)
    class Holder:
        items: list[int] = field(default_factory=list)

    assert Holder().items is not Holder().items


def test_own_methods_are_kept() -> None:
    @dataclass(frozen=True, slots=True, kw_only=True)
    class Loud:
        name: str = "x"

        def __repr__(self) -> str:
            return "LOUD"

    assert repr(Loud()) == "LOUD"


def test_record_without_fields_takes_none() -> None:
    @dataclass(frozen=True, slots=True, kw_only=True)
    class Empty:
        """Nothing inside."""

    assert Empty() == Empty()
    with pytest.raises(TypeError):
        Empty(name="x")  # type: ignore[call-arg]


def test_inheriting_from_a_record_is_refused() -> None:
    with pytest.raises(TypeError, match="records hold other records"):

        @dataclass(frozen=True, slots=True, kw_only=True)
        class Child(Ours):
            """A second way to make one thing."""


def test_other_forms_are_the_standard_ones() -> None:
    @dataclass(slots=True)
    class Box:
        size_m: float

    box = Box(2.0)
    box.size_m = 3.0
    assert repr(box).endswith("Box(size_m=3.0)")
