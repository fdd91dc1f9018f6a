"""First-order propagation against the `uncertainties` library, distributions against SciPy."""

from __future__ import annotations

import math
import random

import numpy as np
import pytest
import uncertainties
from scipy import stats
from uncertainties import umath

from ventwright.uncertainty import (
    Component,
    Estimate,
    Influence,
    coverage_factor_from,
    normal_cdf,
    propagate,
    ratio,
    spread_of,
    student_cdf,
    total,
    weighted_mean,
)


def twins(rng: random.Random, *, count: int, causes: int):  # type: ignore[no-untyped-def]
    """The same correlated quantities in both libraries: shared causes with random signs."""
    drawn = [uncertainties.ufloat(0.0, 1.0) for _ in range(causes)]
    ours, theirs = [], []
    for _ in range(count):
        value = rng.uniform(0.5, 4.0)
        parts = [rng.uniform(-0.1, 0.1) for _ in range(causes)]
        ours.append(
            Estimate(
                value=value,
                components=tuple(
                    Component(influence=Influence(id=f"c{i}", label=""), contribution=c)
                    for i, c in enumerate(parts)
                ),
            )
        )
        theirs.append(value + sum(c * x for c, x in zip(parts, drawn, strict=True)))
    return ours, theirs


@pytest.mark.parametrize("seed", range(8))
def test_propagation_with_correlation(seed: int) -> None:
    ours, theirs = twins(random.Random(seed), count=4, causes=3)
    found = propagate(lambda a, b, c, d: a * math.sqrt(b) / c + math.exp(-d), ours)
    a, b, c, d = theirs
    expected = a * umath.sqrt(b) / c + umath.exp(-d)
    assert found.value == pytest.approx(expected.nominal_value, rel=1e-12)
    # Slopes are taken over 1 % of each uncertainty, which leaves a few parts in a million.
    assert found.u_std == pytest.approx(expected.std_dev, rel=2e-5)


@pytest.mark.parametrize("seed", range(4))
def test_shares_and_sums(seed: int) -> None:
    ours, theirs = twins(random.Random(100 + seed), count=5, causes=4)
    whole, expected_whole = total(ours), sum(theirs)
    assert whole.u_std == pytest.approx(expected_whole.std_dev, rel=1e-12)
    for one, expected in zip(ours, theirs, strict=True):
        found = ratio(one, whole)
        assert found.u_std == pytest.approx((expected / expected_whole).std_dev, rel=1e-9)


def test_weighted_mean_of_independent_readings() -> None:
    values, u_stds = (10.0, 10.4, 9.7), (0.1, 0.3, 0.2)
    ours = [
        Estimate(
            value=v,
            components=(Component(influence=Influence(id=f"r{i}", label=""), contribution=u),),
        )
        for i, (v, u) in enumerate(zip(values, u_stds, strict=True))
    ]
    weights = 1.0 / np.square(u_stds)
    found = weighted_mean(ours)
    assert found.value == pytest.approx(np.average(values, weights=weights), rel=1e-12)
    assert found.u_std == pytest.approx(1.0 / math.sqrt(weights.sum()), rel=1e-12)


@pytest.mark.parametrize("dof", [1, 1.5, 2, 2.7, 5, 16.7, 100, 1e4, 1e6, 5e7])
def test_student_over_its_range(dof: float) -> None:
    for t in (-40.0, -8.0, -2.5, -1.0, -1e-3, 0.0, 1e-6, 0.3, 1.0, 3.0, 12.0):
        assert student_cdf(t, dof=dof) == pytest.approx(stats.t.cdf(t, dof), rel=2e-6, abs=1e-15)


@pytest.mark.parametrize("z", [-8.0, -3.0, -0.5, 0.0, 1.0, 4.0])
def test_normal(z: float) -> None:
    assert normal_cdf(z) == pytest.approx(stats.norm.cdf(z), rel=1e-12)


@pytest.mark.parametrize("dof", [1, 2, 3.3, 16, 1e3, 1e6, math.inf])
@pytest.mark.parametrize("coverage", [0.5, 0.6827, 0.95, 0.9973])
def test_coverage_factors(dof: float, coverage: float) -> None:
    middle = 0.5 + 0.5 * coverage
    expected = stats.norm.ppf(middle) if math.isinf(dof) else stats.t.ppf(middle, dof)
    assert coverage_factor_from(coverage_frac=coverage, dof=dof) == pytest.approx(
        expected, rel=1e-8
    )


def test_spread() -> None:
    values = [3.1, 2.9, 3.4, 3.0, 3.3]
    found = spread_of(values)
    assert found.mean == pytest.approx(np.mean(values), rel=1e-14)
    assert found.u_std == pytest.approx(stats.sem(values), rel=1e-12)
    assert found.dof == 4
