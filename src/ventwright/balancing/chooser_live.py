"""The next step where a meter stays in place while the hand turns."""

from __future__ import annotations

from collections.abc import Iterator

from ventwright.balancing.advice import Deed, Finished, NextStep
from ventwright.balancing.aim import target_of
from ventwright.balancing.chooser_base import Chooser
from ventwright.balancing.reach import Reach, reaches
from ventwright.balancing.settings import Planner, Target
from ventwright.balancing.site_data import DamperMove, FlowReading, SpeedMove
from ventwright.balancing.view import SideView
from ventwright.quantities.words import Side

LEAST_CHANGE = 0.03
"""Smallest change of the logarithm of a resistance that is worth a hand."""


class LiveChooser(Chooser):
    """Terminal by terminal: each turn stops at a reading that ends right when the rest are done."""

    def choose(self) -> NextStep | Finished:
        """The next step."""
        return (
            self.again()
            or self._at_hand()
            or self.as_found()
            or self._next_turn()
            or self.fan(self.method.early_speed_ratio)
            or self.as_left()
            or self.unsure(self.method.closing_confidence_frac)
            or self.fan(self.method.late_speed_ratio)
            or self.finished()
        )

    def _at_hand(self) -> NextStep | None:
        """A turn, or a small correction, with the meter in place where it has just been read."""
        events = self.session.events
        if not events or isinstance(events[-1], SpeedMove | DamperMove):
            return None
        last = events[-1]
        seen = self.views[last.side]
        node = seen.model.node_of[last.thing_id]
        if seen.unread or node < seen.model.first_leaf:
            return None
        target = target_of(seen, self.method)
        if node in target.moves:
            return None if self._is_near(seen, target, node) else self.turn(seen, target, node)
        run = min((n for n in target.moves if n < seen.model.first_leaf), default=0)
        if run > 0 and run in seen.model.tree.path(node):
            return self.turn(seen, target, run, watch=node)
        return None if target.moves else self._correct(seen, node)

    def _is_near(self, seen: SideView, target: Target, node: int) -> bool:
        """Whether this damper was turned a moment ago and another turn would do little."""
        events = self.session.events
        if len(events) < 2 or not isinstance(events[-2], DamperMove):
            return False
        if seen.model.node_of.get(events[-2].thing_id) != node or events[-2].side is not seen.side:
            return False
        shown = seen.posterior.now
        place = node - seen.model.first_leaf
        change = target.moves[node] - shown.ln_resistance[node]
        effect = change * shown.state.slopes(node)[node] * seen.now.flows_m3_s[place]
        return abs(effect) < self.method.again_ratio * seen.now.bands_m3_s[place]

    def _correct(self, seen: SideView, node: int) -> NextStep | None:
        """A small correction at a terminal near the edge of its band; it costs no stop."""
        shown = seen.posterior.now
        reach = reaches(shown)
        if node not in reach or len(seen.readings_of(seen.model.names[node])) < 2:
            return None
        place = node - seen.model.first_leaf
        off = seen.now.offs[place]
        spread = seen.spreads[1][place]
        guard = 1.0 - self.method.tight_coverage_factor * spread
        if abs(off) <= max(self.method.least_guard_ratio, guard):
            return None
        if not _keeps_open(seen, reach, node):
            return None
        wanted = -off * seen.now.bands_m3_s[place] / seen.now.flows_m3_s[place]
        value = shown.ln_resistance[node] + wanted / shown.state.slopes(node)[node]
        value = min(max(value, reach[node].least), reach[node].most)
        if abs(value - shown.ln_resistance[node]) < LEAST_CHANGE:
            return None
        target = Target(
            moves={node: value},
            opened=frozenset(),
            ln_resistance=(),
            departures=seen.now,
            is_within=True,
            cost=0.0,
        )
        return self.turn(seen, target, node)

    def _next_turn(self) -> NextStep | None:
        """The turn to go to: branch dampers first, then the nearest."""
        tasks = list(self._turn_tasks())
        if not tasks:
            return None
        _, side, node = min(tasks, key=lambda task: task[0])
        seen = self.views[side]
        target = target_of(seen, self.method)
        watch = self._watch(seen, target, node)
        name = seen.model.names[watch]
        last = self.session.events[-1]
        is_fresh = isinstance(last, FlowReading) and (last.side, last.thing_id) == (side, name)
        if self.method.reads_before_turn and not is_fresh:
            return self.read(Deed.READ_BEFORE_TURN, side, name, self.method.before_count)
        return self.turn(seen, target, node, watch=watch)

    def _turn_tasks(self) -> Iterator[tuple[tuple[bool, tuple[bool, float]], Side, int]]:
        """Pending turns with their rank; what was turned and not yet read waits."""
        for side, seen in self.views.items():
            target = target_of(seen, self.method)
            first = seen.model.first_leaf
            runs = [node for node in target.moves if node < first]
            for node in runs[:1] or target.moves:
                if seen.is_unread_since_turn(node):
                    continue
                at = self._watch(seen, target, node)
                away = self.tour.distance(side, seen.model.names[at])
                yield (node >= first, away), side, node

    def _watch(self, seen: SideView, target: Target, node: int) -> int:
        """Where the meter is while a damper is turned: at the terminal itself, or one behind it."""
        model = seen.model
        if node >= model.first_leaf:
            return node
        behind = [leaf for leaf in model.tree.leaves if node in model.tree.path(leaf)]
        for leaf in behind:
            if model.names[leaf] == self.tour.here:
                return leaf
        still = [leaf for leaf in behind if leaf not in target.moves] or behind
        return max(still, key=lambda leaf: seen.posterior.now.state.ln_flow[leaf])


def _keeps_open(seen: SideView, reach: dict[int, Reach], node: int) -> bool:
    """Whether some path stays fully open, or none was, if a damper is turned."""
    planner = Planner(shown=seen.posterior.now, guards=(), costs={}, reach=reach)
    none: frozenset[int] = frozenset()
    return planner.has_open_path(frozenset((node,)), none) or not planner.has_open_path(none, none)
