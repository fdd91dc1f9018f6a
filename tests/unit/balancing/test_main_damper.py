"""Totals set by main dampers, where a unit has no speed of its own for each side.

Both sides stand on the network solver, with laws that the small model lacks.
"""

from __future__ import annotations

from dataclasses import replace

import pytest

from tests.unit.balancing.network_house import ROOMS, TABLE, House, session_for
from ventwright.balancing import (
    Damper,
    Deed,
    Finished,
    Meter,
    NextStep,
    Options,
    Run,
    Session,
    SettingStyle,
    SideSetup,
    add_move,
    add_reading,
    has_main_damper,
    next_step,
    start,
    totals,
)
from ventwright.quantities.words import Side

DESIGN_M3_S = sum(room.target_m3_s for room in ROOMS.values())
MARKED = Damper(opening_frac=1.0, table=TABLE, table_u_frac=0.05)
PREFIX = {Side.SUPPLY: "s-", Side.EXTRACT: "x-"}


def pair(
    *, style: SettingStyle, damper: Damper, speeds: dict[Side, float]
) -> tuple[dict[Side, House], Session]:
    """A house of two sides alike but for their fans, each behind a main damper."""
    houses, sides = {}, []
    for side, speed in speeds.items():
        house = House(speed=speed, has_main=True)
        if damper.opening_frac is not None:
            house.opening["main"] = damper.opening_frac
        houses[side] = house
        sides.append(_setup(house, side, style, damper))
    session = start(
        sides,
        meters=[Meter(id="hood", repeat_frac=0.005, bias_frac=0.0)],
        options=Options(style=style),
    )
    return houses, session


def _setup(house: House, side: Side, style: SettingStyle, damper: Damper) -> SideSetup:
    (bare,) = session_for(house, style).sides
    mark = PREFIX[side]
    runs = [Run(id=f"{mark}main", damper=damper)]
    runs += [replace(r, id=mark + r.id, parent_id=f"{mark}main") for r in bare.runs]
    outlets = [replace(o, id=mark + o.id, run_id=f"{mark}{o.run_id}") for o in bare.outlets]
    return replace(
        bare, side=side, runs=tuple(runs), outlets=tuple(outlets), is_speed_settable=False
    )


def follow(houses: dict[Side, House], session: Session) -> tuple[Session, list[NextStep]]:
    steps = []
    for _ in range(150):
        step = next_step(session)
        if isinstance(step, Finished):
            return session, steps
        steps.append(step)
        session = _done(houses[step.side], session, step)
    raise AssertionError("guidance went on for 150 steps")


def _done(house: House, session: Session, step: NextStep) -> Session:
    name, read = step.thing_id[2:], step.read_id[2:]
    if step.deed is Deed.TURN:
        if step.is_fully_open:
            house.opening[name] = 1.0
        elif step.stop_m3_s is not None:
            house.turn_to_reading(name, read, step.stop_m3_s)
        else:
            assert step.opening_frac is not None
            house.opening[name] = step.opening_frac
        is_marked = name != "main" or step.opening_frac is not None
        session = add_move(
            session,
            thing_id=step.thing_id,
            side=step.side,
            opening_frac=house.opening[name] if is_marked else None,
            is_at_open_stop=step.is_fully_open,
        )
    if not read:
        return session
    return add_reading(
        session,
        thing_id=step.read_id,
        side=step.side,
        flow_m3_s=house.flows()[read],
        count=step.count,
    )


def total(house: House) -> float:
    return sum(house.flows().values())


@pytest.mark.parametrize("style", list(SettingStyle))
def test_both_sides_come_to_the_design_by_their_main_dampers(style: SettingStyle) -> None:
    houses, session = pair(
        style=style, damper=MARKED, speeds={Side.SUPPLY: 1.0, Side.EXTRACT: 0.95}
    )
    assert min(total(house) for house in houses.values()) > 1.08 * DESIGN_M3_S
    _, steps = follow(houses, session)
    assert all(step.deed is not Deed.SET_SPEED for step in steps)
    assert {s.thing_id for s in steps if s.thing_id.endswith("main")} == {"s-main", "x-main"}
    for house in houses.values():
        assert total(house) == pytest.approx(DESIGN_M3_S, rel=0.02)
        assert max(map(abs, house.offs().values())) < 0.10


def test_the_stronger_side_comes_down_to_what_the_weaker_moves() -> None:
    """The weaker side's main damper is open already; rescaled, not left unequal."""
    houses, session = pair(
        style=SettingStyle.LIVE, damper=MARKED, speeds={Side.SUPPLY: 1.0, Side.EXTRACT: 0.7}
    )
    session, _ = follow(houses, session)
    supply, extract = total(houses[Side.SUPPLY]), total(houses[Side.EXTRACT])
    assert extract < 0.9 * DESIGN_M3_S
    assert supply == pytest.approx(extract, rel=0.02)
    assert houses[Side.EXTRACT].opening["main"] == 1.0
    assert [t.reach_ratio for t in totals(session) if t.side is Side.EXTRACT] == pytest.approx(
        [extract / DESIGN_M3_S], rel=0.02
    )


def test_a_main_damper_without_mark_is_opened_to_see_what_it_gives() -> None:
    """Found half shut, unknown to all: the side short of air is opened before the other is shut."""
    houses, session = pair(
        style=SettingStyle.LIVE, damper=Damper(), speeds={Side.SUPPLY: 0.9, Side.EXTRACT: 0.9}
    )
    houses[Side.SUPPLY].opening["main"] = 0.15
    assert total(houses[Side.SUPPLY]) < 0.93 * DESIGN_M3_S < total(houses[Side.EXTRACT])
    _, steps = follow(houses, session)
    first = next(s for s in steps if s.thing_id.endswith("main"))
    assert (first.thing_id, first.is_fully_open) == ("s-main", True)
    for house in houses.values():
        assert total(house) == pytest.approx(DESIGN_M3_S, rel=0.02)


def test_a_total_once_read_at_the_unit_is_what_is_watched() -> None:
    houses, session = pair(
        style=SettingStyle.LIVE, damper=MARKED, speeds={Side.SUPPLY: 1.0, Side.EXTRACT: 1.0}
    )
    for side, house in houses.items():
        for name, flow in house.flows().items():
            session = add_reading(
                session, thing_id=PREFIX[side] + name, side=side, flow_m3_s=flow, count=2
            )
        session = add_reading(session, thing_id="total", side=side, flow_m3_s=total(house))
    step = next_step(session)
    while isinstance(step, NextStep) and not step.thing_id.endswith("main"):
        session = _done(houses[step.side], session, step)
        step = next_step(session)
    assert isinstance(step, NextStep)
    assert step.read_id == "total"
    assert step.stop_m3_s == pytest.approx(DESIGN_M3_S, rel=0.02)


def test_where_a_speed_can_be_set_the_main_damper_stays_open() -> None:
    houses, session = pair(
        style=SettingStyle.LIVE,
        damper=replace(MARKED, opening_frac=0.6),
        speeds={Side.SUPPLY: 1.0},
    )
    session = replace(
        session, sides=tuple(replace(s, is_speed_settable=True) for s in session.sides)
    )
    step = next_step(session)
    while isinstance(step, NextStep) and step.deed is not Deed.SET_SPEED:
        session = _done(houses[step.side], session, step)
        step = next_step(session)
    assert isinstance(step, NextStep) and step.speed_frac is not None
    assert step.speed_frac < 1.0
    assert houses[Side.SUPPLY].opening["main"] == 1.0


def test_a_stuck_main_damper_is_none() -> None:
    houses, session = pair(style=SettingStyle.LIVE, damper=MARKED, speeds={Side.SUPPLY: 1.0})
    (setup,) = session.sides
    assert has_main_damper(setup)
    stuck = replace(setup.runs[0], damper=replace(MARKED, is_movable=False))
    assert not has_main_damper(replace(setup, runs=(stuck, *setup.runs[1:])))
    before = total(houses[Side.SUPPLY])
    bare = replace(session, sides=(replace(setup, runs=(stuck, *setup.runs[1:])),))
    _, steps = follow(houses, bare)
    assert all(not step.thing_id.endswith("main") for step in steps)
    assert total(houses[Side.SUPPLY]) == pytest.approx(before, rel=0.15)
