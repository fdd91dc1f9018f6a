"""A total shared between rooms by weight, each within its own limits."""

from __future__ import annotations

import math
from collections.abc import Sequence


def shared_m3_s(
    total_m3_s: float,
    *,
    weights_ratio: Sequence[float],
    lows_m3_s: Sequence[float],
    highs_m3_s: Sequence[float],
) -> tuple[float, ...]:
    """Share a total so that each part is its weight times one common factor, or one of its limits.

    The factor is found exactly: the sum of the parts rises with it in straight pieces whose ends
    are where a part meets a limit.

    Parameters
    ----------
    total_m3_s
        What to share [m³/s].
    weights_ratio
        One positive weight for each part [1].
    lows_m3_s, highs_m3_s
        Limits of each part [m³/s]; a high limit may be infinite.

    Returns
    -------
    tuple of float
        Summing to the total, or, where the limits do not let them, to the nearest they allow.

    >>> shared_m3_s(10.0, weights_ratio=[1, 1, 2], lows_m3_s=[4.0, 0.0, 0.0],
    ...     highs_m3_s=[9.0, 9.0, 9.0])
    (4.0, 2.0, 4.0)
    """
    parts = list(zip(weights_ratio, lows_m3_s, highs_m3_s, strict=True))
    if not parts:
        return ()
    if total_m3_s <= math.fsum(lows_m3_s):
        return tuple(float(low) for low in lows_m3_s)
    if total_m3_s >= math.fsum(highs_m3_s):
        return tuple(float(high) for high in highs_m3_s)
    ends = sorted({limit / w for w, low, high in parts for limit in (low, high)})
    below = max((end for end in ends if _sum_at(end, parts) <= total_m3_s), default=0.0)
    free = math.fsum(w for w, low, high in parts if low / w <= below < high / w)
    factor = below + (total_m3_s - _sum_at(below, parts)) / free if free else below
    return tuple(min(max(w * factor, low), high) for w, low, high in parts)


def _sum_at(factor: float, parts: Sequence[tuple[float, float, float]]) -> float:
    return math.fsum(min(max(w * factor, low), high) for w, low, high in parts)
