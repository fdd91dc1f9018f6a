"""What the reference procedures share: tours, the last readings, the band, setting one terminal."""

from __future__ import annotations

from collections.abc import Collection, Iterable

import numpy as np

from ventwright.quantities.words import Side
from ventwright.trials.cards import Outcome, TerminalCard, Turn
from ventwright.trials.dampers import Table
from ventwright.trials.ledger import Style
from ventwright.trials.site import Site
from ventwright.trials.truth import SIDES, Place

READINGS = 2
"""Displayed values asked for at every stop; the allowance grants 1.8 on average."""

FLOW_POWER = 1.3
"""Power of the flow ratio by which a flow factor is changed: a damper takes about three quarters of
the drop from the last common node."""

_PLACEMENTS_MAX = 3
_TOTAL_FRAC = 0.03
_FULL_SPEED_FRAC = 0.999


def factor_at(table: Table, opening_frac: float) -> float:
    """Flow factor relative to full opening at an opening, straight between a table's pairs.

    Parameters
    ----------
    table
        Pairs (opening, relative flow factor), rising.
    opening_frac
        Opening; beyond the table its last pair holds.

    >>> factor_at(((0.0, 0.1), (1.0, 1.0)), 0.5)
    0.55
    """
    openings, factors = zip(*table, strict=True)
    return float(np.interp(opening_frac, openings, factors))


def opening_at_factor(table: Table, factor: float) -> float:
    """Opening at which a table shows a relative flow factor; the inverse of `factor_at`.

    Parameters
    ----------
    table
        Pairs (opening, relative flow factor), rising.
    factor
        Relative flow factor; beyond the table its last pair holds.

    >>> opening_at_factor(((0.0, 0.1), (1.0, 1.0)), 0.55)
    0.5
    """
    openings, factors = zip(*table, strict=True)
    return float(np.interp(factor, factors, openings))


class Visit:
    """A reference procedure's notebook.

    Parameters
    ----------
    site
        Where the work is done.
    accept_frac
        Share of the band within which a reading is accepted.
    """

    def __init__(self, site: Site, *, accept_frac: float = 1.0) -> None:
        self.site = site
        self.accept_frac = accept_frac
        self.cards: dict[str, TerminalCard] = {card.id: card for card in site.terminals}
        self.last: dict[str, float] = {}
        self.opening = {card.id: card.opening_frac for card in site.terminals}
        self.opening |= {card.id: card.opening_frac for card in site.branches}
        self.stuck = {card.id for card in site.terminals if not card.has_ring}
        self.stuck |= {card.id for card in site.branches if not card.has_damper}
        self.is_at_open_stop: set[str] = set()
        self._here: Place | None = None

    def of_side(self, side: Side) -> list[str]:
        """Terminals of one side in the order of the list."""
        return [card.id for card in self.site.terminals if card.side is side]

    def tour(self, places: dict[str, Place]) -> list[str]:
        """Order in which to visit things: one area at a time, each time the nearest next.

        Parameters
        ----------
        places
            Where each thing is.
        """
        left, order, here = dict(places), [], self._here
        while left:
            origin = here or next(iter(left.values()))

            def distance(name: str, origin: Place = origin) -> tuple[bool, float]:
                place = left[name]
                away = abs(place.x_m - origin.x_m) + abs(place.y_m - origin.y_m)
                return place.area != origin.area, away

            name = min(left, key=distance)
            order.append(name)
            here = left.pop(name)
        return order

    def read_all(self, names: Iterable[str]) -> None:
        """Read terminals on one tour."""
        for name in self.tour({name: self.cards[name].place for name in names}):
            self.read(name)

    def read_sides(self, sides: Collection[Side]) -> None:
        """Read all terminals of some sides on one tour."""
        self.read_all([name for side in SIDES if side in sides for name in self.of_side(side)])

    def read(self, name: str) -> float:
        """Read a terminal and keep the value [m³/s]."""
        self.last[name] = self.site.read(name, count=READINGS).flow_m3_s
        self._here = self.cards[name].place
        return self.last[name]

    def scale(self, side: Side) -> float:
        """Side's flow by the last readings as a share of its design total."""
        mine = self.of_side(side)
        return sum(self.last[n] for n in mine) / sum(self.cards[n].target_m3_s for n in mine)

    def is_in_band(self, name: str, scale: float) -> bool:
        """Whether a terminal's last reading lies within its band about the scaled target.

        Parameters
        ----------
        name
            Terminal.
        scale
            Side's flow as a share of its design total.
        """
        wanted = scale * self.cards[name].target_m3_s
        band = self.site.band_m3_s(name, scale_ratio=scale)
        return abs(self.last[name] - wanted) <= self.accept_frac * band

    def out_of_band(self, side: Side) -> list[str]:
        """Terminals of a side whose last reading lies outside the band."""
        scale = self.scale(side)
        return [name for name in self.of_side(side) if not self.is_in_band(name, scale)]

    def can_open(self, name: str) -> bool:
        """Whether a ring may have some way left to its open stop, as far as is known."""
        is_at_stop = name in self.is_at_open_stop or self.opening[name] >= 0.99
        return not is_at_stop and name not in self.stuck

    def rate(self, name: str) -> float:
        """Last reading over target."""
        return self.last[name] / self.cards[name].target_m3_s

    def turn_to_mark(self, name: str, opening_frac: float) -> None:
        """Turn a ring to a mark and note where it ended.

        Parameters
        ----------
        name
            Terminal.
        opening_frac
            Mark.
        """
        self.note(name, self.site.turn_terminal(name, to_opening_frac=opening_frac))
        self._here = self.cards[name].damper_place

    def turn_branch_to_mark(self, name: str, opening_frac: float) -> None:
        """Turn a branch damper to a mark and note where it ended.

        Parameters
        ----------
        name
            Branch.
        opening_frac
            Mark.
        """
        self.note(name, self.site.turn_branch(name, to_opening_frac=opening_frac))

    def note(self, name: str, turn: Turn) -> None:
        """Note where a turn ended, and the value if the meter was in place.

        Parameters
        ----------
        name
            Terminal or branch.
        turn
            What the turn came to.
        """
        self.opening[name] = turn.opening_frac
        if turn.reading is not None:
            self.last[turn.reading.thing] = turn.reading.flow_m3_s
        if turn.is_stuck:
            self.stuck.add(name)
        if turn.stop == "open":
            self.is_at_open_stop.add(name)
        else:
            self.is_at_open_stop.discard(name)

    def bring_to(self, name: str, wanted_m3_s: float) -> None:
        """Set a terminal, whose last reading is fresh, to a reading in the site's style.

        Live: until the meter shows it. Otherwise by the table with the flow ratio to a power of
        1.3, covered and read again, at most three times.

        Parameters
        ----------
        name
            Terminal.
        wanted_m3_s
            Reading wanted.
        """
        if self.site.style is Style.LIVE:
            turn = self.site.turn_terminal(name, to_reading_m3_s=wanted_m3_s, count=READINGS)
            self.last[name] = (
                wanted_m3_s if not turn.stop and not turn.is_stuck else self.last[name]
            )
            self.note(name, turn)
            return
        table = self.cards[name].table
        for _ in range(_PLACEMENTS_MAX):
            ratio = (wanted_m3_s / max(self.last[name], 1e-6)) ** FLOW_POWER
            mark = opening_at_factor(table, factor_at(table, self.opening[name]) * ratio)
            if mark >= self.opening[name] and not self.can_open(name):
                return
            self.turn_to_mark(name, mark)
            if self.is_near(name, self.read(name), wanted_m3_s) or name in self.stuck:
                return

    def is_near(self, name: str, value_m3_s: float, wanted_m3_s: float) -> bool:
        """Whether a value is as near as a trim needs to come: half the band.

        Parameters
        ----------
        name
            Terminal.
        value_m3_s, wanted_m3_s
            The two values.
        """
        half = self.site.band_m3_s(name, scale_ratio=wanted_m3_s / self.cards[name].target_m3_s) / 2
        return abs(value_m3_s - wanted_m3_s) <= half

    def set_fans(self) -> list[Side]:
        """Set fans so that the totals by the last readings meet the goal; the sides that changed.

        The goal is the design, or what the weaker side moves if its fan is at full speed. A fan
        whose total is within 3 % is left.
        """
        speeds = self.site.speed_frac
        at_limit = [self.scale(side) for side in SIDES if speeds[side] >= _FULL_SPEED_FRAC]
        goal = min([1.0, *at_limit])
        return [side for side in SIDES if self._set_fan(side, goal)]

    def _set_fan(self, side: Side, goal: float) -> bool:
        found = self.site.speed_frac[side]
        wanted = min(found * goal / self.scale(side), 1.0)
        if abs(self.scale(side) / goal - 1) <= _TOTAL_FRAC or wanted == found:
            return False
        self.site.set_fan_speed(side, wanted)
        self._here = self.site.unit_place
        # What to expect until they are read again.
        self.last |= {name: self.last[name] * wanted / found for name in self.of_side(side)}
        return True

    def outcome(self) -> Outcome:
        """Closed if every terminal's last reading lies within its band."""
        return Outcome(is_closed=not any(self.out_of_band(side) for side in SIDES))
