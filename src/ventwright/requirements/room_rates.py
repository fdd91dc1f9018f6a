"""What a rule set asks of single rooms, worked out for a house."""

from __future__ import annotations

from collections.abc import Iterator

from ventwright.house import Room
from ventwright.quantities import Side
from ventwright.quantities.records import dataclass
from ventwright.requirements.facts import HouseFacts
from ventwright.requirements.room_rules import Means, Per, RoomPick, RoomRule
from ventwright.requirements.rules import RuleSet

_HOUR_S = 3600.0
BY_TERMINAL = (Means.ANY, Means.NOT_HOOD)
"""Means that a terminal of a balanced system is."""


@dataclass(frozen=True, slots=True, kw_only=True)
class RoomRate:
    """One rule for one room.

    Parameters
    ----------
    room
        Id of the room.
    side
        Supply or extract.
    rule
        The rule, with its mode, means and citation.
    rule_set_id
        Whose rule.
    flow_m3_s
        What it asks for; None where it asks for a terminal and no flow, or a fact is missing.
    reason_code
        ``missing-`` and the fact that is wanting.
    """

    room: str
    side: Side
    rule: RoomRule
    rule_set_id: str
    flow_m3_s: float | None
    reason_code: str = ""


def room_rates(rule_set: RuleSet, facts: HouseFacts) -> tuple[RoomRate, ...]:
    """Every rule for every room it speaks of, in the order of the rooms.

    The largest room of a kind is the one with the largest floor area, the first listed of several.

    Parameters
    ----------
    rule_set
        Any rule set.
    facts
        The house.

    >>> room_rates(RuleSet(schema="ventwright-rules-1", id="x", name="X"), HouseFacts())
    ()
    """
    return tuple(_rates(rule_set, facts))


def _rates(rule_set: RuleSet, facts: HouseFacts) -> Iterator[RoomRate]:
    picked = [(rule, {room.id for room in _picked(rule, facts)}) for rule in rule_set.rooms]
    for room in facts.rooms:
        for rule, ids in picked:
            if room.id not in ids:
                continue
            flow, reason = _flow(rule, room, facts)
            yield RoomRate(
                room=room.id,
                side=rule.side,
                rule=rule,
                rule_set_id=rule_set.id,
                flow_m3_s=flow,
                reason_code=reason,
            )


def _picked(rule: RoomRule, facts: HouseFacts) -> list[Room]:
    rooms = [room for room in facts.rooms if room.kind in rule.room_kinds]
    if rule.pick is RoomPick.EVERY or not rooms:
        return rooms
    largest = max(rooms, key=lambda room: room.floor_area_m2 or 0.0)
    if rule.pick is RoomPick.LARGEST:
        return [largest]
    return [room for room in rooms if room is not largest]


def _flow(rule: RoomRule, room: Room, facts: HouseFacts) -> tuple[float | None, str]:
    if rule.per is Per.ROOM:
        return rule.flow_m3_s, ""
    if rule.per is Per.PERSON:
        number, name = room.people, "people"
    elif rule.per is Per.AREA:
        number, name = room.floor_area_m2, "floor_area"
        if number is not None:
            number /= rule.per_area_m2 or 1.0
    else:
        number, name = volume_of(room, facts), "volume"
    if number is None:
        return None, f"missing-{name}"
    each = rule.flow_m3_s or 0.0
    if rule.per is Per.VOLUME:
        each = (rule.air_changes_1_h or 0.0) / _HOUR_S
    return number * each, ""


def volume_of(room: Room, facts: HouseFacts) -> float | None:
    """Volume of a room: its own, else its floor area times the mean height of the house [m³].

    Parameters
    ----------
    room
        The room.
    facts
        The house it lies in.

    >>> from ventwright.house import RoomKind
    >>> room = Room(id="r", name="R", kind=RoomKind.LIVING, floor_area_m2=20.0)
    >>> volume_of(room, HouseFacts(floor_area_m2=100.0, volume_m3=250.0))
    50.0
    """
    if room.volume_m3 is not None:
        return room.volume_m3
    house_area, volume = facts.floor_area_m2, facts.volume_m3
    if room.floor_area_m2 is None or not house_area or volume is None:
        return None
    return room.floor_area_m2 * volume / house_area
