"""Scoring a visit against the truth, and trying a procedure on a house."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from ventwright.quantities.words import Side
from ventwright.trials.cards import Outcome
from ventwright.trials.exact import damper_of, exact_setting, movable, opening_at, shares
from ventwright.trials.floor import acceptable_setting
from ventwright.trials.ledger import Style
from ventwright.trials.meters import MeterModel
from ventwright.trials.physics import Vector
from ventwright.trials.site import Procedure, Site
from ventwright.trials.truth import SIDES, Setting, TruthHouse
from ventwright.trials.world import HandModel, World

OPEN_FRAC = 0.97
"""A damper counts as fully open from this share of its way to the open stop."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Score:
    """What a visit cost and what it left behind.

    Parameters
    ----------
    procedure, house, layout, style
        What was tried where.
    terminal_count
        Terminals of both sides.
    is_closed
        Whether the procedure declared itself done.
    is_right
        Whether every true flow lies within the greater of 10 % or 1 cfm of its target share.
    worst_frac
        Largest relative departure of a true flow from its target share.
    stop_count, placement_count, reading_count, trip_count, move_count, elapsed_s
        From the ledger.
    is_open
        For each side, whether some terminal's path has every damper at its open stop.
    total_frac
        Each side's true total relative to its design total, or to what both can reach if less.
    mass_ratio
        Outdoor air taken in over exhaust air put out.
    electric_w
        Power both fans draw in the end.
    throttled_w
        Power they would draw had the as-found speed been kept and the same flows been reached by
        shutting dampers; no less than `electric_w` unless a fan was sped up.
    slip_count, slip_named_count, false_alarm_count
        Readings that slipped, those of them named, and good readings named as surprises.
    claim_count, claim_held_count
        Intervals stated and those that held the truth.
    """

    procedure: str
    house: str
    layout: str
    style: str
    terminal_count: int
    is_closed: bool
    is_right: bool
    worst_frac: float
    stop_count: int
    placement_count: int
    reading_count: int
    trip_count: int
    move_count: int
    elapsed_s: float
    is_open: tuple[bool, bool]
    total_frac: tuple[float, float]
    mass_ratio: float
    electric_w: float
    throttled_w: float
    slip_count: int
    slip_named_count: int
    false_alarm_count: int
    claim_count: int
    claim_held_count: int


def try_procedure(
    procedure: Procedure,
    house: TruthHouse,
    *,
    style: Style,
    meter: MeterModel,
    hand: HandModel,
    seed: np.random.SeedSequence,
) -> Score:
    """Let a procedure balance a house and score what it did.

    Parameters
    ----------
    procedure
        What to try.
    house
        Where.
    style
        How dampers are set.
    meter
        How good the meters are.
    hand
        How good the hand is.
    seed
        Everything random about the visit; the same seed gives the same biases to every procedure.

    >>> from ventwright.trials.make import draw_houses
    >>> from ventwright.trials.meters import PERFECT
    >>> from ventwright.trials.reference import AllAtOnce
    >>> seed = np.random.SeedSequence(5)
    >>> house = draw_houses(seed, count=1)[0]
    >>> result = try_procedure(AllAtOnce(), house, style=Style.LIVE, meter=PERFECT,
    ...                        hand=HandModel(setting_frac=0.0), seed=seed)
    >>> result.is_right, result.stop_count > 2 * result.terminal_count
    (True, True)
    """
    world = World(house, style=style, meter=meter, hand=hand, seed=seed)
    return score(world, procedure.balance(Site(world)), name=procedure.name)


def score(world: World, outcome: Outcome, *, name: str) -> Score:
    """Score a visit that is over.

    Parameters
    ----------
    world
        The truth after the visit.
    outcome
        What the procedure said.
    name
        The procedure's name.

    A visit on which nothing was done:

    >>> from ventwright.trials.make import draw_houses
    >>> from ventwright.trials.meters import PERFECT
    >>> seed = np.random.SeedSequence(5)
    >>> world = World(draw_houses(seed, count=1)[0], style=Style.BLIND, meter=PERFECT,
    ...               hand=HandModel(), seed=seed)
    >>> idle = score(world, Outcome(is_closed=False), name="idle")
    >>> idle.stop_count, idle.is_right
    (0, False)
    """
    house, ledger = world.house, world.ledger
    flows = world.true_flows()
    off, worst = [], 0.0
    for side in SIDES:
        mine = list(house.of_side(side))
        targets = np.array([house.terminals[i].target_m3_s for i in mine])
        off.append(float(np.abs(shares(flows[mine], targets)).max()))
        wanted = targets * flows[mine].sum() / targets.sum()
        worst = max(worst, float(np.abs(flows[mine] / wanted - 1).max()))
    slipped = {slip.reading_number for slip in world.slips}
    named = set(outcome.suspect_readings)
    electric_w, throttled_w = _powers_w(world)
    return Score(
        procedure=name,
        house=house.name,
        layout=str(house.layout),
        style=str(world.style),
        terminal_count=len(house.terminals),
        is_closed=outcome.is_closed,
        is_right=max(off) <= 1.0,
        worst_frac=worst,
        stop_count=ledger.stop_count,
        placement_count=ledger.placement_count,
        reading_count=ledger.reading_count,
        trip_count=ledger.trip_count,
        move_count=ledger.move_count,
        elapsed_s=ledger.elapsed_s,
        is_open=(_has_open_path(world, Side.SUPPLY), _has_open_path(world, Side.EXTRACT)),
        total_frac=_totals(world),
        mass_ratio=world.fan_flow(Side.SUPPLY) / world.fan_flow(Side.EXTRACT),
        electric_w=electric_w,
        throttled_w=throttled_w,
        slip_count=len(slipped),
        slip_named_count=len(slipped & named),
        false_alarm_count=len(named - slipped),
        claim_count=len(world.claims),
        claim_held_count=sum(claim.holds for claim in world.claims),
    )


def _has_open_path(world: World, side: Side) -> bool:
    """Whether nothing on some terminal's path could be opened further; stuck dampers can't."""
    house = world.house
    for i in house.of_side(side):
        path = (i, house.damper_at(house.terminals[i].branch))
        if all(_is_open(world, element) for element in path):
            return True
    return False


def _is_open(world: World, element: int) -> bool:
    damper = damper_of(world.house, element)
    if damper is None or damper.is_stuck:
        return True
    opening = opening_at(world.house, world.setting, element)
    return opening >= OPEN_FRAC * damper.high_stop_frac


def _totals(world: World) -> tuple[float, float]:
    house = world.house
    now = _shares_of_design(house, world.true_flows())
    reach = min(1.0, *_shares_of_design(house, house.flows(_fastest(house)).free_m3_s))
    return now[0] / reach, now[1] / reach


def _shares_of_design(house: TruthHouse, flows_m3_s: Vector) -> tuple[float, float]:
    found = []
    for side in SIDES:
        mine = list(house.of_side(side))
        design = sum(house.terminals[i].target_m3_s for i in mine)
        found.append(float(flows_m3_s[mine].sum()) / design)
    return found[0], found[1]


def _fastest(house: TruthHouse) -> Setting:
    """Both fans at full speed with every terminal somewhere in its band.

    Found from the exact setting, in which a ring on each side stands at its open stop; from there
    only what is outside its band is moved.
    """
    setting = exact_setting(house)
    for side in SIDES:
        loose = movable(house, side)
        found = acceptable_setting(house, side, start=setting, loose=loose, band_share=1.0)
        setting = setting if found is None else found
    return replace(setting, speed_frac=(1.0, 1.0))


def _powers_w(world: World) -> tuple[float, float]:
    now = throttled = 0.0
    for s, side in enumerate(SIDES):
        fan, flow = world.house.fans[s], world.fan_flow(side)
        now += fan.electric_w(flow_m3_s=flow, speed_frac=world.setting.speed_frac[s])
        throttled += fan.electric_w(flow_m3_s=flow, speed_frac=world.house.as_found.speed_frac[s])
    return now, throttled
