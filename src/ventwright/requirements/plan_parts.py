"""Terminals of a plan with their bands, and the air that passes between rooms."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

from ventwright.house import RoomKind, Terminal
from ventwright.quantities import Side
from ventwright.requirements.facts import HouseFacts
from ventwright.requirements.judge import flow_band
from ventwright.requirements.needs import RoomNeed
from ventwright.requirements.plan_model import PlannedRoom, PlannedTerminal, TransferLeg
from ventwright.requirements.rules import FlowRule, RuleSet
from ventwright.requirements.sharing import shared_m3_s


def planned_terminals(
    rooms: Sequence[PlannedRoom],
    needs: Mapping[tuple[str, Side], RoomNeed],
    rule_sets: Sequence[RuleSet],
) -> tuple[PlannedTerminal, ...]:
    """Each room's flow shared by its terminals, with the band each may be left in.

    Terminals of one room share by their planned flows in the house file, equally where those are
    missing, each within its own band.

    Parameters
    ----------
    rooms
        Planned rooms.
    needs
        Needs by room and side.
    rule_sets
        The first with a rule for terminals gives the tolerance.
    """
    rule = next((rules.terminal for rules in rule_sets if rules.terminal), None)
    found: list[PlannedTerminal] = []
    for room in rooms:
        terminals = needs[room.room, room.side].terminals
        if not terminals:
            found.append(_planned(room, None, room.flow_m3_s, rule))
            continue
        designs = [t.design_flow_m3_s for t in terminals]
        known = [design for design in designs if design]
        weights = known if len(known) == len(designs) else [1.0] * len(designs)
        flows = shared_m3_s(
            room.flow_m3_s,
            weights_ratio=weights,
            lows_m3_s=[min(t.min_flow_m3_s or 0.0, room.flow_m3_s) for t in terminals],
            highs_m3_s=[t.max_flow_m3_s or math.inf for t in terminals],
        )
        found += [_planned(room, t, flow, rule) for t, flow in zip(terminals, flows, strict=True)]
    return tuple(found)


def _planned(
    room: PlannedRoom, terminal: Terminal | None, flow: float, rule: FlowRule | None
) -> PlannedTerminal:
    low = high = None
    if rule is not None and flow > 0.0:
        low, high = flow_band(rule, target_m3_s=flow)
    share = flow / room.flow_m3_s if room.flow_m3_s > 0.0 else 0.0
    least = min(flow, room.least_m3_s * share)
    if least > 0.0:
        low = max(low or 0.0, least)
    if terminal is not None and terminal.min_flow_m3_s is not None:
        low = max(low or 0.0, min(flow, terminal.min_flow_m3_s))
    if terminal is not None and terminal.max_flow_m3_s is not None:
        high = min(high if high is not None else math.inf, max(flow, terminal.max_flow_m3_s))
    boost = room.boost_flow_m3_s
    return PlannedTerminal(
        terminal=terminal.id if terminal is not None else None,
        room=room.room,
        side=room.side,
        flow_m3_s=flow,
        boost_flow_m3_s=None if boost is None else boost * share,
        low_m3_s=low,
        high_m3_s=high,
    )


def transfer_legs(rooms: Sequence[PlannedRoom], facts: HouseFacts) -> tuple[TransferLeg, ...]:
    """What passes each room's door: the difference of its supply and extract.

    Parameters
    ----------
    rooms
        Planned rooms.
    facts
        The house; halls have no door in this sense.
    """
    legs: list[TransferLeg] = []
    for room in facts.rooms:
        if room.kind is RoomKind.HALL:
            continue
        mine = [one for one in rooms if one.room == room.id]
        net = math.fsum(_signed(one, one.flow_m3_s) for one in mine)
        boosts = [_signed(one, one.boost_flow_m3_s or 0.0) for one in mine]
        is_boosted = any(one.boost_flow_m3_s is not None for one in mine)
        if not mine or net == 0.0:
            continue
        area = room.transfer_area_m2
        legs.append(
            TransferLeg(
                room=room.id,
                is_outward=net > 0.0,
                flow_m3_s=abs(net),
                boost_flow_m3_s=abs(math.fsum(boosts)) if is_boosted else None,
                transfer_area_m2=area,
                velocity_m_s=abs(net) / area if area else None,
            )
        )
    return tuple(legs)


def _signed(room: PlannedRoom, flow: float) -> float:
    return flow if room.side is Side.SUPPLY else -flow
