"""One house, several rule sets: verdicts differ, and none from memory is called compliance."""

import math
from dataclasses import replace
from pathlib import Path

import pytest

from ventwright.actions import load_rule_sets, shipped_rule_sets
from ventwright.exchange import read_house
from ventwright.house import Room, RoomKind, Terminal
from ventwright.quantities import Side
from ventwright.requirements import (
    HouseFacts,
    MeasuredFlows,
    RoomFlow,
    StepKind,
    Trust,
    compare,
    facts_of,
    judge_equipment,
    judge_rates,
    judge_rooms,
)
from ventwright.uncertainty import Verdict, exact, measured

CFM = 0.3048**3 / 60


def rules(one):
    return load_rule_sets([one])[0]


def flows(supply_cfm, extract_cfm):
    supply, extract = exact(supply_cfm * CFM), exact(extract_cfm * CFM)
    return MeasuredFlows(
        supply_m3_s=supply, extract_m3_s=extract, outdoor_m3_s=supply, exhaust_m3_s=extract
    )


@pytest.fixture
def house():
    found, problems = read_house(Path("examples/juniper_mesa/house.toml"))
    assert not problems
    return facts_of(found)


def test_supply_100_extract_85_in_one_table_of_every_rule_set(house):
    rows = compare(house, load_rule_sets(shipped_rule_sets()), measured=flows(100, 85))
    by_id = {row.rule_set_id: row for row in rows}
    assert set(by_id) == set(shipped_rule_sets())
    balance = {one: row.findings.balance.verdict for one, row in by_id.items()}
    # 15 % of supply fails Washington's clause; each lies within 10 % of their average.
    assert balance["washington_2021"] is Verdict.NOT_MET
    assert balance["ashrae_62_2_2019"] is Verdict.MET
    assert balance["passive_house_v9f"] is Verdict.NOT_MET
    assert balance["approved_document_f_2021"] is Verdict.NOT_SHOWN
    rate = {one: row.findings.rate for one, row in by_id.items()}
    assert rate["irc_2021"].verdict is Verdict.MET
    assert rate["approved_document_f_2021"].verdict is Verdict.NOT_MET
    assert rate["epa_rater_checklist"].reason_code == "no-rule"


def test_no_verdict_from_memory_is_compliance(house):
    for row in compare(house, load_rule_sets(shipped_rule_sets()), measured=flows(150, 150)):
        findings = row.findings
        if findings.result.trust in (Trust.MEMORY, Trust.OWN):
            assert not findings.rate.is_compliance_claimable
            assert not findings.result.is_compliance_claimable
        elif findings.rate.judgement is not None:
            assert findings.rate.is_compliance_claimable
        assert findings.rate.judgement is None or (
            findings.rate.judgement.citation.trust is findings.result.trust
        )


def test_the_balance_as_measured_decides_credit_and_factor(house):
    apart = judge_rates(rules("washington_2021"), house, flows(100, 85))
    together = judge_rates(rules("washington_2021"), house, flows(100, 95))
    assert apart.result.required_m3_s == pytest.approx(1.25 * 50 * CFM)
    assert together.result.required_m3_s == pytest.approx(50 * CFM)


def test_the_irc_credit_takes_its_balance_rule_from_elsewhere(house):
    alone = judge_rates(rules("irc_2021"), house, flows(50, 48))
    assert alone.result.required_m3_s == pytest.approx(60 * CFM)
    assert alone.rate.verdict is Verdict.NOT_MET
    washington = rules("washington_2021")
    credited = judge_rates(rules("irc_2021"), house, flows(50, 48), balance_from=washington)
    assert credited.balance_rule_set_id == "washington_2021"
    assert credited.result.required_m3_s == pytest.approx(42 * CFM)
    assert credited.rate.verdict is Verdict.MET
    own = judge_rates(rules("irc_2021"), house, flows(50, 48), balance_from=rules("own_targets"))
    # Own balance targets are nobody's code: the credited rate is no longer claimed.
    assert own.result.steps[0].kind is StepKind.SHARE_CREDIT
    assert not own.rate.is_compliance_claimable


def test_counted_flow_is_the_smaller_or_the_larger(house):
    by_smaller = judge_rates(rules("approved_document_f_2021"), house, flows(100, 90))
    assert by_smaller.rate.judgement.judged_si.value == pytest.approx(90 * CFM)
    by_larger = judge_rates(rules("ashrae_62_2_2013"), house, flows(100, 90))
    assert by_larger.rate.judgement.judged_si.value == pytest.approx(100 * CFM)


def test_a_missing_total_is_not_shown_and_one_side_only_is_unbalanced(house):
    half = MeasuredFlows(extract_m3_s=exact(100 * CFM))
    found = judge_rates(rules("approved_document_f_2021"), house, half)
    assert found.rate.reason_code == "not-measured"
    assert found.balance.reason_code == "no-rule"
    exhaust_only = judge_rates(rules("washington_2021"), house, flows(0, 100))
    assert exhaust_only.balance.verdict is Verdict.NOT_MET
    assert exhaust_only.balance.reason_code == "one-side-only"
    fan = Terminal(id="x", room="bath", side=Side.EXTRACT)
    extract_house = replace(house, terminals=(fan,))
    only = judge_rates(rules("approved_document_f_2021"), extract_house, half)
    assert only.rate.verdict is Verdict.MET


def test_minnesota_capacity_is_judged_at_boost(house):
    found = judge_rates(rules("minnesota_1322"), house, flows(60, 60))
    assert found.rate.verdict is Verdict.MET
    assert found.capacity.reason_code == "not-measured"
    boost = replace(
        flows(60, 60), boost_supply_m3_s=exact(95 * CFM), boost_extract_m3_s=exact(90 * CFM)
    )
    at_boost = judge_rates(rules("minnesota_1322"), house, boost)
    assert at_boost.capacity.verdict is Verdict.NOT_MET


def test_the_canadian_table_has_a_most_as_well(house):
    found = judge_rates(rules("canada_nbc_2020"), house, flows(100, 90))
    assert found.result.most_m3_s == pytest.approx(0.032)
    assert found.rate.verdict is Verdict.NOT_MET


def test_exchange_adds_infiltration_as_the_rule_set_superposes_it(house):
    open_house = replace(house, weather_shielding_factor=0.6, exterior_share_frac=1.0)
    pulled = flows(0, 100)
    found = judge_rates(rules("ashrae_62_2_2013"), open_house, pulled)
    leak = found.result.infiltration.flow_m3_s
    assert found.exchange_m3_s == pytest.approx(math.hypot(100 * CFM, leak))
    equal = judge_rates(rules("ashrae_62_2_2019"), open_house, flows(100, 100))
    assert equal.exchange_m3_s == pytest.approx(100 * CFM + leak)
    assert judge_rates(rules("irc_2021"), open_house, pulled).exchange_m3_s is None


WET = HouseFacts(
    rooms=(
        Room(id="k", name="Kitchen", kind=RoomKind.KITCHEN, volume_m3=30.0),
        Room(id="b", name="Bath", kind=RoomKind.BATHROOM),
        Room(id="bed", name="Bed", kind=RoomKind.BEDROOM),
    ),
    terminals=(
        Terminal(id="x1", room="k", side=Side.EXTRACT),
        Terminal(id="x2", room="b", side=Side.EXTRACT),
    ),
)


def in_room(room, *, continuous=None, boost=None):
    return RoomFlow(
        room=room,
        side=Side.EXTRACT,
        continuous_m3_s=None if continuous is None else exact(continuous / 1000),
        boost_m3_s=None if boost is None else exact(boost / 1000),
    )


def test_high_extract_is_met_at_boost_or_without_one_where_continuous_reaches_it():
    adf = rules("approved_document_f_2021")
    found = judge_rooms(
        adf, WET, (in_room("k", continuous=9, boost=13.1), in_room("b", continuous=8.2))
    )
    verdicts = {one.room: one.verdict for one in found if one.side is Side.EXTRACT}
    assert verdicts == {"k": Verdict.MET, "b": Verdict.MET}
    short = judge_rooms(adf, WET, (in_room("k", continuous=9, boost=12),))
    verdicts = {one.room: one.verdict for one in short if one.side is Side.EXTRACT}
    assert verdicts == {"k": Verdict.NOT_MET, "b": Verdict.NOT_SHOWN}


def test_alternatives_for_local_exhaust_and_rooms_without_a_terminal():
    irc = rules("irc_2021")
    # 25 cfm is 11.8 L/s all the time, or 100 cfm (47.2 L/s) on demand.
    steady = judge_rooms(irc, WET, (in_room("k", continuous=12),))
    assert next(one for one in steady if one.room == "k").verdict is Verdict.MET
    boosted = judge_rooms(irc, WET, (in_room("k", continuous=5, boost=48),))
    assert next(one for one in boosted if one.room == "k").verdict is Verdict.MET
    neither = judge_rooms(irc, WET, (in_room("k", continuous=5, boost=40),))
    assert next(one for one in neither if one.room == "k").verdict is Verdict.NOT_MET
    supply = judge_rooms(rules("approved_document_f_2021"), WET, ())
    bedroom = next(one for one in supply if one.side is Side.SUPPLY)
    assert (bedroom.verdict, bedroom.reason_code) == (Verdict.NOT_MET, "no-terminal")


def test_a_hood_that_is_listed_leaves_the_kitchen_not_shown():
    ashrae = rules("ashrae_62_2_2019")
    bare = judge_rooms(ashrae, WET, (in_room("k", continuous=10),))
    assert bare[0].verdict is Verdict.NOT_MET
    hooded = replace(WET, largest_other_exhaust_m3_s=101 * CFM)
    found = judge_rooms(ashrae, hooded, (in_room("k", continuous=10),))
    assert (found[0].verdict, found[0].reason_code) == (Verdict.NOT_SHOWN, "hood-may-serve")
    # 5 changes of 30 m³ are 41.7 L/s: then the terminal serves by itself.
    ample = judge_rooms(ashrae, hooded, (in_room("k", continuous=42),))
    assert ample[0].verdict is Verdict.MET


def test_equipment_against_limits():
    found = judge_equipment(
        rules("passive_house_v9f"),
        specific_fan_power_w_per_m3_s=measured(1500.0, u_std=20.0, id="p", label="power"),
        sensible_frac=measured(0.76, u_std=0.02, id="r", label="recovery"),
        supply_temperature_c=exact(15.0),
    )
    # 0.45 Wh/m³ is 1620 W per m³/s.
    assert [one.decision.verdict for one in found] == [
        Verdict.MET,
        Verdict.NOT_SHOWN,
        Verdict.NOT_MET,
    ]
