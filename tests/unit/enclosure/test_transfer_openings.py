"""Openings between rooms: the orifice law turned about, checks of doors, exchange by warmth."""

import pytest

from ventwright.enclosure import (
    check_transfer,
    doorway_exchange_m3_s,
    exchange_estimate,
    gap_exchange_m3_s,
    opening_area_m2,
    opening_flow_m3_s,
    usual_discharge_coeff,
    usual_drop_limits,
)
from ventwright.quantities import SourceTrust
from ventwright.uncertainty import Verdict, exact, measured


def test_area_and_flow_undo_each_other():
    area = opening_area_m2(flow_m3_s=0.012, drop_pa=2.5)
    assert opening_flow_m3_s(area_m2=area, drop_pa=2.5) == pytest.approx(0.012)
    assert opening_flow_m3_s(area_m2=area, drop_pa=-2.5) == pytest.approx(-0.012)
    with pytest.raises(ValueError, match="drop_pa"):
        opening_area_m2(flow_m3_s=0.012, drop_pa=0.0)


def test_a_door_is_judged_either_way():
    pushed = check_transfer(surplus_m3_s=exact(0.03), area_m2=0.01, limit_pa=3.0)
    pulled = check_transfer(surplus_m3_s=exact(-0.03), area_m2=0.01, limit_pa=3.0)
    assert pushed.drop_pa.value == -pulled.drop_pa.value > 3.0
    assert pushed.decision.verdict is pulled.decision.verdict is Verdict.NOT_MET
    assert pushed.speed_m_s.value == pulled.speed_m_s.value == pytest.approx(3.0)


def test_area_needed_keeps_the_limit_exactly():
    check = check_transfer(surplus_m3_s=exact(-0.03), area_m2=0.01, limit_pa=3.0)
    again = check_transfer(
        surplus_m3_s=exact(-0.03), area_m2=check.area_needed_m2.value, limit_pa=3.0
    )
    assert again.drop_pa.value == pytest.approx(-3.0)


def test_doubt_of_the_opening_enters_the_verdict():
    check = check_transfer(surplus_m3_s=exact(0.0126), area_m2=0.01, limit_pa=3.0)
    assert check.drop_pa.value == pytest.approx(2.646, abs=1e-3)
    assert check.drop_pa.u_std == pytest.approx(2.646 * 2 * 0.15 / 3**0.5, rel=1e-3)
    assert check.decision.verdict is Verdict.NOT_SHOWN
    sharp = check_transfer(
        surplus_m3_s=exact(0.0126), area_m2=0.01, limit_pa=3.0, discharge_coeff=exact(0.6)
    )
    assert sharp.decision.verdict is Verdict.MET


def test_even_room_keeps_the_doubt_of_its_flow():
    even = measured(0.0, u_std=0.005, id="gap", label="gap")
    check = check_transfer(surplus_m3_s=even, area_m2=0.01, limit_pa=3.0)
    assert check.drop_pa.value == 0.0 and check.drop_pa.u_std > 0.0
    assert check.area_needed_m2.value == 0.0
    with pytest.raises(ValueError, match="area_m2"):
        check_transfer(surplus_m3_s=even, area_m2=0.0, limit_pa=3.0)


def test_doorway_exchange_is_the_integral_over_its_height():
    width, height, warm = 0.8, 2.0, 0.5
    count = 20_000
    step = 0.5 * height / count
    flow = sum(
        0.6 * width * step * (2.0 * 9.80665 * warm / 293.15 * (i + 0.5) * step) ** 0.5
        for i in range(count)
    )
    known = doorway_exchange_m3_s(width_m=width, height_m=height, temperature_diff_k=warm)
    assert known == pytest.approx(flow, rel=1e-5)


def test_gap_exchange_splits_the_head_over_both_gaps():
    flow = gap_exchange_m3_s(lower_area_m2=0.01, upper_area_m2=0.002, temperature_diff_k=0.5)
    drops = [0.5 * 1.2 * (flow / (0.6 * area)) ** 2 for area in (0.01, 0.002)]
    assert sum(drops) == pytest.approx(1.2 * 9.80665 * 2.0 * 0.5 / 293.15)
    assert gap_exchange_m3_s(lower_area_m2=0.0) == 0.0
    assert gap_exchange_m3_s(lower_area_m2=0.0, upper_area_m2=0.0) == 0.0


def test_open_doorway_swaps_far_more_than_a_closed_door():
    assert doorway_exchange_m3_s() > 100.0 * gap_exchange_m3_s(lower_area_m2=0.01)


def test_all_doors_share_one_doubt_of_their_kind():
    ids = {c.influence.id for c in exchange_estimate(1e-4).components}
    assert ids == {"enclosure:door:exchange"}
    assert [c.influence.id for c in usual_discharge_coeff().components] == [
        "enclosure:opening:discharge"
    ]


def test_drop_limits_say_how_they_are_known():
    assert [(entry.limit_pa, entry.trust) for entry in usual_drop_limits()] == [
        (3.0, SourceTrust.READ),
        (2.5, SourceTrust.SECOND_HAND),
        (1.0, SourceTrust.SECOND_HAND),
    ]
