"""House pressure, closed doors and bedrooms at night, as the pipeline finds them."""

import copy

import pytest

from tests.unit.findings.test_assess import CFM, HOUSE, assessed, flow
from ventwright.house import Phase
from ventwright.requirements import BalancePair
from ventwright.uncertainty import Verdict

LITRE_S = 1e-3


def house(**changes):
    changed = copy.deepcopy(HOUSE)
    changed["envelope"] = {"leakage_flow": "600 cfm", "leakage_exponent": 0.65}
    changed["combustion_appliances"] = [
        {"id": "heater", "name": "Water heater", "venting": "natural_draft"}
    ]
    changed["rooms"][0] |= {"floor_area": "12 m²", "people": 2, "transfer_area": "100 cm²"}
    changed.update(changes)
    return changed


def ports(supply, extract, *, phase="as_found"):
    return (
        flow(f"oda-{phase}", "ODA", supply, phase=phase),
        flow(f"eha-{phase}", "EHA", extract, phase=phase),
    )


def states(found):
    return {f.running: f for f in found.house_pressures}


def test_imbalance_gives_the_pressure_of_the_hand_calculation():
    (state,) = assessed(*ports(40, 90), house=house()).house_pressures
    assert state.pair is BalancePair.OUTDOOR_EXHAUST
    # 50 cfm out of a house of 600 cfm at 50 Pa; readings are standard volumes, the house is at sea
    # level and 20 °C, where room air is 0.2 % lighter.
    assert state.state.net_exhaust_m3_s.value == pytest.approx(50 * CFM, rel=0.01)
    assert state.state.pressure_pa.value == pytest.approx(-1.09, rel=0.015)
    assert state.state.is_extrapolated
    assert state.appliances[0].verdict is not Verdict.NOT_MET


def test_other_exhausts_are_added_and_the_worst_gives_the_advice():
    hood = [{"id": "hood", "name": "Hood", "flow": "150 cfm"}]
    found = assessed(*ports(60, 60), house=house(other_exhausts=hood))
    running = states(found)
    assert running[()].appliances[0].verdict is Verdict.MET
    assert running[()].makeup is None
    with_hood = running[("hood",)]
    assert with_hood.state.pressure_pa.value == pytest.approx(-5.93, rel=0.01)
    assert with_hood.appliances[0].verdict is Verdict.NOT_MET
    assert with_hood.makeup.allowed_pa == 2.0
    assert with_hood.makeup.flow_m3_s.value == pytest.approx((150 - 74) * CFM, rel=0.01)
    advice = [a for a in found.advice if a.code == "combustion-pressure"]
    assert [(a.subject, a.setting) for a in advice] == [("heater", "continuous")]
    assert advice[0].value_si == with_hood.makeup.flow_m3_s.value
    # A screen never takes the place of the test.
    assert "combustion-test" in {a.code for a in found.advice}


def test_last_phase_counts():
    found = assessed(*ports(40, 90), *ports(60, 60, phase="as_left"), house=house())
    (state,) = found.house_pressures
    assert state.phase is Phase.AS_LEFT
    assert abs(state.state.pressure_pa.value) < 0.01


def test_supply_and_extract_stand_in_where_the_shell_was_not_crossed():
    found = assessed(flow("s", "SUP", 40), flow("e", "ETA", 90), house=house())
    assert found.house_pressures[0].pair is BalancePair.SUPPLY_EXTRACT


def test_without_leakage_or_balance_it_says_why():
    bare = house()
    del bare["envelope"]
    (told,) = assessed(*ports(40, 90), house=bare).house_pressures
    assert told.state is None and told.reason_code == "no-leakage-test"
    (told,) = assessed(flow("oda", "ODA", 40), house=house()).house_pressures
    assert told.state is None and told.reason_code == "imbalance-not-measured"
    assert assessed(flow("t", "terminal:t1", 60), house=house()).house_pressures == ()


def test_appliance_without_a_flue_has_no_limit():
    gas_ring = [{"id": "ring", "name": "Gas ring", "venting": "unvented"}]
    (state,) = assessed(*ports(40, 90), house=house(combustion_appliances=gas_ring)).house_pressures
    assert state.appliances[0].screen is None
    assert state.appliances[0].reason_code == "no-pressure-limit"
    assert state.appliances[0].verdict is Verdict.NOT_SHOWN


def test_coefficient_typed_at_one_pascal_is_taken_for_a_fit():
    fitted = house(
        envelope={
            "leakage_flow": f"{600 / 50**0.65} cfm",
            "test_pressure": "1 Pa",
            "leakage_exponent": 0.65,
        }
    )
    one = assessed(*ports(40, 90), house=fitted).house_pressures[0].state.pressure_pa
    other = assessed(*ports(40, 90), house=house()).house_pressures[0].state.pressure_pa
    assert one.value == pytest.approx(other.value)


def test_closed_door_is_checked_with_the_flow_that_was_read():
    found = assessed(flow("t", "terminal:t1", 60), house=house())
    doors = {d.room_id: d for d in found.doors}
    assert doors["bed"].origin_code == "measured"
    # 28.3 L/s through 100 cm²: 0.6 (28.3e-3 / (0.6 · 0.01))².
    assert doors["bed"].check.drop_pa.value == pytest.approx(13.4, rel=0.02)
    assert doors["bed"].check.decision.verdict is Verdict.NOT_MET
    assert doors["bed"].undercut_m * 0.76 == pytest.approx(doors["bed"].area_needed_m2)
    advice = next(a for a in found.advice if a.code == "room-door")
    assert (advice.subject, advice.goal_si) == ("bed", 0.01)
    # The bath is planned only, and nobody stated its gap.
    assert doors["bath"].origin_code == "planned"
    assert doors["bath"].surplus_m3_s.value == pytest.approx(-60 * CFM)
    assert doors["bath"].check is None and doors["bath"].reason_code == "no-transfer-area"


def bedroom(supply_cfm, **changes):
    found = assessed(flow("t", "terminal:t1", supply_cfm), house=house(**changes))
    return found, found.rooms_air[0]


def test_bedroom_settles_where_its_own_supply_says():
    found, bed = bedroom(60)
    # Two sleepers of 11 L/h into 60 cfm of standard air; nothing comes back past the door.
    expected = 420e-6 + 22e-3 / 3600 / bed.supply_m3_s.value
    assert bed.closed_frac.value == pytest.approx(expected, rel=1e-9)
    assert bed.decision.verdict is Verdict.MET
    assert bed.supply_needed_m3_s is None
    assert "room-stale" not in {a.code for a in found.advice}
    influences = {c.influence.id for c in bed.closed_frac.components}
    assert {"enclosure:people:bed", "outdoor:co2"} <= influences


def test_stale_bedroom_is_named_with_the_flow_that_mends_it():
    found, bed = bedroom(10)
    assert bed.decision.verdict is Verdict.NOT_MET
    assert bed.closed_frac.value > bed.morning_frac > bed.open_frac > bed.outdoor_frac
    assert bed.supply_needed_m3_s == pytest.approx(22e-3 / 3600 / 580e-6, rel=1e-6)
    advice = next(a for a in found.advice if a.code == "room-stale")
    assert advice.subject == "bed" and advice.value_si == bed.supply_needed_m3_s


def test_bedroom_fed_from_the_hall_gets_what_swaps_past_its_door():
    changed = house()
    changed["rooms"].append({"id": "hall", "name": "Hall", "kind": "hall"})
    changed["systems"][0]["terminals"][0]["room"] = "hall"
    found = assessed(flow("t", "terminal:t1", 60), house=changed)
    (bed,) = found.rooms_air
    assert bed.supply_m3_s.value == 0.0
    assert 0.1 * LITRE_S < bed.fresh_air_m3_s < 0.5 * LITRE_S
    assert bed.decision.verdict is Verdict.NOT_MET
    assert bed.morning_frac < bed.closed_frac.value
    assert "enclosure:door:exchange" in {c.influence.id for c in bed.closed_frac.components}


def test_what_is_not_known_is_said():
    unsized = house()
    del unsized["rooms"][0]["floor_area"]
    assert assessed(flow("t", "terminal:t1", 60), house=unsized).rooms_air[0].reason_code == (
        "no-room-size"
    )
    unplanned = house()
    del unplanned["systems"][0]["terminals"][1]["design_flow"]
    found = assessed(flow("t", "terminal:t1", 60), house=unplanned)
    assert found.rooms_air[0].reason_code == "flows-unknown"
    assert {d.room_id: d.reason_code for d in found.doors} == {"bed": "", "bath": "flows-unknown"}


def test_people_that_nobody_stated_are_assumed_and_an_empty_bedroom_is_left_out():
    unstated = house()
    del unstated["rooms"][0]["people"]
    (bed,) = assessed(flow("t", "terminal:t1", 60), house=unstated).rooms_air
    assert bed.is_people_assumed and bed.people == 1.0
    empty = house()
    empty["rooms"][0]["people"] = 0
    assert assessed(flow("t", "terminal:t1", 60), house=empty).rooms_air == ()


def test_night_with_rests_is_judged_by_its_mean():
    """40 minutes of each hour at half the planned flow: a third of the air."""
    changed = house()
    changed["systems"][0]["fan_settings"].append(
        {
            "id": "night",
            "role": "reduced",
            "supply_flow": "30 cfm",
            "extract_flow": "30 cfm",
            "run_time": "40 min",
            "period": "60 min",
        }
    )
    found = assessed(flow("t", "terminal:t1", 30), house=changed)
    day, night = found.rooms_air
    assert (day.setting, night.setting) == ("continuous", "night")
    assert night.supply_m3_s.value == pytest.approx(day.supply_m3_s.value / 3.0)
    assert night.closed_frac.value - 420e-6 == pytest.approx(3.0 * (day.closed_frac.value - 420e-6))
    advice = [a for a in found.advice if a.code == "room-stale"]
    assert [(a.subject, a.setting) for a in advice] == [("bed", "night")]
    # The door is checked while the fans run.
    assert found.doors[0].surplus_m3_s.value == pytest.approx(day.supply_m3_s.value)


def test_terminal_read_in_the_night_setting_counts_as_read():
    changed = house()
    changed["systems"][0]["fan_settings"].append({"id": "night", "role": "reduced"})
    found = assessed(
        flow("a", "terminal:t1", 60), flow("b", "terminal:t1", 20, setting="night"), house=changed
    )
    day, night = found.rooms_air
    assert night.supply_m3_s.value == pytest.approx(day.supply_m3_s.value / 3.0)
