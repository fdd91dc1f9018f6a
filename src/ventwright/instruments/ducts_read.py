"""Velocity in a duct made into a flow: sections, profiles, timed sweeps, single points.

A point or a line of a duct is not its area. On a developed profile u ~ (1 − r/R)^(1/n) with n from
5 to 7 the ratio is known within a per cent or two and is corrected; what bends and fittings do to
the profile is not known and is carried as an influence of the station, common to all readings
there.
"""

from __future__ import annotations

import math

from ventwright.house import (
    FixedPoint,
    Method,
    PointPosition,
    Section,
    Sweep,
    SweepPath,
)
from ventwright.instruments.case import Case, Indicated, check_range
from ventwright.instruments.classes import USUAL, Channel, figures_of
from ventwright.instruments.indication import indication, positive_values, uncertain
from ventwright.instruments.reference import velocity_scaling
from ventwright.instruments.wording import percent_text, velocity_text
from ventwright.quantities.records import dataclass
from ventwright.uncertainty import Distribution, Estimate, Influence, product, widen
from ventwright.uncertainty import u_from_half_width as u_from

DIMENSION_HALF_WIDTH_M = 0.001
DIMENSION_HALF_WIDTH_FRAC = 0.005
"""An inside dimension is typed within a millimetre or half a per cent (judgement)."""
AIR_VISCOSITY_PA_S = 1.82e-5
SHORT_SWEEP_S = 10.0
LEAST_SIDE_M, MOST_SIDE_M = 0.01, 5.0
SLOW_REYNOLDS = 4000.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Path:
    """What a way of sweeping does to the mean: factor to apply, and how well it is known."""

    factor: float
    half_width: float
    diameters: int
    words: str


ROUND_PATHS = {
    SweepPath.ONE_DIAMETER: Path(
        factor=0.92, half_width=0.02, diameters=1, words="one diameter at a steady pace"
    ),
    SweepPath.TWO_DIAMETERS: Path(
        factor=0.92, half_width=0.02, diameters=2, words="two diameters at a steady pace"
    ),
    SweepPath.ZIGZAG: Path(
        factor=1.037, half_width=0.02, diameters=2, words="a zigzag withdrawn evenly"
    ),
    SweepPath.STOPS: Path(
        factor=1.0, half_width=0.01, diameters=1, words="stops at log-linear points"
    ),
}
"""Steady pace on n = 5, 6, 7: line over area mean 1.10, 1.083, 1.071; zigzag 0.958, 0.964, 0.968.
The half widths add the hand's own unevenness (judgement). Source: profile_computed"""
RECTANGULAR_PATHS = {
    SweepPath.ZIGZAG: Path(
        factor=1.0, half_width=0.04, diameters=2, words="a zigzag withdrawn evenly"
    ),
    SweepPath.STOPS: Path(factor=1.0, half_width=0.05, diameters=1, words="stops at set points"),
}
UNKNOWN_PATH = Path(factor=1.0, half_width=0.10, diameters=1, words="a path that is not known")
"""No factor; the interval takes in one diameter (10 % high) and a zigzag (4 % low)."""
UNKNOWN_RECTANGULAR_PATH = Path(
    factor=1.0, half_width=0.17, diameters=1, words="a line whose factor is not known"
)
"""A line across the middle of a rectangle reads 14 to 20 % high on the product of two power laws.

Source: profile_computed
"""

ONE_LINE = ((10.0, 0.02), (7.5, 0.03), (5.0, 0.05), (2.0, 0.08), (0.0, 0.12))
SEVERAL_LINES = ((7.5, 0.01), (5.0, 0.02), (2.0, 0.04), (0.0, 0.08))
UNKNOWN_ONE_LINE, UNKNOWN_SEVERAL_LINES = 0.06, 0.03
"""Half width of what a disturbed profile does, by straight diameters upstream: a computed two-lobe
profile shifts one diameter by 5 to 10 % and two diameters at right angles by 0.3 %; the steps are
judgement. Source: profile_computed, method_judgement"""
DOWNSTREAM_WORTH_RATIO = 3.75
"""Straight duct after the plane counts this much more (7.5 before, 2 after; judgement)."""


def hydraulic_diameter_m(section: Section) -> float | None:
    """Four times area over perimeter [m]; None where a dimension is missing or no duct has it.

    Parameters
    ----------
    section
        Inside dimensions.

    >>> from ventwright.house import Section
    >>> hydraulic_diameter_m(Section(width_m=0.2, height_m=0.1))
    0.1333
    """
    if section.diameter_m is not None:
        return section.diameter_m if _is_side(section.diameter_m) else None
    width, height = section.width_m, section.height_m
    if width is None or height is None or not (_is_side(width) and _is_side(height)):
        return None
    return 2.0 * width * height / (width + height)


def _is_side(length_m: float) -> bool:
    return LEAST_SIDE_M <= length_m <= MOST_SIDE_M


def section_area_m2(case: Case, section: Section) -> Estimate:
    """Area of the section, its dimensions known within a millimetre or half a per cent.

    Parameters
    ----------
    case
        The reading; refused without positive dimensions.
    section
        Inside dimensions.

    Source: method_judgement
    """
    if hydraulic_diameter_m(section) is None:
        case.flags.refuse(
            "section-missing",
            "the duct's inside dimensions are missing, or no house has such a duct",
            "type the inside diameter, or inside width and height",
        )
    if section.diameter_m is not None:
        sides = (section.diameter_m, section.diameter_m)
        area = 0.25 * math.pi * section.diameter_m**2
    else:
        assert section.width_m is not None and section.height_m is not None
        sides = (section.width_m, section.height_m)
        area = section.width_m * section.height_m
    shares = [max(DIMENSION_HALF_WIDTH_M / s, DIMENSION_HALF_WIDTH_FRAC) for s in sides]
    # One dimension squared moves the area twice; two measured sides only in quadrature.
    share = sum(shares) if section.diameter_m is not None else math.hypot(*shares)
    return uncertain(
        area,
        half_width=area * share,
        id=f"{case.station_id}:section",
        label=f"duct section at {case.station_id.removeprefix('station:')}",
    )


def with_profile(
    case: Case,
    flow: Estimate,
    *,
    section: Section,
    upstream_m: float | None,
    downstream_m: float | None,
    is_one_line: bool,
) -> Estimate:
    """The flow widened by what bends and fittings near the plane do to the profile.

    Parameters
    ----------
    case
        The reading; warned when the plane lies close to a disturbance.
    flow
        Flow before.
    section
        Inside dimensions.
    upstream_m, downstream_m
        Straight duct before and after the plane [m], None if not typed.
    is_one_line
        Whether only one line of the section was seen.

    Source: profile_computed, method_judgement
    """
    diameter_m = hydraulic_diameter_m(section) or math.inf
    if upstream_m is None or not upstream_m >= 0.0:
        half = UNKNOWN_ONE_LINE if is_one_line else UNKNOWN_SEVERAL_LINES
        case.flags.note(
            "straight-length-unknown",
            "how much straight duct lies before the place is not given; ± "
            f"{percent_text(half)} is allowed for",
            "type the straight lengths before and after"
            if case.reading.method is not Method.FIXED_POINT
            else "sweep or traverse instead, with the straight lengths",
        )
    else:
        before, after = upstream_m / diameter_m, math.inf
        if downstream_m is not None and downstream_m >= 0.0:
            after = downstream_m / diameter_m
        reach = min(before, after * DOWNSTREAM_WORTH_RATIO)
        steps = ONE_LINE if is_one_line else SEVERAL_LINES
        half = next(h for least, h in steps if reach >= least)
        if reach < 5.0:
            far = f"{before:.1f} diameters before" + (
                "" if math.isinf(after) else f" and {after:.1f} after"
            )
            case.flags.warn(
                "straight-length-short",
                f"straight duct of {far} the place leaves the profile uneven; "
                f"± {percent_text(half)} is allowed for",
                "read where 7.5 diameters before and 2 after are straight, or on two diameters "
                "at right angles",
            )
    cause = Influence(
        id=f"{case.station_id}:profile",
        label=f"velocity profile at {case.station_id.removeprefix('station:')}",
        distribution=Distribution.RECTANGULAR,
    )
    u_std = u_from(half * abs(flow.value), distribution=Distribution.RECTANGULAR)
    return widen(flow, cause, u_std=u_std)


def velocity_of(case: Case, values_m_s: tuple[float, ...]) -> Estimate:
    """Mean velocity with the instrument's influences, after the checks of its range.

    Parameters
    ----------
    case
        The reading.
    values_m_s
        As typed [m/s].
    """
    usual = USUAL[case.reading.method][1]
    figures = figures_of(case.instrument, Channel.VELOCITY, usual=usual)
    values = positive_values(values_m_s, flags=case.flags, channel=Channel.VELOCITY)
    velocity = indication(
        values,
        reading=case.reading,
        instrument=case.instrument,
        channel=Channel.VELOCITY,
        figures=figures,
        flags=case.flags,
    )
    start = figures.start_si
    if start is not None and velocity.value < start:
        case.flags.refuse(
            "vane-below-start",
            f"the vane does not turn reliably below about {velocity_text(start)}"
            + ("" if figures.is_start_typed else " (usual for its class, from memory)")
            + f"; it was read at {velocity_text(velocity.value)}",
            "use a pressure-type box, a smaller throat or a thermal probe"
            + ("" if figures.is_start_typed else "; or type its own start velocity"),
        )
    check_range(case.flags, velocity.value, figures=figures, channel=Channel.VELOCITY)
    return velocity


def read_sweep(case: Case, look: Sweep) -> Indicated:
    """Timed sweep: flow = area · mean velocity · factor of the path.

    The part of a path's factor that comes from the shape of the profile is the same for all sweeps
    along that path and is one influence, ``method:sweep:{path}:factor``; the hand's unevenness from
    sweep to sweep is in the reading's scatter, and bends before the place are the station's. An
    unknown path may differ from reading to reading, so its interval belongs to the reading.

    Parameters
    ----------
    case
        The reading.
    look
        What was looked at.

    Source: profile_computed
    """
    area = section_area_m2(case, look.section)
    velocity = velocity_of(case, look.velocities_m_s)
    is_round = look.section.diameter_m is not None
    path = (ROUND_PATHS if is_round else RECTANGULAR_PATHS).get(look.path)
    if path is None:
        path = UNKNOWN_PATH if is_round else UNKNOWN_RECTANGULAR_PATH
        factor_id = f"reading:{case.reading.id}:path"
        _warn_path(case, look.path)
    else:
        shape = "" if is_round else ":rectangular"
        factor_id = f"method:sweep:{look.path.value}{shape}:factor"
    factor = uncertain(
        path.factor,
        half_width=path.half_width,
        id=factor_id,
        label=f"sweep path: {path.words}",
    )
    if look.duration_s is not None and look.duration_s < SHORT_SWEEP_S:
        case.flags.warn(
            "sweep-short",
            f"a sweep of {look.duration_s:.0f} s is too quick for the probe to follow",
            f"take at least {SHORT_SWEEP_S:.0f} s, better 20 s or more, over the whole path",
        )
    flow = with_profile(
        case,
        product(product(area, velocity), factor),
        section=look.section,
        upstream_m=look.straight_upstream_m,
        downstream_m=look.straight_downstream_m,
        is_one_line=path.diameters == 1,
    )
    scaling, is_open = velocity_scaling(case)
    applied = f"multiplied by {path.factor:g}" if path.factor != 1.0 else "no factor applied"
    return Indicated(
        flow_m3_s=flow,
        scaling=scaling,
        method_note=f"timed sweep along {path.words}, {applied}",
        is_reference_open=is_open,
    )


def _warn_path(case: Case, path: SweepPath) -> None:
    if path is SweepPath.UNKNOWN:
        message = (
            "the path of the sweep is not given; no factor is applied and the interval is wide"
        )
    else:
        message = (
            f"the factor of {path.value} is known for round ducts only; no factor is applied and "
            "the interval is wide"
        )
    case.flags.warn(
        "sweep-path-unknown",
        message,
        "write path = one_diameter, two_diameters, zigzag or stops"
        if path is SweepPath.UNKNOWN
        else "in a rectangular duct sweep a zigzag over the whole section, or traverse by points",
    )


def centre_factor(reynolds: float) -> tuple[float, float]:
    """Mean over centre velocity of a developed round profile, and its half width.

    ``1 / (1 + 1.326 √f)`` with the Darcy factor of smooth duct, f = 0.316 Re^−0.25. Below Re 4000
    the profile may be laminar (0.5) or turbulent (0.8) and both are taken in.

    Parameters
    ----------
    reynolds
        Reynolds number of the duct, > 0.

    Returns
    -------
    tuple of float
        Factor and half width [1].

    Source: white_fluid_mechanics, blasius_friction

    >>> round(centre_factor(26000.0)[0], 3)
    0.827
    """
    if reynolds < SLOW_REYNOLDS:
        return 0.65, 0.15
    friction = 0.316 * reynolds**-0.25
    return 1.0 / (1.0 + 1.326 * math.sqrt(friction)), 0.04


def read_fixed_point(case: Case, look: FixedPoint) -> Indicated:
    """Velocity at one point: at the centre times `centre_factor`, at the mean radius as it is.

    Parameters
    ----------
    case
        The reading.
    look
        What was looked at.

    Source: white_fluid_mechanics, profile_computed, method_judgement
    """
    area = section_area_m2(case, look.section)
    velocity = velocity_of(case, look.velocities_m_s)
    is_round = look.section.diameter_m is not None
    if look.position is PointPosition.MEAN_RADIUS:
        value, half = 1.0, 0.03 if is_round else 0.08
        words = "one point at the mean radius, as read"
    else:
        diameter_m = hydraulic_diameter_m(look.section) or 0.0
        density = case.air.density_kg_m3.value
        reynolds = density * velocity.value * diameter_m / AIR_VISCOSITY_PA_S
        value, half = centre_factor(reynolds) if is_round else (0.78, 0.06)
        words = f"one point at the centre, multiplied by {value:.2f}"
        if is_round and reynolds < SLOW_REYNOLDS:
            case.flags.warn(
                "centre-factor-open",
                f"at {velocity_text(velocity.value)} the flow may be laminar; the mean is 0.5 to "
                "0.8 of the centre",
                "sweep or traverse the duct instead",
            )
    factor = uncertain(
        value,
        half_width=half,
        id=f"method:fixed_point:{look.position.value}:{'round' if is_round else 'rect'}:factor",
        label=f"factor of a single point, {look.position.value}",
    )
    flow = with_profile(
        case,
        product(product(area, velocity), factor),
        section=look.section,
        upstream_m=None,
        downstream_m=None,
        is_one_line=True,
    )
    scaling, is_open = velocity_scaling(case)
    return Indicated(flow_m3_s=flow, scaling=scaling, method_note=words, is_reference_open=is_open)
