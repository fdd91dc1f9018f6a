"""Networks built from a House: each piece of the record becomes a law; nothing is solved here.

What is missing is named as a problem. Where a usual figure can stand in, the problem says so;
where none can (a fan curve, the length of a duct), the side it belongs to is left out.

What stands behind `TYPE_CHECKING` is imported when it is first asked for: reading and judging a
visit needs none of it.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from ventwright.assembly.planned import planned_flow_m3_s, planned_total_m3_s
from ventwright.quantities.later import later

if TYPE_CHECKING:
    from ventwright.assembly.assembled import (
        HOUSE_ZONE,
        OUTDOOR_ZONE,
        SHELL,
        Assembled,
        SideAssembly,
        branch_link,
        side_name,
        terminal_link,
    )
    from ventwright.assembly.build import base_setting, network_from, planning_air
    from ventwright.assembly.fittings import FITTING_NAMES
    from ventwright.assembly.openings import (
        ALL_OPEN,
        Openings,
        openings_as_left,
        openings_as_recorded,
    )
    from ventwright.assembly.pieces import LossDoubt, Piece, PieceKind
    from ventwright.assembly.terminals import TerminalOpening
else:
    __getattr__ = later(
        __name__, "assembled", "build", "fittings", "openings", "pieces", "side", "terminals"
    )

__all__ = [
    "ALL_OPEN",
    "FITTING_NAMES",
    "HOUSE_ZONE",
    "OUTDOOR_ZONE",
    "SHELL",
    "Assembled",
    "LossDoubt",
    "Openings",
    "Piece",
    "PieceKind",
    "SideAssembly",
    "TerminalOpening",
    "base_setting",
    "branch_link",
    "network_from",
    "openings_as_left",
    "openings_as_recorded",
    "planned_flow_m3_s",
    "planned_total_m3_s",
    "planning_air",
    "side_name",
    "terminal_link",
]
