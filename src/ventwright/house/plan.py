"""The house as planned: rooms, systems, branches, terminals, surfaces. Nothing is computed here."""

from __future__ import annotations

from enum import StrEnum

from ventwright.house.ventilation_unit import FanSetting, VentilationUnit
from ventwright.quantities import (
    AngleDeg,
    AreaM2,
    Count,
    FlowFactor,
    FlowM3S,
    Frac,
    LengthM,
    PressurePa,
    RValueM2KW,
    Side,
    TemperatureC,
    Turns,
    VolumeM3,
)
from ventwright.quantities.records import dataclass


class RoomKind(StrEnum):
    """What a room is used for; rule sets speak of these."""

    BEDROOM = "bedroom"
    LIVING = "living"
    DINING = "dining"
    STUDY = "study"
    KITCHEN = "kitchen"
    BATHROOM = "bathroom"
    TOILET = "toilet"
    UTILITY = "utility"
    HALL = "hall"
    STORE = "store"
    OTHER = "other"


class Space(StrEnum):
    """The space a duct, a damper or a surface lies in."""

    ROOM = "room"
    CONDITIONED = "conditioned"
    CRAWL_SPACE = "crawl_space"
    LOFT = "loft"
    BASEMENT = "basement"
    GARAGE = "garage"
    OUTSIDE = "outside"


class Setter(StrEnum):
    """How a terminal's own opening is set."""

    RING = "ring"
    DISC = "disc"
    FIXED = "fixed"


class DamperKind(StrEnum):
    """Coarse dampers in branches."""

    BUTTERFLY = "butterfly"
    IRIS = "iris"
    SLIDE = "slide"


class DuctKind(StrEnum):
    """Pieces of duct."""

    ROUND = "round"
    RECTANGULAR = "rectangular"
    FLEXIBLE = "flexible"
    SEMI_RIGID = "semi_rigid"
    FITTING = "fitting"


@dataclass(frozen=True, slots=True, kw_only=True)
class Room:
    """A room. `people` counts those who sleep or work there; None means not stated."""

    id: str
    name: str
    kind: RoomKind
    storey: Count = 0
    floor_area_m2: AreaM2 | None = None
    volume_m3: VolumeM3 | None = None
    people: Count | None = None
    transfer_area_m2: AreaM2 | None = None
    note: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class DuctPiece:
    """One piece of duct, or `count` fittings of one kind, in the direction of design flow.

    Sizes are inside ones. A fitting is named by a word such as ``bend_90``, ``tee_branch`` or
    ``intake_hood``, or by its loss coefficient as ``loss 1.8``; without a size of its own it has
    that of the piece before it.
    """

    kind: DuctKind
    diameter_m: LengthM | None = None
    width_m: LengthM | None = None
    height_m: LengthM | None = None
    length_m: LengthM | None = None
    roughness_m: LengthM | None = None
    compression_frac: Frac | None = None
    fitting: str | None = None
    count: Count = 1
    space: Space = Space.CONDITIONED
    insulation_m2_k_w: RValueM2KW | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Damper:
    """A coarse damper: kind, where a person stands to turn it, how it was last seen."""

    kind: DamperKind
    diameter_m: LengthM | None = None
    position_deg: AngleDeg | None = None
    place: str = ""
    is_stuck: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Branch:
    """A duct that serves several terminals or further branches; `parent` is None at the unit."""

    id: str
    side: Side
    name: str = ""
    parent: str | None = None
    space: Space = Space.CONDITIONED
    damper: Damper | None = None
    ducts: tuple[DuctPiece, ...] = ()
    note: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class OpeningPoint:
    """One line of a terminal's table: turns of the ring or disc and flow factor (m³/s per √Pa)."""

    opening_turns: Turns
    flow_factor: FlowFactor


@dataclass(frozen=True, slots=True, kw_only=True)
class Terminal:
    """Where air enters or leaves a room.

    `design_flow_m3_s` is the designer's figure for the continuous setting, `boost_flow_m3_s` for
    boost. `min_flow_m3_s` and `max_flow_m3_s` are the room's own hard band where the designer gave
    one: re-targeting never leaves it.
    """

    id: str
    side: Side
    room: str
    branch: str | None = None
    name: str = ""
    design_flow_m3_s: FlowM3S | None = None
    boost_flow_m3_s: FlowM3S | None = None
    min_flow_m3_s: FlowM3S | None = None
    max_flow_m3_s: FlowM3S | None = None
    setter: Setter = Setter.RING
    opening_table: tuple[OpeningPoint, ...] = ()
    face_area_m2: AreaM2 | None = None
    diameter_m: LengthM | None = None
    place: str = ""
    ducts: tuple[DuctPiece, ...] = ()
    note: str = ""


class DuctTightness(StrEnum):
    """Air tightness classes of ducts (EN 16798-3), from leaky to tight."""

    ATC_6 = "ATC 6"
    ATC_5 = "ATC 5"
    ATC_4 = "ATC 4"
    ATC_3 = "ATC 3"
    ATC_2 = "ATC 2"
    ATC_1 = "ATC 1"


@dataclass(frozen=True, slots=True, kw_only=True)
class System:
    """One ventilation unit and its ducts.

    `tightness` is the class the ducts were tested or sold to; without one, plans count no leakage.

    `outdoor_ducts` to `exhaust_ducts` are the shared pieces between the unit and outside, and
    `supply_ducts`, `extract_ducts` those between the unit and the first branching.
    """

    id: str
    name: str = ""
    ventilation_unit: VentilationUnit
    fan_settings: tuple[FanSetting, ...] = ()
    tightness: DuctTightness | None = None
    branches: tuple[Branch, ...] = ()
    terminals: tuple[Terminal, ...] = ()
    outdoor_ducts: tuple[DuctPiece, ...] = ()
    supply_ducts: tuple[DuctPiece, ...] = ()
    extract_ducts: tuple[DuctPiece, ...] = ()
    exhaust_ducts: tuple[DuctPiece, ...] = ()


class SurfaceKind(StrEnum):
    """Surfaces that could get wet."""

    SUPPLY_TERMINAL = "supply_terminal"
    SUPPLY_DUCT = "supply_duct"
    COLD_DUCT = "cold_duct"
    WINDOW = "window"
    WALL = "wall"
    SLAB = "slab"
    PIPE = "pipe"
    OTHER = "other"


class SurfaceAir(StrEnum):
    """The air that touches a surface, whose dew point decides."""

    SUPPLY = "supply"
    ROOM = "room"
    OUTDOOR = "outdoor"


@dataclass(frozen=True, slots=True, kw_only=True)
class Surface:
    """A surface that could get wet; its temperature is typed here, measured in a visit, or both."""

    id: str
    kind: SurfaceKind
    name: str = ""
    room: str | None = None
    air: SurfaceAir = SurfaceAir.ROOM
    temperature_c: TemperatureC | None = None
    temperature_factor_frac: Frac | None = None
    note: str = ""


class Venting(StrEnum):
    """How a combustion appliance gets rid of its flue gas; the words of venting practice."""

    NATURAL_DRAFT = "natural_draft"
    FAN_ASSISTED = "fan_assisted"
    POWER_VENTED = "power_vented"
    DIRECT_VENT = "direct_vent"
    UNVENTED = "unvented"
    SOLID_FUEL = "solid_fuel"


@dataclass(frozen=True, slots=True, kw_only=True)
class CombustionAppliance:
    """An appliance that house pressure could disturb."""

    id: str
    name: str
    venting: Venting
    room: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class OtherExhaust:
    """A fan that is not part of the balanced system: range hood, dryer, bath fan."""

    id: str
    name: str
    flow_m3_s: FlowM3S


@dataclass(frozen=True, slots=True, kw_only=True)
class Envelope:
    """Air leakage of the house: flow at a test pressure and the exponent of the power law.

    `weather_shielding_factor` is that of the weather station in the table of ASHRAE 62.2,
    `exterior_share_frac` the share of the envelope that faces outdoors (1 for a detached house);
    an infiltration credit needs both.
    """

    leakage_flow_m3_s: FlowM3S
    test_pressure_pa: PressurePa = 50.0
    leakage_exponent: Count | None = None
    weather_shielding_factor: Count | None = None
    exterior_share_frac: Frac | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class House:
    """A house with everything that stays between visits."""

    schema: str
    id: str
    name: str
    place: str = ""
    altitude_m: LengthM | None = None
    floor_area_m2: AreaM2 | None = None
    volume_m3: VolumeM3 | None = None
    height_m: LengthM | None = None
    bedrooms: Count | None = None
    people: Count | None = None
    is_existing: bool | None = None
    rule_sets: tuple[str, ...] = ()
    envelope: Envelope | None = None
    rooms: tuple[Room, ...] = ()
    systems: tuple[System, ...] = ()
    surfaces: tuple[Surface, ...] = ()
    combustion_appliances: tuple[CombustionAppliance, ...] = ()
    other_exhausts: tuple[OtherExhaust, ...] = ()
    note: str = ""
