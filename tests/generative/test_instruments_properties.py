"""Whatever is typed, a reading gives a sound flow or a reason; never an exception, never NaN."""

from __future__ import annotations

import math
from dataclasses import replace

from hypothesis import assume, given
from hypothesis import strategies as st

from tests.unit.instruments.cases import (
    FPM_M_S,
    flow_of,
    interpret,
    meter,
    plain_air,
    reading,
    share_of,
)
from ventwright.house import (
    AirState,
    DirectFlow,
    ExchangerPressure,
    ExchangerTable,
    FixedPoint,
    FlowBox,
    Hood,
    InstrumentKind,
    Look,
    Method,
    OpeningPoint,
    Phase,
    PointPosition,
    PressureFlowPoint,
    Reading,
    Recovery,
    Section,
    Station,
    StationKind,
    Sweep,
    SweepPath,
    Terminal,
    TerminalPressure,
    Traverse,
    TraverseRule,
    Vane,
    VentilationUnit,
)
from ventwright.instruments import interpret_air_state, interpret_flow, suitable_methods
from ventwright.quantities import AirKind, HumidityOver, Severity, Side
from ventwright.uncertainty import exact, interval

awkward = st.one_of(
    st.sampled_from([0.0, -0.0, -1.0, 1e-12, 1e-3, 0.5, 1e6, 1e300, math.nan, math.inf, -math.inf]),
    st.floats(-10.0, 100.0),
)
maybe = st.one_of(st.none(), awkward)
several = st.lists(awkward, max_size=4).map(tuple)
lines = st.lists(st.lists(awkward, max_size=7).map(tuple), max_size=4).map(tuple)
sections = st.one_of(
    st.builds(Section, diameter_m=maybe),
    st.builds(Section, width_m=maybe, height_m=maybe),
)
looks: dict[Method, st.SearchStrategy[Look]] = {
    Method.SWEEP: st.builds(
        Sweep,
        section=sections,
        velocities_m_s=several,
        path=st.sampled_from(SweepPath),
        duration_s=maybe,
        straight_upstream_m=maybe,
        straight_downstream_m=maybe,
    ),
    Method.TRAVERSE: st.builds(
        Traverse,
        section=sections,
        rule=st.sampled_from(TraverseRule),
        velocities_m_s=lines,
        velocity_pressures_pa=lines,
        straight_upstream_m=maybe,
    ),
    Method.FIXED_POINT: st.builds(
        FixedPoint,
        section=sections,
        velocities_m_s=several,
        position=st.sampled_from(PointPosition),
    ),
    Method.VANE: st.builds(
        Vane,
        velocities_m_s=several,
        area_m2=awkward,
        factor_ratio=maybe,
        has_cone=st.booleans(),
    ),
    Method.FLOW_BOX: st.builds(
        FlowBox,
        drops_pa=several,
        opening_area_m2=awkward,
        discharge_coeff=maybe,
        terminal_pressure_pa=maybe,
        terminal_pressure_free_pa=maybe,
    ),
    Method.TERMINAL_PRESSURE: st.builds(
        TerminalPressure, drops_pa=several, flow_factor=maybe, opening_turns=maybe
    ),
    Method.EXCHANGER_PRESSURE: st.builds(ExchangerPressure, drops_pa=several),
    Method.HOOD: st.builds(
        Hood, flows_m3_s=several, terminal_pressure_pa=maybe, hood_drop_pa=maybe
    ),
    Method.DIRECT_FLOW: st.builds(
        DirectFlow,
        flows_m3_s=several,
        is_standard_air=st.one_of(st.none(), st.booleans()),
        accuracy_frac=maybe,
    ),
}
TABLE = ExchangerTable(
    stream=AirKind.SUPPLY,
    points=(
        PressureFlowPoint(pressure_pa=1.0, flow_m3_s=0.002),
        PressureFlowPoint(pressure_pa=90.0, flow_m3_s=0.08),
    ),
)
UNIT = VentilationUnit(name="unit", recovery=Recovery.HEAT, exchanger_tables=(TABLE,))
TERMINAL = Terminal(
    id="t1",
    side=Side.EXTRACT,
    room="bath",
    opening_table=(
        OpeningPoint(opening_turns=0.0, flow_factor=0.0),
        OpeningPoint(opening_turns=9.0, flow_factor=0.004),
    ),
)


@st.composite
def readings(draw: st.DrawFn) -> Reading:
    method = draw(st.sampled_from(sorted(looks)))
    return Reading(
        id="r1",
        station=Station(kind=StationKind.PORT, stream=AirKind.SUPPLY),
        method=method,
        look=draw(looks[method]),
        setting="continuous",
        phase=Phase.AS_FOUND,
    )


@given(
    readings(),
    st.one_of(st.none(), st.sampled_from(InstrumentKind)),
    st.one_of(st.none(), st.sampled_from(Side)),
    st.booleans(),
)
def test_any_reading_gives_a_sound_flow_or_a_reason(
    one: Reading, kind: InstrumentKind | None, side: Side | None, has_terminal: bool
) -> None:
    found = interpret_flow(
        one,
        instrument=None if kind is None else meter(kind),
        air=plain_air(1.1),
        ventilation_unit=UNIT,
        terminal=TERMINAL if has_terminal else None,
        side=side,
    )
    for flag in found.flags:
        assert flag.message and flag.where == "reading r1"
        assert flag.remedy or flag.severity is Severity.NOTE
    if found.figure is None:
        assert [f.severity for f in found.flags].count(Severity.REFUSAL) == 1
        return
    for estimate in (
        found.figure.flow_m3_s,
        found.figure.std_flow_m3_s,
        found.figure.mass_flow_kg_s,
    ):
        assert math.isfinite(estimate.value) and estimate.value > 0.0
        assert math.isfinite(estimate.u_std) and estimate.u_std > 0.0
        assert estimate.dof > 1.0


@given(maybe, maybe, maybe, maybe, st.one_of(st.none(), st.sampled_from(HumidityOver)))
def test_any_state_gives_air_or_a_reason(
    temperature: float | None,
    humidity: float | None,
    dew: float | None,
    wet: float | None,
    over: HumidityOver | None,
) -> None:
    one = Reading(
        id="a1",
        station=Station(kind=StationKind.PORT, stream=AirKind.SUPPLY),
        method=Method.AIR_STATE,
        look=AirState(
            temperature_c=20.0 if temperature is None else temperature,
            rel_humidity_frac=humidity,
            dew_point_c=dew,
            wet_bulb_c=wet,
            humidity_over=over,
        ),
        setting="continuous",
        phase=Phase.AS_FOUND,
    )
    found = interpret_air_state(one, instrument=None, pressure_pa=exact(101_325.0))
    if found.air is None:
        assert any(f.severity is Severity.REFUSAL for f in found.flags)
    else:
        assert math.isfinite(found.air.dew_point_c.u_std)


@given(st.lists(st.floats(0.8, 3.0), min_size=1, max_size=5))
def test_reading_the_same_again_never_raises_the_scatter(velocities: list[float]) -> None:
    def scatter(values: tuple[float, ...]) -> float:
        one = reading("sweep", section={"diameter": "6 in"}, velocities=["1 m/s"], path="stops")
        looked = replace(one, look=replace(one.look, velocities_m_s=values))
        flow = flow_of(interpret(looked, meter(InstrumentKind.THERMAL_ANEMOMETER)))
        return share_of(flow, "reading:r1:scatter")

    values = tuple(velocities)
    mean = math.fsum(values) / len(values)
    assert scatter((*values, mean)) <= scatter(values) * (1.0 + 1e-9)
    assert scatter((*values, *values)) <= scatter(values) * (1.0 + 1e-9)


@given(st.floats(100.0, 2000.0), st.sampled_from(["one_diameter", "zigzag", "stops", "unknown"]))
def test_the_unit_typed_in_does_not_matter(velocity_fpm: float, path: str) -> None:
    def flow(section: str, velocity: str):  # type: ignore[no-untyped-def]
        one = reading("sweep", section={"diameter": section}, velocities=[velocity], path=path)
        return flow_of(interpret(one, meter(InstrumentKind.THERMAL_ANEMOMETER)))

    inches = flow("6 in", f"{velocity_fpm!r} fpm")
    metric = flow("152.4 mm", f"{velocity_fpm * FPM_M_S!r} m/s")
    assert math.isclose(inches.value, metric.value, rel_tol=1e-9)
    assert math.isclose(inches.u_std, metric.u_std, rel_tol=1e-9)


@given(st.floats(0.2, 30.0), st.floats(1.01, 2.0))
def test_a_larger_indication_is_a_larger_flow(low: float, factor: float) -> None:
    def flow(drop_pa: float) -> float | None:
        one = reading("flow_box", drops=["3 Pa"], opening_area="9 in²", station="terminal:t1")
        looked = replace(one, look=replace(one.look, drops_pa=(drop_pa,)))
        found = interpret(looked, meter(InstrumentKind.MANOMETER), side=Side.EXTRACT)
        return None if found.figure is None else found.figure.flow_m3_s.value

    less, more = flow(low), flow(low * factor)
    assume(less is not None)
    assert more is not None and less is not None and more > less


@given(st.one_of(awkward, st.floats(1e-4, 0.2)), st.sampled_from(Side))
def test_advice_never_fails_and_is_ranked(flow_m3_s: float, side: Side) -> None:
    found = suitable_methods(
        flow_m3_s=flow_m3_s,
        terminal=TERMINAL,
        side=side,
        instruments=[meter(kind, id=kind.value) for kind in InstrumentKind],
        duct=Section(diameter_m=0.1),
    )
    suitable = [a.expected_u_frac for a in found if a.is_suitable]
    assert suitable == sorted(suitable)  # type: ignore[type-var]
    for one in found:
        assert one.reasons or one.is_suitable


def test_an_interval_of_a_flow_is_wider_with_fewer_looks() -> None:
    def width(*texts: str) -> float:
        one = reading("vane", velocities=list(texts), area="12 in²", station="terminal:t1")
        found = interval(flow_of(interpret(one, meter(InstrumentKind.VANE_METER))))
        return found.high - found.low

    assert width("2 m/s", "2 m/s", "2 m/s") < width("2 m/s")
