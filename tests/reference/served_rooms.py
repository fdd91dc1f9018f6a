"""Rooms with and without a terminal, for rules that ask where air is ducted to."""

from __future__ import annotations

from typing import Any

from ventwright.house import Room, RoomKind, Terminal
from ventwright.quantities import Side


def served(is_distributed: bool) -> dict[str, Any]:
    """Three bedrooms, living room, kitchen and bath; without distribution one bedroom has none."""
    kinds = [RoomKind.BEDROOM] * 3 + [RoomKind.LIVING, RoomKind.KITCHEN, RoomKind.BATHROOM]
    rooms = [Room(id=f"r{i}", name=f"r{i}", kind=kind) for i, kind in enumerate(kinds)]
    wet = (RoomKind.KITCHEN, RoomKind.BATHROOM)
    terminals = [
        Terminal(id=f"t{i}", room=room.id, side=Side.EXTRACT if room.kind in wet else Side.SUPPLY)
        for i, room in enumerate(rooms)
    ]
    return {
        "rooms": tuple(rooms),
        "terminals": tuple(terminals if is_distributed else terminals[1:]),
    }
