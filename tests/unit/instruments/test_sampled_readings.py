"""Readings whose value is a timed average: samples widen what is usual, and never narrow it."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

import pytest

from tests.unit.instruments.cases import (
    codes,
    flow_of,
    interpret,
    message,
    meter,
    reading,
    share_of,
)
from ventwright.house import InstrumentKind, sample_numbers
from ventwright.instruments import interpret_scalar

THERMAL = meter(InstrumentKind.THERMAL_ANEMOMETER)
CALM = ["2.31", "2.32", "2.30", "2.31", "2.31", "2.32", "2.30", "2.31"]
GUSTY = ["1.20", "3.60", "1.10", "3.40", "1.30", "3.50", "1.10", "3.28"]
DRIFTING = ["2.00", "2.09", "2.18", "2.27", "2.35", "2.44", "2.53", "2.62"]


def sweep(texts: list[str], unit: str = "m/s", **fields: Any) -> Any:
    mean = math.fsum(map(float, texts)) / len(texts)
    samples = {"key": "velocities", "unit_of_measure": unit, "interval": "2 s", "texts": texts}
    return reading(
        "sweep",
        section={"diameter": "6 in"},
        velocities=[f"{mean:.4f} {unit}"],
        path="stops",
        samples=samples,
        **fields,
    )


def scatter(texts: list[str], unit: str = "m/s") -> float:
    """Relative standard uncertainty that scatter adds to the flow."""
    return share_of(flow_of(interpret(sweep(texts, unit), THERMAL)), "reading:r1:scatter")


def test_calm_samples_leave_what_is_usual_for_a_hand() -> None:
    plain = reading("sweep", section={"diameter": "6 in"}, velocities=["2.31 m/s"], path="stops")
    expected = share_of(flow_of(interpret(plain, THERMAL)), "reading:r1:scatter")
    assert scatter(CALM) == pytest.approx(expected, rel=1e-3)


def test_gusty_samples_widen_it_by_their_own_standard_error() -> None:
    """Neighbours that alternate are taken as independent: s/√n, worked out here."""
    numbers = [float(text) for text in GUSTY]
    mean = sum(numbers) / len(numbers)
    std = math.sqrt(sum((n - mean) ** 2 for n in numbers) / (len(numbers) - 1))
    assert scatter(GUSTY) == pytest.approx(std / math.sqrt(len(numbers)) / mean, rel=1e-3)


def test_the_unit_of_measure_of_samples_makes_no_difference() -> None:
    fpm = [f"{float(text) / 0.00508:.2f}" for text in GUSTY]
    assert scatter(fpm, "fpm") == pytest.approx(scatter(GUSTY), rel=1e-3)


def test_drift_is_told() -> None:
    found = interpret(sweep(DRIFTING), THERMAL)
    assert "27 %" in message(found, "samples-drift")
    assert "samples-drift" not in codes(interpret(sweep(CALM), THERMAL))


def test_samples_of_a_temperature_scale_differ_by_its_degrees() -> None:
    texts = ["68.0", "71.0", "67.0", "70.0", "66.5", "71.5"]
    one = reading(
        "surface_temperature",
        station="surface:w",
        temperature="69.0 °F",
        samples={
            "key": "temperature",
            "unit_of_measure": "°F",
            "interval": "5 s",
            "texts": texts,
        },
    )
    assert one.samples is not None
    numbers = sample_numbers(one.samples)
    mean = sum(numbers) / len(numbers)
    std_f = math.sqrt(sum((n - mean) ** 2 for n in numbers) / (len(numbers) - 1))
    estimate = interpret_scalar(one, instrument=None).estimate
    assert estimate is not None
    part = next(c for c in estimate.components if c.influence.id == "reading:r1:scatter")
    assert part.contribution == pytest.approx(std_f / math.sqrt(6) * 5 / 9, rel=1e-6)


@pytest.mark.parametrize(
    "change", [{"texts": ("x",) * 4}, {"texts": ()}, {"unit_of_measure": "kg"}, {"interval_s": 0.0}]
)
def test_samples_that_no_parser_passes_are_left_aside(change: dict[str, Any]) -> None:
    one = sweep(CALM)
    found = interpret(replace(one, samples=replace(one.samples, **change)), THERMAL)
    assert "samples-unreadable" in codes(found)
    assert flow_of(found).value > 0.0
