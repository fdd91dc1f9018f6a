"""What the plan asks of a terminal and of a side of a system."""

from __future__ import annotations

from math import fsum

from ventwright.house import FanSetting, SettingRole, System, Terminal
from ventwright.quantities import Side


def planned_flow_m3_s(terminal: Terminal, role: SettingRole) -> float | None:
    """What a terminal is planned to carry in a setting of a role; None where nobody said.

    Parameters
    ----------
    terminal
        Any terminal.
    role
        Of the setting; a reduced setting has no planned flows of its own.

    >>> t = Terminal(id="t", side=Side.SUPPLY, room="r", design_flow_m3_s=0.01)
    >>> planned_flow_m3_s(t, SettingRole.CONTINUOUS), planned_flow_m3_s(t, SettingRole.BOOST)
    (0.01, None)
    """
    if role is SettingRole.CONTINUOUS:
        return terminal.design_flow_m3_s
    return terminal.boost_flow_m3_s if role is SettingRole.BOOST else None


def planned_total_m3_s(system: System, side: Side, setting: FanSetting | None) -> float | None:
    """The planned total of a side in a setting: typed there, else the sum of its terminals.

    Parameters
    ----------
    system
        The system.
    side
        Which side.
    setting
        Fan setting; None counts as continuous.

    >>> from ventwright.house import Recovery, VentilationUnit
    >>> system = System(id="s", ventilation_unit=VentilationUnit(name="u", recovery=Recovery.HEAT),
    ...     terminals=(Terminal(id="a", side=Side.SUPPLY, room="r", design_flow_m3_s=0.01),
    ...                Terminal(id="b", side=Side.SUPPLY, room="r", design_flow_m3_s=0.02)))
    >>> planned_total_m3_s(system, Side.SUPPLY, None)
    0.03
    """
    if setting is not None:
        typed = setting.supply_flow_m3_s if side is Side.SUPPLY else setting.extract_flow_m3_s
        if typed is not None:
            return typed
    role = SettingRole.CONTINUOUS if setting is None else setting.role
    flows = [planned_flow_m3_s(t, role) for t in system.terminals if t.side is side]
    known = [flow for flow in flows if flow is not None]
    return fsum(known) if known and len(known) == len(flows) else None
