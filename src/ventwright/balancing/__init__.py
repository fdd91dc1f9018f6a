"""Balancing: re-targeting to what the machine can do; guidance for the dampers.

Works on plain estimates and bands and knows nothing of files or forms. A session is begun with
`start`, grows by `add_reading`, `add_move` and `add_speed`, and is asked for the `next_step`.

What stands behind `TYPE_CHECKING` is imported when it is first asked for: reading and judging a
visit needs none of it.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from ventwright.balancing.retarget import Retarget, TerminalDesign, retarget
from ventwright.quantities.later import later

if TYPE_CHECKING:
    from ventwright.balancing.advice import (
        Deed,
        Finished,
        Lead,
        LookFor,
        Method,
        NextStep,
        Predicted,
        SideTotal,
    )
    from ventwright.balancing.session import (
        add_move,
        add_reading,
        add_speed,
        filter_effect,
        leads,
        next_step,
        predict,
        start,
        surprises,
        totals,
    )
    from ventwright.balancing.session_json import session_from_json, session_to_json
    from ventwright.balancing.side_shape import TOTAL_ID, has_main_damper
    from ventwright.balancing.site_data import (
        Damper,
        DamperMove,
        FlowReading,
        LossShare,
        Meter,
        Options,
        Outlet,
        Run,
        Session,
        SettingStyle,
        SideSetup,
        SpeedMove,
        Spot,
    )
    from ventwright.balancing.surprise import Surprise
else:
    __getattr__ = later(
        __name__, "advice", "session", "session_json", "side_shape", "site_data", "surprise"
    )

__all__ = [
    "TOTAL_ID",
    "Damper",
    "DamperMove",
    "Deed",
    "Finished",
    "FlowReading",
    "Lead",
    "LookFor",
    "LossShare",
    "Meter",
    "Method",
    "NextStep",
    "Options",
    "Outlet",
    "Predicted",
    "Retarget",
    "Run",
    "Session",
    "SettingStyle",
    "SideSetup",
    "SideTotal",
    "SpeedMove",
    "Spot",
    "Surprise",
    "TerminalDesign",
    "add_move",
    "add_reading",
    "add_speed",
    "filter_effect",
    "has_main_damper",
    "leads",
    "next_step",
    "predict",
    "retarget",
    "session_from_json",
    "session_to_json",
    "start",
    "surprises",
    "totals",
]
