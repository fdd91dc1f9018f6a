"""`Estimate`: a value with its budget of influences, and how budgets combine.

An estimate is a linear form in independent influences: ``value + Σ c_i ξ_i`` with ``Var ξ_i = 1``,
where ``c_i`` (the component) is the signed standard contribution of influence i. Two estimates that
rest on the same influence (one meter's calibration, one barometer) carry the same influence id, and
so are correlated without anybody having to say so: a common bias cancels in a share and not in a
flow. There are deliberately no comparison operators: ``a < b`` has no honest yes or no; use
`ventwright.uncertainty.decide`.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Sequence
from enum import StrEnum

from ventwright.quantities.records import dataclass


class Distribution(StrEnum):
    """Shape of an influence, used only by the Monte Carlo check."""

    NORMAL = "normal"
    RECTANGULAR = "rectangular"
    TRIANGULAR = "triangular"


@dataclass(frozen=True, slots=True, kw_only=True)
class Influence:
    """One independent cause of uncertainty.

    Parameters
    ----------
    id
        Stable identity; the same id in two estimates means the same cause, hence correlation.
    label
        Words for the budget table.
    dof
        Degrees of freedom of its standard uncertainty [1]; infinite for type B by convention.
    distribution
        Shape drawn by the Monte Carlo check.

    >>> Influence(id="meter:v1:calibration", label="vane meter, calibration").dof
    inf
    """

    id: str
    label: str
    dof: float = math.inf
    distribution: Distribution = Distribution.NORMAL


@dataclass(frozen=True, slots=True, kw_only=True)
class Component:
    """Signed standard contribution of one influence, in the measurand's own SI measure."""

    influence: Influence
    contribution: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Estimate:
    """A value with the components of its standard uncertainty, ordered by influence id.

    >>> e = measured(0.050, u_std=0.001, id="meter:a", label="meter a")
    >>> e.u_std
    0.001
    """

    value: float
    components: tuple[Component, ...] = ()

    @property
    def u_std(self) -> float:
        """Combined standard uncertainty: root of the sum of squares of the components."""
        return math.hypot(*[c.contribution for c in self.components])

    @property
    def dof(self) -> float:
        """Effective degrees of freedom by Welch–Satterthwaite (GUM G.4.1, eq. G.2b).

        Source: gum_2008
        """
        u_std = self.u_std
        if u_std == 0.0:
            return math.inf
        spread = sum((c.contribution / u_std) ** 4 / c.influence.dof for c in self.components)
        return 1.0 / spread if spread > 0.0 else math.inf


def exact(value: float) -> Estimate:
    """An estimate without uncertainty, for constants and typed targets.

    Parameters
    ----------
    value
        The value, in SI.

    >>> exact(2.0).u_std
    0.0
    """
    return Estimate(value=value)


def measured(
    value: float,
    *,
    u_std: float,
    id: str,
    label: str,
    dof: float = math.inf,
    distribution: Distribution = Distribution.NORMAL,
) -> Estimate:
    """An estimate with one influence.

    Parameters
    ----------
    value
        The value, in SI.
    u_std
        Standard uncertainty, same measure, ≥ 0.
    id, label, dof, distribution
        See `Influence`.

    Raises
    ------
    ValueError
        If a number is not finite or `u_std` is negative: that is a fault of the caller, not of a
        reading.

    >>> measured(20.0, u_std=0.5, id="t1", label="probe").components[0].contribution
    0.5
    """
    influence = Influence(id=id, label=label, dof=dof, distribution=distribution)
    return combine(value, [], extra=[(influence, u_std)])


def combine(
    value: float,
    terms: Iterable[tuple[float, Estimate]],
    *,
    extra: Iterable[tuple[Influence, float]] = (),
) -> Estimate:
    """First-order propagation: ``c_i = Σ_j s_j c_ij`` (GUM 5.1.2 and 5.2.2 in one form).

    Parameters
    ----------
    value
        Value of the result, computed by the caller from the inputs' values.
    terms
        Pairs of sensitivity ∂result/∂input and input.
    extra
        Further influences of the result itself with their standard contributions (a model's doubt,
        for instance).

    Returns
    -------
    Estimate
        Components of one influence are added with sign, so shared influences correlate.

    Source: gum_2008

    >>> a = measured(10.0, u_std=1.0, id="bias", label="bias")
    >>> b = measured(4.0, u_std=1.0, id="bias", label="bias")
    >>> combine(6.0, [(1.0, a), (-1.0, b)]).u_std
    0.0
    """
    sums: dict[str, float] = {}
    influences: dict[str, Influence] = {}
    for sensitivity, estimate in terms:
        for c in estimate.components:
            key = c.influence.id
            influences.setdefault(key, c.influence)
            sums[key] = sums.get(key, 0.0) + sensitivity * c.contribution
    for influence, contribution in extra:
        if not contribution >= 0.0:
            raise ValueError(f"standard uncertainty of {influence.id!r} is {contribution!r}")
        influences.setdefault(influence.id, influence)
        sums[influence.id] = sums.get(influence.id, 0.0) + contribution
    if not (math.isfinite(value) and all(map(math.isfinite, sums.values()))):
        raise ValueError(f"not finite: value {value!r}, components {sums!r}")
    return Estimate(
        value=value,
        components=tuple(
            Component(influence=influences[key], contribution=sums[key])
            for key in sorted(sums)
            if sums[key] != 0.0
        ),
    )


def widen(estimate: Estimate, influence: Influence, *, u_std: float) -> Estimate:
    """The same value with one more influence.

    Parameters
    ----------
    estimate
        What to widen.
    influence
        The further cause.
    u_std
        Its standard contribution, ≥ 0.

    >>> e = widen(exact(3.0), Influence(id="path", label="sweep path"), u_std=0.4)
    >>> e.u_std
    0.4
    """
    return combine(estimate.value, [(1.0, estimate)], extra=[(influence, u_std)])


def propagate(
    function: Callable[..., float],
    inputs: Sequence[Estimate],
    *,
    partials: Sequence[float] | None = None,
) -> Estimate:
    """Estimate of ``function(*values)`` by first-order propagation.

    Parameters
    ----------
    function
        Smooth function of plain floats.
    inputs
        One estimate per argument.
    partials
        ∂f/∂x_i where known. Otherwise central differences over ± 1 % of each input's standard
        uncertainty: small against any curvature that first order could carry, large against
        rounding.

    Source: gum_2008

    >>> a = measured(3.0, u_std=0.1, id="a", label="a")
    >>> propagate(lambda x: x * x, [a]).u_std
    0.6
    """
    values = [e.value for e in inputs]
    if partials is None:
        partials = [_partial(function, values, i, e.u_std) for i, e in enumerate(inputs)]
    return combine(function(*values), list(zip(partials, inputs, strict=True)))


def _partial(
    function: Callable[..., float], values: list[float], index: int, u_std: float
) -> float:
    if u_std == 0.0:
        return 0.0
    step = max(0.01 * u_std, 1e-7 * abs(values[index]))
    high, low = list(values), list(values)
    high[index] += step
    low[index] -= step
    return (function(*high) - function(*low)) / (high[index] - low[index])


def total(estimates: Iterable[Estimate]) -> Estimate:
    """Sum, shared influences adding with sign.

    Parameters
    ----------
    estimates
        What to add; none gives an exact zero.

    >>> total([exact(1.0), exact(2.5)]).value
    3.5
    """
    items = list(estimates)
    return combine(sum(e.value for e in items), [(1.0, e) for e in items])


def difference(minuend: Estimate, subtrahend: Estimate) -> Estimate:
    """``minuend − subtrahend``.

    Parameters
    ----------
    minuend, subtrahend
        In one measure.

    >>> difference(exact(5.0), exact(2.0)).value
    3.0
    """
    return combine(minuend.value - subtrahend.value, [(1.0, minuend), (-1.0, subtrahend)])


def product(left: Estimate, right: Estimate) -> Estimate:
    """``left · right``.

    Parameters
    ----------
    left, right
        Factors.

    >>> a = measured(2.0, u_std=0.1, id="a", label="a")
    >>> product(a, exact(3.0)).u_std
    0.3
    """
    return combine(left.value * right.value, [(right.value, left), (left.value, right)])


def ratio(numerator: Estimate, denominator: Estimate) -> Estimate:
    """``numerator / denominator``; a common relative bias cancels.

    Parameters
    ----------
    numerator, denominator
        The denominator must not be zero.

    Raises
    ------
    ZeroDivisionError
        If the denominator's value is zero; callers check and refuse first.

    >>> a = measured(10.0, u_std=0.5, id="bias", label="bias")
    >>> b = measured(20.0, u_std=1.0, id="bias", label="bias")
    >>> r = ratio(a, b); (r.value, r.u_std)
    (0.5, 0.0)
    """
    quotient = numerator.value / denominator.value
    return combine(
        quotient,
        [(1.0 / denominator.value, numerator), (-quotient / denominator.value, denominator)],
    )


def scale(estimate: Estimate, factor: float) -> Estimate:
    """``factor · estimate`` for an exact factor.

    Parameters
    ----------
    estimate
        What to scale.
    factor
        Exact number.

    >>> scale(exact(2.0), -1.5).value
    -3.0
    """
    return combine(factor * estimate.value, [(factor, estimate)])


def weighted_mean(estimates: Sequence[Estimate]) -> Estimate:
    """Mean of repeated looks at one thing, weighted by the influences they do *not* share.

    Weights are the inverse variances of the influences proper to each estimate alone; what all
    share (a meter's bias) stays as it is, so that ten readings with one meter never look better
    than the meter. If any has no uncertainty of its own, plain means are taken.

    Parameters
    ----------
    estimates
        At least one.

    >>> a = measured(10.0, u_std=1.0, id="r1", label="reading 1")
    >>> b = measured(12.0, u_std=1.0, id="r2", label="reading 2")
    >>> m = weighted_mean([a, b]); (m.value, round(m.u_std, 4))
    (11.0, 0.7071)
    """
    if not estimates:
        raise ValueError("mean of no estimates")
    seen: dict[str, int] = {}
    for e in estimates:
        for c in e.components:
            seen[c.influence.id] = seen.get(c.influence.id, 0) + 1
    own = [
        sum(c.contribution**2 for c in e.components if seen[c.influence.id] == 1) for e in estimates
    ]
    weights = [1.0 / v for v in own] if min(own) > 0.0 else [1.0] * len(own)
    norm = sum(weights)
    terms = [(w / norm, e) for w, e in zip(weights, estimates, strict=True)]
    return combine(sum(w * e.value for w, e in terms), terms)


def covariance(left: Estimate, right: Estimate) -> float:
    """Covariance through shared influences: ``Σ c_i d_i``.

    Parameters
    ----------
    left, right
        Two estimates.

    >>> a = measured(1.0, u_std=0.2, id="bias", label="bias")
    >>> round(covariance(a, a), 6)
    0.04
    """
    other = {c.influence.id: c.contribution for c in right.components}
    return sum(c.contribution * other.get(c.influence.id, 0.0) for c in left.components)


def correlation(left: Estimate, right: Estimate) -> float:
    """Correlation coefficient; 0 where one of the two is exact.

    Parameters
    ----------
    left, right
        Two estimates.

    >>> a = measured(1.0, u_std=0.2, id="bias", label="bias")
    >>> round(correlation(a, scale(a, -2.0)), 9)
    -1.0
    """
    norm = left.u_std * right.u_std
    return covariance(left, right) / norm if norm > 0.0 else 0.0
