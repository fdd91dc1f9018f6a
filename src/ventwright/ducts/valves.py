"""Ring valves: supply and extract terminals whose disc is screwed in or out.

What a valve does is its flow factor against the turns it is open: from the maker's table if there
is one, from readings, or from the plain model of a curtain of air between disc and seat.
"""

from __future__ import annotations

from itertools import pairwise
from math import inf, pi, sqrt

from ventwright.ducts.parts import FlowFactorOpening
from ventwright.ducts.straight import STANDARD_DUCT_AIR, DuctAir
from ventwright.ducts.tables import MonotoneCurve, monotone_curve
from ventwright.ducts.terms import Law, Terms, out_of_range
from ventwright.quantities.problems import Problem, Severity
from ventwright.quantities.records import dataclass

CURTAIN_DISCHARGE_COEFF = 0.65


def curtain_flow_factor(
    *,
    gap_m: float,
    seat_diameter_m: float,
    discharge_coeff: float = CURTAIN_DISCHARGE_COEFF,
    density_kg_m3: float = STANDARD_DUCT_AIR.density_kg_m3,
) -> float:
    """Flow factor of a disc valve from its gap: a curtain of air in series with the neck.

    1/k² = 1/k_gap² + 1/k_neck², each k = discharge · area · √(2/density), the areas
    π·seat·gap and π/4·seat². Real valves differ: take a reading to scale it.

    Parameters
    ----------
    gap_m
        Distance of disc and seat, above 0 [m].
    seat_diameter_m
        Diameter of the seat, above 0 [m].
    discharge_coeff
        Share of the ideal flow, 0.65 by judgement.
    density_kg_m3
        Density of the air [kg/m³].

    Returns
    -------
    float
        Flow factor [m³/s per √Pa].

    Source: curtain_model

    >>> round(curtain_flow_factor(gap_m=0.001, seat_diameter_m=0.07) * 1e3, 2)
    0.18
    """
    root = discharge_coeff * sqrt(2.0 / density_kg_m3)
    gap = root * pi * seat_diameter_m * gap_m
    neck = root * 0.25 * pi * seat_diameter_m * seat_diameter_m
    return gap * neck / sqrt(gap * gap + neck * neck)


@dataclass(frozen=True, slots=True, kw_only=True)
class RingTable:
    """Flow factor of a ring valve against the turns it is open.

    Parameters
    ----------
    opening_turns
        Turns from shut, rising.
    flow_factor
        Flow factor at each [m³/s per √Pa], above 0 and rising.
    """

    opening_turns: tuple[float, ...]
    flow_factor: tuple[float, ...]

    def problems(self) -> tuple[Problem, ...]:
        """Name what can't be used: turns and factors must rise together."""
        turns, factors = self.opening_turns, self.flow_factor
        rising = all(a < b for row in (turns, factors) for a, b in pairwise(row))
        if len(turns) == len(factors) >= 2 and rising and factors[0] > 0.0:
            return ()
        return (
            Problem(
                code="ring-table-not-rising",
                where="flow_factor",
                message="a ring table needs at least two points whose turns and flow factors rise",
                remedy="give the points in the order of opening, factors above 0",
                severity=Severity.MISTAKE,
            ),
        )

    def curve(self) -> MonotoneCurve:
        """Monotone curve of flow factor against turns."""
        return monotone_curve(self.opening_turns, self.flow_factor)

    def flow_factor_at(self, opening_turns: float) -> float:
        """Flow factor [m³/s per √Pa] at some turns; the ends of the table beyond it."""
        first, last = self.opening_turns[0], self.opening_turns[-1]
        return self.curve().value_and_slope(min(max(opening_turns, first), last))[0]

    def turns_for(self, flow_factor: float) -> float:
        """Turns at which the valve has a flow factor; the end of the table beyond it."""
        low, high = self.opening_turns[0], self.opening_turns[-1]
        curve = self.curve()
        for _ in range(60):
            middle = 0.5 * (low + high)
            if curve.value_and_slope(middle)[0] < flow_factor:
                low = middle
            else:
                high = middle
        return 0.5 * (low + high)


def ring_table_from_seat(
    *,
    seat_diameter_m: float,
    pitch_m: float = 0.00125,
    turns_count: int = 12,
    discharge_coeff: float = CURTAIN_DISCHARGE_COEFF,
) -> RingTable:
    """Ring table of a valve without one, by the curtain model.

    Parameters
    ----------
    seat_diameter_m
        Diameter of the seat, above 0 [m].
    pitch_m
        Gap gained by one turn [m]; 1 to 1.5 mm is typical (from memory).
    turns_count
        Turns from shut to fully open.
    discharge_coeff
        See `curtain_flow_factor`.

    Returns
    -------
    RingTable
        From a quarter turn on.

    Source: curtain_model

    >>> table = ring_table_from_seat(seat_diameter_m=0.09)
    >>> round(table.turns_for(1.2e-3), 1)
    4.2
    """
    turns = (0.25, *(float(n) for n in range(1, turns_count + 1)))
    factors = tuple(
        curtain_flow_factor(
            gap_m=turn * pitch_m, seat_diameter_m=seat_diameter_m, discharge_coeff=discharge_coeff
        )
        for turn in turns
    )
    return RingTable(opening_turns=turns, flow_factor=factors)


@dataclass(frozen=True, slots=True, kw_only=True)
class RingValve(Law):
    """A ring valve at a position.

    Parameters
    ----------
    table
        Flow factor against turns.
    opening_turns
        Turns from shut, within the table; a valve screwed shut is `Closed`.
    scale_ratio
        Factor on the table's flow factor, from a reading of this very valve; above 0.
    air
        Density sets the flow factor; the table belongs to standard air.

    >>> table = ring_table_from_seat(seat_diameter_m=0.09)
    >>> round(RingValve(table=table, opening_turns=4.0).drop_and_slope(0.0083)[0], 1)
    51.4
    """

    table: RingTable
    opening_turns: float
    scale_ratio: float = 1.0
    air: DuctAir = STANDARD_DUCT_AIR

    def problems(self) -> tuple[Problem, ...]:
        """Name every field that can't be used."""
        found = self.table.problems() + self.air.problems()
        if found:
            return found
        turns = self.table.opening_turns
        return out_of_range(
            self,
            opening_turns=(self.opening_turns, turns[0], turns[-1]),
            scale_ratio=(self.scale_ratio, -0.0, inf),
        )

    def terms(self) -> Terms:
        """Take the law apart for a solver."""
        thinner = sqrt(STANDARD_DUCT_AIR.density_kg_m3 / self.air.density_kg_m3)
        factor = self.scale_ratio * thinner * self.table.flow_factor_at(self.opening_turns)
        return FlowFactorOpening(flow_factor=factor).terms()
