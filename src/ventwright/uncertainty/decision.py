"""Decision rules: from an estimate and limits to *met*, *not met* or *not shown*.

Two rules stand side by side since published texts differ: a rule that speaks of readings is judged
on the reading (`simple`, with our confidence beside it); a rule that speaks of the true value is
judged with the uncertainty (`guarded`). Which one applies is the rule set's to say.
"""

from __future__ import annotations

import math
from enum import StrEnum

from ventwright.quantities.records import dataclass
from ventwright.uncertainty.coverage import budget, coverage_factor_from, student_cdf
from ventwright.uncertainty.estimate import Estimate


class Verdict(StrEnum):
    """The three answers; there is no fourth."""

    MET = "met"
    NOT_MET = "not met"
    NOT_SHOWN = "not shown"


class DecisionRule(StrEnum):
    """How uncertainty enters a verdict (JCGM 106)."""

    SIMPLE = "simple"
    """The reading against the limit (JCGM 106 8.2.1, simple acceptance)."""
    GUARDED = "guarded"
    """Met or not met only where the stated confidence is reached (JCGM 106 8.3)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Decision:
    """A verdict with what it rests on.

    Parameters
    ----------
    verdict
        By the decision rule.
    decision_rule
        The rule that was applied.
    is_reading_within
        Whether the value itself lies within the limits.
    prob_within_frac
        Probability that the true value lies within the limits.
    confidence_frac
        Confidence asked of a guarded verdict.
    low, high
        The limits, in SI; None where open.
    """

    verdict: Verdict
    decision_rule: DecisionRule
    is_reading_within: bool
    prob_within_frac: float
    confidence_frac: float
    low: float | None
    high: float | None


def prob_within(
    estimate: Estimate, *, low: float | None = None, high: float | None = None
) -> float:
    """Conformance probability of JCGM 106 (7.2–7.4), with Student's t where dof are finite.

    Parameters
    ----------
    estimate
        Value with uncertainty.
    low, high
        Limits, None where open.

    Returns
    -------
    float
        For an exact estimate 1 or 0; limits belong to the interval.

    Source: jcgm_106_2012

    >>> from ventwright.uncertainty import measured
    >>> e = measured(13.6, u_std=1.8, id="m", label="m")
    >>> round(prob_within(e, low=12.5, high=16.3), 3)
    0.663
    """
    u_std = estimate.u_std
    if u_std == 0.0:
        return 1.0 if _is_within(estimate.value, low, high) else 0.0
    dof = max(estimate.dof, 1.0)
    below = 0.0 if low is None else student_cdf((low - estimate.value) / u_std, dof=dof)
    above = 0.0 if high is None else student_cdf((estimate.value - high) / u_std, dof=dof)
    return max(0.0, 1.0 - below - above)


def decide(
    estimate: Estimate,
    *,
    low: float | None = None,
    high: float | None = None,
    decision_rule: DecisionRule = DecisionRule.GUARDED,
    confidence_frac: float = 0.95,
) -> Decision:
    """Verdict on limits.

    `GUARDED`: met if the probability of lying within is at least the confidence, not met if the
    probability of lying outside is, otherwise not shown. `SIMPLE`: the reading decides; it never
    gives *not shown*, which is why the probability is always given beside it.

    Parameters
    ----------
    estimate
        Value with uncertainty.
    low, high
        Limits in SI, at least one.
    decision_rule
        Which rule.
    confidence_frac
        Between 0.5 and 1, exclusive of 1.

    Raises
    ------
    ValueError
        Without any limit, with low > high, or a confidence out of range.

    Source: jcgm_106_2012

    >>> from ventwright.uncertainty import measured
    >>> e = measured(10.0, u_std=1.0, id="m", label="m")
    >>> decide(e, low=9.0).verdict.value, decide(e, low=8.0).verdict.value
    ('not shown', 'met')
    """
    if low is None and high is None:
        raise ValueError("a decision needs at least one limit")
    if low is not None and high is not None and low > high:
        raise ValueError(f"limits crossed: {low!r} > {high!r}")
    if not 0.5 <= confidence_frac < 1.0:
        raise ValueError(f"confidence {confidence_frac!r} is not in [0.5, 1)")
    reading = _is_within(estimate.value, low, high)
    prob = prob_within(estimate, low=low, high=high)
    if decision_rule is DecisionRule.SIMPLE:
        verdict = Verdict.MET if reading else Verdict.NOT_MET
    elif prob >= confidence_frac:
        verdict = Verdict.MET
    elif prob <= 1.0 - confidence_frac:
        verdict = Verdict.NOT_MET
    else:
        verdict = Verdict.NOT_SHOWN
    return Decision(
        verdict=verdict,
        decision_rule=decision_rule,
        is_reading_within=reading,
        prob_within_frac=prob,
        confidence_frac=confidence_frac,
        low=low,
        high=high,
    )


def _is_within(value: float, low: float | None, high: float | None) -> bool:
    return (low is None or value >= low) and (high is None or value <= high)


@dataclass(frozen=True, slots=True, kw_only=True)
class Settling:
    """What would turn *not shown* into an answer.

    Parameters
    ----------
    u_std_needed
        The largest standard uncertainty at which the present value would give a verdict; zero where
        the value lies on a limit and no measurement can settle it.
    largest_influence_id, largest_label
        The influence with the largest share, which is the one to attack first.
    largest_share_frac
        Its share of the variance.
    """

    u_std_needed: float
    largest_influence_id: str
    largest_label: str
    largest_share_frac: float


def what_would_settle(estimate: Estimate, decision: Decision) -> Settling | None:
    """For a guarded verdict *not shown*: how small the uncertainty must be, and what dominates it.

    Parameters
    ----------
    estimate
        The estimate that was judged.
    decision
        Its decision.

    Returns
    -------
    Settling or None
        None where there is nothing to settle.

    >>> from ventwright.uncertainty import measured
    >>> e = measured(10.0, u_std=1.0, id="m", label="vane meter")
    >>> round(what_would_settle(e, decide(e, low=9.0)).u_std_needed, 3)
    0.608
    """
    if decision.verdict is not Verdict.NOT_SHOWN:
        return None
    distances = [abs(estimate.value - x) for x in (decision.low, decision.high) if x is not None]
    one_sided = coverage_factor_from(coverage_frac=2.0 * decision.confidence_frac - 1.0)
    needed = min(distances) / one_sided
    # A band that is itself narrower than the interval needs both tails: shrink until it holds.
    for _ in range(60):
        trial = _with_u(estimate, needed)
        prob = prob_within(trial, low=decision.low, high=decision.high)
        if needed == 0.0 or min(prob, 1.0 - prob) <= 1.0 - decision.confidence_frac + 1e-12:
            break
        needed *= 0.97
    rows = budget(estimate)
    return Settling(
        u_std_needed=needed,
        largest_influence_id=rows[0].id,
        largest_label=rows[0].label,
        largest_share_frac=rows[0].share_frac,
    )


def _with_u(estimate: Estimate, u_std: float) -> Estimate:
    from ventwright.uncertainty.estimate import measured

    if u_std == 0.0 or math.isnan(u_std):
        return Estimate(value=estimate.value)
    return measured(estimate.value, u_std=u_std, id="trial", label="trial")
