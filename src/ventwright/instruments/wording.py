"""Quantities in messages, in both habits, and the collector of what is to be said of a reading."""

from __future__ import annotations

from typing import NoReturn

from ventwright.instruments.classes import Channel
from ventwright.quantities import Problem, Severity, format_quantity
from ventwright.quantities.dimension import Dimension


def velocity_text(velocity_m_s: float) -> str:
    """Metres per second with feet per minute in brackets.

    Parameters
    ----------
    velocity_m_s
        Velocity [m/s].

    >>> velocity_text(0.2)
    '0.20 m/s (39 fpm)'
    """
    return _both(velocity_m_s, Dimension.VELOCITY, ("m/s", 2), ("fpm", 0))


def flow_text(flow_m3_s: float) -> str:
    """Litres per second with cubic feet per minute in brackets.

    Parameters
    ----------
    flow_m3_s
        Flow [m³/s].

    >>> flow_text(0.00566)
    '5.7 L/s (12 cfm)'
    """
    return _both(flow_m3_s, Dimension.FLOW, ("L/s", 1), ("cfm", 0 if flow_m3_s > 0.004 else 1))


def pressure_text(pressure_pa: float) -> str:
    """Pascals with inches of water in brackets.

    Parameters
    ----------
    pressure_pa
        Pressure [Pa].

    >>> pressure_text(1.5)
    '1.5 Pa (0.006 in. w.c.)'
    """
    digits = 1 if abs(pressure_pa) >= 0.1 else 2
    return _both(pressure_pa, Dimension.PRESSURE, ("Pa", digits), ("in. w.c.", digits + 2))


def area_text(area_m2: float) -> str:
    """Square centimetres with square inches in brackets.

    Parameters
    ----------
    area_m2
        Area [m²].

    >>> area_text(0.0058064)
    '58 cm² (9.0 in²)'
    """
    return _both(area_m2, Dimension.AREA, ("cm²", 0), ("in²", 1))


def percent_text(value_frac: float) -> str:
    """A fraction in per cent.

    Parameters
    ----------
    value_frac
        Fraction [1].

    >>> percent_text(0.123), percent_text(0.012)
    ('12 %', '1.2 %')
    """
    return f"{100.0 * value_frac:.{0 if abs(value_frac) >= 0.095 else 1}f} %"


def _both(value: float, dimension: Dimension, si: tuple[str, int], ip: tuple[str, int]) -> str:
    texts = [
        format_quantity(value, dimension=dimension, unit_symbol=symbol, digits=digits)
        for symbol, digits in (si, ip)
    ]
    return f"{texts[0]} ({texts[1]})"


def channel_text(value_si: float, *, channel: Channel) -> str:
    """What a channel shows, in both habits.

    Parameters
    ----------
    value_si
        In the SI of the channel.
    channel
        Which one.

    >>> channel_text(0.2, channel=Channel.VELOCITY), channel_text(60.0, channel=Channel.POWER)
    ('0.20 m/s (39 fpm)', '60.0 W')
    """
    if channel is Channel.VELOCITY:
        return velocity_text(value_si)
    if channel is Channel.FLOW:
        return flow_text(value_si)
    if channel is Channel.PRESSURE:
        return pressure_text(value_si)
    if channel is Channel.TEMPERATURE:
        return _both(value_si, Dimension.TEMPERATURE, ("°C", 1), ("°F", 0))
    return percent_text(value_si) if channel is Channel.HUMIDITY else f"{value_si:.1f} W"


class Refused(Exception):
    """Leaves a method when no number can be given; the collector already holds the reason."""


class Flags:
    """Collects what is to be said of one reading; `where` is named in each problem."""

    def __init__(self, *, where: str) -> None:
        self.where = where
        self.problems: list[Problem] = []

    def note(self, code: str, message: str, remedy: str = "") -> None:
        """Say something that leaves the number as it is."""
        self._add(code, message, remedy, Severity.NOTE)

    def warn(self, code: str, message: str, remedy: str) -> None:
        """Say something that widens the number or puts it under reserve."""
        self._add(code, message, remedy, Severity.WARNING)

    def refuse(self, code: str, message: str, remedy: str) -> NoReturn:
        """Say why there is no number, and leave."""
        self._add(code, message, remedy, Severity.REFUSAL)
        raise Refused(code)

    def _add(self, code: str, message: str, remedy: str, severity: Severity) -> None:
        self.problems.append(
            Problem(code=code, where=self.where, message=message, remedy=remedy, severity=severity)
        )
