"""What a house file's ducts tell guidance beforehand: where pressure is lost, at the planned flows.

A terminal's own drop against its duct's says what turning it will do; the share lost in a branch
says how far its terminals disturb each other. Both are worked out with everything open. Parts
without listed ducts tell nothing, nor do branches with a damper, which may stand anywhere: guidance
keeps its own guess there.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import lru_cache
from math import hypot

from ventwright.assembly import (
    PieceKind,
    SideAssembly,
    branch_link,
    network_from,
    terminal_link,
)
from ventwright.balancing import LossShare
from ventwright.ducts import FanLaw
from ventwright.findings.planning.paths import Paths, PieceLoss, paths_of
from ventwright.house import House
from ventwright.quantities import Side
from ventwright.quantities.records import dataclass, field

OPENINGS_SPREAD_RATIO = 0.35
"""What a side as found may lose in a duct more or less than with everything open (judgement)."""
LEAST_SPREAD_RATIO = 0.15
"""No ratio of two losses is known better than this before anything was read (judgement)."""
LEAST_FRAC, MOST_FRAC = 0.01, 0.97


@dataclass(frozen=True, slots=True, kw_only=True)
class DuctsTold:
    """What the ducts of one side tell.

    Parameters
    ----------
    drop_ratios
        For each terminal its own drop, fully open, against that of its duct, and the standard
        uncertainty of the logarithm of that ratio.
    run_losses
        For each branch the share of pressure that is lost in it.
    shared
        The share of the fan's pressure at no flow that is lost before the first branching; None
        where no fan curve is listed.
    """

    drop_ratios: Mapping[str, tuple[float, float]] = field(default_factory=dict)
    run_losses: Mapping[str, LossShare] = field(default_factory=dict)
    shared: LossShare | None = None


def ducts_told(
    house: House, system_id: str, side: Side, flows_m3_s: Mapping[str, float]
) -> DuctsTold:
    """What the ducts of one side tell; nothing where a loss of the side is not known.

    Parameters
    ----------
    house
        The record.
    system_id, side
        Which side of which system.
    flows_m3_s
        Flow of each of its terminals at which losses are compared [m³/s].

    >>> barn = House(schema="ventwright-house-1", id="h", name="Barn", altitude_m=0.0)
    >>> ducts_told(barn, "s", Side.SUPPLY, {}) == DuctsTold()
    True
    """
    assembled = next(
        (s for s in _sides(house) if s.system_id == system_id and s.side is side), None
    )
    if assembled is None or {t for t, _ in assembled.terminals} != set(flows_m3_s):
        return DuctsTold()
    paths = paths_of(assembled, flows_m3_s, house_pa=0.0)
    if paths is None:
        return DuctsTold()
    branches = {
        branch_link(b.id): b.id for s in house.systems for b in s.branches if b.damper is None
    }
    return DuctsTold(
        drop_ratios={t: drop for t in flows_m3_s if (drop := _drop_ratio(paths, t)) is not None},
        run_losses={
            branches[link]: told
            for link in paths.losses
            if link in branches and (told := _run_loss(paths, link)) is not None
        },
        shared=_shared_loss(paths),
    )


@lru_cache(maxsize=4)
def _sides(house: House) -> tuple[SideAssembly, ...]:
    """Sides with everything open; a visit is judged many times on the same house."""
    return network_from(house).sides


def _drop_ratio(paths: Paths, terminal_id: str) -> tuple[float, float] | None:
    losses = paths.losses[terminal_link(terminal_id)]
    own = [x for x in losses if x.piece.kind is PieceKind.TERMINAL]
    duct = [x for x in losses if x.piece.kind is not PieceKind.TERMINAL]
    if not _is_listed(duct) or not _sum_pa(own) > 0.0:
        return None
    spread = max(hypot(_u_ln(own), _u_ln(duct)), LEAST_SPREAD_RATIO)
    return _sum_pa(own) / _sum_pa(duct), spread


def _run_loss(paths: Paths, link: str) -> LossShare | None:
    """Loss of a branch against that from its start on, the mean of the paths behind it."""
    losses = paths.losses[link]
    if not _is_listed(losses):
        return None
    return _share(losses, _behind(paths, link))


def _shared_loss(paths: Paths) -> LossShare | None:
    """All that the fan's pressure at no flow loses before the first branching.

    The fall of the fan's curve counts as lost there.
    """
    name = paths.side.name
    fans = [p.law for p in paths.side.pieces_of(name) if isinstance(p.law, FanLaw)]
    shut_off_pa = -sum(fan.drop_and_slope(0.0)[0] for fan in fans)
    behind_pa = _mean_pa(_behind(paths, name))
    if paths.side.is_speed_assumed or not shut_off_pa > behind_pa > 0.0:
        return None
    frac = min(max(1.0 - behind_pa / shut_off_pa, LEAST_FRAC), MOST_FRAC)
    doubt = _u_ln([loss for losses, _ in _behind(paths, name) for loss in losses])
    # The logarithm of the odds moves by the doubt of what is behind over the share itself.
    return LossShare(
        likely_frac=frac, spread_ratio=max(hypot(doubt, OPENINGS_SPREAD_RATIO) / frac, 0.25)
    )


def _behind(paths: Paths, link: str) -> list[tuple[list[PieceLoss], float]]:
    """Losses of each path beyond a link, and its terminal's flow."""
    found = []
    for chain in paths.chains.values():
        if link in chain:
            beyond = chain[chain.index(link) + 1 :]
            losses = [loss for name in beyond for loss in paths.losses[name]]
            found.append((losses, paths.link_flow_m3_s[chain[-1]]))
    return found


def _share(own: Sequence[PieceLoss], behind: list[tuple[list[PieceLoss], float]]) -> LossShare:
    rest_pa = _mean_pa(behind)
    frac = _sum_pa(own) / (_sum_pa(own) + rest_pa)
    doubt = hypot(_u_ln(own), _u_ln([loss for losses, _ in behind for loss in losses]))
    return LossShare(
        likely_frac=min(max(frac, LEAST_FRAC), MOST_FRAC),
        spread_ratio=hypot(doubt, OPENINGS_SPREAD_RATIO),
    )


def _mean_pa(behind: list[tuple[list[PieceLoss], float]]) -> float:
    """Mean loss of paths, weighted by flow."""
    whole = sum(flow for _, flow in behind)
    return sum(_sum_pa(losses) * flow for losses, flow in behind) / whole


def _is_listed(losses: Sequence[PieceLoss]) -> bool:
    return any(x.piece.length_m is not None for x in losses) and _sum_pa(losses) > 0.0


def _sum_pa(losses: Sequence[PieceLoss]) -> float:
    return sum(loss.drop_pa for loss in losses)


def _u_ln(losses: Sequence[PieceLoss]) -> float:
    """Standard uncertainty of the logarithm of a sum of losses; what pieces share adds up."""
    by_cause: dict[str, float] = {}
    for loss in losses:
        for doubt in loss.piece.doubts:
            cause = doubt.influence.id
            by_cause[cause] = by_cause.get(cause, 0.0) + loss.drop_pa * doubt.u_ln_ratio
    return hypot(*by_cause.values()) / _sum_pa(losses)
