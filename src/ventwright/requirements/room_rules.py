"""The forms a rule for single rooms may take in a rule file."""

from __future__ import annotations

from enum import StrEnum

from ventwright.house import RoomKind
from ventwright.quantities import (
    AirChangeRate1H,
    AreaM2,
    FlowM3S,
    Frac,
    Side,
    SoundLevelDbA,
    SpecificFanPowerWPerM3S,
    TemperatureC,
)
from ventwright.quantities.records import dataclass
from ventwright.requirements.citation import Citation
from ventwright.uncertainty import DecisionRule


class RoomMode(StrEnum):
    """When a room's flow is asked for."""

    CONTINUOUS = "continuous"
    ON_DEMAND = "on_demand"
    """While somebody asks for it: one way to serve a room, beside the continuous one."""
    HIGH = "high"
    """The boost of a continuous system; none is needed where the continuous flow reaches it."""


class Means(StrEnum):
    """What must serve the room for the rule's figure to hold."""

    ANY = "any"
    HOOD = "hood"
    """A hood over the cooking place."""
    NOT_HOOD = "not_hood"
    LOCAL_FAN = "local_fan"
    """An intermittent fan of its own, in a house without a continuous system."""


class Per(StrEnum):
    """What a room's flow is counted by."""

    ROOM = "room"
    PERSON = "person"
    AREA = "area"
    VOLUME = "volume"


class RoomPick(StrEnum):
    """Which rooms of the kinds a rule speaks of."""

    EVERY = "every"
    LARGEST = "largest"
    OTHERS = "others"
    """All but the largest."""


@dataclass(frozen=True, slots=True, kw_only=True)
class RoomRule:
    """A flow that rooms of some kinds must have, or, without any flow, a terminal they must have.

    `flow_m3_s` counts per room or person, or per `per_area_m2` of floor; a volume takes
    `air_changes_1_h`. Rules for one room's extract are alternatives, save that `high` and
    `continuous` figures of one room are judged at boost and in the continuous setting.
    """

    side: Side
    room_kinds: tuple[RoomKind, ...]
    pick: RoomPick = RoomPick.EVERY
    mode: RoomMode = RoomMode.CONTINUOUS
    means: Means = Means.ANY
    per: Per = Per.ROOM
    flow_m3_s: FlowM3S | None = None
    per_area_m2: AreaM2 | None = None
    air_changes_1_h: AirChangeRate1H | None = None
    citation: Citation
    note: str = ""


class SplitBy(StrEnum):
    """What rooms share a total by."""

    VOLUME = "volume"
    FLOOR_AREA = "floor_area"
    PEOPLE_AND_AREA = "people_and_area"
    """Half by those who sleep or work there, half by floor area."""
    ROOM = "room"
    """Equal shares."""


@dataclass(frozen=True, slots=True, kw_only=True)
class SupplySplit:
    """How a rule set shares the supply between rooms."""

    by: SplitBy
    citation: Citation


@dataclass(frozen=True, slots=True, kw_only=True)
class EquipmentLimit:
    """One limit on the ventilation unit or the air it gives; exactly one value is set."""

    most_specific_fan_power_w_per_m3_s: SpecificFanPowerWPerM3S | None = None
    least_sensible_frac: Frac | None = None
    least_supply_temperature_c: TemperatureC | None = None
    most_sound_level_db_a: SoundLevelDbA | None = None
    decision_rule: DecisionRule = DecisionRule.GUARDED
    citation: Citation
    note: str = ""
