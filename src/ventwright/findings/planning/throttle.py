"""Where the surplus of every path is thrown away: at branch dampers first, at terminals the rest.

A branch damper takes what all terminals behind it have in common; it stands away from the rooms,
where its noise is heard least. What is left is the terminals' own.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from math import sqrt

from ventwright.assembly import Openings, PieceKind, TerminalOpening, branch_link
from ventwright.ducts import (
    STANDARD_DUCT_AIR,
    DuctAir,
    Loss,
    butterfly_angle_deg,
    iris_loss_coeff,
)
from ventwright.findings.planning.model import DamperPlan
from ventwright.findings.planning.paths import Paths
from ventwright.house import Branch, DamperKind, System
from ventwright.quantities.records import dataclass

LEAST_DAMPER_PA = 1.0
"""Below this a damper stays open: nobody could set it, and the terminals take it (judgement)."""
SMALLEST_OPEN_RATIO = 0.02


@dataclass(frozen=True, slots=True, kw_only=True)
class Throttled:
    """Where every surplus goes.

    Parameters
    ----------
    excess_pa
        Surplus of each terminal's path [Pa].
    at_terminal_pa, unplaced_pa
        What the terminal throws away, and what nothing on the path can [Pa].
    flow_factors
        Flow factor of each terminal as it will stand, at standard air [m³/s per √Pa].
    terminal_drop_pa
        Drop across each as it will stand [Pa].
    dampers
        Branch dampers.
    openings
        The same as openings for the network.
    """

    excess_pa: Mapping[str, float]
    at_terminal_pa: Mapping[str, float]
    unplaced_pa: Mapping[str, float]
    flow_factors: Mapping[str, float]
    terminal_drop_pa: Mapping[str, float]
    dampers: tuple[DamperPlan, ...]
    openings: Openings


def throttle(system: System, paths: Paths, air: DuctAir) -> Throttled:
    """Share out the surplus of every path.

    Parameters
    ----------
    system
        The system the paths belong to.
    paths
        Losses at design flows with everything open.
    air
        Air in the ducts.
    """
    highest = paths.path_pa(paths.index_terminal())
    excess = {t: highest - paths.path_pa(t) for t in paths.chains}
    left = dict(excess)
    dampers = []
    for branch in _from_unit_outwards(system, paths):
        link = branch_link(branch.id)
        behind = [t for t, chain in paths.chains.items() if link in chain]
        takes = 0.0
        if branch.damper is not None and not branch.damper.is_stuck:
            takes = min(left[t] for t in behind)
            takes = takes if takes >= LEAST_DAMPER_PA else 0.0
        if branch.damper is not None:
            dampers.append(_damper(branch, paths, takes, air))
        for t in behind:
            left[t] -= takes
    return _with_terminals(paths, excess, left, tuple(dampers), air)


def _from_unit_outwards(system: System, paths: Paths) -> Iterator[Branch]:
    branches = {branch_link(b.id): b for b in system.branches}
    depth: dict[str, int] = {}
    for chain in paths.chains.values():
        for i, link in enumerate(chain):
            if link in branches:
                depth[link] = i
    for link in sorted(depth, key=lambda name: depth[name]):
        yield branches[link]


def _damper(branch: Branch, paths: Paths, takes_pa: float, air: DuctAir) -> DamperPlan:
    link = branch_link(branch.id)
    flow = paths.link_flow_m3_s[link]
    loss = next(p for p in paths.losses[link] if p.piece.kind is PieceKind.DAMPER)
    law = Loss(loss_coeff=1.0, diameter_m=loss.piece.diameter_m or 0.0, air=air)
    # The loss is proportional to its coefficient at a given flow.
    one_pa = law.drop_and_slope(flow)[0]
    loss_coeff = (loss.drop_pa + takes_pa) / one_pa if one_pa > 0.0 else 0.0
    damper = branch.damper
    if damper is None:
        raise ValueError(f"{link} has no damper")
    is_butterfly = damper.kind is DamperKind.BUTTERFLY
    return DamperPlan(
        branch_id=branch.id,
        kind=damper.kind,
        place=damper.place,
        flow_m3_s=flow,
        throw_away_pa=takes_pa,
        loss_coeff=loss_coeff,
        closing_deg=_angle_deg(
            loss_coeff, takes_pa, damper.position_deg if damper.is_stuck else 0.0
        )
        if is_butterfly
        else None,
        open_ratio=None if is_butterfly else _open_ratio(loss_coeff),
        is_stuck=damper.is_stuck,
    )


def _angle_deg(loss_coeff: float, takes_pa: float, resting_deg: float | None) -> float:
    return butterfly_angle_deg(loss_coeff=loss_coeff) if takes_pa > 0.0 else (resting_deg or 0.0)


def _open_ratio(loss_coeff: float) -> float:
    """Open share at which an iris has a loss coefficient, by halving."""
    low, high = SMALLEST_OPEN_RATIO, 1.0
    for _ in range(50):
        middle = 0.5 * (low + high)
        if iris_loss_coeff(open_ratio=middle) > loss_coeff:
            low = middle
        else:
            high = middle
    return high


def _with_terminals(
    paths: Paths,
    excess: Mapping[str, float],
    left: Mapping[str, float],
    dampers: tuple[DamperPlan, ...],
    air: DuctAir,
) -> Throttled:
    known: dict[str, TerminalOpening] = dict(paths.side.terminals)
    thinner = sqrt(air.density_kg_m3 / STANDARD_DUCT_AIR.density_kg_m3)
    at_terminal, unplaced, factors, drops = {}, {}, {}, {}
    for t, chain in paths.chains.items():
        surplus = max(left[t], 0.0)
        can_turn = known[t].can_turn
        at_terminal[t], unplaced[t] = (surplus, 0.0) if can_turn else (0.0, surplus)
        open_pa = next(
            loss.drop_pa
            for loss in paths.losses[chain[-1]]
            if loss.piece.kind is PieceKind.TERMINAL
        )
        drops[t] = open_pa + at_terminal[t]
        factors[t] = known[t].open_flow_factor
        flow = paths.link_flow_m3_s[chain[-1]]
        if at_terminal[t] > 0.0 and flow > 0.0:
            factors[t] = flow / sqrt(drops[t]) * thinner
    openings = Openings(
        terminal_flow_factors=factors,
        damper_loss_coeffs={d.branch_id: d.loss_coeff for d in dampers},
        closed=frozenset(
            t for t, chain in paths.chains.items() if not paths.link_flow_m3_s[chain[-1]] > 0.0
        ),
    )
    return Throttled(
        excess_pa=excess,
        at_terminal_pa=at_terminal,
        unplaced_pa=unplaced,
        flow_factors=factors,
        terminal_drop_pa=drops,
        dampers=dampers,
        openings=openings,
    )
