"""Vane, flow box, hood and pressure at a terminal; the unit's table; displays."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from tests.unit.instruments.cases import (
    CFM_M3_S,
    IN2_M2,
    codes,
    flow_of,
    interpret,
    message,
    meter,
    plain_air,
    reading,
    share_of,
)
from ventwright.house import (
    FlowChannel,
    InstrumentKind,
    OpeningPoint,
    PressureChannel,
    Reading,
    Terminal,
    VelocityChannel,
)
from ventwright.instruments import box_opening_for
from ventwright.quantities import Side
from ventwright.uncertainty import interval

VANE = meter(InstrumentKind.VANE_METER)
GAUGE = meter(
    InstrumentKind.MANOMETER,
    pressure=PressureChannel(
        accuracy_of_reading_frac=0.01, accuracy_fixed_pa=0.15, resolution_pa=0.1
    ),
)
INCH_GAUGE = meter(
    InstrumentKind.MANOMETER,
    pressure=PressureChannel(accuracy_fixed_pa=2.5, resolution_pa=2.49),
)
EXTRACT = Terminal(id="t1", side=Side.EXTRACT, room="bath")
SUPPLY = Terminal(id="t2", side=Side.SUPPLY, room="bed")


def vane(text: str, **fields):  # type: ignore[no-untyped-def]
    fields = {"area": "12.2 in²", "factor_ratio": 1.02, **fields}
    return reading("vane", station="terminal:t1", velocities=[text], **fields)


def box(*texts: str, **fields):  # type: ignore[no-untyped-def]
    fields = {"opening_area": "9 in²", **fields}
    return reading("flow_box", station="terminal:t1", drops=list(texts), **fields)


def changed(one: Reading, **fields: object) -> Reading:
    """The reading with other values than a parser would let through."""
    return replace(one, look=replace(one.look, **fields))  # type: ignore[arg-type]


def test_a_vane_is_factor_times_area_times_velocity() -> None:
    found = interpret(vane("2 m/s"), VANE, terminal=EXTRACT)
    assert flow_of(found).value == pytest.approx(1.02 * 12.2 * IN2_M2 * 2.0)
    thin = interpret(vane("2 m/s"), VANE, terminal=EXTRACT, air=plain_air(0.985))
    assert flow_of(thin).value == pytest.approx(flow_of(found).value)


def test_a_vane_below_its_start_is_refused_with_numbers() -> None:
    found = interpret(vane("0.2 m/s"), VANE, terminal=EXTRACT)
    assert found.figure is None
    text = message(found, "vane-below-start")
    assert "0.40 m/s (79 fpm)" in text
    assert "0.20 m/s (39 fpm)" in text
    assert "memory" in text and "pressure-type box" in text
    own = meter(
        InstrumentKind.VANE_METER,
        velocity=VelocityChannel(
            accuracy_fixed_m_s=0.1, start_velocity_m_s=0.15, range_min_m_s=0.15
        ),
    )
    assert interpret(vane("0.2 m/s"), own, terminal=EXTRACT).figure is not None
    assert "memory" not in message(interpret(vane("0.1 m/s"), own), "vane-below-start")


def test_a_vane_without_a_factor_and_on_a_supply_jet_is_wider() -> None:
    known = flow_of(interpret(vane("2 m/s"), VANE, terminal=EXTRACT))
    bare = interpret(changed(vane("2 m/s"), factor_ratio=None), VANE, terminal=EXTRACT)
    assert flow_of(bare).u_std > 1.5 * known.u_std
    assert "vane-factor-unknown" in codes(bare)
    jet = interpret(vane("2 m/s"), VANE, terminal=SUPPLY)
    assert "vane-swirl" in codes(jet)
    assert flow_of(jet).u_std > known.u_std


def test_a_cone_takes_some_flow_away_and_half_of_the_most_is_given_back() -> None:
    bare = flow_of(interpret(vane("2 m/s"), VANE, terminal=EXTRACT))
    cone = flow_of(interpret(vane("2 m/s", has_cone=True), VANE, terminal=EXTRACT))
    most = math.sqrt(1.0 + 1.5 * 0.5 * 1.2014 * 4.0 / 20.0)
    assert cone.value / bare.value == pytest.approx(0.5 * (1.0 + most), rel=1e-4)


@pytest.mark.parametrize("fields", [{"area_m2": 0.0}, {"factor_ratio": 0.0}])
def test_a_vane_without_area_or_factor_is_refused(fields: dict[str, float]) -> None:
    assert interpret(changed(vane("2 m/s"), **fields), VANE).figure is None


def test_a_box_follows_the_root_of_the_drop() -> None:
    low, high = (
        flow_of(interpret(box(text), GAUGE, terminal=EXTRACT)).value for text in ("1.5 Pa", "6 Pa")
    )
    # Twice the flow, and a little more given back at the larger drop.
    assert 2.0 < high / low < 2.15


def test_the_sign_of_the_box_pressure_does_not_matter_but_must_agree() -> None:
    positive = interpret(box("3 Pa", "3.2 Pa"), GAUGE, terminal=EXTRACT)
    negative = interpret(box("-3 Pa", "-3.2 Pa"), GAUGE, terminal=EXTRACT)
    assert flow_of(positive).value == flow_of(negative).value
    assert interpret(box("3 Pa", "-3.2 Pa"), GAUGE, terminal=EXTRACT).figure is None


def test_a_small_drop_is_refused_with_the_opening_to_use() -> None:
    found = interpret(box("0.6 Pa"), GAUGE, terminal=EXTRACT)
    text = message(found, "box-drop-small")
    assert "58 cm² (9.0 in²)" in text
    assert "draught" in text
    assert "26 cm² (4.0 in²), which gives 3 Pa" in text


def test_an_inch_gauge_cannot_read_a_box() -> None:
    """Common practice, no source: 12 cfm through 9 in² is about 1.5 Pa."""
    found = interpret(box("1.5 Pa"), INCH_GAUGE, terminal=EXTRACT)
    assert found.figure is None
    text = message(found, "gauge-too-coarse")
    assert "12 cfm) through 58 cm² (9.0 in²) of opening is about 1.5 Pa (0.006 in. w.c.)" in text
    assert "2.5 Pa (0.010 in. w.c.)" in text
    middling = meter(
        InstrumentKind.MANOMETER,
        pressure=PressureChannel(accuracy_fixed_pa=0.25, resolution_pa=0.5),
    )
    found = interpret(box("1.5 Pa"), middling, terminal=EXTRACT)
    assert "gauge-coarse" in codes(found)
    assert found.figure is not None


def test_a_large_drop_is_warned_of() -> None:
    found = interpret(box("14 Pa"), GAUGE, terminal=EXTRACT)
    assert "box-drop-large" in codes(found)
    assert "box-takes-flow" in codes(found)


def test_a_box_on_supply_is_refused_unless_it_has_a_coefficient_of_its_own() -> None:
    refused = interpret(box("3 Pa"), GAUGE, terminal=SUPPLY)
    assert codes(refused)[-1] == "box-on-supply"
    assert refused.figure is None
    widened = interpret(box("3 Pa", discharge_coeff=0.61), GAUGE, terminal=SUPPLY)
    assert "box-on-supply" in codes(widened)
    extract = interpret(box("3 Pa", discharge_coeff=0.61), GAUGE, terminal=EXTRACT)
    assert flow_of(widened).u_std > 1.5 * flow_of(extract).u_std
    assert flow_of(widened).value == pytest.approx(flow_of(extract).value)


def test_the_pressures_behind_the_terminal_undo_what_the_box_takes() -> None:
    pressures = {"terminal_pressure": "30.7 Pa", "terminal_pressure_free": "30 Pa"}
    found = interpret(box("2 Pa", **pressures), GAUGE, terminal=EXTRACT)
    with_box = 0.606 * 9 * IN2_M2 * math.sqrt(2.0 * 2.0 / 1.20143)
    assert flow_of(found).value == pytest.approx(with_box * math.sqrt(30 / 28.7), rel=1e-4)
    unknown = flow_of(interpret(box("2 Pa"), GAUGE, terminal=EXTRACT))
    assert share_of(unknown, "station:terminal:t1:insertion") > 0.0
    assert share_of(flow_of(found), "station:terminal:t1:insertion") == 0.0
    one_side = interpret(box("2 Pa", terminal_pressure="30.7 Pa"), GAUGE, terminal=EXTRACT)
    assert with_box < flow_of(one_side).value < with_box * math.sqrt(30.7 / 28.7)


@pytest.mark.parametrize(
    "pressures",
    [
        {"terminal_pressure": "1.8 Pa"},
        {"terminal_pressure": "30.7 Pa", "terminal_pressure_free": "20 Pa"},
    ],
)
def test_impossible_pressures_behind_the_terminal_are_left_aside(
    pressures: dict[str, str],
) -> None:
    found = interpret(box("2 Pa", **pressures), GAUGE, terminal=EXTRACT)
    assert "terminal-pressure-implausible" in codes(found)
    assert found.figure is not None


@pytest.mark.parametrize("fields", [{"opening_area_m2": 0.0}, {"discharge_coeff": 1.4}])
def test_a_box_without_area_or_with_an_impossible_coefficient(fields: dict[str, float]) -> None:
    assert interpret(changed(box("3 Pa"), **fields), GAUGE, terminal=EXTRACT).figure is None


def test_opening_for_a_flow() -> None:
    area = box_opening_for(flow_m3_s=20 * CFM_M3_S, drop_pa=3.0)
    assert area / IN2_M2 == pytest.approx(20 / (1.07 * math.sqrt(3)), rel=0.003)
    with pytest.raises(ValueError, match="positive"):
        box_opening_for(flow_m3_s=0.0)


def test_openings_of_one_box_share_its_coefficient_and_not_their_areas() -> None:
    ids = [
        {c.influence.id for c in flow_of(interpret(box("3 Pa", opening_area=a), GAUGE)).components}
        for a in ("9 in²", "16 in²")
    ]
    assert "instrument:m1:flow_box:discharge_coeff" in ids[0] & ids[1]
    assert len([i for i in ids[0] ^ ids[1] if ":opening:" in i]) == 2


def test_a_passive_hood_at_a_small_flow_says_how_much_its_fixed_limit_is() -> None:
    hood = meter(InstrumentKind.FLOW_HOOD)
    one = reading("hood", station="terminal:t1", flows=["12 cfm"])
    found = interpret(one, hood, terminal=EXTRACT)
    assert "58 %" in message(found, "hood-small-flow")
    assert interval(flow_of(found)).low < 0.5 * flow_of(found).value
    fan = interpret(one, meter(InstrumentKind.COMPENSATED_HOOD), terminal=EXTRACT)
    assert flow_of(fan).u_std < 0.3 * flow_of(found).u_std
    assert "hood-drop-unknown" in codes(found)
    assert "hood-drop-unknown" not in codes(fan)


def test_a_hood_below_its_typed_range_is_refused() -> None:
    hood = meter(
        InstrumentKind.FLOW_HOOD,
        flow=FlowChannel(accuracy_of_reading_frac=0.03, range_min_m3_s=25 * CFM_M3_S),
    )
    found = interpret(reading("hood", station="terminal:t1", flows=["12 cfm"]), hood)
    assert "12 cfm" in message(found, "outside-range")
    assert "25 cfm" in message(found, "outside-range")


def test_what_a_hood_takes_is_given_back_where_its_drop_is_known() -> None:
    hood = meter(InstrumentKind.FLOW_HOOD)
    plain = reading("hood", station="terminal:t1", flows=["40 cfm"])
    with_drop = reading("hood", station="terminal:t1", flows=["40 cfm"], hood_drop="3 Pa")
    both = reading(
        "hood",
        station="terminal:t1",
        flows=["40 cfm"],
        hood_drop="3 Pa",
        terminal_pressure="40 Pa",
    )
    low, high, middle = (flow_of(interpret(r, hood)).value for r in (plain, with_drop, both))
    assert low < middle < high


def test_a_terminals_pressure_with_its_factor() -> None:
    """10 Pa at 1.5 L/s/√Pa is 10.1 cfm; a gauge ± 1 Pa makes it ± 5 %."""
    one = reading(
        "terminal_pressure", station="terminal:t1", drops=["10 Pa"], flow_factor="1.5 L/s/√Pa"
    )
    gauge = meter(InstrumentKind.MANOMETER, pressure=PressureChannel(accuracy_fixed_pa=1.0))
    flow = flow_of(interpret(one, gauge))
    assert flow.value / CFM_M3_S == pytest.approx(10.05, abs=0.05)
    both = math.hypot(
        share_of(flow, "instrument:m1:pressure:terminal_pressure"),
        share_of(flow, "reading:r1:zero"),
    )
    assert both * math.sqrt(3.0) == pytest.approx(0.05, abs=1e-3)


def table_terminal() -> Terminal:
    points = tuple(
        OpeningPoint(opening_turns=t, flow_factor=k * 1e-3)
        for t, k in ((8.0, 3.0), (2.0, 1.0), (4.0, 2.0))
    )
    return replace(EXTRACT, opening_table=points)


def test_turns_and_the_terminals_table_give_the_factor() -> None:
    def at(turns: float):  # type: ignore[no-untyped-def]
        one = reading(
            "terminal_pressure",
            station="terminal:t1",
            drops=["16 Pa"],
            opening=f"{turns} turns",
        )
        return interpret(one, GAUGE, terminal=table_terminal())

    assert flow_of(at(3.0)).value == pytest.approx(4.0 * 1.5e-3)
    assert flow_of(at(8.0)).value == pytest.approx(4.0 * 3.0e-3)
    assert "2 to 8" in message(at(9.0), "outside-table")
    # A tenth of a turn matters more where the table is steep.
    assert flow_of(at(3.0)).u_std / 6e-3 > flow_of(at(7.0)).u_std / 11e-3


def test_a_terminal_pressure_without_a_factor_is_refused() -> None:
    one = reading("terminal_pressure", station="terminal:t1", drops=["16 Pa"])
    assert codes(interpret(one, GAUGE, terminal=EXTRACT))[-1] == "flow-factor-missing"
    zero = changed(one, flow_factor=0.0)
    assert codes(interpret(zero, GAUGE))[-1] == "flow-factor-missing"
