"""What every device comes down to: channels, and what each shows from moment to moment."""

from __future__ import annotations

from collections.abc import AsyncIterator
from typing import Protocol

from ventwright.quantities import Dimension, Problem, QuantityError, Severity, UserError
from ventwright.quantities import unit_of_measure as measure_of
from ventwright.quantities.records import dataclass

STREAMED = (
    Dimension.VELOCITY,
    Dimension.PRESSURE,
    Dimension.FLOW,
    Dimension.TEMPERATURE,
    Dimension.FRACTION,
    Dimension.POWER,
)
"""Kinds of quantity that a reading can be made of."""


@dataclass(frozen=True, slots=True, kw_only=True)
class StreamChannel:
    """One thing that a device shows, in one unit of measure; `station` is where it is mounted."""

    id: str
    name: str
    dimension: Dimension
    unit_of_measure: str
    station: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Shown:
    """What one channel showed at one moment.

    `text` is a plain number with a decimal point and the digits the device sends; empty where the
    device itself says that it knows no value, or where `problem` says why there is none.
    """

    channel: str
    text: str
    problem: Problem | None = None


class OpenDevice(Protocol):
    """A device that is connected."""

    channels: tuple[StreamChannel, ...]

    def shown(self) -> AsyncIterator[Shown]:
        """What its channels show, as it comes, until the device is gone."""


def dimension_streamed(unit_of_measure: str) -> Dimension | None:
    """The kind of quantity that a unit of measure stands for in a stream; None if none does.

    Parameters
    ----------
    unit_of_measure
        Any spelling of the closed table.

    >>> dimension_streamed("°C").value, dimension_streamed("Pa").value, dimension_streamed("kg")
    ('temperature', 'pressure', None)
    """
    for dimension in STREAMED:
        try:
            measure_of(unit_of_measure, dimension=dimension)
        except QuantityError:
            continue
        return dimension
    return None


def trouble_of(code: str, device: str, message: str, remedy: str) -> Problem:
    """What is wrong with a device, as a problem.

    Parameters
    ----------
    code
        For programs.
    device
        Its name.
    message
        What is wrong.
    remedy
        What to do.

    >>> trouble_of("value-not-known", "probe", "it has no value", "warm it up").where
    'probe'
    """
    return Problem(
        code=code, where=device, message=message, remedy=remedy, severity=Severity.REFUSAL
    )


def gone(code: str, device: str, message: str, remedy: str) -> UserError:
    """A device that can't be heard, as something the user can mend.

    Parameters
    ----------
    code
        For programs.
    device
        Its name.
    message
        What is wrong.
    remedy
        What to do.

    >>> str(gone("device-away", "probe", "no answer", "switch it on"))
    'probe: no answer; switch it on'
    """
    problem = trouble_of(code, device, message, remedy)
    return UserError(f"{device}: {message}; {remedy}", problems=(problem,))


def extra_missing(device: str, *, package: str, extra: str) -> UserError:
    """A package that is installed only on demand and is not there.

    Parameters
    ----------
    device
        Which device needs it.
    package
        The package.
    extra
        The extra that brings it.

    >>> print(extra_missing("probe", package="bleak", extra="ble"))
    probe: the package bleak is not installed; install it with: pip install 'ventwright[ble]'
    """
    return gone(
        "extra-missing",
        device,
        f"the package {package} is not installed",
        f"install it with: pip install 'ventwright[{extra}]'",
    )
