"""The next step where no meter is in place while the hand turns: whole rounds.

All dampers are turned to marks, then all terminals are read. Where the damper sits at its terminal
(blind), what was learned on the way corrects a damper before its meter is placed, and after it.
Where dampers sit elsewhere (remote), what is still off is turned on another visit to that place.
"""

from __future__ import annotations

from collections.abc import Iterator

from ventwright.balancing.advice import Deed, Finished, NextStep
from ventwright.balancing.aim import round_target_of
from ventwright.balancing.chooser_base import MOST_TURNS, Chooser
from ventwright.balancing.settings import Target
from ventwright.balancing.site_data import DamperMove, FlowReading, SettingStyle, SpeedMove
from ventwright.balancing.view import SideView
from ventwright.quantities.words import Side


class RoundsChooser(Chooser):
    """Rounds of turning and reading."""

    def choose(self) -> NextStep | Finished:
        """The next step."""
        step = self.again() or self.as_found()
        if step is None:
            is_blind = self.session.options.style is SettingStyle.BLIND
            step = self._cover() or self._at_terminals() if is_blind else self._elsewhere()
        return (
            step
            or self.unsure(self.method.closing_rounds_confidence_frac)
            or self._fan_on_the_way(self.method.late_speed_ratio)
            or self.finished()
        )

    def _elsewhere(self) -> NextStep | None:
        """Turn all in the crawl space or loft, set fans, then read all rooms."""
        if not self._is_reading_round():
            step = self._next_turn() or self._fan_on_the_way(self.method.early_speed_ratio)
            if step is not None:
                return step
        return self.as_left() or self._next_turn()

    def _at_terminals(self) -> NextStep | None:
        """Turn all once; then terminal by terminal: correct, read, correct what is still off."""
        if not self._has_begun_left():
            return (
                self._next_turn()
                or self._fan_on_the_way(self.method.early_speed_ratio)
                or self._corrected_left()
            )
        last = self.session.events[-1]
        if not isinstance(last, SpeedMove):
            seen = self.views[last.side]
            node = seen.model.node_of.get(last.thing_id, 0)
            if isinstance(last, DamperMove) and not last.is_stuck and node >= seen.model.first_leaf:
                return self.read(
                    Deed.READ_AS_LEFT, last.side, last.thing_id, self.method.left_count
                )
            if isinstance(last, FlowReading) and self._is_surely_off(seen, node):
                return self.turn(seen, round_target_of(seen, self.method), node)
        return self._corrected_left() or self._next_turn()

    def _corrected_left(self) -> NextStep | None:
        """The next as-left reading; its damper first, where what was learned since moves it."""
        nearest = self.next_left()
        if nearest is None:
            return None
        seen = self.views[nearest[0]]
        node = seen.model.node_of[nearest[1]]
        if self._has_begun_left() and self._is_worth_turning(seen, node):
            target = round_target_of(seen, self.method)
            if abs(_effect(seen, target, node)) > self.method.beforehand_effect_ratio:
                return self.turn(seen, target, node)
        return self.read(Deed.READ_AS_LEFT, *nearest, self.method.left_count)

    def _cover(self) -> NextStep | None:
        """Cover and read at once what was turned without a mark to go by."""
        last = self.session.events[-1]
        if not isinstance(last, DamperMove) or last.is_stuck or last.opening_frac is not None:
            return None
        if self.views[last.side].model.node_of[last.thing_id] < self._first_leaf(last.side):
            return None
        return self.read(Deed.READ_AS_LEFT, last.side, last.thing_id, self.method.left_count)

    def _first_leaf(self, side: Side) -> int:
        return self.views[side].model.first_leaf

    # Where in the round

    def _has_begun_left(self) -> bool:
        """Whether a terminal was read after dampers were turned, other than to cover one."""
        turned = False
        before: object = None
        for event in self.session.events:
            if isinstance(event, DamperMove):
                turned = True
            elif isinstance(event, FlowReading) and turned and not _covers(before, event):
                return True
            before = event
        return False

    def _is_reading_round(self) -> bool:
        """Whether a tour of readings between two rounds of turning is under way."""
        has_moved = any(seen.has_moved for seen in self.views.values())
        is_reading = isinstance(self.session.events[-1], FlowReading)
        return has_moved and is_reading and any(seen.not_left for seen in self.views.values())

    # Turning

    def _is_surely_off(self, seen: SideView, node: int) -> bool:
        """Whether what was just read is to be turned at once; the unsure waits for the others."""
        place = node - seen.model.first_leaf
        is_unsure = place < 0 or seen.prob_within(place) > self.method.surely_off_prob_frac
        return not is_unsure and self._is_worth_turning(seen, node)

    def _is_worth_turning(self, seen: SideView, node: int) -> bool:
        """Whether the plan moves a damper, and by enough to be worth a hand."""
        target = round_target_of(seen, self.method)
        if node not in target.moves or seen.turns_of(seen.model.names[node]) >= MOST_TURNS:
            return False
        if node < seen.model.first_leaf or node in target.opened:
            return True
        return abs(_effect(seen, target, node)) > self.method.least_effect_ratio

    def _next_turn(self) -> NextStep | None:
        """The nearest pending turn, branch dampers of a side first."""
        tasks = list(self._turn_tasks())
        if not tasks:
            return None
        _, side, node = min(tasks, key=lambda task: task[0])
        seen = self.views[side]
        return self.turn(seen, round_target_of(seen, self.method), node)

    def _turn_tasks(self) -> Iterator[tuple[tuple[bool, tuple[bool, float]], Side, int]]:
        """Pending turns with their rank; what was turned and not yet read waits."""
        for side, seen in self.views.items():
            target = round_target_of(seen, self.method)
            first = seen.model.first_leaf
            runs = [node for node in target.moves if node < first]
            for node in runs[:1] or target.moves:
                if seen.is_unread_since_turn(node) or not self._is_worth_turning(seen, node):
                    continue
                away = self.tour.distance(side, seen.model.names[node], is_damper=True)
                yield (node >= first, away), side, node

    # Fans

    def _fan_on_the_way(self, limit_ratio: float) -> NextStep | None:
        """Fans, with less reason where the unit is in the place one is in."""
        here = self.tour.spot
        if here is not None and here.area == self.session.options.unit_spot.area:
            limit_ratio = min(limit_ratio, self.method.late_speed_ratio)
        return self.fan(limit_ratio)


def _covers(before: object, event: FlowReading) -> bool:
    """Whether a reading only covers what was turned a moment ago without a mark."""
    return (
        isinstance(before, DamperMove)
        and before.opening_frac is None
        and (before.side, before.thing_id) == (event.side, event.thing_id)
    )


def _effect(seen: SideView, target: Target, node: int) -> float:
    """What a planned move does to its own terminal, in half bands."""
    shown = seen.posterior.now
    place = node - seen.model.first_leaf
    change = target.moves[node] - shown.ln_resistance[node]
    moved = change * shown.state.slopes(node)[node] * seen.now.flows_m3_s[place]
    return moved / seen.now.bands_m3_s[place]
