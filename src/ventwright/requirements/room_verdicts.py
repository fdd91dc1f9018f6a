"""Measured flows of rooms against the rules for them."""

from __future__ import annotations

from collections.abc import Iterator

from ventwright.quantities import Side
from ventwright.quantities.records import dataclass, replace
from ventwright.requirements.citation import is_claimable
from ventwright.requirements.facts import HouseFacts
from ventwright.requirements.judge import Judgement
from ventwright.requirements.room_rates import BY_TERMINAL, RoomRate, room_rates
from ventwright.requirements.room_rules import Means, RoomMode
from ventwright.requirements.rules import RuleSet
from ventwright.uncertainty import DecisionRule, Estimate, Verdict, decide


@dataclass(frozen=True, slots=True, kw_only=True)
class RoomFlow:
    """Measured flow of one side of one room, in the continuous setting and at boost."""

    room: str
    side: Side
    continuous_m3_s: Estimate | None = None
    boost_m3_s: Estimate | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class RoomVerdict:
    """A verdict on one room's side.

    Parameters
    ----------
    room, side
        What was judged.
    verdict
        Met where any of the alternatives is; a rule for a hood or a fan of its own never decides.
    rate
        The rule that decided.
    judgement
        The decision; None where nothing was measured or the rule asks for a terminal alone.
    reason_code
        ``not-measured``, ``has-terminal``, ``no-terminal``, that of the rate, or ``hood-may-serve``
        where the house lists an exhaust large enough to be the hood that a rule accepts instead.
    """

    room: str
    side: Side
    verdict: Verdict
    rate: RoomRate
    judgement: Judgement | None = None
    reason_code: str = ""

    @property
    def is_compliance_claimable(self) -> bool:
        """Whether *met* may be called compliance."""
        return is_claimable(self.rate.rule.citation.trust)


_ORDER = {Verdict.MET: 0, Verdict.NOT_SHOWN: 1, Verdict.NOT_MET: 2}


def judge_rooms(
    rule_set: RuleSet,
    facts: HouseFacts,
    flows: tuple[RoomFlow, ...],
    *,
    confidence_frac: float = 0.95,
) -> tuple[RoomVerdict, ...]:
    """Judge each room that a rule set speaks of.

    Alternatives for one room's extract give one verdict, that of the best met; every rule for
    supply gives its own. A hood is no terminal: where one may serve the room instead, what its
    terminal lacks is not held against it.

    Parameters
    ----------
    rule_set
        Whose rules.
    facts
        The house.
    flows
        Flows measured in rooms.
    confidence_frac
        Confidence asked of a guarded verdict.

    >>> judge_rooms(RuleSet(schema="ventwright-rules-1", id="x", name="X"), HouseFacts(), ())
    ()
    """
    measured = {(flow.room, flow.side): flow for flow in flows}
    decision_rule = rule_set.rate.decision_rule if rule_set.rate else DecisionRule.SIMPLE
    groups: dict[tuple[str, Side], list[RoomVerdict]] = {}
    hoods: dict[str, float] = {}
    for rate in room_rates(rule_set, facts):
        if rate.rule.means is Means.HOOD:
            hoods[rate.room] = max(hoods.get(rate.room, 0.0), rate.flow_m3_s or 0.0)
        if rate.rule.means not in BY_TERMINAL:
            continue
        one = _judge(
            rate, facts, measured.get((rate.room, rate.side)), decision_rule, confidence_frac
        )
        groups.setdefault((rate.room, rate.side), []).append(one)
    largest = facts.largest_other_exhaust_m3_s or 0.0
    by_hood = {room for room, wanted in hoods.items() if largest >= wanted}
    return tuple(_merged(groups, by_hood))


def _merged(
    groups: dict[tuple[str, Side], list[RoomVerdict]], by_hood: set[str]
) -> Iterator[RoomVerdict]:
    for (room, side), found in groups.items():
        if side is Side.SUPPLY:
            yield from found
            continue
        best = min(found, key=lambda one: _ORDER[one.verdict])
        if room in by_hood and best.verdict is not Verdict.MET:
            best = replace(best, verdict=Verdict.NOT_SHOWN, reason_code="hood-may-serve")
        yield best


def _judge(
    rate: RoomRate,
    facts: HouseFacts,
    measured: RoomFlow | None,
    decision_rule: DecisionRule,
    confidence_frac: float,
) -> RoomVerdict:
    def verdict(
        value: Verdict, reason_code: str = "", judgement: Judgement | None = None
    ) -> RoomVerdict:
        return RoomVerdict(
            room=rate.room,
            side=rate.side,
            verdict=value,
            rate=rate,
            judgement=judgement,
            reason_code=reason_code,
        )

    if rate.reason_code:
        return verdict(Verdict.NOT_SHOWN, rate.reason_code)
    if rate.flow_m3_s is None:
        has_terminal = bool(facts.terminals_of(rate.room, rate.side))
        if has_terminal:
            return verdict(Verdict.MET, "has-terminal")
        return verdict(Verdict.NOT_MET if facts.terminals else Verdict.NOT_SHOWN, "no-terminal")
    flow = None if measured is None else _at_mode(rate.rule.mode, measured)
    if flow is None:
        return verdict(Verdict.NOT_SHOWN, "not-measured")
    decision = decide(
        flow, low=rate.flow_m3_s, decision_rule=decision_rule, confidence_frac=confidence_frac
    )
    judgement = Judgement(
        decision=decision,
        judged_si=flow,
        rule_set_id=rate.rule_set_id,
        citation=rate.rule.citation,
    )
    return verdict(decision.verdict, judgement=judgement)


def _at_mode(mode: RoomMode, measured: RoomFlow) -> Estimate | None:
    """The continuous flow, or, where more may be asked for, the larger of it and the boost."""
    if mode is RoomMode.CONTINUOUS:
        return measured.continuous_m3_s
    flows = [f for f in (measured.continuous_m3_s, measured.boost_m3_s) if f is not None]
    return max(flows, key=lambda flow: flow.value, default=None)
