"""What an instrument's channel can do: as typed, or typical of its class, and then said so.

The typical figures come from memory and are the wide end of what data sheets of the class state.
They hold only where nothing was typed, and `instrument_flags` says so once for each instrument.
"""

from __future__ import annotations

from enum import StrEnum
from typing import TYPE_CHECKING

from ventwright.house import Instrument, InstrumentKind, Method
from ventwright.quantities import Problem, Severity
from ventwright.quantities.records import dataclass

if TYPE_CHECKING:
    from datetime import date

YEAR_DAYS = 366
_SHOWS_ONE_OF = (InstrumentKind.PITOT, InstrumentKind.BUILT_IN)
"""Classes whose channels are alternatives, so that one typed channel is enough."""


class Channel(StrEnum):
    """What an instrument shows; the values are the names of the record's channel fields."""

    VELOCITY = "velocity"
    PRESSURE = "pressure"
    FLOW = "flow"
    TEMPERATURE = "temperature"
    HUMIDITY = "humidity"
    POWER = "power"


_SUFFIXES = {
    Channel.VELOCITY: ("m_s", "m_s"),
    Channel.PRESSURE: ("pa", "pa"),
    Channel.FLOW: ("m3_s", "m3_s"),
    Channel.TEMPERATURE: ("k", "c"),
    Channel.HUMIDITY: ("frac", "frac"),
    Channel.POWER: ("w", "w"),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Figures:
    """Limits of a channel, all in the SI of what it shows; None where there is none.

    Parameters
    ----------
    of_reading_frac
        Accuracy limit in proportion to the reading.
    fixed_si
        Accuracy limit that doesn't scale.
    resolution_si
        Step of the display.
    low_si, high_si
        Range.
    start_si
        Value below which nothing moves.
    is_range_typed, is_start_typed
        Whether range and start were typed, or are typical of the class.
    """

    of_reading_frac: float = 0.0
    fixed_si: float = 0.0
    resolution_si: float = 0.0
    low_si: float | None = None
    high_si: float | None = None
    start_si: float | None = None
    is_range_typed: bool = False
    is_start_typed: bool = False

    def half_width_si(self, value_si: float) -> float:
        """Accuracy limit at one value."""
        return self.of_reading_frac * abs(value_si) + self.fixed_si


_PRESSURE = Figures(of_reading_frac=0.01, fixed_si=0.5, resolution_si=0.1, high_si=1000.0)
_TEMPERATURE = Figures(fixed_si=0.5, resolution_si=0.1, low_si=-40.0, high_si=90.0)
_HUMIDITY = Figures(fixed_si=0.03, resolution_si=0.001)
_LITRE = 1e-3

TYPICAL: dict[InstrumentKind, dict[Channel, Figures]] = {
    InstrumentKind.THERMAL_ANEMOMETER: {
        Channel.VELOCITY: Figures(
            of_reading_frac=0.05, fixed_si=0.1, resolution_si=0.01, low_si=0.1, high_si=20.0
        ),
    },
    InstrumentKind.VANE_METER: {
        Channel.VELOCITY: Figures(
            of_reading_frac=0.015,
            fixed_si=0.1,
            resolution_si=0.01,
            low_si=0.3,
            high_si=20.0,
            start_si=0.4,
        ),
    },
    InstrumentKind.PITOT: {
        Channel.PRESSURE: _PRESSURE,
        Channel.VELOCITY: Figures(
            of_reading_frac=0.03, fixed_si=0.2, resolution_si=0.1, low_si=1.5, high_si=40.0
        ),
    },
    InstrumentKind.MANOMETER: {Channel.PRESSURE: _PRESSURE},
    InstrumentKind.FLOW_BOX: {Channel.PRESSURE: _PRESSURE},
    InstrumentKind.FLOW_HOOD: {
        Channel.FLOW: Figures(
            of_reading_frac=0.03,
            fixed_si=3.3 * _LITRE,
            resolution_si=0.5 * _LITRE,
            low_si=12.0 * _LITRE,
            high_si=1200.0 * _LITRE,
        ),
    },
    InstrumentKind.COMPENSATED_HOOD: {
        Channel.FLOW: Figures(
            of_reading_frac=0.05,
            fixed_si=0.5 * _LITRE,
            resolution_si=0.5 * _LITRE,
            low_si=5.0 * _LITRE,
            high_si=140.0 * _LITRE,
        ),
    },
    InstrumentKind.THERMO_HYGROMETER: {
        Channel.TEMPERATURE: _TEMPERATURE,
        Channel.HUMIDITY: _HUMIDITY,
    },
    InstrumentKind.SURFACE_THERMOMETER: {
        Channel.TEMPERATURE: Figures(fixed_si=1.5, resolution_si=0.1, low_si=-30.0, high_si=200.0),
    },
    InstrumentKind.POWER_METER: {
        Channel.POWER: Figures(of_reading_frac=0.02, fixed_si=1.0, resolution_si=0.1),
    },
    InstrumentKind.BAROMETER: {
        Channel.PRESSURE: Figures(
            fixed_si=300.0, resolution_si=10.0, low_si=50_000.0, high_si=110_000.0
        ),
    },
    InstrumentKind.BUILT_IN: {
        Channel.FLOW: Figures(of_reading_frac=0.15, resolution_si=0.5 * _LITRE),
        Channel.PRESSURE: Figures(of_reading_frac=0.05, fixed_si=2.0, resolution_si=1.0),
        Channel.TEMPERATURE: Figures(fixed_si=1.0, resolution_si=0.1),
        Channel.HUMIDITY: Figures(fixed_si=0.05, resolution_si=0.01),
        Channel.POWER: Figures(of_reading_frac=0.05, fixed_si=2.0, resolution_si=1.0),
    },
}
"""Typical figures of each class. Source: instrument_classes"""


USUAL: dict[Method, tuple[Channel, InstrumentKind]] = {
    Method.SWEEP: (Channel.VELOCITY, InstrumentKind.THERMAL_ANEMOMETER),
    Method.TRAVERSE: (Channel.VELOCITY, InstrumentKind.THERMAL_ANEMOMETER),
    Method.FIXED_POINT: (Channel.VELOCITY, InstrumentKind.THERMAL_ANEMOMETER),
    Method.VANE: (Channel.VELOCITY, InstrumentKind.VANE_METER),
    Method.FLOW_BOX: (Channel.PRESSURE, InstrumentKind.FLOW_BOX),
    Method.TERMINAL_PRESSURE: (Channel.PRESSURE, InstrumentKind.MANOMETER),
    Method.EXCHANGER_PRESSURE: (Channel.PRESSURE, InstrumentKind.MANOMETER),
    Method.HOOD: (Channel.FLOW, InstrumentKind.FLOW_HOOD),
    Method.DIRECT_FLOW: (Channel.FLOW, InstrumentKind.BUILT_IN),
    Method.AIR_STATE: (Channel.TEMPERATURE, InstrumentKind.THERMO_HYGROMETER),
    Method.SURFACE_TEMPERATURE: (Channel.TEMPERATURE, InstrumentKind.SURFACE_THERMOMETER),
    Method.POWER: (Channel.POWER, InstrumentKind.POWER_METER),
    Method.PRESSURE_DIFFERENCE: (Channel.PRESSURE, InstrumentKind.MANOMETER),
    Method.BAROMETER: (Channel.PRESSURE, InstrumentKind.BAROMETER),
}
"""What each method reads, and the class of instrument it is usually read with."""


def shows(instrument: Instrument, channel: Channel) -> bool:
    """Whether an instrument has a channel: typed, or usual for its class.

    Parameters
    ----------
    instrument
        Any instrument.
    channel
        What would be read from it.
    """
    is_typed = getattr(instrument, channel.value) is not None
    return is_typed or channel in TYPICAL[instrument.kind]


def figures_of(
    instrument: Instrument | None, channel: Channel, *, usual: InstrumentKind
) -> Figures:
    """Limits of one channel: what is typed, and the class's figure for each thing that is not.

    An accuracy typed in one part only (of reading, or fixed) is complete: the other part is zero.

    Parameters
    ----------
    instrument
        The instrument, None where none was named.
    channel
        What it shows.
    usual
        Class to fall back on where the instrument's own class has no such channel.

    Returns
    -------
    Figures
        Complete.

    Source: instrument_classes
    """
    kind = usual if instrument is None else instrument.kind
    typical = TYPICAL[kind].get(channel) or TYPICAL[usual][channel]
    typed = None if instrument is None else getattr(instrument, channel.value)
    if typed is None:
        return typical
    step, level = _SUFFIXES[channel]
    of_reading = getattr(typed, "accuracy_of_reading_frac", None)
    fixed = getattr(typed, f"accuracy_fixed_{step}", None)
    if of_reading is None and fixed is None:
        of_reading, fixed = typical.of_reading_frac, typical.fixed_si
    resolution = getattr(typed, f"resolution_{step}", None)
    low = getattr(typed, f"range_min_{level}", None)
    high = getattr(typed, f"range_max_{level}", None)
    start = getattr(typed, f"start_velocity_{step}", None)
    is_range_typed = low is not None or high is not None
    return Figures(
        of_reading_frac=of_reading or 0.0,
        fixed_si=fixed or 0.0,
        resolution_si=typical.resolution_si if resolution is None else resolution,
        low_si=low if is_range_typed else typical.low_si,
        high_si=high if is_range_typed else typical.high_si,
        start_si=typical.start_si if start is None else start,
        is_range_typed=is_range_typed,
        is_start_typed=start is not None,
    )


def instrument_flags(instrument: Instrument, *, on: date | None) -> tuple[Problem, ...]:
    """What is to be said of an instrument once, whatever was read with it.

    Parameters
    ----------
    instrument
        Any instrument.
    on
        Day of the visit, None if unknown.

    Returns
    -------
    tuple of Problem
        Calibration overdue (warning) or unknown (note), and typical figures in use (note).

    >>> from ventwright.house import Instrument, InstrumentKind, Method
    >>> meter = Instrument(id="v1", kind=InstrumentKind.VANE_METER)
    >>> [p.code for p in instrument_flags(meter, on=None)]
    ['calibration-unknown', 'class-figures']
    """
    return (*_calibration_flags(instrument, on), *_class_flags(instrument))


def _calibration_flags(instrument: Instrument, on: date | None) -> list[Problem]:
    where = f"instrument {instrument.id}"
    due, done = instrument.calibration_due, instrument.calibrated_on
    if due is None and done is None:
        return [
            Problem(
                code="calibration-unknown",
                where=where,
                message="no calibration date is given",
                remedy="type the dates and the number of the certificate",
                severity=Severity.NOTE,
            )
        ]
    if on is None:
        return []
    if due is not None and due < on:
        return [
            Problem(
                code="calibration-overdue",
                where=where,
                message=f"calibration was due on {due.isoformat()}, "
                f"{(on - due).days} days before this visit",
                remedy="have it calibrated; compare with a calibrated instrument until then",
                severity=Severity.WARNING,
            )
        ]
    if due is None and done is not None and (on - done).days > YEAR_DAYS:
        return [
            Problem(
                code="calibration-old",
                where=where,
                message=f"last calibrated on {done.isoformat()}, over a year before this visit",
                remedy="check the maker's interval and type the date it is due",
                severity=Severity.NOTE,
            )
        ]
    return []


def _class_flags(instrument: Instrument) -> list[Problem]:
    channels = tuple(TYPICAL[instrument.kind])
    untyped = [c.value for c in channels if not _has_accuracy(instrument, c)]
    needs_all = instrument.kind not in _SHOWS_ONE_OF
    if not untyped or (len(untyped) < len(channels) and not needs_all):
        return []
    return [
        Problem(
            code="class-figures",
            where=f"instrument {instrument.id}",
            message=f"no accuracy typed for {' and '.join(untyped)}: figures typical of the class "
            "are used, which are from memory and wide",
            remedy="type the accuracy from the data sheet",
            severity=Severity.NOTE,
        )
    ]


def _has_accuracy(instrument: Instrument, channel: Channel) -> bool:
    typed = getattr(instrument, channel.value)
    step, _ = _SUFFIXES[channel]
    parts = ("accuracy_of_reading_frac", f"accuracy_fixed_{step}")
    return any(getattr(typed, part, None) is not None for part in parts)
