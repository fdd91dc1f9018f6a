"""The pressure-type flow box: flow from the drop across an opening of known area."""

from __future__ import annotations

import math

from ventwright.house import FlowBox, InstrumentKind
from ventwright.instruments.case import Case, Indicated, Scaling
from ventwright.instruments.indication import uncertain
from ventwright.instruments.insertion import without_insertion
from ventwright.instruments.terminals_read import drop_of, other_pressure
from ventwright.instruments.wording import area_text, flow_text, pressure_text
from ventwright.quantities import STANDARD_AIR_DENSITY_KG_M3, Side
from ventwright.uncertainty import product, propagate

DISCHARGE_COEFF = 0.606
"""Q[cfm] = 1.07 A[in²] √Δp[Pa] in standard air, within 0.1 %. Source: resnet_ch8_box"""
DEFAULT_COEFF_HALF_WIDTH_FRAC = 0.04
TYPED_COEFF_HALF_WIDTH_FRAC = 0.02
AREA_HALF_WIDTH_FRAC = 0.015
SUPPLY_HALF_WIDTH_FRAC = 0.15
LEAST_DROP_PA = 1.0
WANTED_DROP_PA = 3.0
LARGE_DROP_PA = 8.0
LEAST_OPENING_M2, MOST_OPENING_M2 = 1e-5, 1.0
LEAST_COEFF = 0.3


def box_flow_m3_s(
    *,
    opening_area_m2: float,
    drop_pa: float,
    density_kg_m3: float = STANDARD_AIR_DENSITY_KG_M3,
    discharge_coeff: float = DISCHARGE_COEFF,
) -> float:
    """Flow through the opening of a box: Q = Cd · A · √(2 Δp / ρ).

    Parameters
    ----------
    opening_area_m2
        Area of the opening [m²].
    drop_pa
        Pressure across it [Pa], ≥ 0.
    density_kg_m3
        Density of the air [kg/m³].
    discharge_coeff
        Cd [1].

    Returns
    -------
    float
        Actual flow [m³/s].

    Source: resnet_ch8_box

    >>> round(box_flow_m3_s(opening_area_m2=0.0058, drop_pa=1.5), 4)
    0.0056
    """
    return discharge_coeff * opening_area_m2 * math.sqrt(2.0 * drop_pa / density_kg_m3)


def box_opening_for(
    *,
    flow_m3_s: float,
    drop_pa: float = WANTED_DROP_PA,
    density_kg_m3: float = STANDARD_AIR_DENSITY_KG_M3,
    discharge_coeff: float = DISCHARGE_COEFF,
) -> float:
    """Area of the opening at which a flow gives a wanted drop, the inverse of `box_flow_m3_s`.

    Parameters
    ----------
    flow_m3_s
        Flow expected [m³/s], > 0.
    drop_pa
        Drop wanted [Pa], > 0; 2 to 5 Pa serve both gauge and fan.
    density_kg_m3
        Density of the air [kg/m³].
    discharge_coeff
        Cd [1].

    Returns
    -------
    float
        Area [m²].

    Raises
    ------
    ValueError
        If a number is not positive: callers ask only about a flow that is there.

    Source: resnet_ch8_box

    >>> round(box_opening_for(flow_m3_s=0.00944) * 1e4)
    70
    """
    if not (flow_m3_s > 0.0 and drop_pa > 0.0 and density_kg_m3 > 0.0 and discharge_coeff > 0.0):
        raise ValueError(f"an opening needs a positive flow and drop: {flow_m3_s!r}, {drop_pa!r}")
    return flow_m3_s / (discharge_coeff * math.sqrt(2.0 * drop_pa / density_kg_m3))


def read_flow_box(case: Case, look: FlowBox) -> Indicated:
    """Flow box over a terminal, with the flow it takes away given back.

    Made for extract. On a supply jet the pressure in the box is not that of still air: refused with
    the default coefficient, widened by ± 15 % where a coefficient of the box's own was typed.

    Parameters
    ----------
    case
        The reading.
    look
        What was looked at.

    Source: resnet_ch8_box, insertion_computed, method_judgement
    """
    _check_supply(case, look)
    if not LEAST_OPENING_M2 <= look.opening_area_m2 <= MOST_OPENING_M2:
        case.flags.refuse(
            "area-missing",
            "no box has an opening of the area that is given",
            "type the free area of the opening that was used",
        )
    coeff = DISCHARGE_COEFF if look.discharge_coeff is None else look.discharge_coeff
    if not LEAST_COEFF <= coeff <= 1.0:
        case.flags.refuse(
            "factor-implausible",
            f"a discharge coefficient of {coeff:g} is not possible",
            "type the box's coefficient, between 0.5 and 1",
        )

    def flow_at(drop_pa: float) -> float:
        return box_flow_m3_s(
            opening_area_m2=look.opening_area_m2, drop_pa=drop_pa, discharge_coeff=coeff
        )

    def told(drop_pa: float) -> str:
        return (
            f"{flow_text(flow_at(drop_pa))} through {area_text(look.opening_area_m2)} of opening "
            f"is about {pressure_text(drop_pa)}"
        )

    drop = drop_of(case, look.drops_pa, usual=InstrumentKind.FLOW_BOX, told=told)
    nominal = flow_at(drop.value)
    _check_drop(case, look, drop.value, told(drop.value))
    flow = propagate(flow_at, [drop], partials=[0.5 * nominal / drop.value])
    for half, name, label in _box_parts(case, look):
        factor = uncertain(1.0, half_width=half, id=name, label=label)
        flow = product(flow, factor)
    flow, words = without_insertion(
        case,
        flow,
        hood_drop_pa=drop,
        terminal_pressure_pa=other_pressure(case, look.terminal_pressure_pa, name="terminal"),
        terminal_pressure_free_pa=other_pressure(
            case, look.terminal_pressure_free_pa, name="terminal_free"
        ),
    )
    return Indicated(
        flow_m3_s=flow,
        scaling=Scaling.PRESSURE,
        method_note=f"flow box with an opening of {area_text(look.opening_area_m2)}, {words}",
    )


def _box_parts(case: Case, look: FlowBox) -> list[tuple[float, str, str]]:
    half = (
        DEFAULT_COEFF_HALF_WIDTH_FRAC
        if look.discharge_coeff is None
        else TYPED_COEFF_HALF_WIDTH_FRAC
    )
    opening = f"{1e4 * look.opening_area_m2:.1f}cm2"
    parts = [
        (half, f"{case.meter_id}:flow_box:discharge_coeff", "discharge coefficient of the box"),
        (AREA_HALF_WIDTH_FRAC, f"{case.meter_id}:flow_box:opening:{opening}", "opening's area"),
    ]
    if case.stream_side is Side.SUPPLY:
        jet = f"supply jet at {case.place}"
        parts.append((SUPPLY_HALF_WIDTH_FRAC, f"{case.station_id}:supply_jet", jet))
    return parts


def _check_supply(case: Case, look: FlowBox) -> None:
    if case.stream_side is None:
        case.flags.note(
            "side-unknown",
            "whether this is extract is not known; a flow box is made for extract",
            "name a terminal of the house as the station",
        )
    if case.stream_side is not Side.SUPPLY:
        return
    remedy = (
        "read supply with a hood with its own fan, a vane in a cone, the terminal's pressure and "
        "flow factor, or in the duct"
    )
    if look.discharge_coeff is None:
        case.flags.refuse(
            "box-on-supply",
            "a flow box is made for extract: on a supply jet its pressure says little of the flow",
            f"{remedy}; a box calibrated on supply needs its own discharge coefficient typed",
        )
    case.flags.warn(
        "box-on-supply",
        "a flow box on a supply jet: ± 15 % is allowed for beside its own coefficient",
        remedy,
    )


def _check_drop(case: Case, look: FlowBox, drop_pa: float, told: str) -> None:
    wanted = look.opening_area_m2 * math.sqrt(drop_pa / WANTED_DROP_PA)
    remedy = f"use an opening of about {area_text(wanted)}, which gives {WANTED_DROP_PA:g} Pa"
    if drop_pa < LEAST_DROP_PA:
        case.flags.refuse(
            "box-drop-small", f"{told}: below 1 Pa draught and zero drift decide", remedy
        )
    if drop_pa > LARGE_DROP_PA:
        case.flags.warn(
            "box-drop-large", f"{pressure_text(drop_pa)} in the box holds the flow back", remedy
        )
