"""Chooses the next step from what is known of both sides and from where one stands."""

from __future__ import annotations

from collections.abc import Iterator
from math import exp, log

from ventwright.balancing.advice import Deed, Finished, Method, NextStep
from ventwright.balancing.aim import target_of
from ventwright.balancing.damper_law import ln_factor, opening_for
from ventwright.balancing.outlook import (
    goal_ratio,
    leads_of,
    predictions,
    speed_for,
    total_of,
    with_changes,
)
from ventwright.balancing.reach import Reach, factor_wanted, reaches
from ventwright.balancing.settings import Planner, Target
from ventwright.balancing.side_model import TOTAL_ID
from ventwright.balancing.site_data import (
    DamperMove,
    FlowReading,
    Session,
    SettingStyle,
    SpeedMove,
)
from ventwright.balancing.surprise import Surprise, believed
from ventwright.balancing.tour import READINGS_KEPT, tour_of
from ventwright.balancing.view import SideView
from ventwright.quantities.records import replace
from ventwright.quantities.words import Side
from ventwright.uncertainty import Verdict

STOP_TOLERANCE_RATIO = 1.0 / 3.0
"""A stop is near enough within this part of the terminal's band."""
LEAST_CHANGE = 0.03
"""Smallest change of the logarithm of a resistance that is worth a hand."""
SMALLEST_SPEED_CHANGE_FRAC = 0.01


def choose(session: Session, method: Method) -> NextStep | Finished:
    """The next step.

    Parameters
    ----------
    session
        All that was done.
    method
        Figures of the method.
    """
    return _Chooser(session, method).choose()


class _Chooser:
    def __init__(self, session: Session, method: Method) -> None:
        self.session = session
        self.method = method
        self.style = session.options.style
        self.tour = tour_of(session)
        self.views: dict[Side, SideView] = {}
        self.surprises: tuple[Surprise, ...] = ()
        for setup in session.sides:
            seen, surprises = believed(session, setup.side)
            self.views[setup.side] = seen
            self.surprises += surprises
        self.suspects = {item.reading_id for item in self.surprises}

    def choose(self) -> NextStep | Finished:
        step = self._again() or self._at_hand() or self._as_found()
        if step is not None:
            return step
        if not self._is_touring():
            step = self._next_turn() or self._fan(self.method.early_speed_ratio)
        return step or self._as_left() or self._rest()

    def _rest(self) -> NextStep | Finished:
        """What remains once all terminals are read as left."""
        return (
            self._next_turn()
            or self._unsure()
            or self._fan(self.method.late_speed_ratio)
            or self._finished()
        )

    def _unsure(self) -> NextStep | None:
        """Another reading where the verdict is not sure and few were taken since the turn."""
        confidence = self.method.closing_confidence_frac
        found = [
            (side, name)
            for side, seen in self.views.items()
            for place, name in enumerate(seen.outlet_ids)
            if seen.prob_within(place) < confidence
            and seen.readings_since_turn(name) <= self.method.more_left_count
        ]
        nearest = self.tour.nearest(found)
        if nearest is None:
            return None
        return self._read(Deed.READ_AS_LEFT, *nearest, self.method.left_count)

    def _finished(self) -> Finished:
        seen = self.views.values()
        outlets = tuple(p for item in seen for p in predictions(item, item.posterior.now))
        return Finished(
            is_met=all(p.verdict is Verdict.MET for p in outlets),
            outlets=outlets,
            totals=tuple(total_of(item) for item in seen),
            leads=tuple(lead for item in seen for lead in leads_of(item)),
            surprises=self.surprises,
        )

    # Reading

    def _read(self, deed: Deed, side: Side, thing_id: str, wanted_count: int) -> NextStep:
        seen = self.views[side]
        return NextStep(
            deed=deed,
            side=side,
            thing_id=thing_id,
            read_id=thing_id,
            count=self.tour.count(thing_id, wanted_count, kept_count=READINGS_KEPT),
            predicted=predictions(seen, seen.posterior.now) if not seen.unread else (),
            surprises=self.surprises,
        )

    def _again(self) -> NextStep | None:
        """Ask again for the last reading if it can't be explained; once is enough."""
        events = self.session.events
        if not events or not isinstance(events[-1], FlowReading):
            return None
        last = events[-1]
        if last.id not in self.suspects:
            return None
        before = events[-2] if len(events) > 1 else None
        was_same = isinstance(before, FlowReading) and before.thing_id == last.thing_id
        if was_same and isinstance(before, FlowReading) and before.id in self.suspects:
            return None
        return self._read(Deed.READ_AGAIN, last.side, last.thing_id, self.method.left_count)

    def _as_found(self) -> NextStep | None:
        unread = [(side, name) for side, seen in self.views.items() for name in seen.unread]
        nearest = self.tour.nearest(unread)
        if nearest is None:
            return None
        return self._read(Deed.READ_AS_FOUND, *nearest, self.method.found_count)

    def _as_left(self) -> NextStep | None:
        left = [(side, name) for side, seen in self.views.items() for name in seen.not_left]
        nearest = self.tour.nearest(left)
        if nearest is None:
            return None
        return self._read(Deed.READ_AS_LEFT, *nearest, self.method.left_count)

    def _is_touring(self) -> bool:
        """Whether a tour of readings between rounds of turning without a meter is under way."""
        events = self.session.events
        if self.style is SettingStyle.LIVE or not isinstance(events[-1], FlowReading):
            return False
        if not any(seen.has_moved for seen in self.views.values()):
            return False
        if len(events) > 1 and isinstance(events[-2], DamperMove):
            turned, read = events[-2], events[-1]
            is_same = (turned.side, turned.thing_id) == (read.side, read.thing_id)
            if is_same and self._is_worth_covering(self.views[read.side], turned):
                return False
        return any(seen.not_left for seen in self.views.values())

    def _is_worth_covering(self, seen: SideView, turned: DamperMove) -> bool:
        """Whether to cover and read at once what was just turned blind.

        So it is for a second turn, and for a damper that was opened: its flow sets the scale for
        all others and is the least sure.
        """
        model = seen.model
        node = model.node_of[turned.thing_id]
        damper = model.damper(node)
        if node < model.first_leaf or turned.is_stuck or damper is None:
            return False
        versions = [version for version in model.versions if version.node == node]
        value, found = versions[0].ln_factor, damper.opening_frac
        is_opened = value is not None and found is not None and value > ln_factor(damper, found)
        return len(versions) > 1 or is_opened

    # Turning

    def _at_hand(self) -> NextStep | None:
        """What to do where one stands: a turn, a small correction, or reading a blind turn."""
        events = self.session.events
        if not events or isinstance(events[-1], SpeedMove):
            return None
        last = events[-1]
        seen = self.views[last.side]
        if isinstance(last, DamperMove):
            is_covered = self.style is SettingStyle.BLIND and self._is_worth_covering(seen, last)
            count = self.method.left_count
            if is_covered:
                return self._read(Deed.READ_AS_LEFT, last.side, last.thing_id, count)
            return None
        return self._turn_at_hand(seen, last)

    def _turn_at_hand(self, seen: SideView, last: FlowReading) -> NextStep | None:
        """A turn with the meter in place where it has just been read."""
        node = seen.model.node_of[last.thing_id]
        if self.style is not SettingStyle.LIVE or seen.unread or node < seen.model.first_leaf:
            return None
        target = target_of(seen, self.method)
        if node in target.moves:
            return None if self._is_near(seen, target, node) else self._turn(seen, target, node)
        run = min((n for n in target.moves if n < seen.model.first_leaf), default=0)
        if run > 0 and run in seen.model.tree.path(node):
            return self._turn(seen, target, run, watch=node)
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
        return self._turn(seen, target, node)

    def _next_turn(self) -> NextStep | None:
        """The turn to go to: branch dampers first, then the nearest."""
        tasks = list(self._turn_tasks())
        if not tasks:
            return None
        _, side, node = min(tasks, key=lambda task: task[0])
        seen = self.views[side]
        target = target_of(seen, self.method)
        if self.style is not SettingStyle.LIVE:
            return self._turn(seen, target, node)
        watch = self._watch(seen, target, node)
        name = seen.model.names[watch]
        last = self.session.events[-1]
        is_fresh = isinstance(last, FlowReading) and (last.side, last.thing_id) == (side, name)
        if self.method.reads_before_turn and not is_fresh:
            return self._read(Deed.READ_BEFORE_TURN, side, name, self.method.before_count)
        return self._turn(seen, target, node, watch=watch)

    def _turn_tasks(self) -> Iterator[tuple[tuple[bool, bool, tuple[bool, float]], Side, int]]:
        """Pending turns with their rank; what was turned and not yet read waits."""
        is_live = self.style is SettingStyle.LIVE
        for side, seen in self.views.items():
            target = target_of(seen, self.method)
            first = seen.model.first_leaf
            runs = [node for node in target.moves if node < first]
            for node in runs[:1] or target.moves:
                if seen.is_unread_since_turn(node):
                    continue
                at = self._watch(seen, target, node) if is_live else node
                is_shut = target.moves[node] > seen.posterior.now.ln_resistance[node]
                away = self.tour.distance(side, seen.model.names[at], is_damper=not is_live)
                yield (node >= first, is_shut and not is_live, away), side, node

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

    def _turn(
        self, seen: SideView, target: Target, node: int, *, watch: int | None = None
    ) -> NextStep:
        shown, model = seen.posterior.now, seen.model
        value = target.moves[node]
        is_open = node in target.opened
        damper = model.damper(node)
        opening = turns = None
        if damper is not None and damper.table and node in model.opening:
            opening = 1.0 if is_open else opening_for(damper, factor_wanted(shown, node, value))
            if damper.full_turns is not None:
                turns = (opening - model.opening[node]) * damper.full_turns
        after = with_changes(shown, {node: value})
        step = NextStep(
            deed=Deed.TURN,
            side=seen.side,
            thing_id=model.names[node],
            opening_frac=opening,
            turn_count=turns,
            is_fully_open=is_open,
            predicted=predictions(seen, after, fixed=frozenset((node,))),
            surprises=self.surprises,
        )
        if self.style is not SettingStyle.LIVE and opening is not None:
            return step
        leaf = node if watch is None else watch
        stop = exp(after.state.ln_flow[leaf])
        all_done = with_changes(shown, target.moves)
        settles = exp(all_done.state.ln_flow[leaf])
        place = leaf - model.first_leaf
        slack = STOP_TOLERANCE_RATIO * seen.now.bands_m3_s[place] * stop / settles
        return replace(
            step,
            read_id=model.names[leaf],
            count=self.tour.count(model.names[leaf], self.method.stop_count),
            stop_m3_s=stop,
            stop_low_m3_s=stop - slack,
            stop_high_m3_s=stop + slack,
            settles_m3_s=settles,
        )

    # Fans

    def _fan(self, limit_ratio: float) -> NextStep | None:
        """A fan to be set so that both sides move their targets, or what both can reach."""
        goal = goal_ratio(tuple(self.views.values()))
        for side, seen in self.views.items():
            speed = speed_for(seen, flow_ratio=goal)
            is_off = abs(seen.total_ratio / goal - 1.0) > limit_ratio
            if is_off and abs(speed / seen.speed_frac - 1.0) > SMALLEST_SPEED_CHANGE_FRAC:
                ln_speed = log(speed / seen.model.setup.speed_frac)
                after = with_changes(seen.posterior.now, {}, ln_speed=ln_speed)
                return NextStep(
                    deed=Deed.SET_SPEED,
                    side=side,
                    thing_id=TOTAL_ID,
                    speed_frac=speed,
                    predicted=predictions(seen, after),
                    surprises=self.surprises,
                )
        return None


def _keeps_open(seen: SideView, reach: dict[int, Reach], node: int) -> bool:
    """Whether some path stays fully open, or none was, if a damper is turned."""
    planner = Planner(shown=seen.posterior.now, guards=(), costs={}, reach=reach)
    none: frozenset[int] = frozenset()
    return planner.has_open_path(frozenset((node,)), none) or not planner.has_open_path(none, none)
