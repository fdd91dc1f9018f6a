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
    """Where the dampers of a side should end, as far as is known now.

    Parameters
    ----------
    seen
        The side.
    method
        Figures of the method.
    """
    shown = seen.posterior.now
    reach = reaches(shown)
    style = seen.session.options.style
    is_live = style is SettingStyle.LIVE
    least = method.least_guard_ratio if is_live else method.least_blind_guard_ratio
    guards = []
    for place, leaf in enumerate(shown.model.tree.leaves):
        can_open = leaf in reach and reach[leaf].least < shown.ln_resistance[leaf] - 0.05
        is_cheap = is_live and leaf in reach and (can_open or seen.now.offs[place] > 0.0)
        factor = method.loose_coverage_factor if is_cheap else method.tight_coverage_factor
        guards.append(max(least, 1.0 - factor * seen.spreads[1][place]))
    run_cost = {
        SettingStyle.LIVE: method.run_cost_live_ratio,
        SettingStyle.BLIND: method.run_cost_blind_ratio,
        SettingStyle.REMOTE: method.run_cost_remote_ratio,
    }[style]
    first = shown.model.first_leaf
    costs = {node: 1.0 if node >= first else run_cost for node in reach}
    return Planner(shown=shown, guards=guards, costs=costs, reach=reach).search()
