"""The samples behind a timed average: kept with the reading, as the display showed them."""

from __future__ import annotations

import math
from collections.abc import Sequence
from enum import StrEnum
from typing import TYPE_CHECKING, Protocol

from ventwright.house.hints import dimension_of, hints_of, key_of
from ventwright.quantities import Dimension, NumberStyle, QuantityError, TimeS, parse
from ventwright.quantities.records import dataclass

if TYPE_CHECKING:
    from ventwright.house.parse import Reader

MOST_SAMPLES_COUNT = 3600
"""An hour at one sample a second; more is a log, and kept as a file."""


class SampleOrigin(StrEnum):
    """How samples came in."""

    TYPED = "typed"
    STREAMED = "streamed"


@dataclass(frozen=True, slots=True, kw_only=True)
class Samples:
    """Samples taken one after another, whose mean is a value of the reading.

    `key` names that value (``velocities``, ``power``). `texts` are plain numbers with a decimal
    point, in the order taken, in `unit_of_measure`, with the digits that were shown. `interval_s`
    is the mean time from one to the next. `device` says where a stream came from.
    """

    key: str
    unit_of_measure: str
    interval_s: TimeS
    texts: tuple[str, ...]
    origin: SampleOrigin = SampleOrigin.TYPED
    device: str = ""


class _Look(Protocol):
    """Anything a method looked at: a record whose annotations carry kinds of quantity."""


def sample_numbers(samples: Samples) -> tuple[float, ...]:
    """The samples as numbers, in their own unit of measure.

    Parameters
    ----------
    samples
        As kept.

    >>> sample_numbers(Samples(key="power", unit_of_measure="W", interval_s=1.0,
    ...     texts=("61.0", "62.5")))
    (61.0, 62.5)
    """
    return tuple(map(float, samples.texts))


def sample_step(texts: Sequence[str]) -> float:
    """Step of the display that showed them: the place value of the finest last digit.

    Parameters
    ----------
    texts
        Plain numbers with a decimal point.

    >>> sample_step(["2.31", "2.3", "2"]), sample_step(["412", "408"])
    (0.01, 1.0)
    """
    return float(10.0 ** -max((len(t.partition(".")[2]) for t in texts), default=0))


def check_samples(samples: Samples, look: _Look, *, where: str, reader: Reader) -> bool:
    """Note where samples can't be what a value of the reading is the mean of.

    Parameters
    ----------
    samples
        As parsed.
    look
        What they were taken for.
    where
        Key path of the samples, for messages.
    reader
        Collects problems.

    Returns
    -------
    bool
        Whether they can.

    >>> from ventwright.house.parse import Reader
    >>> from ventwright.house.reading import ElectricPower
    >>> samples = Samples(key="power", unit_of_measure="W", interval_s=1.0, texts=("61", "64"))
    >>> check_samples(samples, ElectricPower(power_w=62.5), where="samples", reader=Reader())
    True
    >>> reader = Reader()
    >>> check_samples(samples, ElectricPower(power_w=70.0), where="samples", reader=reader)
    False
    >>> reader.problems[0].message
    'the samples average 62.5 in SI, the value given for power is 70'
    """
    held = _held(look, samples.key)
    if held is None:
        reader.mistake(
            code="unknown-key",
            where=f"{where}.key",
            message=f"{samples.key!r} is no single value of this reading",
            remedy="name the key whose one value is the mean of the samples",
        )
        return False
    dimension, value_si = held
    numbers_si = []
    if not 1 <= len(samples.texts) <= MOST_SAMPLES_COUNT or samples.interval_s <= 0.0:
        reader.mistake(
            code="not-samples",
            where=where,
            message=f"{len(samples.texts)} samples {samples.interval_s:g} s apart",
            remedy=f"give 1 to {MOST_SAMPLES_COUNT} samples and the time from one to the next; a "
            "longer record is taken in as a log",
        )
        return False
    for i, text in enumerate(samples.texts):
        try:
            numbers_si.append(_sample_si(text, samples.unit_of_measure, dimension))
        except QuantityError as mistake:
            reader.mistake(
                code=mistake.code,
                where=f"{where}.texts[{i}]",
                message=mistake.message,
                remedy=mistake.remedy,
            )
            return False
    mean_si = math.fsum(numbers_si) / len(numbers_si)
    step = sample_step(samples.texts)
    # One step of the display as a difference: the offset of a temperature scale falls out.
    step_si = abs(
        _sample_si(f"{step:.9f}", samples.unit_of_measure, dimension)
        - _sample_si("0", samples.unit_of_measure, dimension)
    )
    if abs(mean_si - value_si) > step_si + 1e-6 * abs(value_si):
        reader.mistake(
            code="not-their-mean",
            where=where,
            message=f"the samples average {mean_si:g} in SI, the value given for "
            f"{samples.key} is {value_si:g}",
            remedy="give their mean, or leave the samples out",
        )
        return False
    return True


def _sample_si(text: str, unit_of_measure: str, dimension: Dimension) -> float:
    number, _, decimals = text.removeprefix("-").partition(".")
    if not (number.isascii() and number.isdecimal()) or not (decimals or "0").isdecimal():
        raise QuantityError(
            code="malformed-number",
            message=f"{text!r} is no plain number",
            remedy="write a sample as digits with a decimal point, e.g. 2.31",
        )
    style = NumberStyle.DECIMAL_POINT
    found = parse(f"{text} {unit_of_measure}", dimension=dimension, number_style=style)
    return found.value_si


def _held(look: _Look, key: str) -> tuple[Dimension, float] | None:
    """Kind of quantity and value of a key that holds just one."""
    for name, hint in hints_of(type(look)).items():
        dimension = dimension_of(hint)
        if dimension is None or key_of(name, hint) != key:
            continue
        value = getattr(look, name)
        if isinstance(value, tuple) and len(value) == 1:
            (value,) = value
        if isinstance(value, float):
            return dimension, value
    return None
