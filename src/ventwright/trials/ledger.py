"""Effort of a visit: stops, placements, readings, trips, moves and minutes, entry by entry."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from ventwright.trials.truth import Place


class Style(StrEnum):
    """How a damper is set."""

    LIVE = "live"
    """The meter stays in place while the hand turns."""
    BLIND = "blind"
    """Turn, cover, read: the hood hides the ring and each placement counts."""
    REMOTE = "remote"
    """Turn in the crawl space or loft, walk, read."""


class Deed(StrEnum):
    """What an entry of the ledger records."""

    READ = "read"
    TURN = "turn"
    TURN_LIVE = "turn_live"
    SET_SPEED = "set_speed"
    READ_TOTAL = "read_total"


@dataclass(frozen=True, slots=True, kw_only=True)
class Pace:
    """How long things take. Judgement, no source.

    Parameters
    ----------
    place_hood_s
        Setting up ladder and hood, or a traverse probe.
    reading_s
        Letting the display settle and noting one value.
    turn_s
        Turning a damper to a mark and locking it.
    turn_live_s
        Turning until the display shows a value, and locking.
    set_speed_s
        Changing a fan speed.
    enter_space_s
        Getting into or out of a crawl space or loft.
    change_storey_s
        Stairs.
    walk_m_s, crawl_m_s
        Speed in rooms, and in a crawl space or loft.
    crawl_m
        Distance from one damper to the next in a crawl space or loft.
    """

    place_hood_s: float = 36.0
    reading_s: float = 18.0
    turn_s: float = 36.0
    turn_live_s: float = 60.0
    set_speed_s: float = 60.0
    enter_space_s: float = 180.0
    change_storey_s: float = 42.0
    walk_m_s: float = 0.7
    crawl_m_s: float = 0.14
    crawl_m: float = 4.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Entry:
    """One deed: what, at which thing, where, the value shown or set, and how many readings."""

    deed: Deed
    thing: str
    place: str
    value_si: float
    reading_count: int
    elapsed_s: float


class Ledger:
    """Counts effort as it is spent.

    A *stop* is counted each time a person comes to a terminal or a damper, or to the unit to read a
    total, and each further time the hood is placed there. Changing a fan speed is a trip perhaps,
    never a stop. A *trip* is going from one area (storey, crawl space, loft) to another; the way in
    from the door is none.

    Parameters
    ----------
    pace
        How long things take.
    """

    def __init__(self, pace: Pace | None = None) -> None:
        self.pace = pace or Pace()
        self.stop_count = 0
        self.placement_count = 0
        self.reading_count = 0
        self.trip_count = 0
        self.move_count = 0
        self.speed_change_count = 0
        self.elapsed_s = 0.0
        self.entries: list[Entry] = []
        self._at: Place | None = None
        self._thing = ""
        self._is_hood_on = False
        self._was_hood_placed = False

    def stand_at(self, thing: str, place: Place, *, is_stop: bool = True) -> None:
        """Go to a thing; nothing happens if one stands there already.

        Parameters
        ----------
        thing
            Terminal, damper, or unit.
        place
            Where it is.
        is_stop
            Whether standing there counts.
        """
        if thing == self._thing:
            return
        if self._at is not None:
            self.elapsed_s += self._way(self._at, place)
            self.trip_count += self._at.area != place.area
        self.stop_count += is_stop
        self._at, self._thing = place, thing
        self._is_hood_on = self._was_hood_placed = False

    def _way(self, start: Place, end: Place) -> float:
        """Seconds from one place to another."""
        pace = self.pace
        is_cramped = {place.area: not place.area.startswith("storey") for place in (start, end)}
        if start.area == end.area:
            if is_cramped[start.area]:
                return pace.crawl_m / pace.crawl_m_s
            walk_m = abs(start.x_m - end.x_m) + abs(start.y_m - end.y_m)
            return walk_m / pace.walk_m_s
        way_s = 0.0 if any(is_cramped.values()) else pace.change_storey_s
        for place in (start, end):
            if is_cramped[place.area]:
                way_s += pace.enter_space_s
            else:
                way_s += (place.x_m + place.y_m) / pace.walk_m_s
        return way_s

    def place_hood(self) -> None:
        """Put the meter on; the first time after coming to a thing belongs to that stop."""
        if self._is_hood_on:
            return
        self.stop_count += self._was_hood_placed
        self.placement_count += 1
        self.elapsed_s += self.pace.place_hood_s
        self._is_hood_on = self._was_hood_placed = True

    def remove_hood(self) -> None:
        """Take the meter off, as a blind turn needs."""
        self._is_hood_on = False

    def allowed(self, *, wanted_count: int, allowance_ratio: float, least_count: int = 1) -> int:
        """Readings granted at this stop: as many as wanted while the visit's average allows.

        Parameters
        ----------
        wanted_count
            Readings asked for.
        allowance_ratio
            Readings allowed for each stop, averaged over the visit so far.
        least_count
            What is granted in any case.
        """
        left = int(allowance_ratio * self.stop_count + 1e-9) - self.reading_count
        return max(least_count, min(wanted_count, left))

    def note(self, deed: Deed, thing: str, *, value_si: float, reading_count: int = 0) -> None:
        """Write an entry and add its time and counts.

        Parameters
        ----------
        deed
            What was done.
        thing
            To which thing.
        value_si
            What was shown [m³/s], or the opening or speed set [-].
        reading_count
            Readings taken.
        """
        self.reading_count += reading_count
        self.elapsed_s += reading_count * self.pace.reading_s
        if deed in (Deed.TURN, Deed.TURN_LIVE):
            self.move_count += 1
            self.elapsed_s += self.pace.turn_s if deed is Deed.TURN else self.pace.turn_live_s
        elif deed is Deed.SET_SPEED:
            self.speed_change_count += 1
            self.elapsed_s += self.pace.set_speed_s
        self.entries.append(
            Entry(
                deed=deed,
                thing=thing,
                place=self._at.name if self._at is not None else "",
                value_si=value_si,
                reading_count=reading_count,
                elapsed_s=self.elapsed_s,
            )
        )
