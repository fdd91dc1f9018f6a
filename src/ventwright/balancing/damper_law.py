"""How a damper's resistance follows its mark, by its table."""

from __future__ import annotations

from itertools import pairwise
from math import exp, log, log1p

from ventwright.balancing.site_data import Damper

PLAY_FRAC = 0.012
"""Standard uncertainty of a blade's opening against its mark: play and the eye."""


def ln_factor(damper: Damper, opening_frac: float) -> float:
    """Logarithm of a table's flow factor at an opening, straight in the logarithm between pairs."""
    table = damper.table
    if opening_frac <= table[0][0]:
        return log(table[0][1])
    for (x0, f0), (x1, f1) in pairwise(table):
        if opening_frac <= x1:
            part = (opening_frac - x0) / (x1 - x0)
            return log(f0) + part * log(f1 / f0)
    return log(table[-1][1])


def opening_for(damper: Damper, value: float) -> float:
    """Opening at which a table shows a logarithm of flow factor; its ends beyond."""
    table = damper.table
    if value <= log(table[0][1]):
        return table[0][0]
    for (x0, f0), (x1, f1) in pairwise(table):
        if value <= log(f1):
            return x0 + (x1 - x0) * (value - log(f0)) / log(f1 / f0)
    return table[-1][0]


def log_odds(share_frac: float) -> float:
    """Logarithm of the odds of a share."""
    return log(share_frac / (1.0 - share_frac))


def softplus(value: float) -> float:
    """ln(1 + exp(value)), safe far out."""
    return value + log1p(exp(-value)) if value > 0.0 else log1p(exp(value))


def share_of_odds(value: float) -> float:
    """Share whose log odds are given; the slope of `softplus`."""
    return 1.0 / (1.0 + exp(-value)) if value > -700.0 else 0.0


def play_spread(damper: Damper, opening_frac: float) -> float:
    """Spread of the logarithm of a damper's resistance from play and the eye at a mark."""
    low = ln_factor(damper, opening_frac - 0.02)
    high = ln_factor(damper, opening_frac + 0.02)
    return 0.02 + 2.0 * (high - low) / 0.04 * PLAY_FRAC
