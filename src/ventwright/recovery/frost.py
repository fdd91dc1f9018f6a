"""How much of the hour a frost control takes from ventilation."""

from __future__ import annotations

from enum import StrEnum

from ventwright.quantities.records import dataclass


class DefrostKind(StrEnum):
    """Ways to keep an exchanger free of frost that cost running time."""

    RECIRCULATION = "recirculation"
    """Extract air is led through both sides while the outdoor air is shut off."""
    EXHAUST_ONLY = "exhaust-only"
    """The supply fan stops, or outdoor air passes by, while extract air thaws the exchanger."""


@dataclass(frozen=True, slots=True, kw_only=True)
class DefrostLaw:
    """Share of time in defrost, linear in the outdoor temperature below a threshold.

    Parameters
    ----------
    base_frac
        Share at the threshold [1].
    slope_1_k
        Rise of the share for each kelvin below it [1/K].
    """

    base_frac: float
    slope_1_k: float


TYPICAL_DEFROST = {
    DefrostKind.RECIRCULATION: DefrostLaw(base_frac=0.083, slope_1_k=0.012),
    DefrostKind.EXHAUST_ONLY: DefrostLaw(base_frac=0.167, slope_1_k=0.024),
}
"""Typical laws. Products differ: the ventilation unit's own manual comes first.

Source: energyplus_input_output
"""


def defrost_time_frac(
    *, outdoor_c: float, threshold_c: float, kind: DefrostKind, law: DefrostLaw | None = None
) -> float:
    """Share of time in defrost, ``X = X0 + a (T_threshold − T_outdoor)``, between 0 and 1.

    With recirculation, outdoor air is shut off for that share: the ventilation delivered falls
    with it.

    Parameters
    ----------
    outdoor_c
        Outdoor temperature [°C].
    threshold_c
        Temperature below which defrost begins [°C].
    kind
        Way of defrosting.
    law
        Numbers of this ventilation unit; typical ones where not given.

    Returns
    -------
    float
        Share of time [0..1]; 0 at the threshold and above.

    Source: energyplus_input_output

    >>> round(defrost_time_frac(outdoor_c=-10.0, threshold_c=-1.1,
    ...                         kind=DefrostKind.RECIRCULATION), 2)
    0.19
    """
    below = threshold_c - outdoor_c
    if below <= 0.0:
        return 0.0
    used = TYPICAL_DEFROST[kind] if law is None else law
    return min(1.0, max(0.0, used.base_frac + used.slope_1_k * below))
