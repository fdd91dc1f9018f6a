"""Readings at a terminal: vane with or without cone, terminal pressure, capture hood."""

from __future__ import annotations

import math
from collections.abc import Callable
from itertools import pairwise

from ventwright.house import (
    Hood,
    InstrumentKind,
    Terminal,
    TerminalPressure,
    Vane,
)
from ventwright.instruments.case import Case, Indicated, Scaling, check_range
from ventwright.instruments.classes import Channel, figures_of
from ventwright.instruments.ducts_read import velocity_of
from ventwright.instruments.indication import (
    indication,
    positive_values,
    same_sign_values,
    side_value_pa,
    uncertain,
    with_instrument,
)
from ventwright.instruments.insertion import without_insertion
from ventwright.instruments.reference import flow_scaling, velocity_scaling
from ventwright.instruments.wording import flow_text, percent_text, pressure_text
from ventwright.quantities import Side
from ventwright.uncertainty import Estimate, exact, product, propagate

TYPED_CONE_HALF_WIDTH = 0.03
UNKNOWN_CONE_HALF_WIDTH = 0.08
TYPED_FACE_HALF_WIDTH = 0.06
UNKNOWN_FACE_HALF_WIDTH = 0.20
SWIRL_HALF_WIDTH = 0.05
FLOW_FACTOR_HALF_WIDTH = 0.08
TURNS_HALF_WIDTH = 0.1
CONE_LOSS_COEFF = 1.5
LEAST_AREA_M2, MOST_AREA_M2 = 1e-4, 10.0
MOST_VANE_FACTOR, MOST_FLOW_FACTOR = 5.0, 1.0
PASSIVE_HOOD_HALF_WIDTH = 0.12
COMPENSATED_HOOD_HALF_WIDTH = 0.05
"""Half widths of what each method adds beside the instrument (judgement, guided by field
comparisons of hoods: passive 11–25 %, with their own fan about 6 %)."""
COARSE_STEP_FRAC = 0.2
"""A display step of this share of the reading is warned of; two and a half times it is refused."""


def read_vane(case: Case, look: Vane) -> Indicated:
    """Vane meter at a terminal: flow = factor · area · velocity.

    Without a factor none is applied and the interval is wide: ± 8 % with a cone, ± 20 % on a bare
    face. On a supply terminal swirl turns the vane and adds ± 5 %. A cone takes some flow away: its
    drop is reckoned as 1.5 velocity pressures of its throat, and half of the most that this can do
    is given back.

    Parameters
    ----------
    case
        The reading.
    look
        What was looked at.

    Source: method_judgement
    """
    if not LEAST_AREA_M2 <= look.area_m2 <= MOST_AREA_M2:
        case.flags.refuse(
            "area-missing",
            "no throat or face has the area that is given",
            "type the free area the velocity was read over",
        )
    velocity = velocity_of(case, look.velocities_m_s)
    value, half = _vane_factor(case, look)
    place = case.meter_id if look.has_cone else case.station_id
    factor = uncertain(
        value,
        half_width=half * value,
        id=f"{place}:vane_factor",
        label=f"vane factor, {'cone' if look.has_cone else 'bare face'}",
    )
    flow = product(velocity, factor)
    if case.stream_side is Side.SUPPLY:
        swirl = uncertain(
            1.0,
            half_width=SWIRL_HALF_WIDTH,
            id=f"{case.station_id}:swirl",
            label=f"swirl at {case.place}",
        )
        flow = product(flow, swirl)
        case.flags.note(
            "vane-swirl",
            "a supply jet may turn the vane with its swirl",
            "average readings with the head facing both ways",
        )
    flow = product(flow, exact(look.area_m2))
    if look.has_cone:
        drop = 0.5 * CONE_LOSS_COEFF * case.air.density_kg_m3.value * velocity.value**2
        flow, _ = without_insertion(case, flow, hood_drop_pa=exact(drop), device="cone")
    scaling, is_open = velocity_scaling(case)
    applied = f"factor {value:g}" if look.factor_ratio is not None else "no factor known"
    applied += ", what the cone takes away half given back" if look.has_cone else ""
    return Indicated(
        flow_m3_s=flow,
        scaling=scaling,
        method_note=f"vane meter {'in a cone' if look.has_cone else 'at the face'}, {applied}",
        is_reference_open=is_open,
    )


def _vane_factor(case: Case, look: Vane) -> tuple[float, float]:
    if look.factor_ratio is not None:
        if 0.0 < look.factor_ratio <= MOST_VANE_FACTOR:
            half = TYPED_CONE_HALF_WIDTH if look.has_cone else TYPED_FACE_HALF_WIDTH
            return look.factor_ratio, half
        case.flags.refuse(
            "factor-implausible",
            f"a factor of {look.factor_ratio:g} is not possible",
            "type the factor of the cone's calibration or the terminal's paper, about 1",
        )
    half = UNKNOWN_CONE_HALF_WIDTH if look.has_cone else UNKNOWN_FACE_HALF_WIDTH
    case.flags.warn(
        "vane-factor-unknown",
        f"no factor is given; none is applied and ± {percent_text(half)} is allowed for",
        "type the factor from the cone's calibration or the terminal's paper",
    )
    return 1.0, half


def drop_of(
    case: Case,
    drops_pa: tuple[float, ...],
    *,
    usual: InstrumentKind,
    told: Callable[[float], str] = pressure_text,
) -> Estimate:
    """Mean pressure drop with the gauge's influences, refused where the gauge can't resolve it.

    Parameters
    ----------
    case
        The reading.
    drops_pa
        As typed [Pa]; all negative is taken as all positive.
    usual
        Class of gauge where nobody named one.
    told
        Turns the drop into words for a message.
    """
    figures = figures_of(case.instrument, Channel.PRESSURE, usual=usual)
    values = same_sign_values(drops_pa, flags=case.flags, channel=Channel.PRESSURE)
    drop = indication(
        values,
        reading=case.reading,
        instrument=case.instrument,
        channel=Channel.PRESSURE,
        figures=figures,
        flags=case.flags,
    )
    step = figures.resolution_si
    share = step / drop.value
    if share > COARSE_STEP_FRAC:
        message = (
            f"{told(drop.value)}, and the gauge has steps of {pressure_text(step)}: half a step "
            f"alone is {percent_text(0.25 * share)} of flow"
        )
        remedy = "use a gauge with finer steps, or a smaller opening that gives a larger drop"
        if share > 2.5 * COARSE_STEP_FRAC:
            case.flags.refuse("gauge-too-coarse", message, remedy)
        case.flags.warn("gauge-coarse", message, remedy)
    check_range(case.flags, drop.value, figures=figures, channel=Channel.PRESSURE)
    return drop


def other_pressure(case: Case, value_pa: float | None, *, name: str) -> Estimate | None:
    """A further pressure of the same reading; of the first's influences it shares calibration.

    Parameters
    ----------
    case
        The reading.
    value_pa
        As typed [Pa]; see `side_value_pa`.
    name
        What it is, for the influences that are its own.
    """
    value = side_value_pa(value_pa, flags=case.flags, what=f"behind the {name.replace('_', ' ')}")
    if value is None:
        return None
    return with_instrument(
        value,
        reading=case.reading,
        instrument=case.instrument,
        channel=Channel.PRESSURE,
        figures=figures_of(case.instrument, Channel.PRESSURE, usual=InstrumentKind.MANOMETER),
        look=f"{name}:",
    )


def read_terminal_pressure(case: Case, look: TerminalPressure) -> Indicated:
    """Pressure at a terminal's tap: flow = flow factor · √drop, for standard air.

    Parameters
    ----------
    case
        The reading.
    look
        What was looked at.

    Source: method_judgement
    """
    drop = drop_of(case, look.drops_pa, usual=InstrumentKind.MANOMETER)
    half = FLOW_FACTOR_HALF_WIDTH
    if look.flow_factor is not None:
        value, words = look.flow_factor, "its flow factor as typed"
    else:
        value, slope = _factor_from_turns(case, look.opening_turns)
        words = "its flow factor by turns"
        half = math.hypot(half, TURNS_HALF_WIDTH * slope / value) if value > 0.0 else half
    if not 0.0 < value <= MOST_FLOW_FACTOR:
        case.flags.refuse(
            "flow-factor-missing",
            "no terminal has the flow factor that is given",
            "type the flow factor of this opening from the terminal's paper",
        )
    factor = uncertain(
        value,
        half_width=half * value,
        id=f"{case.station_id}:flow_factor",
        label=f"flow factor at {case.place}",
    )
    flow = product(factor, propagate(math.sqrt, [drop], partials=[0.5 / math.sqrt(drop.value)]))
    return Indicated(
        flow_m3_s=flow,
        scaling=Scaling.PRESSURE,
        method_note=f"pressure at the terminal's tap with {words}",
    )


def _factor_from_turns(case: Case, turns: float | None) -> tuple[float, float]:
    """Flow factor and its slope against turns, straight between the lines of the table."""
    terminal: Terminal | None = case.terminal
    table = () if terminal is None else terminal.opening_table
    if turns is None or not math.isfinite(turns) or not table:
        case.flags.refuse(
            "flow-factor-missing",
            "neither a flow factor nor turns with the terminal's table are given",
            "type the flow factor, or the turns and give the terminal its opening table",
        )
    points = sorted((p.opening_turns, p.flow_factor) for p in table)
    if not points[0][0] <= turns <= points[-1][0]:
        case.flags.refuse(
            "outside-table",
            f"{turns:g} turns lie outside the terminal's table, {points[0][0]:g} to "
            f"{points[-1][0]:g}",
            "read at an opening inside the table, or type the flow factor",
        )
    for (low, low_factor), (high, high_factor) in pairwise(points):
        if low <= turns <= high and high > low:
            slope = (high_factor - low_factor) / (high - low)
            return low_factor + slope * (turns - low), abs(slope)
    return points[0][1], 0.0


def read_hood(case: Case, look: Hood) -> Indicated:
    """Flow shown by a capture hood; a passive one takes flow away and feels uneven flow.

    Parameters
    ----------
    case
        The reading.
    look
        What was looked at.

    Source: hood_field_comparison, method_judgement
    """
    figures = figures_of(case.instrument, Channel.FLOW, usual=InstrumentKind.FLOW_HOOD)
    values = positive_values(look.flows_m3_s, flags=case.flags, channel=Channel.FLOW)
    flow = indication(
        values,
        reading=case.reading,
        instrument=case.instrument,
        channel=Channel.FLOW,
        figures=figures,
        flags=case.flags,
    )
    check_range(case.flags, flow.value, figures=figures, channel=Channel.FLOW)
    if figures.fixed_si > 0.2 * flow.value:
        case.flags.warn(
            "hood-small-flow",
            f"the hood's fixed limit of ± {flow_text(figures.fixed_si)} is "
            f"{percent_text(figures.fixed_si / flow.value)} of {flow_text(flow.value)}",
            "use a small-flow hood, a pressure-type box, or a vane in a cone",
        )
    is_passive = case.instrument is None or (
        case.instrument.kind is not InstrumentKind.COMPENSATED_HOOD
    )
    half = PASSIVE_HOOD_HALF_WIDTH if is_passive else COMPENSATED_HOOD_HALF_WIDTH
    place = uncertain(
        1.0,
        half_width=half,
        id=f"{case.station_id}:hood",
        label=f"uneven flow into the hood at {case.place}",
    )
    flow = product(flow, place)
    words = "with its own fan, no flow taken away"
    if is_passive:
        flow, words = _hood_insertion(case, look, flow)
    scaling, is_open = flow_scaling(case)
    return Indicated(
        flow_m3_s=flow,
        scaling=scaling,
        method_note=f"capture hood, {words}",
        is_reference_open=is_open,
    )


def _hood_insertion(case: Case, look: Hood, flow: Estimate) -> tuple[Estimate, str]:
    drop = side_value_pa(look.hood_drop_pa, flags=case.flags, what="in the hood")
    if drop is None:
        case.flags.note(
            "hood-drop-unknown",
            "the pressure the hood itself takes is not given; what it takes of the flow is not "
            "corrected beyond the interval",
            "read the pressure inside the hood against the room",
        )
        return flow, "flow taken away by the hood not corrected"
    hood_drop = uncertain(
        drop,
        half_width=0.1 + 0.05 * drop,
        id=f"reading:{case.reading.id}:hood_drop",
        label=f"pressure in the hood, reading {case.reading.id}",
    )
    behind = side_value_pa(look.terminal_pressure_pa, flags=case.flags, what="behind the terminal")
    terminal_pressure = None
    if behind is not None:
        terminal_pressure = uncertain(
            behind,
            half_width=0.5,
            id=f"reading:{case.reading.id}:terminal_pressure",
            label=f"pressure behind the terminal, reading {case.reading.id}",
        )
    return without_insertion(
        case,
        flow,
        hood_drop_pa=hood_drop,
        terminal_pressure_pa=terminal_pressure,
        device="hood",
    )
