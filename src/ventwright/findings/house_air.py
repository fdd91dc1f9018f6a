"""What is found about the house as a shell and a row of rooms: pressure, closed doors, room air."""

from __future__ import annotations

from ventwright.enclosure import (
    AirLimit,
    DropLimit,
    GenerationRate,
    MakeupAir,
    PressureScreen,
    PressureState,
    TransferCheck,
)
from ventwright.house import Phase
from ventwright.quantities.records import dataclass
from ventwright.requirements import BalancePair
from ventwright.uncertainty import Decision, Estimate, Verdict


@dataclass(frozen=True, slots=True, kw_only=True)
class ApplianceScreen:
    """One combustion appliance at one house pressure: a screen, never a test of its safety.

    Without a screen the reason says why: no limit is known for its way of venting.
    """

    appliance_id: str
    screen: PressureScreen | None = None
    reason_code: str = ""

    @property
    def verdict(self) -> Verdict:
        """Verdict of the screen; *not shown* where there is none."""
        return Verdict.NOT_SHOWN if self.screen is None else self.screen.decision.verdict


@dataclass(frozen=True, slots=True, kw_only=True)
class PressureFinding:
    """House pressure by fans alone, at one combination of other exhausts.

    `state` is None where nothing could be worked out; `reason_code` says why. `makeup` is the air
    to let in for the strictest limit that is not shown to be kept.
    """

    setting: str = ""
    phase: Phase | None = None
    pair: BalancePair | None = None
    running: tuple[str, ...] = ()
    state: PressureState | None = None
    appliances: tuple[ApplianceScreen, ...] = ()
    makeup: MakeupAir | None = None
    is_exponent_assumed: bool = False
    reason_code: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class DoorFinding:
    """A closed door and the air that must pass it, in the continuous setting.

    `surplus_m3_s` is supply less extract of the room. `area_needed_m2` just keeps the limit, and
    `undercut_m` is its height under a door of usual width; both None where no flow is known.
    """

    room_id: str
    room_name: str
    limit: DropLimit
    surplus_m3_s: Estimate | None = None
    origin_code: str = ""
    area_m2: float | None = None
    check: TransferCheck | None = None
    area_needed_m2: float | None = None
    undercut_m: float | None = None
    reason_code: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class RoomAirFinding:
    """Carbon dioxide in a bedroom whose people sleep with the door shut, fans alone ventilating.

    Parameters
    ----------
    room_id, room_name
        The bedroom.
    setting
        The setting the house sleeps in.
    people
        Who sleeps there.
    is_people_assumed
        Whether nobody stated how many.
    limit
        Above it the air is called stale.
    rate
        What one sleeper gives off.
    outdoor_frac
        Carbon dioxide outdoors.
    supply_m3_s
        Into the room, as a mean of running and resting time [m³/s].
    origin_code
        Whether the flows were measured, planned, or some of each.
    fresh_air_m3_s
        Outdoor air that reaches the closed room by any way [m³/s].
    closed_frac
        Where carbon dioxide settles with all bedroom doors shut.
    open_frac
        Where it settles with the doors open.
    morning_frac
        At the end of a night that began with open doors.
    decision
        Whether the settled level keeps the limit.
    supply_needed_m3_s
        Supply that would keep it [m³/s], where the settled level lies above it.
    reason_code
        Why nothing could be worked out.
    """

    room_id: str
    room_name: str
    setting: str
    people: float
    is_people_assumed: bool
    limit: AirLimit
    rate: GenerationRate
    outdoor_frac: float
    supply_m3_s: Estimate | None = None
    origin_code: str = ""
    fresh_air_m3_s: float | None = None
    closed_frac: Estimate | None = None
    open_frac: float | None = None
    morning_frac: float | None = None
    decision: Decision | None = None
    supply_needed_m3_s: float | None = None
    reason_code: str = ""
