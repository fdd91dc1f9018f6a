"""What the samples of a timed average say of its mean, beside what is usual for the method."""

from __future__ import annotations

from ventwright.house import Reading, sample_numbers
from ventwright.instruments.classes import Channel
from ventwright.instruments.wording import Flags, percent_text
from ventwright.quantities import Dimension, QuantityError, unit_of_measure
from ventwright.quantities.records import dataclass
from ventwright.uncertainty import timed_average

_OF_CHANNEL = {
    Channel.VELOCITY: (Dimension.VELOCITY, ("velocities",)),
    Channel.PRESSURE: (Dimension.PRESSURE, ("drops", "pressure_diff", "pressure")),
    Channel.FLOW: (Dimension.FLOW, ("flows",)),
    Channel.TEMPERATURE: (Dimension.TEMPERATURE, ("temperature",)),
    Channel.HUMIDITY: (Dimension.FRACTION, ("rel_humidity",)),
    Channel.POWER: (Dimension.POWER, ("power",)),
}
_ANY_WANTED_FRAC = 0.01
"""How long to go on is not asked here; the average needs a wish all the same."""


@dataclass(frozen=True, slots=True, kw_only=True)
class SampleSpread:
    """Standard uncertainty of the mean of samples, in SI, and its degrees of freedom."""

    u_std: float
    dof: float


def sample_spread(reading: Reading, *, channel: Channel, flags: Flags) -> SampleSpread | None:
    """Standard uncertainty of a timed average by its own samples; None where there are none.

    Neighbouring samples resemble each other and count for less (see `timed_average`). The step of
    the display is left to the instrument's figures.

    Parameters
    ----------
    reading
        The reading.
    channel
        What is asked about: samples of another value say nothing of it.
    flags
        Takes a warning where the samples drift.

    Source: bayley_hammersley_1946
    """
    samples = reading.samples
    dimension, keys = _OF_CHANNEL[channel]
    if samples is None or samples.key not in keys:
        return None
    try:
        factor = unit_of_measure(samples.unit_of_measure, dimension=dimension).factor
        found = timed_average(
            sample_numbers(samples), interval_s=samples.interval_s, wanted_frac=_ANY_WANTED_FRAC
        )
    except (ValueError, QuantityError):
        # No parser lets them pass; a bundle made elsewhere may hold them all the same.
        flags.warn(
            "samples-unreadable",
            "the samples kept with the value can't be read, and are left aside",
            "look at the reading in the record, and take it again",
        )
        return None
    if found.u_std is None:
        return None
    if not found.is_steady:
        share = f" by {percent_text(abs(found.drift / found.mean))}" if found.mean else ""
        flags.warn(
            "samples-drift",
            f"the {len(samples.texts)} samples drift{share} from the first to the last",
            "wait until fans, doors and weather are steady and average again; more time along the "
            "same drift does not mend it",
        )
    return SampleSpread(u_std=found.u_std * factor, dof=max(found.independent_count - 1.0, 1.0))
