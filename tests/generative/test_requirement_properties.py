"""What holds of rates, sharing and plans whatever the house."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ventwright.actions import load_rule_sets, shipped_rule_sets
from ventwright.house import Room, RoomKind
from ventwright.quantities import Dimension, Side, parse
from ventwright.requirements import (
    BalanceRule,
    HouseFacts,
    MeasuredFlows,
    judge_balance,
    judge_rates,
    plan_rooms,
    required_rates,
)
from ventwright.requirements.sharing import shared_m3_s
from ventwright.uncertainty import exact

RULES = load_rule_sets(shipped_rule_sets())
RATED = [rules for rules in RULES if rules.rate is not None]
areas = st.floats(30.0, 205.0)
counts = st.integers(1, 5)


@st.composite
def houses(draw: st.DrawFn) -> HouseFacts:
    bedrooms = draw(counts)
    wet = draw(st.lists(st.sampled_from(WET), min_size=1, max_size=4))
    kinds = [RoomKind.LIVING] + [RoomKind.BEDROOM] * bedrooms + wet
    rooms = tuple(
        Room(id=f"r{i}", name="r", kind=kind, floor_area_m2=draw(st.floats(3.0, 30.0)))
        for i, kind in enumerate(kinds)
    )
    area = draw(areas)
    return HouseFacts(
        floor_area_m2=area,
        volume_m3=2.5 * area,
        height_m=draw(st.floats(2.5, 9.0)),
        bedrooms=bedrooms,
        people=draw(st.one_of(st.none(), st.integers(1, 8))),
        rooms=rooms,
        leakage_flow_m3_s=draw(st.floats(0.02, 1.5)),
        weather_shielding_factor=draw(st.floats(0.3, 1.5)),
        exterior_share_frac=draw(st.sampled_from([0.5, 1.0])),
    )


WET = [RoomKind.KITCHEN, RoomKind.BATHROOM, RoomKind.TOILET, RoomKind.UTILITY]


@pytest.mark.parametrize("rules", RATED, ids=lambda rules: rules.id)
@given(house=houses(), more_m2=st.floats(0.0, 100.0), more_bedrooms=st.integers(0, 2))
def test_a_larger_house_never_needs_less(rules, house, more_m2, more_bedrooms):
    """Before credits: infiltration may let a larger house off more than it adds."""
    area = min(house.floor_area_m2 + more_m2, 210.0)
    larger = replace(
        house,
        floor_area_m2=area,
        volume_m3=2.5 * area,
        bedrooms=min(5, house.bedrooms + more_bedrooms),
    )
    for method in [None] if rules.rate.choice == "largest" else [m.id for m in rules.rate.methods]:
        small = required_rates(rules, house, method=method).total_m3_s
        large = required_rates(rules, larger, method=method).total_m3_s
        assert small is not None
        assert large is not None
        assert large >= small - 1e-12


@pytest.mark.parametrize("rules", RATED, ids=lambda rules: rules.id)
@given(house=houses(), supply=st.floats(0.01, 0.2), ratio=st.floats(0.5, 1.5))
def test_steps_chain_from_total_to_required(rules, house, supply, ratio):
    flows = MeasuredFlows(supply_m3_s=exact(supply), extract_m3_s=exact(ratio * supply))
    result = judge_rates(rules, house, flows).result
    flow = result.total_m3_s
    for step in result.steps:
        assert step.before_m3_s == flow
        assert step.is_applied or step.after_m3_s == flow
        assert step.is_applied or step.reason_codes
        flow = step.after_m3_s
    assert flow == result.required_m3_s >= 0.0


balances = [rules.balance for rules in RULES if rules.balance is not None]


@pytest.mark.parametrize("rule", balances, ids=lambda rule: rule.citation.source)
@given(
    supply_cfm=st.integers(20, 400),
    extract_cfm=st.integers(20, 400),
    symbol=st.sampled_from(["cfm", "L/s", "m³/h", "m³/s"]),
)
def test_the_unit_flows_were_typed_in_leaves_the_verdict(
    rule: BalanceRule, supply_cfm: int, extract_cfm: int, symbol: str
) -> None:
    per_cfm = {"cfm": 1.0, "L/s": 0.3048**3 / 0.06, "m³/h": 0.3048**3 * 60, "m³/s": 0.3048**3 / 60}
    typed = [f"{cfm * per_cfm[symbol]:.12g} {symbol}" for cfm in (supply_cfm, extract_cfm)]
    flows = [parse(text, dimension=Dimension.FLOW).value_si for text in typed]
    gap = abs(supply_cfm - extract_cfm)
    base = {
        "supply": supply_cfm,
        "average": 0.5 * (supply_cfm + extract_cfm),
        "each_from_average": supply_cfm + extract_cfm,
        "smaller": min(supply_cfm, extract_cfm),
    }[rule.basis.value]
    floor = rule.floor_m3_s / (0.3048**3 / 60)
    allowed = max(rule.limit_frac * base, floor)
    if abs(gap - allowed) < 1e-9 * allowed:
        return  # on the limit itself rounding of the typed text decides
    decision = judge_balance(
        rule, supply_m3_s=exact(flows[0]), extract_m3_s=exact(flows[1]), rule_set_id="x"
    ).decision
    assert decision.is_reading_within == (gap <= allowed)


parts = st.lists(
    st.tuples(st.floats(0.1, 10.0), st.floats(0.0, 5.0), st.floats(0.0, 5.0)),
    min_size=1,
    max_size=12,
)


@given(parts=parts, total=st.floats(0.0, 100.0))
def test_shares_sum_to_the_total_and_keep_their_limits(parts, total):
    weights = [w for w, _, _ in parts]
    lows = [low for _, low, _ in parts]
    highs = [low + more for _, low, more in parts]
    shares = shared_m3_s(total, weights_ratio=weights, lows_m3_s=lows, highs_m3_s=highs)
    reached = min(max(total, math.fsum(lows)), math.fsum(highs))
    assert math.fsum(shares) == pytest.approx(reached, abs=1e-12)
    free = []
    for share, w, low, high in zip(shares, weights, lows, highs, strict=True):
        assert low <= share <= high
        if low < share < high:
            free.append(share / w)
    assert not free or max(free) == pytest.approx(min(free))


@given(house=houses(), rules=st.sampled_from(RATED), order=st.randoms(use_true_random=False))
def test_a_plan_is_balanced_and_does_not_depend_on_the_order_of_rooms(house, rules, order):
    plan, problems = plan_rooms([rules], house)
    assert plan is not None, problems
    sides = {
        side: math.fsum(room.flow_m3_s for room in plan.rooms if room.side is side) for side in Side
    }
    assert sides[Side.SUPPLY] == pytest.approx(sides[Side.EXTRACT], abs=1e-12)
    for room in plan.rooms:
        assert room.flow_m3_s >= room.least_m3_s - 1e-12
        assert room.reasons
    for terminal in plan.terminals:
        assert terminal.low_m3_s is None or terminal.low_m3_s <= terminal.flow_m3_s + 1e-15
        assert terminal.high_m3_s is None or terminal.high_m3_s >= terminal.flow_m3_s - 1e-15
    out = math.fsum(leg.flow_m3_s if leg.is_outward else -leg.flow_m3_s for leg in plan.legs)
    assert out == pytest.approx(0.0, abs=1e-12)
    mixed = list(house.rooms)
    order.shuffle(mixed)
    again, _ = plan_rooms([rules], replace(house, rooms=tuple(mixed)))
    assert again is not None
    flows = {(room.room, room.side): room.flow_m3_s for room in plan.rooms}
    for room in again.rooms:
        assert room.flow_m3_s == pytest.approx(flows[room.room, room.side], abs=1e-12)
