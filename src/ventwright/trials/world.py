"""The truth during a visit: where hands and blades stand, what meters show, who watches.

`World` belongs to the scorer. A procedure gets a `Site`, which has no way to the true flows but
through meters.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from ventwright.quantities.words import Side
from ventwright.trials.dampers import follow
from ventwright.trials.exact import damper_of, opening_at, with_opening
from ventwright.trials.ledger import Ledger, Style
from ventwright.trials.meters import SLIP_SIGMAS, Kit, MeterModel, SlipKind
from ventwright.trials.physics import Vector, solve
from ventwright.trials.truth import SIDES, Setting, TruthHouse, afresh


@dataclass(frozen=True, slots=True, kw_only=True)
class HandModel:
    """How far a hand misses.

    Parameters
    ----------
    setting_frac
        Standard deviation of the value at which the hand stops, relative to what was wanted: of
        the display when live, of the flow factor when turned to a mark.
    """

    setting_frac: float = 0.01


@dataclass(frozen=True, slots=True, kw_only=True)
class Slip:
    """A reading that slipped: the truth behind a suspicion."""

    reading: int
    kind: SlipKind
    terminal: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Claim:
    """A stated interval beside the truth it speaks of.

    Parameters
    ----------
    terminal
        Index of the terminal.
    low_m3_s, high_m3_s
        The interval.
    truth_m3_s
        What it should hold.
    """

    terminal: int
    low_m3_s: float
    high_m3_s: float
    truth_m3_s: float

    @property
    def holds(self) -> bool:
        """Whether the truth lies inside."""
        return self.low_m3_s <= self.truth_m3_s <= self.high_m3_s


class World:
    """A house on the day of a visit.

    Parameters
    ----------
    house
        The house.
    style
        How dampers are set.
    meter
        How good the meters are.
    hand
        How good the hand is.
    seed
        Everything random about the visit.
    """

    def __init__(
        self,
        house: TruthHouse,
        *,
        style: Style,
        meter: MeterModel,
        hand: HandModel,
        seed: np.random.SeedSequence,
    ) -> None:
        kit_seed, hand_seed, slip_seed = afresh(seed).spawn(3)
        self.house = house
        self.style = style
        self.hand = hand
        self.kit = Kit(meter, np.random.default_rng(kit_seed))
        self.ledger = Ledger()
        self.setting = house.as_found
        self.slips: list[Slip] = []
        self.claims: list[Claim] = []
        self._hand_frac: dict[int, float] = {}
        self._hand_rng = np.random.default_rng(hand_seed)
        self._slip_rng = np.random.default_rng(slip_seed)
        self._free = house.flows(house.as_found).free_m3_s
        self._solved: Setting | None = None

    def true_flows(self) -> Vector:
        """True flows of all terminals now, no hood on [m³/s]; for the scorer alone."""
        if self._solved != self.setting:
            self._free = self.house.flows(self.setting, start_m3_s=self._free).free_m3_s
            self._solved = self.setting
        return self._free[: len(self.house.terminals)]

    def fan_flow(self, side: Side) -> float:
        """True flow through a fan now, duct leaks included [m³/s]; for the scorer alone."""
        self.true_flows()
        row = self.house.elements.incidence[self.house.fan_at + SIDES.index(side)]
        return float(row @ self._free)

    def flow_under_hood(self, terminal: int) -> float:
        """True flow of a terminal while the meter is on it [m³/s]."""
        loss = self.kit.model.hood_loss
        if loss == 0:
            return float(self.true_flows()[terminal])
        field = self.house.flows(self.setting, hoods={terminal: loss}, start_m3_s=self._free)
        return float(field.free_m3_s[terminal])

    def show(self, terminal: int, count: int, reading: int) -> float:
        """What the meter shows at a terminal, with a slip now and then [m³/s].

        Parameters
        ----------
        terminal
            Index of the terminal.
        count
            Readings averaged.
        reading
            Number under which a slip is kept.
        """
        side = self.house.terminals[terminal].side
        flow = self.flow_under_hood(terminal)
        if self._slip_rng.random() < self.kit.model.slip_frac:
            flow = self._slipped(terminal, flow, reading)
        gain = self.kit.gain(side, minutes=self.ledger.minutes)
        return self.kit.shown_m3_s(gain * flow, count)

    def _slipped(self, terminal: int, flow: float, reading: int) -> float:
        """The flow a slipped reading is of; a wrong terminal only where one differs enough."""
        house = self.house
        least = SLIP_SIGMAS * self.kit.sigma_m3_s(flow)
        others = [
            i
            for i in house.of_side(house.terminals[terminal].side)
            if abs(self.true_flows()[i] - flow) >= least
        ]
        if others and self._slip_rng.random() < 0.5:
            other = int(self._slip_rng.choice(others))
            kind, wrong = SlipKind.WRONG_TERMINAL, float(self.true_flows()[other])
        else:
            share = float(self._slip_rng.uniform(0.12, 0.4))
            kind, wrong = SlipKind.SLIPPED_HOOD, flow - max(share * flow, least)
        self.slips.append(Slip(reading=reading, kind=kind, terminal=terminal))
        return max(wrong, 0.0)

    def hand_frac(self, element: int) -> float:
        """Opening the hand shows at a damper."""
        return self._hand_frac.get(element, opening_at(self.house, self.setting, element))

    def turn_to(self, element: int, hand_frac: float) -> None:
        """Turn a damper's hand to an opening, with the hand's miss; the blade follows with play.

        Parameters
        ----------
        element
            Damper by element.
        hand_frac
            Opening aimed at.
        """
        damper = damper_of(self.house, element)
        if damper is None or damper.is_stuck:
            return
        aim = damper.coeff(min(max(hand_frac, damper.low_stop_frac), damper.high_stop_frac))
        miss = float(self._hand_rng.normal(0, self.hand.setting_frac))
        is_at_stop = not damper.low_stop_frac < hand_frac < damper.high_stop_frac
        wanted = hand_frac if is_at_stop else damper.opening_for(aim * math.exp(-2 * miss))
        blade = opening_at(self.house, self.setting, element)
        hand = self._within(element, wanted)
        self._hand_frac[element] = hand
        moved = follow(blade_frac=blade, hand_frac=hand, play_frac=damper.play_frac)
        if is_at_stop:
            moved = hand
        self._set_blade(element, moved)

    def turn_live(self, element: int, terminal: int, wanted_m3_s: float, count: int) -> float:
        """Turn until the meter on a terminal shows a value; returns what it shows at the end.

        The flow that makes the display stand where the hand stops is held, and what the path then
        lacks is what the damper must take: no search.

        Parameters
        ----------
        element
            Damper by element.
        terminal
            Where the meter is.
        wanted_m3_s
            Value to stop at.
        count
            Readings the eye averages.
        """
        house = self.house
        side = house.terminals[terminal].side
        stop_at = wanted_m3_s * (1 + float(self._hand_rng.normal(0, self.hand.setting_frac)))
        gain = self.kit.gain(side, minutes=self.ledger.minutes) * self.kit.noise(count)
        damper = damper_of(house, element)
        if damper is not None and not damper.is_stuck:
            blade = self._opening_for_flow(element, terminal, max(stop_at, 0.0) / gain)
            self._set_blade(element, blade)
            before = self.hand_frac(element)
            lag = damper.play_frac / 2
            self._hand_frac[element] = self._within(
                element, blade + (lag if blade > before else -lag)
            )
        return self.kit.rounded(gain * self.flow_under_hood(terminal))

    def _opening_for_flow(self, element: int, terminal: int, flow_m3_s: float) -> float:
        """Opening of a damper that gives a terminal a flow, at a stop where that can't be."""
        house = self.house
        damper = damper_of(house, element)
        if damper is None:
            raise ValueError(f"no damper at element {element}")
        loss = self.kit.model.hood_loss
        hoods = {terminal: loss} if loss else None
        if element == terminal:
            return self._own_opening(terminal, flow_m3_s, hoods)
        low, high = damper.low_stop_frac, damper.high_stop_frac
        start = self._free
        for _ in range(30):
            middle = (low + high) / 2
            trial = with_opening(house, self.setting, element, middle)
            field = house.flows(trial, hoods=hoods, start_m3_s=start)
            start = field.free_m3_s
            if start[terminal] < flow_m3_s:
                low = middle
            else:
                high = middle
        return self._within(element, (low + high) / 2)

    def _own_opening(
        self, terminal: int, flow_m3_s: float, hoods: dict[int, float] | None
    ) -> float:
        house = self.house
        ring = house.terminals[terminal].ring
        if ring is None:
            raise ValueError(f"{house.terminals[terminal].id} has no ring")
        opened = with_opening(house, self.setting, terminal, ring.high_stop_frac)
        elements = house.elements_at(opened, hoods)
        flow = max(flow_m3_s, 1e-7)
        field = solve(elements, start_m3_s=self._free, held_m3_s={terminal: flow})
        if field.residual_pa[terminal] >= 0:
            return ring.high_stop_frac
        law = field.drop_pa[terminal] / elements.coeff[terminal]
        coeff = elements.coeff[terminal] - field.residual_pa[terminal] / law
        return self._within(terminal, ring.opening_for(float(coeff)))

    def _within(self, element: int, opening_frac: float) -> float:
        damper = damper_of(self.house, element)
        if damper is None:
            return 1.0
        return min(max(opening_frac, damper.low_stop_frac), damper.high_stop_frac)

    def _set_blade(self, element: int, opening_frac: float) -> None:
        self.setting = with_opening(
            self.house, self.setting, element, self._within(element, opening_frac)
        )
