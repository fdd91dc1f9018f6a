"""The section of a duct and the profile in it: area, and what bends before the place do.

Both belong to the station: all readings there share them, so that they cancel between two looks at
one place and not between two places.
"""

from __future__ import annotations

import math

from ventwright.house import Method, Section
from ventwright.instruments.case import Case
from ventwright.instruments.indication import uncertain
from ventwright.instruments.wording import percent_text
from ventwright.uncertainty import Distribution, Estimate, Influence, u_from_half_width, widen

DIMENSION_HALF_WIDTH_M = 0.001
DIMENSION_HALF_WIDTH_FRAC = 0.005
"""An inside dimension is typed within a millimetre or half a per cent (judgement)."""
LEAST_SIDE_M, MOST_SIDE_M = 0.01, 5.0

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
        label=f"duct section at {case.place}",
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
        label=f"velocity profile at {case.place}",
        distribution=Distribution.RECTANGULAR,
    )
    u_std = u_from_half_width(half * abs(flow.value), distribution=Distribution.RECTANGULAR)
    return widen(flow, cause, u_std=u_std)
