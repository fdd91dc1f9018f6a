"""What the record tells guidance beforehand: drops of ducts, positions of rings and blades."""

import copy
from math import pi, sqrt

import fluids
import pytest

from tests.unit.findings.test_assess import flow
from tests.unit.findings.test_guidance import EVEN, FOUND, HOUSE, guided
from ventwright.balancing import DamperMove, Deed, FlowReading
from ventwright.findings.guidance_ducts import ducts_told
from ventwright.findings.guidance_openings import blade_of
from ventwright.house import Damper, DamperKind, parse_house
from ventwright.quantities import Side

L_S = 1e-3
DENSITY, VISCOSITY, ROUGHNESS = 1.20, 1.82e-5, 9e-5
TABLE = [
    {"opening": "3 turns", "flow_factor": "0.46 L/s/√Pa"},
    {"opening": "6 turns", "flow_factor": "0.88 L/s/√Pa"},
    {"opening": "12 turns", "flow_factor": "1.52 L/s/√Pa"},
]


def pipe(diameter, length):
    return {"kind": "round", "diameter": diameter, "length": length}


def ducted(**branch):
    """Three terminals: two on a branch of 100 mm, one on the main duct; all on 80 mm pipes."""
    house = copy.deepcopy(HOUSE)
    (system,) = house["systems"]
    system["branches"] = [{"id": "b", "side": "supply", "ducts": [pipe("100 mm", "6 m")], **branch}]
    system["supply_ducts"] = [pipe("160 mm", "2 m")]
    for terminal, metres in zip(system["terminals"], (3, 5, 8), strict=True):
        terminal |= {
            "setter": "ring",
            "opening_table": TABLE,
            "ducts": [pipe("80 mm", f"{metres} m")],
        }
        if terminal["id"] != "t3":
            terminal["branch"] = "b"
    system["ventilation_unit"]["fan_curves"] = [
        {
            "side": "supply",
            "points": [
                {"pressure": "200 Pa", "flow": "0 L/s"},
                {"pressure": "120 Pa", "flow": "50 L/s"},
                {"pressure": "20 Pa", "flow": "90 L/s"},
            ],
        }
    ]
    system["fan_settings"] = [{"id": "continuous", "role": "continuous", "supply_speed": "80 %"}]
    return house


def drop_pa(flow_m3_s, *, diameter_m, length_m):
    """Darcy and Weisbach with Colebrook's factor from an independent library."""
    velocity = flow_m3_s / (pi * diameter_m**2 / 4)
    reynolds = DENSITY * velocity * diameter_m / VISCOSITY
    factor = fluids.friction_factor(Re=reynolds, eD=ROUGHNESS / diameter_m, Method="Colebrook")
    return factor * length_m / diameter_m * DENSITY / 2 * velocity**2


def open_pa(flow_m3_s):
    return (flow_m3_s / (1.52 * L_S)) ** 2


def told_of(house, flows):
    home, problems = parse_house(house)
    assert not problems
    return ducts_told(home, "s", Side.SUPPLY, flows)


FLOWS = {"t1": 8 * L_S, "t2": 7 * L_S, "t3": 9 * L_S}


def test_a_terminal_against_its_duct_by_hand():
    told = told_of(ducted(), FLOWS)
    for terminal, metres in (("t1", 3), ("t2", 5), ("t3", 8)):
        q = FLOWS[terminal]
        ratio, spread = told.drop_ratios[terminal]
        own = drop_pa(q, diameter_m=0.08, length_m=metres)
        assert ratio == pytest.approx(open_pa(q) / own, rel=0.03)
        assert 0.15 <= spread < 0.3


def test_the_share_lost_in_a_branch_by_hand():
    told = told_of(ducted(), FLOWS)
    branch = drop_pa(15 * L_S, diameter_m=0.1, length_m=6)
    behind = [
        drop_pa(FLOWS[t], diameter_m=0.08, length_m=metres) + open_pa(FLOWS[t])
        for t, metres in (("t1", 3), ("t2", 5))
    ]
    mean = (8 * behind[0] + 7 * behind[1]) / 15
    assert told.run_losses["b"].likely_frac == pytest.approx(branch / (branch + mean), rel=0.03)


def test_the_share_lost_before_the_first_branching_by_hand():
    """Shut-off pressure goes with the square of the speed: 200 Pa · 0.8²."""
    told = told_of(ducted(), FLOWS)
    branch = drop_pa(15 * L_S, diameter_m=0.1, length_m=6)
    ends = {
        t: drop_pa(FLOWS[t], diameter_m=0.08, length_m=metres) + open_pa(FLOWS[t])
        for t, metres in (("t1", 3), ("t2", 5), ("t3", 8))
    }
    mean = (8 * (branch + ends["t1"]) + 7 * (branch + ends["t2"]) + 9 * ends["t3"]) / 24
    assert told.shared is not None
    assert told.shared.likely_frac == pytest.approx(1 - mean / (200 * 0.8**2), rel=0.02)


def test_a_branch_with_a_damper_tells_no_share():
    """It may stand anywhere; its terminals still tell of themselves."""
    told = told_of(ducted(damper={"kind": "butterfly", "diameter": "100 mm"}), FLOWS)
    assert not told.run_losses
    assert set(told.drop_ratios) == set(FLOWS)


def test_what_lists_no_ducts_tells_nothing():
    house = ducted()
    house["systems"][0]["terminals"][1].pop("ducts")
    house["systems"][0]["branches"][0].pop("ducts")
    told = told_of(house, FLOWS)
    assert set(told.drop_ratios) == {"t1", "t3"}
    assert not told.run_losses
    assert told_of(HOUSE, FLOWS).drop_ratios == {}


def test_guidance_is_told_and_says_how_far_to_turn_the_first_time():
    readings = [{**reading, "id": reading["id"]} for reading in FOUND]
    stands = {"id": "m", "kind": "terminal", "target": "t1", "turned": "0 turns"}
    found = guided(
        *readings,
        flow("d", "terminal:t1", 30, accuracy="2 %"),
        house=ducted(),
        adjustments=[{**stands, "opening": "12 turns"}],
    )
    (side,) = found.session.sides
    bed = next(o for o in side.outlets if o.id == "t1")
    assert bed.duct_spread_ratio is not None
    assert bed.damper.opening_frac == 1.0
    assert not any(isinstance(e, DamperMove) for e in found.session.events)
    assert (found.step.deed, found.step.thing_id) == (Deed.TURN, "t1")
    assert found.step.turn_count is not None and found.step.turn_count < -1.0


TURN = {"kind": "terminal", "target": "t1"}


@pytest.mark.parametrize(
    ("changes", "found_turns", "left_turns"),
    [
        ([{"turned": "-3 turns", "opening": "9 turns"}], 12, 9),
        ([{"turned": "-3 turns"}, {"turned": "1 turns", "opening": "10 turns"}], 12, 10),
        ([{"opening": "9 turns"}, {"turned": "-2 turns"}], None, 7),
        ([{"turned": "-3 turns"}], None, None),
    ],
    ids=["both", "carried back", "carried on", "unknown"],
)
def test_positions_are_carried_by_how_far_was_turned(changes, found_turns, left_turns):
    moves = [{**TURN, "id": f"m{i}", **change} for i, change in enumerate(changes)]
    found = guided(*EVEN, house=ducted(), adjustments=moves)
    (side,) = found.session.sides
    (bed,) = [o for o in side.outlets if o.id == "t1"]
    expected = None if found_turns is None else pytest.approx(found_turns / 12)
    assert bed.damper.opening_frac == expected
    last = [e for e in found.session.events if isinstance(e, DamperMove)][-1]
    expected = None if left_turns is None else pytest.approx(left_turns / 12)
    assert last.opening_frac == expected


def test_a_blade_by_its_angle():
    """Loss coefficients of a thin plate, 30° from open 4.5 against 0.2 (smacna_tables_code)."""
    blade = blade_of(Damper(kind=DamperKind.BUTTERFLY), 30.0)
    assert blade.opening_frac == pytest.approx(2 / 3)
    (at_30,) = [factor for opening, factor in blade.table if abs(opening - 2 / 3) < 1e-9]
    assert at_30 == pytest.approx(sqrt(0.2 / 4.5), rel=0.05)
    assert blade.table[-1] == (1.0, 1.0)
    assert blade_of(Damper(kind=DamperKind.IRIS), None).table == ()


def test_a_blade_that_was_turned_from_a_stated_angle_has_a_mark():
    house = ducted(damper={"kind": "butterfly", "diameter": "100 mm"})
    moves = [
        {"id": "m0", "kind": "damper", "target": "b", "turned": "0 turns", "position": "0°"},
        {"id": "m1", "kind": "damper", "target": "b", "position": "30°"},
    ]
    found = guided(*EVEN, house=house, adjustments=moves)
    (side,) = found.session.sides
    assert [r.damper.opening_frac for r in side.runs] == [1.0]
    moved = [e for e in found.session.events if not isinstance(e, FlowReading)]
    assert [e.opening_frac for e in moved] == [pytest.approx(2 / 3)]


def test_branches_may_stand_in_any_order_and_lead_nowhere():
    house = ducted()
    house["systems"][0]["branches"] = [
        {"id": "b", "side": "supply", "parent": "riser"},
        {"id": "riser", "side": "supply"},
        {"id": "stub", "side": "supply"},
    ]
    (side,) = guided(*EVEN, house=house).session.sides
    assert [r.id for r in side.runs] == ["riser", "b"]


def test_a_unit_in_a_room_stands_on_that_storey():
    house = ducted(damper={"kind": "butterfly", "diameter": "100 mm", "place": "loft"})
    house["rooms"][1] |= {"name": "Utility room", "storey": 1}
    house["systems"][0]["ventilation_unit"]["place"] = "utility room"
    session = guided(*EVEN, house=house).session
    assert session.options.unit_spot.area == "storey 1"
    assert [o.spot.area for o in session.sides[0].outlets] == ["storey 0", "storey 1", "storey 0"]
    assert [r.damper.spot.area for r in session.sides[0].runs] == ["loft"]
