"""Instruments and what each of their channels can do."""

from __future__ import annotations

from datetime import date
from enum import StrEnum

from ventwright.quantities import (
    FlowM3S,
    Frac,
    PowerW,
    PressurePa,
    TemperatureC,
    TemperatureDiffK,
    VelocityMS,
)
from ventwright.quantities.records import dataclass


class InstrumentKind(StrEnum):
    """Classes of instrument; each has typical figures that hold where none are typed."""

    THERMAL_ANEMOMETER = "thermal_anemometer"
    VANE_METER = "vane_meter"
    PITOT = "pitot"
    MANOMETER = "manometer"
    FLOW_BOX = "flow_box"
    FLOW_HOOD = "flow_hood"
    COMPENSATED_HOOD = "compensated_hood"
    THERMO_HYGROMETER = "thermo_hygrometer"
    SURFACE_THERMOMETER = "surface_thermometer"
    POWER_METER = "power_meter"
    BAROMETER = "barometer"
    BUILT_IN = "built_in"


class AirReference(StrEnum):
    """The air an indication of velocity or flow is true for."""

    STANDARD = "standard"
    """Standard air, 1.2014 kg/m³: thermal anemometers without correction."""
    ACTUAL = "actual"
    """The air as it is: vanes, and instruments that correct themselves."""
    CALIBRATION = "calibration"
    """Pressure-type meters scaled for standard air: actual = indicated · √(1.2014/ρ)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class VelocityChannel:
    """Accuracy limits (± of reading plus ± fixed, as data sheets state them), resolution, range."""

    accuracy_of_reading_frac: Frac | None = None
    accuracy_fixed_m_s: VelocityMS | None = None
    resolution_m_s: VelocityMS | None = None
    range_min_m_s: VelocityMS | None = None
    range_max_m_s: VelocityMS | None = None
    start_velocity_m_s: VelocityMS | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class PressureChannel:
    """As `VelocityChannel`, for pressure differences."""

    accuracy_of_reading_frac: Frac | None = None
    accuracy_fixed_pa: PressurePa | None = None
    resolution_pa: PressurePa | None = None
    range_min_pa: PressurePa | None = None
    range_max_pa: PressurePa | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class FlowChannel:
    """As `VelocityChannel`, for instruments that show a flow."""

    accuracy_of_reading_frac: Frac | None = None
    accuracy_fixed_m3_s: FlowM3S | None = None
    resolution_m3_s: FlowM3S | None = None
    range_min_m3_s: FlowM3S | None = None
    range_max_m3_s: FlowM3S | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class TemperatureChannel:
    """Accuracy limits of a temperature, resolution, range."""

    accuracy_fixed_k: TemperatureDiffK | None = None
    resolution_k: TemperatureDiffK | None = None
    range_min_c: TemperatureC | None = None
    range_max_c: TemperatureC | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class HumidityChannel:
    """Accuracy limits of a relative humidity (percentage points), resolution."""

    accuracy_fixed_frac: Frac | None = None
    resolution_frac: Frac | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class PowerChannel:
    """Accuracy limits of an electrical power, resolution."""

    accuracy_of_reading_frac: Frac | None = None
    accuracy_fixed_w: PowerW | None = None
    resolution_w: PowerW | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Instrument:
    """One instrument. Channels that are not typed take typical figures of the class, and say so."""

    id: str
    kind: InstrumentKind
    name: str = ""
    serial_no: str = ""
    certificate_no: str = ""
    calibrated_on: date | None = None
    calibration_due: date | None = None
    air_reference: AirReference | None = None
    velocity: VelocityChannel | None = None
    pressure: PressureChannel | None = None
    flow: FlowChannel | None = None
    temperature: TemperatureChannel | None = None
    humidity: HumidityChannel | None = None
    power: PowerChannel | None = None
    note: str = ""
