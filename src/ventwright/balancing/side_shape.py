"""The shape of a side: its tree, the names of its nodes, and which dampers sit where."""

from __future__ import annotations

from collections.abc import Set

from ventwright.balancing.site_data import Damper, SideSetup
from ventwright.balancing.tree import Tree

TOTAL_ID = "total"


def damper_at(setup: SideSetup, node: int) -> Damper | None:
    """Damper at a node of the side's tree."""
    runs = len(setup.runs)
    if node == 0:
        return None
    if node <= runs:
        return setup.runs[node - 1].damper
    return setup.outlets[node - 1 - runs].damper


def tree_of(setup: SideSetup) -> tuple[Tree, tuple[str, ...]]:
    """Shape of a side and the names of its nodes; runs must stand after those they start from."""
    names = (TOTAL_ID, *(run.id for run in setup.runs), *(item.id for item in setup.outlets))
    at = {name: node for node, name in enumerate(names)}
    parent = [-1]
    parent += [0 if run.parent_id is None else at[run.parent_id] for run in setup.runs]
    parent += [0 if item.run_id is None else at[item.run_id] for item in setup.outlets]
    leaves = tuple(range(1 + len(setup.runs), len(names)))
    return Tree(parent=tuple(parent), leaves=leaves), names


def has_main_damper(setup: SideSetup) -> bool:
    """Whether all terminals of a side are behind one damper that moves.

    Parameters
    ----------
    setup
        The side.

    >>> from ventwright.balancing.site_data import Outlet, Run
    >>> from ventwright.quantities.words import Side
    >>> room = Outlet(id="bed", run_id="main", target_m3_s=0.01)
    >>> has_main_damper(SideSetup(side=Side.SUPPLY, outlets=(room,),
    ...                           runs=(Run(id="main", damper=Damper()),)))
    True
    """
    return main_node(setup, tree_of(setup)[0], set()) is not None


def main_node(setup: SideSetup, tree: Tree, stuck: Set[int]) -> int | None:
    """Node of the damper that all terminals are behind, nearest to the fan, if it moves."""
    shared = set.intersection(*(set(tree.path(leaf)) for leaf in tree.leaves))
    for node in sorted(shared - set(tree.leaves) - stuck):
        damper = damper_at(setup, node)
        if damper is not None and damper.is_movable:
            return node
    return None
