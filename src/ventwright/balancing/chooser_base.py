"""What every way of setting dampers shares: readings, a turn put into words, fans, the end."""

from __future__ import annotations

from dataclasses import replace
from math import exp, log

from ventwright.balancing.advice import Deed, Finished, Method, NextStep
from ventwright.balancing.damper_law import opening_for
from ventwright.balancing.outlook import (
    goal_ratio,
    leads_of,
    predictions,
    speed_for,
    total_of,
    with_changes,
)
from ventwright.balancing.reach import factor_wanted
from ventwright.balancing.settings import Target
from ventwright.balancing.side_model import TOTAL_ID
from ventwright.balancing.site_data import FlowReading, Session, SettingStyle, SpeedMove
from ventwright.balancing.surprise import Surprise, believed
from ventwright.balancing.tour import READINGS_KEPT, tour_of
from ventwright.balancing.view import SideView
from ventwright.quantities.words import Side
from ventwright.uncertainty import Verdict

STOP_TOLERANCE_RATIO = 1.0 / 3.0
"""A stop is near enough within this part of the terminal's band."""
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
        """A fan to be set so that both sides move their targets, or what both can reach.

        Where one stands at the unit already, what is worth a trip no longer counts. What the total
        is not known to is left.
        """
        events = self.session.events
        if events and isinstance(events[-1], SpeedMove):
            limit_ratio = min(limit_ratio, self.method.late_speed_ratio)
        goal = goal_ratio(tuple(self.views.values()))
        for side, seen in self.views.items():
            speed = speed_for(seen, flow_ratio=goal)
            least = max(limit_ratio, KNOWN_COVERAGE_FACTOR * seen.total_spread)
            is_off = abs(seen.total_ratio / goal - 1.0) > least
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
