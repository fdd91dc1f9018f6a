"""Loggers' files: columns found, times and units checked, what can't be used named."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

import pytest

from ventwright.exchange import read_log
from ventwright.house import LogColumn, LogMapping
from ventwright.quantities import UserError

MAPPING = LogMapping(
    time_header="Time",
    offset="-07:00",
    columns=(
        LogColumn(header="T1", key="temperature", unit_of_measure="°C"),
        LogColumn(header="RH", key="rel_humidity", unit_of_measure="%"),
    ),
)


def read(text: str, mapping: LogMapping = MAPPING):
    return read_log(text.encode(), mapping, path=Path("log.csv"))


def numbers(found):
    return [dict(sample.numbers) for sample in found.samples]


def test_a_plain_file_gives_samples_in_utc():
    found = read("Time,T1,RH\n2026-03-04 09:00:00,21.5,44\n2026-03-04 09:00:10,21.25,45.5\n")
    assert [s.at for s in found.samples] == [
        datetime(2026, 3, 4, 16, 0, 0, tzinfo=UTC),
        datetime(2026, 3, 4, 16, 0, 10, tzinfo=UTC),
    ]
    assert numbers(found) == [
        {"temperature": 21.5, "rel_humidity": 44.0},
        {"temperature": 21.25, "rel_humidity": 45.5},
    ]
    assert found.problems == ()


@pytest.mark.parametrize(
    ("header", "row"),
    [
        ("Time;T1;RH", "2026-03-04 09:00:00;21,5;44,0"),
        ("Time\tT1\tRH", "2026-03-04 09:00:00\t21.5\t44.0"),
        ("RH,x,T1,Time", "44,9,21.5,2026-03-04T16:00:00Z"),
        (" Time , T1 , RH ", " 2026-03-04T09:00:00-07:00 , 21.5 , 44 "),
        ('"Time","T1","RH"', '"2026-03-04 09:00:00","21.5","44"'),
    ],
)
def test_marks_between_cells_order_and_offsets_of_the_file_are_found(header, row):
    found = read(f"Logger 3000\nserial,17\n\n{header}\n{row}\n")
    assert numbers(found) == [{"temperature": 21.5, "rel_humidity": 44.0}]
    assert found.samples[0].at == datetime(2026, 3, 4, 16, tzinfo=UTC)


def test_a_form_of_times_and_decimal_commas_can_be_said():
    mapping = replace(MAPPING, time_form="%d.%m.%y %H:%M", has_decimal_comma=True)
    found = read('Time,T1,RH\n04.03.26 09:00,"21,500","44,25"\n', mapping)
    assert numbers(found) == [{"temperature": 21.5, "rel_humidity": 44.25}]


def test_times_without_an_offset_are_not_guessed():
    found = read("Time,T1,RH\n2026-03-04 09:00:00,21.5,44\n", replace(MAPPING, offset=""))
    assert found.samples == ()
    assert [(p.code, p.where) for p in found.problems] == [("time-without-zone", "log.csv:2")]


def test_times_that_repeat_or_go_back_are_left_out_and_named():
    rows = ["01:59:50", "01:59:50", "01:00:00", "02:00:10"]
    text = "".join(f"2026-11-01 {t},21,44\n" for t in rows)
    found = read(f"Time,T1,RH\n{text}")
    assert [s.at.strftime("%H:%M:%S") for s in found.samples] == ["08:59:50", "09:00:10"]
    assert [(p.code, p.where) for p in found.problems] == [
        ("time-goes-back", "log.csv:3"),
        ("time-goes-back", "log.csv:4"),
    ]


def test_cells_that_hold_no_number_are_left_out_and_the_others_kept():
    text = "Time,T1,RH\n2026-03-04 09:00:00,---,44\n2026-03-04 09:00:10,21.5,\nnever,1,2\n"
    found = read(text)
    assert numbers(found) == [{"rel_humidity": 44.0}, {"temperature": 21.5}]
    assert [(p.code, p.where) for p in found.problems] == [
        ("not-a-number", "log.csv:2"),
        ("unreadable-time", "log.csv:4"),
    ]


def test_a_thousand_bad_cells_are_not_a_thousand_messages():
    rows = "".join(f"2026-03-04 09:{i // 60:02}:{i % 60:02},err,err\n" for i in range(1000))
    found = read(f"Time,T1,RH\n{rows}")
    assert len(found.problems) == 21
    assert found.problems[-1].message.startswith("1980 more")


def test_a_gap_is_noted():
    minutes = (0, 1, 2, 3, 30, 31)
    rows = "".join(f"2026-03-04 09:{m:02}:00,21,44\n" for m in minutes)
    (gap,) = read(f"Time,T1,RH\n{rows}").problems
    assert (gap.code, "1620 s" in gap.message) == ("gap", True)


@pytest.mark.parametrize(
    ("change", "code"),
    [
        ({"time_header": "Datum"}, "no-header"),
        ({"offset": "MST"}, "unknown-offset"),
        (
            {"columns": (LogColumn(header="T2", key="temperature", unit_of_measure="°C"),)},
            "unknown-column",
        ),
        (
            {"columns": (LogColumn(header="T1", key="warmth", unit_of_measure="°C"),)},
            "unknown-key",
        ),
        (
            {"columns": (LogColumn(header="T1", key="temperature", unit_of_measure="Pa"),)},
            "wrong-unit",
        ),
        (
            {"columns": (LogColumn(header="T1", key="temperature", unit_of_measure=""),)},
            "wrong-unit",
        ),
    ],
)
def test_a_mapping_that_does_not_fit_is_refused_with_what_is_there(change, code):
    with pytest.raises(UserError) as caught:
        read("Time,T1,RH\n2026-03-04 09:00:00,21.5,44\n", replace(MAPPING, **change))
    assert caught.value.problems[0].code == code


@pytest.mark.parametrize(
    ("header", "unit", "is_refused"),
    [
        ("T1 [°F]", "°C", True),
        ("T1 (°C)", "°C", False),
        ("T1 [degC]", "°C", False),
        ("T1 [left]", "°C", False),
    ],
)
def test_a_unit_in_the_header_must_not_be_contradicted(header, unit, is_refused):
    columns = (LogColumn(header=header, key="temperature", unit_of_measure=unit),)
    mapping = replace(MAPPING, columns=columns)
    text = f"Time,{header}\n2026-03-04 09:00:00,70\n"
    if is_refused:
        with pytest.raises(UserError, match="another unit"):
            read(text, mapping)
    else:
        assert numbers(read(text, mapping)) == [{"temperature": 70.0}]
