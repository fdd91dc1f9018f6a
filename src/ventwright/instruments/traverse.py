"""Traverse by points: velocities averaged over the section, never the pressures."""

from __future__ import annotations

import math

from ventwright.house import InstrumentKind, Traverse, TraverseRule
from ventwright.instruments.case import Case, Indicated, Scaling, check_range
from ventwright.instruments.classes import Channel, Figures, figures_of
from ventwright.instruments.indication import (
    TYPICAL_SPREAD,
    calibration_id,
    own_id,
    positive_values,
    uncertain,
)
from ventwright.instruments.reference import velocity_scaling
from ventwright.instruments.rules import PROFILE_EXPONENTS, rule_bias, traverse_positions
from ventwright.instruments.sections import section_area_m2, with_profile
from ventwright.instruments.wording import percent_text, velocity_text
from ventwright.quantities import STANDARD_AIR_DENSITY_KG_M3
from ventwright.uncertainty import (
    Distribution,
    Estimate,
    Influence,
    combine,
    product,
    u_from_half_width,
)

ROUGH_PLANE_HALF_WIDTH = 0.15
OFF_RULE_HALF_WIDTH = 0.05
RULE_HALF_WIDTH = 0.005
PITOT_LEAST_M_S = 3.0
LEAST_GOOD_SHARE = 0.75
"""More than three quarters of the velocity pressures lie above a tenth of the largest."""

Lines = tuple[tuple[float, ...], ...]


def read_traverse(case: Case, look: Traverse) -> Indicated:
    """Mean of the velocities at the points of a rule, times the area.

    Pitot pressures give velocities one by one, v = √(2 p/ρ), here at standard density; the root of
    density is applied with the station's air. What the rule itself does to a developed profile
    (equal area reads 1 to 8 % high) is corrected. Points differ because the profile does, so their
    spread is no scatter: the scatter of one look over √N stands instead.

    Parameters
    ----------
    case
        The reading.
    look
        What was looked at.

    Source: iso_3966_positions, traverse_practice, profile_computed
    """
    area = section_area_m2(case, look.section)
    is_pitot = bool(look.velocity_pressures_pa)
    lines = _velocities(case, look)
    figures = figures_of(
        case.instrument,
        Channel.PRESSURE if is_pitot else Channel.VELOCITY,
        usual=InstrumentKind.PITOT if is_pitot else InstrumentKind.THERMAL_ANEMOMETER,
    )
    velocity = _mean(case, lines, figures=figures, is_pitot=is_pitot)
    if is_pitot:
        _check_pitot(case, velocity)
    else:
        check_range(case.flags, velocity.value, figures=figures, channel=Channel.VELOCITY)
    factor, words = _rule_factor(case, look, lines)
    flow = product(product(area, velocity), factor)
    if _is_rough(lines):
        flow = product(flow, _rough_plane(case, lines))
    flow = with_profile(
        case,
        flow,
        section=look.section,
        upstream_m=look.straight_upstream_m,
        downstream_m=look.straight_downstream_m,
        is_one_line=len(lines) == 1,
    )
    scaling, is_open = (Scaling.PRESSURE, False) if is_pitot else velocity_scaling(case)
    count = sum(len(line) for line in lines)
    return Indicated(
        flow_m3_s=flow,
        scaling=scaling,
        method_note=f"traverse of {count} points on {len(lines)} lines, {words}",
        is_reference_open=is_open,
    )


def _velocities(case: Case, look: Traverse) -> Lines:
    """Velocities, from pressures at standard density where those were read."""
    given = look.velocity_pressures_pa or look.velocities_m_s
    lines = tuple(line for line in given if line)
    if not lines:
        case.flags.refuse(
            "reading-empty", "the traverse has no points", "type the points, one list for each line"
        )
    channel = Channel.PRESSURE if look.velocity_pressures_pa else Channel.VELOCITY
    if any(not v >= 0.0 for line in lines for v in line):
        case.flags.refuse(
            "traverse-reversed",
            "some points are negative: the air runs backwards in part of the section",
            "move the plane further from the bend, damper or fan, and traverse again",
        )
    most = max(v for line in lines for v in line)
    positive_values((most,), flags=case.flags, channel=channel)
    if not look.velocity_pressures_pa:
        return lines
    return tuple(
        tuple(math.sqrt(2.0 * p / STANDARD_AIR_DENSITY_KG_M3) for p in line) for line in lines
    )


def _good_count(lines: Lines) -> tuple[int, int]:
    """How many velocity pressures lie above a tenth of the largest, and of how many."""
    points = [v for line in lines for v in line]
    most = max(points)
    return sum(v * v > 0.1 * most * most for v in points), len(points)


def _is_rough(lines: Lines) -> bool:
    good, count = _good_count(lines)
    return good <= LEAST_GOOD_SHARE * count


def _rough_plane(case: Case, lines: Lines) -> Estimate:
    good, count = _good_count(lines)
    case.flags.warn(
        "traverse-plane-rough",
        f"only {good} of {count} velocity pressures lie above a tenth of the largest; a good "
        f"plane has more than 75 %, and ± {percent_text(ROUGH_PLANE_HALF_WIDTH)} is allowed for",
        "move the plane to a longer straight",
    )
    return uncertain(
        1.0,
        half_width=ROUGH_PLANE_HALF_WIDTH,
        id=f"{case.station_id}:plane",
        label=f"uneven plane at {case.place}",
    )


def _mean(case: Case, lines: Lines, *, figures: Figures, is_pitot: bool) -> Estimate:
    """Mean velocity with calibration, zero, scatter and resolution.

    All points share the instrument's deviation, so the mean is moved as a whole; scatter and
    resolution are each point's own and go down with √N.
    """
    points = [v for line in lines for v in line]
    count = len(points)
    mean = math.fsum(points) / count

    def moved(u_of_reading: float, u_fixed: float) -> float:
        if not is_pitot:
            return u_of_reading * mean + u_fixed
        density = STANDARD_AIR_DENSITY_KG_M3
        sides = []
        for sign in (1.0, -1.0):
            pressures = [0.5 * density * v * v for v in points]
            shifted = [max(p + sign * (u_of_reading * p + u_fixed), 0.0) for p in pressures]
            sides.append(math.fsum(math.sqrt(2.0 * p / density) for p in shifted) / count)
        return 0.5 * (sides[0] - sides[1])

    rectangular = Distribution.RECTANGULAR
    u_reading = u_from_half_width(figures.of_reading_frac, distribution=rectangular)
    u_fixed = u_from_half_width(figures.fixed_si, distribution=rectangular)
    u_step = u_from_half_width(0.5 * figures.resolution_si, distribution=rectangular)
    whole = moved(u_reading, u_fixed)
    own = min(moved(0.0, u_fixed) * math.sqrt(0.5), whole)
    typical = TYPICAL_SPREAD[case.reading.method]
    scatter = max(typical.spread_frac * mean, typical.floor_si) / math.sqrt(count)
    channel = Channel.PRESSURE if is_pitot else Channel.VELOCITY
    reading = case.reading
    parts = (
        (
            calibration_id(case.instrument, reading, channel),
            f"{case.meter_id.partition(':')[2]}, {channel.value} calibration",
            math.sqrt(whole * whole - own * own),
        ),
        (own_id(reading, channel, "zero"), f"zero and drift, reading {reading.id}", own),
        (own_id(reading, channel, "scatter"), f"scatter, reading {reading.id}", scatter),
        (
            own_id(reading, channel, "resolution"),
            f"resolution, reading {reading.id}",
            moved(0.0, u_step) / math.sqrt(count),
        ),
    )
    return combine(
        mean, [], extra=[(Influence(id=id, label=label), u_std) for id, label, u_std in parts]
    )


def _check_pitot(case: Case, velocity: Estimate) -> None:
    if velocity.value >= PITOT_LEAST_M_S:
        return
    case.flags.warn(
        "pitot-slow",
        f"{velocity_text(velocity.value)} is slow for a pitot tube; below about "
        f"{velocity_text(PITOT_LEAST_M_S)} its pressure is within a few steps of the gauge",
        "use a thermal probe at the same points",
    )


def _rule_factor(case: Case, look: Traverse, lines: Lines) -> tuple[Estimate, str]:
    """What the mean of the points is multiplied by, with the points checked against the rule."""
    is_round = look.section.diameter_m is not None
    words = f"{look.rule.value.replace('_', '-')} rule"
    value, half = _bias_correction(look.rule, lines, is_round=is_round)
    if half is None:
        counts = " + ".join(str(len(line)) for line in lines)
        case.flags.warn(
            "traverse-off-rule",
            f"{counts} points fit no {words} of a {'round' if is_round else 'rectangular'} duct; "
            f"the plain mean is taken and ± {percent_text(OFF_RULE_HALF_WIDTH)} allowed for",
            _RULE_REMEDY["round" if is_round else "rectangular"],
        )
        factor = uncertain(
            1.0,
            half_width=OFF_RULE_HALF_WIDTH,
            id=f"reading:{case.reading.id}:points",
            label=f"points off their rule, reading {case.reading.id}",
        )
        return factor, "plain mean, as the points fit no rule"
    _note_few_points(case, look.rule, lines, is_round=is_round)
    shape = "round" if is_round else "rectangular"
    factor = uncertain(
        value,
        half_width=half,
        id=f"method:traverse:{look.rule.value}:{shape}:{len(lines)}x{len(lines[0])}",
        label=f"traverse rule, {words}",
    )
    if abs(value - 1.0) > 1e-9:
        words += f" (multiplied by {value:.3f})"
    return factor, words


def _note_few_points(case: Case, rule: TraverseRule, lines: Lines, *, is_round: bool) -> None:
    least_across = 16 if rule is TraverseRule.EQUAL_AREA else 25
    least = 12 if is_round else least_across
    count = sum(len(line) for line in lines)
    if count < least:
        case.flags.note(
            "traverse-few-points",
            f"{count} points; the usual least for this section and rule is {least}",
            "take more points, in a round duct on two diameters at right angles",
        )


_RULE_REMEDY = {
    "round": "use 6, 8 or 10 points on each of two diameters at right angles",
    "rectangular": "use 5, 6 or 7 points each way, or squares of equal area",
}


def _bias_correction(
    rule: TraverseRule, lines: Lines, *, is_round: bool
) -> tuple[float, float | None]:
    """Factor and half width; the half width is None where the points fit no rule."""
    counts = {len(line) for line in lines}
    if len(counts) != 1:
        return 1.0, None
    positions = traverse_positions(rule, points_count=counts.pop(), is_round=is_round)
    if positions is None:
        return 1.0, None
    across = None
    if not is_round:
        across = traverse_positions(rule, points_count=len(lines), is_round=False)
        if across is None:
            return 1.0, None
    if rule is not TraverseRule.EQUAL_AREA:
        return 1.0, RULE_HALF_WIDTH
    low, middle, high = (rule_bias(positions, exponent=n, across=across) for n in PROFILE_EXPONENTS)
    if is_round:
        return 1.0 / (1.0 + middle), 0.5 * abs(high - low) + RULE_HALF_WIDTH
    # The product profile exaggerates the corners: half of its bias is taken off, half is carried.
    return 1.0 / (1.0 + 0.5 * middle), 0.5 * abs(middle) + RULE_HALF_WIDTH
