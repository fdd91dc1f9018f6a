"""One system with its readings and rules, and the totals that several judgements share."""

from __future__ import annotations

from collections.abc import Iterator

from ventwright.assembly import planned_flow_m3_s, planned_total_m3_s
from ventwright.findings.looks import Looks, flow_at
from ventwright.findings.model import FlowFinding
from ventwright.findings.visit_air import stream_of
from ventwright.house import (
    FanSetting,
    House,
    Phase,
    SettingRole,
    Station,
    StationKind,
    System,
    Terminal,
)
from ventwright.quantities import STANDARD_AIR_DENSITY_KG_M3, AirKind, Side
from ventwright.quantities.records import dataclass
from ventwright.requirements import RuleSet
from ventwright.uncertainty import Estimate, ratio, scale, total

PHASES = (Phase.AS_FOUND, Phase.INTERIM, Phase.AS_LEFT)


@dataclass(frozen=True, slots=True, kw_only=True)
class Scope:
    """One system with its interpreted readings and the rule sets that judge it."""

    house: House
    system: System
    looks: Looks
    rule_sets: tuple[RuleSet, ...]

    def settings(self) -> tuple[str, ...]:
        """Fan settings, those listed first, then any a reading names."""
        listed = [f.id for f in self.system.fan_settings]
        named = [r.setting for r in self.looks.readings if r.setting not in listed]
        return tuple(dict.fromkeys([*listed, *named]))

    def port(self, stream: AirKind, setting: str, phase: Phase) -> FlowFinding | None:
        """Flow in a duct at the unit."""
        station = Station(kind=StationKind.PORT, stream=stream, system=self.system.id)
        return flow_at(self.looks.readings, stations=[station], setting=setting, phase=phase)

    def at_terminal(self, terminal: Terminal, setting: str, phase: Phase) -> FlowFinding | None:
        """Flow at a terminal."""
        station = Station(kind=StationKind.TERMINAL, ref=terminal.id, system=self.system.id)
        return flow_at(self.looks.readings, stations=[station], setting=setting, phase=phase)

    def side(self, side: Side) -> tuple[Terminal, ...]:
        """Terminals of one side."""
        return tuple(t for t in self.system.terminals if t.side is side)

    def as_room_air(self, std_flow_m3_s: Estimate) -> Estimate:
        """Standard volume as volume of room air, the measure of design flows."""
        density = self.looks.air.room.density_kg_m3
        return ratio(scale(std_flow_m3_s, STANDARD_AIR_DENSITY_KG_M3), density)

    def phases(self, setting: str) -> Iterator[Phase]:
        """Phases in which anything was read in this setting."""
        present = {r.phase for r in self.looks.readings if r.setting == setting}
        return (p for p in PHASES if p in present)


def setting_of(system: System, setting: str) -> FanSetting | None:
    """The listed fan setting of that id, or None.

    Parameters
    ----------
    system
        The system.
    setting
        Id of a fan setting.
    """
    return next((f for f in system.fan_settings if f.id == setting), None)


def side_total(scope: Scope, side: Side, setting: str, phase: Phase) -> Estimate | None:
    """What a side moves, as standard volume: its duct, else all its terminals together.

    Parameters
    ----------
    scope
        The system.
    side, setting, phase
        Which total.
    """
    duct = scope.port(stream_of(side), setting, phase)
    if duct is not None:
        return duct.figure.std_flow_m3_s
    flows = [scope.at_terminal(t, setting, phase) for t in scope.side(side)]
    if not flows or any(f is None for f in flows):
        return None
    return total(f.figure.std_flow_m3_s for f in flows if f is not None)


def design_total_m3_s(scope: Scope, side: Side, setting: str) -> float | None:
    """The designer's total of a side: typed for the setting, else the sum of its terminals.

    Parameters
    ----------
    scope
        The system.
    side, setting
        Which total.
    """
    listed = setting_of(scope.system, setting)
    if listed is None and scope.system.fan_settings:
        return None
    return planned_total_m3_s(scope.system, side, listed)


def design_of(terminal: Terminal, scope: Scope, setting: str) -> float | None:
    """A terminal's planned flow in a setting, by the setting's role; None where none was planned.

    Parameters
    ----------
    terminal
        The terminal.
    scope
        Its system.
    setting
        Id of the fan setting. In a system that lists no settings every reading is taken as
        continuous.
    """
    role = role_of(scope, setting)
    return None if role is None else planned_flow_m3_s(terminal, role)


def role_of(scope: Scope, setting: str) -> SettingRole | None:
    """The role of a fan setting; None for one that is not listed beside others.

    Parameters
    ----------
    scope
        The system.
    setting
        Id of the fan setting.
    """
    if not scope.system.fan_settings:
        return SettingRole.CONTINUOUS
    listed = setting_of(scope.system, setting)
    return None if listed is None else listed.role


def efficacy_flow(scope: Scope, setting: str, phase: Phase) -> Estimate | None:
    """Mean of supply and extract as room air, for fan efficacy; None unless both are known.

    Parameters
    ----------
    scope
        The system.
    setting, phase
        Which.
    """
    sides = [side_total(scope, s, setting, phase) for s in Side]
    known = [s for s in sides if s is not None]
    if len(known) < len(sides):
        return None
    return scope.as_room_air(scale(total(known), 1.0 / len(known)))
