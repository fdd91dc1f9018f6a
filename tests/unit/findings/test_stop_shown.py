"""What a display shows at a stop, against sums done by hand and against the readers themselves.

Pressure at altitude by hand: the standard atmosphere, 101325 (1 − 2.25577e-5 h)^5.2559.
"""

from __future__ import annotations

from dataclasses import replace
from math import log, sqrt

import pytest

from tests.unit.findings.stops import (
    BEHIND,
    BOX,
    CFM_M3_S,
    CONE,
    DENSITY_KG_M3,
    DROPS,
    FACE,
    FLOWS,
    FREE,
    IN2_M2,
    OWN_FAN,
    SPEEDS,
    all_read,
    at_stop,
    guided,
    house_of,
    reading,
    visit_of,
)
from ventwright.balancing import Deed, NextStep
from ventwright.findings import interpret_visit
from ventwright.findings.meter_scaled import mean_shown_si, scaled
from ventwright.house import Phase
from ventwright.quantities import Dimension, Side

CASES: dict[str, tuple[str, str, list[dict[str, object]], dict[str, object]]] = {
    "vane in a cone": ("supply", "vane", SPEEDS, CONE),
    "vane at a face": ("supply", "vane", SPEEDS, FACE),
    "hood": ("supply", "hood", FLOWS, {}),
    "hood with its drop": ("supply", "hood", FLOWS, {"hood_drop": "1.2 Pa"}),
    "hood, pressure behind": ("supply", "hood", FLOWS, {"hood_drop": "1.2 Pa", **BEHIND}),
    "hood with its own fan": ("supply", "hood", FLOWS, {"instrument": "m"}),
    "box": ("extract", "flow_box", DROPS, BOX),
    "box, pressure behind": ("extract", "flow_box", DROPS, {**BOX, **BEHIND}),
    "box, both pressures": ("extract", "flow_box", DROPS, {**BOX, **FREE}),
    "display": ("supply", "direct_flow", FLOWS, {"accuracy": "2 %", "is_standard_air": True}),
}


@pytest.mark.parametrize("name", CASES)
def test_a_reading_of_the_number_shown_is_taken_as_the_flow_to_stop_at(name: str) -> None:
    side, method, looks, common = CASES[name]
    home = house_of(side=side, altitude="2100 m")
    readings = all_read(method, *looks, **common)
    meters = (OWN_FAN,) if "instrument" in common else ()
    visit = visit_of(home, readings, instruments=meters)
    one = guided(home, visit)
    step, shown = one.step, one.stop_shown
    assert isinstance(step, NextStep)
    assert step.deed is Deed.TURN
    assert shown is not None
    last = next(r for r in visit.readings if r.id == shown.reading_id)
    ends = (
        (shown.value_si, step.stop_m3_s),
        (shown.low_si, step.stop_low_m3_s),
        (shown.high_si, step.stop_high_m3_s),
    )
    for number, stop in ends:
        assert number is not None
        # Everything about the meter as at its last reading, and one number on its display.
        ratio = number / mean_shown_si(last)
        flow_ratio = sqrt(ratio) if shown.dimension is Dimension.PRESSURE else ratio
        then = replace(scaled(last, flow_ratio), id="z", phase=Phase.INTERIM)
        assert mean_shown_si(then) == pytest.approx(number, rel=1e-12)
        more = replace(visit, readings=(*visit.readings, then))
        found = next(r for r in interpret_visit(home, more).readings if r.reading_id == "z")
        assert found.flow is not None
        assert found.flow.flow_m3_s.value == pytest.approx(stop, rel=1e-4)


def test_a_box_shows_what_the_orifice_equation_says() -> None:
    """Q = 0.606 A √(2 p/ρ) · (1 + √(1 + p/20 Pa))/2, worked by hand for 7.5 L/s through 12 in².

    A = 12 · 6.4516 = 77.42 cm²; without the box's own loss p = ρ/2 (Q/(0.606 A))² = 1.527 Pa. The
    half of what it can take away gives back (1 + √1.0763)/2 = 1.0187 of flow; so p = 1.527/1.0187²
    = 1.471, then 1.0180 and 1.473, which stays.
    """
    home = house_of(side="extract")
    visit = visit_of(home, all_read("flow_box", *DROPS, **BOX))
    shown = at_stop(home, visit, 0.0075)
    assert shown is not None
    assert shown.value_si == pytest.approx(-1.473, abs=0.002)
    assert (shown.typed_symbol, shown.typed_step_si) == ("Pa", pytest.approx(0.1))
    # The same forwards, with nothing rounded.
    drop = abs(shown.value_si or 0.0)
    through = 0.606 * 12.0 * IN2_M2 * sqrt(2.0 * drop / DENSITY_KG_M3)
    assert through * 0.5 * (1.0 + sqrt(1.0 + drop / 20.0)) == pytest.approx(0.0075, rel=1e-3)


def test_a_hood_shows_less_than_the_flow_by_density_and_by_its_own_drop() -> None:
    """Q = shown · √(1.2014/ρ) · (1 + √(1 + ph/20 Pa))/2 with ph = 1.2 Pa · (shown/30.5 cfm)².

    At 2100 m p = 101325 · 0.95263^5.2559 = 78.51 kPa and ρ = 0.9250 kg/m³, hence √(1.2014/0.9250) =
    1.1396. For 17.4 cfm: 15.27 without the drop; ph = 1.2 · (15.27/30.5)² = 0.301 Pa gives back
    (1 + √1.01504)/2 = 1.00375, so 17.4/1.1396/1.0037 = 15.21 cfm.
    """
    home = house_of(altitude="2100 m")
    visit = visit_of(home, all_read("hood", *FLOWS, hood_drop="1.2 Pa"))
    shown = at_stop(home, visit, 17.4 * CFM_M3_S)
    assert shown is not None
    assert shown.value_si is not None
    assert shown.value_si / CFM_M3_S == pytest.approx(15.21, abs=0.01)


def test_the_last_meter_that_can_stay_there_tells_and_no_other() -> None:
    home = house_of()
    hood = reading("e", "t1", "hood", flows=["31 cfm"])
    swept = reading(
        "f", "t1", "fixed_point", velocities=["2.0 m/s"], **{"section": {"diameter": "100 mm"}}
    )
    readings = [*all_read("vane", *SPEEDS, **CONE), hood, swept]
    shown = at_stop(home, visit_of(home, readings), 0.0075)
    assert shown is not None
    assert (shown.reading_id, shown.dimension) == ("e", Dimension.FLOW)
    # What was corrected since is not in force.
    readings.append(reading("g", "t1", "vane", velocities=["2.6 m/s"], supersedes="e", **CONE))
    shown = at_stop(home, visit_of(home, readings), 0.0075)
    assert shown is not None
    assert shown.reading_id == "g"
    # A reading of another setting is none of this one's.
    boost = reading("h", "t1", "hood", flows=["50 cfm"])
    readings.append({**boost, "setting": "boost"})
    shown = at_stop(home, visit_of(home, readings), 0.0075)
    assert shown is not None
    assert shown.reading_id == "g"


def test_another_meter_than_the_sides_first_shows_what_it_is_off_by() -> None:
    """Read twice everywhere, the second display showed a tenth more than the first all the time."""
    home = house_of()
    direct = {"is_standard_air": False, "accuracy": "5 %"}
    first = [
        reading(f"a{i}", t, "direct_flow", flows=[f"{q} cfm"], **direct, instrument="m")
        for i, (t, q) in enumerate((("t1", 30), ("t2", 20), ("t3", 12)))
    ]
    second = [
        reading(f"b{i}", t, "direct_flow", flows=[f"{1.1 * q} cfm"], **direct, instrument="n")
        for i, (t, q) in enumerate((("t3", 12), ("t2", 20), ("t1", 30)))
    ]
    meters = tuple({"id": i, "name": i, "kind": "built_in"} for i in "mn")
    visit = visit_of(home, [*first, *second], instruments=meters)
    shown = at_stop(home, visit, 0.0075)
    assert shown is not None
    assert shown.instrument_id == "n"
    off = log((shown.value_si or 0.0) / 0.0075) / log(1.1)
    assert 0.8 < off < 1.05


def test_only_a_turn_with_a_stop_has_a_display_to_stop_at() -> None:
    home = house_of()
    visit = visit_of(home, all_read("vane", *SPEEDS, **CONE))
    assert at_stop(home, visit, 0.0075) is not None
    assert at_stop(home, visit, 0.0075, deed=Deed.READ_AS_LEFT) is None
    assert at_stop(home, visit, None) is None
    assert at_stop(home, visit, 0.0075, is_fully_open=True) is None
    assert at_stop(home, visit, 0.0075, read_id="t9") is None
    assert at_stop(home, visit, 0.0075, side=Side.EXTRACT) is None
