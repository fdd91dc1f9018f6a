"""How far each damper can go, and the mark that gives a resistance."""

from __future__ import annotations

from collections.abc import Sequence
from math import expm1, log

from ventwright.balancing.damper_law import ln_factor, softplus
from ventwright.balancing.inference import Picture, size_and_steepness
from ventwright.balancing.side_model import SideModel, size_prior
from ventwright.quantities.records import dataclass

_MOST_SHUT = 9.0
HOPE = 1.4
"""Spreads by which an unknown damper's size is taken above what is likely: a try tells."""
OPEN_MARK_FRAC = 0.985
"""A mark from here on counts as fully open."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Reach:
    """How far a damper can go.

    Parameters
    ----------
    least, most
        Logarithm of the node's resistance fully open, taken hopefully where it is not known yet,
        and shut.
    when_open
        The same fully open, as is likely.
    is_open_now
        Whether it is fully open.
    """

    least: float
    most: float
    when_open: float
    is_open_now: bool


def size_now(model: SideModel, unknowns: Sequence[float], node: int) -> tuple[float, float, float]:
    """A damper's size, the steepness of its table, and how far the size may be off.

    The last is zero once it was learned from a move.
    """
    for version in model.versions:
        if version.node == node and version.damper is not None:
            return *size_and_steepness(unknowns, version.damper), 0.0
    prior = size_prior(model.setup, node)
    common = 0.0 if prior.common_at is None else unknowns[prior.common_at]
    return prior.likely + common, 2.0, prior.spread


def reaches(shown: Picture) -> dict[int, Reach]:
    """Reach of every node that has a damper which moves and is there to share the air out.

    The damper by which a side's total is set is none of them.
    """
    model = shown.model
    found = ((node, reach_of(shown, node)) for node in range(1, len(model.names)))
    return {
        node: reach for node, reach in found if reach is not None and node != model.total_damper
    }


def reach_of(shown: Picture, node: int) -> Reach | None:
    """How far the damper of a node can go; None where there is none that moves."""
    model = shown.model
    damper = model.damper(node)
    if damper is None or not damper.is_movable or node in model.stuck:
        return None
    now = shown.ln_resistance[node]
    if damper.table and node in model.opening:
        size, steep, spread = size_now(model, shown.unknowns, node)
        mark, shut = ln_factor(damper, model.opening[node]), ln_factor(damper, 0.0)
        when_open = now + softplus(size) - softplus(size - steep * mark)
        size += HOPE * spread
        least = now + softplus(size) - softplus(size - steep * mark)
        most = now + softplus(size - steep * shut) - softplus(size - steep * mark)
        is_open = model.opening[node] >= OPEN_MARK_FRAC
    else:
        least = when_open = shown.found.ln_resistance[node]
        most = now + _MOST_SHUT
        is_open = now <= least + 1e-9
    stop = model.at_stop.get(node, 0)
    if stop > 0 or is_open:
        least, when_open, is_open = now, now, True
    elif stop < 0:
        most = now
    return Reach(
        least=min(least, now),
        most=max(most, now),
        when_open=min(when_open, now),
        is_open_now=is_open,
    )


def factor_wanted(shown: Picture, node: int, value: float) -> float:
    """Logarithm of a table's flow factor that gives a node a resistance.

    Falls back to fully open where even that leaves more than wanted.
    """
    model = shown.model
    damper = model.damper(node)
    if damper is None or node not in model.opening:
        return 0.0
    size, steep, _ = size_now(model, shown.unknowns, node)
    now = softplus(size - steep * ln_factor(damper, model.opening[node]))
    then = now + value - shown.ln_resistance[node]
    if then <= 1e-6:
        return 0.0
    inner = then + log(-expm1(-then))
    return min((size - inner) / steep, 0.0)
