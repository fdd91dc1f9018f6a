"""What one size up would give, for the runs that cost most on the index run."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from ventwright.findings.planning.model import RunLoss
from ventwright.findings.planning.paths import Paths
from ventwright.house import DuctKind, DuctPiece, House, System
from ventwright.quantities.records import replace

METRIC_SIZES_M = (0.063, 0.075, 0.08, 0.09, 0.1, 0.125, 0.15, 0.16, 0.18, 0.2, 0.25, 0.315, 0.4)
INCH_SIZES_M = tuple(0.0254 * n for n in (3, 4, 5, 6, 7, 8, 9, 10, 12, 14))
"""Diameters in trade, from memory. Source: planning_judgement"""
LEAST_STEP_RATIO = 1.12
"""The next size is one that matters: at least this much wider."""
_NEAR_M = 4e-4


def index_losses(paths: Paths) -> tuple[RunLoss, ...]:
    """What each list of pieces on the index run costs, from outside to the room.

    Parameters
    ----------
    paths
        Losses at design flows with everything open.
    """
    terminal = paths.index_terminal()
    sums: dict[str, float] = {}
    for link in paths.chains[terminal]:
        for loss in paths.losses[link]:
            key = loss.piece.where.partition("[")[0]
            sums[key] = sums.get(key, 0.0) + loss.drop_pa
    whole = sum(sums.values())
    return tuple(
        RunLoss(where=where, drop_pa=drop, share=drop / whole if whole > 0.0 else 0.0)
        for where, drop in sums.items()
    )


def next_size_m(diameter_m: float) -> float | None:
    """The next size in trade, metric or inch as the given one is; None beyond the largest.

    Parameters
    ----------
    diameter_m
        Now [m].

    >>> next_size_m(0.125), round(next_size_m(0.1524) / 0.0254)
    (0.15, 7)
    """
    is_inch = any(abs(diameter_m - size) < _NEAR_M for size in INCH_SIZES_M)
    sizes = INCH_SIZES_M if is_inch else METRIC_SIZES_M
    return next((s for s in sizes if s >= LEAST_STEP_RATIO * diameter_m), None)


def larger_houses(
    house: House, system: System, losses: Sequence[RunLoss], *, most_count: int
) -> Iterator[tuple[str, float, float, House]]:
    """The house with one list of ducts one size up, for the costliest lists first.

    Parameters
    ----------
    house
        The house.
    system
        The system in question.
    losses
        Of its index run.
    most_count
        How many to try.

    Yields
    ------
    tuple
        Key path of the list, diameter now and then [m], and the changed house.
    """
    tried = 0
    for loss in sorted(losses, key=lambda one: -one.drop_pa):
        lists = _lists(system)
        if loss.where not in lists or tried >= most_count:
            continue
        ducts = lists[loss.where]
        now = [p.diameter_m for p in ducts if p.diameter_m is not None]
        then = next_size_m(min(now)) if now else None
        if then is None:
            continue
        tried += 1
        changed = _with_list(system, loss.where, _resized(ducts, min(now), then))
        systems = tuple(changed if s.id == system.id else s for s in house.systems)
        yield loss.where, min(now), then, replace(house, systems=systems)


def _lists(system: System) -> Mapping[str, tuple[DuctPiece, ...]]:
    shared = ("outdoor_ducts", "supply_ducts", "extract_ducts", "exhaust_ducts")
    found = {f"system {system.id}.{key}": getattr(system, key) for key in shared}
    found |= {f"branch {b.id}.ducts": b.ducts for b in system.branches}
    found |= {f"terminal {t.id}.ducts": t.ducts for t in system.terminals}
    return found


def _with_list(system: System, where: str, ducts: tuple[DuctPiece, ...]) -> System:
    head, _, key = where.rpartition(".")
    kind, _, ident = head.partition(" ")
    if kind == "system":
        lists: dict[str, Any] = {key: ducts}
        return replace(system, **lists)
    if kind == "branch":
        branches = tuple(replace(b, ducts=ducts) if b.id == ident else b for b in system.branches)
        return replace(system, branches=branches)
    terminals = tuple(replace(t, ducts=ducts) if t.id == ident else t for t in system.terminals)
    return replace(system, terminals=terminals)


def _resized(ducts: Sequence[DuctPiece], from_m: float, to_m: float) -> tuple[DuctPiece, ...]:
    """Every piece of one diameter made larger; rough walls stay as they are."""
    return tuple(
        replace(p, diameter_m=to_m)
        if p.diameter_m is not None
        and abs(p.diameter_m - from_m) < _NEAR_M
        and p.kind is not DuctKind.RECTANGULAR
        else p
        for p in ducts
    )
