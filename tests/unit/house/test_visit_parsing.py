"""A visit as typed: each reading that can be read is kept exactly as it was typed."""

from __future__ import annotations

from datetime import UTC, date, datetime
from typing import Any

import pytest

from ventwright.house import (
    HOUSE_SCHEMA,
    LOOK_OF_METHOD,
    VISIT_SCHEMA,
    House,
    Method,
    Reader,
    Station,
    StationKind,
    Sweep,
    TypedText,
    Visit,
    parse_house,
    parse_reading,
    parse_visit,
    station_from,
    station_text,
)
from ventwright.quantities import AirKind, Problem, Severity


def visit(**parts: Any) -> dict[str, Any]:
    return {"schema": VISIT_SCHEMA, "id": "v", "house": "h", **parts}


HEAD = {"id": "r1", "station": "unit", "setting": "day", "phase": "as_found"}


def reading(**parts: Any) -> dict[str, Any]:
    return {**HEAD, "method": "power", "power": "62 W", **parts}


def parsed(mapping: dict[str, Any], house: House | None = None) -> tuple[Visit, list[Problem]]:
    found, problems = parse_visit(mapping, house=house)
    assert found is not None, problems
    return found, list(problems)


@pytest.fixture(scope="module")
def house() -> House:
    found, problems = parse_house(
        {
            "schema": HOUSE_SCHEMA,
            "id": "h",
            "name": "Barn",
            "rooms": [{"id": "bath", "name": "Bath", "kind": "bathroom"}],
            "systems": [
                {
                    "id": "sys",
                    "ventilation_unit": {"name": "machine", "recovery": "heat"},
                    "fan_settings": [{"id": "day", "role": "continuous"}],
                    "branches": [{"id": "b1", "side": "extract"}],
                    "terminals": [{"id": "t1", "side": "extract", "room": "bath"}],
                }
            ],
        }
    )
    assert found is not None and not problems
    return found


def test_a_reading_keeps_its_texts_beside_its_values() -> None:
    found, problems = parsed(
        visit(
            readings=[
                {
                    **HEAD,
                    "method": "sweep",
                    "station": "SUP",
                    "section": {"diameter": "6 in"},
                    "velocities": ["427 fpm", "2,17 m/s"],
                    "at": datetime.fromisoformat("2026-02-11T09:20:00-07:00"),
                }
            ]
        )
    )
    assert problems == []
    one = found.readings[0]
    assert isinstance(one.look, Sweep)
    assert one.look.velocities_m_s == pytest.approx((2.16916, 2.17))
    assert one.at == datetime(2026, 2, 11, 16, 20, tzinfo=UTC)
    assert one.typed == (
        TypedText(key="section.diameter", text="6 in"),
        TypedText(key="velocities[0]", text="427 fpm"),
        TypedText(key="velocities[1]", text="2,17 m/s"),
    )


def test_typed_texts_may_be_listed_where_they_are_not_the_values() -> None:
    listed = [{"key": "power", "text": "1.234 W, decimal point"}]
    found, problems = parsed(visit(readings=[reading(typed=listed)]))
    assert problems == []
    assert found.readings[0].typed == (TypedText(**listed[0]),)


def test_one_value_alone_is_a_list_of_one() -> None:
    one = {**HEAD, "method": "hood", "station": "terminal:t1", "flows": "12 L/s"}
    found, problems = parsed(visit(readings=[one]))
    assert problems == []
    assert found.readings[0].look.flows_m3_s == (0.012,)  # type: ignore[union-attr]


@pytest.mark.parametrize(
    ("parts", "code", "where"),
    [
        ({"power": "62 Pa"}, "wrong-dimension", "readings[0].power"),
        ({"power": "48 kWh"}, "wrong-dimension", "readings[0].power"),
        ({"method": "pwoer"}, "unknown-word", "readings[0].method"),
        ({"phase": "as left"}, "unknown-word", "readings[0].phase"),
        ({"station": "sup2"}, "unknown-station", "readings[0].station"),
        ({"station": "terminal:"}, "unknown-station", "readings[0].station"),
        ({"station": 3}, "unknown-station", "readings[0].station"),
        ({"filter_side": "beyond"}, "unknown-word", "readings[0].filter_side"),
        ({"system": 3}, "wrong-kind", "readings[0].system"),
        ({"faze": "as_left"}, "unknown-key", "readings[0].faze"),
        ({"at": datetime(2026, 2, 11, 9, 20)}, "time-without-zone", "readings[0].at"),  # noqa: DTZ001
        ({"at": date(2026, 2, 11)}, "wrong-kind", "readings[0].at"),
        ({"is_defrosting": "yes"}, "wrong-kind", "readings[0].is_defrosting"),
        ({"typed": "62 W"}, "not-a-list", "readings[0].typed"),
    ],
)
def test_each_kind_of_mistake_names_its_place(parts: dict[str, Any], code: str, where: str) -> None:
    _, problems = parsed(visit(readings=[reading(**parts)]))
    assert [(p.code, p.where) for p in problems] == [(code, where)]
    assert problems[0].remedy


@pytest.mark.parametrize("key", ["id", "station", "method", "setting", "phase", "power"])
def test_each_required_key_is_missed(key: str) -> None:
    one = reading()
    del one[key]
    if key == "method":
        del one["power"]
    found, problems = parsed(visit(readings=[one, reading(id="r2")]))
    assert [(p.code, p.where) for p in problems] == [("missing-key", f"readings[0].{key}")]
    assert [r.id for r in found.readings] == ["r2"]


def test_an_unknown_key_of_a_reading_is_sought_among_head_and_method() -> None:
    _, problems = parsed(visit(readings=[reading(suprsedes="r0", powr="62 W")]))
    assert [p.remedy for p in problems] == [
        "did you mean 'supersedes'?",
        "did you mean 'power'?",
    ]


def test_every_mistake_of_a_reading_is_found_at_once() -> None:
    _, problems = parsed(visit(readings=[reading(station="x", phase="y", power="62 m")]))
    assert {p.where for p in problems} == {
        "readings[0].station",
        "readings[0].phase",
        "readings[0].power",
    }


def test_time_at_the_edge_of_the_calendar_is_refused() -> None:
    early = datetime.fromisoformat("0001-01-01T00:00:00+14:00")
    _, problems = parsed(visit(readings=[reading(at=early)]))
    assert [p.where for p in problems] == ["readings[0].at"]


@pytest.mark.parametrize("readings", [{"id": "r1"}, "r1", 7])
def test_readings_that_are_no_list(readings: object) -> None:
    found, problems = parsed(visit(readings=readings))
    assert found.readings == ()
    assert [(p.code, p.where) for p in problems] == [("not-a-list", "readings")]


def test_a_reading_that_is_no_table() -> None:
    reader = Reader()
    assert parse_reading("62 W", where="readings[0]", reader=reader) is None
    assert [p.code for p in reader.problems] == ["not-a-table"]


@pytest.mark.parametrize(
    ("text", "station"),
    [
        *((a.value, Station(kind=StationKind.PORT, stream=a)) for a in AirKind),
        ("eta", Station(kind=StationKind.PORT, stream=AirKind.EXTRACT)),
        ("unit", Station(kind=StationKind.UNIT)),
        ("house", Station(kind=StationKind.HOUSE)),
        ("branch:b1", Station(kind=StationKind.BRANCH, ref="b1")),
        ("terminal: t1", Station(kind=StationKind.TERMINAL, ref="t1")),
        ("room:bath", Station(kind=StationKind.ROOM, ref="bath")),
        ("surface:a:b", Station(kind=StationKind.SURFACE, ref="a:b")),
    ],
)
def test_stations_by_their_written_form(text: str, station: Station) -> None:
    assert station_from(text) == station
    assert station_from(station_text(station)) == station


@pytest.mark.parametrize(
    "text", ["", "port", "room", "unit:1", "SUP:1", "window:w", ":", "terminal"]
)
def test_texts_that_name_no_station(text: str) -> None:
    assert station_from(text) is None


def test_every_method_has_a_look() -> None:
    assert set(LOOK_OF_METHOD) == set(Method)
    assert len(set(LOOK_OF_METHOD.values())) == len(Method)


def test_readings_at_unknown_places_are_kept_and_refused(house: House) -> None:
    texts = ["terminal:t9", "branch:b9", "room:r9", "surface:s9"]
    readings = [
        reading(id=f"r{i}", station=text, method="direct_flow", flows=["1 L/s"], setting="day")
        for i, text in enumerate(texts)
    ]
    for one in readings:
        del one["power"]
    readings.append(reading(id="r8", setting="night"))
    readings.append(reading(id="r9", system="other"))
    found, problems = parsed(visit(readings=readings), house)
    assert len(found.readings) == 6
    assert {(p.code, p.severity) for p in problems} == {("unknown-reference", Severity.REFUSAL)}
    assert [p.where for p in problems] == [
        *(f"reading r{i}.station" for i in range(4)),
        "reading r8.setting",
        "reading r9.system",
    ]


def test_an_unlisted_instrument_is_a_warning() -> None:
    _, problems = parsed(visit(readings=[reading(instrument="w1")]))
    assert [(p.code, p.severity) for p in problems] == [("unknown-instrument", Severity.WARNING)]


def test_references_of_the_work_done(house: House) -> None:
    found, problems = parsed(
        visit(
            readings=[reading(supersedes="r0")],
            adjustments=[
                {"id": "a1", "kind": "terminal", "target": "t9", "after_reading": "r9"},
                {"id": "a2", "kind": "damper", "target": "b9"},
                {"id": "a3", "kind": "fan", "target": "night"},
                {"id": "a4", "kind": "other", "target": "anything"},
                {"id": "a5", "kind": "terminal", "target": "t1"},
            ],
            faults=[{"id": "f1", "what": "leak", "retest_reading": "r9"}],
            final_settings=[{"target": "t8", "kind": "terminal"}],
            walk_through=[{"item": "filters", "outcome": "fault", "fault": "f9"}],
        ),
        house,
    )
    assert len(found.adjustments) == 5
    assert {p.code for p in problems} == {"unknown-reference"}
    assert {p.where for p in problems} == {
        "reading r1.supersedes",
        "adjustment a1.target",
        "adjustment a1.after_reading",
        "adjustment a2.target",
        "adjustment a3.target",
        "fault f1.retest_reading",
        "final_setting t8.target",
        "walk_through[0].fault",
    }


def test_a_visit_to_another_house(house: House) -> None:
    mapping = visit() | {"house": "barn"}
    _, problems = parsed(mapping, house)
    assert [(p.code, p.where) for p in problems] == [("other-house", "house")]


def test_repeated_ids_of_readings_and_instruments() -> None:
    one = {"id": "i", "kind": "manometer"}
    _, problems = parsed(visit(readings=[reading(), reading()], instruments=[one, one]))
    assert [(p.code, p.where) for p in problems] == [
        ("repeated-id", "readings"),
        ("repeated-id", "instruments"),
    ]


def test_further_readings_come_last_and_are_checked_with_the_others() -> None:
    first, _ = parsed(visit(readings=[reading(supersedes="r2")]))
    second, _ = parsed(visit(readings=[reading(id="r2")]))
    found, problems = parse_visit(
        visit(readings=[reading(supersedes="r2")]), further_readings=second.readings
    )
    assert found is not None
    assert [r.id for r in found.readings] == ["r1", "r2"]
    assert problems == ()
    assert first.readings[0].supersedes == "r2"


def test_an_unknown_schema_is_refused() -> None:
    found, problems = parse_visit(visit() | {"schema": "ventwright-visit-9"})
    assert found is None
    assert [(p.code, p.where) for p in problems] == [("unknown-schema", "schema")]
