"""Uncertainty against the worked examples and tables of the GUM and JCGM 106."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any

import pytest

from tests.reference import shelves
from ventwright.uncertainty import (
    Component,
    Distribution,
    Estimate,
    Influence,
    correlation,
    coverage_factor_from,
    exact,
    measured,
    prob_within,
    propagate,
    student_cdf,
    u_from_half_width,
)


def gum_h1(what: str) -> float:
    """End-gauge calibration, H.1, in nanometres; inputs as printed there."""
    standard = measured(50_000_623.0, u_std=25.0, id="ls", label="standard", dof=18)
    difference = measured(215.0, u_std=9.7, id="d", label="difference", dof=25.6)
    expansion_diff = measured(0.0, u_std=0.58e-6, id="dalpha", label="expansion", dof=50)
    temperature_diff = measured(0.0, u_std=0.029, id="dtheta", label="temperature", dof=2)
    expansion = measured(11.5e-6, u_std=1.2e-6, id="alpha", label="expansion of the standard")
    departure = measured(-0.1, u_std=0.41, id="theta", label="departure from 20 °C")

    def length(ls: float, d: float, da: float, dt: float, alpha: float, theta: float) -> float:
        return ls + d - ls * (da * theta + alpha * dt)

    found = propagate(
        length,
        [standard, difference, expansion_diff, temperature_diff, expansion, departure],
    )
    if what == "U99":
        return found.u_std * coverage_factor_from(coverage_frac=0.99, dof=math.floor(found.dof))
    return {"value": found.value * 1e-6, "u": found.u_std, "dof": found.dof}[what]


VOLT = (5.007, 4.994, 5.005, 4.990, 4.999)
MILLIAMPERE = (19.663, 19.639, 19.640, 19.685, 19.678)
PHASE = (1.0456, 1.0438, 1.0468, 1.0428, 1.0433)


def mean_of(values: tuple[float, ...]) -> Estimate:
    """Mean of simultaneous readings, each occasion an influence that all three quantities share."""
    count = len(values)
    mean = sum(values) / count
    return Estimate(
        value=mean,
        components=tuple(
            Component(
                influence=Influence(id=f"occasion {i}", label="occasion"),
                contribution=(v - mean) / math.sqrt(count * (count - 1)),
            )
            for i, v in enumerate(values)
        ),
    )


def gum_h2(what: str) -> float:
    """Resistance and reactance from simultaneous readings, H.2: all through shared influences."""
    volt, ampere, phase = (mean_of(v) for v in (VOLT, MILLIAMPERE, PHASE))
    inputs = [volt, ampere, phase]
    names = {
        "V": volt,
        "I": ampere,
        "P": phase,
        "R": propagate(lambda v, i, p: 1e3 * v / i * math.cos(p), inputs),
        "X": propagate(lambda v, i, p: 1e3 * v / i * math.sin(p), inputs),
        "Z": propagate(lambda v, i, p: 1e3 * v / i, inputs),
    }
    if what.startswith("r"):
        return correlation(names[what[1]], names[what[2]])
    return names[what[1]].u_std if what.startswith("u") else names[what].value


def probability(value: float, u_std: float, **limits: float) -> float:
    return prob_within(measured(value, u_std=u_std, id="m", label="m"), **limits)


FUNCTIONS: dict[str, Callable[..., float]] = {
    "gum_h1": gum_h1,
    "gum_h2": gum_h2,
    "coverage_factor": coverage_factor_from,
    "half_width": lambda half_width, distribution: u_from_half_width(
        half_width, distribution=Distribution(distribution)
    ),
    "prob_within": probability,
    "risk_at_guard": lambda guard: 1.0 - probability(10.0 - guard, 1.0, high=10.0),
    "student_cdf": student_cdf,
}


@pytest.mark.parametrize("row", shelves.rows("uncertainty.csv"), ids=str)
def test_uncertainty_reference(row: shelves.Row) -> None:
    arguments: dict[str, Any] = row.inputs
    row.check(FUNCTIONS[row["function"]](**arguments))


def test_an_exact_estimate_is_within_or_not() -> None:
    assert prob_within(exact(3.0), low=3.0) == 1.0
    assert prob_within(exact(3.0), low=3.1) == 0.0
