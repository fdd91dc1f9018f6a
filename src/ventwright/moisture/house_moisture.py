"""The water balance of a house's air: steady, with uncertainty, and step by step for many."""

from __future__ import annotations

import math

from ventwright.air.kernels import Maths, Number
from ventwright.moisture.elementwise import either, larger, smaller
from ventwright.quantities.records import dataclass
from ventwright.uncertainty import Estimate, combine, propagate

STORAGE_RATIO = 15.0
"""Water held by air, linings and furniture over that held by the air alone, for hour by hour.

A whole-house shortcut of simulation programs. Source: humidity_capacity_multiplier
"""


@dataclass(frozen=True, slots=True, kw_only=True)
class HouseAir:
    """Air exchange of a house and what gives moisture to its air, all with uncertainty.

    Flows are masses of dry air. What extract draws beyond supply comes in as outdoor air through
    the envelope, and adds to the infiltration.

    Parameters
    ----------
    supply_kg_s
        Outdoor air through the exchanger [kg/s].
    extract_kg_s
        Extract air through the exchanger [kg/s].
    infiltration_kg_s
        Outdoor air through the envelope besides [kg/s].
    latent_effectiveness
        Latent effectiveness of the exchanger, weighted by the smaller flow [1]; 0 for one that
        passes heat alone.
    exhaust_transfer_frac
        Share of extract air in the supply air.
    release_kg_s
        Moisture given to the air [kg/s].
    """

    supply_kg_s: Estimate
    extract_kg_s: Estimate
    infiltration_kg_s: Estimate
    latent_effectiveness: Estimate
    exhaust_transfer_frac: Estimate
    release_kg_s: Estimate


def fresh_flow_kg_s(
    *,
    supply_kg_s: Number,
    extract_kg_s: Number,
    infiltration_kg_s: Number,
    returned_frac: Number,
    maths: Maths,
) -> Number:
    """Outdoor air that counts for the water balance, what the exchanger gives back taken off.

    ``m_s (1 − r) + m_inf + max(0, m_e − m_s)``.

    Parameters
    ----------
    supply_kg_s, extract_kg_s, infiltration_kg_s
        Flows of dry air [kg/s].
    returned_frac
        Share of the difference of humidity ratio that the supply air has taken up, r; see
        `returned_share_frac`.
    maths
        `math` for floats, `numpy` for arrays.

    Returns
    -------
    Number
        Flow of dry air [kg/s].

    >>> import math
    >>> round(fresh_flow_kg_s(supply_kg_s=0.05, extract_kg_s=0.05, infiltration_kg_s=0.01,
    ...                       returned_frac=0.6, maths=math), 3)
    0.03
    """
    drawn = larger(maths, 0.0, extract_kg_s - supply_kg_s)
    return supply_kg_s * (1.0 - returned_frac) + infiltration_kg_s + drawn


def returned_share_frac(
    *,
    supply_kg_s: Number,
    extract_kg_s: Number,
    effectiveness: Number,
    exhaust_transfer_frac: Number,
    maths: Maths,
) -> Number:
    """Share of the way from outdoor to extract air that the supply air has gone.

    ``x + (1 − x) ε min(m_s, m_e)/m_s``, for heat or for moisture.

    Parameters
    ----------
    supply_kg_s, extract_kg_s
        Flows through the exchanger [kg/s]; the share is 0 without supply.
    effectiveness
        Effectiveness, weighted by the smaller flow [1].
    exhaust_transfer_frac
        Share of extract air in the supply air, x.
    maths
        `math` for floats, `numpy` for arrays.

    Returns
    -------
    Number
        Share [0..1].

    Source: ashrae_84

    >>> import math
    >>> round(returned_share_frac(supply_kg_s=0.08, extract_kg_s=0.06, effectiveness=0.72,
    ...                           exhaust_transfer_frac=0.0, maths=math), 2)
    0.54
    """
    least = smaller(maths, supply_kg_s, extract_kg_s)
    weighted = effectiveness * least / larger(maths, supply_kg_s, 1e-12)
    return exhaust_transfer_frac + (1.0 - exhaust_transfer_frac) * weighted


@dataclass(frozen=True, slots=True, kw_only=True)
class SteadyHumidity:
    """What a house settles at when nothing changes.

    Parameters
    ----------
    humidity_ratio_kg_kg
        Indoor humidity ratio [kg/kg].
    excess_kg_kg
        Indoor less outdoor [kg/kg].
    fresh_kg_s
        Outdoor air that counts [kg/s].
    """

    humidity_ratio_kg_kg: Estimate
    excess_kg_kg: Estimate
    fresh_kg_s: Estimate


def steady_humidity(air: HouseAir, *, outdoor_kg_kg: Estimate) -> SteadyHumidity:
    """Indoor humidity ratio in a steady state without drying, ``W_o + G/m``.

    Parameters
    ----------
    air
        Air exchange and release.
    outdoor_kg_kg
        Outdoor humidity ratio [kg/kg].

    Returns
    -------
    SteadyHumidity
        With uncertainty.

    Raises
    ------
    ValueError
        No air exchange at all: the humidity never settles.

    Source: moisture_balance

    >>> from ventwright.uncertainty import exact
    >>> house = HouseAir(supply_kg_s=exact(0.0301), extract_kg_s=exact(0.0301),
    ...     infiltration_kg_s=exact(0.0), latent_effectiveness=exact(0.0),
    ...     exhaust_transfer_frac=exact(0.0), release_kg_s=exact(12.0 / 86400))
    >>> round(steady_humidity(house, outdoor_kg_kg=exact(0.004)).excess_kg_kg.value * 1000, 2)
    4.61
    """
    fresh = fresh_flow(air)
    if not fresh.value > 0.0:
        raise ValueError("no air exchange: the humidity of such a house never settles")
    excess = propagate(
        lambda release, *flows: release / _fresh(*flows), [air.release_kg_s, *_flows(air)]
    )
    indoor = combine(outdoor_kg_kg.value + excess.value, [(1.0, outdoor_kg_kg), (1.0, excess)])
    return SteadyHumidity(humidity_ratio_kg_kg=indoor, excess_kg_kg=excess, fresh_kg_s=fresh)


def fresh_flow(air: HouseAir) -> Estimate:
    """Outdoor air that counts for the water balance, with uncertainty.

    Parameters
    ----------
    air
        Air exchange.

    >>> from ventwright.uncertainty import exact
    >>> fresh_flow(HouseAir(supply_kg_s=exact(0.05), extract_kg_s=exact(0.06),
    ...     infiltration_kg_s=exact(0.01), latent_effectiveness=exact(0.5),
    ...     exhaust_transfer_frac=exact(0.0), release_kg_s=exact(0.0))).value
    0.045
    """
    return propagate(_fresh, _flows(air))


def drying_needed_kg_s(
    air: HouseAir, *, outdoor_kg_kg: Estimate, wanted_kg_kg: Estimate
) -> Estimate:
    """Water to take out of the air to hold an indoor humidity ratio, ``G + m (W_o − W_i)``.

    Parameters
    ----------
    air
        Air exchange and release.
    outdoor_kg_kg
        Outdoor humidity ratio [kg/kg].
    wanted_kg_kg
        Indoor humidity ratio to hold [kg/kg].

    Returns
    -------
    Estimate
        Moisture rate [kg/s]; negative where the house dries by itself.

    Source: moisture_balance

    >>> from ventwright.uncertainty import exact
    >>> house = HouseAir(supply_kg_s=exact(0.034), extract_kg_s=exact(0.034),
    ...     infiltration_kg_s=exact(0.0), latent_effectiveness=exact(0.0),
    ...     exhaust_transfer_frac=exact(0.0), release_kg_s=exact(0.0))
    >>> needed = drying_needed_kg_s(house, outdoor_kg_kg=exact(130 / 7000),
    ...                             wanted_kg_kg=exact(65 / 7000))
    >>> round(needed.value * 86400, 1)
    27.3
    """
    return propagate(
        lambda release, outdoor, wanted, *flows: release + _fresh(*flows) * (outdoor - wanted),
        [air.release_kg_s, outdoor_kg_kg, wanted_kg_kg, *_flows(air)],
    )


def _flows(air: HouseAir) -> list[Estimate]:
    return [
        air.supply_kg_s,
        air.extract_kg_s,
        air.infiltration_kg_s,
        air.latent_effectiveness,
        air.exhaust_transfer_frac,
    ]


def _fresh(
    supply: float, extract: float, infiltration: float, effectiveness: float, transfer: float
) -> float:
    returned = returned_share_frac(
        supply_kg_s=supply,
        extract_kg_s=extract,
        effectiveness=effectiveness,
        exhaust_transfer_frac=transfer,
        maths=math,
    )
    return float(
        fresh_flow_kg_s(
            supply_kg_s=supply,
            extract_kg_s=extract,
            infiltration_kg_s=infiltration,
            returned_frac=returned,
            maths=math,
        )
    )


def advance_humidity(
    maths: Maths,
    *,
    start_kg_kg: Number,
    free_end_kg_kg: Number,
    response_s_kg: Number,
    coil_end_kg_kg: Number,
    coil_floor_kg_kg: Number,
    wanted_kg_kg: Number,
    capacity_kg_s: Number,
) -> tuple[Number, Number, Number]:
    """Humidity ratio at the end of an hour, and what coil and dehumidifier took out in it.

    Without drying the hour ends at `free_end_kg_kg`. A steady withdrawal D lowers that end by
    ``D g``, with ``g`` the response of the balance, so each device takes out what lies between
    the end without it and the end with it. A coil never dries below the air that leaves it; a
    dehumidifier takes what is above the wanted ratio, as far as its capacity reaches.

    Parameters
    ----------
    maths
        `math` for floats, `numpy` for arrays.
    start_kg_kg
        At the start of the hour [kg/kg].
    free_end_kg_kg
        At its end without drying [kg/kg].
    response_s_kg
        Fall of the end for a steady withdrawal, g [s/kg]; see `free_response`.
    coil_end_kg_kg
        At its end with the coil drying all the hour [kg/kg]; `free_end_kg_kg` where there is none.
    coil_floor_kg_kg
        Humidity ratio of the air that leaves the coil [kg/kg].
    wanted_kg_kg
        What the dehumidifier holds [kg/kg]; infinite where there is none.
    capacity_kg_s
        The most it takes out [kg/s].

    Returns
    -------
    tuple of Number
        Humidity ratio at the end [kg/kg]; water by the coil [kg/s]; by the dehumidifier [kg/s].

    Source: moisture_balance

    >>> import math
    >>> free, g = free_response(math, start_kg_kg=0.010, settled_kg_kg=0.012, fresh_kg_s=0.03,
    ...                         stored_kg=5000.0, step_s=3600.0)
    >>> end, coil, dried = advance_humidity(math, start_kg_kg=0.010, free_end_kg_kg=free,
    ...     response_s_kg=g, coil_end_kg_kg=free, coil_floor_kg_kg=0.0, wanted_kg_kg=0.010,
    ...     capacity_kg_s=1e-3)
    >>> end, coil, round(dried * 3600, 3)
    (0.01, 0.0, 0.216)
    """
    # A coil that would moisten (air drier than what leaves it) stands still.
    is_above = larger(maths, start_kg_kg, free_end_kg_kg) > coil_floor_kg_kg
    with_coil = smaller(
        maths,
        free_end_kg_kg,
        larger(maths, coil_end_kg_kg, smaller(maths, free_end_kg_kg, coil_floor_kg_kg)),
    )
    cooled = either(maths, is_above, with_coil, free_end_kg_kg)
    dried = smaller(
        maths, larger(maths, 0.0, (cooled - wanted_kg_kg) / response_s_kg), capacity_kg_s
    )
    return cooled - dried * response_s_kg, (free_end_kg_kg - cooled) / response_s_kg, dried


def free_response(
    maths: Maths,
    *,
    start_kg_kg: Number,
    settled_kg_kg: Number,
    fresh_kg_s: Number,
    stored_kg: Number,
    step_s: float,
) -> tuple[Number, Number]:
    """Humidity ratio at the end of a step without drying, and its response to a withdrawal.

    Exact for steady conditions within the step: ``W = W_∞ + (W_0 − W_∞) exp(−m t/M)``,
    ``g = (1 − exp(−m t/M))/m``.

    Parameters
    ----------
    maths
        `math` for floats, `numpy` for arrays.
    start_kg_kg
        At the start [kg/kg].
    settled_kg_kg
        What it tends to, W_∞ [kg/kg].
    fresh_kg_s
        Outdoor air that counts, m [kg/s], above 0.
    stored_kg
        Dry air whose water would equal what air, linings and furniture hold, M [kg].
    step_s
        Length of the step [s].

    Returns
    -------
    tuple of Number
        Humidity ratio [kg/kg], response [s/kg].

    >>> import math
    >>> end, g = free_response(math, start_kg_kg=0.010, settled_kg_kg=0.012, fresh_kg_s=0.03,
    ...                        stored_kg=300.0, step_s=10_000.0)
    >>> round(end, 5), round(g, 1)
    (0.01126, 21.1)
    """
    kept = maths.exp(-fresh_kg_s * step_s / stored_kg)
    return settled_kg_kg + (start_kg_kg - settled_kg_kg) * kept, (1.0 - kept) / fresh_kg_s
