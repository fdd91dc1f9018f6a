"""Weather files, years of hours, rooms drawn by the hundred: the engine for many, by NumPy.

Files are read line by line and say what they left open; a year counts known hours alone; its
figures carry the budget of what nobody measured.
"""

from ventwright.climate.build import parse_weather
from ventwright.climate.from_house import YearOptions, YearSnapshot, plan_year
from ventwright.climate.house_plan import (
    CoolingCoil,
    YearPlan,
    YearSurface,
    usual_storage_ratio,
    without_moisture_recovery,
)
from ventwright.climate.spread import assess_year
from ventwright.climate.states import (
    dew_points_c,
    humidity_ratios_kg_kg,
    rel_humidities_frac,
)
from ventwright.climate.weather import PlaneBasis, PlaneDecision, Weather, WeatherKind
from ventwright.climate.wet_rooms import (
    ExtractRange,
    RangeOf,
    SurfaceRange,
    WetRoomRange,
    draw_values,
    range_of_smallest_extract,
    range_of_wet_room,
)
from ventwright.climate.year import follow_year, follow_years, load_index
from ventwright.climate.year_findings import (
    CloudCell,
    DesignPoint,
    HeatOnly,
    HoursBin,
    LoadIndex,
    StreamYear,
    SurfaceYear,
    YearEstimate,
    YearFindings,
)
from ventwright.climate.year_sums import (
    EnergyYear,
    FrostYear,
    IndoorYear,
    MoistureYear,
    MonthYear,
)

__all__ = [
    "CloudCell",
    "CoolingCoil",
    "DesignPoint",
    "EnergyYear",
    "ExtractRange",
    "FrostYear",
    "HeatOnly",
    "HoursBin",
    "IndoorYear",
    "LoadIndex",
    "MoistureYear",
    "MonthYear",
    "PlaneBasis",
    "PlaneDecision",
    "RangeOf",
    "StreamYear",
    "SurfaceRange",
    "SurfaceYear",
    "Weather",
    "WeatherKind",
    "WetRoomRange",
    "YearEstimate",
    "YearFindings",
    "YearOptions",
    "YearPlan",
    "YearSnapshot",
    "YearSurface",
    "assess_year",
    "dew_points_c",
    "draw_values",
    "follow_year",
    "follow_years",
    "humidity_ratios_kg_kg",
    "load_index",
    "parse_weather",
    "plan_year",
    "range_of_smallest_extract",
    "range_of_wet_room",
    "rel_humidities_frac",
    "usual_storage_ratio",
    "without_moisture_recovery",
]
