"""The leakage law: both directions, both ways to state it, and what its doubt does."""

import math

import pytest

from ventwright.enclosure import is_extrapolated, leakage_from_coeff, leakage_from_test
from ventwright.uncertainty import exact, measured


def test_flow_and_pressure_undo_each_other_in_both_directions():
    law = leakage_from_test(leakage_flow_m3_s=0.2, exponent=0.66)
    for net in (0.05, -0.05, 0.2):
        pressure = law.house_pressure(net_exhaust_m3_s=exact(net)).value
        assert math.copysign(1.0, pressure) == -math.copysign(1.0, net)
        assert law.leak_flow(pressure_pa=pressure).value == pytest.approx(abs(net), rel=1e-13)


def test_test_result_is_kept_at_its_own_pressure():
    law = leakage_from_test(leakage_flow_m3_s=0.2, test_pressure_pa=30.0)
    flow = law.leak_flow(pressure_pa=30.0)
    assert flow.value == 0.2
    assert flow.u_std == pytest.approx(0.05 * 0.2)


def test_assumed_exponent_is_less_sure_than_a_measured_one():
    assumed = leakage_from_test(leakage_flow_m3_s=0.2)
    known = leakage_from_test(leakage_flow_m3_s=0.2, exponent=0.65)
    assert assumed.is_exponent_assumed and not known.is_exponent_assumed
    at_4 = [law.leak_flow(pressure_pa=-4.0) for law in (assumed, known)]
    assert at_4[0].value == at_4[1].value
    assert at_4[0].u_std > at_4[1].u_std
    # First order by hand: flow 5 %, exponent times ln(4/50).
    by_hand = at_4[0].value * math.hypot(0.05, 0.06 * math.log(4.0 / 50.0))
    assert at_4[0].u_std == pytest.approx(by_hand)


def test_coefficient_and_exponent_are_independent_in_the_middle_of_a_test():
    law = leakage_from_coeff(leakage_coeff=0.04, exponent=0.65, u_exponent=0.1)
    assert law.leak_flow(pressure_pa=1.0).value == pytest.approx(0.04)
    middle, far = law.leak_flow(pressure_pa=25.0), law.leak_flow(pressure_pa=60.0)
    assert middle.u_std / middle.value == pytest.approx(0.05)
    assert far.u_std / far.value > 0.09


def test_law_carried_below_tested_pressures_is_named_and_less_sure():
    law = leakage_from_test(leakage_flow_m3_s=0.2, exponent=0.65)
    ids = {c.influence.id for c in law.leak_flow(pressure_pa=1.0).components}
    assert "enclosure:leakage:extrapolated" in ids
    ids = {c.influence.id for c in law.leak_flow(pressure_pa=4.0).components}
    assert "enclosure:leakage:extrapolated" not in ids
    assert is_extrapolated(pressure_pa=3.9) and not is_extrapolated(pressure_pa=-4.0)


def test_doubt_of_an_even_balance_stays_a_doubt_of_pressure():
    law = leakage_from_test(leakage_flow_m3_s=0.2, exponent=0.65)
    even = measured(0.0, u_std=0.01, id="gap", label="gap")
    pressure = law.house_pressure(net_exhaust_m3_s=even)
    assert pressure.value == 0.0
    assert pressure.u_std == pytest.approx(50.0 * (0.01 / 0.2) ** (1 / 0.65))
    assert law.house_pressure(net_exhaust_m3_s=exact(0.0)).u_std == 0.0


def test_small_doubt_gives_the_slope_of_the_law():
    law = leakage_from_test(leakage_flow_m3_s=0.2, exponent=0.65, u_flow_frac=0.0, u_exponent=0.0)
    net = measured(0.1, u_std=1e-6, id="gap", label="gap")
    pressure = law.house_pressure(net_exhaust_m3_s=net)
    assert pressure.u_std == pytest.approx(1e-6 * abs(pressure.value) / (0.65 * 0.1), rel=1e-6)


@pytest.mark.parametrize(
    ("changed", "name"),
    [
        ({"leakage_flow_m3_s": 0.0}, "leakage_flow_m3_s"),
        ({"test_pressure_pa": -50.0}, "test_pressure_pa"),
        ({"exponent": 0.4}, "exponent"),
        ({"exponent": 1.1}, "exponent"),
        ({"leakage_flow_m3_s": math.nan}, "leakage_flow_m3_s"),
    ],
)
def test_numbers_out_of_range_are_named(changed, name):
    with pytest.raises(ValueError, match=name):
        leakage_from_test(**{"leakage_flow_m3_s": 0.2, **changed})


def test_coefficient_out_of_range_is_named():
    with pytest.raises(ValueError, match="leakage_coeff"):
        leakage_from_coeff(leakage_coeff=-1.0, exponent=0.65)
