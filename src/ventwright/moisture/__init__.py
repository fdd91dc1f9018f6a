"""Wet surfaces, rooms in use, the water balance of a house: where water goes and what gets wet.

A surface is dry, wet or not shown to be either, against the dew point of the air that touches it. A
room in use is computed over time; a house's humidity steadily or hour by hour. What nobody measures
is an assumption with a range, and the answer carries it.

What stands behind `TYPE_CHECKING` is imported when it is first asked for: reading and judging a
visit needs none of it.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from ventwright.moisture.limits import (
    CooledSurface,
    SafeLimit,
    highest_safe_dew_point,
    lowest_safe_set_point,
    rel_humidity_at_dew_point_frac,
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
from ventwright.quantities.later import later

if TYPE_CHECKING:
    from ventwright.moisture.extract_need import ExtractNeed, is_clear, smallest_extract
    from ventwright.moisture.film import buffer_layer, mass_transfer_kg_m2_s, moisture_effusivity_si
    from ventwright.moisture.house_moisture import (
        STORAGE_RATIO,
        HouseAir,
        SteadyHumidity,
        advance_humidity,
        drying_needed_kg_s,
        free_response,
        fresh_flow,
        fresh_flow_kg_s,
        returned_share_frac,
        steady_humidity,
    )
    from ventwright.moisture.loads import (
        VentilationLoad,
        drying_heat_j_kg,
        index_heat_j_kg,
        ton_hours_per_scfm,
        ventilation_load,
    )
    from ventwright.moisture.mould import (
        ClimateMonth,
        CriticalMonth,
        critical_month,
        critical_surface_temperature_c,
        growth_rel_humidity_frac,
        least_temperature_factor,
    )
    from ventwright.moisture.release import (
        RELEASE_RATES,
        Activity,
        ReleaseRate,
        household_release,
        release_rate,
    )
    from ventwright.moisture.room import (
        ExtractStep,
        Lining,
        Release,
        RoomInUse,
        RoomSurface,
        boosted_extract,
        evaporation_heat_w,
    )
    from ventwright.moisture.room_run import FogSpell, RoomMoment, RoomRun, RoomWater, run_room
    from ventwright.moisture.wet_room_plan import (
        WetRoomAssumptions,
        WetRoomPlan,
        WetRoomValues,
        middle_of,
        usual_wet_room_assumptions,
        wet_room,
    )
else:
    __getattr__ = later(
        __name__,
        "release",
        "room",
        "wet_room_plan",
        "film",
        "room_run",
        "extract_need",
        "house_moisture",
        "loads",
        "mould",
    )

__all__ = [
    "RELEASE_RATES",
    "STORAGE_RATIO",
    "Activity",
    "ClimateMonth",
    "CooledSurface",
    "CriticalMonth",
    "ExtractNeed",
    "ExtractStep",
    "FirstToWet",
    "FogSpell",
    "HouseAir",
    "Lining",
    "Release",
    "ReleaseRate",
    "RoomInUse",
    "RoomMoment",
    "RoomRun",
    "RoomSurface",
    "RoomWater",
    "SafeLimit",
    "SteadyHumidity",
    "SurfaceCheck",
    "VentilationLoad",
    "WetRoomAssumptions",
    "WetRoomPlan",
    "WetRoomValues",
    "advance_humidity",
    "boosted_extract",
    "buffer_layer",
    "check_surface",
    "condensation_point_c",
    "critical_month",
    "critical_surface_temperature_c",
    "drying_heat_j_kg",
    "drying_needed_kg_s",
    "duct_skin_temperature",
    "evaporation_heat_w",
    "first_to_wet",
    "free_response",
    "fresh_flow",
    "fresh_flow_kg_s",
    "glazing_temperature",
    "growth_rel_humidity_frac",
    "highest_safe_dew_point",
    "household_release",
    "index_heat_j_kg",
    "insulation_needed_m2k_w",
    "is_clear",
    "least_temperature_factor",
    "lowest_safe_set_point",
    "mass_transfer_kg_m2_s",
    "middle_of",
    "moisture_effusivity_si",
    "pipe_skin_temperature",
    "prob_wet_frac",
    "rel_humidity_at_dew_point_frac",
    "release_rate",
    "returned_share_frac",
    "round_insulation_m2k_w",
    "run_room",
    "smallest_extract",
    "steady_humidity",
    "supply_terminal_temperature",
    "surface_rel_humidity",
    "surface_temperature_from_factor",
    "temperature_factor_from",
    "ton_hours_per_scfm",
    "usual_film_m2k_w",
    "usual_wet_room_assumptions",
    "ventilation_load",
    "wet_room",
]
