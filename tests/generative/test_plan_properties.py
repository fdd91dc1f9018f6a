"""Properties of plans over random houses: units of measure, round trips, order, one size up."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.unit.assembly import houses
from ventwright.findings import PlanSnapshot, plan_house
from ventwright.house import FanSetting, SettingRole, parse_house
from ventwright.quantities import Dimension, Severity, Side, from_si, unit_of_measure

HABITS = (
    {"flow": "cfm", "pressure": "in. w.c.", "length": "ft", "factor": "cfm/√in. w.c."},
    {"flow": "L/s", "pressure": "Pa", "length": "m", "factor": "L/s/√Pa"},
    {"flow": "m³/h", "pressure": "hPa", "length": "mm", "factor": "m³/h/√Pa"},
)
KINDS = {
    "flow": Dimension.FLOW,
    "pressure": Dimension.PRESSURE,
    "length": Dimension.LENGTH,
    "factor": Dimension.FLOW_FACTOR,
}


def plan(house):
    return plan_house(PlanSnapshot(engine="0", house=house, rule_sets=()))


def written(given, habit):
    """The random house as text in one habit of units."""

    def text(value, kind):
        measure = unit_of_measure(habit[kind], dimension=KINDS[kind])
        return f"{from_si(value, unit_of_measure=measure):.15g} {habit[kind]}"

    curve = ((240.0, 0.0), (190.0, 0.05), (60.0, 0.09))
    points = [{"pressure": text(p, "pressure"), "flow": text(q, "flow")} for p, q in curve]
    terminals = [
        {
            "id": f"t{i}",
            "side": "extract",
            "room": "r",
            "branch": "b" if i % 2 else None,
            "design_flow": text(flow, "flow"),
            "opening_table": [
                {"opening": "2 turns", "flow_factor": text(0.4e-3, "factor")},
                {"opening": "9 turns", "flow_factor": text(2.4e-3, "factor")},
            ],
            "ducts": [
                {
                    "kind": "round",
                    "diameter": text(diameter, "length"),
                    "length": text(length, "length"),
                }
            ],
        }
        for i, (flow, diameter, length) in enumerate(given)
    ]
    return {
        "schema": "ventwright-house-1",
        "id": "h",
        "name": "House",
        "altitude": text(300.0, "length"),
        "envelope": {
            "leakage_flow": text(0.2, "flow"),
            "test_pressure": text(50.0, "pressure"),
            "leakage_exponent": 0.65,
        },
        "rooms": [{"id": "r", "name": "Room", "kind": "bathroom"}],
        "systems": [
            {
                "id": "s",
                "ventilation_unit": {
                    "name": "u",
                    "recovery": "heat",
                    "fan_curves": [{"side": "extract", "points": points}],
                },
                "branches": [
                    {
                        "id": "b",
                        "side": "extract",
                        "damper": {"kind": "butterfly", "diameter": text(0.125, "length")},
                        "ducts": [
                            {
                                "kind": "round",
                                "diameter": text(0.125, "length"),
                                "length": text(3.0, "length"),
                            },
                            {"kind": "fitting", "fitting": "bend_90"},
                        ],
                    }
                ],
                "terminals": [
                    {key: value for key, value in t.items() if value is not None} for t in terminals
                ],
            }
        ],
    }


RUNS = st.lists(
    st.tuples(
        st.floats(min_value=0.003, max_value=0.016),
        st.sampled_from((0.08, 0.1, 0.125)),
        st.floats(min_value=0.5, max_value=12.0),
    ),
    min_size=2,
    max_size=4,
)


@settings(max_examples=15)
@given(RUNS)
def test_units_of_measure_of_the_house_file_leave_the_plan(runs):
    plans = []
    for habit in HABITS:
        house, problems = parse_house(written(runs, habit))
        assert house is not None and not problems, problems
        plans.append(plan(house))
    first = plans[0].systems[0].sides[0]
    for other in plans[1:]:
        side = other.systems[0].sides[0]
        assert side.index_terminal == first.index_terminal
        assert side.needed_pa.value == pytest.approx(first.needed_pa.value, rel=1e-9)
        assert side.needed_pa.u_std == pytest.approx(first.needed_pa.u_std, rel=1e-9)
        for a, b in zip(first.terminals, side.terminals, strict=True):
            assert b.open_m3_s.value == pytest.approx(a.open_m3_s.value, rel=1e-9)
            assert b.flow_factor == pytest.approx(a.flow_factor, rel=1e-9)
            assert b.excess_pa == pytest.approx(a.excess_pa, rel=1e-7, abs=1e-7)


FLOWS = st.lists(st.floats(min_value=0.004, max_value=0.02), min_size=7, max_size=7)
LENGTHS = st.lists(st.floats(min_value=0.5, max_value=15.0), min_size=7, max_size=7)
UNSET = FanSetting(id="day", role=SettingRole.CONTINUOUS)
BIG = ((500.0, 0.0), (420.0, 0.1), (200.0, 0.2), (0.0, 0.3))


def random_system(flows, lengths):
    plain = houses.system(ventilation_unit=houses.unit(points=BIG), fan_settings=(UNSET,))
    return replace(
        plain,
        terminals=tuple(
            replace(t, design_flow_m3_s=q, ducts=(houses.round_duct(length),))
            for t, q, length in zip(plain.terminals, flows, lengths, strict=True)
        ),
    )


@settings(max_examples=25)
@given(FLOWS, LENGTHS)
def test_openings_of_the_plan_give_the_design_flows(flows, lengths):
    found = plan(houses.house(random_system(flows, lengths)))
    for side in found.systems[0].sides:
        if side.needed_speed_frac is None or side.needed_speed_frac.value > 1.0:
            continue
        for flow in side.settings[0].set_flows:
            assert flow.predicted_m3_s.value == pytest.approx(flow.planned_m3_s, rel=1e-3)
        assert min(t.excess_pa for t in side.terminals) == pytest.approx(0.0, abs=1e-9)
        assert all(t.at_terminal_pa >= 0.0 and t.unplaced_pa == 0.0 for t in side.terminals)


@settings(max_examples=15)
@given(FLOWS, LENGTHS, st.randoms(use_true_random=False))
def test_order_of_the_record_leaves_the_plan(flows, lengths, random):
    given_system = random_system(flows, lengths)
    terminals, branches = list(given_system.terminals), list(given_system.branches)
    random.shuffle(terminals)
    random.shuffle(branches)
    mixed = replace(given_system, terminals=tuple(terminals), branches=tuple(branches))
    one, other = (plan(houses.house(s)) for s in (given_system, mixed))
    for a, b in zip(one.systems[0].sides, other.systems[0].sides, strict=True):
        assert a.needed_pa.value == pytest.approx(b.needed_pa.value, rel=1e-12)
        by_id = {t.terminal_id: t for t in b.terminals}
        for t in a.terminals:
            assert t.open_m3_s.value == pytest.approx(by_id[t.terminal_id].open_m3_s.value)


@settings(max_examples=15)
@given(FLOWS, LENGTHS)
def test_one_size_up_never_needs_more(flows, lengths):
    """Without tees, whose loss rises again where a main grows and its branch does not."""
    plain = random_system(flows, lengths)
    branches = tuple(replace(b, ducts=(houses.round_duct(4.0, 0.125),)) for b in plain.branches)
    found = plan(houses.house(replace(plain, branches=branches)))
    assert not [p for p in found.problems if p.severity is Severity.REFUSAL]
    for side in found.systems[0].sides:
        assert side.size_steps
        for step in side.size_steps:
            assert step.saved_pa >= -1e-9
            assert step.gained_m3_s >= -1e-9


@settings(max_examples=10)
@given(FLOWS, LENGTHS, st.sampled_from(list(Side)))
def test_a_longer_run_never_carries_more(flows, lengths, side):
    plain = random_system(flows, lengths)
    number = 0 if side is Side.SUPPLY else 4
    longer = [*lengths]
    longer[number] += 3.0
    before, after = (plan(houses.house(s)) for s in (plain, random_system(flows, longer)))
    ident = plain.terminals[number].id
    flow = [
        t.open_m3_s.value
        for found in (before, after)
        for s in found.systems[0].sides
        for t in s.terminals
        if t.terminal_id == ident
    ]
    speeds = [
        s.settings[0].speed_frac
        for found in (before, after)
        for s in found.systems[0].sides
        if s.side is side
    ]
    if speeds[0] == speeds[1]:
        assert flow[1] < flow[0]
    else:
        assert speeds[1] > speeds[0]
