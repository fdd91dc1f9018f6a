"""The small model of one side: a tree of resistances with one exponent, solved in closed form.

Every node loses ``resistance · flow^m``. With one exponent m, conductances in parallel add and
resistances in series add, so one sweep from the leaves to the root and one back give all flows,
and the same two sweeps give their logarithmic slopes; nothing is iterated. The fan's pressure at no
flow is 1; the fall of its curve counts as loss of the shared path.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache
from math import exp, log

from ventwright.quantities.records import dataclass

EXPONENT = 1.9
"""Power of the flow in a pressure drop: between smooth duct (1.75) and fittings (2)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Tree:
    """Which node hangs on which: node 0 is the shared path, leaves are terminals.

    Parameters
    ----------
    parent
        Node towards the fan of each node; −1 for node 0; parents come before children.
    leaves
        Nodes that are terminals.
    """

    parent: tuple[int, ...]
    leaves: tuple[int, ...]

    def path(self, node: int) -> tuple[int, ...]:
        """Nodes from the fan to a node, both ends included."""
        found = []
        while node >= 0:
            found.append(node)
            node = self.parent[node]
        return tuple(reversed(found))


@dataclass(frozen=True, slots=True, kw_only=True)
class TreeState:
    """A tree with resistances, swept.

    Parameters
    ----------
    tree
        The shape.
    ln_flow
        Logarithm of the flow of each node.
    own_share
        Share of the pressure at a node's start that is lost in the node itself; 1 at leaves.
    split_share
        Share of the parent's flow that a node takes; 1 at the root.
    """

    tree: Tree
    ln_flow: tuple[float, ...]
    own_share: tuple[float, ...]
    split_share: tuple[float, ...]

    def slopes(self, leaf: int) -> list[float]:
        """Slope of the logarithm of one leaf's flow against that of each node's resistance.

        One sweep from the root outwards: a change of a node's conductance acts through the
        conductance of everything above it and through the split of flow beside it.
        """
        own, split = self.own_share, self.split_share
        passed = [0.0] * len(own)
        result = []
        for node, (parent, is_on_path) in enumerate(
            zip(self.tree.parent, _on_path(self.tree, leaf), strict=True)
        ):
            value = 1.0 if parent < 0 else split[node] * passed[parent] + is_on_path
            # A run can be read as a whole: below the node that was read nothing lies on the path.
            passed[node] = (1.0 - own[node]) * value - (is_on_path and node != leaf)
            result.append(-own[node] * value / EXPONENT)
        return result


@lru_cache(maxsize=512)
def _on_path(tree: Tree, leaf: int) -> tuple[int, ...]:
    """For each node 1 if it lies on the path from the fan to a leaf, else 0."""
    path = tree.path(leaf)
    return tuple(int(node in path) for node in range(len(tree.parent)))


def sweep(tree: Tree, ln_resistance: Sequence[float], *, ln_pressure: float = 0.0) -> TreeState:
    """Flows of a tree: conductances from the leaves inwards, flows from the root outwards.

    Parameters
    ----------
    tree
        The shape.
    ln_resistance
        Logarithm of each node's resistance.
    ln_pressure
        Logarithm of the fan's pressure at no flow.
    """
    size = len(tree.parent)
    inner = [0.0] * size
    own = [1.0] * size
    conductance = [0.0] * size
    for node in range(size - 1, -1, -1):
        resistance = exp(ln_resistance[node])
        below = inner[node]
        if below > 0.0:
            behind = below**-EXPONENT
            whole = resistance + behind
            own[node] = resistance / whole
        else:
            whole = resistance
        value = whole ** (-1.0 / EXPONENT)
        conductance[node] = value
        parent = tree.parent[node]
        if parent >= 0:
            inner[parent] += value
    ln_flow = [0.0] * size
    split = [1.0] * size
    ln_flow[0] = log(conductance[0]) + ln_pressure / EXPONENT
    for node in range(1, size):
        parent = tree.parent[node]
        split[node] = conductance[node] / inner[parent]
        ln_flow[node] = ln_flow[parent] + log(split[node])
    return TreeState(
        tree=tree, ln_flow=tuple(ln_flow), own_share=tuple(own), split_share=tuple(split)
    )
