"""Openings that air passes between rooms: drop, area, gaps under doors, exchange through doorways.

A free opening between two rooms follows the law of a sharp orifice,
``flow = discharge_coeff · area · √(2 drop / density)``.
"""

from __future__ import annotations

import math

from ventwright.quantities import STANDARD_GRAVITY_M_S2
from ventwright.quantities.records import dataclass
from ventwright.uncertainty import (
    Decision,
    Distribution,
    Estimate,
    Influence,
    combine,
    decide,
    exact,
    measured,
    u_from_half_width,
)

DISCHARGE_COEFF = 0.6
"""Of a sharp opening; the flow boxes of the trade are made with 0.606. Source: resnet_ch8_box"""
DISCHARGE_HALF_WIDTH_FRAC = 0.15
"""How far a gap under a door on carpet, or a grille with a screen, may lie from it.

Source: opening_judgement
"""
USUAL_AIR_KG_M3 = 1.2
"""Air of a heated room near sea level, where no density is handed in."""
GAP_ABOVE_DOOR_M = 0.002
"""Width of the crack above a closed door. Source: opening_judgement"""
DOOR_HEIGHT_M = 2.0
DOOR_WIDTH_M = 0.76
"""An inner door of 30 in. Source: opening_judgement"""
ROOM_DIFFERENCE_K = 0.5
"""How much warmer one room is than the next with people in it. Source: opening_judgement"""
_KELVIN = 293.15


def usual_discharge_coeff() -> Estimate:
    """Discharge coefficient of a transfer opening with its doubt, one influence for all doors.

    Source: resnet_ch8_box, opening_judgement

    >>> usual_discharge_coeff().value
    0.6
    """
    return measured(
        DISCHARGE_COEFF,
        u_std=u_from_half_width(
            DISCHARGE_HALF_WIDTH_FRAC * DISCHARGE_COEFF, distribution=Distribution.RECTANGULAR
        ),
        id="enclosure:opening:discharge",
        label="discharge coefficient of transfer openings",
        distribution=Distribution.RECTANGULAR,
    )


def opening_flow_m3_s(
    *,
    area_m2: float,
    drop_pa: float,
    discharge_coeff: float = DISCHARGE_COEFF,
    density_kg_m3: float = USUAL_AIR_KG_M3,
) -> float:
    """Flow through a free opening at a drop of either sign; the flow has its sign [m³/s].

    Parameters
    ----------
    area_m2
        Free area [m²].
    drop_pa
        Drop across it [Pa].
    discharge_coeff
        Discharge coefficient [1].
    density_kg_m3
        Density of the air that passes [kg/m³].

    Source: resnet_ch8_box

    >>> cfm, square_inch = 0.3048**3 / 60, 0.0254**2
    >>> round(opening_flow_m3_s(area_m2=16 * square_inch, drop_pa=5.5, discharge_coeff=0.606) / cfm)
    40
    """
    speed = math.sqrt(2.0 * abs(drop_pa) / density_kg_m3)
    return math.copysign(discharge_coeff * area_m2 * speed, drop_pa)


def opening_area_m2(
    *,
    flow_m3_s: float,
    drop_pa: float,
    discharge_coeff: float = DISCHARGE_COEFF,
    density_kg_m3: float = USUAL_AIR_KG_M3,
) -> float:
    """Free area that passes a flow at a drop [m²].

    Parameters
    ----------
    flow_m3_s
        Flow of either direction [m³/s].
    drop_pa
        Drop allowed [Pa], above 0.
    discharge_coeff
        Discharge coefficient [1].
    density_kg_m3
        Density of the air that passes [kg/m³].

    Raises
    ------
    ValueError
        If the drop is not above 0.

    Source: resnet_ch8_box

    >>> round(opening_area_m2(flow_m3_s=30 / 3600, drop_pa=1.0) * 1e4)
    108
    """
    if not drop_pa > 0.0:
        raise ValueError(f"drop_pa {drop_pa!r}: a drop above 0 is accepted")
    return abs(flow_m3_s) / (discharge_coeff * math.sqrt(2.0 * drop_pa / density_kg_m3))


def undercut_height_m(*, area_m2: float, door_width_m: float = DOOR_WIDTH_M) -> float:
    """Height of the gap under a door that has a free area [m].

    Parameters
    ----------
    area_m2
        Free area [m²].
    door_width_m
        Width of the door [m].

    >>> round(undercut_height_m(area_m2=0.0100, door_width_m=0.8) * 1000, 1)
    12.5
    """
    return area_m2 / door_width_m


@dataclass(frozen=True, slots=True, kw_only=True)
class TransferCheck:
    """A closed door, or another transfer opening, with the air that must pass it.

    Parameters
    ----------
    drop_pa
        Room less its neighbour [Pa]: positive where the room is supplied and pushes.
    speed_m_s
        Mean velocity over the free area [m/s].
    decision
        Whether the drop stays within ± the limit.
    area_needed_m2
        Free area that would just keep the limit [m²].
    """

    drop_pa: Estimate
    speed_m_s: Estimate
    decision: Decision
    area_needed_m2: Estimate


def check_transfer(
    *,
    surplus_m3_s: Estimate,
    area_m2: float,
    limit_pa: float,
    discharge_coeff: Estimate | None = None,
    density_kg_m3: float = USUAL_AIR_KG_M3,
) -> TransferCheck:
    """Drop across a closed door and whether it keeps a limit.

    All the surplus is taken to pass the opening: what leaks through the shell of the room besides
    makes the true drop smaller.

    Parameters
    ----------
    surplus_m3_s
        Supply less extract of the room [m³/s].
    area_m2
        Free transfer area [m²], above 0.
    limit_pa
        Largest drop allowed, either way [Pa], above 0.
    discharge_coeff
        Discharge coefficient [1]; None takes the usual one.
    density_kg_m3
        Density of room air [kg/m³].

    Raises
    ------
    ValueError
        If the area is not above 0.

    Source: resnet_ch8_box

    >>> check = check_transfer(surplus_m3_s=exact(10e-3), area_m2=0.0100, limit_pa=3.0)
    >>> round(check.drop_pa.value, 2), check.decision.verdict.value
    (1.67, 'met')
    """
    if not area_m2 > 0.0:
        raise ValueError(f"area_m2 {area_m2!r}: an area above 0 is accepted")
    coeff = usual_discharge_coeff() if discharge_coeff is None else discharge_coeff
    flow = surplus_m3_s.value
    drop = _drop_pa(flow, area_m2, coeff.value, density_kg_m3)
    u = surplus_m3_s.u_std
    # The law bends at zero flow: a secant over ± u keeps a doubt there that a tangent would lose.
    slope = 2.0 * drop / flow if flow != 0.0 else 0.0
    if u > 0.0:
        high, low = (_drop_pa(flow + d, area_m2, coeff.value, density_kg_m3) for d in (u, -u))
        slope = (high - low) / (2.0 * u)
    drop_pa = combine(drop, [(slope, surplus_m3_s), (-2.0 * drop / coeff.value, coeff)])
    needed = opening_area_m2(
        flow_m3_s=flow,
        drop_pa=limit_pa,
        discharge_coeff=coeff.value,
        density_kg_m3=density_kg_m3,
    )
    per_flow = math.copysign(1.0, flow) * needed / abs(flow) if flow else 0.0
    return TransferCheck(
        drop_pa=drop_pa,
        speed_m_s=combine(
            abs(flow) / area_m2, [(math.copysign(1.0 / area_m2, flow), surplus_m3_s)]
        ),
        decision=decide(drop_pa, low=-limit_pa, high=limit_pa),
        area_needed_m2=combine(needed, [(per_flow, surplus_m3_s), (-needed / coeff.value, coeff)]),
    )


def _drop_pa(flow_m3_s: float, area_m2: float, coeff: float, density_kg_m3: float) -> float:
    speed = flow_m3_s / (coeff * area_m2)
    return 0.5 * density_kg_m3 * speed * abs(speed)


def doorway_exchange_m3_s(
    *,
    width_m: float = DOOR_WIDTH_M,
    height_m: float = DOOR_HEIGHT_M,
    temperature_diff_k: float = ROOM_DIFFERENCE_K,
    discharge_coeff: float = DISCHARGE_COEFF,
) -> float:
    """Flow each way through an open doorway between rooms of different temperature [m³/s].

    Warm air leaves above the middle and cool air enters below it:
    ``C/3 · w · h · √(g h ΔT / T)``, Bernoulli over both halves.

    Parameters
    ----------
    width_m, height_m
        Opening [m].
    temperature_diff_k
        Difference of the two rooms [K].
    discharge_coeff
        Discharge coefficient [1].

    Source: doorway_exchange

    >>> round(3600 * doorway_exchange_m3_s(width_m=0.8, height_m=2.0, temperature_diff_k=0.5))
    211
    """
    drive = math.sqrt(STANDARD_GRAVITY_M_S2 * height_m * abs(temperature_diff_k) / _KELVIN)
    return discharge_coeff / 3.0 * width_m * height_m * drive


def gap_exchange_m3_s(
    *,
    lower_area_m2: float,
    upper_area_m2: float = GAP_ABOVE_DOOR_M * DOOR_WIDTH_M,
    height_m: float = DOOR_HEIGHT_M,
    temperature_diff_k: float = ROOM_DIFFERENCE_K,
    discharge_coeff: float = DISCHARGE_COEFF,
) -> float:
    """Flow each way past a closed door, in at one gap and out at the other [m³/s].

    Two orifices in series driven by the difference in weight of two columns of air.

    Parameters
    ----------
    lower_area_m2, upper_area_m2
        Free area under and above the door [m²]; none at one of them lets nothing pass.
    height_m
        Height between the gaps [m].
    temperature_diff_k
        Difference of the two rooms [K].
    discharge_coeff
        Discharge coefficient [1].

    Source: doorway_exchange, opening_judgement

    >>> round(3600 * gap_exchange_m3_s(lower_area_m2=0.0100), 2)
    0.84
    """
    both = math.hypot(lower_area_m2, upper_area_m2)
    if both == 0.0:
        return 0.0
    series = lower_area_m2 * upper_area_m2 / both
    head = 2.0 * STANDARD_GRAVITY_M_S2 * height_m * abs(temperature_diff_k) / _KELVIN
    return discharge_coeff * series * math.sqrt(head)


DOOR_INFLUENCE = Influence(
    id="enclosure:door:exchange", label="air that swaps past a closed door by itself"
)
EXCHANGE_U_FRAC = 0.5
"""Standard uncertainty of what swaps past a closed door, as a share. Source: opening_judgement"""


def exchange_estimate(exchange_m3_s: float) -> Estimate:
    """What swaps past a closed door, with its doubt; one influence for all doors.

    Parameters
    ----------
    exchange_m3_s
        Flow each way [m³/s].

    >>> round(exchange_estimate(2e-4).u_std, 5)
    0.0001
    """
    return combine(
        exchange_m3_s,
        [(1.0, exact(exchange_m3_s))],
        extra=[(DOOR_INFLUENCE, EXCHANGE_U_FRAC * abs(exchange_m3_s))],
    )
