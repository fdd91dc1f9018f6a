"""One surface against the air that touches it: margin to dew, odds of being wet, mould screen."""

from __future__ import annotations

import math
from collections.abc import Sequence

from ventwright.air import AirEstimate, kernels
from ventwright.quantities import HumidityOver, Problem, Severity, SourceTrust
from ventwright.quantities.records import dataclass
from ventwright.uncertainty import (
    Decision,
    Estimate,
    Verdict,
    combine,
    decide,
    difference,
    prob_within,
    propagate,
)

CONFIDENCE_FRAC = 0.95
MOULD_REL_HUMIDITY_FRAC = 0.80
"""Relative humidity at a surface from which mould may grow, as a mean over days to a month.

Source: iso_13788
"""
MOULD_TRUST = SourceTrust.SECOND_HAND
MOULD_SOURCE_KEY = "iso_13788"


@dataclass(frozen=True, slots=True, kw_only=True)
class SurfaceCheck:
    """What one surface does in one air.

    Parameters
    ----------
    surface_id
        Which surface.
    surface_temperature_c
        Its temperature [°C].
    air_name
        Which air touches it.
    dew_point_c
        Dew point of that air [°C]; the frost point where it lies below 0 °C.
    margin_k
        Surface less dew point [K]; negative where it is wet.
    prob_wet_frac
        Probability that the surface lies at or below the dew point.
    surface_rel_humidity_frac
        Relative humidity of that air cooled or warmed to the surface [1]; above 1 water condenses.
    decision
        Whether the surface is dry: met, not met, or not shown at the confidence asked.
    mould_decision
        Whether the humidity at the surface keeps below 0.80; one reading is a screen, the criterion
        speaks of a mean over days to a month.
    flags
        What to mind.
    """

    surface_id: str
    surface_temperature_c: Estimate
    air_name: str
    dew_point_c: Estimate
    margin_k: Estimate
    prob_wet_frac: float
    surface_rel_humidity_frac: Estimate
    decision: Decision
    mould_decision: Decision
    flags: tuple[Problem, ...] = ()


def check_surface(
    *,
    surface_id: str,
    surface_temperature_c: Estimate,
    air: AirEstimate,
    air_name: str,
    margin_wanted_k: float = 0.0,
    confidence_frac: float = CONFIDENCE_FRAC,
) -> SurfaceCheck:
    """Judge whether a surface is dry in an air, and screen it for mould.

    Parameters
    ----------
    surface_id
        Which surface.
    surface_temperature_c
        Its temperature [°C].
    air
        The air that touches it.
    air_name
        What that air is called.
    margin_wanted_k
        Margin to the dew point asked for [K].
    confidence_frac
        Confidence asked of a verdict, 0.5 to 1.

    Returns
    -------
    SurfaceCheck
        Margin, odds, humidity at the surface, verdicts.

    Source: iso_13788, jcgm_106_2012

    >>> from ventwright.air import air_estimate_from
    >>> from ventwright.uncertainty import exact, measured
    >>> air = air_estimate_from(pressure_pa=exact(101325.0), temperature_c=exact(24.0),
    ...     rel_humidity_frac=measured(0.5, u_std=0.017, id="rh", label="humidity"))
    >>> check = check_surface(surface_id="window", air=air, air_name="room",
    ...     surface_temperature_c=measured(13.5, u_std=0.4, id="t", label="surface"))
    >>> round(check.margin_k.value, 2), check.decision.verdict.value
    (0.55, 'not shown')
    """
    dew = condensation_point_c(air)
    margin = difference(surface_temperature_c, dew)
    decision = decide(margin, low=margin_wanted_k, confidence_frac=confidence_frac)
    humidity = surface_rel_humidity(air=air, surface_temperature_c=surface_temperature_c)
    mould = decide(humidity, high=MOULD_REL_HUMIDITY_FRAC, confidence_frac=confidence_frac)
    return SurfaceCheck(
        surface_id=surface_id,
        surface_temperature_c=surface_temperature_c,
        air_name=air_name,
        dew_point_c=dew,
        margin_k=margin,
        prob_wet_frac=prob_wet_frac(margin),
        surface_rel_humidity_frac=humidity,
        decision=decision,
        mould_decision=mould,
        flags=_flags(surface_id, surface_temperature_c, margin, decision, mould),
    )


def prob_wet_frac(margin_k: Estimate) -> float:
    """Probability that a margin to the dew point is not above zero.

    Parameters
    ----------
    margin_k
        Surface less dew point [K].

    >>> from ventwright.uncertainty import measured
    >>> round(prob_wet_frac(measured(0.55, u_std=0.705, id="m", label="margin")), 3)
    0.218
    """
    if margin_k.u_std == 0.0:
        return float(margin_k.value <= 0.0)
    return 1.0 - prob_within(margin_k, low=0.0)


def condensation_point_c(air: AirEstimate) -> Estimate:
    """Temperature at which a surface begins to gather dew, or frost below 0 °C.

    An air state keeps its dew point over the plane it was stated for; on a surface below 0 °C frost
    forms first, at the frost point.

    Parameters
    ----------
    air
        The air.

    Returns
    -------
    Estimate
        Dew or frost point [°C].

    >>> from ventwright.air import air_estimate_from
    >>> from ventwright.quantities import HumidityOver
    >>> from ventwright.uncertainty import exact
    >>> air = air_estimate_from(pressure_pa=exact(101325.0), temperature_c=exact(-5.0),
    ...     rel_humidity_frac=exact(0.8), humidity_over=HumidityOver.WATER)
    >>> round(air.dew_point_c.value, 1), round(condensation_point_c(air).value, 1)
    (-7.9, -7.0)
    """
    dew = air.dew_point_c
    frost_c = air.state.frost_point_c
    if frost_c >= 0.0 or frost_c == dew.value:
        return dew
    # Both curves meet near 0 °C and are almost straight below it, so their quotient is the slope.
    return combine(frost_c, [(frost_c / dew.value, dew)])


def surface_rel_humidity(*, air: AirEstimate, surface_temperature_c: Estimate) -> Estimate:
    """Relative humidity that an air has at a surface, ``e/p_sat(T_s)``, over ice below 0 °C.

    Parameters
    ----------
    air
        The air.
    surface_temperature_c
        Temperature of the surface [°C].

    Returns
    -------
    Estimate
        Relative humidity at the surface [1]; above 1 where the surface is below the dew point.

    Source: iso_13788

    >>> from ventwright.air import air_estimate_from
    >>> from ventwright.uncertainty import exact
    >>> air = air_estimate_from(pressure_pa=exact(101325.0), temperature_c=exact(20.0),
    ...                         rel_humidity_frac=exact(0.5))
    >>> round(surface_rel_humidity(air=air, surface_temperature_c=exact(12.63)).value, 2)
    0.8
    """
    pressure_pa, is_enhanced = air.state.pressure_pa, air.state.is_enhanced

    def humidity(humidity_ratio_kg_kg: float, temperature_c: float) -> float:
        vapour_pa = kernels.vapour_pressure_pa(
            humidity_ratio_kg_kg=humidity_ratio_kg_kg, pressure_pa=pressure_pa
        )
        saturated_pa = kernels.saturation_pressure_pa(
            math,
            temperature_c=temperature_c,
            pressure_pa=pressure_pa,
            over=HumidityOver.ICE,
            is_enhanced=is_enhanced,
        )
        return float(vapour_pa / saturated_pa)

    return propagate(humidity, [air.humidity_ratio_kg_kg, surface_temperature_c])


def _flags(
    surface_id: str,
    temperature_c: Estimate,
    margin: Estimate,
    decision: Decision,
    mould: Decision,
) -> tuple[Problem, ...]:
    flags = []
    water = "frost" if temperature_c.value < 0.0 else "dew"
    if decision.verdict is Verdict.NOT_MET:
        flags.append(
            Problem(
                code="surface-wet",
                where=surface_id,
                message=f"the surface lies {-margin.value:.1f} K below the {water} point",
                remedy="dry the air, or keep the surface warmer",
            )
        )
    elif decision.verdict is Verdict.NOT_SHOWN:
        flags.append(
            Problem(
                code="surface-not-shown-dry",
                where=surface_id,
                message=f"the margin to the {water} point is {margin.value:.1f} K with a standard "
                f"uncertainty of {margin.u_std:.1f} K",
                remedy="measure the surface and the air beside it with better probes, or take the "
                "surface for wet",
            )
        )
    if mould.verdict is not Verdict.MET:
        flags.append(
            Problem(
                code="mould-screen",
                where=surface_id,
                message="the air at the surface is not shown to stay below 80 % relative humidity; "
                "one reading is a screen, the criterion (ISO 13788, known second-hand) speaks of "
                "a mean over days to a month",
                remedy="log surface and air over weeks; mend the cause before cleaning",
                severity=Severity.WARNING if mould.verdict is Verdict.NOT_MET else Severity.NOTE,
            )
        )
    return tuple(flags)


@dataclass(frozen=True, slots=True, kw_only=True)
class FirstToWet:
    """Which of several surfaces gets wet first, as the air grows moister.

    Parameters
    ----------
    check
        The surface with the smallest margin.
    runner_up
        The next one, None where there is only one.
    prob_first_frac
        Probability that the first is indeed below the runner-up; 1 without one.
    """

    check: SurfaceCheck
    runner_up: SurfaceCheck | None
    prob_first_frac: float


def first_to_wet(checks: Sequence[SurfaceCheck]) -> FirstToWet | None:
    """Find the surface with the smallest margin to the dew point of its air.

    Parameters
    ----------
    checks
        Any number.

    Returns
    -------
    FirstToWet or None
        None without checks.

    >>> first_to_wet([]) is None
    True
    """
    ordered = sorted(checks, key=lambda c: (c.margin_k.value, c.surface_id))
    if not ordered:
        return None
    if len(ordered) == 1:
        return FirstToWet(check=ordered[0], runner_up=None, prob_first_frac=1.0)
    first, second = ordered[:2]
    gap = difference(second.margin_k, first.margin_k)
    return FirstToWet(check=first, runner_up=second, prob_first_frac=1.0 - prob_wet_frac(gap))
