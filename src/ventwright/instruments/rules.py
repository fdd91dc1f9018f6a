"""Where the points of a traverse lie, and what the mean of the points does to a developed profile.

Positions are fractions of the inside diameter or side from one wall. They come from memory of the
standards' tables; each round set was checked by averaging the log law over it, which a wrongly
remembered position does not survive.
"""

from __future__ import annotations

import math

from ventwright.house import TraverseRule

_HALF_LINES: dict[TraverseRule, dict[int, tuple[float, ...]]] = {
    TraverseRule.LOG_LINEAR: {
        4: (0.043, 0.290),
        6: (0.032, 0.135, 0.321),
        8: (0.021, 0.117, 0.184, 0.345),
        10: (0.019, 0.077, 0.153, 0.217, 0.361),
    },
    TraverseRule.LOG_TCHEBYCHEFF: {
        6: (0.0321, 0.1374, 0.3123),
        8: (0.0238, 0.1000, 0.1938, 0.3343),
        10: (0.0189, 0.0764, 0.1554, 0.2150, 0.3567),
    },
}
_SIDE_LINES = {
    5: (0.074, 0.288, 0.500, 0.712, 0.926),
    6: (0.061, 0.235, 0.437, 0.563, 0.765, 0.939),
    7: (0.053, 0.203, 0.366, 0.500, 0.634, 0.797, 0.947),
}
PROFILE_EXPONENTS = (5.0, 6.0, 7.0)
"""Exponents of the developed profile u ~ (distance to the wall)^(1/n) in house ducts."""


def traverse_positions(
    rule: TraverseRule, *, points_count: int, is_round: bool = True
) -> tuple[float, ...] | None:
    """Positions along one line as fractions of diameter or side from one wall.

    Equal area in a round duct puts points at the centroids of rings of one area:
    y/D = (1 − √((2i − 1)/N))/2.

    Parameters
    ----------
    rule
        Rule of the traverse.
    points_count
        Points on one line.
    is_round
        A diameter of a round duct, or one direction across a rectangular one.

    Returns
    -------
    tuple of float or None
        None where the rule has no such number of points.

    Source: iso_3966_positions, method_1_equal_area

    >>> traverse_positions(TraverseRule.EQUAL_AREA, points_count=4)
    (0.067, 0.25, 0.75, 0.933)
    """
    if points_count < 1:
        return None
    if not is_round:
        return _across(rule, points_count)
    half = _half_diameter(rule, points_count)
    return None if half is None else (*half, *(1.0 - y for y in reversed(half)))


def _across(rule: TraverseRule, points_count: int) -> tuple[float, ...] | None:
    if rule is TraverseRule.EQUAL_AREA:
        return tuple((2 * i + 1) / (2 * points_count) for i in range(points_count))
    return _SIDE_LINES.get(points_count) if rule is TraverseRule.LOG_TCHEBYCHEFF else None


def _half_diameter(rule: TraverseRule, points_count: int) -> tuple[float, ...] | None:
    if rule is not TraverseRule.EQUAL_AREA:
        return _HALF_LINES[rule].get(points_count)
    if points_count % 2 or points_count < 4:
        return None
    rings = range(points_count // 2, 0, -1)
    return tuple(0.5 * (1.0 - math.sqrt((2 * i - 1) / points_count)) for i in rings)


def mean_of_points(positions: tuple[float, ...], *, exponent: float) -> float:
    """Mean of u/u_centre over points of one line on the profile u ~ (distance to wall)^(1/n).

    Parameters
    ----------
    positions
        Fractions of diameter or side from one wall.
    exponent
        n of the profile.
    """
    shares = [math.pow(2.0 * min(y, 1.0 - y), 1.0 / exponent) for y in positions]
    return math.fsum(shares) / len(shares)


def rule_bias(
    positions: tuple[float, ...], *, exponent: float, across: tuple[float, ...] | None = None
) -> float:
    """How far the mean of the points lies above the true mean of a developed profile [1].

    Parameters
    ----------
    positions
        Points along a diameter, or along one side.
    exponent
        n of the profile.
    across
        Points along the other side of a rectangular duct, whose profile is taken as the product of
        two power laws; that exaggerates its corners.

    Source: profile_computed

    >>> positions = traverse_positions(TraverseRule.EQUAL_AREA, points_count=6)
    >>> round(rule_bias(positions, exponent=6.0), 3)
    0.010
    """
    n = exponent
    if across is None:
        true_mean = 2.0 * n * n / ((n + 1.0) * (2.0 * n + 1.0))
        return mean_of_points(positions, exponent=n) / true_mean - 1.0
    both = mean_of_points(positions, exponent=n) * mean_of_points(across, exponent=n)
    return both / (n / (n + 1.0)) ** 2 - 1.0
