"""Displays of pressure at a stop, and numbers no display can show, against sums done by hand."""

from __future__ import annotations

from dataclasses import replace
from math import sqrt

import pytest

from tests.unit.findings.stops import (
    BEHIND,
    BOX,
    CONE,
    DENSITY_KG_M3,
    DROPS,
    FLOWS,
    FREE,
    SPEEDS,
    STANDARD_KG_M3,
    TAPS,
    all_read,
    at_stop,
    guided,
    house_of,
    reading,
    visit_of,
)
from ventwright.balancing import NextStep
from ventwright.findings.meter_scaled import scaled
from ventwright.house import FlowBox, Hood


def test_a_box_with_both_pressures_follows_the_network_it_stands_in() -> None:
    """Three resistances in a row under a steady 40 Pa: path, terminal, box; the terminal is closed.

    The box is left in place and its drop is what the network gives; formula Δp = R Q².
    """
    source, path, box = 40.0, 1.2e5, 2.0e4

    def flows(terminal: float) -> tuple[float, float]:
        return sqrt(source / (path + terminal)), sqrt(source / (path + terminal + box))

    found, closed = 1.0e5, 6.0e5
    free, boxed = flows(found)
    drop = box * boxed**2
    look = FlowBox(
        drops_pa=(drop,),
        opening_area_m2=0.008,
        terminal_pressure_pa=(found + box) * boxed**2,
        terminal_pressure_free_pa=found * free**2,
    )
    one = visit_of(house_of(side="extract"), all_read("flow_box", *DROPS, **BOX, **FREE)).readings[
        0
    ]
    free_then, boxed_then = flows(closed)
    then = scaled(replace(one, look=look), boxed_then / boxed).look
    assert isinstance(then, FlowBox)
    assert then.drops_pa[0] == pytest.approx(box * boxed_then**2)
    assert then.terminal_pressure_pa == pytest.approx((closed + box) * boxed_then**2)
    assert then.terminal_pressure_free_pa == pytest.approx(closed * free_then**2)


def test_more_than_the_path_lets_through_has_no_number() -> None:
    """12.8 and 11.8 Pa behind a terminal and 4.3 Pa in the box: by hand, P = 15.4 Pa before it all.

    Of that the path takes 15.4 − 11.8 = 3.6 Pa: without a terminal, √(15.4/3.6) = 2.07 of the flow.
    """
    home = house_of(side="extract")
    visit = visit_of(home, all_read("flow_box", *DROPS, **BOX, **FREE))
    now = guided(home, visit).session.events[-1].flow_m3_s  # type: ignore[union-attr]
    assert at_stop(home, visit, 1.8 * now) is not None
    assert at_stop(home, visit, 2.1 * now) is None


def test_the_pressures_lost_in_a_hood_go_with_the_square_and_the_one_behind_stays() -> None:
    home = house_of()
    visit = visit_of(home, all_read("hood", *FLOWS, hood_drop="1.2 Pa", **BEHIND))
    look = scaled(visit.readings[0], 0.5).look
    assert isinstance(look, Hood)
    assert look.hood_drop_pa == pytest.approx(0.3)
    assert look.terminal_pressure_pa == pytest.approx(12.8)


def test_a_stop_below_what_a_box_can_show_has_no_number_and_says_why() -> None:
    """7.5 L/s through 20 in² is 1.527 · (12/20)² = 0.55 Pa: a reading below 1 Pa is refused."""
    home = house_of(side="extract")
    visit = visit_of(home, all_read("flow_box", *DROPS, opening_area="20 in²"))
    shown = at_stop(home, visit, 0.0075)
    assert shown is not None
    assert (shown.value_si, shown.low_si, shown.high_si) == (None, None, None)
    assert shown.cautions[0].code == "box-drop-small"
    assert shown.cautions[0].where == "stop at t1"
    # 0.5 Pa by the hand's sum, to one decimal; the remedy gives the opening for 3 Pa.
    assert "about 0.5 Pa" in shown.cautions[0].message
    assert "opening" in shown.cautions[0].remedy


def test_an_end_that_can_not_be_read_is_left_open() -> None:
    """9.95 L/s through 20 in² is 0.98 Pa without the box's loss, 10.4 L/s is 1.06 Pa."""
    home = house_of(side="extract")
    visit = visit_of(home, all_read("flow_box", *DROPS, opening_area="20 in²"))
    shown = at_stop(home, visit, 0.0104, stop_low_m3_s=0.0098)
    assert shown is not None
    assert shown.value_si is not None
    assert shown.low_si is None
    assert shown.high_si is not None


@pytest.mark.parametrize(
    ("channel", "method", "looks", "common", "stop_m3_s", "code"),
    [
        ({"flow": {"range_min": "18 cfm"}}, "hood", FLOWS, {}, 0.0075, "outside-range"),
        (
            {"velocity": {"start_velocity": "0.9 m/s"}},
            "vane",
            SPEEDS,
            CONE,
            0.0045,
            "vane-below-start",
        ),
    ],
)
def test_below_an_instruments_own_range_there_is_no_number(
    channel: dict[str, object],
    method: str,
    looks: list[dict[str, object]],
    common: dict[str, object],
    stop_m3_s: float,
    code: str,
) -> None:
    kind = {"hood": "flow_hood", "vane": "vane_meter"}[method]
    own = {"id": "m", "name": "m", "kind": kind, **channel}
    home = house_of()
    visit = visit_of(home, all_read(method, *looks, **common, instrument="m"), instruments=(own,))
    shown = at_stop(home, visit, stop_m3_s)
    assert shown is not None
    assert shown.value_si is None
    assert shown.cautions[0].code == code


def test_a_doubtful_number_is_given_with_its_caution() -> None:
    home = house_of()
    visit = visit_of(home, all_read("hood", *FLOWS))
    shown = at_stop(home, visit, 0.0075)
    assert shown is not None
    assert shown.value_si is not None
    assert [c.code for c in shown.cautions] == ["outside-class-range", "hood-small-flow"]


def factor_m3_s(turns: float) -> float:
    """Straight between the lines of the table."""
    return 1e-3 * (0.5 + 0.2 * turns)


def test_the_pressure_of_a_terminal_is_that_at_the_opening_it_is_turned_to() -> None:
    """Δp = (Q/(k √(1.2014/ρ)))² with k = 0.5 + 0.2 · 3 turns = 1.1 L/s per root of a pascal.

    7.5 L/s: (7.5/1.1)² = 46.49 Pa in standard air, times 1.1954/1.2014.
    """
    home = house_of(side="extract", has_table=True)
    visit = visit_of(home, all_read("terminal_pressure", *TAPS))
    shown = at_stop(home, visit, 0.0075, opening_frac=0.3)
    assert shown is not None
    assert shown.opening_turns == pytest.approx(3.0)
    assert shown.value_si == pytest.approx(46.49 * DENSITY_KG_M3 / STANDARD_KG_M3, rel=1e-3)
    assert shown.low_si == pytest.approx(0.97**2 * (shown.value_si or 0.0), rel=1e-4)


def test_without_an_opening_there_is_no_pressure_to_name() -> None:
    home = house_of(side="extract", has_table=True)
    visit = visit_of(home, all_read("terminal_pressure", *TAPS))
    assert at_stop(home, visit, 0.0075) is None
    typed = [{"drops": t["drops"], "flow_factor": "1.4 L/s/√Pa"} for t in TAPS]
    bare = house_of(side="extract")
    other = visit_of(bare, all_read("terminal_pressure", *typed))
    assert at_stop(bare, other, 0.0075, opening_frac=0.3) is None


def test_a_terminal_whose_ring_stands_keeps_its_factor() -> None:
    """The damper of a run is turned: Δp goes with the square of the flow, 1.4 · √50 to 8 L/s."""
    home = house_of(side="extract")
    typed = [{"drops": t["drops"], "flow_factor": "1.4 L/s/√Pa"} for t in TAPS]
    visit = visit_of(home, all_read("terminal_pressure", *typed))
    shown = at_stop(home, visit, 0.008, thing_id="run")
    assert shown is not None
    assert shown.opening_turns is None
    expected = (8.0 / 1.4) ** 2 * DENSITY_KG_M3 / STANDARD_KG_M3
    assert shown.value_si == pytest.approx(expected, rel=1e-3)


def test_guidance_names_the_pressure_once_the_ring_was_turned_to_a_mark() -> None:
    home = house_of(side="extract", has_table=True)
    moved = {"id": "m1", "kind": "terminal", "target": "t1", "opening": "8 turns"}
    again = reading(
        "d", "t1", "terminal_pressure", phase="interim", drops=["60 Pa"], opening="8 turns"
    )
    visit = visit_of(home, [*all_read("terminal_pressure", *TAPS)[:3], again], moves=(moved,))
    one = guided(home, visit)
    assert isinstance(one.step, NextStep)
    assert one.step.stop_m3_s is not None
    shown = one.stop_shown
    assert shown is not None
    assert shown.opening_turns == pytest.approx(10.0 * (one.step.opening_frac or 0.0))
    in_standard_air = one.step.stop_m3_s * sqrt(DENSITY_KG_M3 / STANDARD_KG_M3)
    expected = (in_standard_air / factor_m3_s(shown.opening_turns)) ** 2
    assert shown.value_si == pytest.approx(expected, rel=1e-3)
