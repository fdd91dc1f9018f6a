"""Running part of the time: what a system must move while it runs."""

from __future__ import annotations

from itertools import pairwise

from ventwright.quantities.records import dataclass
from ventwright.requirements.rate_rules import CyclingRule

_SLACK = 1e-9
"""A run time typed as 20 min of 60 min is a third only to rounding."""


@dataclass(frozen=True, slots=True, kw_only=True)
class CyclingFactor:
    """A factor on the continuous rate, or the reason why the rule gives none.

    `reason_code` is ``below-table``, ``period-too-long`` or ``never-runs``.
    """

    factor: float | None
    reason_code: str = ""


def cycling_factor(rule: CyclingRule, *, run_frac: float, period_s: float | None) -> CyclingFactor:
    """Factor on the continuous rate for a system that runs a share of each period.

    Parameters
    ----------
    rule
        Table or equal mean.
    run_frac
        Share of each period that it runs [1].
    period_s
        Length of a period [s]; None takes the longest that the rule covers.

    Returns
    -------
    CyclingFactor
        Interpolated between the points of a table and never beyond them.

    Source: irc_2021

    >>> from ventwright.requirements.citation import Citation, Trust
    >>> from ventwright.requirements.rate_rules import RunPoint
    >>> rule = CyclingRule(period_s=14400.0, citation=Citation(source="irc_2021", trust=Trust.READ),
    ...     points=(RunPoint(run_frac=0.25, factor=4.0), RunPoint(run_frac=0.5, factor=2.0)))
    >>> cycling_factor(rule, run_frac=0.375, period_s=3600.0).factor
    3.0
    """
    if run_frac <= 0.0:
        return CyclingFactor(factor=None, reason_code="never-runs")
    if run_frac >= 1.0:
        return CyclingFactor(factor=1.0)
    if period_s is not None and period_s > rule.period_s * (1.0 + _SLACK):
        return CyclingFactor(factor=None, reason_code="period-too-long")
    if not rule.points:
        return CyclingFactor(factor=1.0 / run_frac)
    for low, high in pairwise(rule.points):
        if low.run_frac - _SLACK <= run_frac <= high.run_frac + _SLACK:
            share = (run_frac - low.run_frac) / (high.run_frac - low.run_frac)
            share = min(1.0, max(0.0, share))
            return CyclingFactor(factor=low.factor + share * (high.factor - low.factor))
    return CyclingFactor(factor=None, reason_code="below-table")
