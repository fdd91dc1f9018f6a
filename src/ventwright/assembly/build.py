"""From a House to its network: every run, damper, terminal and fan as a law."""

from __future__ import annotations

from collections.abc import Mapping
from math import fsum

from ventwright.air import density_kg_m3_from, pressure_from_altitude_pa
from ventwright.assembly.assembled import (
    HOUSE_ZONE,
    OUTDOOR_ZONE,
    SHELL,
    Assembled,
    SideAssembly,
)
from ventwright.assembly.openings import ALL_OPEN, Openings
from ventwright.assembly.side import assemble_side
from ventwright.ducts import DuctAir, Law
from ventwright.enclosure import leakage_from_test
from ventwright.house import Envelope, FanSetting, House, SettingRole, System
from ventwright.network import Network, Opening, Zone, check, pressure_law
from ventwright.quantities import STANDARD_ATMOSPHERE_PA, Problem, Severity, Side
from ventwright.quantities.records import replace

PLANNING_C, PLANNING_FRAC = 20.0, 0.45
"""Air that a house is planned with, by judgement: temperature and relative humidity.
Source: planning_judgement"""
PLANNING_VISCOSITY_PA_S = 1.82e-5


def network_from(
    house: House,
    *,
    settings: Mapping[str, str] | None = None,
    openings: Openings = ALL_OPEN,
    added_laws: Mapping[str, tuple[Law, ...]] | None = None,
) -> Assembled:
    """Build the network of a whole house: all systems, coupled by the pressure of the house.

    Air is that of a room at 20 °C everywhere, so that the network speaks of room air, the measure
    in which flows are planned. The house is one zone; its shell leaks by the record's law, or its
    pressure is taken as zero where no leakage is known. Other fans are off. Ducts don't leak.

    Parameters
    ----------
    house
        The record.
    settings
        Fan setting by system; a system left out runs in its first continuous setting.
    openings
        How dampers and terminals stand.
    added_laws
        Further laws in series by link or side (see `terminal_link`, `branch_link`, `side_name`): a
        loaded filter, a meter at a terminal.

    Returns
    -------
    Assembled
        The network of all sides that can be solved, the sides taken apart, and every problem. A
        side with a missing loss or fan curve is left out of the network and named; if its planned
        total is known the pressure of the house still counts it.

    Raises
    ------
    UserError
        If the altitude is out of range.

    >>> network_from(House(schema="ventwright-house-1", id="h", name="Barn", altitude_m=0.0)).sides
    ()
    """
    air, problems = planning_air(house)
    sides: list[SideAssembly] = []
    for system in house.systems:
        setting = _setting(system, (settings or {}).get(system.id))
        for side in Side:
            if any(t.side is side for t in system.terminals):
                sides.append(
                    assemble_side(system, side, setting=setting, openings=openings, air=air)
                )
    sides = [_with_added(side, added_laws or {}) for side in sides]
    sides = _with_names_of_their_own([_checked(side) for side in sides])
    zone, zone_problems = _house_zone(house.envelope, sides)
    network = Network(
        trees=tuple(s.tree for s in sides if s.is_solvable and s.tree is not None),
        zones=(Zone(name=OUTDOOR_ZONE), zone),
    )
    return Assembled(
        network=network,
        sides=tuple(sides),
        air=air,
        problems=(*problems, *(p for s in sides for p in s.problems), *zone_problems),
    )


def planning_air(house: House) -> tuple[DuctAir, tuple[Problem, ...]]:
    """Air in the ducts for planning: 20 °C at the house's altitude.

    Parameters
    ----------
    house
        Any house; without an altitude sea level is taken and said.

    Raises
    ------
    UserError
        If the altitude is out of range.

    >>> air, _ = planning_air(House(schema="s", id="h", name="H", altitude_m=1950.0))
    >>> round(air.density_kg_m3, 2)
    0.95
    """
    problems: tuple[Problem, ...] = ()
    pressure_pa = STANDARD_ATMOSPHERE_PA
    if house.altitude_m is None:
        problems = (
            Problem(
                code="altitude-unknown",
                where="altitude",
                message="no altitude is given; the plan is made for sea level",
                remedy="write 'altitude' in the house file",
            ),
        )
    else:
        pressure_pa = pressure_from_altitude_pa(house.altitude_m)
    density_kg_m3 = density_kg_m3_from(
        temperature_c=PLANNING_C, rel_humidity_frac=PLANNING_FRAC, pressure_pa=pressure_pa
    )
    air = DuctAir(density_kg_m3=density_kg_m3, viscosity_pa_s=PLANNING_VISCOSITY_PA_S)
    return air, problems


def base_setting(system: System) -> FanSetting | None:
    """The setting a system is balanced in: its first continuous one, else its first.

    Parameters
    ----------
    system
        Any system.

    >>> from ventwright.house import Recovery, VentilationUnit
    >>> bare = VentilationUnit(name="u", recovery=Recovery.HEAT)
    >>> settings = (FanSetting(id="high", role=SettingRole.BOOST),
    ...             FanSetting(id="day", role=SettingRole.CONTINUOUS))
    >>> base_setting(System(id="s", ventilation_unit=bare, fan_settings=settings)).id
    'day'
    """
    settings = system.fan_settings
    continuous = (f for f in settings if f.role is SettingRole.CONTINUOUS)
    return next(continuous, settings[0] if settings else None)


def _setting(system: System, setting_id: str | None) -> FanSetting | None:
    if setting_id is None:
        return base_setting(system)
    found = next((f for f in system.fan_settings if f.id == setting_id), None)
    if found is None:
        listed = ", ".join(f.id for f in system.fan_settings)
        raise ValueError(f"system {system.id!r} has no setting {setting_id!r}; it has {listed}")
    return found


def _with_added(side: SideAssembly, added_laws: Mapping[str, tuple[Law, ...]]) -> SideAssembly:
    if side.tree is None or not added_laws:
        return side
    tree = side.tree
    links = tuple(
        replace(link, laws=link.laws + added_laws.get(link.name, ())) for link in tree.links
    )
    shared = tree.shared + added_laws.get(tree.name, ())
    return replace(side, tree=replace(tree, shared=shared, links=links))


def _checked(side: SideAssembly) -> SideAssembly:
    """A side whose tree does not hang together is refused with what the network says of it."""
    if side.tree is None:
        return side
    alone = Network(trees=(side.tree,), zones=(Zone(name=OUTDOOR_ZONE), Zone(name=HOUSE_ZONE)))
    found = tuple(replace(p, severity=Severity.REFUSAL) for p in check(alone))
    if not found:
        return side
    return replace(side, tree=None, problems=side.problems + found)


def _with_names_of_their_own(sides: list[SideAssembly]) -> list[SideAssembly]:
    """Refuse a side that names a system, branch or terminal as one before it does."""
    seen: set[str] = set()
    kept = []
    for side in sides:
        if side.tree is None:
            kept.append(side)
            continue
        names = {side.tree.name, *(link.name for link in side.tree.links)}
        if again := sorted(names & seen):
            problem = Problem(
                code="name-not-unique",
                where=side.name,
                message="these stand in the house twice: " + ", ".join(again),
                remedy="give each system, branch and terminal an id of its own",
                severity=Severity.REFUSAL,
            )
            kept.append(replace(side, tree=None, problems=(*side.problems, problem)))
        else:
            seen |= names
            kept.append(side)
    return kept


def _house_zone(envelope: Envelope | None, sides: list[SideAssembly]) -> tuple[Zone, list[Problem]]:
    """The house as a zone: its shell, and the planned flow of sides that can't be solved."""
    problems: list[Problem] = []
    if envelope is None:
        if sides:
            problems.append(
                Problem(
                    code="envelope-unknown",
                    where="envelope",
                    message="no leakage of the house is given; its pressure is taken as zero, and "
                    "the two sides as not disturbing each other",
                    remedy="write [envelope] with the result of a blower-door test",
                )
            )
        return Zone(name=HOUSE_ZONE), problems
    opening, exponent_problems = _shell(envelope)
    missing, missing_problems = _missing_flow(sides)
    problems += [*exponent_problems, *missing_problems]
    return Zone(name=HOUSE_ZONE, openings=(opening,), other_inflow_m3_s=missing), problems


def _shell(envelope: Envelope) -> tuple[Opening, list[Problem]]:
    exponent = envelope.leakage_exponent
    is_usable = exponent is not None and 0.5 <= exponent <= 1.0
    law = leakage_from_test(
        leakage_flow_m3_s=envelope.leakage_flow_m3_s,
        test_pressure_pa=envelope.test_pressure_pa,
        exponent=exponent if is_usable else None,
    )
    problems: list[Problem] = []
    if law.is_exponent_assumed:
        problems.append(
            Problem(
                code="leakage-exponent-assumed",
                where="envelope.leakage_exponent",
                message="the exponent of the leakage is not given or not between 0.5 and 1; "
                f"{law.exponent.value:g} is taken",
                remedy="write 'leakage_exponent' from the test report",
                severity=Severity.NOTE,
            )
        )
    opening = pressure_law(
        name=SHELL,
        flow_m3_s=law.test_flow_m3_s.value,
        at_pressure_pa=law.test_pressure_pa,
        exponent=law.exponent.value,
    )
    return opening, problems


def _missing_flow(sides: list[SideAssembly]) -> tuple[float, list[Problem]]:
    """Planned flow into the house by sides that are left out of the network."""
    left_out = [side for side in sides if not side.is_solvable]
    known = [(s.side, s.planned_m3_s) for s in left_out if s.planned_m3_s is not None]
    total = fsum(flow if side is Side.SUPPLY else -flow for side, flow in known)
    problems = [
        Problem(
            code="side-left-out",
            where=f"system {side.system_id}",
            message=f"the {side.side.value} side can't be predicted; "
            + (
                "for the pressure of the house it is taken to move nothing"
                if side.planned_m3_s is None
                else "for the pressure of the house it is taken to move its planned total"
            ),
            remedy="mend what the refusals of that side name",
        )
        for side in left_out
    ]
    return total, problems
