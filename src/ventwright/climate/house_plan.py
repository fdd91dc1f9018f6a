"""What a year needs to know of a house, and where it comes from."""

from __future__ import annotations

import math
from dataclasses import dataclass, field, replace

from ventwright.moisture import STORAGE_RATIO
from ventwright.recovery import DefrostLaw
from ventwright.uncertainty import Distribution, Estimate, exact, measured, u_from_half_width


@dataclass(frozen=True, slots=True, kw_only=True)
class CoolingCoil:
    """A cooling coil that dries as far as the house calls for cooling.

    The sensible load is taken as proportional to the outdoor temperature above a balance point; the
    air that leaves the coil is cold and nearly saturated, and the house's air is drawn through as
    much as the load asks for.

    Parameters
    ----------
    balance_c
        Outdoor temperature below which no cooling is called for [°C].
    sensible_w_k
        Sensible load for each kelvin above it [W/K].
    leaving_c
        Air that leaves the coil [°C].
    leaving_rel_humidity_frac
        Its relative humidity.
    """

    balance_c: float
    sensible_w_k: float
    leaving_c: float = 12.0
    leaving_rel_humidity_frac: float = 0.93


@dataclass(frozen=True, slots=True, kw_only=True)
class YearSurface:
    """A surface followed through the year.

    Its temperature is typed, or that of the supply air, or lies between outdoor and indoor air by
    its temperature factor; without any of these its hours can't be counted.

    Parameters
    ----------
    surface_id
        Which.
    name
        For people.
    air
        The air that touches it: ``supply``, ``room`` or ``outdoor``.
    temperature_c
        Constant temperature [°C].
    temperature_factor_frac
        Share of the way from outdoor to indoor temperature.
    is_as_supply
        Whether it is as cold or warm as the supply air.
    """

    surface_id: str
    name: str
    air: str
    temperature_c: float | None = None
    temperature_factor_frac: float | None = None
    is_as_supply: bool = False


def usual_storage_ratio() -> Estimate:
    """How much more water a house stores than its air, with its range.

    Returns
    -------
    Estimate
        15 times, and from 5 to 25 in about 95 % of houses; the range is judgement [1].

    Source: humidity_capacity_multiplier

    >>> usual_storage_ratio().value
    15.0
    """
    return measured(
        STORAGE_RATIO,
        u_std=u_from_half_width(10.0, distribution=Distribution.NORMAL),
        id="climate:storage",
        label="moisture stored by linings and furniture",
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class YearPlan:
    """A house as a year sees it; what nobody measured is an estimate with its range.

    Parameters
    ----------
    name
        Of the house.
    volume_m3
        Volume of its air [m³].
    supply_m3_s
        Supply flow at indoor air, mean over day and night [m³/s].
    extract_m3_s
        Extract flow [m³/s].
    infiltration_m3_s
        Outdoor air through the envelope [m³/s], mean of the year.
    sensible_effectiveness
        Sensible effectiveness, weighted by the smaller flow [1].
    latent_effectiveness
        Latent effectiveness [1]; 0 for an exchanger that passes heat alone.
    exhaust_transfer_frac
        Share of extract air in the supply air.
    release_kg_s
        Moisture given to the air by people and their doings [kg/s].
    storage_ratio
        Water stored by air, linings and furniture over that of the air alone.
    heating_c
        What heating holds [°C].
    cooling_c
        What cooling holds [°C]; infinite where there is none.
    free_rise_k
        How much warmer than outdoors the house is where neither holds it [K].
    heating_limit_c
        Outdoor temperature below which the house needs heat [°C].
    frost_threshold_c
        Outdoor temperature below which the exchanger may frost [°C]; None where not known.
    defrost
        Share of time in recirculation below it; None where the control is not known.
    wanted_rel_humidity_frac
        Relative humidity that drying is counted to.
    dehumidifier_kg_s
        Capacity of a dehumidifier [kg/s]; 0 without one, infinite for the drying that would be
        needed.
    coil
        Cooling coil, None without one.
    surfaces
        Followed through the year.
    """

    name: str
    volume_m3: float
    supply_m3_s: Estimate
    extract_m3_s: Estimate
    infiltration_m3_s: Estimate
    sensible_effectiveness: Estimate
    latent_effectiveness: Estimate
    exhaust_transfer_frac: Estimate
    release_kg_s: Estimate
    storage_ratio: Estimate = field(default_factory=usual_storage_ratio)
    heating_c: float = 20.0
    cooling_c: float = math.inf
    free_rise_k: float = 2.0
    heating_limit_c: float = 15.0
    frost_threshold_c: float | None = None
    defrost: DefrostLaw | None = None
    wanted_rel_humidity_frac: float = 0.60
    dehumidifier_kg_s: float = 0.0
    coil: CoolingCoil | None = None
    surfaces: tuple[YearSurface, ...] = ()


def without_moisture_recovery(plan: YearPlan) -> YearPlan:
    """The same house with an exchanger that passes heat alone.

    Parameters
    ----------
    plan
        Any house.

    >>> none = exact(0.0)
    >>> house = YearPlan(name="barn", volume_m3=300.0, supply_m3_s=exact(0.05),
    ...     extract_m3_s=exact(0.05), infiltration_m3_s=none, sensible_effectiveness=exact(0.8),
    ...     latent_effectiveness=exact(0.6), exhaust_transfer_frac=none, release_kg_s=none)
    >>> without_moisture_recovery(house).latent_effectiveness.value
    0.0
    """
    return replace(plan, latent_effectiveness=exact(0.0))
