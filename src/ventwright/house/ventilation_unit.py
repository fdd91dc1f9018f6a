"""The ventilation unit as its papers describe it: rated points, tables, fan curves, settings."""

from __future__ import annotations

from enum import StrEnum

from ventwright.quantities import (
    AirKind,
    Count,
    FlowM3S,
    Frac,
    PowerW,
    PressurePa,
    Side,
    TemperatureC,
    TimeS,
)
from ventwright.quantities.records import dataclass


class Recovery(StrEnum):
    """What the exchanger passes on: heat alone, or heat and moisture."""

    HEAT = "heat"
    ENERGY = "energy"


class FanControl(StrEnum):
    """How the fans hold their setting."""

    SPEED = "speed"
    CONSTANT_FLOW = "constant_flow"


class SettingRole(StrEnum):
    """What a fan setting is for; decides which planned flow of a terminal belongs to it."""

    CONTINUOUS = "continuous"
    BOOST = "boost"
    REDUCED = "reduced"
    """Less than continuous: nobody at home, or the night."""


class FilterSide(StrEnum):
    """On which side of the filter a station or a tap lies."""

    BEFORE = "before"
    AFTER = "after"


@dataclass(frozen=True, slots=True, kw_only=True)
class PressureFlowPoint:
    """One line of a table of pressure against flow."""

    pressure_pa: PressurePa
    flow_m3_s: FlowM3S


@dataclass(frozen=True, slots=True, kw_only=True)
class ExchangerTable:
    """Pressure across the exchanger against flow at the unit's own ports, for one stream.

    `stream` is the station whose flow the table gives (SUP or ETA as a rule). `includes_filter`
    says whether the taps take in the filter: a loaded filter then shifts the table.
    `reference_temperature_c` is the air for which it was made.
    """

    stream: AirKind
    points: tuple[PressureFlowPoint, ...]
    includes_filter: bool = False
    reference_temperature_c: TemperatureC = 20.0
    accuracy_frac: Frac | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class FanCurve:
    """Pressure rise against flow at full speed for one side.

    As a maker's paper gives it: at the unit's own ports, exchanger and clean filters inside, in
    standard air.
    """

    side: Side
    points: tuple[PressureFlowPoint, ...]


class RatedBasis(StrEnum):
    """Which figure a rating states; figures of different kinds can't be compared."""

    TEMPERATURE_RATIO = "temperature_ratio"
    """Ratios of temperatures and humidities without flow weighting, as European papers give."""
    EFFECTIVENESS = "effectiveness"
    """Weighted with the smaller flow."""
    APPARENT = "apparent"
    """North American apparent sensible effectiveness: fan heat and leakage left in."""
    NET = "net"
    """North American sensible recovery efficiency: fan heat and leakage taken out."""


@dataclass(frozen=True, slots=True, kw_only=True)
class RatedPoint:
    """A rated point of the unit: flow, ratios, power, and the outdoor air of the test.

    Without a `basis` the ratios are kept and compared with nothing.
    """

    flow_m3_s: FlowM3S
    outdoor_temperature_c: TemperatureC
    basis: RatedBasis | None = None
    sensible_frac: Frac | None = None
    latent_frac: Frac | None = None
    power_w: PowerW | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class VentilationUnit:
    """The machine."""

    name: str
    recovery: Recovery
    fan_control: FanControl = FanControl.SPEED
    serial_no: str = ""
    place: str = ""
    max_flow_m3_s: FlowM3S | None = None
    exhaust_transfer_frac: Frac | None = None
    exchanger_tables: tuple[ExchangerTable, ...] = ()
    fan_curves: tuple[FanCurve, ...] = ()
    rated_points: tuple[RatedPoint, ...] = ()
    has_recirculation_defrost: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class FanSetting:
    """A named setting of both fans, with the designer's totals and how long it runs.

    `run_time_s` out of each `period_s`: a setting that runs 20 minutes in the hour gives a third
    of its flow as effective ventilation. `hours_per_day` splits the day between settings.
    """

    id: str
    role: SettingRole
    name: str = ""
    supply_flow_m3_s: FlowM3S | None = None
    extract_flow_m3_s: FlowM3S | None = None
    supply_speed_frac: Frac | None = None
    extract_speed_frac: Frac | None = None
    run_time_s: TimeS | None = None
    period_s: TimeS | None = None
    hours_per_day: Count | None = None
