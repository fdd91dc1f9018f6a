"""The characteristics of Bluetooth's Environmental Sensing Service: bytes in, numbers out. Pure.

Numbers, formats and special values are those of the Assigned Numbers and of the GATT Specification
Supplement; the descriptors are those of the Environmental Sensing Service 1.0. All values are
little-endian. The service knows no volume flow and no pressure difference of a duct; its speeds are
those of wind, and a wind speed of a probe in a duct is a velocity like any other.

Source: bluetooth_assigned_numbers, bluetooth_ess
"""

from __future__ import annotations

from enum import IntEnum, StrEnum

from ventwright.quantities.records import dataclass

SERVICE_UUID16 = 0x181A
USER_DESCRIPTION_UUID16 = 0x2901
ES_MEASUREMENT_UUID16 = 0x290C
ES_TRIGGER_SETTING_UUID16 = 0x290D
_BASE = "-0000-1000-8000-00805f9b34fb"


class Sensed(StrEnum):
    """Characteristics that a reading can be made of."""

    TEMPERATURE = "temperature"
    HUMIDITY = "humidity"
    PRESSURE = "pressure"
    DEW_POINT = "dew_point"
    TRUE_WIND_SPEED = "true_wind_speed"
    APPARENT_WIND_SPEED = "apparent_wind_speed"


@dataclass(frozen=True, slots=True, kw_only=True)
class Format:
    """How a characteristic is written: value = raw · 10^−`decimal_digits`.

    `not_known` is the raw value that stands for "value is not known"; `low` and `high` are the
    range of values that the specification allows.
    """

    uuid16: int
    size_bytes: int
    is_signed: bool
    decimal_digits: int
    unit_of_measure: str
    not_known: int | None = None
    low: float | None = None
    high: float | None = None


SENSED: dict[Sensed, Format] = {
    Sensed.PRESSURE: Format(
        uuid16=0x2A6D, size_bytes=4, is_signed=False, decimal_digits=1, unit_of_measure="Pa"
    ),
    Sensed.TEMPERATURE: Format(
        uuid16=0x2A6E,
        size_bytes=2,
        is_signed=True,
        decimal_digits=2,
        unit_of_measure="°C",
        not_known=-0x8000,
        low=-273.15,
        high=327.67,
    ),
    Sensed.HUMIDITY: Format(
        uuid16=0x2A6F,
        size_bytes=2,
        is_signed=False,
        decimal_digits=2,
        unit_of_measure="%",
        not_known=0xFFFF,
        low=0.0,
        high=100.0,
    ),
    Sensed.TRUE_WIND_SPEED: Format(
        uuid16=0x2A70, size_bytes=2, is_signed=False, decimal_digits=2, unit_of_measure="m/s"
    ),
    Sensed.APPARENT_WIND_SPEED: Format(
        uuid16=0x2A72, size_bytes=2, is_signed=False, decimal_digits=2, unit_of_measure="m/s"
    ),
    Sensed.DEW_POINT: Format(
        uuid16=0x2A7B, size_bytes=1, is_signed=True, decimal_digits=0, unit_of_measure="°C"
    ),
}


def uuid_text(uuid16: int) -> str:
    """The long form of a number that Bluetooth assigned.

    Parameters
    ----------
    uuid16
        The short form.

    >>> uuid_text(0x2A6E)
    '00002a6e-0000-1000-8000-00805f9b34fb'
    """
    return f"0000{uuid16:04x}{_BASE}"


def text_from_value(data: bytes, sensed: Sensed) -> str:
    """What a characteristic shows, as a plain number.

    Parameters
    ----------
    data
        Its value as sent.
    sensed
        Which one it is.

    Returns
    -------
    str
        With the digits of its resolution; empty where the device says that the value is not known,
        or sends what the specification forbids: too few bytes or a value out of its range.

    Source: bluetooth_assigned_numbers

    >>> text_from_value(bytes.fromhex("6908"), Sensed.TEMPERATURE)
    '21.53'
    >>> text_from_value(bytes.fromhex("0080"), Sensed.TEMPERATURE)
    ''
    """
    form = SENSED[sensed]
    if len(data) != form.size_bytes:
        return ""
    raw = int.from_bytes(data, "little", signed=form.is_signed)
    value = raw / 10**form.decimal_digits
    is_low = form.low is not None and value < form.low
    is_high = form.high is not None and value > form.high
    if raw == form.not_known or is_low or is_high:
        return ""
    return f"{value:.{form.decimal_digits}f}"


class Sampling(IntEnum):
    """What a device does to a value before it sends it (ES Measurement descriptor)."""

    UNSPECIFIED = 0
    INSTANTANEOUS = 1
    ARITHMETIC_MEAN = 2
    RMS = 3
    MAXIMUM = 4
    MINIMUM = 5
    ACCUMULATED = 6
    COUNT = 7


AVERAGES_WELL = (Sampling.UNSPECIFIED, Sampling.INSTANTANEOUS, Sampling.ARITHMETIC_MEAN)
"""The mean of maxima is no mean of the air."""


@dataclass(frozen=True, slots=True, kw_only=True)
class EsMeasurement:
    """What a device says of how it measures; an interval of zero means that it does not say."""

    sampling: Sampling
    update_interval_s: int


def es_measurement(data: bytes) -> EsMeasurement | None:
    """Read an ES Measurement descriptor; None if it is none.

    Parameters
    ----------
    data
        Eleven bytes: flags (2), sampling function (1), measurement period (3), update interval (3),
        application (1), measurement uncertainty (1); the last two are not read.

    Source: bluetooth_ess

    >>> es_measurement(bytes.fromhex("0000 02 0a0000 010000 01 06")).sampling.name
    'ARITHMETIC_MEAN'
    """
    if len(data) != 11 or data[2] > max(Sampling):
        return None
    return EsMeasurement(
        sampling=Sampling(data[2]),
        update_interval_s=int.from_bytes(data[6:9], "little"),
    )


def is_paced(trigger: bytes) -> bool:
    """Whether an ES Trigger Setting makes a device notify at an even pace of time.

    One that notifies when a value changes sends many values while the air is restless and few
    while it is calm: their mean is not that of the time.

    Parameters
    ----------
    trigger
        The descriptor: a condition, and for 1 (fixed interval) three bytes of seconds.

    Source: bluetooth_ess

    >>> is_paced(bytes.fromhex("01 010000")), is_paced(bytes.fromhex("03"))
    (True, False)
    """
    return len(trigger) == 4 and trigger[0] == 1 and any(trigger[1:])
