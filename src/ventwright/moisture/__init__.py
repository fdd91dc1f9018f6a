"""Wet surfaces: temperatures of surfaces, margin to dew, mould screen, safe limits.

A surface is dry, wet or not shown to be either, against the dew point of the air that touches it.
"""

from ventwright.moisture.limits import (
    CooledSurface,
    SafeLimit,
    highest_safe_dew_point,
    lowest_safe_set_point,
    rel_humidity_at_dew_point_frac,
)
from ventwright.moisture.mould import (
    ClimateMonth,
    CriticalMonth,
    critical_month,
    critical_surface_temperature_c,
    growth_rel_humidity_frac,
    least_temperature_factor,
)
from ventwright.moisture.surfaces import (
    FirstToWet,
    SurfaceCheck,
    check_surface,
    condensation_point_c,
    first_to_wet,
    prob_wet_frac,
    surface_rel_humidity,
)
from ventwright.moisture.temperatures import (
    duct_skin_temperature,
    glazing_temperature,
    insulation_needed_m2k_w,
    pipe_skin_temperature,
    round_insulation_m2k_w,
    supply_terminal_temperature,
    surface_temperature_from_factor,
    temperature_factor_from,
    usual_film_m2k_w,
)

__all__ = [
    "ClimateMonth",
    "CooledSurface",
    "CriticalMonth",
    "FirstToWet",
    "SafeLimit",
    "SurfaceCheck",
    "check_surface",
    "condensation_point_c",
    "critical_month",
    "critical_surface_temperature_c",
    "duct_skin_temperature",
    "first_to_wet",
    "glazing_temperature",
    "growth_rel_humidity_frac",
    "highest_safe_dew_point",
    "insulation_needed_m2k_w",
    "least_temperature_factor",
    "lowest_safe_set_point",
    "pipe_skin_temperature",
    "prob_wet_frac",
    "rel_humidity_at_dew_point_frac",
    "round_insulation_m2k_w",
    "supply_terminal_temperature",
    "surface_rel_humidity",
    "surface_temperature_from_factor",
    "temperature_factor_from",
    "usual_film_m2k_w",
]
