"""What holds for any estimates."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ventwright.uncertainty import (
    Component,
    Estimate,
    Influence,
    Verdict,
    correlation,
    decide,
    difference,
    prob_within,
    ratio,
    scale,
    total,
    weighted_mean,
)

sizes = st.floats(0.01, 100.0)
contributions = st.floats(-1.0, 1.0)


@st.composite
def estimates(draw: st.DrawFn) -> Estimate:
    parts = draw(st.lists(contributions, min_size=1, max_size=4))
    return Estimate(
        value=draw(sizes),
        components=tuple(
            Component(influence=Influence(id=f"c{i}", label="", dof=5.0 + i), contribution=c)
            for i, c in enumerate(parts)
            if c != 0.0
        ),
    )


@given(estimates(), estimates())
def test_a_sum_is_never_less_certain_than_full_correlation_allows(a: Estimate, b: Estimate) -> None:
    both = total([a, b]).u_std
    assert both <= a.u_std + b.u_std + 1e-12
    assert both >= abs(a.u_std - b.u_std) - 1e-12
    assert -1.0 - 1e-12 <= correlation(a, b) <= 1.0 + 1e-12


@given(estimates(), st.floats(1e-3, 1e3))
def test_a_change_of_unit_changes_no_relative_uncertainty(a: Estimate, factor: float) -> None:
    scaled = scale(a, factor)
    assert math.isclose(scaled.u_std / scaled.value, a.u_std / a.value, rel_tol=1e-9)
    assert difference(scaled, scaled).u_std == 0.0
    assert ratio(scaled, a).u_std == pytest.approx(0.0, abs=1e-9)


@given(estimates(), st.floats(0.1, 50.0), st.floats(0.1, 50.0))
def test_odds_of_a_wider_band_are_never_smaller(a: Estimate, low: float, width: float) -> None:
    narrow = prob_within(a, low=low, high=low + width)
    wide = prob_within(a, low=0.9 * low, high=low + 1.1 * width)
    assert 0.0 <= narrow <= wide + 1e-9 <= 1.0 + 2e-9


@given(estimates(), st.floats(0.1, 50.0))
def test_met_and_not_met_exclude_each_other(a: Estimate, low: float) -> None:
    above, below = decide(a, low=low).verdict, decide(a, high=low).verdict
    assert not (above is Verdict.MET and below is Verdict.MET and a.u_std > 0.0)
    if above is Verdict.MET and a.value != low:
        assert below is Verdict.NOT_MET


@given(st.lists(estimates(), min_size=1, max_size=4))
def test_a_mean_lies_among_what_it_is_made_of(several: list[Estimate]) -> None:
    mean = weighted_mean(several).value
    values = [e.value for e in several]
    assert min(values) - 1e-9 <= mean <= max(values) + 1e-9
