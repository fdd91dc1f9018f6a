"""Timed averages: edges and refusals."""

from __future__ import annotations

import math

import pytest

from ventwright.uncertainty import timed_average


def test_a_display_that_never_moves_is_done() -> None:
    found = timed_average([3.0] * 5, interval_s=1.0, wanted_frac=0.02)
    assert (found.mean, found.u_std, found.go_on_s, found.is_steady) == (3.0, 0.0, 0.0, True)


@pytest.mark.parametrize("count", [1, 2, 3])
def test_few_samples_say_nothing_of_steadiness(count: int) -> None:
    found = timed_average([3.0] * count, interval_s=1.0, wanted_frac=0.02)
    assert found.u_std is None
    assert found.go_on_s is None


@pytest.mark.parametrize("mean", [0.0, 5e-324])
def test_a_share_of_nothing_can_not_be_reached(mean: float) -> None:
    values = [mean + d for d in (-1.0, 1.0, -1.0, 1.0)]
    assert timed_average(values, interval_s=1.0, wanted_frac=0.02).go_on_s is None


@pytest.mark.parametrize(
    ("values", "interval_s", "wanted_frac"),
    [
        ([], 1.0, 0.1),
        ([math.nan], 1.0, 0.1),
        ([math.inf], 1.0, 0.1),
        ([1.0], 0.0, 0.1),
        ([1.0], 1.0, 0.0),
    ],
)
def test_what_is_no_sweep_is_refused(
    values: list[float], interval_s: float, wanted_frac: float
) -> None:
    with pytest.raises(ValueError, match="must be"):
        timed_average(values, interval_s=interval_s, wanted_frac=wanted_frac)


def test_a_display_too_coarse_for_what_is_wanted_is_never_enough() -> None:
    found = timed_average([3.0] * 50, interval_s=1.0, wanted_frac=0.02, resolution=0.5)
    assert found.u_std == pytest.approx(0.5 / math.sqrt(12.0))
    assert found.go_on_s is None
    assert timed_average([3.0] * 50, interval_s=1.0, wanted_frac=0.2, resolution=0.5).go_on_s == 0.0


def test_a_resolution_is_a_step() -> None:
    with pytest.raises(ValueError, match="resolution"):
        timed_average([3.0], interval_s=1.0, wanted_frac=0.1, resolution=-1.0)
