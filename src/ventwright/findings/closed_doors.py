"""What each room's terminals carry, and the closed doors on its way."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from ventwright.enclosure import (
    DropLimit,
    check_transfer,
    opening_area_m2,
    undercut_height_m,
    usual_drop_limits,
)
from ventwright.findings.house_air import DoorFinding
from ventwright.findings.model import SystemFindings, TerminalFinding
from ventwright.findings.scope import Scope, design_total_m3_s, role_of, setting_of
from ventwright.house import House, Room, RoomKind, SettingRole
from ventwright.quantities import Side
from ventwright.quantities.records import dataclass
from ventwright.uncertainty import Estimate, Influence, combine, scale, total

PLANNED_U_FRAC = 0.1
"""Standard uncertainty of a flow that is planned and not measured, as a share. Judgement."""
_SHUT_KINDS = (
    RoomKind.BEDROOM,
    RoomKind.STUDY,
    RoomKind.BATHROOM,
    RoomKind.TOILET,
    RoomKind.UTILITY,
)


@dataclass(frozen=True, slots=True, kw_only=True)
class RoomFlows:
    """Supply and extract of one room; None where a terminal of it is neither read nor planned."""

    supply_m3_s: Estimate | None
    extract_m3_s: Estimate | None
    origin_code: str

    @property
    def is_known(self) -> bool:
        """Whether both sides are known."""
        return self.supply_m3_s is not None and self.extract_m3_s is not None


def night_settings(found: Sequence[tuple[Scope, SystemFindings]]) -> tuple[str, ...]:
    """Settings a house may sleep in: continuous and reduced ones, in the order they are listed.

    Parameters
    ----------
    found
        Each system with what was found about it.
    """
    roles = (SettingRole.CONTINUOUS, SettingRole.REDUCED)
    ids = [s for scope, _ in found for s in scope.settings() if role_of(scope, s) in roles]
    return tuple(dict.fromkeys(ids or [continuous_setting(scope) for scope, _ in found]))


def room_flows(
    house: House, found: Sequence[tuple[Scope, SystemFindings]], *, mean_of: str = ""
) -> dict[str, RoomFlows]:
    """What the terminals of each room carry, as left where it was read.

    Parameters
    ----------
    house
        For the rooms.
    found
        Each system with what was found at its terminals.
    mean_of
        Setting whose mean over its running and resting time is wanted. Where a terminal was not
        read in it, the continuous flow is taken in proportion to the planned totals. Left empty,
        the continuous setting while it runs.
    """
    of_room: dict[str, list[tuple[Side, Estimate | None, str]]] = {r.id: [] for r in house.rooms}
    for scope, one in found:
        seen = {(t.terminal_id, t.setting): t for t in one.terminals}
        base = continuous_setting(scope)
        for terminal in scope.system.terminals:
            flow, origin = _flow(terminal.id, seen.get((terminal.id, base)))
            own = seen.get((terminal.id, mean_of))
            if own is not None and (own.as_left or own.as_found):
                flow, origin = _flow(terminal.id, own)
                ratio = 1.0
            else:
                ratio = _planned_ratio(scope, mean_of, base, terminal.side)
            if flow is not None:
                flow = scale(flow, ratio * _running_frac(scope, mean_of))
            of_room.setdefault(terminal.room, []).append((terminal.side, flow, origin))
    return {room_id: _room_flows(items) for room_id, items in of_room.items()}


def continuous_setting(scope: Scope) -> str:
    """The setting a system runs in all day, else its first; empty where it has none.

    Parameters
    ----------
    scope
        The system.
    """
    settings = scope.settings()
    roles = (s for s in settings if role_of(scope, s) is SettingRole.CONTINUOUS)
    return next(roles, settings[0] if settings else "")


def _planned_ratio(scope: Scope, setting: str, base: str, side: Side) -> float:
    wanted, known = (design_total_m3_s(scope, side, s) for s in (setting, base))
    return wanted / known if wanted and known else 1.0


def _running_frac(scope: Scope, setting: str) -> float:
    listed = setting_of(scope.system, setting)
    if listed is None or listed.run_time_s is None or not listed.period_s:
        return 1.0
    return min(1.0, listed.run_time_s / listed.period_s)


def _flow(terminal_id: str, found: TerminalFinding | None) -> tuple[Estimate | None, str]:
    if found is None:
        return None, ""
    read = found.as_left or found.as_found
    if read is not None:
        return read.figure.flow_m3_s, "measured"
    if found.target_m3_s is None:
        return None, ""
    influence = Influence(id=f"planned:{terminal_id}", label="flow planned and not measured")
    u = PLANNED_U_FRAC * abs(found.target_m3_s)
    return combine(found.target_m3_s, [], extra=[(influence, u)]), "planned"


def _room_flows(items: Sequence[tuple[Side, Estimate | None, str]]) -> RoomFlows:
    sums: dict[Side, Estimate | None] = {}
    for side in Side:
        flows = [flow for s, flow, _ in items if s is side]
        known = [f for f in flows if f is not None]
        sums[side] = total(known) if len(known) == len(flows) else None
    origins = {origin for *_, origin in items if origin}
    code = "mixed" if len(origins) > 1 else next(iter(origins), "")
    return RoomFlows(
        supply_m3_s=sums[Side.SUPPLY], extract_m3_s=sums[Side.EXTRACT], origin_code=code
    )


def closed_doors(house: House, flows: Mapping[str, RoomFlows]) -> Iterator[DoorFinding]:
    """Every room that is shut at times and has terminals: drop across its closed door.

    Parameters
    ----------
    house
        For rooms and transfer areas.
    flows
        What each room's terminals carry.
    """
    limit = usual_drop_limits()[0]
    with_terminals = {t.room for s in house.systems for t in s.terminals}
    for room in house.rooms:
        is_shut = room.kind in _SHUT_KINDS or room.transfer_area_m2 is not None
        if room.id in with_terminals and is_shut:
            yield _door(room, flows[room.id], limit)


def _door(room: Room, flows: RoomFlows, limit: DropLimit) -> DoorFinding:
    supply, extract = flows.supply_m3_s, flows.extract_m3_s
    area = room.transfer_area_m2 or None
    if supply is None or extract is None:
        return DoorFinding(
            room_id=room.id,
            room_name=room.name,
            limit=limit,
            area_m2=area,
            reason_code="flows-unknown",
        )
    surplus = combine(supply.value - extract.value, [(1.0, supply), (-1.0, extract)])
    check = None
    if area is not None:
        check = check_transfer(surplus_m3_s=surplus, area_m2=area, limit_pa=limit.limit_pa)
    needed = opening_area_m2(flow_m3_s=surplus.value, drop_pa=limit.limit_pa)
    return DoorFinding(
        room_id=room.id,
        room_name=room.name,
        limit=limit,
        surplus_m3_s=surplus,
        origin_code=flows.origin_code,
        area_m2=area,
        check=check,
        area_needed_m2=needed,
        undercut_m=undercut_height_m(area_m2=needed),
        reason_code="" if check is not None else "no-transfer-area",
    )
