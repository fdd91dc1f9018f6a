"""Small invented houses for the tests of assembly and of the design stage."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from ventwright.house import (
    Branch,
    Damper,
    DamperKind,
    DuctKind,
    DuctPiece,
    Envelope,
    FanCurve,
    FanSetting,
    House,
    OpeningPoint,
    PressureFlowPoint,
    Recovery,
    Room,
    RoomKind,
    SettingRole,
    System,
    Terminal,
    VentilationUnit,
)
from ventwright.quantities import Side

STEEP_FAN = ((240.0, 0.0), (200.0, 0.04), (120.0, 0.07), (0.0, 0.1))
"""Pressure [Pa] and flow [m³/s] at the unit's ports."""


def fan_curve(side: Side, points: Sequence[tuple[float, float]] = STEEP_FAN) -> FanCurve:
    return FanCurve(
        side=side,
        points=tuple(PressureFlowPoint(pressure_pa=p, flow_m3_s=q) for p, q in points),
    )


def unit(
    *, points: Sequence[tuple[float, float]] = STEEP_FAN, **changes: object
) -> VentilationUnit:
    plain = VentilationUnit(
        name="test unit",
        recovery=Recovery.HEAT,
        fan_curves=tuple(fan_curve(side, points) for side in Side),
    )
    return replace(plain, **changes)  # type: ignore[arg-type]


def round_duct(length_m: float, diameter_m: float = 0.1) -> DuctPiece:
    return DuctPiece(kind=DuctKind.ROUND, length_m=length_m, diameter_m=diameter_m)


def fitting(name: str, **changes: object) -> DuctPiece:
    piece = DuctPiece(kind=DuctKind.FITTING, fitting=name)
    return replace(piece, **changes)  # type: ignore[arg-type]


def table(*points: tuple[float, float]) -> tuple[OpeningPoint, ...]:
    return tuple(OpeningPoint(opening_turns=t, flow_factor=k) for t, k in points)


RING = table((3.0, 0.8e-3), (6.0, 1.5e-3), (9.0, 2.1e-3), (12.0, 2.6e-3))


def terminal(
    ident: str, side: Side, *, branch: str | None = None, flow: float = 0.01, **changes: object
) -> Terminal:
    plain = Terminal(
        id=ident,
        side=side,
        room="room",
        branch=branch,
        design_flow_m3_s=flow,
        opening_table=RING,
        ducts=(round_duct(3.0), fitting("bend_90")),
    )
    return replace(plain, **changes)  # type: ignore[arg-type]


def branch(
    ident: str, side: Side, *, parent: str | None = None, has_damper: bool = True, **changes: object
) -> Branch:
    damper = Damper(kind=DamperKind.BUTTERFLY, diameter_m=0.125) if has_damper else None
    plain = Branch(
        id=ident,
        side=side,
        parent=parent,
        damper=damper,
        ducts=(fitting("tee_branch", diameter_m=0.125), round_duct(4.0, 0.125)),
    )
    return replace(plain, **changes)  # type: ignore[arg-type]


CONTINUOUS = FanSetting(
    id="day", role=SettingRole.CONTINUOUS, supply_speed_frac=0.8, extract_speed_frac=0.8
)
BOOST = FanSetting(
    id="boost", role=SettingRole.BOOST, supply_speed_frac=1.0, extract_speed_frac=1.0
)


def system(ident: str = "hrv", **changes: object) -> System:
    """Supply with two branches, extract with one; four and three terminals."""
    plain = System(
        id=ident,
        ventilation_unit=unit(),
        fan_settings=(CONTINUOUS, BOOST),
        branches=(
            branch(f"{ident}-sa", Side.SUPPLY),
            branch(f"{ident}-sb", Side.SUPPLY),
            branch(f"{ident}-xa", Side.EXTRACT),
        ),
        terminals=(
            terminal(f"{ident}-s1", Side.SUPPLY, branch=f"{ident}-sa", flow=0.012),
            terminal(f"{ident}-s2", Side.SUPPLY, branch=f"{ident}-sa", flow=0.010),
            terminal(f"{ident}-s3", Side.SUPPLY, branch=f"{ident}-sb", flow=0.008),
            terminal(f"{ident}-s4", Side.SUPPLY, branch=f"{ident}-sb", flow=0.006),
            terminal(f"{ident}-x1", Side.EXTRACT, branch=f"{ident}-xa", flow=0.016),
            terminal(f"{ident}-x2", Side.EXTRACT, branch=f"{ident}-xa", flow=0.012),
            terminal(f"{ident}-x3", Side.EXTRACT, flow=0.008),
        ),
        outdoor_ducts=(fitting("intake_hood"), round_duct(3.0, 0.16)),
        supply_ducts=(round_duct(1.0, 0.16), fitting("bend_90")),
        extract_ducts=(fitting("bend_90"), round_duct(1.0, 0.16)),
        exhaust_ducts=(round_duct(3.0, 0.16), fitting("exhaust_hood")),
    )
    return replace(plain, **changes)  # type: ignore[arg-type]


def house(*systems: System, **changes: object) -> House:
    plain = House(
        schema="ventwright-house-1",
        id="test",
        name="Test house",
        altitude_m=0.0,
        floor_area_m2=120.0,
        envelope=Envelope(leakage_flow_m3_s=0.15, leakage_exponent=0.65),
        rooms=(Room(id="room", name="Room", kind=RoomKind.BEDROOM, floor_area_m2=20.0),),
        systems=systems or (system(),),
    )
    return replace(plain, **changes)  # type: ignore[arg-type]


def with_terminal(given: System, ident: str, **changes: object) -> System:
    return replace(
        given,
        terminals=tuple(
            replace(t, **changes) if t.id == ident else t  # type: ignore[arg-type]
            for t in given.terminals
        ),
    )


def with_branch(given: System, ident: str, **changes: object) -> System:
    return replace(
        given,
        branches=tuple(
            replace(b, **changes) if b.id == ident else b  # type: ignore[arg-type]
            for b in given.branches
        ),
    )


def one_sided(given: System, side: Side) -> System:
    return replace(
        given,
        terminals=tuple(t for t in given.terminals if t.side is side),
        branches=tuple(b for b in given.branches if b.side is side),
    )


def many_terminals(count_a_side: int) -> House:
    """Three levels of branching: risers, storeys, corridors, and terminals on the last."""
    branches, terminals = [], []
    for side, letter in ((Side.SUPPLY, "s"), (Side.EXTRACT, "x")):
        for riser in range(2):
            top = f"{letter}{riser}"
            branches.append(branch(top, side, ducts=(round_duct(4.0, 0.25),), has_damper=False))
            for storey in range(2):
                middle = f"{top}-{storey}"
                branches.append(branch(middle, side, parent=top, ducts=(round_duct(3.0, 0.2),)))
                for corridor in range(2):
                    last = f"{middle}-{corridor}"
                    ducts = (round_duct(2.0 + corridor, 0.16),)
                    branches.append(branch(last, side, parent=middle, ducts=ducts))
        leaves = [b.id for b in branches if b.side is side and b.id.count("-") == 2]
        for i in range(count_a_side):
            ducts = (round_duct(2.0 + 0.2 * (i % 9)),)
            terminals.append(
                terminal(
                    f"{letter}-t{i}",
                    side,
                    branch=leaves[i % len(leaves)],
                    flow=0.004 + 0.0005 * (i % 5),
                    ducts=ducts,
                )
            )
    big = ((400.0, 0.0), (360.0, 0.2), (200.0, 0.45), (0.0, 0.7))
    wide = system(
        branches=tuple(branches),
        terminals=tuple(terminals),
        ventilation_unit=unit(points=big),
        outdoor_ducts=(round_duct(3.0, 0.4),),
        supply_ducts=(round_duct(1.0, 0.4),),
        extract_ducts=(round_duct(1.0, 0.4),),
        exhaust_ducts=(round_duct(3.0, 0.4),),
    )
    return house(wide)
