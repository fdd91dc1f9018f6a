"""What each room of a plan needs on each side: least flow, boost, limits, weight."""

from __future__ import annotations

import math
from collections.abc import Sequence

from ventwright.house import Room, RoomKind, Terminal
from ventwright.quantities import Side
from ventwright.quantities.records import dataclass, replace
from ventwright.requirements.facts import HouseFacts
from ventwright.requirements.plan_model import ReasonKind
from ventwright.requirements.room_rates import BY_TERMINAL, RoomRate, room_rates, volume_of
from ventwright.requirements.room_rules import Means, RoomMode, SplitBy
from ventwright.requirements.rules import RuleSet

HABITABLE = (RoomKind.BEDROOM, RoomKind.LIVING, RoomKind.DINING, RoomKind.STUDY)
WET = (RoomKind.KITCHEN, RoomKind.BATHROOM, RoomKind.TOILET, RoomKind.UTILITY)


@dataclass(frozen=True, slots=True, kw_only=True)
class RoomNeed:
    """What a room needs on one side.

    Parameters
    ----------
    room, side
        Which.
    terminals
        Its terminals on that side; empty where the plan has to place one.
    low_m3_s, high_m3_s
        Least and most continuous flow; infinite where nothing limits it.
    low_kind
        What sets the least flow.
    low_rate
        The rule that sets it, if one does.
    boost_m3_s
        What must be reached at boost; None where no rule asks.
    boost_rate
        The rule that asks.
    hood_rate
        The rule by which a hood serves the room instead of a continuous flow.
    weight_ratio
        By what it shares in the rest of the total.
    is_weight_assumed
        Whether that is the mean of the others, for want of a fact or rule.
    """

    room: str
    side: Side
    terminals: tuple[Terminal, ...]
    low_m3_s: float
    high_m3_s: float
    low_kind: ReasonKind
    low_rate: RoomRate | None = None
    boost_m3_s: float | None = None
    boost_rate: RoomRate | None = None
    hood_rate: RoomRate | None = None
    weight_ratio: float = 1.0
    is_weight_assumed: bool = False


def needs_of(
    rule_sets: Sequence[RuleSet],
    facts: HouseFacts,
    *,
    side: Side,
    least_terminal_m3_s: float = 0.0,
) -> tuple[RoomNeed, ...]:
    """Needs of the rooms that take part on one side, in the order of the house file.

    Those are the rooms with a terminal on that side; in a house without any terminals, habitable
    rooms on the supply side and wet rooms on the extract side.

    Parameters
    ----------
    rule_sets
        Whose rules; of several the strictest holds.
    facts
        The house.
    side
        Which side.
    least_terminal_m3_s
        What the plan gives any terminal at least [m³/s].
    """
    rates = [rate for rules in rule_sets for rate in room_rates(rules, facts) if rate.side is side]
    rooms = [room for room in facts.rooms if takes_part(room, facts, side)]
    found = [
        _need(room, side, facts, [r for r in rates if r.room == room.id], least_terminal_m3_s)
        for room in rooms
    ]
    raw = _weights(found, rooms, rule_sets, facts)
    known = [weight for weight in raw if weight]
    mean = math.fsum(known) / len(known) if known else 1.0
    return tuple(
        replace(need, weight_ratio=weight or mean, is_weight_assumed=not weight)
        for need, weight in zip(found, raw, strict=True)
    )


def takes_part(room: Room, facts: HouseFacts, side: Side) -> bool:
    """Whether a room takes part in a plan on one side; see `needs_of`.

    Parameters
    ----------
    room
        The room.
    facts
        The house it lies in.
    side
        Which side.

    >>> room = Room(id="b", name="Bath", kind=RoomKind.BATHROOM)
    >>> takes_part(room, HouseFacts(), Side.EXTRACT), takes_part(room, HouseFacts(), Side.SUPPLY)
    (True, False)
    """
    if facts.terminals:
        return bool(facts.terminals_of(room.id, side))
    return room.kind in (HABITABLE if side is Side.SUPPLY else WET)


def _need(
    room: Room, side: Side, facts: HouseFacts, rates: list[RoomRate], least_terminal: float
) -> RoomNeed:
    terminals = facts.terminals_of(room.id, side)
    hoods = [rate for rate in rates if rate.rule.means is Means.HOOD]
    hooded = {rate.rule_set_id for rate in hoods}
    by_terminal = [r for r in rates if r.rule.means in BY_TERMINAL and r.flow_m3_s is not None]
    steady = [
        rate
        for rate in by_terminal
        if rate.rule.mode is RoomMode.CONTINUOUS and rate.rule_set_id not in hooded
    ]
    steady_sets = {rate.rule_set_id for rate in steady} | hooded
    boosted = [
        rate
        for rate in by_terminal
        if rate.rule.mode is RoomMode.HIGH
        or (rate.rule.mode is RoomMode.ON_DEMAND and rate.rule_set_id not in steady_sets)
    ]
    low_rate, boost_rate = _strictest(steady), _strictest(boosted)
    most = [t.max_flow_m3_s for t in terminals]
    known = [flow for flow in most if flow is not None]
    high = math.fsum(known) if known and len(known) == len(most) else math.inf
    lows = {
        ReasonKind.RULE_LEAST: (low_rate.flow_m3_s or 0.0) if low_rate else 0.0,
        ReasonKind.TERMINAL_LEAST: math.fsum(t.min_flow_m3_s or 0.0 for t in terminals),
        ReasonKind.PLAN_LEAST: min(high, least_terminal * max(1, len(terminals))),
    }
    low_kind = max(lows, key=lambda kind: lows[kind])
    low = lows[low_kind]
    return RoomNeed(
        room=room.id,
        side=side,
        terminals=terminals,
        low_m3_s=low,
        high_m3_s=max(low, high),
        low_kind=low_kind,
        low_rate=low_rate if low_kind is ReasonKind.RULE_LEAST else None,
        boost_m3_s=boost_rate.flow_m3_s if boost_rate else None,
        boost_rate=boost_rate,
        hood_rate=_strictest(hoods),
    )


def _strictest(rates: list[RoomRate]) -> RoomRate | None:
    return max(rates, key=lambda rate: rate.flow_m3_s or 0.0, default=None)


def _weights(
    needs: list[RoomNeed], rooms: list[Room], rule_sets: Sequence[RuleSet], facts: HouseFacts
) -> list[float | None]:
    """Extract by what is asked or planned there; supply by what the rules share it by."""
    if any(need.side is Side.EXTRACT for need in needs):
        return [_asked(need) or _designed(need) for need in needs]
    split = next((rules.supply_split for rules in rule_sets if rules.supply_split), None)
    by = SplitBy.PEOPLE_AND_AREA if split is None else split.by
    if by is SplitBy.ROOM:
        return [1.0 for _ in rooms]
    if by is SplitBy.VOLUME:
        return [volume_of(room, facts) for room in rooms]
    areas = [room.floor_area_m2 for room in rooms]
    people = math.fsum(room.people or 0.0 for room in rooms)
    if by is SplitBy.FLOOR_AREA or not people:
        return list(areas)
    whole = math.fsum(area or 0.0 for area in areas)
    return [
        None if area is None else area / whole + (room.people or 0.0) / people
        for room, area in zip(rooms, areas, strict=True)
    ]


def _asked(need: RoomNeed) -> float | None:
    return need.boost_m3_s or (need.low_rate.flow_m3_s if need.low_rate else None)


def _designed(need: RoomNeed) -> float | None:
    flows = [terminal.design_flow_m3_s for terminal in need.terminals]
    known = [flow for flow in flows if flow]
    return math.fsum(known) if known and len(known) == len(flows) else None
