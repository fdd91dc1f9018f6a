"""Zones of a house and the air that passes between them, from flows at terminals and doors.

The air balance of every zone holds exactly: what terminals leave over passes the doors towards the
root (the hall and all rooms whose doors stand open), and what the house leaves over passes the
shell there. Air in a zone is taken as well mixed.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from enum import StrEnum

from ventwright.quantities.records import dataclass

NO_FLOW_M3_S = 5e-16
"""What rounding leaves of flows that cancel; no air flow, or a shut room would seem ventilated."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Zone:
    """A space with one concentration.

    Parameters
    ----------
    id
        Which.
    volume_m3
        Air in it [m³], above 0.
    supply_m3_s, extract_m3_s
        At its terminals [m³/s].
    infiltration_m3_s
        Outdoor air through its shell with as much going out [m³/s].
    """

    id: str
    volume_m3: float
    supply_m3_s: float = 0.0
    extract_m3_s: float = 0.0
    infiltration_m3_s: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Door:
    """A way between two zones.

    Parameters
    ----------
    first, second
        Ids of the zones.
    exchange_m3_s
        What would swap each way with the fans off [m³/s]: much through an open doorway, little
        past a closed door.
    """

    first: str
    second: str
    exchange_m3_s: float = 0.0


class AirPath(StrEnum):
    """What an air flow is."""

    SUPPLY = "supply"
    EXTRACT = "extract"
    TRANSFER = "transfer"
    SHELL = "shell"


@dataclass(frozen=True, slots=True, kw_only=True)
class AirFlow:
    """Air from one zone to another; an empty id is outdoors (for supply, the ventilation unit)."""

    path: AirPath
    source: str
    target: str
    flow_m3_s: float


@dataclass(frozen=True, slots=True, kw_only=True)
class AirPaths:
    """Zones with every flow between them, balanced in each zone.

    Parameters
    ----------
    zones
        The zones.
    flows
        The flows, none negative.
    exhaust_transfer_frac
        Share of extract air in the supply air [1].
    """

    zones: tuple[Zone, ...]
    flows: tuple[AirFlow, ...]
    exhaust_transfer_frac: float = 0.0


def air_paths(
    zones: Sequence[Zone],
    doors: Sequence[Door],
    *,
    root: str,
    exhaust_transfer_frac: float = 0.0,
) -> AirPaths:
    """Work out what passes each door, and what passes the shell at the root.

    A flow one way through a door leaves less room for air to swap: half of it is taken off the
    exchange, which then ends where the opening carries one direction only.

    Parameters
    ----------
    zones
        At least one.
    doors
        Without loops, one way from every zone to the root.
    root
        Id of the zone where the house's surplus passes the shell.
    exhaust_transfer_frac
        Share of extract air in the supply air [1], 0 to below 1.

    Raises
    ------
    ValueError
        If ids are unknown or used twice, a zone has no way or two ways to the root, or a number is
        out of range.

    Source: opening_judgement

    >>> bed = Zone(id="bed", volume_m3=30.0, supply_m3_s=0.010)
    >>> rest = Zone(id="rest", volume_m3=200.0, supply_m3_s=0.030, extract_m3_s=0.040)
    >>> paths = air_paths([bed, rest], [Door(first="bed", second="rest")], root="rest")
    >>> [(f.source, f.target, f.flow_m3_s) for f in paths.flows if f.path is AirPath.TRANSFER]
    [('bed', 'rest', 0.01)]
    """
    _check(zones, exhaust_transfer_frac)
    surplus = {z.id: z.supply_m3_s - z.extract_m3_s for z in zones}
    flows = []
    for z in zones:
        flows += [
            (AirPath.SUPPLY, "", z.id, z.supply_m3_s),
            (AirPath.EXTRACT, z.id, "", z.extract_m3_s),
            (AirPath.SHELL, "", z.id, z.infiltration_m3_s),
            (AirPath.SHELL, z.id, "", z.infiltration_m3_s),
        ]
    for child, parent, exchange in _towards(zones, doors, root):
        net = surplus[child]
        surplus[parent] += net
        swap = max(0.0, exchange - 0.5 * abs(net))
        flows += [
            (AirPath.TRANSFER, child, parent, swap + max(0.0, net)),
            (AirPath.TRANSFER, parent, child, swap + max(0.0, -net)),
        ]
    over = surplus[root]
    flows += [
        (AirPath.SHELL, root, "", max(0.0, over)),
        (AirPath.SHELL, "", root, max(0.0, -over)),
    ]
    return AirPaths(
        zones=tuple(zones),
        flows=tuple(
            AirFlow(path=path, source=source, target=target, flow_m3_s=flow)
            for path, source, target, flow in flows
            if flow > NO_FLOW_M3_S
        ),
        exhaust_transfer_frac=exhaust_transfer_frac,
    )


def _check(zones: Sequence[Zone], exhaust_transfer_frac: float) -> None:
    ids = [z.id for z in zones]
    if "" in ids or len(set(ids)) < len(ids):
        raise ValueError(f"zones {ids!r}: each needs an id of its own")
    for z in zones:
        if not (math.isfinite(z.volume_m3) and z.volume_m3 > 0.0):
            raise ValueError(f"volume_m3 {z.volume_m3!r} of {z.id!r}: above 0 is accepted")
        for flow in (z.supply_m3_s, z.extract_m3_s, z.infiltration_m3_s):
            if not (math.isfinite(flow) and flow >= 0.0):
                raise ValueError(f"flow {flow!r} of {z.id!r}: 0 or more is accepted")
    if not 0.0 <= exhaust_transfer_frac < 1.0:
        raise ValueError(f"exhaust_transfer_frac {exhaust_transfer_frac!r}: 0 to below 1")


def _towards(
    zones: Sequence[Zone], doors: Sequence[Door], root: str
) -> list[tuple[str, str, float]]:
    """(zone, next zone towards the root, exchange), the outermost first."""
    known = {z.id for z in zones}
    named = {root, *(d.first for d in doors), *(d.second for d in doors)}
    if named - known:
        raise ValueError(f"no zone {sorted(named - known)!r}")
    if any(d.exchange_m3_s < 0.0 for d in doors):
        raise ValueError("exchange_m3_s of a door: 0 or more is accepted")
    near = {root}
    order = []
    left = list(doors)
    while left:
        ready = [d for d in left if (d.first in near) != (d.second in near)]
        if not ready:
            raise ValueError("doors form a loop, or lead to no root")
        door = ready[0]
        left.remove(door)
        child, parent = door.first, door.second
        if child in near:
            child, parent = parent, child
        near.add(child)
        order.append((child, parent, door.exchange_m3_s))
    if near != known:
        raise ValueError(f"no door leads from {sorted(known - near)!r} to {root!r}")
    return order[::-1]


def without_fresh_air(paths: AirPaths) -> tuple[str, ...]:
    """Zones that no outdoor air reaches, by any way.

    Parameters
    ----------
    paths
        The air flows.

    >>> shut = [Zone(id="bed", volume_m3=30.0), Zone(id="rest", volume_m3=200.0,
    ...         supply_m3_s=0.04, extract_m3_s=0.04)]
    >>> without_fresh_air(air_paths(shut, [Door(first="bed", second="rest")], root="rest"))
    ('bed',)
    """
    reached = {f.target for f in paths.flows if f.source == ""}
    grew = True
    while grew:
        more = {f.target for f in paths.flows if f.source in reached} - reached - {""}
        reached |= more
        grew = bool(more)
    return tuple(z.id for z in paths.zones if z.id not in reached)
