"""Why do the terminals not add up to the duct? Odds of the usual causes."""

from __future__ import annotations

import math

from ventwright.findings.model import Explanation
from ventwright.uncertainty import Estimate, normal_cdf

# Prior odds and widths are judgement, not data: they rank where to look first, no more. A gap that
# chance explains leaves 'within uncertainty' on top; a large one moves the odds to the causes that
# can make a gap of its size and sign.
_PRIORS = {
    "within-uncertainty": 0.70,
    "duct-leakage": 0.12,
    "meter-bias": 0.12,
    "missed-terminal": 0.03,
    "wrong-station": 0.03,
}
_LEAKAGE_MEAN_FRAC = 0.08
_BIAS_WIDTH_FRAC = 0.08
_SLIP_WIDTH_FRAC = 0.30


def explain_gap(gap_share_frac: Estimate, *, largest_share_frac: float) -> tuple[Explanation, ...]:
    """Posterior probabilities of the causes of a gap, most probable first.

    Each cause gives a law for the true gap x = (duct − terminals)/duct; the reading is normal about
    x with the stated uncertainty: chance alone x = 0; leakage of the duct an exponential law of
    mean 8 % (the duct always carries more than arrives, on both sides); bias between the two
    methods a normal law of width 8 %; a terminal nobody listed a uniform law up to the largest
    terminal's share; a reading booked at the wrong station a normal law of width 30 %. Priors are
    70, 12, 12, 3 and 3 %: judgement.

    Parameters
    ----------
    gap_share_frac
        (duct − terminals) over duct.
    largest_share_frac
        Share of the largest terminal in its side [0..1].

    Returns
    -------
    tuple of Explanation
        They add up to one.

    >>> from ventwright.uncertainty import measured
    >>> gap = measured(0.01, u_std=0.03, id="g", label="gap")
    >>> explain_gap(gap, largest_share_frac=0.3)[0].code
    'within-uncertainty'
    """
    # An uncertainty beyond the whole flow says nothing more than one of its size.
    g, u = gap_share_frac.value, min(max(gap_share_frac.u_std, 1e-6), 1.0)
    likelihoods = {
        "within-uncertainty": _density(g, u),
        "duct-leakage": _with_exponential(g, u),
        "meter-bias": _density(g, math.hypot(u, _BIAS_WIDTH_FRAC)),
        "missed-terminal": _with_uniform(g, u, min(max(largest_share_frac, 0.05), 0.6)),
        "wrong-station": _density(g, math.hypot(u, _SLIP_WIDTH_FRAC)),
    }
    weights = {code: _PRIORS[code] * likelihoods[code] for code in _PRIORS}
    norm = math.fsum(weights.values())
    if norm <= 0.0:
        # So far out that every law underflows: only a slip can make such a gap.
        return (Explanation(code="wrong-station", prob_frac=1.0),)
    ranked = sorted(weights.items(), key=lambda item: (-item[1], item[0]))
    return tuple(Explanation(code=code, prob_frac=w / norm) for code, w in ranked)


def _density(x: float, width: float) -> float:
    return math.exp(-0.5 * (x / width) ** 2) / (width * math.sqrt(2.0 * math.pi))


def _with_uniform(g: float, u: float, high: float) -> float:
    low = 0.05
    if high <= low:
        high = low + 0.05
    return (normal_cdf((g - low) / u) - normal_cdf((g - high) / u)) / (high - low)


def _with_exponential(g: float, u: float) -> float:
    """Normal reading about an exponential truth: the exponentially modified normal density."""
    rate = 1.0 / _LEAKAGE_MEAN_FRAC
    reach = rate * u * u
    return (
        0.5
        * rate
        * math.exp(rate * (0.5 * reach - g))
        * math.erfc((reach - g) / (math.sqrt(2.0) * u))
    )
