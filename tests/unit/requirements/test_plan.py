"""Room flow plans: balanced, within every least flow, each number with its reason."""

import math
from dataclasses import replace
from pathlib import Path

import pytest

from ventwright.actions import load_rule_sets
from ventwright.exchange import read_house
from ventwright.house import Room, RoomKind, Terminal
from ventwright.quantities import Side
from ventwright.requirements import (
    Drive,
    HouseFacts,
    ReasonKind,
    TotalSetBy,
    facts_of,
    plan_rooms,
)

CFM = 0.3048**3 / 60


def planned(facts, *ids, **options):
    plan, _ = plan_rooms(load_rule_sets(ids), facts, **options)
    return plan


def total(plan, side):
    return math.fsum(room.flow_m3_s for room in plan.rooms if room.side is side)


def room(plan, ident, side=Side.EXTRACT):
    return next(one for one in plan.rooms if one.room == ident and one.side is side)


def rooms(**kinds):
    return tuple(
        Room(id=ident, name=ident, kind=kind, floor_area_m2=area, people=people)
        for ident, (kind, area, people) in kinds.items()
    )


COTTAGE = HouseFacts(
    floor_area_m2=77.0,
    volume_m3=185.0,
    bedrooms=3,
    rooms=rooms(
        living=(RoomKind.LIVING, 22.0, None),
        bed1=(RoomKind.BEDROOM, 14.0, 2),
        bed2=(RoomKind.BEDROOM, 11.0, 1),
        bed3=(RoomKind.BEDROOM, 8.0, 1),
        kitchen=(RoomKind.KITCHEN, 10.0, None),
        bath=(RoomKind.BATHROOM, 6.0, None),
        wc=(RoomKind.TOILET, 2.0, None),
        hall=(RoomKind.HALL, 4.0, None),
    ),
    max_flow_m3_s=0.060,
)


def test_approved_document_f_by_hand():
    # 31 L/s whole dwelling (three bedrooms, table 1.3); high rates 13 + 8 + 6 = 27 L/s share it, so
    # that every wet room lies above its high rate and no boost is needed. Supply goes by volume.
    plan = planned(COTTAGE, "approved_document_f_2021")
    assert plan.set_by is TotalSetBy.RATE
    assert plan.total_m3_s == pytest.approx(0.031)
    assert room(plan, "kitchen").flow_m3_s == pytest.approx(0.031 * 13 / 27)
    assert room(plan, "wc").flow_m3_s == pytest.approx(0.031 * 6 / 27)
    assert room(plan, "living", Side.SUPPLY).flow_m3_s == pytest.approx(0.031 * 22 / 55)
    assert plan.boost_ratio == 1.0
    assert plan.spare_m3_s == pytest.approx(0.029)
    assert not [p for p in plan.problems if p.code == "share-assumed"]


def test_boost_lifts_all_rooms_until_the_last_one_has_its_rate():
    # Two people need 60 m³/h, more than 0.3 changes of 185 m³; the wet rooms' 60 + 40 + 20 m³/h
    # need twice that. Each shares by its design flow, so all reach it at once.
    plan = planned(replace(COTTAGE, people=2), "passive_house_v9f", least_terminal_m3_s=0.0)
    assert plan.total_m3_s * 3600 == pytest.approx(60.0)
    assert plan.boost_ratio == pytest.approx(2.0)
    assert room(plan, "kitchen").boost_flow_m3_s * 3600 == pytest.approx(60.0)
    assert plan.boost_total_m3_s * 3600 == pytest.approx(120.0)
    assert plan.boost_spare_m3_s * 3600 == pytest.approx(96.0)


def test_extract_or_supply_sets_the_total():
    by_extract = planned(COTTAGE, "irc_2021")
    # 25 + 20 + 20 cfm of local exhaust are more than the credited rate of the dwelling.
    assert by_extract.set_by is TotalSetBy.EXTRACT
    assert by_extract.total_m3_s == pytest.approx(65 * CFM)
    assert room(by_extract, "bath").reasons[0].kind is ReasonKind.RULE_LEAST
    assert room(by_extract, "bath").reasons[0].citation.clause == "table M1505.4.4"
    by_supply = planned(COTTAGE, "irc_2021", drive=Drive.SUPPLY)
    assert by_supply.total_m3_s < by_extract.total_m3_s
    assert {p.code for p in by_supply.problems} >= {"below-least", "balance-to-be-measured"}
    assert room(by_supply, "bath").reasons[0].kind is ReasonKind.SCALED_BELOW_LEAST


def test_several_rule_sets_hold_together():
    both = planned(COTTAGE, "approved_document_f_2021", "irc_2021")
    assert both.total_m3_s == pytest.approx(0.031)
    assert room(both, "bath").flow_m3_s >= 20 * CFM - 1e-12
    assert room(both, "bath").least_m3_s == pytest.approx(20 * CFM)
    assert {rate.rule_set_id for rate in both.rates} == {"approved_document_f_2021", "irc_2021"}


def test_air_leaves_by_the_doors_of_supply_rooms_and_enters_by_those_of_extract_rooms():
    door = replace(COTTAGE.rooms[1], transfer_area_m2=0.01)
    facts = replace(COTTAGE, rooms=(COTTAGE.rooms[0], door, *COTTAGE.rooms[2:]))
    plan = planned(facts, "approved_document_f_2021")
    out = math.fsum(leg.flow_m3_s for leg in plan.legs if leg.is_outward)
    into = math.fsum(leg.flow_m3_s for leg in plan.legs if not leg.is_outward)
    assert out == pytest.approx(into, abs=1e-15)
    assert "hall" not in [leg.room for leg in plan.legs]
    leg = next(leg for leg in plan.legs if leg.room == "bed1")
    assert leg.velocity_m_s == pytest.approx(leg.flow_m3_s / 0.01)
    assert "routes-by-hall" in [p.code for p in plan.problems]


def test_bands_of_terminals_keep_rule_room_and_terminal():
    found, _ = read_house(Path("examples/juniper_mesa/house.toml"))
    plan = planned(facts_of(found), "ashrae_62_2_2019", "own_targets")
    by_id = {one.terminal: one for one in plan.terminals}
    main = by_id["s1"]
    assert main.low_m3_s == pytest.approx(max(0.9 * main.flow_m3_s, 22 * CFM))
    assert main.high_m3_s == pytest.approx(min(1.1 * main.flow_m3_s, 34 * CFM))
    hall_bath = by_id["x3"]
    assert hall_bath.low_m3_s >= 20 * CFM - 1e-12
    for side in Side:
        flows = [t.flow_m3_s for t in plan.terminals if t.side is side]
        assert math.fsum(flows) == pytest.approx(plan.total_m3_s, abs=1e-12)


def test_two_terminals_of_a_room_share_by_their_planned_flows():
    terminals = (
        Terminal(id="a", room="living", side=Side.SUPPLY, design_flow_m3_s=0.010),
        Terminal(id="b", room="living", side=Side.SUPPLY, design_flow_m3_s=0.005),
        Terminal(id="c", room="bath", side=Side.EXTRACT),
    )
    plan = planned(replace(COTTAGE, terminals=terminals), "approved_document_f_2021")
    flows = {one.terminal: one.flow_m3_s for one in plan.terminals}
    assert flows["a"] == pytest.approx(2 * flows["b"])
    assert flows["c"] == pytest.approx(0.031)
    without = {p.where for p in plan.problems if p.code == "bedroom-without-supply"}
    assert without == {"room bed1", "room bed2", "room bed3"}


def test_upper_limits_hold_and_the_shortfall_is_told():
    terminals = [
        Terminal(id=f"s{i}", room=r.id, side=Side.SUPPLY, max_flow_m3_s=0.006)
        for i, r in enumerate(COTTAGE.rooms[:4])
    ]
    terminals.append(Terminal(id="x", room="kitchen", side=Side.EXTRACT))
    plan = planned(replace(COTTAGE, terminals=tuple(terminals)), "approved_document_f_2021")
    assert plan.set_by is TotalSetBy.LIMITS
    assert plan.total_m3_s == pytest.approx(0.024)
    assert total(plan, Side.SUPPLY) == pytest.approx(total(plan, Side.EXTRACT), abs=1e-15)
    assert "below-rate" in [p.code for p in plan.problems]


def test_a_unit_too_small_and_a_missing_hood_are_told():
    small = replace(COTTAGE, max_flow_m3_s=0.020)
    codes = [p.code for p in planned(small, "approved_document_f_2021").problems]
    assert codes.count("beyond-unit") == 2
    ashrae = planned(COTTAGE, "ashrae_62_2_2019")
    assert "hood-needed" in [p.code for p in ashrae.problems]
    hooded = replace(COTTAGE, largest_other_exhaust_m3_s=120 * CFM)
    assert "hood-needed" not in [p.code for p in planned(hooded, "ashrae_62_2_2019").problems]


def test_without_rooms_or_rates_there_is_no_plan():
    plan, problems = plan_rooms(load_rule_sets(["irc_2021"]), HouseFacts(bedrooms=2))
    assert plan is None
    assert {p.code for p in problems} >= {"no-rooms", "missing-floor_area"}
    plan, problems = plan_rooms(load_rule_sets(["own_targets"]), COTTAGE)
    assert plan is None
    assert [p.code for p in problems] == ["no-rate"]


def test_the_least_of_a_terminal_is_a_choice_that_can_be_switched_off():
    laundry = Room(id="laundry", name="L", kind=RoomKind.UTILITY, floor_area_m2=4.0)
    facts = replace(COTTAGE, rooms=(*COTTAGE.rooms, laundry))
    given = planned(facts, "irc_2021")
    assert room(given, "laundry").reasons[0].kind is ReasonKind.PLAN_LEAST
    assert room(given, "laundry").flow_m3_s == pytest.approx(0.003)
    bare = planned(facts, "irc_2021", least_terminal_m3_s=0.0)
    assert room(bare, "laundry").flow_m3_s == 0.0
