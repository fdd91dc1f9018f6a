"""A visit: conditions, walk-through, readings, adjustments, faults, final settings, hand-over."""

from __future__ import annotations

from datetime import datetime
from enum import StrEnum

from ventwright.house.handover import EntryKind, Note, Photo, Signature, Withdrawal
from ventwright.house.instrument import Instrument
from ventwright.house.reading import Phase, Reading
from ventwright.quantities import (
    AngleDeg,
    FlowM3S,
    Frac,
    HumidityOver,
    PressurePa,
    Side,
    SoundLevelDbA,
    TemperatureC,
    Turns,
    VelocityMS,
)
from ventwright.quantities.records import dataclass


class Purpose(StrEnum):
    """Why the visit was made."""

    COMMISSIONING = "commissioning"
    CHECK = "check"
    SERVICE = "service"
    CHANGE = "change"


@dataclass(frozen=True, slots=True, kw_only=True)
class Conditions:
    """What the house and the weather were like. None means nobody wrote it down, and is said so."""

    outdoor_temperature_c: TemperatureC | None = None
    outdoor_rel_humidity_frac: Frac | None = None
    humidity_over: HumidityOver | None = None
    indoor_temperature_c: TemperatureC | None = None
    indoor_rel_humidity_frac: Frac | None = None
    barometric_pressure_pa: PressurePa | None = None
    wind_speed_m_s: VelocityMS | None = None
    are_windows_shut: bool | None = None
    are_inner_doors_shut: bool | None = None
    are_other_fans_off: bool | None = None
    are_combustion_appliances_off: bool | None = None
    are_filters_clean: bool | None = None
    note: str = ""


class WalkThroughItem(StrEnum):
    """What is looked at before and beside the measuring."""

    OUTDOOR_INTAKE = "outdoor_intake"
    EXHAUST_OUTLET = "exhaust_outlet"
    OUTLET_SEPARATION = "outlet_separation"
    FILTERS = "filters"
    CONDENSATE_DRAIN = "condensate_drain"
    DUCT_INSULATION = "duct_insulation"
    VAPOUR_SEAL = "vapour_seal"
    FLEXIBLE_DUCT = "flexible_duct"
    DUCT_CONNECTIONS = "duct_connections"
    DAMPER_ACCESS = "damper_access"
    TERMINAL_ACCESS = "terminal_access"
    CONTROLS = "controls"
    BOOST = "boost"
    NOISE = "noise"
    TRANSFER_OPENINGS = "transfer_openings"
    OTHER = "other"


class Outcome(StrEnum):
    """What was found at an item."""

    GOOD = "good"
    FAULT = "fault"
    NOT_SEEN = "not_seen"
    NOT_APPLICABLE = "not_applicable"


@dataclass(frozen=True, slots=True, kw_only=True)
class WalkThroughEntry:
    """One item of the walk-through; `fault` names the line of the punch list it led to."""

    item: WalkThroughItem
    outcome: Outcome
    place: str = ""
    note: str = ""
    sound_level_db_a: SoundLevelDbA | None = None
    photo: str = ""
    fault: str | None = None


class AdjustmentKind(StrEnum):
    """What was changed."""

    TERMINAL = "terminal"
    DAMPER = "damper"
    FAN = "fan"
    FILTER = "filter"
    OTHER = "other"


@dataclass(frozen=True, slots=True, kw_only=True)
class Adjustment:
    """One thing turned, set or changed; `target` is a terminal, branch or fan setting id.

    A change of a fan names its `side` and the speed it had before; without the former speed what
    was read before the change can't be related to what was read after it.
    """

    id: str
    kind: AdjustmentKind
    target: str
    at: datetime | None = None
    opening_turns: Turns | None = None
    turned_turns: Turns | None = None
    position_deg: AngleDeg | None = None
    side: Side | None = None
    speed_before_frac: Frac | None = None
    speed_frac: Frac | None = None
    stop_flow_m3_s: FlowM3S | None = None
    after_reading: str | None = None
    note: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Fault:
    """A line of the punch list: what, where, who mends it, and whether it was tested again."""

    id: str
    what: str
    where: str = ""
    photo: str = ""
    who: str = ""
    is_mended: bool = False
    retest_reading: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class FinalSetting:
    """How a damper, terminal or fan was left, so that it can be put back."""

    target: str
    kind: AdjustmentKind
    setting: str | None = None
    opening_turns: Turns | None = None
    position_deg: AngleDeg | None = None
    speed_frac: Frac | None = None
    is_locked: bool | None = None
    is_marked: bool | None = None
    are_ports_plugged: bool | None = None
    note: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Visit:
    """One visit to one house. Instruments travel with the visit, as they were on that day."""

    schema: str
    id: str
    house: str
    started_at: datetime | None = None
    technician: str = ""
    firm: str = ""
    purpose: Purpose = Purpose.COMMISSIONING
    conditions: Conditions = Conditions()
    instruments: tuple[Instrument, ...] = ()
    walk_through: tuple[WalkThroughEntry, ...] = ()
    readings: tuple[Reading, ...] = ()
    adjustments: tuple[Adjustment, ...] = ()
    faults: tuple[Fault, ...] = ()
    final_settings: tuple[FinalSetting, ...] = ()
    notes: tuple[Note, ...] = ()
    photos: tuple[Photo, ...] = ()
    signatures: tuple[Signature, ...] = ()
    withdrawals: tuple[Withdrawal, ...] = ()
    closed_at: datetime | None = None
    note: str = ""


def readings_in_force(visit: Visit) -> tuple[Reading, ...]:
    """Readings that were not withdrawn and that no other reading supersedes, in the order typed.

    Withdrawing a correction doesn't bring back what it corrected.

    Parameters
    ----------
    visit
        Any visit.

    >>> readings_in_force(Visit(schema="ventwright-visit-1", id="v", house="h"))
    ()
    """
    gone = {r.supersedes for r in visit.readings if r.supersedes is not None}
    gone |= {w.entry for w in visit.withdrawals if w.kind is EntryKind.READING}
    return tuple(r for r in visit.readings if r.id not in gone)


def last_phase(visit: Visit) -> Phase:
    """As left if any reading in force is; otherwise as found. It names what a verdict can speak of.

    Parameters
    ----------
    visit
        Any visit.

    >>> last_phase(Visit(schema="ventwright-visit-1", id="v", house="h")).value
    'as_found'
    """
    left = any(r.phase is Phase.AS_LEFT for r in readings_in_force(visit))
    return Phase.AS_LEFT if left else Phase.AS_FOUND
