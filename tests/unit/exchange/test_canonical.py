"""Canonical JSON and the way back."""

from __future__ import annotations

import hashlib
import json
import math
from dataclasses import dataclass, field, replace
from datetime import UTC, date, datetime, timedelta, timezone
from enum import StrEnum

import pytest

from ventwright.exchange import canonical_json, digest, from_json
from ventwright.house import (
    DuctKind,
    DuctPiece,
    ExchangerPressure,
    House,
    Instrument,
    InstrumentKind,
    Method,
    Phase,
    Reading,
    Room,
    RoomKind,
    Station,
    StationKind,
    TerminalPressure,
    Visit,
)
from ventwright.quantities import UserError


class Word(StrEnum):
    ONE = "one"
    TWO = "two"


@dataclass(frozen=True, slots=True, kw_only=True)
class Inner:
    value: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Other:
    value: float = 0.0
    note: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Record:
    """A record with a field of every kind."""

    schema: str = "record-1"
    truth: bool = False
    count: int = 0
    value: float = 0.0
    maybe: float | None = None
    text: str = ""
    word: Word = Word.ONE
    day: date = date(2026, 1, 2)
    at: datetime = datetime(2026, 1, 2, 3, 4, 5, tzinfo=UTC)
    pair: tuple[str, float] = ("a", 1.0)
    rows: tuple[tuple[float, ...], ...] = ()
    by_name: dict[str, float] = field(default_factory=dict)
    by_word: dict[Word, tuple[Inner, ...]] = field(default_factory=dict)
    inner: Inner | None = None
    either: Inner | Other | None = None
    several: tuple[Inner | Other, ...] = ()
    mixed: str | float = ""


FULL = Record(
    truth=True,
    count=3,
    value=0.1,
    maybe=1e-30,
    text='Größe "x" \u2028 😀',
    word=Word.TWO,
    day=date(2025, 12, 31),
    at=datetime(2026, 1, 2, 3, 4, 5, 678900, tzinfo=UTC),
    pair=("b", 2.5),
    rows=((1.0, 2.0), (), (3.0,)),
    by_name={"z": 1.0, "a": 2.0},
    by_word={Word.TWO: (Inner(value=1.0),)},
    inner=Inner(value=2.0),
    either=Other(note="x"),
    several=(Inner(value=1.0), Other(value=1.0)),
    mixed=2.5,
)


def refused(data: str | bytes, kind: type = Record) -> tuple[str, str]:
    with pytest.raises(UserError) as caught:
        from_json(kind, data.encode() if isinstance(data, str) else data)
    problem = caught.value.problems[0]
    assert problem.message and problem.remedy
    return problem.code, problem.where


@pytest.mark.parametrize("record", [Record(), FULL])
def test_every_kind_of_field_comes_back(record: Record) -> None:
    data = canonical_json(record)
    assert from_json(Record, data) == record
    assert canonical_json(from_json(Record, data)) == data


def test_the_form_is_canonical() -> None:
    data = canonical_json(FULL)
    assert data.endswith(b"}\n") and data.count(b"\n") == 1
    plain = json.loads(data)
    again = json.dumps(plain, sort_keys=True, ensure_ascii=False, separators=(",", ":"))
    assert data.decode() == again + "\n"
    assert plain["at"] == "2026-01-02T03:04:05.678900Z"
    assert "Größe" in data.decode()


def test_equal_records_give_equal_bytes() -> None:
    hour = timezone(timedelta(hours=-7))
    shifted = replace(
        FULL,
        at=FULL.at.astimezone(hour),
        inner=Inner(value=2),
        by_name={"a": 2, "z": 1},
        rows=((1, 2), (), (3,)),
    )
    assert shifted == FULL
    assert canonical_json(shifted) == canonical_json(FULL)
    assert canonical_json(Inner(value=-0.0)) == canonical_json(Inner(value=0.0))
    piece = DuctPiece(kind=DuctKind.ROUND)
    assert canonical_json(piece) == canonical_json(replace(piece, count=1.0))


def test_looks_that_share_their_keys_come_back_as_what_they_were() -> None:
    reading = Reading(
        id="r",
        station=Station(kind=StationKind.UNIT),
        method=Method.EXCHANGER_PRESSURE,
        look=ExchangerPressure(drops_pa=(40.0,)),
        setting="day",
        phase=Phase.AS_LEFT,
    )
    other = replace(reading, look=TerminalPressure(drops_pa=(40.0,)))
    for one in (reading, other):
        assert from_json(Reading, canonical_json(one)) == one
    assert b'"record":"ExchangerPressure"' in canonical_json(reading)


def test_infinity_is_shown_and_not_read() -> None:
    data = canonical_json(Inner(value=math.inf))
    assert data == b'{"value":"inf"}\n'
    assert canonical_json(Inner(value=-math.inf)) == b'{"value":"-inf"}\n'
    assert refused(data, Inner) == ("wrong-kind", "value")


@pytest.mark.parametrize(
    ("record", "kind"),
    [
        (Inner(value=math.nan), ValueError),
        (Record(at=datetime(2026, 1, 2)), ValueError),  # noqa: DTZ001
        (Record(text="\ud800"), ValueError),
        (Record(text=[]), TypeError),  # type: ignore[arg-type]
        (Record(inner=Inner), TypeError),  # type: ignore[arg-type]
        (Record(by_name={1: 1.0}), TypeError),  # type: ignore[dict-item]
    ],
)
def test_what_no_record_holds_is_not_written(record: object, kind: type[Exception]) -> None:
    with pytest.raises(kind):
        canonical_json(record)


@pytest.mark.parametrize(
    ("key", "value"),
    [
        ("value", "true"),
        ("value", '"1.0"'),
        ("value", "null"),
        ("value", "[1.0]"),
        ("value", "1" * 400),
        ("count", "1.0"),
        ("count", "true"),
        ("truth", "1"),
        ("truth", '"true"'),
        ("text", "1"),
        ("word", '"three"'),
        ("word", "1"),
        ("day", '"2026-13-01"'),
        ("day", "20260102"),
        ("at", '"2026-01-02T03:04:05"'),
        ("at", "1767322800"),
        ("pair", '["a"]'),
        ("pair", '["a", 1.0, 2.0]'),
        ("rows", "1.0"),
        ("by_name", "[]"),
        ("inner", "3.0"),
        ("inner", "[]"),
    ],
)
def test_nothing_is_coerced(key: str, value: str) -> None:
    assert refused(f'{{"schema":"record-1","{key}":{value}}}') == ("wrong-kind", key)


@pytest.mark.parametrize(
    ("text", "code", "where"),
    [
        ('"rows":[[1.0],[2.0,"3"]]', "wrong-kind", "rows[1][1]"),
        ('"by_name":{"a":true}', "wrong-kind", "by_name.a"),
        ('"by_word":{"three":[]}', "wrong-kind", "by_word.three"),
        ('"inner":{}', "missing-key", "inner.value"),
        ('"inner":{"value":1.0,"vlaue":1.0}', "unknown-key", "inner.vlaue"),
        ('"either":{"value":1.0}', "wrong-kind", "either.record"),
        ('"either":{"record":"Record"}', "wrong-kind", "either.record"),
        ('"several":[{"record":"Other","valeu":1.0}]', "unknown-key", "several[0].valeu"),
    ],
)
def test_the_place_of_a_mistake_is_named(text: str, code: str, where: str) -> None:
    assert refused(f'{{"schema":"record-1",{text}}}') == (code, where)


@pytest.mark.parametrize(
    "text",
    [
        *("", "{", "nul", '{"value":NaN}', '{"value":-Infinity}', '{"value":1e999}'),
        *('{"value":1,"value":2}', "[" * 100_000, '{"text":"\\ud8"}'),
    ],
)
def test_what_is_no_json_of_a_record(text: str) -> None:
    assert refused(text)[0] == "malformed-json"


def test_bytes_that_are_not_utf_8() -> None:
    assert refused(b'{"text":"\xff"}')[0] == "malformed-json"


@pytest.mark.parametrize("text", ["[]", "1", "null", '"x"'])
def test_json_of_something_else(text: str) -> None:
    assert refused(text)[0] == "wrong-kind"


def test_keys_with_a_default_may_be_missing_others_not() -> None:
    assert from_json(Record, b'{"schema":"record-1"}') == Record()
    assert refused("{}", Inner) == ("missing-key", "value")


@pytest.mark.parametrize("schema", ['"record-2"', "null", "1", ""])
def test_an_unknown_schema_is_refused(schema: str) -> None:
    text = f'{{"schema":{schema}}}' if schema else "{}"
    assert refused(text) == ("unknown-schema", "schema")


def test_schemas_of_houses_and_visits_are_known() -> None:
    assert refused('{"schema":"ventwright-house-2","id":"h","name":"x"}', House) == (
        "unknown-schema",
        "schema",
    )
    assert refused('{"schema":"ventwright-house-1","id":"h","house":"x"}', Visit) == (
        "unknown-schema",
        "schema",
    )


def test_a_marked_number_is_a_number() -> None:
    room = Room(id="r", name="R", kind=RoomKind.HALL, floor_area_m2=3)
    assert b'"floor_area_m2":3.0' in canonical_json(room)
    assert from_json(Room, canonical_json(room)) == room
    meter = Instrument(id="i", kind=InstrumentKind.PITOT, calibrated_on=date(2025, 1, 2))
    assert from_json(Instrument, canonical_json(meter)) == meter


def test_the_digest_is_sha_256() -> None:
    # Source of the first value: FIPS 180-4 example, message "abc".
    expected = "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"
    assert digest(b"abc") == expected == hashlib.sha256(b"abc").hexdigest()
