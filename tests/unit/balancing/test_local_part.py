"""What readings at one terminal share and others don't: it stays, however often one reads."""

from __future__ import annotations

from dataclasses import replace
from random import Random

import pytest

from tests.unit.balancing.network_house import House, do, session_for
from ventwright.balancing import (
    Finished,
    Meter,
    Session,
    add_reading,
    next_step,
    predict,
    start,
)
from ventwright.quantities.problems import UserError
from ventwright.uncertainty import Verdict

LOCAL_FRAC = 0.05
DRAWS = 10_000


def read_through(*, local_frac: float, count: int = 9) -> Session:
    """All terminals read finely, by a method with a part of its own at each."""
    house = House()
    session = session_for(house)
    meter = Meter(id="hood", repeat_frac=0.001, bias_frac=0.0, local_frac=local_frac)
    session = replace(session, meters=(meter,))
    for name, flow in house.flows().items():
        session = add_reading(session, thing_id=name, flow_m3_s=flow, count=count)
    return session


def test_stated_probabilities_are_those_of_many_draws() -> None:
    """Independent: each flow is drawn with its own factor, the shares are worked out by hand."""
    session = read_through(local_frac=LOCAL_FRAC)
    found = predict(session)
    targets = {o.id: o.target_m3_s for o in session.sides[0].outlets}
    rng = Random(11)
    within = dict.fromkeys(targets, 0)
    for _ in range(DRAWS):
        drawn = {p.outlet_id: p.flow_m3_s * (1 + rng.gauss(0.0, LOCAL_FRAC)) for p in found}
        scale = sum(drawn.values()) / sum(targets.values())
        for name, q in drawn.items():
            within[name] += abs(q - scale * targets[name]) <= 0.10 * scale * targets[name]
    for item in found:
        assert item.u_frac == pytest.approx(LOCAL_FRAC, rel=0.02)
        assert item.prob_within_frac == pytest.approx(within[item.outlet_id] / DRAWS, abs=0.015)


def test_reading_more_often_makes_it_no_smaller() -> None:
    once, often = (
        {p.outlet_id: p.u_frac for p in predict(read_through(local_frac=0.05, count=count))}
        for count in (1, 50)
    )
    assert all(often[name] == pytest.approx(once[name], rel=0.02) for name in once)


def test_no_reading_is_asked_for_that_could_not_settle_it() -> None:
    """8 % at each place: a band of 10 % is shown for none, and guidance still comes to an end."""
    house = House()
    session = session_for(house)
    session = replace(session, meters=(replace(session.meters[0], local_frac=0.08),))
    deeds = 0
    while not isinstance(step := next_step(session), Finished):
        deeds += 1
        session = do(house, session, step)
    assert deeds <= 25
    assert max(map(abs, house.offs().values())) < 0.10
    assert {p.verdict for p in step.outlets} == {Verdict.NOT_SHOWN}


def test_a_local_part_below_zero_is_refused() -> None:
    session = session_for(House())
    with pytest.raises(UserError, match="meter 'hood' has a spread that is no number, below 0"):
        start(session.sides, meters=[replace(session.meters[0], local_frac=-0.01)])
