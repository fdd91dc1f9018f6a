"""Units of the trade at the edge, SI inside; problems and shared words.

Everything that turns typed text into SI values and back lives here: kinds of quantity, the closed
table of units of measure, parsing, formatting, preferences, shared constants. It never guesses a
unit and does no physics.
"""

from ventwright.quantities.constants import (
    ABSOLUTE_ZERO_C,
    CONVENTIONAL_WATER_DENSITY_KG_M3,
    ICE_POINT_K,
    STANDARD_AIR_DENSITY_KG_M3,
    STANDARD_ATMOSPHERE_PA,
    STANDARD_GRAVITY_M_S2,
    WATER_DENSITY_20C_KG_M3,
)
from ventwright.quantities.dimension import (
    Dimension,
)
from ventwright.quantities.format import (
    decimals_for,
    format_interval,
    format_quantity,
    format_with_uncertainty,
)
from ventwright.quantities.lookup import (
    QuantityError,
    from_si,
    to_si,
    unit_of_measure,
)
from ventwright.quantities.parse import (
    NumberStyle,
    Parsed,
    parse,
)
from ventwright.quantities.preference import (
    UnitPreference,
)
from ventwright.quantities.problems import (
    Problem,
    Severity,
    UserError,
)
from ventwright.quantities.types import (
    AirChangeRate1H,
    AngleDeg,
    AreaM2,
    ConcentrationFrac,
    Count,
    DensityKgM3,
    EnergyJ,
    EnthalpyJKg,
    FanEfficacyM3SW,
    FlowFactor,
    FlowM3S,
    Frac,
    HeatRateW,
    HumidityRatioKgKg,
    LengthM,
    MassFlowKgS,
    MoistureRateKgS,
    PowerW,
    PressurePa,
    RValueM2KW,
    SoundLevelDbA,
    SpecificFanPowerWPerM3S,
    TemperatureC,
    TemperatureDiffK,
    TimeS,
    Turns,
    UValueWM2K,
    VelocityMS,
    VolumeM3,
)
from ventwright.quantities.unit_table import (
    UnitOfMeasure,
    units_of,
)
from ventwright.quantities.words import (
    AirKind,
    HumidityOver,
    Side,
    SourceTrust,
)

__all__ = [
    "ABSOLUTE_ZERO_C",
    "CONVENTIONAL_WATER_DENSITY_KG_M3",
    "ICE_POINT_K",
    "STANDARD_AIR_DENSITY_KG_M3",
    "STANDARD_ATMOSPHERE_PA",
    "STANDARD_GRAVITY_M_S2",
    "WATER_DENSITY_20C_KG_M3",
    "AirChangeRate1H",
    "AirKind",
    "AngleDeg",
    "AreaM2",
    "ConcentrationFrac",
    "Count",
    "DensityKgM3",
    "Dimension",
    "EnergyJ",
    "EnthalpyJKg",
    "FanEfficacyM3SW",
    "FlowFactor",
    "FlowM3S",
    "Frac",
    "HeatRateW",
    "HumidityOver",
    "HumidityRatioKgKg",
    "LengthM",
    "MassFlowKgS",
    "MoistureRateKgS",
    "NumberStyle",
    "Parsed",
    "PowerW",
    "PressurePa",
    "Problem",
    "QuantityError",
    "RValueM2KW",
    "Severity",
    "Side",
    "SoundLevelDbA",
    "SourceTrust",
    "SpecificFanPowerWPerM3S",
    "TemperatureC",
    "TemperatureDiffK",
    "TimeS",
    "Turns",
    "UValueWM2K",
    "UnitOfMeasure",
    "UnitPreference",
    "UserError",
    "VelocityMS",
    "VolumeM3",
    "decimals_for",
    "format_interval",
    "format_quantity",
    "format_with_uncertainty",
    "from_si",
    "parse",
    "to_si",
    "unit_of_measure",
    "units_of",
]
