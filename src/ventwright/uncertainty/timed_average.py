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
    scatter_std
        Standard deviation of the samples; None from a single one.
    drift
        How far a straight line through the samples rises from the first to the last.
    u_std
        Standard uncertainty of the mean from scatter and, where it was given, resolution; None from
        fewer than four samples.
    coverage_factor
        For 95 %, by the samples that count as independent.
    independent_count
        As how many independent samples they count.
    elapsed_s
        From the first sample to the end of the last.
    go_on_s
        How much longer for the wanted uncertainty, if the air stays as it is; 0 where it is
        reached, None where nothing can be said or no time is long enough.
    is_steady
        Whether both halves agree; False says that the air drifts and more time won't mend it.
    """

    mean: float
    scatter_std: float | None
    drift: float
    u_std: float | None
    coverage_factor: float
    independent_count: float
    elapsed_s: float
    go_on_s: float | None
    is_steady: bool


def timed_average(
    values: Sequence[float], *, interval_s: float, wanted_frac: float, resolution: float = 0.0
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
    resolution
        Step of the display in the unit of measure of the values, ≥ 0; 0 leaves it to the caller.

    Returns
    -------
    TimedAverage
        The scatter s of n samples gives u = s·√(τ/n), with τ = 1 + 2·Σ(1 − k/n)·r_k over the lags k
        up to the first whose correlation r_k is not positive: as if n/τ of them were independent.
        Fewer than four samples give no uncertainty. Steps of a display coarser than the scatter
        hide it, so that a resolution a adds a²/12 to u²; no time mends that part.

    Raises
    ------
    ValueError
        For no sample, one that is not finite, a time or share that is not positive, or a resolution
        below zero.

    Source: bayley_hammersley_1946, gum_2008

    >>> found = timed_average([4.0, 6.0, 5.0, 6.0, 4.0, 5.0], interval_s=2.0, wanted_frac=0.1)
    >>> found.mean, round(found.u_std, 3), found.is_steady
    (5.0, 0.365, True)
    """
    count = len(values)
    if count == 0 or not all(map(math.isfinite, values)):
        raise ValueError("samples must be finite numbers, at least one")
    if interval_s <= 0.0 or wanted_frac <= 0.0:
        raise ValueError("interval and wanted share must be positive")
    if not 0.0 <= resolution < math.inf:
        raise ValueError("resolution must be a finite number, not below zero")
    mean = math.fsum(values) / count
    elapsed_s = count * interval_s
    slope, left = _line(values, mean)
    independent_count = float(count)
    u_std, coverage_factor, go_on_s, is_steady = None, 2.0, None, True
    variance = _variance(values, mean) if count > 1 else None
    if variance is not None and count >= _FEWEST_COUNT:
        independent_count = max(count / _stretch(values, mean), 2.0)
        u_scatter = math.sqrt(variance / independent_count)
        u_step = resolution / math.sqrt(12.0)
        u_std = math.hypot(u_scatter, u_step)
        coverage_factor = coverage_factor_from(coverage_frac=0.95, dof=independent_count - 1.0)
        wanted = wanted_frac * abs(mean) / coverage_factor
        go_on_s = _go_on_s(elapsed_s, u_scatter=u_scatter, u_step=u_step, wanted=wanted)
        is_steady = _is_steady(values, left)
    return TimedAverage(
        mean=mean,
        scatter_std=None if variance is None else math.sqrt(variance),
        drift=slope * (count - 1),
        u_std=u_std,
        coverage_factor=coverage_factor,
        independent_count=independent_count,
        elapsed_s=elapsed_s,
        go_on_s=go_on_s,
        is_steady=is_steady,
    )


def _go_on_s(elapsed_s: float, *, u_scatter: float, u_step: float, wanted: float) -> float | None:
    """Time narrows scatter alone, by its square root."""
    if math.hypot(u_scatter, u_step) <= wanted:
        return 0.0
    room = wanted * wanted - u_step * u_step
    if room <= 0.0:
        return None
    # A mean next to nothing would need for ever.
    longer_s = elapsed_s * max(u_scatter * u_scatter / room - 1.0, 0.0)
    return longer_s if math.isfinite(longer_s) else None


def _line(values: Sequence[float], mean: float) -> tuple[float, list[float]]:
    """Slope of the straight line through the samples, and what is left around it."""
    middle = 0.5 * (len(values) - 1)
    width = math.fsum((i - middle) ** 2 for i in range(len(values)))
    rise = math.fsum((i - middle) * v for i, v in enumerate(values))
    slope = rise / width if width else 0.0
    return slope, [v - mean - slope * (i - middle) for i, v in enumerate(values)]


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


def _is_steady(values: Sequence[float], left: Sequence[float]) -> bool:
    """Two halves of one mean differ by about twice its uncertainty, seldom by much more.

    That uncertainty is taken from what is left around a straight line: a drift would otherwise
    pass for likeness of neighbours and excuse itself.
    """
    count = len(values)
    u_left = math.sqrt(_variance(left, 0.0) * _stretch(left, 0.0) / count)
    half = count // 2
    first = math.fsum(values[:half]) / half
    last = math.fsum(values[-half:]) / half
    noise = 1e-12 * abs(first + last)
    return abs(last - first) <= _STEADY_Z * 2.0 * u_left + noise
