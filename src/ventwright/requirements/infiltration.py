"""Infiltration as a credit: leakage area, normalised leakage, effective flow, superposition.

All coefficients come from the rule file; only the forms stand here.
"""

from __future__ import annotations

import math

from ventwright.quantities.records import dataclass
from ventwright.requirements.facts import HouseFacts
from ventwright.requirements.rate_rules import CreditForm, InfiltrationRule, Superposition

_HOUR_S = 3600.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Infiltration:
    """Effective infiltration with what it was calculated from.

    Parameters
    ----------
    leakage_area_m2
        At the rule's reference pressure.
    normalised_leakage_ratio
        Leakage area by floor area and height.
    flow_m3_s
        Effective infiltration flow by the long form.
    short_form_m3_s
        The same by the short form, where the rule has one and a leakage flow is known.
    leakage_exponent
        Exponent that carried the measured flow to another pressure; None where none was needed.
    is_exponent_assumed
        Whether that exponent is the rule's default.
    """

    leakage_area_m2: float
    normalised_leakage_ratio: float
    flow_m3_s: float
    short_form_m3_s: float | None = None
    leakage_exponent: float | None = None
    is_exponent_assumed: bool = False


def missing_for_infiltration(facts: HouseFacts) -> tuple[str, ...]:
    """Facts without which infiltration can't be calculated.

    Parameters
    ----------
    facts
        The house.

    >>> missing_for_infiltration(HouseFacts(floor_area_m2=100.0, height_m=5.0))
    ('leakage_flow', 'weather_shielding_factor')
    """
    needed = {
        "floor_area": facts.floor_area_m2,
        "height": facts.height_m,
        "leakage_flow": facts.leakage_area_m2 or facts.leakage_flow_m3_s,
        "weather_shielding_factor": facts.weather_shielding_factor,
    }
    return tuple(name for name, value in needed.items() if not value)


def infiltration_of(rule: InfiltrationRule, facts: HouseFacts) -> Infiltration | None:
    """Effective annual infiltration of a house.

    ``Q = N · w · A · H_r / 1 h`` with ``N = c (L / A) (H / H_r)^m`` and the leakage area
    ``L = a Q_p (p_r / p)^n``, the coefficients being the rule's.

    Parameters
    ----------
    rule
        Coefficients.
    facts
        Leakage, floor area, height and weather factor.

    Returns
    -------
    Infiltration or None
        None where a fact is missing; `missing_for_infiltration` names it.

    Source: ashrae_62_2, us_simulation_code

    >>> from ventwright.requirements.citation import Citation, Trust
    >>> rule = InfiltrationRule(form=CreditForm.REDUCED, reference_pressure_pa=4.0,
    ...     leakage_area_m2=1.828e-4, per_flow_m3_s=4.719e-4, default_exponent=0.65,
    ...     normalising_factor=1000.0, reference_height_m=2.5, height_exponent=0.4,
    ...     citation=Citation(source="ashrae_62_2", trust=Trust.SECOND_HAND))
    >>> facts = HouseFacts(floor_area_m2=250.8, height_m=2.972, leakage_flow_m3_s=0.5097,
    ...     weather_shielding_factor=0.59)
    >>> round(infiltration_of(rule, facts).flow_m3_s * 1000, 2)
    16.78
    """
    area, height = facts.floor_area_m2, facts.height_m
    weather = facts.weather_shielding_factor
    if missing_for_infiltration(facts) or not (area and height and weather):
        return None
    exponent = None
    is_assumed = facts.leakage_exponent is None
    leakage_area = facts.leakage_area_m2
    if not leakage_area:
        exponent = rule.default_exponent if is_assumed else facts.leakage_exponent
        at_reference = leakage_at(facts, pressure_pa=rule.reference_pressure_pa, exponent=exponent)
        leakage_area = rule.leakage_area_m2 * at_reference / rule.per_flow_m3_s
    stack = (height / rule.reference_height_m) ** rule.height_exponent
    normalised = rule.normalising_factor * leakage_area / area * stack
    short = None
    if rule.short_coeff is not None and rule.short_pressure_pa is not None and exponent is not None:
        at_short = leakage_at(facts, pressure_pa=rule.short_pressure_pa, exponent=exponent)
        short = rule.short_coeff * at_short * weather * stack
    return Infiltration(
        leakage_area_m2=leakage_area,
        normalised_leakage_ratio=normalised,
        flow_m3_s=normalised * weather * area * rule.reference_height_m / _HOUR_S,
        short_form_m3_s=short,
        leakage_exponent=exponent,
        is_exponent_assumed=exponent is not None and is_assumed,
    )


def leakage_at(facts: HouseFacts, *, pressure_pa: float, exponent: float | None) -> float:
    """Leakage flow at another pressure by the power law [m³/s].

    Parameters
    ----------
    facts
        With a leakage flow.
    pressure_pa
        Wanted pressure [Pa].
    exponent
        Exponent of the power law [1].

    Raises
    ------
    ValueError
        Without a leakage flow or an exponent.

    >>> facts = HouseFacts(leakage_flow_m3_s=0.5, test_pressure_pa=50.0)
    >>> round(leakage_at(facts, pressure_pa=4.0, exponent=0.65), 5)
    0.09682
    """
    if facts.leakage_flow_m3_s is None or exponent is None:
        raise ValueError("a leakage flow and an exponent are needed")
    return facts.leakage_flow_m3_s * math.pow(pressure_pa / facts.test_pressure_pa, exponent)


def credited_flow(
    rule: InfiltrationRule,
    *,
    total_m3_s: float,
    infiltration_m3_s: float,
    imbalance_frac: float,
    is_balanced: bool,
    floor_area_m2: float = 0.0,
) -> float:
    """Fan flow that is still required after the credit, never below zero [m³/s].

    Parameters
    ----------
    rule
        Form and coefficients.
    total_m3_s
        Required total [m³/s].
    infiltration_m3_s
        Effective infiltration times the exterior share of the envelope [m³/s].
    imbalance_frac
        Difference of the two fan flows over the larger [1], 0 to 1; only the imbalance form asks.
    is_balanced
        Whether the system counts as balanced; only the reduced form asks.
    floor_area_m2
        Floor area [m²]; only the form above a default asks.

    Source: us_simulation_code, ashrae_62_2

    >>> from ventwright.requirements.citation import Citation, Trust
    >>> rule = InfiltrationRule(form=CreditForm.IMBALANCE, reference_pressure_pa=4.0,
    ...     leakage_area_m2=1.0, per_flow_m3_s=1.0, default_exponent=0.65, normalising_factor=1.0,
    ...     reference_height_m=2.5, height_exponent=0.4,
    ...     citation=Citation(source="us_simulation_code", trust=Trust.SECOND_HAND))
    >>> round(credited_flow(rule, total_m3_s=111.0, infiltration_m3_s=35.56, imbalance_frac=1.0,
    ...     is_balanced=False), 1)
    101.8
    """
    total, leak = total_m3_s, infiltration_m3_s
    if rule.form is CreditForm.CAPPED:
        return max(0.0, total - min(leak, (rule.cap_frac or 0.0) * total))
    if rule.form is CreditForm.REDUCED:
        share = 1.0 if is_balanced or total <= 0.0 else min(1.0, leak / total)
        return max(0.0, total - share * leak)
    if rule.form is CreditForm.IMBALANCE:
        return _at_imbalance(total=total, leak=leak, imbalance=imbalance_frac)
    step = rule.default_per_area_m2 or 1.0
    default = (rule.default_flow_m3_s or 0.0) * floor_area_m2 / step
    return max(0.0, total - (rule.credited_frac or 0.0) * max(0.0, leak - default))


def _at_imbalance(*, total: float, leak: float, imbalance: float) -> float:
    """Root of ``total = fan + leak² / (leak + imbalance · fan)``.

    Written with the small difference in the denominator where that keeps its digits: the printed
    form divides by the imbalance.
    """
    if leak >= total:
        return 0.0
    under = max(0.0, (imbalance * total + leak) ** 2 - 4.0 * imbalance * leak * leak)
    slope = leak - imbalance * total
    if slope >= 0.0 and leak > 0.0:
        return 2.0 * leak * (total - leak) / (math.sqrt(under) + slope)
    return (math.sqrt(under) - slope) / (2.0 * imbalance) if imbalance > 0.0 else total


def superposed_flow(
    form: Superposition,
    *,
    supply_m3_s: float,
    extract_m3_s: float,
    infiltration_m3_s: float,
    is_balanced: bool,
) -> float:
    """Total air exchange of fans and infiltration together [m³/s].

    Parameters
    ----------
    form
        How they add up.
    supply_m3_s, extract_m3_s
        Fan flows [m³/s].
    infiltration_m3_s
        Infiltration without fans [m³/s].
    is_balanced
        Whether the system counts as balanced; only the fan-ratio form asks.

    Source: us_simulation_code

    >>> round(superposed_flow(Superposition.QUADRATURE, supply_m3_s=0.0, extract_m3_s=0.04,
    ...     infiltration_m3_s=0.03, is_balanced=False), 6)
    0.05
    """
    fan = max(supply_m3_s, extract_m3_s)
    imbalance = abs(supply_m3_s - extract_m3_s)
    if form is Superposition.QUADRATURE:
        return math.hypot(imbalance, infiltration_m3_s) + fan - imbalance
    over = fan if form is Superposition.FAN_RATIO else imbalance
    is_whole = is_balanced and form is Superposition.FAN_RATIO
    if is_whole or infiltration_m3_s + over <= 0.0:
        return fan + infiltration_m3_s
    return fan + infiltration_m3_s**2 / (infiltration_m3_s + over)
