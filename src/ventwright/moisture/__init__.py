"""Wet surfaces: temperatures of surfaces, margin to dew, mould screen, safe limits.

A surface is dry, wet or not shown to be either, against the dew point of the air that touches it.
"""

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
    round_insulation_m2k_w,
    supply_terminal_temperature,
    surface_temperature_from_factor,
    temperature_factor_from,
    usual_film_m2k_w,
)

__all__ = [
    "FirstToWet",
    "SurfaceCheck",
    "check_surface",
    "condensation_point_c",
    "duct_skin_temperature",
    "first_to_wet",
    "glazing_temperature",
    "insulation_needed_m2k_w",
    "prob_wet_frac",
    "round_insulation_m2k_w",
    "supply_terminal_temperature",
    "surface_rel_humidity",
    "surface_temperature_from_factor",
    "temperature_factor_from",
    "usual_film_m2k_w",
]
