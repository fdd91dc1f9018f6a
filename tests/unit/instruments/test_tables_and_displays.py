"""The unit's table of pressure and flow, and flows taken from a display."""

from __future__ import annotations

from dataclasses import replace

import pytest

from tests.unit.instruments.cases import (
    CFM_M3_S,
    codes,
    flow_of,
    interpret,
    message,
    meter,
    plain_air,
    reading,
)
from ventwright.house import (
    AirReference,
    ExchangerTable,
    InstrumentKind,
    PressureChannel,
    PressureFlowPoint,
    Recovery,
    VentilationUnit,
)
from ventwright.instruments import interpret_flow
from ventwright.quantities import AirKind
from ventwright.uncertainty import exact

GAUGE = meter(
    InstrumentKind.MANOMETER,
    pressure=PressureChannel(
        accuracy_of_reading_frac=0.01, accuracy_fixed_pa=0.15, resolution_pa=0.1
    ),
)


def unit(*points: tuple[float, float], includes_filter: bool = False) -> VentilationUnit:
    table = ExchangerTable(
        stream=AirKind.SUPPLY,
        points=tuple(PressureFlowPoint(pressure_pa=p, flow_m3_s=q) for p, q in points),
        includes_filter=includes_filter,
        accuracy_frac=0.03,
    )
    return VentilationUnit(name="unit", recovery=Recovery.HEAT, exchanger_tables=(table,))


TABLE = ((30.0, 0.03), (60.0, 0.058), (90.0, 0.082))


def exchanger(text: str, unit_of_house: VentilationUnit | None, **fields):  # type: ignore[no-untyped-def]
    one = reading("exchanger_pressure", drops=[text], station=fields.pop("station", "SUP"))
    return interpret(one, GAUGE, ventilation_unit=unit_of_house, **fields)


def test_the_units_table_is_met_at_its_points_and_rises_between() -> None:
    reference = plain_air(101325 / (287.055 * 293.15))
    flows = [
        flow_of(exchanger(f"{p} Pa", unit(*TABLE), air=reference)).value
        for p in (30, 40, 50, 60, 70, 80, 90)
    ]
    assert flows[0] == pytest.approx(0.03)
    assert flows[3] == pytest.approx(0.058)
    assert flows[-1] == pytest.approx(0.082)
    assert flows == sorted(flows)


@pytest.mark.parametrize("text", ["29 Pa", "91 Pa"])
def test_outside_the_units_table_there_is_no_flow(text: str) -> None:
    found = exchanger(text, unit(*TABLE))
    assert found.figure is None
    assert "30.0 Pa" in message(found, "outside-table")


def test_a_unit_without_a_usable_table_is_refused() -> None:
    assert "tables given: none" in message(exchanger("60 Pa", None), "table-missing")
    assert "SUP" in message(exchanger("60 Pa", unit(*TABLE), station="ETA"), "table-missing")
    falling = unit((30.0, 0.05), (60.0, 0.03))
    assert codes(exchanger("40 Pa", falling))[-1] == "table-not-rising"
    assert codes(exchanger("40 Pa", unit((30.0, 0.03))))[-1] == "table-not-rising"
    assert codes(exchanger("40 Pa", unit((0.0, 0.0), (60.0, 0.03))))[-1] == "table-not-rising"


def test_cold_air_flows_more_easily_through_laminar_passages() -> None:
    linear = unit((30.0, 0.03), (90.0, 0.09))
    density = 101325 / (287.055 * 293.15)
    warm = plain_air(density)
    cold = replace(warm, temperature_c=exact(-6.67))
    gain = (
        flow_of(exchanger("60 Pa", linear, air=cold)).value
        / flow_of(exchanger("60 Pa", linear, air=warm)).value
    )
    # 20 °C to 20 °F lowers the viscosity by 7 %.
    assert gain == pytest.approx(1.077, abs=0.003)
    unknown = replace(warm, temperature_c=None)
    wide = flow_of(exchanger("60 Pa", linear, air=unknown))
    assert wide.u_std > flow_of(exchanger("60 Pa", linear, air=warm)).u_std


def test_a_table_that_takes_in_the_filter_is_wider_and_says_so() -> None:
    with_filter = exchanger("60 Pa", unit(*TABLE, includes_filter=True))
    assert "table-includes-filter" in codes(with_filter)
    assert flow_of(with_filter).u_std > flow_of(exchanger("60 Pa", unit(*TABLE))).u_std


def test_a_displayed_flow_says_whether_it_is_of_standard_air() -> None:
    thin = plain_air(0.985)

    def display(**fields):  # type: ignore[no-untyped-def]
        one = reading("direct_flow", flows=["100 cfm"], **fields)
        return interpret(one, meter(InstrumentKind.BUILT_IN), air=thin)

    standard, actual, unknown = (
        display(is_standard_air=True),
        display(is_standard_air=False),
        display(),
    )
    assert flow_of(actual).value / CFM_M3_S == pytest.approx(100.0)
    assert flow_of(standard).value / CFM_M3_S == pytest.approx(100 * 1.20143 / 0.985, abs=0.1)
    assert {"standard-air-unknown", "air-reference-unknown"} <= set(codes(unknown))
    assert flow_of(actual).value < flow_of(unknown).value < flow_of(standard).value
    assert flow_of(unknown).u_std > flow_of(actual).u_std


def test_a_flow_from_nowhere_is_wide_and_a_stated_accuracy_is_used() -> None:
    bare = interpret(reading("direct_flow", flows=["100 cfm"], is_standard_air=True), None)
    assert "accuracy-unknown" in codes(bare)
    stated = interpret(
        reading("direct_flow", flows=["100 cfm"], is_standard_air=True, accuracy="5 %"), None
    )
    assert flow_of(stated).u_std < 0.5 * flow_of(bare).u_std


def test_a_typed_reference_settles_a_hood() -> None:
    one = reading("hood", station="terminal:t1", flows=["40 cfm"])
    thin = plain_air(0.985)
    typed = meter(InstrumentKind.COMPENSATED_HOOD, air_reference=AirReference.STANDARD)
    found = interpret(one, typed, air=thin)
    assert flow_of(found).value / CFM_M3_S == pytest.approx(40 * 1.20143 / 0.985, abs=0.1)
    open_one = interpret(one, meter(InstrumentKind.COMPENSATED_HOOD), air=thin)
    assert "air-reference-unknown" in codes(open_one)
    assert flow_of(open_one).u_std > flow_of(found).u_std


def test_a_state_of_air_is_no_flow() -> None:
    one = reading("air_state", temperature="20 °C", rel_humidity="50 %")
    with pytest.raises(ValueError, match="reads no flow"):
        interpret_flow(one, instrument=None, air=plain_air())
