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

    reading_number: int
    kind: SlipKind
    terminal_index: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Claim:
    """A stated interval beside the truth it speaks of.

    Parameters
    ----------
    terminal_index
        Index of the terminal.
    low_m3_s, high_m3_s
        The interval.
    truth_m3_s
        What it should hold.
    """

    terminal_index: int
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

    def flow_under_hood(self, terminal_index: int) -> float:
        """True flow of a terminal while the meter is on it [m³/s]."""
        loss = self.kit.model.hood_loss_coeff
        if loss == 0:
            return float(self.true_flows()[terminal_index])
        hoods = {terminal_index: loss}
        field = self.house.flows(self.setting, hoods=hoods, start_m3_s=self._free)
        return float(field.free_m3_s[terminal_index])

    def show(self, *, terminal_index: int, count: int, reading_number: int) -> float:
        """What the meter shows at a terminal, with a slip now and then [m³/s].

        Parameters
        ----------
        terminal_index
            Which terminal.
        count
            Readings averaged.
        reading_number
            Number under which a slip is kept.
        """
        side = self.house.terminals[terminal_index].side
        flow = self.flow_under_hood(terminal_index)
        if self._slip_rng.random() < self.kit.model.slip_frac:
            kind, flow = self._slipped(terminal_index, flow)
            slip = Slip(reading_number=reading_number, kind=kind, terminal_index=terminal_index)
            self.slips.append(slip)
        gain = self.kit.gain(side, elapsed_s=self.ledger.elapsed_s)
        return self.kit.shown_m3_s(gain * flow, count)

    def _slipped(self, terminal: int, flow: float) -> tuple[SlipKind, float]:
        """The flow a slipped reading is of; a wrong terminal only where one differs enough."""
        least = SLIP_SIGMAS * self.kit.sigma_m3_s(flow)
        flows = self.true_flows()
        mates = self.house.of_side(self.house.terminals[terminal].side)
        others = [i for i in mates if abs(flows[i] - flow) >= least]
        if others and self._slip_rng.random() < 0.5:
            return SlipKind.WRONG_TERMINAL, float(flows[int(self._slip_rng.choice(others))])
        share = float(self._slip_rng.uniform(0.12, 0.4))
        return SlipKind.SLIPPED_HOOD, max(flow - max(share * flow, least), 0.0)

    def hand_frac(self, element_index: int) -> float:
        """Opening the hand shows at a damper."""
        blade = opening_at(self.house, self.setting, element_index)
        return self._hand_frac.get(element_index, blade)

    def turn_to(self, element_index: int, *, hand_frac: float) -> None:
        """Turn a damper's hand to an opening, with the hand's miss; the blade follows with play.

        Parameters
        ----------
        element_index
            Element of the damper.
        hand_frac
            Opening aimed at; beyond a stop it ends there.
        """
        damper = damper_of(self.house, element_index)
        if damper is None or damper.is_stuck:
            return
        miss = float(self._hand_rng.normal(0, self.hand.setting_frac))
        wanted = self._within(element_index, hand_frac)
        if damper.low_stop_frac < wanted < damper.high_stop_frac:
            missed = damper.opening_for(damper.coeff(wanted) * math.exp(-2 * miss))
            wanted = self._within(element_index, missed)
        blade = wanted
        if damper.low_stop_frac < wanted < damper.high_stop_frac:
            before = opening_at(self.house, self.setting, element_index)
            blade = follow(blade_frac=before, hand_frac=wanted, play_frac=damper.play_frac)
        self._hand_frac[element_index] = wanted
        self._set_blade(element_index, blade)

    def turn_live(
        self, *, element_index: int, terminal_index: int, wanted_m3_s: float, count: int
    ) -> float:
        """Turn until the meter on a terminal shows a value; returns what it shows at the end.

        Parameters
        ----------
        element_index
            Element of the damper.
        terminal_index
            Where the meter is.
        wanted_m3_s
            Value to stop at.
        count
            Readings the eye averages.
        """
        house = self.house
        side = house.terminals[terminal_index].side
        stop_at = wanted_m3_s * (1 + float(self._hand_rng.normal(0, self.hand.setting_frac)))
        gain = self.kit.gain(side, elapsed_s=self.ledger.elapsed_s) * self.kit.noise(count)
        damper = damper_of(house, element_index)
        if damper is not None and not damper.is_stuck:
            flow = max(stop_at, 0.0) / gain
            blade = self._opening_for_flow(element_index, terminal_index, flow)
            lag = damper.play_frac / 2
            if blade < opening_at(house, self.setting, element_index):
                lag = -lag
            is_between = damper.low_stop_frac < blade < damper.high_stop_frac
            self._hand_frac[element_index] = self._within(
                element_index, blade + lag if is_between else blade
            )
            self._set_blade(element_index, blade)
        return self.kit.rounded(gain * self.flow_under_hood(terminal_index))

    def _opening_for_flow(self, element: int, terminal: int, flow_m3_s: float) -> float:
        """Opening of a damper that gives a terminal a flow, at a stop where that can't be."""
        house = self.house
        damper = damper_of(house, element)
        if damper is None:
            raise ValueError(f"no damper at element {element}")
        loss = self.kit.model.hood_loss_coeff
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
        """The same for the terminal's own ring, without a search.

        The flow is held; what its path then lacks is what the ring must take.
        """
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
