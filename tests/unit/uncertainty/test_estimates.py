"""Estimates: what shared influences do, and what is refused."""

from __future__ import annotations

import math

import pytest

from ventwright.uncertainty import (
    Distribution,
    Estimate,
    Influence,
    budget,
    combine,
    correlation,
    covariance,
    difference,
    exact,
    measured,
    product,
    propagate,
    ratio,
    scale,
    total,
    u_from_half_width,
    weighted_mean,
    widen,
)


def flow(value: float, *, bias_frac: float, own: float, id: str) -> Estimate:
    """A flow read with one meter: a common relative bias, and a scatter of its own."""
    bias = measured(value, u_std=bias_frac * value, id="meter", label="meter bias")
    return widen(bias, Influence(id=id, label=id), u_std=own)


def test_a_common_bias_cancels_in_a_share_and_not_in_a_flow() -> None:
    left = flow(0.02, bias_frac=0.05, own=0.0, id="r1")
    right = flow(0.03, bias_frac=0.05, own=0.0, id="r2")
    assert left.u_std == pytest.approx(0.001)
    assert total([left, right]).u_std == pytest.approx(0.05 * 0.05)
    assert ratio(left, total([left, right])).u_std == pytest.approx(0.0, abs=1e-15)
    assert correlation(left, right) == pytest.approx(1.0)


def test_own_scatter_shrinks_in_a_sum_and_the_bias_does_not() -> None:
    flows = [flow(0.01, bias_frac=0.05, own=0.0005, id=f"r{i}") for i in range(6)]
    whole = total(flows)
    assert whole.u_std / whole.value == pytest.approx(math.hypot(0.05, 0.05 / math.sqrt(6)))


def test_two_meters_do_not_correlate() -> None:
    left = measured(1.0, u_std=0.1, id="a", label="a")
    right = measured(1.0, u_std=0.1, id="b", label="b")
    assert covariance(left, right) == 0.0
    assert difference(left, right).u_std == pytest.approx(0.1 * math.sqrt(2))
    assert difference(left, left).u_std == 0.0
    assert difference(left, left).components == ()


def test_the_sign_of_a_shared_influence_is_kept() -> None:
    bias = measured(0.0, u_std=1.0, id="bias", label="bias")
    assert total([bias, scale(bias, -1.0)]).u_std == 0.0
    assert correlation(bias, scale(bias, -3.0)) == pytest.approx(-1.0)


def test_exact_values_carry_nothing() -> None:
    assert exact(4.0).u_std == 0.0
    assert exact(4.0).dof == math.inf
    assert correlation(exact(1.0), exact(2.0)) == 0.0
    assert budget(exact(1.0)) == ()
    assert total([]).value == 0.0


def test_propagation_with_and_without_partials_agrees() -> None:
    a = measured(3.0, u_std=0.1, id="a", label="a")
    b = measured(2.0, u_std=0.2, id="b", label="b")
    by_hand = propagate(lambda x, y: x * y * y, [a, b], partials=[4.0, 12.0])
    by_difference = propagate(lambda x, y: x * y * y, [a, b])
    assert by_difference.u_std == pytest.approx(by_hand.u_std, rel=1e-6)
    assert product(a, product(b, b)).u_std == pytest.approx(by_hand.u_std, rel=1e-12)


def test_effective_degrees_of_freedom_lie_between_the_least_and_the_sum() -> None:
    a = measured(1.0, u_std=0.3, id="a", label="a", dof=4)
    b = measured(1.0, u_std=0.2, id="b", label="b", dof=9)
    assert 4 <= total([a, b]).dof <= 13
    assert total([a, measured(0.0, u_std=30.0, id="c", label="c")]).dof > 1e6


def test_a_budget_is_sorted_and_its_shares_add_to_one() -> None:
    e = total([measured(0.0, u_std=u, id=f"i{u}", label="") for u in (0.1, 0.3, 0.2)])
    rows = budget(e)
    assert [r.id for r in rows] == ["i0.3", "i0.2", "i0.1"]
    assert sum(r.share_frac for r in rows) == pytest.approx(1.0)


def test_components_are_sorted_so_that_the_same_data_give_the_same_bytes() -> None:
    a = measured(1.0, u_std=0.1, id="z", label="z")
    b = measured(1.0, u_std=0.1, id="a", label="a")
    assert total([a, b]) == total([b, a])
    assert [c.influence.id for c in total([a, b]).components] == ["a", "z"]


@pytest.mark.parametrize("u_std", [-0.1, math.nan])
def test_an_impossible_uncertainty_is_a_fault_of_the_caller(u_std: float) -> None:
    with pytest.raises(ValueError, match="standard uncertainty"):
        measured(1.0, u_std=u_std, id="a", label="a")


@pytest.mark.parametrize("value", [math.nan, math.inf])
def test_a_value_that_is_not_finite_is_a_fault_of_the_caller(value: float) -> None:
    with pytest.raises(ValueError, match="not finite"):
        combine(value, [])


def test_weighted_mean_leans_on_the_steadier_reading_and_keeps_the_bias() -> None:
    steady = flow(10.0, bias_frac=0.05, own=0.1, id="r1")
    loose = flow(11.0, bias_frac=0.05, own=1.0, id="r2")
    mean = weighted_mean([steady, loose])
    assert 10.0 < mean.value < 10.05
    assert mean.u_std > 0.05 * mean.value
    with pytest.raises(ValueError, match="no estimates"):
        weighted_mean([])


def test_weighted_mean_of_readings_without_scatter_is_the_plain_mean() -> None:
    assert weighted_mean([exact(1.0), exact(2.0)]).value == 1.5


def test_estimates_have_no_order() -> None:
    with pytest.raises(TypeError):
        exact(1.0) < exact(2.0)  # type: ignore[operator]  # noqa: B015


def test_half_widths_by_shape() -> None:
    shapes = {
        Distribution.RECTANGULAR: math.sqrt(3.0),
        Distribution.TRIANGULAR: math.sqrt(6.0),
        Distribution.NORMAL: 2.0,
    }
    for shape, divisor in shapes.items():
        assert u_from_half_width(1.2, distribution=shape) == pytest.approx(1.2 / divisor)
