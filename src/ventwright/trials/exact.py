"""When flows are right, and the setting that makes them exactly so; dampers by element."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from ventwright.quantities.words import Side
from ventwright.trials.dampers import Damper
from ventwright.trials.physics import Vector, solve
from ventwright.trials.truth import CFM_M3_S, SIDES, Setting, TruthHouse

BAND_FRAC = 0.10
BAND_M3_S = 1.0 * CFM_M3_S
"""A flow is right within the greater of 10 % or 1 cfm of its target share."""

_ROUNDS = 12
_SCALINGS = 40


def shares(flows_m3_s: Vector, targets_m3_s: Vector) -> Vector:
    """Departure from the target share as a share of the band; within −1 to 1 is right.

    The target share is the target scaled so that the side's targets sum to its flows; the band is
    the greater of 10 % of it or 1 cfm.

    Parameters
    ----------
    flows_m3_s
        Flows of one side's terminals [m³/s], shape (terminals,).
    targets_m3_s
        Their targets [m³/s], shape (terminals,).

    >>> shares(np.array([0.011, 0.019]), np.array([0.01, 0.02])).round(6).tolist()
    [1.0, -0.5]
    """
    wanted = targets_m3_s * (flows_m3_s.sum() / targets_m3_s.sum())
    off: Vector = (flows_m3_s - wanted) / np.maximum(BAND_FRAC * wanted, BAND_M3_S)
    return off


def exact_setting(house: TruthHouse) -> Setting:
    """Openings and speeds that give every terminal with a working ring exactly its target.

    Branch dampers stay as found, one ring on each side is at its open stop, and the fan runs no
    faster than that one needs. Flows are held at their targets and what each path then lacks is
    the drop its ring must take: no search over openings. Where a fan can't reach the targets all
    are scaled down alike.

    Parameters
    ----------
    house
        The house; fixed grilles and stuck rings give what they give.

    >>> from ventwright.trials.make import Traits, draw_house
    >>> from ventwright.trials.truth import Layout
    >>> house = draw_house(np.random.SeedSequence(5), name="one",
    ...                    traits=Traits(layout=Layout.MANIFOLD))
    >>> flows = house.flows(exact_setting(house)).free_m3_s
    >>> float(flows[0] / house.terminals[0].target_m3_s)
    1.00
    """
    scale = 1.0
    for _ in range(_SCALINGS):
        setting = _exact_at(house, scale)
        if max(setting.speed_frac) <= 1.0:
            return setting
        scale *= 0.97
    raise ValueError(f"{house.name}: the fans reach less than a third of the targets")


def _exact_at(house: TruthHouse, scale: float) -> Setting:
    loose = [
        i
        for i, item in enumerate(house.terminals)
        if item.ring is not None and not item.ring.is_stuck
    ]
    held = {i: scale * house.terminals[i].target_m3_s for i in loose}
    opening = list(house.as_found.terminal_frac)
    for i in loose:
        opening[i] = _ring(house, i).high_stop_frac
    setting = replace(house.as_found, terminal_frac=tuple(opening))
    field = solve(house.elements_at(setting), start_m3_s=house.start_m3_s(), held_m3_s=held)
    for _ in range(_ROUNDS):
        speeds = list(setting.speed_frac)
        for s, side in enumerate(SIDES):
            lacking = max(field.residual_pa[i] for i in loose if house.terminals[i].side is side)
            flow = float(field.flow_m3_s[house.fan_at + s])
            now = house.fans[s].pressure_pa(flow_m3_s=flow, speed_frac=speeds[s])
            speeds[s] = house.fans[s].speed_for(flow_m3_s=flow, pressure_pa=now + lacking)
        setting = replace(setting, speed_frac=(speeds[0], speeds[1]))
        elements = house.elements_at(setting)
        field = solve(elements, start_m3_s=field.free_m3_s, held_m3_s=held)
    for i in loose:
        law = field.drop_pa[i] / elements.coeff[i]
        needed = elements.coeff[i] - min(field.residual_pa[i], 0.0) / law
        ring = _ring(house, i)
        opening[i] = min(max(ring.opening_for(needed), ring.low_stop_frac), ring.high_stop_frac)
    return replace(setting, terminal_frac=tuple(opening))


def _ring(house: TruthHouse, terminal: int) -> Damper:
    ring = house.terminals[terminal].ring
    if ring is None:
        raise ValueError(f"{house.terminals[terminal].id} has no ring")
    return ring


def damper_of(house: TruthHouse, element: int) -> Damper | None:
    """The damper behind an element: a terminal's ring or a branch's flap.

    Parameters
    ----------
    house
        The house.
    element
        Index of a terminal, or of a branch damper's element.
    """
    if element < len(house.terminals):
        return house.terminals[element].ring
    return house.branches[element - 2 * len(house.terminals)].flap


def movable(house: TruthHouse, side: Side) -> tuple[int, ...]:
    """Elements of one side whose damper exists and moves, rings first.

    Parameters
    ----------
    house
        The house.
    side
        Which side.
    """
    branches = [b for b, item in enumerate(house.branches) if item.side is side]
    elements = list(house.of_side(side)) + [house.damper_at(b) for b in branches]
    kept = []
    for element in elements:
        damper = damper_of(house, element)
        if damper is not None and not damper.is_stuck:
            kept.append(element)
    return tuple(kept)


def opening_at(house: TruthHouse, setting: Setting, element: int) -> float:
    """Opening of the damper behind an element at a setting.

    Parameters
    ----------
    house
        The house.
    setting
        Where everything stands.
    element
        Index as in `damper_of`.
    """
    count = len(house.terminals)
    if element < count:
        return setting.terminal_frac[element]
    return setting.branch_frac[element - 2 * count]


def with_opening(house: TruthHouse, setting: Setting, element: int, opening_frac: float) -> Setting:
    """The setting with one damper elsewhere.

    Parameters
    ----------
    house
        The house.
    setting
        Where everything stands.
    element
        Index as in `damper_of`.
    opening_frac
        Its new opening.
    """
    count = len(house.terminals)
    if element < count:
        values = list(setting.terminal_frac)
        values[element] = opening_frac
        return replace(setting, terminal_frac=tuple(values))
    values = list(setting.branch_frac)
    values[element - 2 * count] = opening_frac
    return replace(setting, branch_frac=tuple(values))
