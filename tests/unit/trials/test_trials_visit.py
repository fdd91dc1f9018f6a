"""Meters, hands and ledger, worked by hand on a tiny house; floor; reference procedures; score."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from tests.unit.trials.tiny import TARGET_M3_S, tiny_house
from ventwright.quantities.words import Side
from ventwright.trials import (
    CFM_M3_S,
    FINE,
    PERFECT,
    AllAtOnce,
    HandModel,
    Layout,
    MeterModel,
    Outcome,
    OwnTarget,
    Procedure,
    Ratio,
    Site,
    SlipKind,
    Style,
    Traits,
    TruthHouse,
    World,
    draw_house,
    floor_of,
    least_trips,
    score,
    try_procedure,
)
from ventwright.trials.ledger import Deed
from ventwright.trials.meters import SLIP_SIGMAS, Kit
from ventwright.trials.visit import Visit, factor_at, opening_at_factor

STEADY = HandModel(setting_frac=0.0)
PROCEDURES = (Ratio(), Ratio(accept_frac=0.8), OwnTarget(), AllAtOnce())


def visit(
    style: Style = Style.LIVE,
    *,
    house: TruthHouse | None = None,
    meter: MeterModel = PERFECT,
    hand: HandModel = STEADY,
) -> tuple[World, Site]:
    world = World(
        house or tiny_house(1.5),
        style=style,
        meter=meter,
        hand=hand,
        seed=np.random.SeedSequence(1),
    )
    return world, Site(world)


def test_live_ledger_by_hand() -> None:
    """Way and times are added up in the comments, from the pace's constants."""
    _, site = visit()
    ledger = site.ledger
    site.read("S1")  # stop 1: hood 36, reading 18
    assert (ledger.stop_count, ledger.reading_count, ledger.trip_count) == (1, 1, 0)
    assert ledger.elapsed_s == pytest.approx(54)
    site.read("S2")  # stop 2, upstairs: (5 + 3 + 1 + 2)/0.7 + 42 walking, then 54
    assert (ledger.stop_count, ledger.trip_count) == (2, 1)
    assert ledger.elapsed_s == pytest.approx(54 + 11 / 0.7 + 42 + 54)
    site.turn_terminal("S2", to_reading_m3_s=TARGET_M3_S)  # same stop: 60 turning, 18 reading
    assert (ledger.stop_count, ledger.placement_count) == (2, 2)
    assert (ledger.move_count, ledger.reading_count) == (1, 3)
    assert ledger.elapsed_s == pytest.approx(228 + 11 / 0.7)
    site.set_fan_speed(Side.SUPPLY, 0.7)  # a trip to the loft, no stop: 3/0.7 + 180, then 60
    assert (ledger.stop_count, ledger.trip_count, ledger.speed_change_count) == (2, 2, 1)
    assert ledger.elapsed_s == pytest.approx(468 + 14 / 0.7)
    site.read_total(Side.SUPPLY)  # a stop in the same space: 4/0.14, then 54
    assert (ledger.stop_count, ledger.trip_count) == (3, 2)
    assert ledger.elapsed_s == pytest.approx(522 + 20 + 4 / 0.14)
    assert [entry.thing for entry in ledger.entries] == [
        "S1",
        "S2",
        "S2",
        "supply fan",
        "total supply",
    ]


def test_blind_counts_every_placement() -> None:
    _, site = visit(Style.BLIND)
    site.read("S2")
    site.turn_terminal("S2", to_opening_frac=0.5)
    assert (site.ledger.stop_count, site.ledger.placement_count) == (1, 1)
    site.read("S2")
    site.read("S2")  # the hood is still on
    assert (site.ledger.stop_count, site.ledger.placement_count) == (2, 2)
    site.turn_terminal("S1", to_opening_frac=0.9)
    site.read("S1")  # the first placement belongs to the stop
    assert (site.ledger.stop_count, site.ledger.placement_count) == (3, 3)


def test_remote_dampers_are_stops_and_trips_of_their_own() -> None:
    _, site = visit(Style.REMOTE)
    site.read("S2")
    site.turn_terminal("S2", to_opening_frac=0.5)
    site.turn_terminal("S1", to_opening_frac=0.9)
    site.read("S2")
    assert (site.ledger.stop_count, site.ledger.trip_count, site.ledger.move_count) == (4, 2, 2)


def test_a_watched_branch_damper_takes_two_stops() -> None:
    house = draw_house(np.random.SeedSequence(3), name="plain", traits=Traits(layout=Layout.TRUNK))
    world, site = visit(house=house)
    branch = next(card for card in site.branches if card.has_damper)
    name = branch.terminal_ids[0]
    now = site.read(name).flow_m3_s
    turn = site.turn_branch(branch.id, to_reading_m3_s=0.8 * now, watch=name)
    assert (site.ledger.stop_count, site.ledger.trip_count) == (2, 1)
    assert turn.reading is not None
    assert turn.reading.flow_m3_s == pytest.approx(0.8 * now, rel=1e-6)
    assert world.true_flows()[[t.id for t in site.terminals].index(name)] == pytest.approx(
        0.8 * now
    )


def test_readings_are_granted_within_the_allowance() -> None:
    _, site = visit()
    counts = [site.read(name, count=3).count for name in ("S1", "S2", "E1", "S1", "S2")]
    assert counts == [1, 2, 2, 2, 2]
    assert site.ledger.reading_count <= 1.8 * site.ledger.stop_count
    turn = site.turn_terminal("S2", to_reading_m3_s=TARGET_M3_S, count=2)
    assert turn.reading is None  # the hand stops by the display; no value is left to note


def test_a_live_hand_stops_where_the_meter_says() -> None:
    world, site = visit()
    turn = site.turn_terminal("S2", to_reading_m3_s=0.008)
    assert world.true_flows()[1] == pytest.approx(0.008, rel=1e-6)
    assert turn.opening_frac == pytest.approx(world.setting.terminal_frac[1])
    open_turn = site.turn_terminal("S1", to_reading_m3_s=0.05)
    assert (open_turn.stop, open_turn.opening_frac) == ("open", 1.0)


def test_a_ring_with_play_still_reaches_its_open_stop() -> None:
    house = tiny_house(1.5)
    ring = house.terminals[1].ring
    assert ring is not None
    second = replace(house.terminals[1], ring=replace(ring, play_frac=0.04))
    house = replace(house, terminals=(house.terminals[0], second, house.terminals[2]))
    world, site = visit(house=house)
    down = site.turn_terminal("S2", to_reading_m3_s=0.008)
    assert down.opening_frac == pytest.approx(world.setting.terminal_frac[1] - 0.02)
    for aim in ({"to_reading_m3_s": 0.05}, {"to_reading_m3_s": 0.05}, {"to_opening_frac": 1.0}):
        turn = site.turn_terminal("S2", **aim)
        assert (turn.stop, turn.opening_frac) == ("open", 1.0)
        assert world.setting.terminal_frac[1] == 1.0


def test_a_stuck_damper_shows_when_tried() -> None:
    house = tiny_house(1.5)
    ring = house.terminals[1].ring
    assert ring is not None
    second = replace(house.terminals[1], ring=replace(ring, is_stuck=True))
    house = replace(house, terminals=(house.terminals[0], second, house.terminals[2]))
    world, site = visit(house=house)
    before = world.true_flows().copy()
    assert site.turn_terminal("S2", to_opening_frac=0.3).is_stuck
    assert site.turn_terminal("S2", to_reading_m3_s=0.003).is_stuck
    assert world.true_flows() == pytest.approx(before)


def test_aims_that_make_no_sense_are_refused() -> None:
    _, site = visit(Style.BLIND)
    with pytest.raises(ValueError, match="no meter is in place"):
        site.turn_terminal("S1", to_reading_m3_s=0.01)
    with pytest.raises(ValueError, match="one of the two"):
        site.turn_terminal("S1")
    _, live = visit()
    with pytest.raises(ValueError, match="watch"):
        live.turn_branch("SB1", to_reading_m3_s=0.01)


def test_the_meter_scatters_and_is_biased_as_its_model_says() -> None:
    """Independent: sampling statistics of a normal distribution, within four standard errors."""
    model = MeterModel(repeat_frac=0.03, bias_frac=0.05, resolution_m3_s=0.0)
    kit = Kit(model, np.random.default_rng(4))
    single = np.array([kit.shown_m3_s(0.01, 1) for _ in range(4000)]) / 0.01
    mean = np.array([kit.shown_m3_s(0.01, 4) for _ in range(4000)]) / 0.01
    assert single.std() == pytest.approx(0.03, rel=4 / np.sqrt(8000))
    assert mean.std() == pytest.approx(0.015, rel=4 / np.sqrt(8000))
    gains = [Kit(model, np.random.default_rng(i)).gain(Side.SUPPLY) for i in range(2000)]
    assert np.std(gains) == pytest.approx(0.05, rel=4 / np.sqrt(4000))
    assert np.mean(gains) == pytest.approx(1.0, abs=4 * 0.05 / np.sqrt(2000))


def test_the_display_moves_in_steps() -> None:
    _, site = visit(meter=FINE)
    shown = site.read("S1").flow_m3_s / (0.25 * CFM_M3_S)
    assert shown == pytest.approx(round(shown))


def test_a_hood_lowers_what_it_measures() -> None:
    world, site = visit(meter=replace(PERFECT, hood_loss_coeff=2.5e5))
    alone = world.true_flows()[0]
    assert 0.6 * alone < site.read("S1").flow_m3_s < 0.99 * alone
    assert world.true_flows()[0] == alone


def test_slips_are_large_and_kept_for_the_scorer() -> None:
    world, site = visit(meter=replace(FINE, slip_frac=1.0))
    for _ in range(10):
        for name, index in (("S1", 0), ("S2", 1), ("E1", 2)):
            truth = float(world.true_flows()[index])
            before = len(world.slips)
            reading = site.read(name)
            assert len(world.slips) == before + 1
            assert world.slips[-1].reading_number == reading.number
            gain = world.kit.gain(site.terminals[index].side)
            least = (SLIP_SIGMAS - 3) * world.kit.sigma_m3_s(truth)
            assert abs(reading.flow_m3_s / gain - truth) > least
    kinds = {slip.kind for slip in world.slips}
    assert kinds == {SlipKind.WRONG_TERMINAL, SlipKind.SLIPPED_HOOD}


def test_floor_by_hand() -> None:
    """Equal targets: rings at 1 : 1.5 share 0.8 to 1.2, so one of them must move; at 1 : 1.15 they
    share 0.93 to 1.07 and none must, though an exact setting still moves one.
    """
    apart = floor_of(tiny_house(1.5))
    assert len(apart.must_move) == 1
    assert (apart.stop_count, apart.exact_stop_count) == (7, 7)
    close = floor_of(tiny_house(1.15))
    assert (close.stop_count, close.exact_stop_count) == (6, 7)


@pytest.mark.parametrize(("style", "trips"), [(Style.LIVE, 2), (Style.BLIND, 2), (Style.REMOTE, 4)])
def test_least_trips_by_hand(style: Style, trips: int) -> None:
    """Up as found, down as left; the way to dampers elsewhere and back comes on top."""
    house = tiny_house(1.5)
    assert {item.place.area for item in house.terminals} == {"storey 1", "storey 2"}
    floor = floor_of(house)
    assert floor.must_move
    assert all(element < len(house.terminals) for element in floor.must_move)
    assert least_trips(house, floor, style=style) == trips


def test_a_strict_reference_reads_again_what_a_lenient_one_accepts() -> None:
    house = draw_house(np.random.SeedSequence(5), name="one", traits=Traits(layout=Layout.TRUNK))
    counts = []
    for accept_frac in (1.0, 0.3):
        result = try_procedure(
            AllAtOnce(accept_frac=accept_frac),
            house,
            style=Style.BLIND,
            meter=PERFECT,
            hand=STEADY,
            seed=np.random.SeedSequence(1),
        )
        counts.append(result.placement_count)
    assert counts[1] > counts[0]


def test_keeping_half_the_band_makes_one_more_damper_move() -> None:
    close = floor_of(tiny_house(1.15), band_share=0.5)
    assert len(close.must_move) == 1


@pytest.mark.parametrize("style", list(Style))
@pytest.mark.parametrize("procedure", PROCEDURES, ids=lambda item: item.name)
@pytest.mark.parametrize("layout", list(Layout))
def test_references_balance_a_house_without_noise(
    procedure: Procedure, style: Style, layout: Layout
) -> None:
    house = draw_house(np.random.SeedSequence(6), name="plain", traits=Traits(layout=layout))
    result = try_procedure(
        procedure,
        house,
        style=style,
        meter=PERFECT,
        hand=STEADY,
        seed=np.random.SeedSequence(1),
    )
    assert result.is_closed
    assert result.is_right
    assert result.stop_count >= floor_of(house).stop_count
    assert result.reading_count <= 1.8 * result.stop_count
    assert result.total_frac == pytest.approx((1.0, 1.0), abs=0.05)


@pytest.mark.parametrize("style", list(Style))
@pytest.mark.parametrize("procedure", PROCEDURES, ids=lambda item: item.name)
def test_references_end_with_readings_that_stand(procedure: Procedure, style: Style) -> None:
    """After the last change of a damper or fan of a side each of its terminals was read."""
    house = draw_house(np.random.SeedSequence(6), name="h", traits=Traits(layout=Layout.TRUNK))
    world, site = visit(style, house=house, meter=FINE)
    side_of = {item.id: item.side for item in (*site.terminals, *site.branches)}
    side_of |= {f"{side} fan": side for side in Side if side in site.speed_frac}
    assert procedure.balance(site).is_closed
    read: dict[Side, set[str]] = {side: set() for side in site.speed_frac}
    for entry in world.ledger.entries:
        side = side_of[entry.thing]
        if entry.deed is Deed.READ:
            read[side].add(entry.thing)
        elif entry.deed is Deed.TURN_LIVE:
            read[side] = {entry.thing} if entry.thing in site_terminals(site) else set()
        else:
            read[side] = set()
    assert set().union(*read.values()) == site_terminals(site)


def site_terminals(site: Site) -> set[str]:
    return {item.id for item in site.terminals}


def test_the_other_fan_follows_one_that_is_at_its_limit() -> None:
    """At full speed the supply side moves 0.8 of its design: the extract fan is set for 0.8."""
    _, site = visit(house=tiny_house(1.0))
    notebook = Visit(site)
    notebook.last = {item.id: item.target_m3_s for item in site.terminals}
    notebook.last |= {
        item.id: 0.8 * item.target_m3_s for item in site.terminals if item.side is Side.SUPPLY
    }
    site.set_fan_speed(Side.SUPPLY, 1.0)
    found = site.speed_frac[Side.EXTRACT]
    assert notebook.set_fans() == [Side.EXTRACT]
    assert site.speed_frac[Side.EXTRACT] == pytest.approx(0.8 * found)


def test_a_fan_within_3_percent_is_left() -> None:
    _, site = visit(house=tiny_house(1.0))
    notebook = Visit(site)
    notebook.last = {item.id: 1.029 * item.target_m3_s for item in site.terminals}
    assert notebook.set_fans() == []
    notebook.last = {item.id: 1.031 * item.target_m3_s for item in site.terminals}
    assert notebook.set_fans() == [Side.SUPPLY, Side.EXTRACT]


@pytest.mark.parametrize("procedure", PROCEDURES, ids=lambda item: item.name)
def test_the_same_seed_gives_the_same_visit(procedure: Procedure) -> None:
    house = draw_house(np.random.SeedSequence(6), name="h", traits=Traits(layout=Layout.TRUNK))
    seed = np.random.SeedSequence(7)
    first, second, other = (
        try_procedure(procedure, house, style=Style.LIVE, meter=FINE, hand=HandModel(), seed=item)
        for item in (seed, seed, np.random.SeedSequence(8))
    )
    assert first == second
    assert first != other


def test_score_of_a_visit_by_hand() -> None:
    """S2 is turned down to S1's flow: shares right, S1 open, E1 alone on its side."""
    world, site = visit()
    for _ in range(40):
        site.turn_terminal("S2", to_reading_m3_s=float(world.true_flows()[0]))
    site.claim("S1", low_m3_s=0.0, high_m3_s=1.0)
    site.claim("S2", low_m3_s=0.5, high_m3_s=1.0)
    result = score(world, Outcome(is_closed=True, suspect_readings=(1,)), name="by hand")
    assert result.is_right
    assert result.worst_frac < 1e-6
    assert result.is_open == (True, True)
    assert (result.claim_count, result.claim_held_count) == (2, 1)
    assert (result.slip_count, result.slip_named_count, result.false_alarm_count) == (0, 0, 1)
    assert result.electric_w == pytest.approx(result.throttled_w)
    flow = float(world.true_flows()[0] * 2)
    assert result.mass_ratio == pytest.approx(flow / float(world.true_flows()[2]), rel=1e-6)


def test_a_slower_fan_saves_against_throttling() -> None:
    world, site = visit()
    site.set_fan_speed(Side.SUPPLY, 0.6)
    result = score(world, Outcome(is_closed=False), name="slower")
    assert result.electric_w < result.throttled_w


def test_tables_are_read_both_ways() -> None:
    table = tiny_house(1.5).terminals[0].table
    for opening in (0.1, 0.35, 0.8):
        assert opening_at_factor(table, factor_at(table, opening)) == pytest.approx(opening)
