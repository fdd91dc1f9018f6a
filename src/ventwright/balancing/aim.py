"""What the planner is asked for, from what is known of a side and how dampers are set."""

from __future__ import annotations

from functools import lru_cache

from ventwright.balancing.advice import Method
from ventwright.balancing.reach import reaches
from ventwright.balancing.settings import Planner, Target
from ventwright.balancing.site_data import SettingStyle
from ventwright.balancing.view import SideView


@lru_cache(maxsize=32)
def target_of(seen: SideView, method: Method) -> Target:
    """Where the dampers of a side should end if a meter is in place, as far as is known now.

    Parameters
    ----------
    seen
        The side.
    method
        Figures of the method.
    """
    shown = seen.posterior.now
    reach = reaches(shown)
    guards = []
    for place, leaf in enumerate(shown.model.tree.leaves):
        can_open = leaf in reach and reach[leaf].least < shown.ln_resistance[leaf] - 0.05
        is_cheap = leaf in reach and (can_open or seen.now.offs[place] > 0.0)
        factor = method.loose_coverage_factor if is_cheap else method.tight_coverage_factor
        guards.append(max(method.least_guard_ratio, 1.0 - factor * seen.spreads[1][place]))
    first = shown.model.first_leaf
    costs = {node: 1.0 if node >= first else method.run_cost_live_ratio for node in reach}
    return Planner(shown=shown, guards=guards, costs=costs, reach=reach).search()


@lru_cache(maxsize=32)
def round_target_of(seen: SideView, method: Method) -> Target:
    """Where the dampers of a side should end if they are set in rounds, without a meter in place.

    What will be read anyway may be turned for little, and is planned well inside its band. What
    stands as left costs a turn and another reading: it may stay nearer to the edge, and nearer
    still where it is short of air and fully open, since only all others could help it.

    Parameters
    ----------
    seen
        The side.
    method
        Figures of the method.
    """
    shown = seen.posterior.now
    reach = reaches(shown)
    model = shown.model
    not_left = {model.node_of[name] for name in seen.not_left}
    guards = []
    for place, leaf in enumerate(model.tree.leaves):
        spread = seen.spreads[1][place]
        can_open = leaf in reach and reach[leaf].least < shown.ln_resistance[leaf] - 0.05
        can_help = can_open or (leaf in reach and seen.now.offs[place] > 0.0)
        if leaf in not_left:
            guards.append(method.round_guard_ratio if can_help else method.helpless_guard_ratio)
        else:
            factor = method.round_coverage_factor if can_help else method.helpless_coverage_factor
            guards.append(min(max(method.least_left_guard_ratio, 1.0 - factor * spread), 0.95))
    is_blind = seen.session.options.style is SettingStyle.BLIND
    run_cost = method.run_cost_blind_ratio if is_blind else method.run_cost_remote_ratio
    costs = {}
    for node in reach:
        if node >= model.first_leaf:
            costs[node] = 1.0 if node in not_left else method.turn_again_cost_ratio
        else:
            behind = [leaf for leaf in model.tree.leaves if node in model.tree.path(leaf)]
            costs[node] = run_cost + sum(leaf not in not_left for leaf in behind)
    return Planner(shown=shown, guards=guards, costs=costs, reach=reach).search()
