"""Standard uncertainties from what is known, and intervals from standard uncertainties."""

from __future__ import annotations

import math
from collections.abc import Sequence

from ventwright.quantities.records import dataclass
from ventwright.uncertainty.estimate import Distribution, Estimate

COVERAGE_FACTOR = 2.0
"""Expanded uncertainty is stated with k = 2 unless said otherwise (about 95 %)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Spread:
    """Mean, standard uncertainty of the mean and degrees of freedom of repeated readings."""

    mean: float
    u_std: float
    dof: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Interval:
    """A closed interval with its coverage probability."""

    low: float
    high: float
    coverage_frac: float


@dataclass(frozen=True, slots=True, kw_only=True)
class BudgetRow:
    """One line of a budget: what, how much, and its share of the variance."""

    id: str
    label: str
    contribution: float
    share_frac: float
    dof: float


def u_from_half_width(half_width: float, *, distribution: Distribution) -> float:
    """Standard uncertainty of a quantity known only to lie within ± half width (GUM 4.3.7, 4.3.9).

    Parameters
    ----------
    half_width
        Half the full width, ≥ 0.
    distribution
        Rectangular a/√3, triangular a/√6; normal takes the half width as a k = 2 statement.

    Source: gum_2008

    >>> round(u_from_half_width(0.3, distribution=Distribution.RECTANGULAR), 4)
    0.1732
    """
    divisor = {
        Distribution.RECTANGULAR: math.sqrt(3.0),
        Distribution.TRIANGULAR: math.sqrt(6.0),
        Distribution.NORMAL: COVERAGE_FACTOR,
    }[distribution]
    return half_width / divisor


def spread_of(values: Sequence[float]) -> Spread:
    """Type A evaluation of repeated readings (GUM 4.2): mean, s/√n, n − 1.

    Parameters
    ----------
    values
        At least two readings.

    Raises
    ------
    ValueError
        With fewer than two values there is no spread to speak of.

    Source: gum_2008

    >>> s = spread_of([10.0, 12.0, 11.0]); (s.mean, round(s.u_std, 4), s.dof)
    (11.0, 0.5774, 2)
    """
    count = len(values)
    if count < 2:
        raise ValueError("a spread needs at least two values")
    mean = math.fsum(values) / count
    variance = math.fsum((v - mean) ** 2 for v in values) / (count - 1)
    return Spread(mean=mean, u_std=math.sqrt(variance / count), dof=count - 1)


def budget(estimate: Estimate) -> tuple[BudgetRow, ...]:
    """The budget of an estimate, largest share first.

    Parameters
    ----------
    estimate
        Any estimate; an exact one has an empty budget.

    >>> from ventwright.uncertainty import measured
    >>> budget(measured(1.0, u_std=0.1, id="a", label="meter"))[0].share_frac
    1.0
    """
    u_std = estimate.u_std
    rows = [
        BudgetRow(
            id=c.influence.id,
            label=c.influence.label,
            contribution=c.contribution,
            share_frac=(c.contribution / u_std) ** 2,
            dof=c.influence.dof,
        )
        for c in estimate.components
    ]
    return tuple(sorted(rows, key=lambda r: (-r.share_frac, r.id)))


def normal_cdf(z: float) -> float:
    """Probability that a standard normal variable is at most z.

    Parameters
    ----------
    z
        Standardised value.

    >>> round(normal_cdf(1.96), 3)
    0.975
    """
    return 0.5 * math.erfc(-z / math.sqrt(2.0))


def student_cdf(t: float, *, dof: float) -> float:
    """Probability that Student's t is at most t, through the incomplete beta function.

    Parameters
    ----------
    t
        Standardised value.
    dof
        Degrees of freedom, ≥ 1; infinite gives the normal law.

    Source: dlmf_8_17

    >>> round(student_cdf(2.0, dof=10), 4)
    0.9633
    """
    if math.isinf(dof) or dof > 1e7:
        return normal_cdf(t)
    whole = dof + t * t
    tail = 0.5 * _incomplete_beta(dof / whole, rest=t * t / whole, a=0.5 * dof, b=0.5)
    return tail if t < 0.0 else 1.0 - tail


def _incomplete_beta(x: float, *, rest: float, a: float, b: float) -> float:
    """Regularised I_x(a, b) by its continued fraction (DLMF 8.17.22), Lentz's recurrence.

    `rest` is 1 − x, handed in because the subtraction would lose a small one.
    """
    if x <= 0.0 or rest <= 0.0:
        return 0.0 if x <= 0.0 else 1.0
    if x > (a + 1.0) / (a + b + 2.0):
        return 1.0 - _incomplete_beta(rest, rest=x, a=b, b=a)
    log_front = (
        math.lgamma(a + b) - math.lgamma(a) - math.lgamma(b) + a * math.log(x) + b * math.log(rest)
    )
    tiny = 1e-300
    c, d, fraction = 1.0, 1.0 / max(1.0 - (a + b) * x / (a + 1.0), tiny), 1.0
    fraction = d
    for m in range(1, 400):
        step = m * (b - m) * x / ((a + 2 * m - 1) * (a + 2 * m))
        d = 1.0 / max(1.0 + step * d, tiny)
        c = max(1.0 + step / c, tiny)
        fraction *= d * c
        step = -(a + m) * (a + b + m) * x / ((a + 2 * m) * (a + 2 * m + 1))
        d = 1.0 / max(1.0 + step * d, tiny)
        c = max(1.0 + step / c, tiny)
        fraction *= d * c
        if abs(d * c - 1.0) < 1e-15:
            break
    return math.exp(log_front) * fraction / a


def coverage_factor_from(*, coverage_frac: float, dof: float = math.inf) -> float:
    """Two-sided coverage factor t_p(ν) (GUM table G.2).

    Parameters
    ----------
    coverage_frac
        Coverage probability, between 0 and 1.
    dof
        Effective degrees of freedom, ≥ 1.

    Raises
    ------
    ValueError
        Outside these ranges.

    Source: gum_2008

    >>> round(coverage_factor_from(coverage_frac=0.95, dof=10), 2)
    2.23
    """
    if not (0.0 < coverage_frac < 1.0 and dof >= 1.0):
        raise ValueError(f"coverage {coverage_frac!r} with {dof!r} degrees of freedom")
    target = 0.5 + 0.5 * coverage_frac
    low, high = 0.0, 1.0
    while student_cdf(high, dof=dof) < target:
        high *= 2.0
    for _ in range(200):
        middle = 0.5 * (low + high)
        if middle in (low, high):
            break
        low, high = (middle, high) if student_cdf(middle, dof=dof) < target else (low, middle)
    return 0.5 * (low + high)


def u_expanded(estimate: Estimate, *, coverage_factor: float = COVERAGE_FACTOR) -> float:
    """Expanded uncertainty U = k·u.

    Parameters
    ----------
    estimate
        Any estimate.
    coverage_factor
        k, 2 by default.

    >>> from ventwright.uncertainty import measured
    >>> u_expanded(measured(1.0, u_std=0.1, id="a", label="meter"))
    0.2
    """
    return coverage_factor * estimate.u_std


def interval(estimate: Estimate, *, coverage_frac: float = 0.95) -> Interval:
    """Coverage interval ``value ± t_p(ν)·u``.

    Parameters
    ----------
    estimate
        Any estimate.
    coverage_frac
        Coverage probability.

    >>> from ventwright.uncertainty import measured
    >>> i = interval(measured(1.0, u_std=0.1, id="a", label="meter")); round(i.high, 3)
    1.196
    """
    half = estimate.u_std * coverage_factor_from(
        coverage_frac=coverage_frac, dof=max(estimate.dof, 1.0)
    )
    return Interval(
        low=estimate.value - half, high=estimate.value + half, coverage_frac=coverage_frac
    )
