"""What the assumptions of a year leave open: every influence moved, all runs in one batch."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import replace
from typing import Any

from ventwright.climate.house_plan import YearPlan, without_moisture_recovery
from ventwright.climate.weather import Weather
from ventwright.climate.year import follow_years
from ventwright.climate.year_findings import HeatOnly, YearEstimate, YearFindings
from ventwright.uncertainty import Estimate, Influence, combine, measured

_STEP = 0.5
"""Of a standard uncertainty: wide enough to step over single hours, near enough to be a slope."""

# Fields of a plan that carry uncertainty, with the range that keeps them physical.
_OPEN: Mapping[str, tuple[float, float]] = {
    "supply_m3_s": (0.0, float("inf")),
    "extract_m3_s": (0.0, float("inf")),
    "infiltration_m3_s": (0.0, float("inf")),
    "sensible_effectiveness": (0.0, 1.0),
    "latent_effectiveness": (0.0, 1.0),
    "exhaust_transfer_frac": (0.0, 1.0),
    "release_kg_s": (0.0, float("inf")),
    "storage_ratio": (1.0, float("inf")),
}

FIGURES: Mapping[str, Callable[[YearFindings], float]] = {
    "recovered_heating_j": lambda y: y.energy.recovered_heating_j,
    "lost_heating_j": lambda y: y.energy.lost_heating_j,
    "kept_out_cooling_j": lambda y: y.energy.kept_out_cooling_j,
    "brought_in_cooling_j": lambda y: y.energy.brought_in_cooling_j,
    "dehumidifier_kg": lambda y: y.moisture.dehumidifier_kg,
    "coil_kg": lambda y: y.moisture.coil_kg,
    "brought_in_kg": lambda y: y.moisture.brought_in_kg,
    "kept_out_kg": lambda y: y.moisture.kept_out_kg,
    "given_back_kg": lambda y: y.moisture.given_back_kg,
    "worst_day_kg_s": lambda y: y.moisture.worst_day_kg_s,
    "mid_rel_humidity_frac": lambda y: y.indoor.mid_frac,
    "high_rel_humidity_frac": lambda y: y.indoor.high_frac,
    "above_60_h": lambda y: y.indoor.above_60_h,
    "condensate_h": lambda y: y.frost.condensate_h,
}
"""Figures that get a budget, by code; each surface's wet hours come besides."""


def assess_year(
    plan: YearPlan,
    weather: Weather,
    *,
    on_progress: Callable[[int, int], None] | None = None,
) -> YearFindings:
    """A house in a year of weather, with what its assumptions leave open.

    Every influence of the plan is moved by half a standard uncertainty to both sides, and what the
    figures do then makes their budgets (first order). An energy exchanger is compared with one that
    passes heat alone.

    Parameters
    ----------
    plan
        The house.
    weather
        The year.
    on_progress
        Called with the number of years that are done and that will be.

    Returns
    -------
    YearFindings
        With estimates and comparison.

    Source: gum_2008

    >>> from ventwright.climate.build import parse_weather
    >>> from ventwright.uncertainty import exact, measured
    >>> rows = "".join(f"{5 + 20 * (2000 < i < 6000)},70\\n" for i in range(8760))
    >>> year = parse_weather(("temperature [°C],relative humidity [%]\\n" + rows).encode(),
    ...                      name="two seasons")
    >>> none = exact(0.0)
    >>> flow = measured(0.05, u_std=0.0025, id="flow", label="flow")
    >>> house = YearPlan(name="barn", volume_m3=300.0, supply_m3_s=flow, extract_m3_s=flow,
    ...     infiltration_m3_s=none, sensible_effectiveness=exact(0.8), latent_effectiveness=none,
    ...     exhaust_transfer_frac=none, release_kg_s=exact(1e-4), storage_ratio=exact(15.0))
    >>> recovered = assess_year(house, year).estimate_si("recovered_heating_j")
    >>> round(recovered.u_std / recovered.value, 3)
    0.05
    """
    influences = _influences(plan)
    moved = [
        (influence, sign, _moved(plan, influence, sign * _STEP))
        for influence in influences.values()
        for sign in (1.0, -1.0)
    ]
    plans = [plan, *(p for _, _, p in moved)]
    is_energy = plan.latent_effectiveness.value > 0.0
    if is_energy:
        plans.append(without_moisture_recovery(plan))
    count = len(plans)
    report = None if on_progress is None else (lambda done: on_progress(done, count))
    found = list(follow_years(plans, weather, on_progress=report))
    middle = found[0]
    runs = [(i, sign, f) for (i, sign, _), f in zip(moved, found[1:], strict=False)]
    figures = {**FIGURES, **_wet_figures(middle)}
    return replace(
        middle,
        estimates=tuple(
            YearEstimate(code=code, estimate_si=_estimate(figure, middle, runs))
            for code, figure in figures.items()
        ),
        heat_only=HeatOnly(moisture=found[-1].moisture, indoor=found[-1].indoor)
        if is_energy
        else None,
    )


def _influences(plan: YearPlan) -> dict[str, Influence]:
    found: dict[str, Influence] = {}
    for name in _OPEN:
        for component in getattr(plan, name).components:
            found.setdefault(component.influence.id, component.influence)
    return found


def _moved(plan: YearPlan, influence: Influence, step: float) -> YearPlan:
    """The plan with one influence moved by a share of its standard uncertainty, everywhere."""
    changes: dict[str, Any] = {}
    for name, (low, high) in _OPEN.items():
        estimate: Estimate = getattr(plan, name)
        shift = sum(
            step * c.contribution for c in estimate.components if c.influence.id == influence.id
        )
        if shift:
            changes[name] = replace(estimate, value=min(max(estimate.value + shift, low), high))
    return replace(plan, **changes)


def _wet_figures(year: YearFindings) -> dict[str, Callable[[YearFindings], float]]:
    def wet(index: int) -> Callable[[YearFindings], float]:
        return lambda y: y.surfaces[index].wet_h or 0.0

    return {
        f"wet_h:{surface.surface_id}": wet(index)
        for index, surface in enumerate(year.surfaces)
        if surface.wet_h is not None
    }


def _estimate(
    figure: Callable[[YearFindings], float],
    middle: YearFindings,
    runs: list[tuple[Influence, float, YearFindings]],
) -> Estimate:
    """First order, each influence with the root mean square of its two sides.

    Where the sides are alike that is the usual slope. Where they differ — the smaller of two equal
    flows counts, a dehumidifier sets in — the mean of both would hide half of the larger one.
    """
    value = figure(middle)
    sides: dict[str, list[float]] = {}
    influences: dict[str, Influence] = {}
    for influence, sign, found in runs:
        influences[influence.id] = influence
        sides.setdefault(influence.id, []).append(sign * (figure(found) - value) / _STEP)
    terms = []
    for key, (up, down) in sides.items():
        cause = influences[key]
        one = measured(
            0.0, u_std=1.0, id=cause.id, label=cause.label, distribution=cause.distribution
        )
        terms.append((math.copysign(math.hypot(up, down) / math.sqrt(2.0), up + down), one))
    return combine(value, terms)
