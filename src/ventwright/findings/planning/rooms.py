"""Rooms: what rules ask, what the planner proposes, what the designer chose."""

from __future__ import annotations

from collections.abc import Sequence
from math import fsum

from ventwright.findings.planning.parts import RoomChoice
from ventwright.house import House
from ventwright.quantities import Problem, Severity, Side
from ventwright.requirements import RoomPlan, RuleSet, facts_of, plan_rooms


def choose_rooms(
    house: House, rule_sets: Sequence[RuleSet]
) -> tuple[tuple[RoomChoice, ...], RoomPlan | None, tuple[Problem, ...]]:
    """Rooms side by side: asked, proposed, chosen.

    Parameters
    ----------
    house
        The house.
    rule_sets
        Whose rules.

    Returns
    -------
    tuple
        Rooms with a terminal or a proposal, the planner's schedule, and problems. Where the planner
        has nothing to go by, its refusals are kept as warnings: the rest of the plan stands.
    """
    plan, found = plan_rooms(rule_sets, facts_of(house))
    proposed = {} if plan is None else {(r.room, r.side): r for r in plan.rooms}
    choices = []
    for room in house.rooms:
        for side in Side:
            terminals = [
                t
                for s in house.systems
                for t in s.terminals
                if t.room == room.id and t.side is side
            ]
            planned = proposed.get((room.id, side))
            if not terminals and planned is None:
                continue
            flows = [t.design_flow_m3_s for t in terminals]
            known = [q for q in flows if q is not None]
            least = [t.min_flow_m3_s for t in terminals if t.min_flow_m3_s is not None]
            own_least = fsum(least) if least else None
            choices.append(
                RoomChoice(
                    room_id=room.id,
                    room_name=room.name,
                    side=side,
                    least_m3_s=own_least if planned is None else planned.least_m3_s,
                    proposed_m3_s=None if planned is None else planned.flow_m3_s,
                    chosen_m3_s=fsum(known) if known and len(known) == len(flows) else None,
                    terminals=tuple(t.id for t in terminals),
                )
            )
    return tuple(choices), plan, tuple(_softened(p) for p in found)


def _softened(problem: Problem) -> Problem:
    """A refusal to propose room flows takes nothing from the rest of the plan."""
    if problem.severity is not Severity.REFUSAL:
        return problem
    return Problem(
        code=problem.code,
        where=problem.where,
        message=problem.message,
        remedy=problem.remedy,
        severity=Severity.WARNING,
    )
