"""Where one stands, how far things are, and how many readings a stop may still take."""

from __future__ import annotations

from collections.abc import Iterable

from ventwright.balancing.side_shape import TOTAL_ID
from ventwright.balancing.site_data import DamperMove, Session, SettingStyle, SpeedMove, Spot
from ventwright.quantities.records import dataclass
from ventwright.quantities.words import Side

READINGS_KEPT = 2
"""Readings of the allowance a plain reading leaves for a turn that may follow at the same stop."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Tour:
    """A session seen as a walk through the house.

    Parameters
    ----------
    session
        All that was done.
    here
        The thing one stands at; empty at the beginning.
    spot
        Where that is; None at the beginning.
    """

    session: Session
    here: str
    spot: Spot | None

    def distance(self, side: Side, thing_id: str, *, is_damper: bool = False) -> tuple[bool, float]:
        """Whether another area must be entered, and how far it is within one [m]."""
        if self.spot is None:
            return False, 0.0
        spot = spot_of(self.session, side, thing_id, is_damper=is_damper)
        across = abs(spot.x_m - self.spot.x_m) + abs(spot.y_m - self.spot.y_m)
        return spot.area != self.spot.area, across

    def nearest(self, things: Iterable[tuple[Side, str]]) -> tuple[Side, str] | None:
        """The nearest thing to read; None of none."""
        return min(things, key=lambda item: self.distance(*item), default=None)

    def count(self, thing_id: str, wanted_count: int, *, kept_count: int = 0) -> int:
        """Readings to average at a thing: as wanted while the allowance lasts, at least one.

        Parameters
        ----------
        thing_id
            Where.
        wanted_count
            How many would be good.
        kept_count
            How many of the allowance to leave.
        """
        stops, readings = effort(self.session)
        stops += thing_id != self.here
        allowed = int(self.session.options.readings_a_stop_ratio * stops + 1e-9)
        return max(1, min(wanted_count, allowed - readings - kept_count))


def tour_of(session: Session) -> Tour:
    """Where the last event has left one."""
    if not session.events:
        return Tour(session=session, here="", spot=None)
    last = session.events[-1]
    if isinstance(last, SpeedMove):
        return Tour(session=session, here=TOTAL_ID, spot=session.options.unit_spot)
    spot = spot_of(session, last.side, last.thing_id, is_damper=isinstance(last, DamperMove))
    return Tour(session=session, here=last.thing_id, spot=spot)


def spot_of(session: Session, side: Side, thing_id: str, *, is_damper: bool = False) -> Spot:
    """Where a thing is read, or its damper is turned."""
    setup = session.setup(side)
    for item in setup.outlets:
        if item.id == thing_id:
            is_away = is_damper and session.options.style is SettingStyle.REMOTE
            return item.damper.spot if is_away and item.damper is not None else item.spot
    for run in setup.runs:
        if run.id == thing_id and run.damper is not None:
            return run.damper.spot
    return session.options.unit_spot


def effort(session: Session) -> tuple[int, int]:
    """Stops and averaged readings so far, counted from the events."""
    stops = readings = 0
    at: tuple[Side, str] | None = None
    for event in session.events:
        if isinstance(event, SpeedMove):
            at = None
            continue
        thing = (event.side, event.thing_id)
        stops += thing != at
        at = thing
        if not isinstance(event, DamperMove):
            readings += event.count
    return stops, readings
