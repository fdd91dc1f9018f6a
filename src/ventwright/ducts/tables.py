"""Interpolation in small tables: monotone curves through points, and two-way tables."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Sequence
from itertools import pairwise

from ventwright.quantities.problems import UserError
from ventwright.quantities.records import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class MonotoneCurve:
    """Piecewise cubic through points; it rises or falls exactly where the points do.

    Slopes after Fritsch and Carlson in the form of Fritsch and Butland: a weighted harmonic mean of
    the secants, so that no cubic overshoots. Value and slope are continuous. Beyond the ends the
    curve goes on straight with its end slope.

    Parameters
    ----------
    x
        Places, rising; at least two.
    y
        Values there.
    slopes
        dy/dx at the places.
    """

    x: tuple[float, ...]
    y: tuple[float, ...]
    slopes: tuple[float, ...]

    def value_and_slope(self, at: float) -> tuple[float, float]:
        """Value and slope at a place."""
        x, y, m = self.x, self.y, self.slopes
        if at <= x[0]:
            return y[0] + m[0] * (at - x[0]), m[0]
        if at >= x[-1]:
            return y[-1] + m[-1] * (at - x[-1]), m[-1]
        i = bisect_right(x, at) - 1
        width = x[i + 1] - x[i]
        t = (at - x[i]) / width
        secant = (y[i + 1] - y[i]) / width
        c2 = 3.0 * secant - 2.0 * m[i] - m[i + 1]
        c3 = m[i] + m[i + 1] - 2.0 * secant
        value = y[i] + width * t * (m[i] + t * (c2 + t * c3))
        return value, m[i] + t * (2.0 * c2 + t * 3.0 * c3)


def monotone_curve(x: Sequence[float], y: Sequence[float]) -> MonotoneCurve:
    """Draw the monotone curve through points.

    Parameters
    ----------
    x
        Places, strictly rising; at least two.
    y
        Values there.

    Source: fritsch_butland_1984

    >>> monotone_curve((0.0, 1.0, 3.0), (4.0, 3.0, 0.0)).value_and_slope(1.0)[0]
    3.0
    """
    widths = [b - a for a, b in pairwise(x)]
    if len(x) != len(y) or not widths or min(widths) <= 0.0:
        msg = "a curve needs at least two points whose places rise"
        raise UserError(msg)
    secants = [(b - a) / h for (a, b), h in zip(pairwise(y), widths, strict=True)]
    if len(x) == 2:
        return MonotoneCurve(x=tuple(x), y=tuple(y), slopes=(secants[0], secants[0]))
    inner = [
        _harmonic(secants[i - 1], secants[i], widths[i - 1], widths[i])
        for i in range(1, len(x) - 1)
    ]
    first = _end(secants[0], secants[1], widths[0], widths[1])
    last = _end(secants[-1], secants[-2], widths[-1], widths[-2])
    return MonotoneCurve(x=tuple(x), y=tuple(y), slopes=(first, *inner, last))


def _harmonic(before: float, after: float, width_before: float, width_after: float) -> float:
    if before * after <= 0.0:
        return 0.0
    w1 = 2.0 * width_after + width_before
    w2 = width_after + 2.0 * width_before
    return (w1 + w2) / (w1 / before + w2 / after)


def _end(near: float, far: float, width_near: float, width_far: float) -> float:
    """Slope at an end: three-point formula, kept between a tenth and three times the secant.

    The lower limit keeps a fan curve falling beyond its last point.
    """
    slope = ((2.0 * width_near + width_far) * near - width_near * far) / (width_near + width_far)
    low, high = sorted((0.1 * near, 3.0 * near))
    return min(max(slope, low), high)


def between(*, what: str, at: float, places: Sequence[float], values: Sequence[float]) -> float:
    """Interpolate linearly in a one-way table.

    Raises
    ------
    UserError
        The place lies outside the table.
    """
    i, share = _place(what, at, places)
    return values[i] + share * (values[i + 1] - values[i])


def between_two(
    *,
    what_row: str,
    row: float,
    rows: Sequence[float],
    what_column: str,
    column: float,
    columns: Sequence[float],
    values: Sequence[Sequence[float]],
) -> float:
    """Interpolate linearly both ways in a table.

    Raises
    ------
    UserError
        A place lies outside the table.
    """
    i, share = _place(what_row, row, rows)
    j, across = _place(what_column, column, columns)
    upper = values[i][j] + across * (values[i][j + 1] - values[i][j])
    lower = values[i + 1][j] + across * (values[i + 1][j + 1] - values[i + 1][j])
    return upper + share * (lower - upper)


def _place(what: str, at: float, places: Sequence[float]) -> tuple[int, float]:
    if not places[0] <= at <= places[-1]:
        msg = f"{what} is {at:g}: the table reaches from {places[0]:g} to {places[-1]:g}"
        raise UserError(msg)
    i = min(bisect_right(places, at) - 1, len(places) - 2)
    return i, (at - places[i]) / (places[i + 1] - places[i])
