"""A house, or many, in a year of weather."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from ventwright.air import AirEstimate, air_estimate_from, kernels
from ventwright.climate.balance import balance_years, values_of
from ventwright.climate.house_plan import YearPlan
from ventwright.climate.states import dew_points_c
from ventwright.climate.summary import (
    HouseHours,
    energy_and_water,
    frost_year,
    hours_of,
    indoor_year,
    sensible_returned,
    surface_year,
)
from ventwright.climate.weather import Floats, Weather
from ventwright.climate.year_findings import (
    CloudCell,
    DesignPoint,
    HoursBin,
    LoadIndex,
    StreamYear,
    YearFindings,
)
from ventwright.moisture import (
    HouseAir,
    drying_needed_kg_s,
    index_heat_j_kg,
    returned_share_frac,
    ventilation_load,
)
from ventwright.quantities import STANDARD_AIR_DENSITY_KG_M3, HumidityOver, Problem, Severity
from ventwright.uncertainty import Estimate, exact, propagate, scale

BATCH_COUNT = 100
"""Houses followed at once: enough to hide the cost of a step, few enough for the memory."""
DESIGN_EXCEEDED_FRACS = (0.004, 0.01, 0.02)
"""Shares of hours that a moist design state is exceeded in; customary steps of design weather."""
CELL_K, CELL_KG_KG = 1.0, 0.5e-3
_HOUR_S = 3600.0


@dataclass(frozen=True, slots=True, kw_only=True)
class _Place:
    """What all houses of one place share."""

    outdoor_dew_c: Floats
    load_index: LoadIndex


def follow_year(plan: YearPlan, weather: Weather) -> YearFindings:
    """One house in a year of weather, hour by hour.

    The house's air is one well-mixed volume that stores water as a multiple of its own; it floats
    between heating and cooling; ventilation passes the exchanger, infiltration doesn't. Hours that
    the file lacks are passed over.

    Parameters
    ----------
    plan
        The house.
    weather
        The year.

    Returns
    -------
    YearFindings
        Hours, sums and distributions.

    Source: moisture_balance, humidity_capacity_multiplier

    >>> from ventwright.climate.build import parse_weather
    >>> from ventwright.uncertainty import exact
    >>> rows = "".join(f"{5 + 20 * (2000 < i < 6000)},70\\n" for i in range(8760))
    >>> year = parse_weather(("temperature [°C],relative humidity [%]\\n" + rows).encode(),
    ...                      name="two seasons")
    >>> none = exact(0.0)
    >>> house = YearPlan(name="barn", volume_m3=300.0, supply_m3_s=exact(0.05),
    ...     extract_m3_s=exact(0.05), infiltration_m3_s=none, sensible_effectiveness=exact(0.8),
    ...     latent_effectiveness=none, exhaust_transfer_frac=none, release_kg_s=exact(1e-4))
    >>> found = follow_year(house, year)
    >>> found.known_h, round(found.energy.recovered_heating_j / 3.6e6)
    (8760.0, 3440)
    """
    return next(follow_years([plan], weather))


def follow_years(
    plans: Sequence[YearPlan],
    weather: Weather,
    *,
    on_progress: Callable[[int], None] | None = None,
) -> Iterator[YearFindings]:
    """Many houses in one year of weather, as `follow_year`, a hundred at once.

    Parameters
    ----------
    plans
        The houses; those that share temperatures, defrost and drying are followed together.
    weather
        The year.
    on_progress
        Called with the number of houses that are done.

    Returns
    -------
    Iterator of YearFindings
        In the order of the houses.

    >>> from ventwright.climate.build import parse_weather
    >>> list(follow_years([], parse_weather(b"temperature [C],rh [%]\\n" + b"5,60\\n" * 8760,
    ...                                     name="flat")))
    []
    """
    place = _place(weather)
    done = 0
    for batch in _batches(plans):
        values = values_of(batch, weather)
        year = balance_years(batch[0], values, weather, is_scalar=len(batch) == 1)
        for index, plan in enumerate(batch):
            hours = hours_of(year, values, weather, index=index, outdoor_dew_c=place.outdoor_dew_c)
            share = sensible_returned(values, index=index)
            yield _findings(plan, hours, weather, place, share)
            done += 1
            if on_progress is not None:
                on_progress(done)


def _batches(plans: Sequence[YearPlan]) -> Iterator[list[YearPlan]]:
    """Runs of houses that differ in plain values alone."""
    batch: list[YearPlan] = []
    for plan in plans:
        if batch and (len(batch) == BATCH_COUNT or _common(plan) != _common(batch[0])):
            yield batch
            batch = []
        batch.append(plan)
    if batch:
        yield batch


def _common(plan: YearPlan) -> tuple[object, ...]:
    return (
        plan.heating_c,
        plan.cooling_c,
        plan.free_rise_k,
        plan.frost_threshold_c,
        plan.defrost,
        plan.wanted_rel_humidity_frac,
        plan.dehumidifier_kg_s,
        plan.coil,
    )


def load_index(weather: Weather) -> LoadIndex:
    """Ventilation load index of a place.

    Parameters
    ----------
    weather
        A whole year of it; missing hours count nothing.

    Returns
    -------
    LoadIndex
        Latent and sensible part.

    Source: harriman_1997

    >>> from ventwright.climate.build import parse_weather
    >>> mild = parse_weather(b"temperature [C],rh [%]\\n" + b"15,60\\n" * 8760, name="mild")
    >>> load_index(mild).latent_j_s_m3
    0.0
    """
    known = weather.is_known
    latent, sensible = index_heat_j_kg(
        np,
        temperature_c=weather.temperature_c[known],
        humidity_ratio_kg_kg=weather.humidity_ratio_kg_kg[known],
    )
    per_kg = STANDARD_AIR_DENSITY_KG_M3 * _HOUR_S
    return LoadIndex(
        latent_j_s_m3=per_kg * float(latent.sum()), sensible_j_s_m3=per_kg * float(sensible.sum())
    )


def _place(weather: Weather) -> _Place:
    known = weather.is_known
    return _Place(
        outdoor_dew_c=dew_points_c(
            humidity_ratio_kg_kg=weather.humidity_ratio_kg_kg[known],
            pressure_pa=weather.pressure_pa[known],
        ),
        load_index=load_index(weather),
    )


def _findings(
    plan: YearPlan, hours: HouseHours, weather: Weather, place: _Place, returned: float
) -> YearFindings:
    airs = (
        ("outdoor", hours.outdoor_c, hours.outdoor_kg_kg, hours.outdoor_dew_c),
        ("supply", hours.supply_c, hours.supply_kg_kg, hours.supply_dew_c),
        ("indoor", hours.indoor_c, hours.indoor_kg_kg, hours.indoor_dew_c),
    )
    energy, moisture, months = energy_and_water(plan, hours)
    indoor = indoor_year(hours)
    return YearFindings(
        house=plan.name,
        place=weather.name,
        known_h=float(weather.known_count),
        filled_h=float(np.count_nonzero(weather.is_filled)),
        missing_h=float(weather.hours_count - weather.known_count),
        plane=weather.plane,
        wanted_rel_humidity_frac=plan.wanted_rel_humidity_frac,
        load_index=place.load_index,
        streams=tuple(_stream(*air) for air in airs),
        cloud=tuple(cell for name, t, w, _ in airs for cell in _cloud(name, t, w)),
        surfaces=tuple(surface_year(s, hours) for s in plan.surfaces),
        energy=energy,
        moisture=moisture,
        indoor=indoor,
        frost=frost_year(plan, hours, sensible_returned_frac=returned),
        months=months,
        design=design_points(plan, hours),
        problems=(*weather.problems, *_doubts(indoor.saturated_h, plan)),
    )


def _stream(name: str, temperature: Floats, ratio: Floats, dew: Floats) -> StreamYear:
    low, mid, high = np.quantile(dew, [0.01, 0.5, 0.99])
    # Files print whole or tenth degrees; a hair keeps those on the edge of a step on one side.
    step = np.floor(dew + 1e-6).astype(int)
    first = int(step.min())
    counts = np.bincount(step - first)
    enthalpy = kernels.enthalpy_j_kg(temperature_c=temperature, humidity_ratio_kg_kg=ratio)
    return StreamYear(
        name=name,
        mean_c=float(temperature.mean()),
        mean_humidity_ratio_kg_kg=float(ratio.mean()),
        mean_enthalpy_j_kg=float(enthalpy.mean()),
        low_dew_point_c=float(low),
        mid_dew_point_c=float(mid),
        high_dew_point_c=float(high),
        dew_point_bins=tuple(
            HoursBin(low_c=float(first + i), hours_h=float(n)) for i, n in enumerate(counts)
        ),
    )


def _cloud(name: str, temperature: Floats, ratio: Floats) -> Iterator[CloudCell]:
    column = np.floor(temperature / CELL_K).astype(int)
    row = np.floor(ratio / CELL_KG_KG).astype(int)
    first = int(column.min())
    rows = int(row.max()) + 1
    counts = np.bincount((column - first) * rows + row)
    for place in np.flatnonzero(counts):
        yield CloudCell(
            stream=name,
            low_c=CELL_K * (first + int(place) // rows),
            low_kg_kg=CELL_KG_KG * (int(place) % rows),
            hours_h=float(counts[place]),
        )


def design_points(plan: YearPlan, hours: HouseHours) -> tuple[DesignPoint, ...]:
    """Moist design states of the file's own hours, and what they ask of the house.

    Parameters
    ----------
    plan, hours
        The house and its hours.
    """
    found = []
    pressure_pa = float(hours.pressure_pa.mean())
    for share in DESIGN_EXCEEDED_FRACS:
        dew_c = float(np.quantile(hours.outdoor_dew_c, 1.0 - share))
        is_near = np.abs(hours.outdoor_dew_c - dew_c) <= 0.5
        coincident_c = max(float(hours.outdoor_c[is_near].mean()), dew_c)
        found.append(_design(plan, share, dew_c, coincident_c, pressure_pa))
    return tuple(found)


def _design(
    plan: YearPlan, share: float, dew_c: float, coincident_c: float, pressure_pa: float
) -> DesignPoint:
    indoor_c = min(max(coincident_c + plan.free_rise_k, plan.heating_c), plan.cooling_c)
    indoor = _air(pressure_pa, indoor_c, rel_humidity_frac=exact(plan.wanted_rel_humidity_frac))
    outdoor = _air(pressure_pa, coincident_c, dew_point_c=exact(dew_c))
    to_mass = 1.0 / indoor.specific_volume_m3_kg.value
    flows = (plan.supply_m3_s, plan.extract_m3_s, plan.infiltration_m3_s)
    supply, extract, infiltration = (scale(flow, to_mass) for flow in flows)
    house = HouseAir(
        supply_kg_s=supply,
        extract_kg_s=extract,
        infiltration_kg_s=infiltration,
        latent_effectiveness=plan.latent_effectiveness,
        exhaust_transfer_frac=plan.exhaust_transfer_frac,
        release_kg_s=plan.release_kg_s,
    )
    load = ventilation_load(
        supply_kg_s=supply,
        outdoor=outdoor,
        indoor=indoor,
        sensible_returned_frac=_returned(house, plan.sensible_effectiveness),
        latent_returned_frac=_returned(house, plan.latent_effectiveness),
    )
    return DesignPoint(
        exceeded_frac=share,
        dew_point_c=dew_c,
        coincident_c=coincident_c,
        drying_kg_s=drying_needed_kg_s(
            house,
            outdoor_kg_kg=outdoor.humidity_ratio_kg_kg,
            wanted_kg_kg=indoor.humidity_ratio_kg_kg,
        ),
        sensible_w=load.sensible_w,
        latent_w=load.latent_w,
    )


def _air(
    pressure_pa: float,
    temperature_c: float,
    *,
    rel_humidity_frac: Estimate | None = None,
    dew_point_c: Estimate | None = None,
) -> AirEstimate:
    return air_estimate_from(
        pressure_pa=exact(pressure_pa),
        temperature_c=exact(temperature_c),
        rel_humidity_frac=rel_humidity_frac,
        dew_point_c=dew_point_c,
        humidity_over=HumidityOver.ICE,
    )


def _returned(house: HouseAir, effectiveness: Estimate) -> Estimate:
    def share(supply: float, extract: float, value: float, transfer: float) -> float:
        return float(
            returned_share_frac(
                supply_kg_s=supply,
                extract_kg_s=extract,
                effectiveness=value,
                exhaust_transfer_frac=transfer,
                maths=math,
            )
        )

    inputs = [house.supply_kg_s, house.extract_kg_s, effectiveness, house.exhaust_transfer_frac]
    return propagate(share, inputs)


def _doubts(saturated_h: float, plan: YearPlan) -> Iterator[Problem]:
    if saturated_h:
        yield Problem(
            code="indoor-saturated",
            where=plan.name,
            message=f"the indoor air comes out saturated in {saturated_h:.0f} hours; in a house, "
            "water would gather on surfaces instead, which the balance doesn't follow",
            remedy="check release, flows and cooling; take the hours for wet ones",
        )
    for surface in plan.surfaces:
        if (
            surface.temperature_c is None
            and surface.temperature_factor_frac is None
            and not surface.is_as_supply
        ):
            yield Problem(
                code="surface-not-followed",
                where=surface.surface_id,
                message=f"{surface.name or surface.surface_id} has neither temperature nor "
                "temperature factor, so its wet hours can't be counted",
                remedy="type temperature_factor (fRsi) or temperature in the house file",
                severity=Severity.NOTE,
            )
