"""Timed averages against series whose mean has a variance known exactly.

A first-order autoregressive series with coefficient φ and variance σ² has
Var(mean of n) = σ²/n · [(1+φ)/(1−φ) − 2φ(1−φⁿ)/(n(1−φ)²)] (sum of its autocorrelations φ^k, worked
out by hand); numpy makes the series.
"""

from __future__ import annotations

import math

import numpy as np
import pytest

from ventwright.uncertainty import timed_average

SERIES_COUNT, SAMPLE_COUNT = 400, 240


def exact_u(phi: float, count: int) -> float:
    factor = (1 + phi) / (1 - phi) - 2 * phi * (1 - phi**count) / (count * (1 - phi) ** 2)
    return math.sqrt(factor / count)


def series(phi: float, count: int, generator: np.random.Generator) -> list[float]:
    """Variance 1 throughout, around 10."""
    noise = generator.standard_normal(count)
    values = [noise[0]]
    for one in noise[1:]:
        values.append(phi * values[-1] + math.sqrt(1 - phi**2) * one)
    return [10.0 + float(v) for v in values]


@pytest.mark.parametrize("phi", [0.0, 0.3, 0.6, 0.8])
def test_uncertainty_of_the_mean(phi: float) -> None:
    generator = np.random.default_rng(20260304)
    found = [
        timed_average(series(phi, SAMPLE_COUNT, generator), interval_s=1.0, wanted_frac=0.02)
        for _ in range(SERIES_COUNT)
    ]
    root_mean_square = math.sqrt(np.mean([f.u_std**2 for f in found if f.u_std is not None]))
    assert root_mean_square == pytest.approx(exact_u(phi, SAMPLE_COUNT), rel=0.15)
    # The interval holds the true mean about as often as it says.
    held = [abs(f.mean - 10.0) <= f.coverage_factor * (f.u_std or 0.0) for f in found]
    assert 0.90 <= np.mean(held) <= 0.985


def test_neighbours_alike_count_less_than_scatter_says() -> None:
    generator = np.random.default_rng(1)
    found = timed_average(series(0.8, 600, generator), interval_s=1.0, wanted_frac=0.02)
    assert 600 / found.independent_count == pytest.approx((1 + 0.8) / (1 - 0.8), rel=0.4)


def test_going_on_as_long_as_told_reaches_what_is_wanted() -> None:
    """Time goes with the inverse square of the uncertainty."""
    generator = np.random.default_rng(2)
    first = timed_average(series(0.3, 300, generator), interval_s=0.5, wanted_frac=0.01)
    assert first.go_on_s is not None
    assert first.go_on_s > 0.0
    count = 300 + math.ceil(first.go_on_s / 0.5)
    reached = [
        timed_average(series(0.3, count, generator), interval_s=0.5, wanted_frac=0.01)
        for _ in range(40)
    ]
    widths = [r.coverage_factor * (r.u_std or 0.0) / r.mean for r in reached]
    assert np.mean(widths) == pytest.approx(0.01, rel=0.2)


def test_drift_is_told_and_steady_air_seldom_blamed() -> None:
    generator = np.random.default_rng(3)
    drifting = [v + 0.02 * i for i, v in enumerate(series(0.3, 200, generator))]
    assert not timed_average(drifting, interval_s=1.0, wanted_frac=0.02).is_steady
    steady = [
        timed_average(series(0.3, 200, generator), interval_s=1.0, wanted_frac=0.02).is_steady
        for _ in range(200)
    ]
    assert np.mean(steady) > 0.95


def test_scatter_and_drift_are_those_of_a_library() -> None:
    generator = np.random.default_rng(4)
    values = [v + 0.01 * i for i, v in enumerate(series(0.5, 150, generator))]
    found = timed_average(values, interval_s=1.0, wanted_frac=0.02)
    assert found.mean == pytest.approx(float(np.mean(values)))
    assert found.scatter_std == pytest.approx(float(np.std(values, ddof=1)))
    slope = float(np.polynomial.Polynomial.fit(range(150), values, 1).convert().coef[1])
    assert found.drift == pytest.approx(slope * 149)


def test_rounding_to_a_coarse_step_is_covered_by_the_resolution() -> None:
    """Scatter below the step of a display hides; the rounded mean is off by up to half a step."""
    generator = np.random.default_rng(5)
    step, missed = 0.5, 0
    for _ in range(200):
        true = 10.0 + float(generator.uniform(0.0, step))
        shown = [
            step * round((true + 0.02 * float(generator.standard_normal())) / step)
            for _ in range(60)
        ]
        found = timed_average(shown, interval_s=1.0, wanted_frac=0.02, resolution=step)
        assert found.u_std is not None
        missed += abs(found.mean - true) > found.coverage_factor * found.u_std
    assert missed <= 0.07 * 200
