"""The air an indication is true for, and from there to the air at the station.

Mass decides: a heated probe cools with mass velocity, a vane turns with actual velocity, an orifice
or pitot goes with √density. Where the record doesn't say, the habit of the class is taken and, if
the air is far from standard, said so.
"""

from __future__ import annotations

from ventwright.house import AirReference, InstrumentKind
from ventwright.instruments.case import Case, Indicated, Scaling
from ventwright.instruments.classes import USUAL, Channel, shows
from ventwright.instruments.wording import percent_text
from ventwright.quantities import STANDARD_AIR_DENSITY_KG_M3
from ventwright.uncertainty import (
    Distribution,
    Estimate,
    Influence,
    combine,
    u_from_half_width,
    widen,
)

NEAR_STANDARD_FRAC = 0.03
"""Distance from standard density within which the reference hardly matters (judgement)."""

SCALING_OF_REFERENCE = {
    AirReference.ACTUAL: Scaling.ACTUAL,
    AirReference.CALIBRATION: Scaling.PRESSURE,
    AirReference.STANDARD: Scaling.STANDARD,
}
HABIT = {
    InstrumentKind.THERMAL_ANEMOMETER: Scaling.STANDARD,
    InstrumentKind.VANE_METER: Scaling.ACTUAL,
    InstrumentKind.PITOT: Scaling.PRESSURE,
    InstrumentKind.MANOMETER: Scaling.PRESSURE,
    InstrumentKind.FLOW_BOX: Scaling.PRESSURE,
    InstrumentKind.FLOW_HOOD: Scaling.PRESSURE,
    InstrumentKind.COMPENSATED_HOOD: Scaling.PRESSURE,
}
"""How the classes go with density where nothing is typed. Source: density_by_kind"""
OPEN_KINDS = (
    InstrumentKind.FLOW_HOOD,
    InstrumentKind.COMPENSATED_HOOD,
    InstrumentKind.BUILT_IN,
)
"""Classes within which instruments differ, so that the habit is a guess and is widened."""


def velocity_scaling(case: Case) -> tuple[Scaling, bool]:
    """How a velocity goes with density, and whether that is open.

    Parameters
    ----------
    case
        The reading; an instrument nobody named is taken for the usual one of the method.
    """
    instrument = case.instrument
    if instrument is not None and instrument.air_reference is not None:
        return SCALING_OF_REFERENCE[instrument.air_reference], False
    kind = USUAL[case.reading.method][1]
    if instrument is not None and shows(instrument, Channel.VELOCITY):
        kind = instrument.kind
    if instrument is not None:
        _say_reference(case, kind)
    is_open = kind not in HABIT or (instrument is None and HABIT[kind] is not Scaling.ACTUAL)
    return HABIT.get(kind, Scaling.STANDARD), is_open


def flow_scaling(case: Case) -> tuple[Scaling, bool]:
    """How a displayed flow goes with density, and whether that is open.

    Parameters
    ----------
    case
        The reading.
    """
    instrument = case.instrument
    if instrument is None:
        return Scaling.PRESSURE, True
    if instrument.air_reference is not None:
        return SCALING_OF_REFERENCE[instrument.air_reference], False
    scaling = HABIT.get(instrument.kind, Scaling.PRESSURE)
    return scaling, instrument.kind in OPEN_KINDS or instrument.kind not in HABIT


def _say_reference(case: Case, kind: InstrumentKind) -> None:
    departure = STANDARD_AIR_DENSITY_KG_M3 / case.air.density_kg_m3.value - 1.0
    if kind is not InstrumentKind.THERMAL_ANEMOMETER or abs(departure) < NEAR_STANDARD_FRAC:
        return
    direction = "higher" if departure < 0.0 else "lower"
    case.flags.warn(
        "air-reference-unknown",
        "the probe is taken to show velocity of standard air; if it corrects itself, the flow is "
        f"{percent_text(abs(1.0 / (1.0 + departure) - 1.0))} {direction}",
        "type air_reference = standard or actual for the instrument",
    )


def actual_flow_m3_s(case: Case, indicated: Indicated) -> Estimate:
    """Actual flow at the station: indicated · (1.2014/ρ)^exponent, the density's influences kept.

    Where the reference is open, the spread between a volume and a mass indication is taken in as
    one influence of the instrument.

    Parameters
    ----------
    case
        The reading.
    indicated
        What the method gave.

    Returns
    -------
    Estimate
        Actual flow [m³/s].

    Source: density_by_kind
    """
    density = case.air.density_kg_m3
    exponent = indicated.scaling.value
    spread = STANDARD_AIR_DENSITY_KG_M3 / density.value
    factor = spread**exponent
    flow = indicated.flow_m3_s
    value = factor * flow.value
    actual = combine(value, [(factor, flow), (-exponent * value / density.value, density)])
    if not indicated.is_reference_open:
        return actual
    half = max(abs(spread**e - factor) for e in (0.0, 1.0)) * abs(flow.value)
    if abs(spread - 1.0) >= NEAR_STANDARD_FRAC:
        case.flags.warn(
            "air-reference-unknown",
            "whether the instrument shows actual or standard flow is not given; the two differ by "
            f"{percent_text(abs(spread - 1.0))} here and the interval takes in both",
            "type air_reference for the instrument, or is_standard_air for a flow on a display",
        )
    cause = Influence(
        id=f"{case.meter_id}:air_reference",
        label="air the instrument's flow is meant for",
        distribution=Distribution.RECTANGULAR,
    )
    u_std = u_from_half_width(half, distribution=Distribution.RECTANGULAR)
    return widen(actual, cause, u_std=u_std)
