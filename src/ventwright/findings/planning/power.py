"""Electric power of both fans, predicted from rated points or else from pressure and efficiency."""

from __future__ import annotations

from collections.abc import Sequence
from math import log

from ventwright.ducts import STANDARD_DUCT_AIR, DuctAir, fan_power_w
from ventwright.findings.planning.model import OperatingPoint
from ventwright.findings.planning.parts import PowerBasis, PowerPlan
from ventwright.house import RatedPoint
from ventwright.quantities.records import dataclass
from ventwright.recovery import fan_efficacy
from ventwright.uncertainty import Estimate, measured

U_BETWEEN_RATIO = 0.10
"""Standard uncertainty of power between rated points, since their pressure is not stated.
Judgement. Source: planning_judgement"""
U_ONE_POINT_RATIO = 0.20
USUAL_EXPONENT = 2.5
"""Of power against flow in one duct system; 2 to 2.7 is met in the field (from memory).
Source: fan_laws"""
U_USUAL_EXPONENT = 0.4
USUAL_EFFICIENCY_FRAC = 0.25
"""Of fan, motor and electronics; 0.15 to 0.45 is met (from memory). Source: planning_judgement"""
U_EFFICIENCY_RATIO = 0.35
USUAL_INSIDE_PA, AT_FLOW_M3_S = 90.0, 0.05
"""Exchanger and clean filter inside a unit at a flow, taken as laminar: 60 to 160 Pa is met (from
memory). Source: planning_judgement"""


@dataclass(frozen=True, slots=True, kw_only=True)
class _Power:
    value_w: float
    u_w: float
    basis: PowerBasis
    is_beyond_rating: bool = False


def power_plan(
    setting: str,
    *,
    points: Sequence[OperatingPoint],
    rated_points: Sequence[RatedPoint],
    air: DuctAir,
) -> PowerPlan | None:
    """Power in one setting and what it buys; None where nothing moves.

    Rated points go before an efficiency: by two or more, power is taken as a power law of flow
    between neighbours (and beyond the last two); by one, with a usual exponent. Power at a flow
    goes with density. Without any, each side's flow times its rise over a usual efficiency, the
    losses inside the unit added by a usual figure.

    Parameters
    ----------
    setting
        Which.
    points
        Where the fan of each side in use works.
    rated_points
        Of the unit.
    air
        Air in the ducts.

    Source: planning_judgement, fan_laws
    """
    flow = sum(p.flow_m3_s for p in points) / len(points) if points else 0.0
    if flow <= 0.0:
        return None
    rated = sorted(
        {p.flow_m3_s: p.power_w for p in rated_points if p.power_w and p.flow_m3_s > 0.0}.items()
    )
    denser = air.density_kg_m3 / STANDARD_DUCT_AIR.density_kg_m3
    found = _from_rated(flow, rated, denser) if rated else _from_efficiency(points)
    power = measured(
        found.value_w,
        u_std=found.u_w,
        id=f"plan:power:{found.basis.value}",
        label="power of the fans by " + found.basis.value.replace("_", " "),
    )
    exact_flow = Estimate(value=flow)
    return PowerPlan(
        setting=setting,
        flow_m3_s=flow,
        power_w=power,
        efficacy=fan_efficacy(flow_m3_s=exact_flow, power_w=power),
        basis=found.basis,
        is_beyond_rating=found.is_beyond_rating,
    )


def _from_rated(flow: float, rated: Sequence[tuple[float, float]], denser: float) -> _Power:
    is_beyond = not rated[0][0] <= flow <= rated[-1][0]
    if len(rated) == 1:
        at, power = rated[0]
        value = denser * power * float((flow / at) ** USUAL_EXPONENT)
        spread = abs(log(flow / at)) * U_USUAL_EXPONENT
        u = value * (U_ONE_POINT_RATIO**2 + spread**2) ** 0.5
        return _Power(
            value_w=value, u_w=u, basis=PowerBasis.RATED_POINT, is_beyond_rating=is_beyond
        )
    upper = next((i for i, (at, _) in enumerate(rated) if at >= flow and i > 0), len(rated) - 1)
    (q0, p0), (q1, p1) = rated[upper - 1], rated[upper]
    exponent = log(p1 / p0) / log(q1 / q0)
    value = denser * p0 * float((flow / q0) ** exponent)
    outside = max(0.0, log(flow / rated[-1][0]), log(rated[0][0] / flow))
    u = value * (U_BETWEEN_RATIO**2 + (outside * U_USUAL_EXPONENT) ** 2) ** 0.5
    return _Power(value_w=value, u_w=u, basis=PowerBasis.RATED_POINTS, is_beyond_rating=is_beyond)


def _from_efficiency(points: Sequence[OperatingPoint]) -> _Power:
    value = sum(
        fan_power_w(
            flow_m3_s=p.flow_m3_s,
            rise_pa=max(p.external_pa, 0.0) + USUAL_INSIDE_PA * p.flow_m3_s / AT_FLOW_M3_S,
            efficiency_frac=USUAL_EFFICIENCY_FRAC,
        )
        for p in points
        if p.flow_m3_s > 0.0
    )
    return _Power(value_w=value, u_w=value * U_EFFICIENCY_RATIO, basis=PowerBasis.EFFICIENCY)
