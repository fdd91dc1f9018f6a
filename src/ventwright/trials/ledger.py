"""Effort of a visit: stops, placements, readings, trips, moves and minutes, entry by entry."""

from __future__ import annotations

from dataclasses import dataclass, field
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
    """How long things take, in minutes. Judgement, no source.

    Parameters
    ----------
    place_hood
        Setting up ladder and hood, or a traverse probe.
    reading
        Letting the display settle and noting one value.
    turn
        Turning a damper to a mark and locking it.
    turn_live
        Turning until the display shows a value, and locking.
    set_speed
        Changing a fan speed.
    enter_space
        Getting into or out of a crawl space or loft.
    change_storey
        Stairs.
    walk_m_per_min, crawl_m_per_min
        Speed in rooms, and in a crawl space or loft.
    crawl_m
        Distance from one damper to the next in a crawl space or loft.
    """

    place_hood: float = 0.6
    reading: float = 0.3
    turn: float = 0.6
    turn_live: float = 1.0
    set_speed: float = 1.0
    enter_space: float = 3.0
    change_storey: float = 0.7
    walk_m_per_min: float = 40.0
    crawl_m_per_min: float = 8.0
    crawl_m: float = 4.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Entry:
    """One deed: what, at which thing, where, the value shown or set, and how many readings."""

    deed: Deed
    thing: str
    place: str
    value: float
    count: int
    minutes: float


@dataclass(slots=True)
class Ledger:
    """Counts effort as it is spent.

    A *stop* is counted each time a person comes to a terminal or a damper, or to the unit to read a
    total, and each further time the hood is placed there. Changing a fan speed is a trip perhaps,
    never a stop. A *trip* is going from one area (storey, crawl space, loft) to another; the way in
    from the door is none.
    """

    pace: Pace = field(default_factory=Pace)
    stops: int = 0
    placements: int = 0
    readings: int = 0
    trips: int = 0
    moves: int = 0
    speed_changes: int = 0
    minutes: float = 0.0
    entries: list[Entry] = field(default_factory=list)
    _at: Place | None = None
    _thing: str = ""
    _is_hood_on: bool = False
    _was_hood_placed: bool = False

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
            self.minutes += self._way(self._at, place)
            self.trips += self._at.area != place.area
        self.stops += is_stop
        self._at, self._thing = place, thing
        self._is_hood_on = self._was_hood_placed = False

    def _way(self, start: Place, end: Place) -> float:
        pace = self.pace
        is_cramped = {place.area: not place.area.startswith("storey") for place in (start, end)}
        if start.area == end.area:
            if is_cramped[start.area]:
                return pace.crawl_m / pace.crawl_m_per_min
            walk = abs(start.x_m - end.x_m) + abs(start.y_m - end.y_m)
            return walk / pace.walk_m_per_min
        minutes = 0.0
        for place in (start, end):
            if is_cramped[place.area]:
                minutes += pace.enter_space
            else:
                minutes += (place.x_m + place.y_m) / pace.walk_m_per_min
        return minutes + (0.0 if any(is_cramped.values()) else pace.change_storey)

    def place_hood(self) -> None:
        """Put the meter on; the first time after coming to a thing belongs to that stop."""
        if self._is_hood_on:
            return
        self.stops += self._was_hood_placed
        self.placements += 1
        self.minutes += self.pace.place_hood
        self._is_hood_on = self._was_hood_placed = True

    def remove_hood(self) -> None:
        """Take the meter off, as a blind turn needs."""
        self._is_hood_on = False

    def allowed(self, wanted: int, readings_a_stop: float, *, least: int = 1) -> int:
        """Readings granted at this stop: as many as wanted while the visit's average allows.

        Parameters
        ----------
        wanted
            Readings asked for.
        readings_a_stop
            Allowance, averaged over the visit so far.
        least
            What is granted in any case.
        """
        left = int(readings_a_stop * self.stops + 1e-9) - self.readings
        return max(least, min(wanted, left))

    def note(self, deed: Deed, thing: str, value: float, *, count: int = 0) -> None:
        """Write an entry and add its time and counts.

        Parameters
        ----------
        deed
            What was done.
        thing
            To which thing.
        value
            What was shown or set.
        count
            Readings taken.
        """
        self.readings += count
        self.minutes += count * self.pace.reading
        if deed in (Deed.TURN, Deed.TURN_LIVE):
            self.moves += 1
            self.minutes += self.pace.turn if deed is Deed.TURN else self.pace.turn_live
        elif deed is Deed.SET_SPEED:
            self.speed_changes += 1
            self.minutes += self.pace.set_speed
        place = self._at.name if self._at is not None else ""
        self.entries.append(
            Entry(
                deed=deed, thing=thing, place=place, value=value, count=count, minutes=self.minutes
            )
        )
