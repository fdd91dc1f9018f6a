"""What a technician has: a list of terminals, a meter, two hands and two fan controls.

A procedure to be tried is any object with a `name` and a method ``balance(site)``::

    class Mine:
        name = "mine"

        def balance(self, site: Site) -> Outcome:
            for terminal in site.terminals:
                site.read(terminal.id)
            ...
            return Outcome(is_closed=True)

Everything done through `Site` is entered in its ledger. Nothing here gives away the truth.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Protocol

from ventwright.quantities.words import Side
from ventwright.trials.cards import BranchCard, Outcome, SiteReading, TerminalCard, Turn
from ventwright.trials.exact import BAND_FRAC, BAND_M3_S, damper_of
from ventwright.trials.ledger import Deed, Ledger, Style
from ventwright.trials.truth import SIDES
from ventwright.trials.world import Claim, World


class Procedure(Protocol):
    """Anything that can balance a site."""

    @property
    def name(self) -> str:
        """Name in tables."""

    def balance(self, site: Site) -> Outcome:
        """Do the visit, as-found to as-left readings."""


class Site:
    """The technician's side of a `World`.

    Known beforehand: `style`, `meter` (how good it is, not the bias it has today), `layout` (trunk
    or a box with a run to each room: anyone sees it), `unit_place`, `terminals` and `branches`; all
    else is found out by reading and turning.

    Parameters
    ----------
    world
        The house on the day; kept out of sight.
    """

    def __init__(self, world: World) -> None:
        self._world = world
        house = world.house
        is_remote = world.style is Style.REMOTE
        self.style = world.style
        self.meter = world.kit.model
        self.layout = house.layout
        self.unit_place = house.unit_place
        self.terminals = tuple(
            TerminalCard(
                id=item.id,
                side=item.side,
                branch_id=house.branches[item.branch].id,
                target_m3_s=item.target_m3_s,
                place=item.place,
                damper_place=item.damper_place if is_remote else item.place,
                has_ring=item.ring is not None,
                opening_frac=house.as_found.terminal_frac[i],
                table=item.table,
                is_table_known=item.is_table_known,
            )
            for i, item in enumerate(house.terminals)
        )
        self.branches = tuple(
            BranchCard(
                id=item.id,
                side=item.side,
                terminal_ids=tuple(t.id for t in house.terminals if t.branch == b),
                place=item.place,
                has_damper=item.flap is not None,
                opening_frac=house.as_found.branch_frac[b],
                table=item.table,
            )
            for b, item in enumerate(house.branches)
        )
        self._terminal_at = {item.id: i for i, item in enumerate(self.terminals)}
        self._branch_at = {item.id: b for b, item in enumerate(self.branches)}
        self._numbers = 0

    @property
    def ledger(self) -> Ledger:
        """Effort so far."""
        return self._world.ledger

    @property
    def speed_frac(self) -> dict[Side, float]:
        """Fan speeds as their controls show them."""
        return dict(zip(SIDES, self._world.setting.speed_frac, strict=True))

    def band_m3_s(self, terminal_id: str, *, scale_ratio: float = 1.0) -> float:
        """Half width of the band about a terminal's scaled target [m³/s].

        Parameters
        ----------
        terminal_id
            Which terminal.
        scale_ratio
            Side's flow as a share of its design total.
        """
        target = self.terminals[self._terminal_at[terminal_id]].target_m3_s
        return max(BAND_FRAC * scale_ratio * target, BAND_M3_S)

    def read(self, terminal_id: str, *, count: int = 1) -> SiteReading:
        """Go to a terminal, put the meter on, note a value.

        Parameters
        ----------
        terminal_id
            Which terminal.
        count
            Displayed values to average; fewer are granted once the visit's average exceeds the
            allowance, see `SiteReading.count`.
        """
        i = self._terminal_at[terminal_id]
        self.ledger.stand_at(terminal_id, self.terminals[i].place)
        self.ledger.place_hood()
        granted = self._granted(count)
        shown = self._world.show(terminal_index=i, count=granted, reading_number=self._numbers + 1)
        self.ledger.note(Deed.READ, terminal_id, value_si=shown, reading_count=granted)
        return self._reading(terminal_id, shown, granted)

    def read_total(self, side: Side, *, count: int = 1) -> SiteReading:
        """Go to the unit and traverse the main duct of one side; leaks downstream are in it.

        Parameters
        ----------
        side
            Which side.
        count
            Traverses to average.
        """
        name = f"total {side}"
        self.ledger.stand_at(name, self.unit_place)
        self.ledger.place_hood()
        granted = self._granted(count)
        gain = self._world.kit.gain(side, is_total=True, elapsed_s=self.ledger.elapsed_s)
        shown = self._world.kit.shown_m3_s(gain * self._world.fan_flow(side), granted)
        self.ledger.note(Deed.READ_TOTAL, name, value_si=shown, reading_count=granted)
        return self._reading(name, shown, granted)

    def turn_terminal(
        self,
        terminal_id: str,
        *,
        to_opening_frac: float | None = None,
        to_reading_m3_s: float | None = None,
        count: int = 1,
    ) -> Turn:
        """Turn a terminal's ring to a mark, or, live, until the meter on it shows a value.

        Parameters
        ----------
        terminal_id
            Which terminal.
        to_opening_frac
            Mark to turn to, 0 shut to 1 open; beyond a stop it ends there.
        to_reading_m3_s
            Value to stop at; only when the style is live.
        count
            Displayed values the eye averages while turning to a reading; once the visit's average
            exceeds the allowance the hand still stops by the display, but no value is noted.

        Raises
        ------
        ValueError
            If not exactly one aim is given, or a reading is aimed at when the style is not live.
        """
        i = self._terminal_at[terminal_id]
        card = self.terminals[i]
        self._check(to_opening_frac, to_reading_m3_s)
        spot = f"damper of {terminal_id}" if self.style is Style.REMOTE else terminal_id
        self.ledger.stand_at(spot, card.damper_place)
        if to_reading_m3_s is not None:
            self.ledger.place_hood()
            return self._live(i, i, terminal_id, to_reading_m3_s, count)
        if self.style is not Style.LIVE:
            self.ledger.remove_hood()
        return self._to_mark(i, terminal_id, to_opening_frac)

    def turn_branch(
        self,
        branch_id: str,
        *,
        to_opening_frac: float | None = None,
        to_reading_m3_s: float | None = None,
        watch: str | None = None,
        count: int = 1,
    ) -> Turn:
        """Turn a branch damper to a mark, or, live, watching a meter left on a terminal.

        Leaving the meter is a stop at that terminal unless one stands there already; the damper is
        the next stop.

        Parameters
        ----------
        branch_id
            Which branch.
        to_opening_frac
            Mark to turn to.
        to_reading_m3_s
            Value to stop at on the watched meter; only when the style is live.
        watch
            Terminal on which the meter is left.
        count
            Displayed values the eye averages.

        Raises
        ------
        ValueError
            If not exactly one aim is given, a reading without a terminal to watch, or a reading
            when the style is not live.
        """
        b = self._branch_at[branch_id]
        element = self._world.house.damper_at(b)
        self._check(to_opening_frac, to_reading_m3_s)
        if to_reading_m3_s is None:
            self.ledger.stand_at(branch_id, self.branches[b].place)
            return self._to_mark(element, branch_id, to_opening_frac)
        if watch is None:
            raise ValueError("name the terminal on which the meter is left (watch)")
        i = self._terminal_at[watch]
        self.ledger.stand_at(watch, self.terminals[i].place)
        self.ledger.place_hood()
        self.ledger.stand_at(branch_id, self.branches[b].place)
        return self._live(element, i, branch_id, to_reading_m3_s, count)

    def set_fan_speed(self, side: Side, speed_frac: float) -> float:
        """Go to the unit and set a fan's speed; returns what it took, 0.2 to 1 of full speed.

        Parameters
        ----------
        side
            Which fan.
        speed_frac
            Speed wanted.
        """
        self.ledger.stand_at("fan controls", self.unit_place, is_stop=False)
        speeds = list(self._world.setting.speed_frac)
        speeds[SIDES.index(side)] = min(max(speed_frac, 0.2), 1.0)
        self._world.setting = replace(self._world.setting, speed_frac=(speeds[0], speeds[1]))
        self.ledger.note(Deed.SET_SPEED, f"{side} fan", value_si=speeds[SIDES.index(side)])
        return speeds[SIDES.index(side)]

    def claim(
        self, terminal_id: str, *, low_m3_s: float, high_m3_s: float, is_as_metered: bool = True
    ) -> None:
        """State an interval for a terminal's flow as it is now; the scorer checks how many hold.

        Parameters
        ----------
        terminal_id
            Which terminal.
        low_m3_s, high_m3_s
            The interval.
        is_as_metered
            Whether it speaks of the mean of very many readings of this visit's meter, bias
            included, or of the flow itself.
        """
        i = self._terminal_at[terminal_id]
        truth = float(self._world.true_flows()[i])
        if is_as_metered:
            truth *= self._world.kit.gain(self.terminals[i].side, elapsed_s=self.ledger.elapsed_s)
        self._world.claims.append(
            Claim(terminal_index=i, low_m3_s=low_m3_s, high_m3_s=high_m3_s, truth_m3_s=truth)
        )

    def _check(self, opening: float | None, reading: float | None) -> None:
        if (opening is None) == (reading is None):
            raise ValueError("give to_opening_frac or to_reading_m3_s, one of the two")
        if reading is not None and self.style is not Style.LIVE:
            raise ValueError(f"{self.style}: no meter is in place while the hand turns")

    def _granted(self, count: int, *, least: int = 1) -> int:
        model = self._world.kit.model
        return self.ledger.allowed(
            wanted_count=count, allowance_ratio=model.allowance_ratio, least_count=least
        )

    def _reading(self, thing: str, shown: float, count: int) -> SiteReading:
        self._numbers += 1
        return SiteReading(
            number=self._numbers,
            thing=thing,
            flow_m3_s=shown,
            count=count,
            elapsed_s=self.ledger.elapsed_s,
        )

    def _live(self, element: int, terminal: int, thing: str, wanted: float, count: int) -> Turn:
        granted = self._granted(count, least=0)
        shown = self._world.turn_live(
            element_index=element,
            terminal_index=terminal,
            wanted_m3_s=wanted,
            count=max(granted, 1),
        )
        self.ledger.note(Deed.TURN_LIVE, thing, value_si=shown, reading_count=granted)
        name = self.terminals[terminal].id
        reading = self._reading(name, shown, granted) if granted else None
        return self._turned(element, reading)

    def _to_mark(self, element: int, thing: str, opening: float | None) -> Turn:
        if opening is None:
            raise ValueError("no opening to turn to")
        self._world.turn_to(element, hand_frac=opening)
        self.ledger.note(Deed.TURN, thing, value_si=opening)
        return self._turned(element, None)

    def _turned(self, element: int, reading: SiteReading | None) -> Turn:
        damper = damper_of(self._world.house, element)
        hand = self._world.hand_frac(element)
        if damper is None or damper.is_stuck:
            return Turn(opening_frac=hand, is_stuck=True, stop="", reading=reading)
        is_open, is_shut = hand >= damper.high_stop_frac, hand <= damper.low_stop_frac
        return Turn(
            opening_frac=hand,
            is_stuck=False,
            stop="open" if is_open else "shut" if is_shut else "",
            reading=reading,
        )
