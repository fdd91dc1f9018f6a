"""From the values of one reading to an estimate of what the instrument showed.

An indication carries up to four influences:

- ``instrument:{id}:{channel}:{method}``, the calibration: common to all readings of one instrument
  by one method, so that it cancels in shares and not in flows;
- ``reading:{id}:zero``, half the variance of the fixed part of the data sheet's limit, proper to
  the reading: that part takes in drift of the zero, draught and non-linearity, which change from
  one reading to the next. The two together are exactly the data sheet's limit over √3. For
  temperature, humidity and power the whole limit is calibration;
- ``reading:{id}:scatter``, what the hand and the air do between one look and the next. With few
  values their own spread says little, so it is pooled (GUM 4.2.4) with a typical spread of the
  method worth `PRIOR_DOF` degrees of freedom, and never taken smaller than the values' own, nor
  than what the samples of a timed average say: they see the air, not how evenly a hand would have
  moved another time, and so may widen it and never narrow it;
- ``reading:{id}:resolution``, half a step of the display, rectangular.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from ventwright.house import Instrument, Method, Reading
from ventwright.instruments.classes import Channel, Figures
from ventwright.instruments.sampled import sample_spread
from ventwright.instruments.wording import Flags, percent_text
from ventwright.quantities.records import dataclass
from ventwright.uncertainty import (
    Distribution,
    Estimate,
    Influence,
    combine,
    measured,
    u_from_half_width,
    widen,
)

PRIOR_DOF = 5.0
"""Weight of the typical spread beside the values' own (judgement)."""
OUTSIZED_SPREAD_RATIO = 2.5
"""Own spread over typical spread above which the values contradict each other (judgement)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Typical:
    """Spread of one look by one method: in proportion, and never below a floor (judgement)."""

    spread_frac: float
    floor_si: float = 0.0


TYPICAL_SPREAD = {
    Method.SWEEP: Typical(spread_frac=0.03, floor_si=0.02),
    Method.TRAVERSE: Typical(spread_frac=0.04, floor_si=0.02),
    Method.FIXED_POINT: Typical(spread_frac=0.03, floor_si=0.02),
    Method.VANE: Typical(spread_frac=0.02, floor_si=0.02),
    Method.FLOW_BOX: Typical(spread_frac=0.03, floor_si=0.1),
    Method.TERMINAL_PRESSURE: Typical(spread_frac=0.03, floor_si=0.1),
    Method.EXCHANGER_PRESSURE: Typical(spread_frac=0.02, floor_si=0.3),
    Method.HOOD: Typical(spread_frac=0.03),
    Method.DIRECT_FLOW: Typical(spread_frac=0.02),
    Method.PRESSURE_DIFFERENCE: Typical(spread_frac=0.03, floor_si=0.2),
    Method.BAROMETER: Typical(spread_frac=0.0),
    Method.POWER: Typical(spread_frac=0.01, floor_si=0.2),
    Method.SURFACE_TEMPERATURE: Typical(spread_frac=0.0, floor_si=0.2),
    Method.AIR_STATE: Typical(spread_frac=0.0, floor_si=0.15),
}
"""Typical spread of one look by each method, in the SI of what is shown.

Source: method_judgement
"""
HUMIDITY_SPREAD = Typical(spread_frac=0.0, floor_si=0.01)

MOST_SI = {Channel.VELOCITY: 100.0, Channel.PRESSURE: 20_000.0, Channel.FLOW: 50.0}
"""More than this is no reading in a house, but a slip of the pen or of the unit (judgement)."""


def positive_values(
    values: Sequence[float], *, flags: Flags, channel: Channel
) -> tuple[float, ...]:
    """The values if all are above zero and possible in a house; otherwise refused.

    Parameters
    ----------
    values
        As typed, in SI.
    flags
        Takes the refusal.
    channel
        What was read.
    """
    what = channel.value
    if not values:
        flags.refuse("reading-empty", f"no {what} is given", f"type at least one {what}")
    for value in values:
        if not value > 0.0:
            flags.refuse(
                "reading-not-positive",
                f"a {what} of {value:g} shows no flow that could be told",
                "read again; if nothing moves, write that in a note rather than as a zero",
            )
        if value > MOST_SI[channel]:
            flags.refuse(
                "reading-implausible",
                f"a {what} of {value:g} in SI is not possible in a house; the most reckoned with "
                f"is {MOST_SI[channel]:g}",
                "check number and unit",
            )
    return tuple(values)


def same_sign_values(
    values: Sequence[float], *, flags: Flags, channel: Channel
) -> tuple[float, ...]:
    """Magnitudes of pressure drops: a box under extract reads below the room, hence negative.

    Parameters
    ----------
    values
        As typed, in SI.
    flags
        Takes a refusal where signs differ.
    channel
        What was read.
    """
    if values and all(v < 0.0 for v in values):
        values = [-v for v in values]
    return positive_values(values, flags=flags, channel=channel)


def side_value_pa(value_pa: float | None, *, flags: Flags, what: str) -> float | None:
    """A further pressure of a reading as a magnitude; None where it is not there or not possible.

    Parameters
    ----------
    value_pa
        As typed [Pa].
    flags
        Takes a warning where the value is left aside.
    what
        Name of the pressure, for the message.
    """
    if value_pa is None or value_pa == 0.0:
        return None
    if not abs(value_pa) <= MOST_SI[Channel.PRESSURE]:
        flags.warn(
            "pressure-implausible",
            f"a pressure {what} of {value_pa:g} Pa is not possible and is left aside",
            "check number and unit",
        )
        return None
    return abs(value_pa)


def calibration_id(instrument: Instrument | None, reading: Reading, channel: Channel) -> str:
    """Identity of the calibration influence; an instrument nobody named is taken as its own.

    Parameters
    ----------
    instrument
        The instrument or None.
    reading
        The reading.
    channel
        What the instrument showed.
    """
    if instrument is None:
        return f"reading:{reading.id}:{channel.value}"
    return f"instrument:{instrument.id}:{channel.value}:{reading.method.value}"


def own_id(reading: Reading, channel: Channel, part: str) -> str:
    """Identity of an influence proper to one reading; a state of air has two channels.

    Parameters
    ----------
    reading
        The reading.
    channel
        What the instrument showed.
    part
        ``zero``, ``scatter`` or ``resolution``.
    """
    if reading.method is Method.AIR_STATE:
        return f"reading:{reading.id}:{channel.value}:{part}"
    return f"reading:{reading.id}:{part}"


def indication(
    values: Sequence[float],
    *,
    reading: Reading,
    instrument: Instrument | None,
    channel: Channel,
    figures: Figures,
    flags: Flags,
) -> Estimate:
    """Mean of the values with calibration, zero, scatter and resolution.

    Parameters
    ----------
    values
        At least one, in SI.
    reading
        The reading, for ids and its method.
    instrument
        The instrument or None.
    channel
        What it showed.
    figures
        Its limits.
    flags
        Takes a warning where the values contradict each other.

    Returns
    -------
    Estimate
        In the SI of the channel.

    Source: gum_2008, method_judgement
    """
    mean = math.fsum(values) / len(values)
    estimate = with_instrument(
        mean, reading=reading, instrument=instrument, channel=channel, figures=figures
    )
    scatter, dof = _scatter(values, mean=mean, reading=reading, channel=channel, flags=flags)
    cause = Influence(
        id=own_id(reading, channel, "scatter"), label=f"scatter, reading {reading.id}", dof=dof
    )
    return widen(estimate, cause, u_std=scatter)


def with_instrument(
    value: float,
    *,
    reading: Reading,
    instrument: Instrument | None,
    channel: Channel,
    figures: Figures,
    look: str = "",
) -> Estimate:
    """One value with what the instrument itself adds: calibration, zero, resolution.

    Parameters
    ----------
    value
        In the SI of the channel.
    reading
        The reading, for ids.
    instrument
        The instrument or None.
    channel
        What it showed.
    figures
        Its limits.
    look
        Name of a further look within the reading, whose zero and resolution are its own.

    Source: gum_2008
    """
    name = "instrument not named" if instrument is None else instrument.name or instrument.id
    whole = u_from_half_width(figures.half_width_si(value), distribution=Distribution.RECTANGULAR)
    is_steady = channel in (Channel.TEMPERATURE, Channel.HUMIDITY, Channel.POWER)
    own = 0.0
    if not is_steady:
        own = u_from_half_width(figures.fixed_si, distribution=Distribution.RECTANGULAR)
        own *= math.sqrt(0.5)
    step = u_from_half_width(0.5 * figures.resolution_si, distribution=Distribution.RECTANGULAR)
    rectangular = Distribution.RECTANGULAR
    at = f"reading {reading.id}"
    parts = (
        (
            calibration_id(instrument, reading, channel),
            f"{name}, {channel.value} calibration",
            math.sqrt(max(whole * whole - own * own, 0.0)),
        ),
        (own_id(reading, channel, f"{look}zero"), f"zero and drift, {at}", own),
        (own_id(reading, channel, f"{look}resolution"), f"resolution, {at}", step),
    )
    return combine(
        value,
        [],
        extra=[
            (Influence(id=id, label=label, distribution=rectangular), u_std)
            for id, label, u_std in parts
        ],
    )


def _scatter(
    values: Sequence[float], *, mean: float, reading: Reading, channel: Channel, flags: Flags
) -> tuple[float, float]:
    """Standard uncertainty of the mean and its degrees of freedom."""
    typical = HUMIDITY_SPREAD if channel is Channel.HUMIDITY else TYPICAL_SPREAD[reading.method]
    prior = max(typical.spread_frac * abs(mean), typical.floor_si)
    count = len(values)
    squares = math.fsum((v - mean) ** 2 for v in values)
    dof = PRIOR_DOF + count - 1
    pooled = math.sqrt((PRIOR_DOF * prior * prior + squares) / dof)
    own = math.sqrt(squares / (count - 1)) if count > 1 else 0.0
    if own > OUTSIZED_SPREAD_RATIO * prior and mean > 0.0:
        flags.warn(
            "readings-apart",
            f"the {count} values lie {percent_text((max(values) - min(values)) / mean)} apart",
            "read again when fans and doors are steady; the spread is in the uncertainty",
        )
    usual = max(pooled, own) / math.sqrt(count)
    sampled = sample_spread(reading, channel=channel, flags=flags)
    return (sampled.u_std, sampled.dof) if sampled and sampled.u_std > usual else (usual, dof)


def uncertain(value: float, *, half_width: float, id: str, label: str) -> Estimate:
    """A factor known to lie within ± half width, as an estimate with one influence.

    Parameters
    ----------
    value
        The factor [1].
    half_width
        Half the full width, same measure.
    id
        Identity of the influence.
    label
        Words for the budget.

    Source: gum_2008

    >>> uncertain(0.92, half_width=0.03, id="f", label="path").components[0].influence.id
    'f'
    """
    return measured(
        value,
        u_std=u_from_half_width(half_width, distribution=Distribution.RECTANGULAR),
        id=id,
        label=label,
        distribution=Distribution.RECTANGULAR,
    )
