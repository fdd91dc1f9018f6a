"""A measured figure against the rated one at the flow of the day."""

from __future__ import annotations

from collections.abc import Sequence

from ventwright.quantities import Problem, Severity
from ventwright.quantities.records import dataclass
from ventwright.recovery.definitions import RatioKind
from ventwright.recovery.ratios import RatioResult, refusal
from ventwright.uncertainty import (
    Decision,
    Estimate,
    Influence,
    combine,
    decide,
    difference,
    widen,
)

LEAST_FLOW_RATIO = 0.5
MOST_FLOW_RATIO = 1.3
"""Flows over the highest rated flow between which a line through rated points holds.

Source: energyplus_engineering
"""
NEAR_FLOW_FRAC = 0.05
"""A single rated point serves flows this near to its own. Judgement."""
LIKE_WEATHER_K = 10.0
"""Outdoor temperatures this near count as the weather of the rating. Judgement."""
U_RATED_RATIO = 0.02
"""Standard uncertainty of a rated figure: repeat tests in laboratories differ by some per cent.
Judgement after the abstract of an inter-laboratory comparison."""


@dataclass(frozen=True, slots=True, kw_only=True)
class RatedPoint:
    """One line of a rating.

    Parameters
    ----------
    kind
        Which figure was rated.
    flow_m3_s
        Standard flow it was rated at [m³/s], mean of both sides, above 0.
    rated_ratio
        The rated figure [1].
    u_rated_ratio
        Its standard uncertainty [1].
    outdoor_c
        Outdoor temperature of the rating test [°C], None where not stated.
    """

    kind: RatioKind
    flow_m3_s: float
    rated_ratio: float
    u_rated_ratio: float = U_RATED_RATIO
    outdoor_c: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class RatedComparison:
    """The measured figure against the rated one, or why they can't be compared.

    Parameters
    ----------
    rated_ratio
        Rated figure at the measured flow [1].
    gap_ratio
        Measured less rated [1].
    decision
        Whether the measured figure reaches the rated one, less the tolerance.
    flags
        A refusal where the others are None; reservations.
    """

    rated_ratio: Estimate | None
    gap_ratio: Estimate | None
    decision: Decision | None
    flags: tuple[Problem, ...] = ()


def compare_rated(
    measured: RatioResult,
    *,
    flow_m3_s: Estimate,
    points: Sequence[RatedPoint],
    outdoor_c: float | None = None,
    tolerance_ratio: float = 0.0,
) -> RatedComparison:
    """Compare a measured figure with the rating interpolated at the measured flow.

    Only figures of one kind are compared: an apparent figure against a net one differs by the fan
    heat. Between rated flows the figure is taken as linear in the flow; beyond them along the
    nearest line, from 0.5 to 1.3 of the highest rated flow, and flagged. Ratings at several outdoor
    temperatures are not mixed: those nearest to the outdoor temperature on site serve, and are
    flagged where they were made in much other weather.

    Parameters
    ----------
    measured
        The figure on site.
    flow_m3_s
        Standard flow on site [m³/s], mean of both sides.
    points
        Rating of the same ventilation unit; other kinds of figure are passed over.
    outdoor_c
        Outdoor temperature on site [°C]; needed only for ratings at several.
    tolerance_ratio
        How far below the rating still counts as reaching it [1].

    Returns
    -------
    RatedComparison
        Verdict or refusal.

    Raises
    ------
    ValueError
        A rated flow that is not above zero, or two points at one flow and outdoor temperature.

    Source: energyplus_engineering

    >>> from ventwright.recovery.ratios import fieller_interval, shown
    >>> from ventwright.uncertainty import exact, measured
    >>> e = measured(0.70, u_std=0.024, id="e", label="e")
    >>> kind = RatioKind.SENSIBLE_SUPPLY
    >>> figure = shown(kind, estimate=e,
    ...     interval=fieller_interval(numerator_si=e, denominator_si=exact(1.0)))
    >>> rating = [RatedPoint(kind=kind, flow_m3_s=q, rated_ratio=r, u_rated_ratio=0.0)
    ...           for q, r in ((0.03, 0.84), (0.06, 0.78))]
    >>> found = compare_rated(figure, flow_m3_s=exact(0.04), points=rating)
    >>> round(found.rated_ratio.value, 2), found.decision.verdict.value
    (0.82, 'not met')
    """
    where = measured.kind.value
    if measured.estimate is None:
        return _refused(
            refusal(
                code="nothing-to-compare",
                where=where,
                message="the measured figure is refused",
                remedy="see its own remedy",
            )
        )
    own = _in_like_weather([p for p in points if p.kind is measured.kind], outdoor_c)
    flows = [p.flow_m3_s for p in own]
    if any(not flow > 0.0 for flow in flows) or len(set(flows)) != len(flows):
        raise ValueError(f"rated flows {flows!r} m³/s: each above 0 and no two the same")
    problem = _range_problem(own, flow_m3_s, measured.kind, points)
    if problem is not None:
        return _refused(problem)
    rated = _rated_at(own, flow_m3_s)
    gap = difference(measured.estimate, rated)
    return RatedComparison(
        rated_ratio=rated,
        gap_ratio=gap,
        decision=decide(gap, low=-tolerance_ratio),
        flags=(*_extrapolated(own, flow_m3_s, where), *_other_weather(own, outdoor_c, where)),
    )


def _refused(problem: Problem) -> RatedComparison:
    return RatedComparison(rated_ratio=None, gap_ratio=None, decision=None, flags=(problem,))


def _in_like_weather(points: Sequence[RatedPoint], outdoor_c: float | None) -> list[RatedPoint]:
    """The points of one outdoor temperature, the nearest to that on site, by rising flow."""
    stated = {p.outdoor_c for p in points if p.outdoor_c is not None}
    if stated:
        # Without a temperature on site the mildest rating test is the nearest to a usual visit.
        nearest = (
            max(stated) if outdoor_c is None else min(stated, key=lambda t: (abs(t - outdoor_c), t))
        )
        points = [p for p in points if p.outdoor_c in (None, nearest)]
    return sorted(points, key=lambda p: p.flow_m3_s)


def _other_weather(
    own: Sequence[RatedPoint], outdoor_c: float | None, where: str
) -> tuple[Problem, ...]:
    rated_c = next((p.outdoor_c for p in own if p.outdoor_c is not None), None)
    if rated_c is None or outdoor_c is None or abs(rated_c - outdoor_c) <= LIKE_WEATHER_K:
        return ()
    return (
        Problem(
            code="rated-other-weather",
            where=where,
            message=f"the rating was made at {rated_c:.0f} °C outdoors and this test at "
            f"{outdoor_c:.0f} °C; condensation, frost and moisture transfer change with it",
            severity=Severity.NOTE,
        ),
    )


def _range_problem(
    own: Sequence[RatedPoint], flow: Estimate, kind: RatioKind, points: Sequence[RatedPoint]
) -> Problem | None:
    if not own:
        others = ", ".join(sorted({p.kind.value for p in points})) or "nothing"
        return refusal(
            code="rated-other-figure",
            where=kind.value,
            message=f"the rating gives {others}, not {kind.value}",
            remedy="compare figures of one definition only; for a net rating measure fan power "
            "and compare the net figure",
        )
    low, high = own[0].flow_m3_s, own[-1].flow_m3_s
    if len(own) == 1:
        low, high = (1.0 - NEAR_FLOW_FRAC) * low, (1.0 + NEAR_FLOW_FRAC) * high
    else:
        low, high = min(low, LEAST_FLOW_RATIO * high), MOST_FLOW_RATIO * high
    if low <= flow.value <= high:
        return None
    return refusal(
        code="rated-out-of-range",
        where=kind.value,
        message=f"the rating serves {low:.4g} to {high:.4g} m³/s, and {flow.value:.4g} m³/s was "
        "measured",
        remedy="repeat at a setting near a rated flow, or type further rated points",
    )


def _rated_at(own: Sequence[RatedPoint], flow: Estimate) -> Estimate:
    if len(own) == 1:
        slope, left, right, share = 0.0, own[0], own[0], 0.0
    else:
        place = next(
            (i for i, p in enumerate(own[1:-1], start=1) if flow.value <= p.flow_m3_s), len(own) - 1
        )
        left, right = own[place - 1], own[place]
        width = right.flow_m3_s - left.flow_m3_s
        slope = (right.rated_ratio - left.rated_ratio) / width
        share = (flow.value - left.flow_m3_s) / width
    value = left.rated_ratio + share * (right.rated_ratio - left.rated_ratio)
    # One laboratory and one specimen: the points of a rating err together.
    u_std = max(left.u_rated_ratio, right.u_rated_ratio)
    cause = Influence(id="recovery:rating", label="rated figure")
    return widen(combine(value, [(slope, flow)]), cause, u_std=u_std)


def _extrapolated(own: Sequence[RatedPoint], flow: Estimate, where: str) -> tuple[Problem, ...]:
    if len(own) == 1 or own[0].flow_m3_s <= flow.value <= own[-1].flow_m3_s:
        return ()
    return (
        Problem(
            code="rated-extrapolated",
            where=where,
            message=f"{flow.value:.4g} m³/s lies beyond the rated flows; the nearest line is drawn "
            "on",
            remedy="repeat at a setting within the rated flows",
        ),
    )
