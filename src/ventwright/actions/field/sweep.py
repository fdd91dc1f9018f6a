"""A timed average of samples as they were shown."""

from __future__ import annotations

from collections.abc import Sequence

from ventwright.quantities import NumberStyle
from ventwright.quantities.records import dataclass
from ventwright.report.field import sweep_text
from ventwright.uncertainty import TimedAverage, timed_average


@dataclass(frozen=True, slots=True, kw_only=True)
class SweepSoFar:
    """A timed average and its sentence."""

    found: TimedAverage
    message: str


def average_sweep(
    values: Sequence[float],
    *,
    interval_s: float,
    wanted_frac: float,
    resolution: float = 0.0,
    number_style: NumberStyle = NumberStyle.DECIMAL_POINT,
) -> SweepSoFar:
    """Mean of the samples so far, how steady they are, how long to go on.

    The field page works the same out by itself, in the browser.

    Parameters
    ----------
    values
        Samples in one unit of measure, whichever: the sentence speaks in it too.
    interval_s
        Time between them [s].
    wanted_frac
        Expanded uncertainty wanted, as a share of the mean [1].
    resolution
        Step of the display in that unit of measure; 0 leaves it out.
    number_style
        Decimal mark of the sentence.

    >>> average_sweep([3.0], interval_s=1.0, wanted_frac=0.02).message
    'Mean 3.000 of 1. Go on: steadiness can be said from four samples.'
    """
    found = timed_average(
        values, interval_s=interval_s, wanted_frac=wanted_frac, resolution=resolution
    )
    message = sweep_text(found, sample_count=len(values), number_style=number_style)
    return SweepSoFar(found=found, message=message)
