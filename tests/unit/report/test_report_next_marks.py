"""Marks in the terms of what is turned: turns of a ring, the angle of a blade."""

from __future__ import annotations

from dataclasses import replace

import pytest

from tests.unit.findings.test_guidance import EVEN, FOUND, guided
from tests.unit.findings.test_guidance_told import ducted
from ventwright.actions import load_rule_sets
from ventwright.actions.field.page import _steps
from ventwright.balancing import TOTAL_ID, Deed, NextStep
from ventwright.findings import Guidance, VisitSnapshot, assess
from ventwright.house import Visit, parse_house
from ventwright.quantities import NumberStyle, Side, UnitPreference
from ventwright.report import compose_next

BLADE = {"kind": "butterfly", "diameter": "100 mm"}


def words_of(house: dict, guidance: Guidance, **step: object) -> str:
    """The step in words, some of it chosen here."""
    home, problems = parse_house(house)
    assert not problems
    visit = Visit(schema="ventwright-visit-1", id="v", house="h")
    snapshot = VisitSnapshot(
        engine="t", house=home, visit=visit, rule_sets=load_rule_sets(["own_targets"])
    )
    chosen = NextStep(deed=Deed.TURN, side=Side.SUPPLY, **step)
    model = compose_next(
        (replace(guidance, step=chosen, stop_shown=None),),
        assess(snapshot),
        snapshot,
        preference=UnitPreference.SI_LS,
        number_style=NumberStyle.DECIMAL_COMMA,
        snapshot_sha256="0" * 64,
    )
    section = model.section("next-step")
    assert section is not None
    return section.lines[0].text


def test_a_ring_is_turned_to_turns_and_a_blade_to_an_angle() -> None:
    """A third of 12 turns is 4; a third open leaves a blade 60° from open."""
    house = ducted(damper=BLADE)
    told = guided(*FOUND, house=house)
    ring = words_of(house, told, thing_id="t1", opening_frac=1 / 3)
    assert "to 4,0 turns from shut" in ring
    blade = words_of(house, told, thing_id="b", opening_frac=1 / 3)
    assert "60° from open" in blade


def test_what_has_neither_is_told_as_a_share() -> None:
    house = ducted(damper={"kind": "iris"})
    said = words_of(house, guided(*FOUND, house=house), thing_id="b", opening_frac=0.4)
    assert "40,0 %" in said and "from shut to open" in said


def test_a_blade_set_by_a_reading_is_told_its_angle_as_well() -> None:
    house = ducted(damper=BLADE)
    said = words_of(
        house,
        guided(*FOUND, house=house),
        thing_id="b",
        read_id="t1",
        stop_m3_s=0.009,
        stop_low_m3_s=0.0089,
        stop_high_m3_s=0.0091,
        opening_frac=2 / 3,
    )
    assert "9,0" in said and "30° from open" in said


@pytest.mark.parametrize(
    ("read_id", "side", "station"),
    [
        (TOTAL_ID, Side.SUPPLY, "SUP"),
        (TOTAL_ID, Side.EXTRACT, "ETA"),
        ("t1", Side.SUPPLY, "terminal:t1"),
        ("", Side.SUPPLY, ""),
    ],
)
def test_a_step_opens_the_place_that_it_reads(read_id: str, side: Side, station: str) -> None:
    told = guided(*EVEN, house=ducted())
    step = NextStep(deed=Deed.READ_AS_LEFT, side=side, thing_id="t1", read_id=read_id)
    (door,) = _steps([replace(told, step=step)])
    assert door.station == station
