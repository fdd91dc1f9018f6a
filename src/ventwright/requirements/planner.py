"""From rooms, people and rules to a balanced schedule of room flows, each number explained."""

from __future__ import annotations

import math
from collections.abc import Sequence

from ventwright.house import Terminal
from ventwright.quantities import Problem, Severity, Side
from ventwright.quantities.records import replace
from ventwright.requirements.facts import HouseFacts, as_planned
from ventwright.requirements.needs import RoomNeed, needs_of, takes_part
from ventwright.requirements.plan_model import (
    Drive,
    PlannedRoom,
    PlanReason,
    ReasonKind,
    RoomPlan,
    TotalSetBy,
)
from ventwright.requirements.plan_parts import planned_terminals, transfer_legs
from ventwright.requirements.plan_problems import plan_problems
from ventwright.requirements.rates import RateResult, RateState, required_rates
from ventwright.requirements.rules import RuleSet
from ventwright.requirements.sharing import shared_m3_s

LEAST_TERMINAL_M3_S = 0.003
"""What a plan gives any terminal at least: below it a terminal can hardly be set or read.

Source: plan_judgement
"""
_SAME = 1e-12


def plan_rooms(
    rule_sets: Sequence[RuleSet],
    facts: HouseFacts,
    *,
    drive: Drive = Drive.LARGER,
    least_terminal_m3_s: float = LEAST_TERMINAL_M3_S,
) -> tuple[RoomPlan | None, tuple[Problem, ...]]:
    """Plan the flow of every room.

    The total is the largest of what the rule sets ask of the dwelling and what the rooms of the
    driving side need. Each side shares it by weight, no room below its least flow: supply by what
    the rules share it by (half by people and half by floor area where none says), extract by what
    rules ask of a room at boost, or continuously, or else by its terminals' planned flows. Boost
    lifts all rooms together, as one fan does, until each room has what rules ask at boost. Balance
    counts as planned and is to be measured.

    Parameters
    ----------
    rule_sets
        Whose rules; of several the strictest holds, number by number.
    facts
        The house.
    drive
        What sets the total beside the rate of the dwelling.
    least_terminal_m3_s
        What any terminal is given at least [m³/s], whatever the rules say; 0 switches it off.

    Returns
    -------
    tuple of RoomPlan or None and problems
        None where rooms are missing on a side or a rate can't be worked out; the problems say why.
        A plan's own problems stand in the plan and are returned as well.

    Source: plan_judgement

    >>> plan_rooms([], HouseFacts())[1][0].code
    'no-rooms'
    """
    planned = as_planned(facts)
    served = _as_served(planned)
    rates = tuple(required_rates(rules, served) for rules in rule_sets)
    needs = {
        side: needs_of(rule_sets, planned, side=side, least_terminal_m3_s=least_terminal_m3_s)
        for side in Side
    }
    problems = [*_refusals(rates, needs)]
    if problems:
        return None, tuple(problems)
    total, set_by = _total(rates, needs, drive)
    flows = {side: _side_flows(total, needs[side]) for side in Side}
    plan = _whole(planned, rule_sets, rates, needs=needs, flows=flows, set_by=set_by)
    return plan, plan.problems


def _as_served(facts: HouseFacts) -> HouseFacts:
    """Before terminals are placed, rules on distribution look at those the plan will place."""
    if facts.terminals:
        return facts
    places = [
        Terminal(id=f"{room.id} {side.value}", side=side, room=room.id)
        for room in facts.rooms
        for side in Side
        if takes_part(room, facts, side)
    ]
    return replace(facts, terminals=tuple(places))


def _refusals(
    rates: tuple[RateResult, ...], needs: dict[Side, tuple[RoomNeed, ...]]
) -> list[Problem]:
    found = []
    for side in Side:
        if not needs[side]:
            found.append(
                Problem(
                    code="no-rooms",
                    where="rooms",
                    message=f"the house lists no rooms for {side.value} air",
                    remedy="list the rooms, and the terminals where they are known",
                    severity=Severity.REFUSAL,
                )
            )
    for rate in rates:
        if rate.state is RateState.MISSING_FACT or (
            rate.state is RateState.KNOWN and rate.running_m3_s is None
        ):
            found += rate.problems
    asked = [
        need.low_m3_s
        for side in Side
        for need in needs[side]
        if need.low_kind is not ReasonKind.PLAN_LEAST
    ]
    if not found and not any(asked) and not any(r.state is RateState.KNOWN for r in rates):
        found.append(
            Problem(
                code="no-rate",
                where="rule_sets",
                message="none of the rule sets asks for any flow",
                remedy="name a rule set with a rate, or give terminals a min_flow",
                severity=Severity.REFUSAL,
            )
        )
    return found


def _total(
    rates: tuple[RateResult, ...], needs: dict[Side, tuple[RoomNeed, ...]], drive: Drive
) -> tuple[float, TotalSetBy]:
    wanted = {TotalSetBy.RATE: max((r.running_m3_s or 0.0 for r in rates), default=0.0)}
    for side, name in ((Side.SUPPLY, TotalSetBy.SUPPLY), (Side.EXTRACT, TotalSetBy.EXTRACT)):
        if drive is Drive.LARGER or drive.value == side.value:
            wanted[name] = math.fsum(need.low_m3_s for need in needs[side])
    set_by = max(wanted, key=lambda name: wanted[name])
    most = min(math.fsum(need.high_m3_s for need in needs[side]) for side in Side)
    if most < wanted[set_by]:
        return most, TotalSetBy.LIMITS
    return wanted[set_by], set_by


def _side_flows(total: float, needs: tuple[RoomNeed, ...]) -> tuple[float, ...]:
    lows = [need.low_m3_s for need in needs]
    asked = math.fsum(lows)
    if asked > total:
        return tuple(low * total / asked for low in lows)
    return shared_m3_s(
        total,
        weights_ratio=[need.weight_ratio for need in needs],
        lows_m3_s=lows,
        highs_m3_s=[need.high_m3_s for need in needs],
    )


def _boost(needs: tuple[RoomNeed, ...], flows: tuple[float, ...]) -> tuple[float | None, str]:
    """How far all rooms must rise together, and which room sets it; None where no rule asks."""
    asked = [
        (need.boost_m3_s / flow, need.room)
        for need, flow in zip(needs, flows, strict=True)
        if need.boost_m3_s is not None and flow > 0.0
    ]
    if not asked:
        return None, ""
    ratio, room = max(asked, key=lambda pair: pair[0])
    return (ratio, room) if ratio > 1.0 else (1.0, "")


def _whole(
    facts: HouseFacts,
    rule_sets: Sequence[RuleSet],
    rates: tuple[RateResult, ...],
    *,
    needs: dict[Side, tuple[RoomNeed, ...]],
    flows: dict[Side, tuple[float, ...]],
    set_by: TotalSetBy,
) -> RoomPlan:
    ratios = {side: _boost(needs[side], flows[side]) for side in Side}
    ratio, boost_room = max(ratios.values(), key=lambda pair: pair[0] or 0.0)
    rooms = tuple(
        _room(need, flow, needs[side], ratio)
        for side in Side
        for need, flow in zip(needs[side], flows[side], strict=True)
    )
    total = math.fsum(flows[Side.EXTRACT])
    boost_total = None if ratio is None else ratio * total
    most = facts.max_flow_m3_s
    by_room = {(need.room, need.side): need for side in Side for need in needs[side]}
    return RoomPlan(
        total_m3_s=total,
        boost_total_m3_s=boost_total,
        boost_ratio=ratio or 1.0,
        boost_room=boost_room,
        set_by=set_by,
        rates=rates,
        rooms=rooms,
        terminals=planned_terminals(rooms, by_room, rule_sets),
        legs=transfer_legs(rooms, facts),
        max_flow_m3_s=most,
        spare_m3_s=None if most is None else most - total,
        boost_spare_m3_s=None if most is None or boost_total is None else most - boost_total,
        problems=plan_problems(
            facts, rates, by_room, rooms=rooms, total_m3_s=total, boost_total_m3_s=boost_total
        ),
    )


def _room(
    need: RoomNeed, flow: float, side_needs: tuple[RoomNeed, ...], ratio: float | None
) -> PlannedRoom:
    boost = None if ratio is None else ratio * flow
    weights = math.fsum(one.weight_ratio for one in side_needs)
    return PlannedRoom(
        room=need.room,
        side=need.side,
        flow_m3_s=flow,
        boost_flow_m3_s=boost,
        least_m3_s=need.low_m3_s,
        weight_share=need.weight_ratio / weights,
        is_weight_assumed=need.is_weight_assumed,
        reasons=tuple(_reasons(need, flow)),
    )


def _reasons(need: RoomNeed, flow: float) -> list[PlanReason]:
    if flow < need.low_m3_s - _SAME:
        kind = ReasonKind.SCALED_BELOW_LEAST
    elif flow <= need.low_m3_s + _SAME:
        kind = need.low_kind
    elif flow >= need.high_m3_s - _SAME:
        kind = ReasonKind.TERMINAL_MOST
    else:
        kind = ReasonKind.SHARE
    found = [PlanReason(kind=kind, flow_m3_s=flow)]
    if need.low_rate is not None:
        rate = need.low_rate
        least = PlanReason(
            kind=ReasonKind.RULE_LEAST,
            flow_m3_s=need.low_m3_s,
            rule_set_id=rate.rule_set_id,
            citation=rate.rule.citation,
        )
        found = [least] if kind is ReasonKind.RULE_LEAST else [*found, least]
    if need.boost_rate is not None and need.boost_m3_s is not None:
        found.append(
            PlanReason(
                kind=ReasonKind.BOOST,
                flow_m3_s=need.boost_m3_s,
                rule_set_id=need.boost_rate.rule_set_id,
                citation=need.boost_rate.rule.citation,
            )
        )
    return found
