"""Cross leakage by tracer gas, and what it leaves of the outdoor air."""

from __future__ import annotations

from ventwright.recovery.definitions import RatioKind
from ventwright.recovery.ratios import MOST_U_FRAC, RatioResult, Span, ratio_over
from ventwright.uncertainty import Estimate, combine, difference


def exhaust_transfer_by_tracer(
    *,
    outdoor_frac: Estimate,
    supply_frac: Estimate,
    extract_frac: Estimate,
    max_u_frac: float = MOST_U_FRAC,
) -> RatioResult:
    """Share of extract air in the supply air from a gas set free in the rooms.

    ``(c2 − c1)/(c3 − c1)``. Carbon dioxide of the people at home serves where the house air is well
    above outdoors; where it is not, the figure is refused as any other ratio.

    Parameters
    ----------
    outdoor_frac
        Concentration outdoors, by volume.
    supply_frac
        Concentration in the supply air, by volume.
    extract_frac
        Concentration in the extract air, by volume.
    max_u_frac
        Widest half interval that is stated [1].

    Returns
    -------
    RatioResult
        Share [1] or refusal.

    Source: ashrae_84

    >>> from ventwright.uncertainty import measured
    >>> def ppm(value, name):
    ...     return measured(1e-6 * value, u_std=10e-6, id=name, label=name)
    >>> found = exhaust_transfer_by_tracer(
    ...     outdoor_frac=ppm(420, "1"), supply_frac=ppm(450, "2"), extract_frac=ppm(1020, "3"))
    >>> round(found.estimate.value, 3)
    0.05
    """
    span = Span(
        difference_si=difference(extract_frac, outdoor_frac),
        name="concentration",
        symbol="ppm",
        display_factor=1e6,
    )
    return ratio_over(
        RatioKind.EXHAUST_TRANSFER,
        numerator_si=difference(supply_frac, outdoor_frac),
        span=span,
        max_u_frac=max_u_frac,
    )


def net_outdoor_air_m3_s(
    *, supply_flow_m3_s: Estimate, exhaust_transfer_frac: Estimate
) -> Estimate:
    """Outdoor air in a supply flow that carries some extract air, ``q (1 − x)``.

    Parameters
    ----------
    supply_flow_m3_s
        Supply flow [m³/s].
    exhaust_transfer_frac
        Share of extract air in it.

    Returns
    -------
    Estimate
        Outdoor air [m³/s], at the state of the supply air.

    Source: net_flow_code

    >>> from ventwright.uncertainty import exact
    >>> net_outdoor_air_m3_s(supply_flow_m3_s=exact(0.05), exhaust_transfer_frac=exact(0.04)).value
    0.048
    """
    q, x = supply_flow_m3_s, exhaust_transfer_frac
    return combine(q.value * (1.0 - x.value), [(1.0 - x.value, q), (-q.value, x)])
