"""The mean of samples taken one after another, which resemble their neighbours in time."""

from __future__ import annotations

import math
from collections.abc import Sequence

from ventwright.quantities.records import dataclass
from ventwright.uncertainty.coverage import coverage_factor_from

_FEWEST_COUNT = 4
_STEADY_Z = 2.5


@dataclass(frozen=True, slots=True, kw_only=True)
class TimedAverage:
    """Mean of a sweep or a watched display, and how long to go on.

    Parameters
    ----------
    mean
        Of all samples.
    u_std
        Standard uncertainty of the mean from scatter alone; None from fewer than four samples.
    coverage_factor
        For 95 %, by the samples that count as independent.
    independent_count
        As how many independent samples they count.
    elapsed_s
        From the first sample to the end of the last.
    go_on_s
        How much longer for the wanted uncertainty, if the air stays as it is; 0 where it is
        reached, None where nothing can be said.
    is_steady
        Whether both halves agree; False says that the air drifts and more time won't mend it.
    """

    mean: float
    u_std: float | None
    coverage_factor: float
    independent_count: float
    elapsed_s: float
    go_on_s: float | None
    is_steady: bool


def timed_average(
    values: Sequence[float], *, interval_s: float, wanted_frac: float
) -> TimedAverage:
    """Mean of evenly spaced samples with the uncertainty that their likeness leaves.

    Parameters
    ----------
    values
        Samples in the order taken, finite, at least one.
    interval_s
        Time from sample to sample [s], > 0.
    wanted_frac
        Expanded uncertainty wanted, as a share of the mean [1], > 0.

    Returns
    -------
    TimedAverage
        The scatter s of n samples gives u = s·√(τ/n), with τ = 1 + 2·Σ(1 − k/n)·r_k over the lags k
        up to the first whose correlation r_k is not positive: as if n/τ of them were independent.
        Fewer than four samples give no uncertainty. Steps of a display coarser than the scatter
        hide it: a reading that never moves shows none, and its resolution must be added by the
        caller.

    Raises
    ------
    ValueError
        For no sample, one that is not finite, or a time or share that is not positive.

    Source: bayley_hammersley_1946

    >>> found = timed_average([4.0, 6.0, 5.0, 6.0, 4.0, 5.0], interval_s=2.0, wanted_frac=0.1)
    >>> found.mean, round(found.u_std, 3), found.is_steady
    (5.0, 0.365, True)
    """
    count = len(values)
    if count == 0 or not all(map(math.isfinite, values)):
        raise ValueError("samples must be finite numbers, at least one")
    if interval_s <= 0.0 or wanted_frac <= 0.0:
        raise ValueError("interval and wanted share must be positive")
    mean = math.fsum(values) / count
    elapsed_s = count * interval_s
    if count < _FEWEST_COUNT:
        return TimedAverage(
            mean=mean,
            u_std=None,
            coverage_factor=2.0,
            independent_count=float(count),
            elapsed_s=elapsed_s,
            go_on_s=None,
            is_steady=True,
        )
    stretch = _stretch(values, mean)
    independent_count = max(count / stretch, 2.0)
    u_std = math.sqrt(_variance(values, mean) / independent_count)
    coverage_factor = coverage_factor_from(coverage_frac=0.95, dof=independent_count - 1.0)
    wanted = wanted_frac * abs(mean)
    go_on_s = None
    if wanted > 0.0:
        share = coverage_factor * u_std / wanted
        longer_s = elapsed_s * max(share * share - 1.0, 0.0)
        # A mean next to nothing would need for ever.
        go_on_s = longer_s if math.isfinite(longer_s) else None
    return TimedAverage(
        mean=mean,
        u_std=u_std,
        coverage_factor=coverage_factor,
        independent_count=independent_count,
        elapsed_s=elapsed_s,
        go_on_s=go_on_s,
        is_steady=_is_steady(values),
    )


def _variance(values: Sequence[float], mean: float) -> float:
    return math.fsum((v - mean) ** 2 for v in values) / (len(values) - 1)


def _stretch(values: Sequence[float], mean: float) -> float:
    """As how many neighbours one independent sample counts."""
    off = [v - mean for v in values]
    count = len(off)
    whole = math.fsum(o * o for o in off)
    if whole == 0.0:
        return 1.0
    found = 1.0
    for lag in range(1, count // 2):
        likeness = math.fsum(a * b for a, b in zip(off, off[lag:], strict=False)) / whole
        if likeness <= 0.0:
            break
        found += 2.0 * (1.0 - lag / count) * likeness
    return found


def _is_steady(values: Sequence[float]) -> bool:
    """Two halves of one mean differ by about twice its uncertainty, seldom by much more.

    That uncertainty is taken from what is left around a straight line: a drift would otherwise
    pass for likeness of neighbours and excuse itself.
    """
    count = len(values)
    middle = 0.5 * (count - 1)
    mean = math.fsum(values) / count
    width = math.fsum((i - middle) ** 2 for i in range(count))
    slope = math.fsum((i - middle) * v for i, v in enumerate(values)) / width
    left = [v - mean - slope * (i - middle) for i, v in enumerate(values)]
    u_left = math.sqrt(_variance(left, 0.0) * _stretch(left, 0.0) / count)
    half = count // 2
    first = math.fsum(values[:half]) / half
    last = math.fsum(values[-half:]) / half
    noise = 1e-12 * abs(mean)
    return abs(last - first) <= _STEADY_Z * 2.0 * u_left + noise
