"""The shell of a house and the air in its rooms: leakage, pressure, doors, mass balance.

Limits are data with source and trust, and screens: none of them is a test of combustion safety.
Infiltration as a credit towards required rates is a matter of rules and lives in `requirements`.

What stands behind `TYPE_CHECKING` is imported when it is first asked for: reading and judging a
visit needs none of it.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from ventwright.enclosure.generation import (
    OUTDOOR_CO2_FRAC,
    OUTDOOR_CO2_U_FRAC,
    GenerationRate,
    people_give_off,
    rate_in_room_m3_s,
    usual_generation_rates,
)
from ventwright.enclosure.leakage import (
    LeakageLaw,
    is_extrapolated,
    leakage_from_coeff,
    leakage_from_test,
)
from ventwright.enclosure.limits import (
    AirLimit,
    DropLimit,
    PressureLimit,
    strictest_limit,
    usual_co2_limit,
    usual_drop_limits,
    usual_pressure_limits,
)
from ventwright.enclosure.openings import (
    TransferCheck,
    check_transfer,
    doorway_exchange_m3_s,
    exchange_estimate,
    gap_exchange_m3_s,
    opening_area_m2,
    opening_flow_m3_s,
    undercut_height_m,
    usual_discharge_coeff,
)
from ventwright.enclosure.pressure import (
    MakeupAir,
    OtherFan,
    PressureScreen,
    PressureState,
    combinations_of,
    makeup_air,
    pressure_states,
    screen_pressure,
)
from ventwright.quantities.later import later

if TYPE_CHECKING:
    from ventwright.enclosure.room_air import (
        AirCourse,
        AirLevels,
        course_of_levels,
        fresh_air_reaching_m3_s,
        steady_levels,
        supply_for_limit_m3_s,
    )
    from ventwright.enclosure.zones import (
        AirFlow,
        AirPath,
        AirPaths,
        Door,
        Zone,
        air_paths,
        without_fresh_air,
    )
else:
    __getattr__ = later(__name__, "zones", "room_air")

__all__ = [
    "OUTDOOR_CO2_FRAC",
    "OUTDOOR_CO2_U_FRAC",
    "AirCourse",
    "AirFlow",
    "AirLevels",
    "AirLimit",
    "AirPath",
    "AirPaths",
    "Door",
    "DropLimit",
    "GenerationRate",
    "LeakageLaw",
    "MakeupAir",
    "OtherFan",
    "PressureLimit",
    "PressureScreen",
    "PressureState",
    "TransferCheck",
    "Zone",
    "air_paths",
    "check_transfer",
    "combinations_of",
    "course_of_levels",
    "doorway_exchange_m3_s",
    "exchange_estimate",
    "fresh_air_reaching_m3_s",
    "gap_exchange_m3_s",
    "is_extrapolated",
    "leakage_from_coeff",
    "leakage_from_test",
    "makeup_air",
    "opening_area_m2",
    "opening_flow_m3_s",
    "people_give_off",
    "pressure_states",
    "rate_in_room_m3_s",
    "screen_pressure",
    "steady_levels",
    "strictest_limit",
    "supply_for_limit_m3_s",
    "undercut_height_m",
    "usual_co2_limit",
    "usual_discharge_coeff",
    "usual_drop_limits",
    "usual_generation_rates",
    "usual_pressure_limits",
    "without_fresh_air",
]
