"""What the fans' electricity buys: flow per watt and watts per flow."""

from __future__ import annotations

from ventwright.quantities.records import dataclass
from ventwright.uncertainty import Estimate, ratio


@dataclass(frozen=True, slots=True, kw_only=True)
class FanEfficacy:
    """Flow per power and its inverse, which the trade uses side by side.

    Parameters
    ----------
    efficacy_m3_s_w
        Flow over power [m³/(s W)]; 1 cfm/W is 4.719e-4.
    specific_fan_power_w_per_m3_s
        Power over flow [W/(m³/s)].
    """

    efficacy_m3_s_w: Estimate
    specific_fan_power_w_per_m3_s: Estimate


def fan_efficacy(*, flow_m3_s: Estimate, power_w: Estimate) -> FanEfficacy:
    """Fan efficacy and specific fan power of a ventilation unit in one setting.

    Which flow it is, is the caller's to say with the result: the mean of both sides, or the supply.
    The power is that of both fans and the controls.

    Parameters
    ----------
    flow_m3_s
        Flow [m³/s], above 0.
    power_w
        Electric power [W], above 0.

    Returns
    -------
    FanEfficacy
        Both figures.

    Raises
    ------
    ValueError
        Where one of them is not above zero.

    >>> from ventwright.uncertainty import exact
    >>> f = fan_efficacy(flow_m3_s=exact(0.05), power_w=exact(50.0))
    >>> f.efficacy_m3_s_w.value, f.specific_fan_power_w_per_m3_s.value
    (0.001, 1000.0)
    """
    if not (flow_m3_s.value > 0.0 and power_w.value > 0.0):
        raise ValueError(f"flow {flow_m3_s.value!r} m³/s, power {power_w.value!r} W: not above 0")
    return FanEfficacy(
        efficacy_m3_s_w=ratio(flow_m3_s, power_w),
        specific_fan_power_w_per_m3_s=ratio(power_w, flow_m3_s),
    )
