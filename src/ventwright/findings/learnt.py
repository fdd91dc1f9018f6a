"""What the readings taught guidance of each side: losses, flows and readings that don't fit."""

from __future__ import annotations

from collections.abc import Iterator

from ventwright.balancing import FlowReading, Predicted, Surprise
from ventwright.balancing.damper_law import share_of_odds
from ventwright.balancing.surprise import believed
from ventwright.balancing.view import SideView
from ventwright.findings.guidance import Guidance, guide
from ventwright.findings.model import Findings
from ventwright.findings.snapshot import VisitSnapshot
from ventwright.quantities import Side
from ventwright.quantities.records import dataclass
from ventwright.uncertainty import Interval

LEAST_READINGS = 2
"""Readings of terminals of a side below which nothing can be told of how it splits its flow."""
COVERAGE_FACTOR, COVERAGE_FRAC = 2.0, 0.9545


@dataclass(frozen=True, slots=True, kw_only=True)
class ShareLearnt:
    """Share of the pressure at the start of a shared path or branch that is lost in it, as found.

    Parameters
    ----------
    branch_id
        Which branch; empty for the path that all terminals of the side share.
    assumed_frac, assumed
        Before any reading: most likely share and its interval (k = 2 in the logarithm of odds).
    learnt_frac, learnt
        The same after all readings that are believed.
    narrowed_ratio
        Spread after the readings against before; 1 where they taught nothing.
    """

    branch_id: str
    assumed_frac: float
    assumed: Interval
    learnt_frac: float
    learnt: Interval
    narrowed_ratio: float


@dataclass(frozen=True, slots=True, kw_only=True)
class TerminalLearnt:
    """A terminal as it stands by all readings, beside its own last reading.

    Parameters
    ----------
    predicted
        Flow, uncertainty and band.
    read_m3_s
        Its last reading of the visit [m³/s]; None if it was never read.
    """

    predicted: Predicted
    read_m3_s: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class SideLearnt:
    """What the readings of one side taught.

    Parameters
    ----------
    system_id, side, setting
        Which side, in its continuous setting.
    reading_count, move_count
        Readings of flow and turns of dampers that entered.
    shares, terminals
        Empty where the visit gives too little.
    surprises
        Readings that are not believed, with their odds.
    reason_code
        Why nothing can be told: `no-guidance`, `too-few-readings`; else empty.
    """

    system_id: str
    side: Side
    setting: str
    reading_count: int
    move_count: int
    shares: tuple[ShareLearnt, ...] = ()
    terminals: tuple[TerminalLearnt, ...] = ()
    surprises: tuple[Surprise, ...] = ()
    reason_code: str = ""


def learn(snapshot: VisitSnapshot, findings: Findings) -> tuple[SideLearnt, ...]:
    """What guidance has learnt of each side that has terminals.

    Parameters
    ----------
    snapshot, findings
        The visit and what was found.

    Returns
    -------
    tuple of SideLearnt
        In the order of systems and sides. The same snapshot gives the same.

    >>> from ventwright.findings import assess
    >>> from ventwright.house import House, Visit
    >>> one = VisitSnapshot(engine="0", rule_sets=(),
    ...     house=House(schema="ventwright-house-1", id="h", name="Barn", altitude_m=0.0),
    ...     visit=Visit(schema="ventwright-visit-1", id="v", house="h"))
    >>> learn(one, assess(one))
    ()
    """
    guides = {g.system_id: g for g in guide(snapshot, findings)}
    return tuple(
        _side(guides.get(system.id), system.id, side)
        for system in snapshot.house.systems
        for side in Side
        if any(t.side is side for t in system.terminals)
    )


def _side(guidance: Guidance | None, system_id: str, side: Side) -> SideLearnt:
    if guidance is None or all(s.side is not side for s in guidance.session.sides):
        return SideLearnt(
            system_id=system_id,
            side=side,
            setting="",
            reading_count=0,
            move_count=0,
            reason_code="no-guidance",
        )
    session = guidance.session
    (setup,) = (s for s in session.sides if s.side is side)
    mine = [event for event in session.events if event.side is side]
    outlet_ids = {outlet.id for outlet in setup.outlets}
    readings = [e for e in mine if isinstance(e, FlowReading)]
    last = {e.thing_id: e.flow_m3_s for e in readings}
    is_enough = len(outlet_ids & set(last)) >= LEAST_READINGS
    seen, surprises = believed(session, side)
    return SideLearnt(
        system_id=system_id,
        side=side,
        setting=guidance.setting,
        reading_count=len(readings),
        move_count=len(seen.model.versions),
        shares=tuple(_shares(seen)) if is_enough else (),
        terminals=tuple(
            TerminalLearnt(predicted=p, read_m3_s=last.get(p.outlet_id))
            for p in guidance.now
            if p.side is side
        )
        if is_enough
        else (),
        surprises=surprises if is_enough else (),
        reason_code="" if is_enough else "too-few-readings",
    )


def _shares(seen: SideView) -> Iterator[ShareLearnt]:
    """Unknowns of the shares follow those of the terminals: shared path, then each branch."""
    model, posterior = seen.model, seen.posterior
    names = ("", *(run.id for run in model.setup.runs))
    for at, name in enumerate(names, start=len(model.tree.leaves)):
        row = [0.0] * len(posterior.unknowns)
        row[at] = 1.0
        before, after = model.prior_spread[at], posterior.spread(row)
        yield ShareLearnt(
            branch_id=name,
            assumed_frac=share_of_odds(model.prior[at]),
            assumed=_interval(model.prior[at], before),
            learnt_frac=share_of_odds(posterior.unknowns[at]),
            learnt=_interval(posterior.unknowns[at], after),
            narrowed_ratio=after / before,
        )


def _interval(ln_odds: float, spread: float) -> Interval:
    reach = COVERAGE_FACTOR * spread
    return Interval(
        low=share_of_odds(ln_odds - reach),
        high=share_of_odds(ln_odds + reach),
        coverage_frac=COVERAGE_FRAC,
    )
