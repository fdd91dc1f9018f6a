"""Samples of a timed average: kept with the reading, held against its value."""

from __future__ import annotations

from typing import Any

import pytest

from ventwright.house import Reader, Reading, SampleOrigin, parse_reading

SAMPLES = {
    "key": "velocities",
    "unit_of_measure": "m/s",
    "interval": "1.02 s",
    "texts": ["2.31", "2.35", "2.30"],
}
READING = {
    "id": "r",
    "station": "SUP",
    "setting": "continuous",
    "phase": "as_found",
    "method": "sweep",
    "velocities": ["2.320 m/s"],
    "section": {"diameter": "160 mm"},
    "samples": SAMPLES,
}


def parsed(**changed: Any) -> tuple[Reading | None, list[tuple[str, str]]]:
    reader = Reader()
    reading = parse_reading(READING | changed, where="r", reader=reader)
    return reading, [(p.code, p.where) for p in reader.problems]


def test_samples_are_kept_as_shown() -> None:
    reading, problems = parsed()
    assert problems == []
    assert reading is not None
    assert reading.samples is not None
    assert reading.samples.texts == ("2.31", "2.35", "2.30")
    assert reading.samples.interval_s == 1.02
    assert reading.samples.origin is SampleOrigin.TYPED
    # What was typed is what the method looked at; the samples stand for themselves.
    assert [t.key for t in reading.typed] == ["section.diameter", "velocities[0]"]


@pytest.mark.parametrize(
    ("change", "code", "where"),
    [
        ({"key": "drops"}, "unknown-key", "r.samples.key"),
        ({"texts": ["2.31", "9.99"]}, "not-their-mean", "r.samples"),
        ({"texts": ["2.31", "2,35"]}, "malformed-number", "r.samples.texts[1]"),
        ({"texts": ["2.31", "nan"]}, "malformed-number", "r.samples.texts[1]"),
        ({"texts": []}, "not-samples", "r.samples"),
        ({"texts": ["2.32"] * 3601}, "not-samples", "r.samples"),
        ({"interval": "0 s"}, "not-samples", "r.samples"),
        ({"unit_of_measure": "Pa"}, "wrong-dimension", "r.samples.texts[0]"),
    ],
)
def test_samples_that_do_not_fit_are_left_out_with_a_word(
    change: dict[str, object], code: str, where: str
) -> None:
    reading, problems = parsed(samples=SAMPLES | change)
    assert problems == [(code, where)]
    assert reading is not None
    assert reading.samples is None


def test_samples_belong_to_one_value() -> None:
    _, problems = parsed(velocities=["2.320 m/s", "2.4 m/s"])
    assert problems == [("unknown-key", "r.samples.key")]


def test_temperatures_average_in_any_scale() -> None:
    samples = {
        "key": "temperature",
        "unit_of_measure": "°F",
        "interval": "5 s",
        "texts": ["68.0", "68.4"],
    }
    reading, problems = parsed(
        method="surface_temperature", station="surface:s", temperature="20.1 °C", samples=samples
    )
    # A surface has no velocities and no section: those two keys are what is wrong here.
    assert {code for code, _ in problems} == {"unknown-key"}
    assert {where for _, where in problems} == {"r.velocities", "r.section"}
    assert reading is not None
    assert reading.samples is not None
