"""Sessions: what is refused, what is kept, and JSON without loss."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.unit.balancing.network_house import House, play, session_for
from ventwright.balancing import (
    Damper,
    LossShare,
    Meter,
    Outlet,
    Run,
    SideSetup,
    add_move,
    add_reading,
    add_speed,
    filter_effect,
    leads,
    next_step,
    predict,
    session_from_json,
    session_to_json,
    start,
)
from ventwright.quantities.problems import UserError
from ventwright.quantities.words import Side

HOOD = Meter(id="hood")


def outlet(name: str = "bed", **more: object) -> Outlet:
    return replace(Outlet(id=name, run_id=None, target_m3_s=0.01), **more)


def side(*outlets: Outlet, **more: object) -> SideSetup:
    return replace(SideSetup(side=Side.SUPPLY, outlets=outlets), **more)


@pytest.mark.parametrize(
    ("setup", "code"),
    [
        (side(outlet(), outlet()), "name-twice"),
        (side(), "no-outlet"),
        (side(outlet(run_id="b")), "unknown-run"),
        (side(outlet(), runs=(Run(id="a", parent_id="b"), Run(id="b"))), "run-order"),
        (side(outlet(target_m3_s=0.0)), "target"),
        (side(outlet(target_m3_s=float("nan"))), "target"),
        (side(outlet(band_frac=0.0)), "band"),
        (side(outlet(duct_ratio=0.0)), "duct-ratio"),
        (side(outlet(duct_spread_ratio=0.0)), "duct-ratio"),
        (side(outlet(damper=Damper(opening_frac=1.2))), "opening"),
        (side(outlet(damper=Damper(table=((0.1, 0.5), (1.0, 0.4))))), "table"),
        (side(outlet(damper=Damper(table_u_frac=0.0))), "table-spread"),
        (side(outlet(), shared=LossShare(likely_frac=1.0)), "loss-share"),
        (side(outlet(), speed_frac=1.5), "speed"),
    ],
)
def test_a_setup_that_cannot_be_used_is_refused_by_name(setup: SideSetup, code: str) -> None:
    with pytest.raises(UserError) as refusal:
        start([setup], meters=[HOOD])
    assert code in {problem.code for problem in refusal.value.problems}
    assert all(problem.where and problem.remedy for problem in refusal.value.problems)


def test_meters_and_sides_are_checked() -> None:
    for meters in ([], [HOOD, HOOD], [Meter(id="x", repeat_frac=0.0)]):
        with pytest.raises(UserError):
            start([side(outlet())], meters=meters)
    for sides in ([], [side(outlet()), side(outlet())]):
        with pytest.raises(UserError):
            start(sides, meters=[HOOD])


def test_an_event_that_cannot_be_is_refused_and_the_session_kept() -> None:
    session = start([side(outlet())], meters=[HOOD])
    with pytest.raises(UserError, match="'loo' is not known"):
        add_reading(session, thing_id="loo", flow_m3_s=0.01)
    with pytest.raises(UserError, match="0 up"):
        add_reading(session, thing_id="bed", flow_m3_s=float("nan"))
    with pytest.raises(UserError, match="meter 'vane'"):
        add_reading(session, thing_id="bed", flow_m3_s=0.01, meter_id="vane")
    with pytest.raises(UserError, match="0 \\(shut\\) to 1"):
        add_move(session, thing_id="bed", opening_frac=-0.1)
    with pytest.raises(UserError, match="above 0"):
        add_speed(session, side=Side.SUPPLY, speed_frac=0.0)
    with pytest.raises(UserError, match="not part"):
        add_speed(session, side=Side.EXTRACT, speed_frac=0.5)
    once = add_reading(session, thing_id="bed", flow_m3_s=0.01, reading_id="r1")
    with pytest.raises(UserError, match="there already"):
        add_reading(once, thing_id="bed", flow_m3_s=0.01, reading_id="r1")
    assert session.events == () and len(once.events) == 1


def test_json_keeps_a_whole_visit() -> None:
    session, _, _ = play(House())
    again = session_from_json(session_to_json(session))
    assert again == session
    assert next_step(again) == next_step(session)


@pytest.mark.parametrize(
    "text", ["", "[]", "{}", '{"version": 1, "sides": []}', '{"version": 1, "colour": "red"}']
)
def test_text_that_is_no_session_is_refused(text: str) -> None:
    with pytest.raises(UserError):
        session_from_json(text)


@given(flow=st.floats(min_value=0.0, max_value=1.0), count=st.integers(1, 9))
def test_json_keeps_any_reading(flow: float, count: int) -> None:
    session = start([side(outlet())], meters=[HOOD])
    session = add_reading(session, thing_id="bed", flow_m3_s=flow, count=count)
    assert session_from_json(session_to_json(session)) == session


def test_no_flow_at_all_is_taken_as_very_little_and_looked_into() -> None:
    session = start([side(outlet("bed"), outlet("bath"))], meters=[HOOD])
    session = add_reading(session, thing_id="bed", flow_m3_s=0.0)
    session = add_reading(session, thing_id="bath", flow_m3_s=0.012)
    by_name = {p.outlet_id: p for p in predict(session)}
    assert 0.0 < by_name["bed"].flow_m3_s < 0.001
    assert by_name["bed"].u_frac > 0.2
    assert {lead.outlet_id for lead in leads(session)} == {"bed"}


def test_total_of_a_side_and_a_second_method_sharpen_without_bending() -> None:
    house = House()
    session = session_for(house)
    session = replace(session, meters=(*session.meters, Meter(id="traverse", bias_frac=0.03)))
    for name, flow in house.flows().items():
        session = add_reading(session, thing_id=name, flow_m3_s=flow, meter_id="hood")
    before = {p.outlet_id: p.flow_m3_s for p in predict(session)}
    total = 1.04 * sum(house.flows().values())
    session = add_reading(
        session, thing_id="total", side=Side.SUPPLY, flow_m3_s=total, meter_id="traverse"
    )
    after = {p.outlet_id: p.flow_m3_s for p in predict(session)}
    for name, flow in before.items():
        assert after[name] == pytest.approx(flow, rel=0.01)


def test_a_dirty_filter_takes_flow_as_the_shared_path_says() -> None:
    """A pure shared path (0.999 of the loss): flow goes with loss^(−1/1.9)."""
    bare = side(outlet(), shared=LossShare(likely_frac=0.999, spread_ratio=0.01))
    session = add_reading(start([bare], meters=[HOOD]), thing_id="bed", flow_m3_s=0.01)
    effect = filter_effect(session, side=Side.SUPPLY, filter_share_frac=1.0, load_ratio=2.0)
    assert effect == pytest.approx(2 ** (-1 / 1.9), rel=2e-3)
