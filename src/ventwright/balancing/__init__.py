"""Balancing: re-targeting to what the machine can do; guidance for the dampers.

Works on plain estimates and bands and knows nothing of files or forms. A session is begun with
`start`, grows by `add_reading`, `add_move` and `add_speed`, and is asked for the `next_step`.

What stands behind `TYPE_CHECKING` is imported when it is first asked for: reading and judging a
visit needs none of it, and the engine stays quick to import.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from ventwright.balancing.retarget import Retarget, TerminalDesign, retarget

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

_LATER = frozenset(
    {
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
        "Run",
        "Session",
        "SettingStyle",
        "SideSetup",
        "SideTotal",
        "SpeedMove",
        "Spot",
        "Surprise",
        "add_move",
        "add_reading",
        "add_speed",
        "filter_effect",
        "leads",
        "next_step",
        "predict",
        "session_from_json",
        "session_to_json",
        "start",
        "surprises",
        "totals",
    }
)


def __getattr__(name: str) -> Any:
    """Import a name from its module when it is first asked for."""
    if name not in _LATER:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    from ventwright.balancing import advice, session, session_json, site_data, surprise

    homes = (advice, session, session_json, site_data, surprise)
    return next(getattr(home, name) for home in homes if hasattr(home, name))


__all__ = [
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
