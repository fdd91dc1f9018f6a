"""One ratio with its interval, or one refusal; and the rule by which figures are refused.

A ratio of differences is carried by its denominator. The rule: refuse where the difference between
extract and outdoor air is less than three times its standard uncertainty, or where half the 95 %
interval of the ratio is wider than a stated limit. Within that rule the interval is Fieller's,
which stays right where the denominator is uncertain and first order would not be.
"""

from __future__ import annotations

import math

from ventwright.quantities import Problem, Severity, SourceTrust
from ventwright.quantities.records import dataclass
from ventwright.recovery.definitions import DEFINITIONS, RatioKind
from ventwright.uncertainty import (
    Estimate,
    Interval,
    combine,
    covariance,
    coverage_factor_from,
    difference,
    normal_cdf,
    product,
    ratio,
)

LEAST_DIFFERENCE_FACTOR = 3.0
"""A difference counts from three times its standard uncertainty on. Judgement."""
MOST_U_FRAC = 0.25
"""Widest half interval of a ratio that is still stated. Judgement: ± 0.25 spans half the scale
between no recovery and full recovery; a wider one tells a good exchanger from a bad one no more."""
COVERAGE_FRAC = 0.95
MOST_RATIO = 1.0


@dataclass(frozen=True, slots=True, kw_only=True)
class RatioResult:
    """One figure or one refusal.

    Parameters
    ----------
    kind
        Which figure; only figures of one kind are compared.
    estimate
        The ratio [1] with its budget, None where it is refused.
    interval
        Its 95 % interval by Fieller's theorem, not centred on the value where the denominator is
        uncertain; None with the estimate.
    definition
        What the figure means.
    standard
        The text it is named after.
    source_key
        That text in the list of sources.
    trust
        How far that text is known.
    flags
        Problems; a `REFUSAL` among them if and only if `estimate` is None.
    """

    kind: RatioKind
    estimate: Estimate | None
    interval: Interval | None
    definition: str
    standard: str
    source_key: str
    trust: SourceTrust
    flags: tuple[Problem, ...] = ()


def shown(
    kind: RatioKind,
    *,
    estimate: Estimate,
    interval: Interval,
    flags: tuple[Problem, ...] = (),
) -> RatioResult:
    """A figure with the words of its kind.

    Parameters
    ----------
    kind
        Which figure.
    estimate
        The ratio [1].
    interval
        Its interval.
    flags
        Reservations.
    """
    d = DEFINITIONS[kind]
    return RatioResult(
        kind=kind,
        estimate=estimate,
        interval=interval,
        definition=d.words,
        standard=d.standard,
        source_key=d.source_key,
        trust=d.trust,
        flags=flags,
    )


def refused(kind: RatioKind, *flags: Problem) -> RatioResult:
    """A refusal with the words of its kind.

    Parameters
    ----------
    kind
        Which figure.
    flags
        Why; at least one of them a refusal.
    """
    d = DEFINITIONS[kind]
    return RatioResult(
        kind=kind,
        estimate=None,
        interval=None,
        definition=d.words,
        standard=d.standard,
        source_key=d.source_key,
        trust=d.trust,
        flags=flags,
    )


def refusal(*, code: str, where: str, message: str, remedy: str) -> Problem:
    """A problem that takes a figure away.

    Parameters
    ----------
    code, where, message, remedy
        As in `Problem`.
    """
    return Problem(
        code=code, where=where, message=message, remedy=remedy, severity=Severity.REFUSAL
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Span:
    """What a ratio is taken over: the difference of extract and outdoor air in one property."""

    difference_si: Estimate
    name: str
    symbol: str
    display_factor: float = 1.0

    def text(self, value: float) -> str:
        """A value of this property in the measure it is spoken of."""
        return f"{float(f'{value * self.display_factor:.2g}'):g} {self.symbol}"

    def refusal(self, where: str) -> Problem | None:
        """The refusal where the difference can't carry a ratio, else None."""
        u_std = self.difference_si.u_std
        if abs(self.difference_si.value) > LEAST_DIFFERENCE_FACTOR * u_std:
            return None
        return refusal(
            code="difference-too-small",
            where=where,
            message=f"extract and outdoor air differ by "
            f"{self.text(abs(self.difference_si.value))} in "
            f"{self.name} with a standard uncertainty of {self.text(u_std)}; less than three "
            f"times that can't carry a ratio",
            remedy=f"measure at a difference of more than "
            f"{self.text(LEAST_DIFFERENCE_FACTOR * u_std)}, or with one probe in all streams",
        )


def ratio_over(
    kind: RatioKind, *, numerator_si: Estimate, span: Span, max_u_frac: float = MOST_U_FRAC
) -> RatioResult:
    """Ratio of a weighted difference over a span, or its refusal.

    Parameters
    ----------
    kind
        Which figure.
    numerator_si
        In the measure of the span.
    span
        Denominator.
    max_u_frac
        Widest half interval that is stated [1].
    """
    problem = span.refusal(kind.value)
    if problem is not None:
        return refused(kind, problem)
    return ratio_of(
        kind, numerator_si=numerator_si, denominator_si=span.difference_si, max_u_frac=max_u_frac
    )


def ratio_of(
    kind: RatioKind, *, numerator_si: Estimate, denominator_si: Estimate, max_u_frac: float
) -> RatioResult:
    """Ratio with Fieller's interval, refused where that is unbounded or too wide.

    Parameters
    ----------
    kind
        Which figure.
    numerator_si, denominator_si
        In one measure; the denominator is not zero.
    max_u_frac
        Widest half interval that is stated [1].
    """
    estimate = ratio(numerator_si, denominator_si)
    found = fieller_interval(numerator_si=numerator_si, denominator_si=denominator_si)
    half = math.inf if found is None else 0.5 * (found.high - found.low)
    if found is None or half > max_u_frac:
        text = "any size" if found is None else f"± {half:.2f}"
        return refused(
            kind,
            refusal(
                code="ratio-too-uncertain",
                where=kind.value,
                message=f"the readings give {estimate.value:.2f} with an uncertainty of {text} "
                f"(95 %); more than ± {max_u_frac:.2f} is not stated",
                remedy="measure at a larger difference, with one probe in all streams, or with "
                "probes whose offsets were compared in one air first",
            ),
        )
    return shown(kind, estimate=estimate, interval=found, flags=_outside(kind, found))


def _outside(kind: RatioKind, found: Interval) -> tuple[Problem, ...]:
    if found.low <= MOST_RATIO and found.high >= 0.0:
        return ()
    return (
        Problem(
            code="ratio-impossible",
            where=kind.value,
            message=f"the interval {found.low:.2f} to {found.high:.2f} lies outside 0 to 1, more "
            "than an exchanger alone can do",
            remedy="check that no two stations are exchanged, and look for leakage, fan heat, a "
            "heater or conditions that changed between the readings",
        ),
    )


def fieller_interval(
    *,
    numerator_si: Estimate,
    denominator_si: Estimate,
    coverage_frac: float = COVERAGE_FRAC,
) -> Interval | None:
    """Coverage interval of a ratio of two normal quantities by Fieller's theorem.

    All θ with ``(N − θ D)² ≤ t² Var(N − θ D)``. Unlike ``θ ± t u(θ)`` it does not take the
    denominator's uncertainty for small.

    Parameters
    ----------
    numerator_si, denominator_si
        N and D in one measure; shared influences correlate them.
    coverage_frac
        Coverage probability, 0.95 by default.

    Returns
    -------
    Interval or None
        None where D is not shown to differ from zero: then the set of θ is unbounded.

    Source: fieller_1954

    >>> from ventwright.uncertainty import measured
    >>> n = measured(5.0, u_std=0.5, id="n", label="n")
    >>> d = measured(10.0, u_std=1.0, id="d", label="d")
    >>> i = fieller_interval(numerator_si=n, denominator_si=d); (round(i.low, 3), round(i.high, 3))
    (0.377, 0.663)
    """
    n, d = numerator_si.value, denominator_si.value
    var_n, var_d = numerator_si.u_std**2, denominator_si.u_std**2
    cov = covariance(numerator_si, denominator_si)
    if d == 0.0:
        return None
    residual = combine(0.0, [(1.0, numerator_si), (-n / d, denominator_si)])
    t2 = coverage_factor_from(coverage_frac=coverage_frac, dof=max(residual.dof, 1.0)) ** 2
    a = d * d - t2 * var_d
    b = n * d - t2 * cov
    c = n * n - t2 * var_n
    if a <= 0.0:
        return None
    # Rounding may leave a tiny negative where numerator and denominator are exact.
    root = math.sqrt(max(b * b - a * c, 0.0))
    return Interval(low=(b - root) / a, high=(b + root) / a, coverage_frac=coverage_frac)


def over_smaller(own_si: Estimate, other_si: Estimate) -> Estimate:
    """``own / min(own, other) = max(1, own / other)`` with its budget.

    Where both are equal within their uncertainty, nobody knows which one is smaller; the slope is
    then weighted by the odds that `own` is the larger one, so that the budget has no jump.

    Parameters
    ----------
    own_si, other_si
        Flows or heat capacity rates in one measure, above 0.
    """
    gap = difference(own_si, other_si)
    odds = float(gap.value > 0.0)
    if gap.u_std > 0.0:
        odds = normal_cdf(gap.value / gap.u_std)
    quotient = ratio(own_si, other_si)
    return combine(max(1.0, quotient.value), [(odds, quotient)])


def weighted(numerator_si: Estimate, weight_ratio: Estimate | None) -> Estimate:
    """A difference times its flow weight, or as it is where there is none.

    Parameters
    ----------
    numerator_si
        Difference of two states.
    weight_ratio
        Flow weight [1].
    """
    return numerator_si if weight_ratio is None else product(numerator_si, weight_ratio)
