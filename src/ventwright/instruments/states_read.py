"""States of air and plain quantities from a reading."""

from __future__ import annotations

import math

from ventwright.air import AirEstimate, AirStateError, air_estimate_from, moist_air_from
from ventwright.house import (
    AirState,
    Barometer,
    ElectricPower,
    Instrument,
    InstrumentKind,
    PressureDifference,
    Reading,
    SurfaceTemperature,
)
from ventwright.instruments.case import check_range
from ventwright.instruments.classes import Channel, figures_of
from ventwright.instruments.indication import indication, uncertain
from ventwright.instruments.results import AirInterpretation, ScalarInterpretation
from ventwright.instruments.wording import Flags, Refused
from ventwright.quantities.records import replace
from ventwright.uncertainty import Distribution, Estimate, Influence, u_from_half_width, widen

WICK_HALF_WIDTH_K = 0.5
"""What wick, water and draught add to a wet bulb (judgement)."""
CONTACT_HALF_WIDTH_K = 0.5
"""What contact or emissivity adds to a surface temperature (judgement)."""


def interpret_air_state(
    reading: Reading, *, instrument: Instrument | None, pressure_pa: Estimate
) -> AirInterpretation:
    """State of the air at a station from its temperature and one measure of humidity.

    Temperature and humidity each carry ``instrument:{id}:{channel}:air_state``, so what one probe
    does wrong at all four stations cancels where only differences count. A dew point shown by a
    thermo-hygrometer is computed from its relative humidity, whose accuracy is therefore taken.

    Parameters
    ----------
    reading
        A reading of method ``air_state``.
    instrument
        The probe, None where none is named; typical figures then hold.
    pressure_pa
        Barometric pressure [Pa].

    Returns
    -------
    AirInterpretation
        `air` is None after a refusal.

    Raises
    ------
    ValueError
        If the reading is of another method: a fault of the caller.

    Source: gum_2008, method_judgement

    >>> from ventwright.house import Reader, parse_reading
    >>> from ventwright.uncertainty import exact
    >>> reading = parse_reading({"id": "a1", "station": "SUP", "setting": "continuous",
    ...     "phase": "as_found", "method": "air_state", "temperature": "68 °F",
    ...     "rel_humidity": "48 %"}, where="r", reader=Reader())
    >>> found = interpret_air_state(reading, instrument=None, pressure_pa=exact(101325.0))
    >>> round(found.air.dew_point_c.value, 1)
    8.7
    """
    look = reading.look
    if not isinstance(look, AirState):
        raise ValueError(f"method {reading.method.value!r} reads no state of air")
    flags = _head_flags(reading, instrument)
    try:
        air = _air(reading, look, instrument=instrument, pressure_pa=pressure_pa, flags=flags)
    except Refused:
        air = None
    except AirStateError as refusal:
        flags.problems += [replace(p, where=flags.where) for p in refusal.problems]
        air = None
    return AirInterpretation(reading_id=reading.id, air=air, flags=tuple(flags.problems))


def _head_flags(reading: Reading, instrument: Instrument | None) -> Flags:
    flags = Flags(where=f"reading {reading.id}")
    if instrument is None:
        flags.warn(
            "instrument-unnamed",
            "no instrument is named; wide figures of its usual class hold",
            "name the instrument of this reading",
        )
    if reading.is_defrosting:
        flags.warn(
            "defrosting",
            "read during defrost, when states are not those of the setting",
            "read again when the unit runs as set",
        )
    return flags


def _air(
    reading: Reading,
    look: AirState,
    *,
    instrument: Instrument | None,
    pressure_pa: Estimate,
    flags: Flags,
) -> AirEstimate:
    def estimate(value: float, channel: Channel) -> Estimate:
        return _estimate(
            value, reading=reading, instrument=instrument, channel=channel, flags=flags
        )

    temperature = estimate(look.temperature_c, Channel.TEMPERATURE)
    if look.rel_humidity_frac is not None:
        humidity = look.rel_humidity_frac
    elif look.dew_point_c is not None:
        humidity = moist_air_from(
            pressure_pa=pressure_pa.value,
            temperature_c=look.temperature_c,
            dew_point_c=look.dew_point_c,
            humidity_over=look.humidity_over,
        ).rel_humidity_frac
    elif look.wet_bulb_c is not None:
        return air_estimate_from(
            pressure_pa=pressure_pa,
            temperature_c=temperature,
            wet_bulb_c=_wet_bulb(
                look.wet_bulb_c, reading=reading, instrument=instrument, flags=flags
            ),
            humidity_over=look.humidity_over,
        )
    else:
        flags.refuse(
            "humidity-missing",
            "a temperature without a measure of humidity is no state of air",
            "type relative humidity, dew point or wet bulb",
        )
    return air_estimate_from(
        pressure_pa=pressure_pa,
        temperature_c=temperature,
        rel_humidity_frac=estimate(humidity, Channel.HUMIDITY),
        humidity_over=look.humidity_over,
    )


def _wet_bulb(
    value_c: float, *, reading: Reading, instrument: Instrument | None, flags: Flags
) -> Estimate:
    """A wet bulb is another thermometer with a wick: it shares nothing with the dry one."""
    if not math.isfinite(value_c):
        flags.refuse("reading-not-finite", f"the wet bulb is {value_c!r}", "type a number")
    figures = figures_of(instrument, Channel.TEMPERATURE, usual=InstrumentKind.THERMO_HYGROMETER)
    meter = f"reading:{reading.id}" if instrument is None else f"instrument:{instrument.id}"
    return uncertain(
        value_c,
        half_width=figures.half_width_si(value_c) + WICK_HALF_WIDTH_K,
        id=f"{meter}:wet_bulb:{reading.method.value}",
        label="wet bulb, thermometer and wick",
    )


def _estimate(
    value_si: float,
    *,
    reading: Reading,
    instrument: Instrument | None,
    channel: Channel,
    flags: Flags,
    usual: InstrumentKind = InstrumentKind.THERMO_HYGROMETER,
) -> Estimate:
    if not math.isfinite(value_si):
        flags.refuse("reading-not-finite", f"{channel.value} is {value_si!r}", "type a number")
    figures = figures_of(instrument, channel, usual=usual)
    # A gauge's range holds to both sides of zero.
    magnitude = abs(value_si) if channel is Channel.PRESSURE else value_si
    check_range(flags, magnitude, figures=figures, channel=channel)
    return indication(
        (value_si,),
        reading=reading,
        instrument=instrument,
        channel=channel,
        figures=figures,
        flags=flags,
    )


def interpret_scalar(reading: Reading, *, instrument: Instrument | None) -> ScalarInterpretation:
    """One plain quantity: surface temperature, electrical power, pressure difference, barometer.

    Parameters
    ----------
    reading
        A reading of one of these methods.
    instrument
        The instrument, None where none is named; typical figures then hold.

    Returns
    -------
    ScalarInterpretation
        Estimate in SI (°C for a temperature); None after a refusal.

    Raises
    ------
    ValueError
        If the reading is of another method: a fault of the caller.

    Source: gum_2008, method_judgement

    >>> from ventwright.house import Reader, parse_reading
    >>> reading = parse_reading({"id": "p1", "station": "unit", "setting": "continuous",
    ...     "phase": "as_found", "method": "power", "power": "62 W"}, where="r", reader=Reader())
    >>> interpret_scalar(reading, instrument=None).estimate.value
    62.0
    """
    value, channel, usual = _scalar(reading)
    flags = _head_flags(reading, instrument)
    try:
        if channel is Channel.POWER and value <= 0.0:
            flags.refuse(
                "reading-not-positive",
                f"a power of {value:g} W shows no fan that runs",
                "read again with the unit running at the named setting",
            )
        estimate = _estimate(
            value,
            reading=reading,
            instrument=instrument,
            channel=channel,
            flags=flags,
            usual=usual,
        )
    except Refused:
        return ScalarInterpretation(
            reading_id=reading.id, estimate=None, flags=tuple(flags.problems)
        )
    if isinstance(reading.look, SurfaceTemperature):
        contact = Influence(
            id=f"reading:{reading.id}:contact",
            label="contact or emissivity at the surface",
            distribution=Distribution.RECTANGULAR,
        )
        u_std = u_from_half_width(CONTACT_HALF_WIDTH_K, distribution=Distribution.RECTANGULAR)
        estimate = widen(estimate, contact, u_std=u_std)
    return ScalarInterpretation(
        reading_id=reading.id, estimate=estimate, flags=tuple(flags.problems)
    )


def _scalar(reading: Reading) -> tuple[float, Channel, InstrumentKind]:
    look = reading.look
    if isinstance(look, SurfaceTemperature):
        return look.temperature_c, Channel.TEMPERATURE, InstrumentKind.SURFACE_THERMOMETER
    if isinstance(look, ElectricPower):
        return look.power_w, Channel.POWER, InstrumentKind.POWER_METER
    if isinstance(look, PressureDifference):
        return look.pressure_diff_pa, Channel.PRESSURE, InstrumentKind.MANOMETER
    if isinstance(look, Barometer):
        return look.pressure_pa, Channel.PRESSURE, InstrumentKind.BAROMETER
    raise ValueError(f"method {reading.method.value!r} reads no plain quantity")
