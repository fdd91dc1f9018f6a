"""What each room's terminals carry in the continuous setting, and the closed doors on its way."""

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
from ventwright.findings.scope import Scope, role_of
from ventwright.house import House, Room, RoomKind, SettingRole
from ventwright.quantities import Side
from ventwright.quantities.records import dataclass
from ventwright.uncertainty import Estimate, Influence, combine, total

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


def room_flows(house: House, found: Sequence[tuple[Scope, SystemFindings]]) -> dict[str, RoomFlows]:
    """What the terminals of each room carry in the continuous setting, as left where it was read.

    Parameters
    ----------
    house
        For the rooms.
    found
        Each system with what was found at its terminals.
    """
    of_room: dict[str, list[tuple[Side, Estimate | None, str]]] = {r.id: [] for r in house.rooms}
    for scope, one in found:
        setting = _continuous(scope)
        seen = {t.terminal_id: t for t in one.terminals if t.setting == setting}
        for terminal in scope.system.terminals:
            flow, origin = _flow(terminal.id, seen.get(terminal.id))
            of_room.setdefault(terminal.room, []).append((terminal.side, flow, origin))
    return {room_id: _room_flows(items) for room_id, items in of_room.items()}


def _continuous(scope: Scope) -> str:
    settings = scope.settings()
    roles = (s for s in settings if role_of(scope, s) is SettingRole.CONTINUOUS)
    return next(roles, settings[0] if settings else "")


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
