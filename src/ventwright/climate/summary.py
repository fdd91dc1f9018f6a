"""From the hours of one house to the sums, counts and distributions of its year."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ventwright.air.mixture import (
    DRY_AIR_HEAT_CAPACITY_J_KG_K,
    VAPOUR_HEAT_CAPACITY_J_KG_K,
)
from ventwright.climate.balance import HOUR_S, BalanceYear, HouseValues
from ventwright.climate.house_plan import YearPlan, YearSurface
from ventwright.climate.states import dew_points_c, humidity_ratios_kg_kg, rel_humidities_frac
from ventwright.climate.weather import Bools, Floats, Ints, Weather
from ventwright.climate.year_findings import SurfaceYear
from ventwright.climate.year_sums import EnergyYear, FrostYear, IndoorYear, MoistureYear, MonthYear
from ventwright.moisture import drying_heat_j_kg, returned_share_frac

_HUMIDITY_EDGES = np.linspace(0.0, 1.0, 21)
_MOULD_REL_HUMIDITY_FRAC = 0.80


@dataclass(frozen=True, slots=True, kw_only=True)
class HouseHours:
    """Known hours of one house, all arrays of one length."""

    month: Ints
    day: Ints
    day_index: Ints
    outdoor_c: Floats
    outdoor_kg_kg: Floats
    outdoor_dew_c: Floats
    pressure_pa: Floats
    indoor_c: Floats
    indoor_kg_kg: Floats
    indoor_dew_c: Floats
    indoor_rel_frac: Floats
    supply_c: Floats
    supply_kg_kg: Floats
    supply_dew_c: Floats
    running_share: Floats
    supply_kg_s: Floats
    infiltration_kg_s: Floats
    flow_ratio: float
    outdoor_part_kg_s: Floats
    dehumidifier_kg_s: Floats
    coil_kg_s: Floats
    wanted_kg_kg: Floats
    release_kg_s: float
    is_plain: bool


def hours_of(
    year: BalanceYear,
    values: HouseValues,
    weather: Weather,
    *,
    index: int,
    outdoor_dew_c: Floats | None = None,
) -> HouseHours:
    """Known hours of one house of a batch, with its dew points and humidities.

    Parameters
    ----------
    year, values, weather
        Of the batch.
    index
        Which house.
    outdoor_dew_c
        Outdoor dew points of the known hours where they are at hand [°C].
    """
    known = weather.is_known
    outdoor_c, outdoor, pressure = (
        a[known] for a in (weather.temperature_c, weather.humidity_ratio_kg_kg, weather.pressure_pa)
    )
    indoor_c = year.indoor_c[known]
    indoor = np.maximum(year.indoor_kg_kg[known, index], 1e-6)
    supply_c, supply = year.supply_c[known, index], year.supply_kg_kg[known, index]
    indoor_dew, supply_dew = np.split(
        dew_points_c(
            humidity_ratio_kg_kg=np.concatenate([indoor, np.maximum(supply, 1e-6)]),
            pressure_pa=np.concatenate([pressure, pressure]),
        ),
        2,
    )
    if outdoor_dew_c is None:
        outdoor_dew_c = dew_points_c(humidity_ratio_kg_kg=outdoor, pressure_pa=pressure)
    extract = float(values.extract_kg_s[index])
    return HouseHours(
        month=weather.month[known],
        day=weather.day[known],
        day_index=np.flatnonzero(known) // 24,
        outdoor_c=outdoor_c,
        outdoor_kg_kg=outdoor,
        outdoor_dew_c=outdoor_dew_c,
        pressure_pa=pressure,
        indoor_c=indoor_c,
        indoor_kg_kg=indoor,
        indoor_dew_c=indoor_dew,
        indoor_rel_frac=rel_humidities_frac(
            temperature_c=indoor_c, humidity_ratio_kg_kg=indoor, pressure_pa=pressure
        ),
        supply_c=supply_c,
        supply_kg_kg=supply,
        supply_dew_c=supply_dew,
        running_share=year.running_share[known],
        supply_kg_s=float(values.supply_kg_s[index]) * year.running_share[known],
        infiltration_kg_s=float(values.infiltration_kg_s[index])
        + max(0.0, extract - float(values.supply_kg_s[index])) * year.running_share[known],
        flow_ratio=float(values.supply_kg_s[index]) / extract if extract > 0.0 else 0.0,
        outdoor_part_kg_s=year.outdoor_part_kg_s[known, index],
        dehumidifier_kg_s=year.dehumidifier_kg_s[known, index],
        coil_kg_s=year.coil_kg_s[known, index],
        wanted_kg_kg=year.wanted_kg_kg[known],
        release_kg_s=float(values.release_kg_s[index]),
        is_plain=bool(values.latent_effectiveness[index] <= 0.0),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class _Hourly:
    """Heat and water of each hour [J, kg], split by what the house needs."""

    recovered: Floats
    lost: Floats
    infiltration: Floats
    kept_cool: Floats
    brought_cool: Floats
    unasked: Floats
    brought_kg: Floats
    kept_kg: Floats
    back_kg: Floats


def _hourly(plan: YearPlan, hours: HouseHours) -> _Hourly:
    heat_capacity = DRY_AIR_HEAT_CAPACITY_J_KG_K + VAPOUR_HEAT_CAPACITY_J_KG_K * hours.outdoor_kg_kg
    flow_j_k = hours.supply_kg_s * heat_capacity * HOUR_S
    recovered = flow_j_k * (hours.supply_c - hours.outdoor_c)
    lost = flow_j_k * (hours.indoor_c - hours.supply_c)
    rise = hours.indoor_c - hours.outdoor_c
    needs_heat = hours.outdoor_c < plan.heating_limit_c
    is_hot = rise < 0.0
    is_between = ~needs_heat & ~is_hot
    infiltration = hours.infiltration_kg_s * heat_capacity * HOUR_S * rise
    moister = hours.outdoor_kg_kg > hours.indoor_kg_kg
    excess = hours.outdoor_kg_kg - hours.indoor_kg_kg
    through_kg = hours.supply_kg_s * HOUR_S
    kept = through_kg * (hours.outdoor_kg_kg - hours.supply_kg_kg)
    brought = through_kg * (hours.supply_kg_kg - hours.indoor_kg_kg)
    brought = brought + hours.infiltration_kg_s * HOUR_S * excess
    return _Hourly(
        recovered=np.where(needs_heat, recovered, 0.0),
        lost=np.where(needs_heat, lost, 0.0),
        infiltration=np.where(needs_heat, infiltration, 0.0),
        kept_cool=np.where(is_hot, -recovered, 0.0),
        brought_cool=np.where(is_hot, -lost, 0.0),
        unasked=np.where(is_between, recovered, 0.0),
        brought_kg=np.where(moister, brought, 0.0),
        kept_kg=np.where(moister, kept, 0.0),
        back_kg=np.where(moister, 0.0, -kept),
    )


def energy_and_water(
    plan: YearPlan, hours: HouseHours
) -> tuple[EnergyYear, MoistureYear, tuple[MonthYear, ...]]:
    """Sums of heat and water over the year and its months.

    Parameters
    ----------
    plan, hours
        The house and its hours.
    """
    hourly = _hourly(plan, hours)
    energy = EnergyYear(
        recovered_heating_j=_sum(hourly.recovered),
        lost_heating_j=_sum(hourly.lost),
        infiltration_heating_j=_sum(hourly.infiltration),
        kept_out_cooling_j=_sum(hourly.kept_cool),
        brought_in_cooling_j=_sum(hourly.brought_cool),
        unasked_j=_sum(hourly.unasked),
        latent_kept_out_j=_sum(hourly.kept_kg * drying_heat_j_kg(hours.indoor_c)),
    )
    needed = hours.release_kg_s + hours.outdoor_part_kg_s * (
        hours.outdoor_kg_kg - hours.wanted_kg_kg
    )
    worst, month, day = _worst_day(hours, needed)
    moisture = MoistureYear(
        dehumidifier_kg=HOUR_S * _sum(hours.dehumidifier_kg_s),
        coil_kg=HOUR_S * _sum(hours.coil_kg_s),
        brought_in_kg=_sum(hourly.brought_kg),
        kept_out_kg=_sum(hourly.kept_kg),
        given_back_kg=_sum(hourly.back_kg),
        worst_day_kg_s=worst,
        worst_month_number=month,
        worst_day_number=day,
    )
    return energy, moisture, _months(hours, hourly)


def _worst_day(hours: HouseHours, needed_kg_s: Floats) -> tuple[float, int, int]:
    """Day of 24 known hours that asks for the most drying."""
    count = np.bincount(hours.day_index)
    total = np.bincount(hours.day_index, weights=needed_kg_s)
    mean = np.where(count == 24, total / 24.0, -np.inf)
    day = int(np.argmax(mean))
    if not np.isfinite(mean[day]):
        return 0.0, 0, 0
    at = int(np.flatnonzero(hours.day_index == day)[0])
    return max(0.0, float(mean[day])), int(hours.month[at]), int(hours.day[at])


def _months(hours: HouseHours, hourly: _Hourly) -> tuple[MonthYear, ...]:
    def by_month(values: Floats) -> Floats:
        return np.bincount(hours.month, weights=values, minlength=13).astype(np.float64)

    count = np.bincount(hours.month, minlength=13)
    sums = {
        "recovered_heating_j": by_month(hourly.recovered),
        "lost_heating_j": by_month(hourly.lost),
        "kept_out_cooling_j": by_month(hourly.kept_cool),
        "brought_in_cooling_j": by_month(hourly.brought_cool),
        "brought_in_kg": by_month(hourly.brought_kg),
        "kept_out_kg": by_month(hourly.kept_kg),
        "dehumidifier_kg": by_month(HOUR_S * hours.dehumidifier_kg_s),
    }
    means = {
        "outdoor_c": by_month(hours.outdoor_c),
        "outdoor_dew_point_c": by_month(hours.outdoor_dew_c),
        "indoor_rel_humidity_frac": by_month(hours.indoor_rel_frac),
    }
    return tuple(
        MonthYear(
            month_number=m,
            known_h=float(count[m]),
            **{name: float(v[m]) for name, v in sums.items()},
            **{name: float(v[m]) / int(count[m]) for name, v in means.items()},
        )
        for m in range(1, 13)
        if count[m]
    )


def indoor_year(hours: HouseHours) -> IndoorYear:
    """Distribution of the indoor relative humidity.

    Hours count as beyond a limit as a hygrometer of whole per cents would show them.

    Parameters
    ----------
    hours
        Of the house.
    """
    humidity = hours.indoor_rel_frac
    low, mid, high = np.quantile(humidity, [0.01, 0.5, 0.99])
    bins, _ = np.histogram(np.clip(humidity, 0.0, 1.0), bins=_HUMIDITY_EDGES)
    outdoor = _daily_swing(hours, hours.outdoor_kg_kg)
    return IndoorYear(
        low_frac=float(low),
        mid_frac=float(mid),
        high_frac=float(high),
        below_30_h=_count(humidity < 0.295),
        above_60_h=_count(humidity > 0.605),
        above_80_h=_count(humidity > 0.805),
        saturated_h=_count(humidity >= 1.0),
        humidity_bins_h=tuple(float(b) for b in bins),
        swing_ratio=_daily_swing(hours, hours.indoor_kg_kg) / outdoor if outdoor > 0.0 else 0.0,
    )


def _daily_swing(hours: HouseHours, values: Floats) -> float:
    """Root mean square of the hours about the mean of their day."""
    count = np.bincount(hours.day_index)
    mean = np.bincount(hours.day_index, weights=values) / np.maximum(count, 1)
    return float(np.sqrt(np.mean((values - mean[hours.day_index]) ** 2)))


def frost_year(plan: YearPlan, hours: HouseHours, *, sensible_returned_frac: float) -> FrostYear:
    """Hours of frost and of water in the exchanger.

    Parameters
    ----------
    plan, hours
        The house and its hours.
    sensible_returned_frac
        Share of the way from outdoor to indoor temperature that the supply air has gone.
    """
    threshold = plan.frost_threshold_c
    exhaust_c = hours.indoor_c - sensible_returned_frac * hours.flow_ratio * (
        hours.indoor_c - hours.outdoor_c
    )
    # What the supply air took up is gone from the extract air, and no longer condenses there.
    exhaust = hours.indoor_kg_kg - hours.flow_ratio * np.maximum(
        hours.supply_kg_kg - hours.outdoor_kg_kg, 0.0
    )
    saturated = humidity_ratios_kg_kg(temperature_c=exhaust_c, pressure_pa=hours.pressure_pa)
    is_drained = hours.supply_c < hours.outdoor_dew_c - 1e-6
    return FrostYear(
        frost_h=None if threshold is None else _count(hours.outdoor_c < threshold),
        lost_ventilation_h=_sum(1.0 - hours.running_share),
        condensate_h=_count(exhaust > saturated),
        supply_saturated_h=_count(is_drained) if hours.is_plain else 0.0,
    )


def surface_year(surface: YearSurface, hours: HouseHours) -> SurfaceYear:
    """Hours that a surface is wet, and near enough to saturation for mould.

    Parameters
    ----------
    surface, hours
        The surface and the hours of its house.
    """
    temperature = _surface_c(surface, hours)
    plain = SurfaceYear(surface_id=surface.surface_id, name=surface.name, air=surface.air)
    if temperature is None:
        return plain
    dew, ratio = {
        "supply": (hours.supply_dew_c, hours.supply_kg_kg),
        "outdoor": (hours.outdoor_dew_c, hours.outdoor_kg_kg),
    }.get(surface.air, (hours.indoor_dew_c, hours.indoor_kg_kg))
    is_wet = temperature <= dew
    humidity = rel_humidities_frac(
        temperature_c=np.clip(temperature, -40.0, 60.0),
        humidity_ratio_kg_kg=ratio,
        pressure_pa=hours.pressure_pa,
    )
    return SurfaceYear(
        surface_id=surface.surface_id,
        name=surface.name,
        air=surface.air,
        wet_h=_count(is_wet),
        supply_dew_h=_count(temperature <= hours.supply_dew_c),
        longest_wet_h=_longest(is_wet),
        mould_h=_count(humidity >= _MOULD_REL_HUMIDITY_FRAC),
        lowest_margin_k=float(np.min(temperature - dew)),
    )


def _surface_c(surface: YearSurface, hours: HouseHours) -> Floats | None:
    if surface.temperature_c is not None:
        return np.full_like(hours.indoor_c, surface.temperature_c)
    if surface.is_as_supply:
        return hours.supply_c
    factor = surface.temperature_factor_frac
    if factor is None:
        return None
    return hours.outdoor_c + factor * (hours.indoor_c - hours.outdoor_c)


def _longest(is_wet: Bools) -> float:
    edges = np.flatnonzero(np.diff(np.concatenate([[False], is_wet, [False]]).astype(np.int8)))
    runs = edges[1::2] - edges[::2]
    return float(runs.max()) if runs.size else 0.0


def sensible_returned(values: HouseValues, *, index: int) -> float:
    """Share of the way from outdoor to indoor temperature that the supply air has gone.

    Parameters
    ----------
    values
        Of a batch.
    index
        Which house.
    """
    return float(
        returned_share_frac(
            supply_kg_s=values.supply_kg_s[index],
            extract_kg_s=values.extract_kg_s[index],
            effectiveness=values.sensible_effectiveness[index],
            exhaust_transfer_frac=values.exhaust_transfer_frac[index],
            maths=np,
        )
    )


def _sum(values: Floats) -> float:
    return float(np.sum(values))


def _count(condition: Bools) -> float:
    return float(np.count_nonzero(condition))
