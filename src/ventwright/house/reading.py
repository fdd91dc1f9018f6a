"""Readings: one look at one instrument, at a station, in a fan setting, as found or as left.

A reading is kept exactly as typed (`typed`) beside its value in SI, and never changes; a correction
is another reading that names the one it supersedes. What was looked at depends on the method, so
each method has its own `Look`.
"""

from __future__ import annotations

from datetime import datetime
from enum import StrEnum

from ventwright.house.samples import Samples
from ventwright.house.ventilation_unit import FilterSide
from ventwright.quantities import (
    AirKind,
    AreaM2,
    Count,
    FlowFactor,
    FlowM3S,
    Frac,
    HumidityOver,
    LengthM,
    PowerW,
    PressurePa,
    TemperatureC,
    TimeS,
    Turns,
    VelocityMS,
)
from ventwright.quantities.records import dataclass


class StationKind(StrEnum):
    """The kinds of place where something is measured."""

    PORT = "port"
    """A duct at the ventilation unit: one of the four streams."""
    BRANCH = "branch"
    TERMINAL = "terminal"
    UNIT = "unit"
    """The ventilation unit itself (electrical power, exchanger pressure)."""
    SURFACE = "surface"
    ROOM = "room"
    HOUSE = "house"
    """The house against outside."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Station:
    """A place of measurement; written as ``SUP``, ``branch:b1``, ``terminal:t3``, ``room:bath``.

    `system` names the system where a house has more than one.
    """

    kind: StationKind
    stream: AirKind | None = None
    ref: str | None = None
    system: str | None = None
    filter_side: FilterSide | None = None


def station_text(station: Station) -> str:
    """The written form of a station, the inverse of `house.station_from`.

    Parameters
    ----------
    station
        Any station.

    >>> station_text(Station(kind=StationKind.BRANCH, ref="b1"))
    'branch:b1'
    """
    if station.kind is StationKind.PORT and station.stream is not None:
        return station.stream.value
    return f"{station.kind.value}:{station.ref}" if station.ref else station.kind.value


class Phase(StrEnum):
    """Before any damper or fan was touched, on the way, or when the work was done."""

    AS_FOUND = "as_found"
    INTERIM = "interim"
    AS_LEFT = "as_left"


@dataclass(frozen=True, slots=True, kw_only=True)
class Section:
    """Inside dimensions of a duct where it is traversed: round or rectangular."""

    diameter_m: LengthM | None = None
    width_m: LengthM | None = None
    height_m: LengthM | None = None


class SweepPath(StrEnum):
    """How a probe is drawn through the duct during a timed average."""

    ONE_DIAMETER = "one_diameter"
    TWO_DIAMETERS = "two_diameters"
    ZIGZAG = "zigzag"
    STOPS = "stops"
    UNKNOWN = "unknown"


class TraverseRule(StrEnum):
    """Published rules for the points of a traverse."""

    LOG_LINEAR = "log_linear"
    LOG_TCHEBYCHEFF = "log_tchebycheff"
    EQUAL_AREA = "equal_area"


class PointPosition(StrEnum):
    """Where a single point was taken."""

    CENTRE = "centre"
    MEAN_RADIUS = "mean_radius"


@dataclass(frozen=True, slots=True, kw_only=True)
class Sweep:
    """Timed average of velocity while the probe moves; several sweeps are several values."""

    section: Section
    velocities_m_s: tuple[VelocityMS, ...]
    path: SweepPath = SweepPath.UNKNOWN
    duration_s: TimeS | None = None
    straight_upstream_m: LengthM | None = None
    straight_downstream_m: LengthM | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Traverse:
    """Velocities or velocity pressures at the points of a rule, one tuple for each line."""

    section: Section
    rule: TraverseRule
    velocities_m_s: tuple[tuple[VelocityMS, ...], ...] = ()
    velocity_pressures_pa: tuple[tuple[PressurePa, ...], ...] = ()
    straight_upstream_m: LengthM | None = None
    straight_downstream_m: LengthM | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class FixedPoint:
    """Velocity at one point of the duct."""

    section: Section
    velocities_m_s: tuple[VelocityMS, ...]
    position: PointPosition = PointPosition.CENTRE


@dataclass(frozen=True, slots=True, kw_only=True)
class Vane:
    """Vane meter at a terminal: flow = factor · area · velocity.

    `area_m2` is the throat of the cone or the face of the terminal; `factor_ratio` comes from the
    cone's calibration or the terminal's paper.
    """

    velocities_m_s: tuple[VelocityMS, ...]
    area_m2: AreaM2
    factor_ratio: Count | None = None
    has_cone: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class FlowBox:
    """Pressure-type box over a terminal: pressure in the box across an opening of known area.

    `terminal_pressures_pa` is the pressure behind the terminal with the box in place and
    `terminal_pressure_free_pa` without it: together they undo the flow that the box takes away.
    """

    drops_pa: tuple[PressurePa, ...]
    opening_area_m2: AreaM2
    discharge_coeff: Count | None = None
    terminal_pressure_pa: PressurePa | None = None
    terminal_pressure_free_pa: PressurePa | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class TerminalPressure:
    """Pressure at a terminal's tap with its flow factor, or with the turns and a table."""

    drops_pa: tuple[PressurePa, ...]
    flow_factor: FlowFactor | None = None
    opening_turns: Turns | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class ExchangerPressure:
    """Pressure across the exchanger, read against the unit's table for the station's stream."""

    drops_pa: tuple[PressurePa, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Hood:
    """Flow shown by a capture hood, compensated or not by the instrument's kind."""

    flows_m3_s: tuple[FlowM3S, ...]
    terminal_pressure_pa: PressurePa | None = None
    hood_drop_pa: PressurePa | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class DirectFlow:
    """A flow taken from a display or another person's record; `accuracy_frac` if it states one."""

    flows_m3_s: tuple[FlowM3S, ...]
    is_standard_air: bool | None = None
    accuracy_frac: Frac | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class AirState:
    """Temperature with one measure of humidity. Below 0 °C a relative humidity names its plane."""

    temperature_c: TemperatureC
    rel_humidity_frac: Frac | None = None
    dew_point_c: TemperatureC | None = None
    wet_bulb_c: TemperatureC | None = None
    humidity_over: HumidityOver | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class SurfaceTemperature:
    """Temperature of a listed surface."""

    temperature_c: TemperatureC


@dataclass(frozen=True, slots=True, kw_only=True)
class ElectricPower:
    """Electrical power of the ventilation unit, both fans and controls."""

    power_w: PowerW


@dataclass(frozen=True, slots=True, kw_only=True)
class PressureDifference:
    """A static pressure difference: house against outside, room against hall, a filter."""

    pressure_diff_pa: PressurePa


@dataclass(frozen=True, slots=True, kw_only=True)
class Barometer:
    """Absolute pressure of the air on site."""

    pressure_pa: PressurePa


class Method(StrEnum):
    """What a person did; each value has its `Look`."""

    SWEEP = "sweep"
    TRAVERSE = "traverse"
    FIXED_POINT = "fixed_point"
    VANE = "vane"
    FLOW_BOX = "flow_box"
    TERMINAL_PRESSURE = "terminal_pressure"
    EXCHANGER_PRESSURE = "exchanger_pressure"
    HOOD = "hood"
    DIRECT_FLOW = "direct_flow"
    AIR_STATE = "air_state"
    SURFACE_TEMPERATURE = "surface_temperature"
    POWER = "power"
    PRESSURE_DIFFERENCE = "pressure_difference"
    BAROMETER = "barometer"


Look = (
    Sweep
    | Traverse
    | FixedPoint
    | Vane
    | FlowBox
    | TerminalPressure
    | ExchangerPressure
    | Hood
    | DirectFlow
    | AirState
    | SurfaceTemperature
    | ElectricPower
    | PressureDifference
    | Barometer
)

LOOK_OF_METHOD: dict[Method, type[Look]] = {
    Method.SWEEP: Sweep,
    Method.TRAVERSE: Traverse,
    Method.FIXED_POINT: FixedPoint,
    Method.VANE: Vane,
    Method.FLOW_BOX: FlowBox,
    Method.TERMINAL_PRESSURE: TerminalPressure,
    Method.EXCHANGER_PRESSURE: ExchangerPressure,
    Method.HOOD: Hood,
    Method.DIRECT_FLOW: DirectFlow,
    Method.AIR_STATE: AirState,
    Method.SURFACE_TEMPERATURE: SurfaceTemperature,
    Method.POWER: ElectricPower,
    Method.PRESSURE_DIFFERENCE: PressureDifference,
    Method.BAROMETER: Barometer,
}


@dataclass(frozen=True, slots=True, kw_only=True)
class TypedText:
    """One field of a reading exactly as it was typed."""

    key: str
    text: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Reading:
    """One reading. `setting` names a fan setting; `is_defrosting` flags it and never drops it.

    `samples` stand behind a value that is a timed average.
    """

    id: str
    station: Station
    method: Method
    look: Look
    setting: str
    phase: Phase
    instrument: str | None = None
    at: datetime | None = None
    is_defrosting: bool = False
    supersedes: str | None = None
    note: str = ""
    typed: tuple[TypedText, ...] = ()
    samples: Samples | None = None
