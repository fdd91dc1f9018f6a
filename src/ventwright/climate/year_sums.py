"""Sums of a year and its months: heat, water, indoor humidity, frost."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class EnergyYear:
    """Heat of ventilation over the year.

    Parameters
    ----------
    recovered_heating_j
        Heat that the exchanger brought back while the house needed heat [J].
    lost_heating_j
        Heat that ventilation still took away then [J].
    infiltration_heating_j
        Heat that infiltration took away then [J].
    kept_out_cooling_j
        Heat that the exchanger kept out while it was warmer outdoors than in [J].
    brought_in_cooling_j
        Heat that ventilation still brought in then [J].
    unasked_j
        Heat that the exchanger brought back while the house needed none [J]; a bypass would not.
    latent_kept_out_j
        Latent heat kept out with moisture while it was moister outdoors than in [J].
    """

    recovered_heating_j: float
    lost_heating_j: float
    infiltration_heating_j: float
    kept_out_cooling_j: float
    brought_in_cooling_j: float
    unasked_j: float
    latent_kept_out_j: float


@dataclass(frozen=True, slots=True, kw_only=True)
class MoistureYear:
    """Water of ventilation and of drying over the year.

    Parameters
    ----------
    dehumidifier_kg
        Taken out by the dehumidifier [kg].
    coil_kg
        Taken out by the cooling coil [kg].
    brought_in_kg
        Brought in by ventilation and infiltration while it was moister outdoors [kg].
    kept_out_kg
        Kept out by the exchanger then [kg].
    given_back_kg
        Given back to the house by the exchanger while it was drier outdoors [kg].
    worst_day_kg_s
        Drying that the worst day asks for to hold the wanted humidity, mean of the day [kg/s].
    worst_month_number
        Its month.
    worst_day_number
        Its day of the month.
    """

    dehumidifier_kg: float
    coil_kg: float
    brought_in_kg: float
    kept_out_kg: float
    given_back_kg: float
    worst_day_kg_s: float
    worst_month_number: int
    worst_day_number: int


@dataclass(frozen=True, slots=True, kw_only=True)
class IndoorYear:
    """Indoor humidity over the year.

    Parameters
    ----------
    low_frac
        Relative humidity that 99 % of hours exceed.
    mid_frac
        Median relative humidity.
    high_frac
        Relative humidity that 1 % of hours exceed.
    below_30_h
        Hours below 30 % [h].
    above_60_h
        Hours above 60 % [h].
    above_80_h
        Hours above 80 % [h].
    saturated_h
        Hours at saturation: the model has no place for that water, so the hours are out of it [h].
    humidity_bins_h
        Hours by relative humidity in steps of 5 % from 0 to 100 [h].
    swing_ratio
        Daily swing of the indoor humidity ratio over that outdoors: how far the house evens out.
    """

    low_frac: float
    mid_frac: float
    high_frac: float
    below_30_h: float
    above_60_h: float
    above_80_h: float
    saturated_h: float
    humidity_bins_h: tuple[float, ...]
    swing_ratio: float


@dataclass(frozen=True, slots=True, kw_only=True)
class FrostYear:
    """Frost and water in the exchanger over the year.

    Parameters
    ----------
    frost_h
        Hours colder outdoors than the frost threshold [h]; None where that isn't known.
    lost_ventilation_h
        Hours of full flow that defrost took [h].
    condensate_h
        Hours in which the exhaust air leaves colder than its dew point, what the exchanger passes
        on taken off: water gathers on the extract side [h].
    supply_saturated_h
        Hours in which an exchanger that passes heat alone cools outdoor air to its dew point: water
        gathers on the supply side [h].
    """

    frost_h: float | None
    lost_ventilation_h: float
    condensate_h: float
    supply_saturated_h: float


@dataclass(frozen=True, slots=True, kw_only=True)
class MonthYear:
    """One month.

    Parameters
    ----------
    month_number
        1 to 12.
    known_h
        Hours known [h].
    outdoor_c
        Mean outdoor temperature [°C].
    outdoor_dew_point_c
        Mean outdoor dew point [°C].
    indoor_rel_humidity_frac
        Mean indoor relative humidity.
    recovered_heating_j
        As in `EnergyYear` [J].
    lost_heating_j
        As in `EnergyYear` [J].
    kept_out_cooling_j
        As in `EnergyYear` [J].
    brought_in_cooling_j
        As in `EnergyYear` [J].
    brought_in_kg
        As in `MoistureYear` [kg].
    kept_out_kg
        As in `MoistureYear` [kg].
    dehumidifier_kg
        As in `MoistureYear` [kg].
    """

    month_number: int
    known_h: float
    outdoor_c: float
    outdoor_dew_point_c: float
    indoor_rel_humidity_frac: float
    recovered_heating_j: float
    lost_heating_j: float
    kept_out_cooling_j: float
    brought_in_cooling_j: float
    brought_in_kg: float
    kept_out_kg: float
    dehumidifier_kg: float
