"""A simulated house: two trees of ducts, two fans, one envelope, and its true flows.

The free flows are one per terminal, in the order of `TruthHouse.terminals`, then one per duct leak.
Elements stand in this order: terminal, hood (one per terminal, no loss unless a hood is on), branch
damper, fan, then everything else.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from enum import StrEnum

import numpy as np

from ventwright.quantities.dimension import Dimension
from ventwright.quantities.unit_table import units_of
from ventwright.quantities.words import Side
from ventwright.trials.dampers import Flap, Ring, Table
from ventwright.trials.physics import Elements, FlowField, Vector, solve

CFM_M3_S = next(item.factor for item in units_of(Dimension.FLOW) if item.symbol == "cfm")
"""One cubic foot per minute [m³/s]."""

SIDES = (Side.SUPPLY, Side.EXTRACT)

NO_LOSS = 1e-6
"""Size of an element that is not there [Pa/(m³/s)²]."""


def afresh(seed: np.random.SeedSequence) -> np.random.SeedSequence:
    """The same seed with nothing spawned from it yet; spawning changes a seed in place.

    Parameters
    ----------
    seed
        Any seed.
    """
    return np.random.SeedSequence(entropy=seed.entropy, spawn_key=seed.spawn_key)


Indices = tuple[int, ...]
"""Places in a list: of terminals, elements or readings."""


class Layout(StrEnum):
    """How ducts reach the terminals."""

    TRUNK = "trunk"
    """A main duct with branches along it."""
    MANIFOLD = "manifold"
    """A box from which each terminal has a run of its own."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Place:
    """Somewhere a person can stand.

    Parameters
    ----------
    name
        Room or space.
    area
        Storey, crawl space or loft; going from one area to another is a trip.
    x_m, y_m
        Where it lies in plan, the way up to other areas being at 0, 0.
    """

    name: str
    area: str
    x_m: float
    y_m: float


@dataclass(frozen=True, slots=True, kw_only=True)
class TruthTerminal:
    """A terminal with what lies behind it.

    Parameters
    ----------
    id
        Name, e.g. ``S3``.
    side
        Supply or extract.
    branch
        Index of its branch.
    target_m3_s
        Design flow.
    place
        The room.
    damper_place
        Where its damper is turned when that is not at the terminal.
    ring
        Its damper; none for a fixed grille.
    coeff
        Size of a fixed grille's drop; of no meaning where there is a ring.
    table
        Opening against relative flow factor, as the technician holds it.
    is_table_known
        Whether that table is the terminal's own rather than a general one.
    """

    id: str
    side: Side
    branch: int
    target_m3_s: float
    place: Place
    damper_place: Place
    ring: Ring | None
    coeff: float
    table: Table
    is_table_known: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class TruthBranch:
    """A branch, with or without a damper.

    Parameters
    ----------
    id
        Name, e.g. ``SB2``.
    side
        Supply or extract.
    place
        Where its damper is turned.
    flap
        Its damper, if it has one.
    table
        Opening against relative flow factor, as the technician holds it; empty without a damper.
    """

    id: str
    side: Side
    place: Place
    flap: Flap | None
    table: Table


@dataclass(frozen=True, slots=True, kw_only=True)
class Fan:
    """Fan curve ``speed² · shut_off · (1 − (flow/(speed · free))^power)`` and the power it draws.

    Parameters
    ----------
    shut_off_pa
        Pressure at no flow and full speed.
    free_m3_s
        Flow at no pressure and full speed.
    power
        How late the curve falls: 1 a line, 2.5 flat and then steep.
    efficiency_frac
        Best share of electric power that reaches the air.
    standby_w
        Power at rest.
    """

    shut_off_pa: float
    free_m3_s: float
    power: float
    efficiency_frac: float
    standby_w: float

    def pressure_pa(self, *, flow_m3_s: float, speed_frac: float) -> float:
        """Pressure the fan adds; below zero beyond its free flow.

        Parameters
        ----------
        flow_m3_s
            Flow through the fan, not below zero.
        speed_frac
            Speed as a share of full speed.

        >>> fan = Fan(shut_off_pa=300, free_m3_s=0.1, power=2, efficiency_frac=0.4, standby_w=3)
        >>> round(fan.pressure_pa(flow_m3_s=0.05, speed_frac=1.0), 6)
        225.0
        """
        share = flow_m3_s / (speed_frac * self.free_m3_s)
        return float(speed_frac**2 * self.shut_off_pa * (1 - share**self.power))

    def speed_for(self, *, flow_m3_s: float, pressure_pa: float) -> float:
        """Speed that gives a pressure at a flow, by bisection; may lie above 1.

        Parameters
        ----------
        flow_m3_s
            Flow through the fan.
        pressure_pa
            Pressure wanted.
        """
        low, high = 1e-3, 20.0
        for _ in range(60):
            middle = (low + high) / 2
            if self.pressure_pa(flow_m3_s=flow_m3_s, speed_frac=middle) < pressure_pa:
                low = middle
            else:
                high = middle
        return (low + high) / 2

    def electric_w(self, *, flow_m3_s: float, speed_frac: float) -> float:
        """Electric power drawn; efficiency falls off on both sides of half the free flow.

        Parameters
        ----------
        flow_m3_s
            Flow through the fan.
        speed_frac
            Speed as a share of full speed.
        """
        share = flow_m3_s / (speed_frac * self.free_m3_s)
        efficiency = self.efficiency_frac * max(0.35, 1 - 2.2 * (share - 0.5) ** 2)
        air_w = max(self.pressure_pa(flow_m3_s=flow_m3_s, speed_frac=speed_frac), 0) * flow_m3_s
        return self.standby_w + air_w / efficiency


@dataclass(frozen=True, slots=True, kw_only=True)
class Setting:
    """Where every damper and fan stands.

    Parameters
    ----------
    terminal_frac
        Opening of each terminal's blade; 1 for a fixed grille.
    branch_frac
        Opening of each branch's blade; 1 where there is none.
    speed_frac
        Speed of the supply and of the extract fan.
    """

    terminal_frac: tuple[float, ...]
    branch_frac: tuple[float, ...]
    speed_frac: tuple[float, float]


@dataclass(frozen=True, slots=True, kw_only=True)
class TruthHouse:
    """A house as it really is.

    Parameters
    ----------
    name
        Made from its seed's place in the series.
    layout
        Trunk or manifold.
    terminals, branches
        Both sides, supply first.
    fans
        Supply and extract.
    unit_place
        Where fan speeds are set and totals are read.
    elements
        Resistances with everything fully open, no hood and fans at full speed.
    as_found
        Setting on arrival.
    """

    name: str
    layout: Layout
    terminals: tuple[TruthTerminal, ...]
    branches: tuple[TruthBranch, ...]
    fans: tuple[Fan, Fan]
    unit_place: Place
    elements: Elements
    as_found: Setting

    @property
    def fan_at(self) -> int:
        """Index of the supply fan's element; the extract fan's comes next."""
        return 2 * len(self.terminals) + len(self.branches)

    def damper_at(self, branch_index: int) -> int:
        """Index of a branch damper's element."""
        return 2 * len(self.terminals) + branch_index

    def of_side(self, side: Side) -> Indices:
        """Indices of the terminals of one side."""
        return tuple(i for i, item in enumerate(self.terminals) if item.side is side)

    def elements_at(self, setting: Setting, hoods: Mapping[int, float] | None = None) -> Elements:
        """The resistances at a setting.

        Parameters
        ----------
        setting
            Where dampers and fans stand.
        hoods
            Size of the drop of a hood over a terminal, by terminal index [Pa/(m³/s)²].
        """
        changes: dict[int, float] = {}
        for i, (terminal, opening) in enumerate(
            zip(self.terminals, setting.terminal_frac, strict=True)
        ):
            changes[i] = terminal.coeff if terminal.ring is None else terminal.ring.coeff(opening)
        for b, (branch, opening) in enumerate(zip(self.branches, setting.branch_frac, strict=True)):
            if branch.flap is not None:
                changes[self.damper_at(b)] = branch.flap.coeff(opening)
        for i, size in (hoods or {}).items():
            changes[len(self.terminals) + i] = max(size, NO_LOSS)
        lift = self.elements.lift_pa.copy()
        for s, (fan, speed) in enumerate(zip(self.fans, setting.speed_frac, strict=True)):
            lift[self.fan_at + s] = speed**2 * fan.shut_off_pa
            full = fan.shut_off_pa / fan.free_m3_s**fan.power
            changes[self.fan_at + s] = speed ** (2 - fan.power) * full
        return replace(self.elements.with_coeff(changes), lift_pa=lift)

    def start_m3_s(self) -> Vector:
        """A first guess: targets at the terminals, a little at every leak."""
        start = np.full(self.elements.incidence.shape[1], 1e-4)
        start[: len(self.terminals)] = [item.target_m3_s for item in self.terminals]
        return start

    def flows(
        self,
        setting: Setting,
        *,
        hoods: Mapping[int, float] | None = None,
        start_m3_s: Vector | None = None,
    ) -> FlowField:
        """True flows at a setting.

        Parameters
        ----------
        setting
            Where dampers and fans stand.
        hoods
            Size of the drop of a hood over a terminal, by terminal index.
        start_m3_s
            Where to begin the search; a neighbouring solution saves steps.
        """
        start = self.start_m3_s() if start_m3_s is None else start_m3_s
        return solve(self.elements_at(setting, hoods), start_m3_s=start)
