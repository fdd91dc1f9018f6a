"""What every way of setting dampers shares: readings, a turn put into words, fans, the end."""

from __future__ import annotations

from dataclasses import replace
from math import exp, log

from ventwright.balancing.advice import Deed, Finished, Method, NextStep
from ventwright.balancing.damper_law import opening_for
from ventwright.balancing.outlook import (
    goal_ratio,
    leads_of,
    main_for,
    predictions,
    speed_for,
    total_of,
    with_changes,
)
from ventwright.balancing.reach import factor_wanted, reach_of
from ventwright.balancing.settings import Target
from ventwright.balancing.side_shape import TOTAL_ID
from ventwright.balancing.site_data import FlowReading, Session, SettingStyle, SpeedMove
from ventwright.balancing.surprise import Surprise, believed
from ventwright.balancing.tour import READINGS_KEPT, tour_of
from ventwright.balancing.view import SideView
from ventwright.quantities.words import Side
from ventwright.uncertainty import Verdict

STOP_TOLERANCE_RATIO = 1.0 / 3.0
"""A stop is near enough within this part of the terminal's band."""
MAIN_TOLERANCE_FRAC = 0.01
"""A main damper's stop is near enough within this part of the flow."""
MOST_TURNS = 5
"""A damper turned this often is left alone: it does not do what its mark or reading says."""
SMALLEST_SPEED_CHANGE_FRAC = 0.01
KNOWN_COVERAGE_FACTOR = 1.5
"""Standard uncertainties of a total within which a fan is left alone."""


class Chooser:
    """The session worked out, and the steps any way of setting dampers needs.

    Parameters
    ----------
    session
        All that was done.
    method
        Figures of the method.
    """

    def __init__(self, session: Session, method: Method) -> None:
        self.session = session
        self.method = method
        self.tour = tour_of(session)
        self.views: dict[Side, SideView] = {}
        self.surprises: tuple[Surprise, ...] = ()
        for setup in session.sides:
            seen, surprises = believed(session, setup.side)
            self.views[setup.side] = seen
            self.surprises += surprises
        self.suspects = {item.reading_id for item in self.surprises}

    # Reading

    def read(self, deed: Deed, side: Side, thing_id: str, wanted_count: int) -> NextStep:
        """A reading of a terminal."""
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

    def again(self) -> NextStep | None:
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
        return self.read(Deed.READ_AGAIN, last.side, last.thing_id, self.method.left_count)

    def as_found(self) -> NextStep | None:
        """The nearest terminal not read yet."""
        unread = [(side, name) for side, seen in self.views.items() for name in seen.unread]
        nearest = self.tour.nearest(unread)
        if nearest is None:
            return None
        return self.read(Deed.READ_AS_FOUND, *nearest, self.method.found_count)

    def next_left(self) -> tuple[Side, str] | None:
        """The nearest terminal without a reading that stands as left."""
        left = [(side, name) for side, seen in self.views.items() for name in seen.not_left]
        return self.tour.nearest(left)

    def as_left(self) -> NextStep | None:
        """An as-left reading there."""
        nearest = self.next_left()
        if nearest is None:
            return None
        return self.read(Deed.READ_AS_LEFT, *nearest, self.method.left_count)

    def unsure(self, confidence_frac: float) -> NextStep | None:
        """Another reading where the verdict is not sure and few were taken since the turn."""
        found = [
            (side, name)
            for side, seen in self.views.items()
            for place, name in enumerate(seen.outlet_ids)
            if seen.prob_read_within(place) < confidence_frac
            and seen.readings_since_turn(name) <= self.method.more_left_count
        ]
        nearest = self.tour.nearest(found)
        if nearest is None:
            return None
        return self.read(Deed.READ_AS_LEFT, *nearest, self.method.left_count)

    # Turning

    def turn(
        self, seen: SideView, target: Target, node: int, *, watch: int | None = None
    ) -> NextStep:
        """A damper to where the target wants it; `watch` is the terminal the meter stays on."""
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
        if self.session.options.style is not SettingStyle.LIVE and opening is not None:
            return step
        leaf = node if watch is None else watch
        stop = exp(after.state.ln_flow[leaf])
        all_done = with_changes(shown, target.moves)
        settles = exp(all_done.state.ln_flow[leaf])
        place = leaf - model.first_leaf
        slack = MAIN_TOLERANCE_FRAC * stop
        if node != model.total_damper:
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

    # Fans and the end

    def fan(self, limit_ratio: float) -> NextStep | None:
        """A fan or main damper to be set so that both sides move their targets, or what both can.

        Where one stands at the unit already, what is worth a trip no longer counts. What the total
        is not known to is left.
        """
        events = self.session.events
        if events and isinstance(events[-1], SpeedMove):
            limit_ratio = min(limit_ratio, self.method.late_speed_ratio)
        goal = goal_ratio(tuple(self.views.values()))
        for seen in self.views.values():
            least = max(limit_ratio, KNOWN_COVERAGE_FACTOR * seen.total_spread)
            is_off = abs(seen.total_ratio / goal - 1.0) > least
            settable = seen.model.setup.is_speed_settable
            if settable:
                step = self._speed(seen, goal) if is_off else None
            else:
                may_open = _may_open(seen, goal, least)
                step = self._main(seen, goal, is_off=is_off, may_open=may_open)
            if step is not None:
                return step
        return None

    def _speed(self, seen: SideView, goal: float) -> NextStep | None:
        speed = speed_for(seen, flow_ratio=goal)
        if abs(speed / seen.speed_frac - 1.0) <= SMALLEST_SPEED_CHANGE_FRAC:
            return None
        ln_speed = log(speed / seen.model.setup.speed_frac)
        after = with_changes(seen.posterior.now, {}, ln_speed=ln_speed)
        return NextStep(
            deed=Deed.SET_SPEED,
            side=seen.side,
            thing_id=TOTAL_ID,
            speed_frac=speed,
            predicted=predictions(seen, after),
            surprises=self.surprises,
        )

    def _main(
        self, seen: SideView, goal: float, *, is_off: bool, may_open: bool
    ) -> NextStep | None:
        """The main damper; what it did is read before anything else is made of it."""
        node = seen.model.total_damper
        if node is None:
            return None
        watch = self._main_watch(seen)
        if seen.is_unread_since_turn(node):
            name = seen.model.names[watch]
            return self.read(Deed.READ_AS_LEFT, seen.side, name, self.method.left_count)
        target = main_for(seen, flow_ratio=goal)
        if target is None or seen.turns_of(seen.model.names[node]) >= MOST_TURNS:
            return None
        if may_open:
            opened = replace(target, moves={node: seen.posterior.now.ln_resistance[node]})
            return self.turn(seen, replace(opened, opened=frozenset((node,))), node, watch=watch)
        is_at_end = bool(target.opened) and _stands_open(seen, node)
        return self.turn(seen, target, node, watch=watch) if is_off and not is_at_end else None

    def _main_watch(self, seen: SideView) -> int:
        """Where the meter is: on the side's total where that was ever read, else on a terminal.

        That is the terminal one stands at, or the one that moves most, which shows a share of the
        total most finely.
        """
        model = seen.model
        if any(item.node == 0 for item in model.observations):
            return 0
        for leaf in model.tree.leaves:
            if model.names[leaf] == self.tour.here:
                return leaf
        return max(model.tree.leaves, key=lambda leaf: seen.posterior.now.state.ln_flow[leaf])

    def finished(self) -> Finished:
        """Nothing more is worth a stop."""
        seen = self.views.values()
        outlets = tuple(p for item in seen for p in predictions(item, item.posterior.now))
        return Finished(
            is_met=all(p.verdict is Verdict.MET for p in outlets),
            outlets=outlets,
            totals=tuple(total_of(item) for item in seen),
            leads=tuple(lead for item in seen for lead in leads_of(item)),
            surprises=self.surprises,
        )


def _stands_open(seen: SideView, node: int) -> bool:
    reach = reach_of(seen.posterior.now, node)
    return reach is None or reach.is_open_now


def _may_open(seen: SideView, goal: float, least: float) -> bool:
    """Whether a main damper nobody knows the mark of is to be opened to see what it gives.

    So where its side is the one short of air.
    """
    model, node = seen.model, seen.model.total_damper
    is_short = seen.total_ratio <= goal * (1.0 + 1e-9) and 1.0 - goal > least
    return is_short and node is not None and node not in model.opening and node not in model.at_stop
