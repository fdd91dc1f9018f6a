"""Verdicts, intervals and the Monte Carlo check."""

from __future__ import annotations

import math
import random

import pytest

from ventwright.uncertainty import (
    DecisionRule,
    Distribution,
    Verdict,
    coverage_factor_from,
    decide,
    exact,
    interval,
    measured,
    monte_carlo,
    prob_within,
    propagate,
    spread_of,
    u_expanded,
    what_would_settle,
)


def reading(value: float, u_std: float = 1.0, dof: float = math.inf):  # type: ignore[no-untyped-def]
    return measured(value, u_std=u_std, id="m", label="vane meter", dof=dof)


def test_a_limit_inside_the_uncertainty_is_not_shown() -> None:
    assert decide(reading(10.0), low=9.0).verdict is Verdict.NOT_SHOWN
    assert decide(reading(10.0), low=8.0).verdict is Verdict.MET
    assert decide(reading(10.0), low=12.0).verdict is Verdict.NOT_MET
    assert decide(reading(10.0), low=11.0).verdict is Verdict.NOT_SHOWN


def test_simple_acceptance_judges_the_reading_and_still_gives_the_odds() -> None:
    found = decide(reading(10.0), low=9.9, decision_rule=DecisionRule.SIMPLE)
    assert found.verdict is Verdict.MET
    assert 0.5 < found.prob_within_frac < 0.6
    at_limit = decide(reading(9.9), low=9.9, decision_rule=DecisionRule.SIMPLE)
    assert at_limit.verdict is Verdict.MET
    assert at_limit.prob_within_frac == pytest.approx(0.5)


def test_few_degrees_of_freedom_make_a_verdict_harder() -> None:
    sure, unsure = reading(10.0), reading(10.0, dof=2)
    assert decide(sure, low=8.2).verdict is Verdict.MET
    assert decide(unsure, low=8.2).verdict is Verdict.NOT_SHOWN


def test_a_band_narrower_than_the_interval_is_not_shown_even_at_its_middle() -> None:
    assert decide(reading(10.0), low=9.0, high=11.0).verdict is Verdict.NOT_SHOWN
    assert decide(reading(10.0, 0.4), low=9.0, high=11.0).verdict is Verdict.MET


@pytest.mark.parametrize(
    "limits",
    [
        {},
        {"low": 2.0, "high": 1.0},
        {"low": 1.0, "confidence_frac": 1.0},
        {"low": 1.0, "confidence_frac": 0.4},
    ],
)
def test_impossible_questions_are_faults_of_the_caller(limits: dict[str, float]) -> None:
    with pytest.raises(ValueError):
        decide(reading(1.0), **limits)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("value", "low", "high"),
    [(10.0, 9.0, None), (10.0, 9.0, 11.0), (10.4, 9.0, 11.0), (8.9, 9.0, None)],
)
def test_what_would_settle_does_settle(value: float, low: float, high: float | None) -> None:
    estimate = reading(value, 1.2)
    settling = what_would_settle(estimate, decide(estimate, low=low, high=high))
    assert settling is not None
    assert settling.largest_label == "vane meter"
    better = reading(value, settling.u_std_needed * 0.999)
    assert decide(better, low=low, high=high).verdict is not Verdict.NOT_SHOWN


def test_nothing_settles_a_value_on_its_limit() -> None:
    estimate = reading(9.0)
    settling = what_would_settle(estimate, decide(estimate, low=9.0))
    assert settling is not None
    assert settling.u_std_needed == 0.0
    assert what_would_settle(estimate, decide(estimate, low=3.0)) is None


def test_interval_holds_the_asked_probability() -> None:
    estimate = reading(5.0, dof=6)
    found = interval(estimate, coverage_frac=0.9)
    assert prob_within(estimate, low=found.low, high=found.high) == pytest.approx(0.9)
    assert u_expanded(estimate) == 2.0


@pytest.mark.parametrize(("coverage", "dof"), [(0.0, 5), (1.0, 5), (0.95, 0.5), (math.nan, 5)])
def test_coverage_outside_its_range_is_refused(coverage: float, dof: float) -> None:
    with pytest.raises(ValueError, match="coverage"):
        coverage_factor_from(coverage_frac=coverage, dof=dof)


def test_one_reading_has_no_spread() -> None:
    with pytest.raises(ValueError, match="two values"):
        spread_of([1.0])


def test_monte_carlo_agrees_with_first_order_where_the_model_is_nearly_straight() -> None:
    a = measured(3.0, u_std=0.05, id="a", label="a", distribution=Distribution.RECTANGULAR)
    b = measured(2.0, u_std=0.04, id="b", label="b", distribution=Distribution.TRIANGULAR)
    shared = measured(1.0, u_std=0.03, id="a", label="a")
    model = lambda x, y, z: x * math.sqrt(y) / z  # noqa: E731
    first_order = propagate(model, [a, b, shared])
    drawn = monte_carlo(model, [a, b, shared], count=20_000, draws=random.Random(7))
    assert drawn.mean == pytest.approx(first_order.value, rel=0.002)
    assert drawn.u_std == pytest.approx(first_order.u_std, rel=0.02)
    assert drawn.interval.low < first_order.value < drawn.interval.high


def test_monte_carlo_sees_what_first_order_cannot() -> None:
    """H.1 of the GUM: the product of two quantities of mean zero has no first-order term."""
    zero = [measured(0.0, u_std=1.0, id=i, label=i) for i in "ab"]
    assert propagate(lambda x, y: x * y, zero).u_std == pytest.approx(0.0, abs=1e-12)
    drawn = monte_carlo(lambda x, y: x * y, zero, count=20_000, draws=random.Random(3))
    assert drawn.u_std == pytest.approx(1.0, rel=0.05)


def test_monte_carlo_repeats_with_its_seed_and_wants_enough_trials() -> None:
    e = [measured(1.0, u_std=0.1, id="a", label="a")]
    first = monte_carlo(lambda x: x, e, count=200, draws=random.Random(5))
    assert first == monte_carlo(lambda x: x, e, count=200, draws=random.Random(5))
    with pytest.raises(ValueError, match="too few"):
        monte_carlo(lambda x: x, e, count=99, draws=random.Random(5))


def test_an_exact_estimate_is_always_shown() -> None:
    assert decide(exact(1.0), low=1.0).verdict is Verdict.MET
    assert decide(exact(1.0), low=1.1).verdict is Verdict.NOT_MET
