"""Types for the fields of records: a float in SI together with the kind of quantity it is."""

from __future__ import annotations

from typing import Annotated

from ventwright.quantities.dimension import Dimension

FlowM3S = Annotated[float, Dimension.FLOW]
MassFlowKgS = Annotated[float, Dimension.MASS_FLOW]
PressurePa = Annotated[float, Dimension.PRESSURE]
TemperatureC = Annotated[float, Dimension.TEMPERATURE]
TemperatureDiffK = Annotated[float, Dimension.TEMPERATURE_DIFF]
VelocityMS = Annotated[float, Dimension.VELOCITY]
LengthM = Annotated[float, Dimension.LENGTH]
AreaM2 = Annotated[float, Dimension.AREA]
VolumeM3 = Annotated[float, Dimension.VOLUME]
TimeS = Annotated[float, Dimension.TIME]
PowerW = Annotated[float, Dimension.POWER]
FanEfficacyM3SW = Annotated[float, Dimension.FAN_EFFICACY]
SpecificFanPowerWPerM3S = Annotated[float, Dimension.SPECIFIC_FAN_POWER]
Frac = Annotated[float, Dimension.FRACTION]
HumidityRatioKgKg = Annotated[float, Dimension.HUMIDITY_RATIO]
MoistureRateKgS = Annotated[float, Dimension.MOISTURE_RATE]
HeatRateW = Annotated[float, Dimension.HEAT_RATE]
DensityKgM3 = Annotated[float, Dimension.DENSITY]
FlowFactor = Annotated[float, Dimension.FLOW_FACTOR]
AngleDeg = Annotated[float, Dimension.ANGLE]
Turns = Annotated[float, Dimension.TURNS]
SoundLevelDbA = Annotated[float, Dimension.SOUND_LEVEL]
EnthalpyJKg = Annotated[float, Dimension.ENTHALPY]
UValueWM2K = Annotated[float, Dimension.U_VALUE]
RValueM2KW = Annotated[float, Dimension.R_VALUE]
ConcentrationFrac = Annotated[float, Dimension.CONCENTRATION]
EnergyJ = Annotated[float, Dimension.ENERGY]
AirChangeRate1H = Annotated[float, Dimension.AIR_CHANGE_RATE]
Count = Annotated[float, Dimension.COUNT]
