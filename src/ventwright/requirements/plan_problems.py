"""What a plan assumed and what it can't give, in words with a remedy."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from ventwright.house import Room
from ventwright.quantities import Problem, Severity, Side
from ventwright.requirements.facts import HouseFacts
from ventwright.requirements.needs import RoomNeed
from ventwright.requirements.plan_model import PlannedRoom, ReasonKind
from ventwright.requirements.rates import RateResult

_L_S = 1e3


def plan_problems(
    facts: HouseFacts,
    rates: Sequence[RateResult],
    needs: Mapping[tuple[str, Side], RoomNeed],
    *,
    rooms: Sequence[PlannedRoom],
    total_m3_s: float,
    boost_total_m3_s: float | None,
) -> tuple[Problem, ...]:
    """Reservations of a plan.

    Parameters
    ----------
    facts
        The house.
    rates
        What each rule set asks of it.
    needs
        Needs by room and side.
    rooms
        Planned rooms.
    total_m3_s, boost_total_m3_s
        The plan's totals [m³/s].
    """
    found = [problem for rate in rates for problem in rate.problems]
    if any(rate.is_balance_planned for rate in rates):
        found.append(
            _note(
                "balance-to-be-measured",
                "rule_sets",
                "the required flow counts on a balanced system, which is planned but not measured",
                "measure both totals once it runs",
            )
        )
    for rate in rates:
        wanted = rate.running_m3_s or 0.0
        if total_m3_s < wanted * (1.0 - 1e-9):
            found.append(
                _warning(
                    "below-rate",
                    f"rule set {rate.rule_set_id}",
                    f"the plan gives {_l_s(total_m3_s)}, {_l_s(wanted)} is required",
                    "raise the rooms' upper limits",
                )
            )
        most = rate.most_m3_s
        if most is not None and total_m3_s > most * (1.0 + 1e-9):
            found.append(
                _warning(
                    "above-most",
                    f"rule set {rate.rule_set_id}",
                    f"the plan gives {_l_s(total_m3_s)}, at most {_l_s(most)} is allowed",
                    "lower what the rooms ask for, or run more settings",
                )
            )
    found += _of_unit(facts, total_m3_s, boost_total_m3_s)
    for room in rooms:
        found += _of_room(room, needs[room.room, room.side], facts)
    found += _unserved(facts)
    found.append(
        _note(
            "routes-by-hall",
            "rooms",
            "which rooms adjoin is not in the house file; all air is taken to pass the hall",
            "look at each door on the way",
        )
    )
    return tuple(found)


def _of_unit(facts: HouseFacts, total: float, boost: float | None) -> Iterator[Problem]:
    most = facts.max_flow_m3_s
    if most is None:
        return
    for flow, what in ((total, "continuous flow"), (boost, "boost")):
        if flow is not None and flow > most:
            yield _warning(
                "beyond-unit",
                "ventilation_unit.max_flow",
                f"the {what} needs {_l_s(flow)}, the unit moves {_l_s(most)} at most",
                "choose a larger unit, or serve a room by other means",
            )


def _of_room(room: PlannedRoom, need: RoomNeed, facts: HouseFacts) -> Iterator[Problem]:
    where = f"room {room.room}"
    if room.reasons[0].kind is ReasonKind.SCALED_BELOW_LEAST:
        yield _warning(
            "below-least",
            where,
            f"{_l_s(room.flow_m3_s)} of {room.side.value} is below its least, "
            f"{_l_s(room.least_m3_s)}",
            "let the other side set the total, or the larger of both",
        )
    if room.is_weight_assumed and room.reasons[0].kind is ReasonKind.SHARE:
        yield _note(
            "share-assumed",
            where,
            f"no rule or size says how much {room.side.value} it shares; "
            "the mean of the other rooms was taken",
            "write its floor_area, or for extract a design_flow at its terminal",
        )
    hood = need.hood_rate
    if hood is not None and room.side is Side.EXTRACT:
        wanted = hood.flow_m3_s or 0.0
        if wanted > (facts.largest_other_exhaust_m3_s or 0.0):
            yield _warning(
                "hood-needed",
                where,
                f"the plan counts on a hood of {_l_s(wanted)} here, and none so large is listed",
                "list it under other_exhausts, or serve the room continuously",
            )


def _unserved(facts: HouseFacts) -> Iterator[Problem]:
    if not facts.terminals:
        yield _note(
            "terminals-to-place",
            "terminals",
            "the house lists no terminals; one for each room and side was planned",
            "list them once they are placed",
        )
        return
    for room in facts.rooms:
        if _sleeps_without_supply(room, facts):
            yield _warning(
                "bedroom-without-supply",
                f"room {room.id}",
                "a bedroom has no supply terminal",
                "give it one, or plan how air reaches it through its door",
            )


def _sleeps_without_supply(room: Room, facts: HouseFacts) -> bool:
    return room.kind.value == "bedroom" and not facts.terminals_of(room.id, Side.SUPPLY)


def _l_s(flow_m3_s: float) -> str:
    return f"{flow_m3_s * _L_S:.1f} L/s"


def _note(code: str, where: str, message: str, remedy: str) -> Problem:
    return Problem(code=code, where=where, message=message, remedy=remedy, severity=Severity.NOTE)


def _warning(code: str, where: str, message: str, remedy: str) -> Problem:
    return Problem(
        code=code, where=where, message=message, remedy=remedy, severity=Severity.WARNING
    )
