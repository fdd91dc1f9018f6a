"""Bathrooms with a shower running: when the mirror fogs, when it clears, what extract it takes."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from ventwright.findings.closed_doors import continuous_setting
from ventwright.findings.looks import Looks
from ventwright.findings.model import SystemFindings
from ventwright.findings.rooms_air import room_volume_m3
from ventwright.findings.scope import Scope, role_of, setting_of
from ventwright.findings.wet_room_air import ShowerCourse, WetRoomFinding
from ventwright.house import FanSetting, House, Room, RoomKind, SettingRole
from ventwright.moisture import (
    ExtractNeed,
    ExtractStep,
    RoomRun,
    WetRoomPlan,
    WetRoomValues,
    boosted_extract,
    middle_of,
    run_room,
    smallest_extract,
    usual_wet_room_assumptions,
    wet_room,
)
from ventwright.quantities import Side
from ventwright.quantities.records import dataclass, replace
from ventwright.uncertainty import Estimate, total, u_expanded

SHOWER_S = 600.0
"""Length of the shower. Judgement."""
RUN_S = 3600.0
"""How long the room is followed. Judgement."""
SOON_S = 900.0
"""A mirror clear in this time after the shower is soon clear. Judgement."""
BOOST_S = 1800.0
"""How long a boost lasts where its setting doesn't say. Judgement."""
MIRROR_M2 = 1.0
"""Area of a mirror. Judgement."""
HEIGHT_M = 2.4
"""Height that walls are reckoned with; only areas of surfaces depend on it. Judgement."""
TILED_FRAC = 0.45
"""Share of floor, walls and ceiling that is tiled. Judgement."""
STEP_S = 30.0
"""Step of a run: times within half a minute of those at 5 s, for a sixth of the work."""
NEED_STEP_S = 60.0
"""Step of the many runs behind a smallest extract: within 3 % of that at 5 s."""
CURVE_S = 60.0
_MIRROR = "mirror"


@dataclass(frozen=True, slots=True, kw_only=True)
class _Extract:
    """Measured extract of a room in one setting; a boost lasts for a time."""

    flow_m3_s: Estimate
    setting: str
    boost_s: float
    is_resting: bool


def wet_rooms(
    house: House, found: Sequence[tuple[Scope, SystemFindings]], looks: Looks
) -> Iterator[WetRoomFinding]:
    """Every bathroom whose continuous extract was measured, with a shower of ten minutes.

    Parameters
    ----------
    house
        For rooms and their sizes.
    found
        Each system with what was found at its terminals.
    looks
        For the air of the house and its pressure.
    """
    for room in house.rooms:
        if room.kind is not RoomKind.BATHROOM:
            continue
        extract = _extract(room, found, SettingRole.CONTINUOUS)
        if extract is None:
            continue
        if room_volume_m3(house, room) is None:
            yield replace(_bare(room), reason_code="no-bathroom-size")
        elif extract.is_resting:
            yield replace(_bare(room), reason_code="extract-rests")
        else:
            boost = _extract(room, found, SettingRole.BOOST)
            yield _finding(house, room, looks, extract, boost)


def _extract(
    room: Room, found: Sequence[tuple[Scope, SystemFindings]], role: SettingRole
) -> _Extract | None:
    """What all extract terminals of a room take in a setting; None unless each was read."""
    flows: list[Estimate] = []
    setting, boost_s, is_resting = "", 0.0, False
    for scope, one in found:
        ids = [t.id for t in scope.side(Side.EXTRACT) if t.room == room.id]
        if not ids:
            continue
        setting = _setting(scope, role)
        listed = setting_of(scope.system, setting)
        is_resting = is_resting or _rests(listed)
        seen = {t.terminal_id: t for t in one.terminals if t.setting == setting}
        for terminal_id in ids:
            terminal = seen.get(terminal_id)
            read = None if terminal is None else terminal.as_left or terminal.as_found
            if read is None:
                return None
            flows.append(read.figure.flow_m3_s)
        if role is SettingRole.BOOST:
            boost_s = (None if listed is None else listed.run_time_s) or BOOST_S
    if not flows:
        return None
    return _Extract(flow_m3_s=total(flows), setting=setting, boost_s=boost_s, is_resting=is_resting)


def _setting(scope: Scope, role: SettingRole) -> str:
    if role is SettingRole.CONTINUOUS:
        return continuous_setting(scope)
    return next((s for s in scope.settings() if role_of(scope, s) is role), "")


def _rests(listed: FanSetting | None) -> bool:
    """Whether a setting runs for a part of the time only, so that a shower may meet a rest."""
    if listed is None or listed.run_time_s is None:
        return False
    return listed.run_time_s < (listed.period_s or 0.0)


def _bare(room: Room) -> WetRoomFinding:
    vapour = usual_wet_room_assumptions().shower_kg_s
    u = u_expanded(vapour)
    return WetRoomFinding(
        room_id=room.id,
        room_name=room.name,
        shower_s=SHOWER_S,
        run_s=RUN_S,
        vapour_kg_s=(vapour.value - u, vapour.value, vapour.value + u),
        mirror_m2=MIRROR_M2,
        soon_s=SOON_S,
    )


def _finding(
    house: House, room: Room, looks: Looks, extract: _Extract, boost: _Extract | None
) -> WetRoomFinding:
    bare = _bare(room)
    volume_m3 = room_volume_m3(house, room) or 0.0
    plan = _plan(volume_m3, looks)
    middle = middle_of(usual_wet_room_assumptions())
    cases = tuple(replace(middle, shower_kg_s=v) for v in bare.vapour_kg_s)
    try:
        wet_room(plan, middle)
    except ValueError:
        return replace(bare, reason_code="air-too-moist")
    settings = [extract] if boost is None else [extract, boost]
    free, soon = (_need(plan, middle, clear_within_s=s) for s in (None, SOON_S))
    return replace(
        bare,
        volume_m3=volume_m3,
        is_volume_assumed=not room.volume_m3,
        is_air_assumed=looks.air.is_room_assumed,
        courses=tuple(_course(plan, cases, extract, one) for one in settings),
        free_extract_m3_s=free,
        soon_extract_m3_s=soon,
    )


def _plan(volume_m3: float, looks: Looks) -> WetRoomPlan:
    """The room as a square one of usual height, in the air of the visit."""
    floor_m2 = volume_m3 / HEIGHT_M
    inside_m2 = 2.0 * floor_m2 + 4.0 * math.sqrt(floor_m2) * HEIGHT_M
    air = looks.air.room
    return WetRoomPlan(
        volume_m3=volume_m3,
        mirror_m2=MIRROR_M2,
        tiles_m2=TILED_FRAC * inside_m2,
        lining_m2=(1.0 - TILED_FRAC) * inside_m2,
        incoming_c=air.temperature_c.value,
        incoming_humidity_ratio_kg_kg=air.humidity_ratio_kg_kg.value,
        pressure_pa=looks.barometric.pressure_pa.value,
        shower_s=SHOWER_S,
    )


def _course(
    plan: WetRoomPlan, cases: Sequence[WetRoomValues], base: _Extract, one: _Extract
) -> ShowerCourse:
    low, middle, high = (_run(plan, values, base, one) for values in cases)
    return ShowerCourse(
        extract_m3_s=one.flow_m3_s,
        setting=one.setting,
        boost_s=one.boost_s,
        fogs_at_s=(_fogs(low), _fogs(middle), _fogs(high)),
        clears_after_s=(_clears(low), _clears(middle), _clears(high)),
        peak_rel_humidity_frac=(_peak(low), _peak(middle), _peak(high)),
        curve_time_s=tuple(m.time_s for m in middle.moments),
        curve_rel_humidity_frac=tuple(min(1.0, float(m.rel_humidity_frac)) for m in middle.moments),
    )


def _run(plan: WetRoomPlan, values: WetRoomValues, base: _Extract, one: _Extract) -> RoomRun:
    """A run whose extract is what does its work; a slightly negative reading counts as none."""
    continuous, flow = (values.mixing_frac * max(0.0, e.flow_m3_s.value) for e in (base, one))
    steps: tuple[ExtractStep, ...] = (ExtractStep(start_s=0.0, flow_m3_s=continuous),)
    if one.boost_s > 0.0:
        steps = boosted_extract(
            continuous_m3_s=continuous,
            boost_m3_s=flow,
            boost_start_s=0.0,
            boost_end_s=one.boost_s,
        )
    room, releases = wet_room(plan, values)
    return run_room(
        math,
        room,
        releases=releases,
        extract=steps,
        duration_s=RUN_S,
        step_s=STEP_S,
        moment_every_s=CURVE_S,
    )


def _fogs(run: RoomRun) -> float | None:
    at_s = float(run.spell(_MIRROR).fogs_at_s)
    return at_s if math.isfinite(at_s) else None


def _clears(run: RoomRun) -> float | None:
    at_s = float(run.spell(_MIRROR).clears_at_s)
    return max(0.0, at_s - SHOWER_S) if math.isfinite(at_s) else None


def _peak(run: RoomRun) -> float:
    """Saturated air is 1 exactly, without what rounding adds."""
    return min(1.0, float(run.peak_rel_humidity_frac))


def _need(
    plan: WetRoomPlan, values: WetRoomValues, *, clear_within_s: float | None
) -> float | None:
    """Smallest extract at a terminal: what does its work over the share that does."""
    room, releases = wet_room(plan, values)
    need: ExtractNeed = smallest_extract(
        math,
        room,
        releases=releases,
        surface_ids=(_MIRROR,),
        clear_within_s=clear_within_s,
        step_s=NEED_STEP_S,
    )
    return float(need.flow_m3_s / values.mixing_frac) if need.is_reachable else None
