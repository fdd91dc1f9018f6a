"""Any record, with any text in any field, is written and read back to the same record."""

from __future__ import annotations

import tomllib
import types
from dataclasses import is_dataclass, replace
from datetime import UTC, date, datetime
from enum import StrEnum
from functools import cache
from typing import Annotated, Any, Union, get_args, get_origin

from hypothesis import given, settings
from hypothesis import strategies as st

from ventwright.exchange import canonical_json, from_json, write_house, write_visit
from ventwright.house import (
    HOUSE_SCHEMA,
    LOOK_OF_METHOD,
    VISIT_SCHEMA,
    House,
    Method,
    Reading,
    Recovery,
    SampleOrigin,
    Samples,
    Station,
    StationKind,
    System,
    TypedText,
    VentilationUnit,
    Visit,
    dimension_of,
    hints_of,
    key_of,
    parse_house,
    parse_visit,
)
from ventwright.quantities import AirKind, Dimension

TEXTS = st.text(st.characters(exclude_categories=("Cs",)), max_size=12)
# A reference inside a station's written form is set off by a colon and trimmed.
REFS = TEXTS.map(str.strip).filter(bool)
LIMITS = {
    Dimension.TEMPERATURE: (-200.0, 900.0),
    Dimension.PRESSURE: (-1e5, 1e5),
    Dimension.FRACTION: (1e-9, 1.0),
    Dimension.TURNS: (-50.0, 50.0),
    Dimension.ANGLE: (-90.0, 90.0),
}


@cache
def values(hint: Any) -> st.SearchStrategy[Any]:
    """Values of a field, from its annotation alone."""
    origin = get_origin(hint)
    if origin is Annotated:
        dimension = dimension_of(hint)
        assert dimension is not None
        low, high = LIMITS.get(dimension, (1e-9, 1e6))
        # Nothing that is typed lies nearer to zero than this without being zero.
        some = st.floats(low, high).filter(lambda value: abs(value) > 1e-20)
        return some | st.integers(1, int(high)).map(float)
    if origin in (Union, types.UnionType):
        parts = [part for part in get_args(hint) if part is not type(None)]
        return st.none() | st.one_of([values(part) for part in parts])
    if origin is tuple:
        return st.lists(values(get_args(hint)[0]), max_size=2).map(tuple)
    if is_dataclass(hint) and isinstance(hint, type):
        return records(hint)
    if isinstance(hint, type) and issubclass(hint, StrEnum):
        return st.sampled_from(list(hint))
    plain: dict[Any, st.SearchStrategy[Any]] = {
        str: TEXTS,
        bool: st.booleans(),
        date: st.dates(),
        datetime: st.datetimes(timezones=st.just(UTC)),
    }
    return plain[hint]


def records(kind: type) -> st.SearchStrategy[Any]:
    if kind is Reading:
        return readings()
    if kind is Station:
        return stations()
    return st.builds(kind, **{name: values(hint) for name, hint in hints_of(kind).items()})


@st.composite
def stations(draw: st.DrawFn) -> Station:
    kind = draw(st.sampled_from(StationKind))
    has_ref = kind not in (StationKind.PORT, StationKind.UNIT, StationKind.HOUSE)
    hints = hints_of(Station)
    return Station(
        kind=kind,
        stream=draw(st.sampled_from(AirKind)) if kind is StationKind.PORT else None,
        ref=draw(REFS) if has_ref else None,
        system=draw(values(hints["system"])),
        filter_side=draw(values(hints["filter_side"])),
    )


@st.composite
def readings(draw: st.DrawFn) -> Reading:
    method = draw(st.sampled_from(Method))
    hints = hints_of(Reading)
    head = {
        name: draw(values(hint))
        for name, hint in hints.items()
        if name not in ("method", "look", "typed", "samples")
    }
    look = draw(records(LOOK_OF_METHOD[method]))
    keys = TEXTS | st.sampled_from(["power", "velocities[0]", "section.diameter", "drops[1]"])
    texts = TEXTS | st.sampled_from(["1,234 m/s", "6 in", "0.5 Pa", "3", "−2,5 °C"])
    typed = st.builds(TypedText, key=keys, text=texts)
    return Reading(
        method=method,
        look=look,
        typed=draw(st.lists(typed, max_size=3).map(tuple)),
        samples=draw(samples_of(look)),
        **head,
    )


SYMBOLS = {
    Dimension.VELOCITY: "m/s",
    Dimension.PRESSURE: "Pa",
    Dimension.FLOW: "m³/s",
    Dimension.POWER: "W",
}


@st.composite
def samples_of(draw: st.DrawFn, look: Any) -> Samples | None:
    """None, or samples around one of the values that a method looked at."""
    found = []
    for name, hint in hints_of(type(look)).items():
        value, dimension = getattr(look, name), dimension_of(hint)
        value = value[0] if isinstance(value, tuple) and len(value) == 1 else value
        if isinstance(value, float) and dimension in SYMBOLS:
            found.append((key_of(name, hint), value, SYMBOLS[dimension]))
    if not found or draw(st.booleans()):
        return None
    key, value, symbol = draw(st.sampled_from(found))
    offs = draw(st.lists(st.sampled_from([0.0, 0.5]), max_size=3))
    return Samples(
        key=key,
        unit_of_measure=symbol,
        interval_s=draw(values(hints_of(Samples)["interval_s"])),
        texts=tuple(f"{value + sign * off:.9f}" for off in (0.0, *offs) for sign in (-1, 1)),
        origin=draw(st.sampled_from(SampleOrigin)),
        device=draw(TEXTS),
    )


def houses() -> st.SearchStrategy[House]:
    """Houses with one field filled at random, or one field of their only system."""
    bare = House(schema=HOUSE_SCHEMA, id="h", name="Barn")
    unit = VentilationUnit(name="machine", recovery=Recovery.HEAT)
    system = System(id="sys", ventilation_unit=unit)
    fields = _varied(bare, skip=("schema", "systems"))
    in_system = _varied(system, skip=("ventilation_unit",))
    in_unit = _varied(unit).map(lambda one: replace(system, ventilation_unit=one))
    return fields | (in_system | in_unit).map(lambda one: replace(bare, systems=(one,)))


def visits() -> st.SearchStrategy[Visit]:
    """Visits with one field filled at random; every other one has readings."""
    bare = Visit(schema=VISIT_SCHEMA, id="v", house="h")
    with_readings = st.lists(readings(), min_size=1, max_size=2).map(tuple)
    return _varied(bare, skip=("schema", "readings")) | with_readings.map(
        lambda some: replace(bare, readings=some)
    )


def _varied(record: Any, skip: tuple[str, ...] = ()) -> st.SearchStrategy[Any]:
    hints = {name: hint for name, hint in hints_of(type(record)).items() if name not in skip}
    return st.one_of(
        values(hint).map(lambda value, name=name: replace(record, **{name: value}))
        for name, hint in hints.items()
    )


@given(houses())
@settings(max_examples=100)
def test_houses_survive_their_file(house: House) -> None:
    found, problems = parse_house(tomllib.loads(write_house(house)))
    assert found == house
    # References between invented texts rarely hold; nothing else may be said.
    assert {p.code for p in problems} <= {
        *("unknown-reference", "repeated-id", "band-crossed", "side-clash", "branch-circle"),
    }


@given(visits())
@settings(max_examples=100)
def test_visits_survive_their_file(visit: Visit) -> None:
    found, problems = parse_visit(tomllib.loads(write_visit(visit)))
    assert found == visit
    assert {p.code for p in problems} <= {"unknown-reference", "repeated-id", "unknown-instrument"}


@given(houses() | visits())
@settings(max_examples=100)
def test_records_survive_canonical_json(record: House | Visit) -> None:
    data = canonical_json(record)
    again: object = from_json(type(record), data)
    assert again == record
    assert canonical_json(again) == data
