"""Velocity in a duct made into a flow: timed sweeps and single points.

A point or a line of a duct is not its area. On a developed profile u ~ (1 − r/R)^(1/n) with n from
5 to 7 the ratio is known within a per cent or two and is corrected; what bends and fittings do to
the profile is not known and is carried as an influence of the station, common to all readings
there.
"""

from __future__ import annotations

import math

from ventwright.house import (
    FixedPoint,
    PointPosition,
    Sweep,
    SweepPath,
)
from ventwright.instruments.case import Case, Indicated, check_range
from ventwright.instruments.classes import USUAL, Channel, figures_of
from ventwright.instruments.indication import indication, positive_values, uncertain
from ventwright.instruments.reference import velocity_scaling
from ventwright.instruments.sections import hydraulic_diameter_m, section_area_m2, with_profile
from ventwright.instruments.wording import velocity_text
from ventwright.quantities.records import dataclass
from ventwright.uncertainty import Estimate, product

AIR_VISCOSITY_PA_S = 1.82e-5
SHORT_SWEEP_S = 10.0
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
