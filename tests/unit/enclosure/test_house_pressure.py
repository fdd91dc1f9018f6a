"""House pressure at combinations of other fans, screens of limits, make-up air."""

import pytest

from ventwright.enclosure import (
    OtherFan,
    combinations_of,
    leakage_from_test,
    makeup_air,
    opening_flow_m3_s,
    pressure_states,
    screen_pressure,
    strictest_limit,
    usual_pressure_limits,
)
from ventwright.house import Venting
from ventwright.quantities import SourceTrust
from ventwright.uncertainty import Verdict, exact, measured

LAW = leakage_from_test(leakage_flow_m3_s=0.2, exponent=0.65)
HOOD = OtherFan(id="hood", flow_m3_s=exact(0.080))
DRYER = OtherFan(id="dryer", flow_m3_s=exact(0.050))


def test_every_combination_is_worked_out_and_adds_up():
    states = pressure_states(LAW, imbalance_m3_s=exact(-0.010), others=[HOOD, DRYER])
    nets = {s.running: round(s.net_exhaust_m3_s.value, 6) for s in states}
    assert nets == {(): -0.010, ("hood",): 0.070, ("dryer",): 0.040, ("hood", "dryer"): 0.120}
    assert states[0].pressure_pa.value > 0.0 > states[3].pressure_pa.value
    assert [s.is_extrapolated for s in states] == [True, False, False, False]


def test_many_fans_are_told_alone_and_all_together():
    ids = [f"fan{i}" for i in range(6)]
    groups = combinations_of(ids)
    assert len(groups) == 8 and groups[0] == () and groups[-1] == tuple(ids)
    assert len(combinations_of(ids[:5])) == 32


def test_a_fan_shared_by_two_states_is_one_influence():
    fan = OtherFan(id="hood", flow_m3_s=measured(0.08, u_std=0.01, id="hood", label="hood"))
    states = pressure_states(LAW, imbalance_m3_s=exact(0.0), others=[fan])
    assert [c.influence.id for c in states[1].net_exhaust_m3_s.components] == ["hood"]


def limit(venting):
    found = strictest_limit(usual_pressure_limits(), venting=venting)
    assert found is not None
    return found


def screened(net_m3_s, u_std=0.001):
    net = measured(net_m3_s, u_std=u_std, id="gap", label="gap")
    (state,) = pressure_states(LAW, imbalance_m3_s=net)
    return state, screen_pressure(LAW, state, limit=limit("natural_draft"))


def test_screen_in_flow_says_the_same_as_the_pressure():
    for net in (-0.05, 0.0, 0.01, 0.02, 0.024, 0.03, 0.1):
        state, screen = screened(net)
        assert (screen.margin_m3_s.value > 0.0) == (state.pressure_pa.value > -2.0)


def test_screen_is_kept_failed_or_open():
    verdicts = [screened(net)[1].decision.verdict for net in (0.0, 0.0247, 0.05)]
    assert verdicts == [Verdict.MET, Verdict.NOT_SHOWN, Verdict.NOT_MET]
    settling = screened(0.0247)[1].settling
    assert settling is not None and settling.u_std_needed < screened(0.0247)[1].margin_m3_s.u_std


def test_pushed_house_keeps_every_limit_of_suction():
    state, screen = screened(-0.1)
    assert state.pressure_pa.value > 0.0
    assert screen.decision.verdict is Verdict.MET


def test_limits_know_the_words_of_the_record_and_say_how_they_are_known():
    limits = usual_pressure_limits()
    ventings = {v.value for v in Venting}
    assert {entry.venting for entry in limits} == ventings - {Venting.UNVENTED.value}
    assert all(entry.source and entry.trust in SourceTrust for entry in limits)
    # None of them was read in a standard itself.
    assert all(entry.trust is SourceTrust.SECOND_HAND for entry in limits)


def test_strictest_of_a_kind_counts():
    assert limit("natural_draft").limit_pa == 2.0
    assert strictest_limit(usual_pressure_limits(), venting="unvented") is None


def test_makeup_air_closes_the_gap_at_the_allowed_suction():
    need = makeup_air(LAW, net_exhaust_m3_s=exact(0.12), allowed_pa=3.0, density_kg_m3=1.25)
    assert need is not None
    leak = LAW.leak_flow(pressure_pa=-3.0).value
    passed = opening_flow_m3_s(area_m2=need.opening_area_m2.value, drop_pa=3.0, density_kg_m3=1.25)
    assert leak + passed == pytest.approx(0.12)
    assert need.flow_m3_s.value == pytest.approx(passed)
    # The opening's own doubt comes on top of the leakage's.
    relative = [e.u_std / e.value for e in (need.opening_area_m2, need.flow_m3_s)]
    assert relative[0] > relative[1]


def test_leaky_house_needs_no_makeup_air():
    assert makeup_air(LAW, net_exhaust_m3_s=exact(0.01), allowed_pa=3.0) is None
    with pytest.raises(ValueError, match="allowed_pa"):
        makeup_air(LAW, net_exhaust_m3_s=exact(0.12), allowed_pa=0.0)
