"""The water balance of houses through a year: one house by floats, many by arrays.

Everything that doesn't hang on the indoor humidity is prepared for all hours at once; what is left
is one short step for each hour, the engine's own, taken with `math` for one house and with NumPy
for a batch.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from ventwright.air import kernels
from ventwright.climate.house_plan import CoolingCoil, YearPlan
from ventwright.climate.states import humidity_ratios_kg_kg
from ventwright.climate.weather import Bools, Floats, Weather
from ventwright.moisture import advance_humidity, fresh_flow_kg_s, returned_share_frac

HOUR_S = 3600.0
_MOST_DAYS_BEFORE = 10
"""Days run through before the first of January, so that the start doesn't show."""


@dataclass(frozen=True, slots=True, kw_only=True)
class HouseValues:
    """Plain values of several houses, one element each: what `YearPlan` gives as estimates."""

    air_kg: Floats
    supply_kg_s: Floats
    extract_kg_s: Floats
    infiltration_kg_s: Floats
    sensible_effectiveness: Floats
    latent_effectiveness: Floats
    exhaust_transfer_frac: Floats
    release_kg_s: Floats
    storage_ratio: Floats


@dataclass(frozen=True, slots=True, kw_only=True)
class BalanceYear:
    """Hours of houses, arrays of shape (hours, houses); NaN where the weather is unknown.

    Parameters
    ----------
    indoor_c
        Indoor temperature [°C].
    indoor_kg_kg
        Indoor humidity ratio, mean of the hour [kg/kg].
    supply_c
        Supply air [°C].
    supply_kg_kg
        Its humidity ratio [kg/kg].
    running_share
        Share of the hour that the system moves outdoor air: less than 1 in defrost.
    dehumidifier_kg_s
        Water taken out by the dehumidifier [kg/s].
    coil_kg_s
        Water taken out by the cooling coil [kg/s].
    outdoor_part_kg_s
        Outdoor air that counts for the water balance [kg/s].
    wanted_kg_kg
        Humidity ratio at the wanted relative humidity [kg/kg], the same for all houses.
    """

    indoor_c: Floats
    indoor_kg_kg: Floats
    supply_c: Floats
    supply_kg_kg: Floats
    running_share: Floats
    dehumidifier_kg_s: Floats
    coil_kg_s: Floats
    outdoor_part_kg_s: Floats
    wanted_kg_kg: Floats


def values_of(plans: Sequence[YearPlan], weather: Weather) -> HouseValues:
    """Plain values of several houses, flows as mass of dry air at the place's mean pressure.

    Parameters
    ----------
    plans
        The houses.
    weather
        For the pressure.
    """
    room = {"humidity_ratio_kg_kg": 0.008, "pressure_pa": weather.mean_pressure_pa}
    volume_m3_kg = np.array(
        [kernels.specific_volume_m3_kg(temperature_c=p.heating_c, **room) for p in plans]
    )

    def column(name: str) -> Floats:
        return np.array([getattr(p, name).value for p in plans])

    return HouseValues(
        air_kg=np.array([p.volume_m3 for p in plans]) / volume_m3_kg,
        supply_kg_s=column("supply_m3_s") / volume_m3_kg,
        extract_kg_s=column("extract_m3_s") / volume_m3_kg,
        infiltration_kg_s=column("infiltration_m3_s") / volume_m3_kg,
        sensible_effectiveness=column("sensible_effectiveness"),
        latent_effectiveness=column("latent_effectiveness"),
        exhaust_transfer_frac=column("exhaust_transfer_frac"),
        release_kg_s=column("release_kg_s"),
        storage_ratio=column("storage_ratio"),
    )


def balance_years(
    plan: YearPlan, values: HouseValues, weather: Weather, *, is_scalar: bool = False
) -> BalanceYear:
    """Follow the humidity of houses that differ in their values through a year.

    Parameters
    ----------
    plan
        What they have in common: temperatures, defrost, drying.
    values
        What they differ in.
    weather
        The year.
    is_scalar
        Whether there is one house, to be followed by floats.

    Returns
    -------
    BalanceYear
        All hours.
    """
    prepared = _prepare(plan, values, weather)
    follow = _follow_one if is_scalar else _follow_many
    ends, coil, dried = follow(prepared, plan.dehumidifier_kg_s)
    starts = np.concatenate([prepared.start[np.newaxis], ends[:-1]])
    mean = (
        prepared.source - coil - dried - prepared.stored_kg * (ends - starts) / HOUR_S
    ) / prepared.fresh_kg_s
    mean[~weather.is_known] = np.nan
    returned = _returned(values, values.latent_effectiveness)
    feed = prepared.feed_kg_kg
    supply = feed + returned * (mean - feed)
    for array in (coil, dried):
        array[~weather.is_known] = np.nan
    return BalanceYear(
        indoor_c=prepared.indoor_c,
        indoor_kg_kg=mean,
        supply_c=prepared.supply_c,
        supply_kg_kg=supply,
        running_share=prepared.running_share,
        dehumidifier_kg_s=dried,
        coil_kg_s=coil,
        outdoor_part_kg_s=prepared.fresh_kg_s,
        wanted_kg_kg=prepared.wanted,
    )


def _returned(values: HouseValues, effectiveness: Floats) -> Any:
    return returned_share_frac(
        supply_kg_s=values.supply_kg_s,
        extract_kg_s=values.extract_kg_s,
        effectiveness=effectiveness,
        exhaust_transfer_frac=values.exhaust_transfer_frac,
        maths=np,
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class _Prepared:
    """All that is known before the humidity is; shape (hours, houses)."""

    is_known: Bools
    indoor_c: Floats
    supply_c: Floats
    feed_kg_kg: Floats
    running_share: Floats
    fresh_kg_s: Floats
    source: Floats
    settled: Floats
    kept: Floats
    response: Floats
    coil_settled: Floats
    coil_kept: Floats
    coil_floor: Floats
    wanted: Floats
    stored_kg: Floats
    start: Floats


def _prepare(plan: YearPlan, values: HouseValues, weather: Weather) -> _Prepared:
    outdoor_c, outdoor = weather.temperature_c, weather.humidity_ratio_kg_kg
    houses = values.air_kg.size
    indoor_c = np.clip(outdoor_c + plan.free_rise_k, plan.heating_c, plan.cooling_c)
    running = _running_share(plan, outdoor_c)
    heat_returned = _returned(values, values.sensible_effectiveness)
    returned = _returned(values, values.latent_effectiveness)
    rise = (indoor_c - outdoor_c)[:, np.newaxis]
    supply_c = outdoor_c[:, np.newaxis] + heat_returned * rise
    feed = _feed(values, weather, supply_c)
    wide = running[:, np.newaxis]
    fresh = fresh_flow_kg_s(
        supply_kg_s=values.supply_kg_s * wide,
        extract_kg_s=values.extract_kg_s * wide,
        infiltration_kg_s=values.infiltration_kg_s,
        returned_frac=returned,
        maths=np,
    )
    fresh = np.maximum(fresh, 1e-9)
    through = values.supply_kg_s * wide * (1.0 - returned)
    source = values.release_kg_s + through * feed + (fresh - through) * outdoor[:, np.newaxis]
    stored = values.storage_ratio * values.air_kg
    kept = np.exp(-fresh * HOUR_S / stored)
    drawn, floor = _coil(plan.coil, outdoor_c, indoor_c, weather)
    with_coil = fresh + drawn[:, np.newaxis]
    wanted = humidity_ratios_kg_kg(
        temperature_c=indoor_c,
        pressure_pa=weather.pressure_pa,
        rel_humidity_frac=plan.wanted_rel_humidity_frac,
    )
    shape = (outdoor_c.size, houses)
    return _Prepared(
        is_known=weather.is_known,
        indoor_c=indoor_c,
        supply_c=supply_c,
        feed_kg_kg=feed,
        running_share=running,
        fresh_kg_s=np.broadcast_to(fresh, shape),
        source=source,
        settled=source / fresh,
        kept=kept,
        response=(1.0 - kept) / fresh,
        coil_settled=(source + (drawn * floor)[:, np.newaxis]) / with_coil,
        coil_kept=np.exp(-with_coil * HOUR_S / stored),
        coil_floor=np.where(drawn > 0.0, floor, np.inf),
        wanted=wanted,
        stored_kg=stored,
        start=_start(plan, source, fresh, wanted, weather.is_known),
    )


def _running_share(plan: YearPlan, outdoor_c: Floats) -> Floats:
    """Share of each hour not spent in recirculation: the defrost law of `recovery`, for arrays."""
    if plan.frost_threshold_c is None or plan.defrost is None:
        return np.ones_like(outdoor_c)
    below = plan.frost_threshold_c - outdoor_c
    share = np.clip(plan.defrost.base_frac + plan.defrost.slope_1_k * below, 0.0, 1.0)
    return np.where(below > 0.0, 1.0 - share, 1.0)


def _feed(values: HouseValues, weather: Weather, supply_c: Floats) -> Floats:
    """Outdoor air as it passes the exchanger: one that passes heat alone may cool it to dew."""
    outdoor = np.broadcast_to(weather.humidity_ratio_kg_kg[:, np.newaxis], supply_c.shape)
    is_plain = values.latent_effectiveness <= 0.0
    if not is_plain.any():
        return outdoor
    saturated = humidity_ratios_kg_kg(
        temperature_c=supply_c,
        pressure_pa=np.broadcast_to(weather.pressure_pa[:, np.newaxis], supply_c.shape),
    )
    return np.where(is_plain, np.minimum(outdoor, saturated), outdoor)


def _coil(
    coil: CoolingCoil | None, outdoor_c: Floats, indoor_c: Floats, weather: Weather
) -> tuple[Floats, Floats]:
    """Indoor air drawn through the coil [kg/s] and the humidity ratio it leaves with."""
    if coil is None:
        return np.zeros_like(outdoor_c), np.zeros_like(outdoor_c)
    load_w = coil.sensible_w_k * np.maximum(outdoor_c - coil.balance_c, 0.0)
    fall = np.maximum(indoor_c - coil.leaving_c, 1.0)
    leaving = np.full_like(outdoor_c, coil.leaving_c)
    floor = humidity_ratios_kg_kg(
        temperature_c=leaving,
        pressure_pa=weather.pressure_pa,
        rel_humidity_frac=coil.leaving_rel_humidity_frac,
    )
    return load_w / (1020.0 * fall), floor


def _start(
    plan: YearPlan, source: Floats, fresh: Floats, wanted: Floats, is_known: Bools
) -> Floats:
    """Humidity on the first of January: what the first known days would settle at."""
    first = np.flatnonzero(is_known)[: 24 * _MOST_DAYS_BEFORE]
    exchanged = np.broadcast_to(fresh, source.shape)[first].mean(axis=0)
    settled: Floats = source[first].mean(axis=0) / exchanged
    if plan.dehumidifier_kg_s <= 0.0:
        return settled
    limited: Floats = np.minimum(settled, wanted[first].mean())
    return limited


_Followed = tuple[Floats, Floats, Floats]


def _follow_many(prepared: _Prepared, capacity_kg_s: float) -> _Followed:
    """Hour by hour for all houses at once."""
    ends, coil, dried = (np.empty_like(prepared.source) for _ in range(3))
    ratio = prepared.start
    nothing = np.zeros_like(ratio)
    wanted = prepared.wanted if capacity_kg_s > 0.0 else np.full_like(prepared.wanted, np.inf)
    for i in range(ends.shape[0]):
        if not prepared.is_known[i]:
            ends[i], coil[i], dried[i] = ratio, nothing, nothing
            continue
        settled, coil_settled = prepared.settled[i], prepared.coil_settled[i]
        ratio, coil[i], dried[i] = advance_humidity(
            np,
            start_kg_kg=ratio,
            free_end_kg_kg=settled + (ratio - settled) * prepared.kept[i],
            response_s_kg=prepared.response[i],
            coil_end_kg_kg=coil_settled + (ratio - coil_settled) * prepared.coil_kept[i],
            coil_floor_kg_kg=prepared.coil_floor[i],
            wanted_kg_kg=wanted[i],
            capacity_kg_s=capacity_kg_s,
        )
        ends[i] = ratio
    return ends, coil, dried


def _follow_one(prepared: _Prepared, capacity_kg_s: float) -> _Followed:
    """Hour by hour for one house: floats are ten times faster than arrays of one."""
    rows = zip(
        prepared.is_known.tolist(),
        *(
            np.broadcast_to(a, prepared.source.shape)[:, 0].tolist()
            for a in (
                prepared.settled,
                prepared.kept,
                prepared.response,
                prepared.coil_settled,
                prepared.coil_kept,
            )
        ),
        prepared.coil_floor.tolist(),
        prepared.wanted.tolist(),
        strict=True,
    )
    ratio = float(prepared.start[0])
    found = []
    for is_known, settled, kept, response, coil_settled, coil_kept, floor, wanted in rows:
        coil = dried = 0.0
        if is_known:
            ratio, coil, dried = advance_humidity(
                math,
                start_kg_kg=ratio,
                free_end_kg_kg=settled + (ratio - settled) * kept,
                response_s_kg=response,
                coil_end_kg_kg=coil_settled + (ratio - coil_settled) * coil_kept,
                coil_floor_kg_kg=floor,
                wanted_kg_kg=wanted if capacity_kg_s > 0.0 else math.inf,
                capacity_kg_s=capacity_kg_s,
            )
        found.append((ratio, coil, dried))
    ends, coils, drieds = np.array(found).T[:, :, np.newaxis]
    return ends, coils, drieds
