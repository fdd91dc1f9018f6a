"""States of air, plain quantities, what is said of an instrument, and which one suits."""

from __future__ import annotations

from datetime import date

import pytest

from tests.unit.instruments.cases import CFM_M3_S, codes, message, meter, reading
from ventwright.house import (
    HumidityChannel,
    Instrument,
    InstrumentKind,
    PressureChannel,
    Section,
    TemperatureChannel,
    Terminal,
    VelocityChannel,
)
from ventwright.instruments import (
    instrument_flags,
    interpret_air_state,
    interpret_scalar,
    station_air_from,
    suitable_methods,
)
from ventwright.quantities import Severity, Side
from ventwright.uncertainty import difference, exact

PRESSURE = exact(101_325.0)
PROBE = meter(
    InstrumentKind.THERMO_HYGROMETER,
    temperature=TemperatureChannel(accuracy_fixed_k=0.5, resolution_k=0.01),
    humidity=HumidityChannel(accuracy_fixed_frac=0.03, resolution_frac=0.001),
)


def state(id: str = "a1", station: str = "SUP", **fields):  # type: ignore[no-untyped-def]
    one = reading("air_state", id=id, station=station, **fields)
    return interpret_air_state(one, instrument=PROBE, pressure_pa=PRESSURE)


def test_dew_point_and_its_uncertainty() -> None:
    """20 °C, 50 %, ± 0.5 K and ± 3 %: dew point 9.27 ± 1.16 °C (independent: psychrolib)."""
    found = state(temperature="20 °C", rel_humidity="50 %")
    assert found.air is not None
    assert found.air.dew_point_c.value == pytest.approx(9.27, abs=0.02)
    # The probe alone gives 1.16; scatter of the look adds a little.
    assert 2.0 * found.air.dew_point_c.u_std == pytest.approx(1.16, abs=0.2)
    assert 2.0 * found.air.dew_point_c.u_std > 1.16
    air = station_air_from(found.air, origin="measured at SUP (reading a1)")
    assert air.temperature_c is found.air.temperature_c
    assert air.density_kg_m3.value == pytest.approx(1.199, abs=0.001)


def test_one_probe_at_two_stations_cancels_in_the_difference() -> None:
    warm = state("a1", "ETA", temperature="22 °C", rel_humidity="40 %").air
    cold = state("a2", "ODA", temperature="5 °C", rel_humidity="70 %").air
    assert warm is not None and cold is not None
    apart = difference(warm.temperature_c, cold.temperature_c)
    assert apart.u_std < 0.8 * warm.temperature_c.u_std
    other = interpret_air_state(
        reading("air_state", id="a3", temperature="5 °C", rel_humidity="70 %"),
        instrument=meter(InstrumentKind.THERMO_HYGROMETER, id="m2"),
        pressure_pa=PRESSURE,
    ).air
    assert other is not None
    assert difference(warm.temperature_c, other.temperature_c).u_std > apart.u_std


def test_scatter_of_temperature_and_humidity_are_two_causes() -> None:
    air = state(temperature="20 °C", rel_humidity="50 %").air
    assert air is not None
    ids = {c.influence.id for c in air.dew_point_c.components}
    assert {"reading:a1:temperature:scatter", "reading:a1:humidity:scatter"} <= ids
    assert {"instrument:m1:temperature:air_state", "instrument:m1:humidity:air_state"} <= ids


def test_a_dew_point_or_wet_bulb_serves_as_well() -> None:
    by_rh = state(temperature="20 °C", rel_humidity="50 %").air
    by_dew = state(temperature="20 °C", dew_point="9.27 °C").air
    by_wet = state(temperature="20 °C", wet_bulb="13.79 °C").air
    assert by_rh is not None and by_dew is not None and by_wet is not None
    for other in (by_dew, by_wet):
        assert other.rel_humidity_frac.value == pytest.approx(0.5, abs=0.003)
    assert by_dew.dew_point_c.u_std == pytest.approx(by_rh.dew_point_c.u_std, rel=0.02)


@pytest.mark.parametrize(
    ("fields", "code"),
    [
        ({"temperature": "20 °C"}, "humidity-missing"),
        ({"temperature": "20 °C", "dew_point": "25 °C"}, "air-above-saturation"),
        ({"temperature": "120 °C", "rel_humidity": "10 %"}, "air-out-of-range"),
        ({"temperature": "-5 °C", "rel_humidity": "80 %"}, "humidity-over-missing"),
    ],
)
def test_states_that_cannot_be_are_refused(fields: dict[str, str], code: str) -> None:
    found = state(**fields)
    assert found.air is None
    refusal = found.flags[-1]
    assert refusal.severity is Severity.REFUSAL
    assert refusal.where == "reading a1"
    if code != "humidity-over-missing":
        assert refusal.code == code


def test_a_defrosting_state_is_flagged_and_kept() -> None:
    found = state(temperature="20 °C", rel_humidity="50 %", is_defrosting=True)
    assert codes(found) == ["defrosting"]
    assert found.air is not None


def test_a_probe_outside_its_range_is_refused() -> None:
    probe = meter(
        InstrumentKind.THERMO_HYGROMETER,
        temperature=TemperatureChannel(accuracy_fixed_k=0.5, range_min_c=0.0, range_max_c=50.0),
    )
    one = reading("air_state", temperature="-5 °C", rel_humidity="80 %", humidity_over="water")
    found = interpret_air_state(one, instrument=probe, pressure_pa=PRESSURE)
    assert "0.0 °C (32 °F)" in message(found, "outside-range")


def test_plain_quantities() -> None:
    def scalar(kind: InstrumentKind, method: str, station: str, **fields):  # type: ignore[no-untyped-def]
        return interpret_scalar(reading(method, station=station, **fields), instrument=meter(kind))

    power = scalar(InstrumentKind.POWER_METER, "power", "unit", power="62 W")
    assert power.estimate is not None and 0.5 < power.estimate.u_std < 3.0
    surface = scalar(
        InstrumentKind.SURFACE_THERMOMETER,
        "surface_temperature",
        "surface:s1",
        temperature="13.5 °C",
    )
    assert surface.estimate is not None
    assert "reading:r1:contact" in {c.influence.id for c in surface.estimate.components}
    house = scalar(
        InstrumentKind.MANOMETER, "pressure_difference", "house", pressure_diff="-1.2 Pa"
    )
    assert house.estimate is not None and house.estimate.value == pytest.approx(-1.2)
    barometer = scalar(InstrumentKind.BAROMETER, "barometer", "house", pressure="83.5 kPa")
    assert barometer.estimate is not None
    assert barometer.estimate.u_std == pytest.approx(300 / 3**0.5, rel=0.01)
    idle = scalar(InstrumentKind.POWER_METER, "power", "unit", power="0 W")
    assert idle.estimate is None and codes(idle) == ["reading-not-positive"]


def test_a_gauge_reads_to_both_sides_of_zero() -> None:
    gauge = meter(
        InstrumentKind.MANOMETER,
        pressure=PressureChannel(accuracy_fixed_pa=0.2, range_min_pa=0.0, range_max_pa=50.0),
    )
    one = reading("pressure_difference", station="house", pressure_diff="-3 Pa")
    found = interpret_scalar(one, instrument=gauge)
    assert found.estimate is not None and found.estimate.value == pytest.approx(-3.0)
    far = reading("pressure_difference", station="house", pressure_diff="-80 Pa")
    assert codes(interpret_scalar(far, instrument=gauge)) == ["outside-range"]


def test_methods_are_not_mixed_up() -> None:
    vane = reading("vane", velocities=["2 m/s"], area="12 in²")
    with pytest.raises(ValueError, match="no plain quantity"):
        interpret_scalar(vane, instrument=None)
    with pytest.raises(ValueError, match="no state of air"):
        interpret_air_state(vane, instrument=None, pressure_pa=PRESSURE)


@pytest.mark.parametrize(
    ("dates", "on", "expected"),
    [
        ({}, date(2026, 3, 4), "calibration-unknown"),
        ({"calibration_due": date(2026, 1, 1)}, date(2026, 3, 4), "calibration-overdue"),
        ({"calibration_due": date(2026, 3, 4)}, date(2026, 3, 4), None),
        ({"calibrated_on": date(2024, 1, 1)}, date(2026, 3, 4), "calibration-old"),
        ({"calibrated_on": date(2025, 9, 1)}, date(2026, 3, 4), None),
        ({"calibration_due": date(2020, 1, 1)}, None, None),
    ],
)
def test_calibration(dates: dict[str, date], on: date | None, expected: str | None) -> None:
    flags = instrument_flags(
        Instrument(
            id="m1",
            kind=InstrumentKind.VANE_METER,
            velocity=VelocityChannel(accuracy_fixed_m_s=0.1),
            **dates,
        ),
        on=on,
    )
    assert [f.code for f in flags] == ([] if expected is None else [expected])


def test_class_figures_are_said_once_for_an_instrument() -> None:
    bare = instrument_flags(meter(InstrumentKind.THERMO_HYGROMETER), on=None)
    assert "temperature and humidity" in bare[-1].message
    assert "memory" in bare[-1].message
    half = meter(
        InstrumentKind.THERMO_HYGROMETER, temperature=TemperatureChannel(accuracy_fixed_k=0.3)
    )
    assert "for humidity:" in instrument_flags(half, on=None)[-1].message
    pitot = meter(InstrumentKind.PITOT, pressure=PressureChannel(accuracy_fixed_pa=0.5))
    assert "class-figures" not in [f.code for f in instrument_flags(pitot, on=None)]


AT_HAND = (
    meter(InstrumentKind.VANE_METER, id="vane"),
    meter(InstrumentKind.FLOW_BOX, id="box"),
    meter(InstrumentKind.FLOW_HOOD, id="hood"),
    meter(InstrumentKind.COMPENSATED_HOOD, id="fan_hood"),
    meter(InstrumentKind.THERMAL_ANEMOMETER, id="wire"),
)


def advice(flow_cfm: float, side: Side, **fields):  # type: ignore[no-untyped-def]
    terminal = Terminal(id="t1", side=side, room="bath", **fields.pop("terminal", {}))
    return suitable_methods(
        flow_m3_s=flow_cfm * CFM_M3_S,
        terminal=terminal,
        side=None,
        instruments=fields.pop("instruments", AT_HAND),
        duct=fields.pop("duct", None),
    )


def test_a_vane_that_would_not_turn_is_said_with_numbers() -> None:
    found = advice(12, Side.EXTRACT, terminal={"face_area_m2": 0.0283})
    vane = next(a for a in found if a.instrument == "vane")
    assert not vane.is_suitable
    assert vane.expected_u_frac is None
    assert vane.reasons[0] == (
        "the vane does not turn below about 0.40 m/s (79 fpm); this opening at the design flow "
        "gives 0.20 m/s (39 fpm): use a pressure-type box"
    )


def test_the_box_names_its_opening_and_is_for_extract() -> None:
    extract = next(a for a in advice(20, Side.EXTRACT) if a.instrument == "box")
    assert extract.is_suitable and extract.opening_area_m2 is not None
    assert extract.opening_area_m2 / 0.0254**2 == pytest.approx(10.8, abs=0.1)
    assert any("(10.8 in²)" in reason for reason in extract.reasons)
    supply = next(a for a in advice(20, Side.SUPPLY) if a.instrument == "box")
    assert not supply.is_suitable
    assert "extract" in supply.reasons[0]


def test_a_coarse_gauge_is_given_a_smaller_opening() -> None:
    coarse = meter(
        InstrumentKind.FLOW_BOX,
        id="coarse",
        pressure=PressureChannel(accuracy_fixed_pa=0.5, resolution_pa=1.0),
    )
    found = advice(20, Side.EXTRACT, instruments=(*AT_HAND, coarse))
    by_id = {a.instrument: a.opening_area_m2 for a in found}
    assert by_id["coarse"] < by_id["box"]


def test_advice_is_ranked_and_a_hood_too_wide_comes_last() -> None:
    found = advice(12, Side.EXTRACT, duct=Section(diameter_m=0.1))
    suitable = [a.expected_u_frac for a in found if a.is_suitable]
    assert suitable == sorted(suitable)
    flags = [a.is_suitable for a in found]
    assert flags == sorted(flags, reverse=True)
    hood = next(a for a in found if a.instrument == "hood")
    assert not hood.is_suitable
    assert "too wide" in hood.reasons[-1]
    assert {a.method.value for a in found if a.instrument == "wire"} == {"sweep", "traverse"}


def test_no_flow_or_no_instrument_gives_no_advice() -> None:
    assert advice(0, Side.EXTRACT) == ()
    assert advice(12, Side.EXTRACT, instruments=()) == ()
    assert suitable_methods(
        flow_m3_s=0.05,
        terminal=None,
        side=None,
        instruments=AT_HAND,
        duct=Section(width_m=0.2, height_m=0.1),
    )
