"""What each rule set asks of the whole house and its rooms, against what was measured."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from ventwright.findings.scope import PHASES, Scope, role_of, side_total
from ventwright.house import House, SettingRole, Terminal
from ventwright.quantities import AirKind, Side
from ventwright.requirements import (
    MeasuredFlows,
    RateFindings,
    RoomFlow,
    RuleSet,
    facts_of,
    judge_rates,
)
from ventwright.uncertainty import Estimate, total


def rates(
    house: House, scopes: Sequence[Scope], rule_sets: Sequence[RuleSet]
) -> Iterator[RateFindings]:
    """Every rule set that asks for a rate, for rooms or for a balance, judged on the house.

    Flows of all systems of the house add up; each is taken as left where it was read so, otherwise
    as found. Where a rule set has no balance rule of its own but gives credit for balance, the
    first other rule set with one stands in.

    Parameters
    ----------
    house
        The house.
    scopes
        Its systems.
    rule_sets
        Whose rules.
    """
    facts = facts_of(house)
    measured = _measured(scopes)
    stand_in = next((r for r in rule_sets if r.balance is not None), None)
    for rules in rule_sets:
        if rules.rate is not None or rules.rooms is not None:
            yield judge_rates(rules, facts, measured, balance_from=stand_in)


def _measured(scopes: Sequence[Scope]) -> MeasuredFlows:
    return MeasuredFlows(
        supply_m3_s=_house_total(scopes, Side.SUPPLY, SettingRole.CONTINUOUS),
        extract_m3_s=_house_total(scopes, Side.EXTRACT, SettingRole.CONTINUOUS),
        outdoor_m3_s=_house_port(scopes, AirKind.OUTDOOR),
        exhaust_m3_s=_house_port(scopes, AirKind.EXHAUST),
        boost_supply_m3_s=_house_total(scopes, Side.SUPPLY, SettingRole.BOOST),
        boost_extract_m3_s=_house_total(scopes, Side.EXTRACT, SettingRole.BOOST),
        rooms=tuple(_room_flows(scopes)),
    )


def _settings(scope: Scope, role: SettingRole) -> Iterator[str]:
    return (s for s in scope.settings() if role_of(scope, s) is role)


def _added(parts: Sequence[Estimate | None]) -> Estimate | None:
    """All parts together; nothing where one is missing, for half a house is no total."""
    known = [p for p in parts if p is not None]
    return total(known) if known and len(known) == len(parts) else None


def _house_total(scopes: Sequence[Scope], side: Side, role: SettingRole) -> Estimate | None:
    return _added([_total(scope, side, role) for scope in scopes if scope.side(side)])


def _total(scope: Scope, side: Side, role: SettingRole) -> Estimate | None:
    for setting in _settings(scope, role):
        for phase in reversed(PHASES):
            found = side_total(scope, side, setting, phase)
            if found is not None:
                return scope.as_room_air(found)
    return None


def _house_port(scopes: Sequence[Scope], stream: AirKind) -> Estimate | None:
    return _added([_port(scope, stream) for scope in scopes])


def _port(scope: Scope, stream: AirKind) -> Estimate | None:
    for setting in _settings(scope, SettingRole.CONTINUOUS):
        for phase in reversed(PHASES):
            found = scope.port(stream, setting, phase)
            if found is not None:
                return scope.as_room_air(found.figure.std_flow_m3_s)
    return None


def _room_flows(scopes: Sequence[Scope]) -> Iterator[RoomFlow]:
    seats = dict.fromkeys((t.room, t.side) for scope in scopes for t in scope.system.terminals)
    for room, side in seats:
        continuous, boost = (
            _added(
                [
                    _terminal(scope, t, role)
                    for scope in scopes
                    for t in scope.side(side)
                    if t.room == room
                ]
            )
            for role in (SettingRole.CONTINUOUS, SettingRole.BOOST)
        )
        yield RoomFlow(room=room, side=side, continuous_m3_s=continuous, boost_m3_s=boost)


def _terminal(scope: Scope, terminal: Terminal, role: SettingRole) -> Estimate | None:
    for setting in _settings(scope, role):
        for phase in reversed(PHASES):
            found = scope.at_terminal(terminal, setting, phase)
            if found is not None:
                return found.figure.flow_m3_s
    return None
