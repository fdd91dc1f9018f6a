"""Do the streams agree? What one gave up must be found in the other.

A closure is signed: the supply side's exchange less the extract side's, as a share of the greatest
possible exchange. Two questions are asked of it and kept apart: does it lie within the limit of the
test rule, and can the uncertainty of the readings explain it?
"""

from __future__ import annotations

from ventwright.quantities import AirKind, Problem, Severity, SourceTrust
from ventwright.quantities.records import dataclass
from ventwright.recovery.ratios import Span
from ventwright.recovery.streams import Carried, Situation, flow_missing
from ventwright.uncertainty import (
    Decision,
    Estimate,
    Verdict,
    combine,
    decide,
    difference,
    interval,
    product,
    ratio,
    total,
)

MASS_LIMIT_FRAC = 0.05
PROPERTY_LIMIT_FRAC = 0.20
"""Limits on the closures. Source: ashrae_84"""
OWN_GAP_FRAC = 0.005
"""A gap this small is the calculation's own: one heat capacity serves each side, and in the closed
reference cases, where heat and water balance exactly, enthalpy misses by up to 0.002."""
LIMIT_TRUST = SourceTrust.MEMORY
LIMIT_KEY = "ashrae_84"


@dataclass(frozen=True, slots=True, kw_only=True)
class Closure:
    """How far the streams agree in one balance.

    Parameters
    ----------
    estimate
        Signed gap [1]: the exchange seen on the supply side less that seen on the extract side,
        over the greatest possible exchange (for mass: what enters less what leaves, over the
        smaller side). None where it can't be told.
    limit_frac
        Largest gap of a valid test.
    source_key, trust
        Where the limit comes from and how far that is known.
    decision
        Whether the gap lies within the limit, None without an estimate.
    is_explained
        Whether zero, give or take 0.005 of the calculation's own, lies in the 95 % interval of the
        gap, so that the uncertainty of the readings explains it; None without an estimate.
    flags
        What the gap says, or why it can't be told.
    """

    estimate: Estimate | None
    limit_frac: float
    source_key: str = LIMIT_KEY
    trust: SourceTrust = LIMIT_TRUST
    decision: Decision | None = None
    is_explained: bool | None = None
    flags: tuple[Problem, ...] = ()


def property_closure(
    situation: Situation, carried: Carried, *, drained_kg_s: Estimate | None = None
) -> Closure:
    """Closure of heat, moisture or energy from the four states and one flow on each side.

    ``[C_s (X2 − X1) − C_e (X3 − X4)]/[C_min (X3 − X1)]``; for moisture, drained condensate is
    counted with the stream that lost it.

    Parameters
    ----------
    situation
        The test.
    carried
        Which balance.
    drained_kg_s
        Condensate caught at the drain [kg/s], only for moisture.
    """
    where = f"{carried.value}-closure"
    span, problem = situation.span(carried), situation.missing(where, *AirKind)
    rates = (situation.supply_rate(carried), situation.extract_rate(carried))
    if problem is None and span is not None:
        problem = span.refusal(where)
    if problem is None and None in rates:
        problem = flow_missing(where)
    if problem is not None:
        return Closure(estimate=None, limit_frac=PROPERTY_LIMIT_FRAC, flags=(problem,))
    assert span is not None
    gap = _gap(situation, carried, drained_kg_s)
    smaller = min((r for r in rates if r is not None), key=lambda r: r.value)
    estimate = ratio(gap, product(smaller, span.difference_si))
    flags = _reading_of(carried, span, estimate, drained_kg_s)
    return _judged(estimate, PROPERTY_LIMIT_FRAC, flags)


def _gap(situation: Situation, carried: Carried, drained_kg_s: Estimate | None) -> Estimate:
    supply = situation.step(carried, start=AirKind.OUTDOOR, end=AirKind.SUPPLY)
    extract = situation.step(carried, start=AirKind.EXHAUST, end=AirKind.EXTRACT)
    supply_rate, extract_rate = situation.supply_rate(carried), situation.extract_rate(carried)
    assert supply is not None and extract is not None
    assert supply_rate is not None and extract_rate is not None
    gap = difference(product(supply_rate, supply), product(extract_rate, extract))
    if drained_kg_s is not None and carried is Carried.MOISTURE:
        gap = total([gap, drained_kg_s])
    return gap


def mass_closure(situation: Situation) -> Closure:
    """Closure of dry air from all four flows, ``(m1 − m2 + m3 − m4)/m_min``.

    Parameters
    ----------
    situation
        The test.
    """
    flows = []
    for kind in (AirKind.OUTDOOR, AirKind.SUPPLY, AirKind.EXTRACT, AirKind.EXHAUST):
        stream = situation.streams.get(kind)
        flow = None if stream is None else stream.mass_flow_kg_s
        if flow is None or flow.value <= 0.0 or flow in flows:
            problem = Problem(
                code="mass-closure-not-measured",
                where="mass-closure",
                message="the flows of all four streams are needed, each measured by itself; "
                f"{kind.value} was not",
                severity=Severity.NOTE,
            )
            return Closure(estimate=None, limit_frac=MASS_LIMIT_FRAC, flags=(problem,))
        flows.append(flow)
    oda, sup, eta, eha = flows
    gap = combine(
        oda.value - sup.value + eta.value - eha.value,
        [(1.0, oda), (-1.0, sup), (1.0, eta), (-1.0, eha)],
    )
    estimate = ratio(gap, min(flows, key=lambda f: f.value))
    flags: tuple[Problem, ...] = ()
    if not _is_explained(estimate):
        flags = (
            Problem(
                code="mass-not-closed",
                where="mass-closure",
                message=f"{abs(estimate.value):.0%} of the dry air that "
                f"{'enters' if estimate.value > 0.0 else 'leaves'} is not found on the other side",
                remedy="look for leakage of the casing, and for a flow measured at another "
                "station or setting",
            ),
        )
    return _judged(estimate, MASS_LIMIT_FRAC, flags)


def _judged(estimate: Estimate, limit_frac: float, flags: tuple[Problem, ...]) -> Closure:
    decision = decide(estimate, low=-limit_frac, high=limit_frac)
    return Closure(
        estimate=estimate,
        limit_frac=limit_frac,
        decision=decision,
        is_explained=_is_explained(estimate),
        flags=(*flags, *_limit_flags(decision)),
    )


def _is_explained(estimate: Estimate) -> bool:
    found = interval(estimate)
    return found.low <= OWN_GAP_FRAC and found.high >= -OWN_GAP_FRAC


def _limit_flags(decision: Decision) -> tuple[Problem, ...]:
    if decision.verdict is not Verdict.NOT_MET:
        return ()
    return (
        Problem(
            code="closure-outside-limit",
            where="closure",
            message=f"the gap is beyond ± {decision.high:.2f}, the limit of a valid test as "
            "recalled from ASHRAE 84 (not confirmed in its text)",
            remedy="find the cause before either side's figure is relied on",
        ),
    )


def _reading_of(
    carried: Carried, span: Span, estimate: Estimate, drained_kg_s: Estimate | None
) -> tuple[Problem, ...]:
    """Say which stream shows more than the other, where uncertainty alone doesn't explain it."""
    if _is_explained(estimate):
        return ()
    what = {Carried.SENSIBLE: "heat", Carried.MOISTURE: "moisture", Carried.ENERGY: "energy"}
    is_gained = span.difference_si.value > 0.0
    change = "gained by" if is_gained else "given up by"
    other = "given up by" if is_gained else "found in"
    more, less = ("supply", "extract") if estimate.value > 0.0 else ("extract", "supply")
    if more == "extract":
        change, other = ("given up by", "found in") if is_gained else ("gained by", "given up by")
    remedy = (
        "compare the probes in one air, repeat the four states closer together in time, and "
        "check for leakage, stations exchanged or conditions that were still changing"
    )
    if carried is Carried.MOISTURE and drained_kg_s is None:
        remedy += "; water that condenses leaves by the drain and must be counted"
    return (
        Problem(
            code=f"{carried.value}-not-closed",
            where=f"{carried.value}-closure",
            message=f"{what[carried]} {change} the {more} side is not {other} the {less} side: "
            f"{abs(estimate.value):.2f} of the greatest possible exchange is missing, more than "
            "the readings' uncertainty explains",
            remedy=remedy,
        ),
    )
