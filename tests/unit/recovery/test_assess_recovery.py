"""Figures and refusals: what the readings carry, what is missing, what is said of it."""

from __future__ import annotations

from typing import Any

import pytest

from tests.unit.recovery.cases import (
    EHA,
    ETA,
    ODA,
    STD_CFM_KG_S,
    SUP,
    celsius,
    closed,
    exactly,
    flow,
    probed,
    streams,
)
from ventwright.quantities import AirKind, Dimension, Severity
from ventwright.recovery import RatioResult, RecoveryResult, Stream, assess_recovery
from ventwright.recovery.ratios import Span
from ventwright.uncertainty import Verdict, exact

# Common practice, no source: a mild humid day.
FIELD = {ODA: (78.0, 0.80), SUP: (78.0, 0.63), ETA: (76.0, 0.48), EHA: (79.0, 0.56)}
SENSIBLE = (
    *("supply_temperature_ratio", "extract_temperature_ratio", "sensible_supply"),
    *("sensible_extract", "apparent_sensible", "net_sensible", "dry_heat_recovery"),
)
WINTER = {"oda": (0.0, 0.75), "eta": (22.0, 0.40)}
DRY_WINTER = {"oda": (0.0, 0.75), "eta": (22.0, 0.25)}
SUMMER = {"oda": (32.0, 0.60), "eta": (24.0, 0.50)}


def field(**more: Any) -> RecoveryResult:
    states = {k: probed(k, celsius(t), rh) for k, (t, rh) in FIELD.items()}
    flows = flow(121.0 * STD_CFM_KG_S, "supply"), flow(109.0 * STD_CFM_KG_S, "extract")
    return assess_recovery(streams(states, *flows), is_energy_exchanger=True, **more)


def trial_of(
    season: dict[str, Any],
    *,
    sensible: float = 0.75,
    latent: float = 0.5,
    supply_kg_s: float = 0.05,
    extract_kg_s: float = 0.05,
) -> dict[AirKind, Stream]:
    states = closed(
        **season,
        sensible=sensible,
        latent=latent,
        supply_kg_s=supply_kg_s,
        extract_kg_s=extract_kg_s,
    )
    return streams(
        {k: exactly(air) for k, air in states.items()}, exact(supply_kg_s), exact(extract_kg_s)
    )


def codes(found: RatioResult) -> list[str]:
    return [flag.code for flag in found.flags]


def test_two_degrees_between_streams_carry_no_sensible_figure() -> None:
    result = field(fan_power_w=exact(80.0))
    for name in SENSIBLE:
        found = getattr(result, name)
        assert found.estimate is None and found.interval is None
        assert codes(found) == ["difference-too-small"]
    assert result.sensible_closure.estimate is None
    assert "1.1 K" in result.supply_temperature_ratio.flags[0].message


def test_latent_figures_of_the_same_day_stand_with_their_intervals() -> None:
    result = field()
    for name, about in (
        ("supply_humidity_ratio", 0.49),
        ("latent_supply", 0.54),
        ("latent_extract", 0.37),
    ):
        found = getattr(result, name)
        assert found.interval.low < about < found.interval.high
        assert 0.2 < found.interval.high - found.interval.low < 0.4
    dew_f = {s.kind: 32.0 + 1.8 * s.air.dew_point_c.value for s in _field_streams().values()}
    assert dew_f[SUP] == pytest.approx(64.0, abs=0.8)
    assert dew_f[ODA] == pytest.approx(72.0, abs=0.8)


def _field_streams() -> dict[AirKind, Stream]:
    return streams({k: probed(k, celsius(t), rh) for k, (t, rh) in FIELD.items()})


def test_closure_of_that_day_is_neither_passed_nor_failed() -> None:
    closure = field().moisture_closure
    assert closure.estimate is not None and closure.decision is not None
    assert closure.estimate.value == pytest.approx(0.175, abs=0.002)
    assert closure.decision.verdict is Verdict.NOT_SHOWN
    assert closure.is_explained is True and not closure.flags


@pytest.mark.parametrize("kind", list(AirKind))
def test_a_missing_stream_takes_away_only_what_needs_it(kind: AirKind) -> None:
    all_but_one = {k: s for k, s in trial_of(WINTER).items() if k is not kind}
    result = assess_recovery(all_but_one, is_energy_exchanger=True)
    refused = {f.kind.value for f in result.ratios() if "stream-missing" in codes(f)}
    assert refused
    for found in result.ratios():
        if found.kind.value in refused:
            assert kind.value in found.flags[0].message
    assert ("extract-temperature-ratio" in refused) == (kind is not SUP)
    assert ("supply-temperature-ratio" in refused) == (kind is not EHA)
    assert [a.where for a in result.advice if a.code == "measure-state"] == [kind.value]
    assert result.moisture_closure.estimate is None


def test_without_flows_ratios_stand_and_weighted_figures_are_refused() -> None:
    states = {k: s.air for k, s in trial_of(WINTER).items()}
    result = assess_recovery(streams(states), is_energy_exchanger=True)
    assert result.supply_temperature_ratio.estimate is not None
    assert result.enthalpy_recovery_ratio.estimate is not None
    assert codes(result.latent_supply) == ["flow-missing"]
    assert codes(result.sensible_extract) == ["flow-missing"]
    assert result.recovered_heat_w is None
    assert "measure-flows" in {a.code for a in result.advice}
    assert [f.code for f in result.energy_closure.flags] == ["flow-missing"]


def test_a_flow_of_zero_is_left_out_and_named() -> None:
    states = {k: s.air for k, s in trial_of(WINTER).items()}
    result = assess_recovery(streams(states, exact(0.0), exact(0.05)), is_energy_exchanger=True)
    assert [f.where for f in result.flags if f.code == "flow-not-positive"] == ["SUP"]
    assert codes(result.total_supply) == ["flow-missing"]
    assert result.supply_temperature_ratio.estimate is not None


def test_the_outer_flow_stands_in_for_the_one_at_the_house() -> None:
    given = trial_of(WINTER)
    moved = {
        ODA: Stream(kind=ODA, air=given[ODA].air, mass_flow_kg_s=given[SUP].mass_flow_kg_s),
        SUP: Stream(kind=SUP, air=given[SUP].air),
        ETA: Stream(kind=ETA, air=given[ETA].air),
        EHA: Stream(kind=EHA, air=given[EHA].air, mass_flow_kg_s=given[ETA].mass_flow_kg_s),
    }
    a = assess_recovery(given, is_energy_exchanger=True)
    b = assess_recovery(moved, is_energy_exchanger=True)
    assert a.latent_supply.estimate == b.latent_supply.estimate


def test_one_probe_in_all_streams_cancels_its_offset() -> None:
    pairs = {ODA: (2.0, 0.8), SUP: (15.5, 0.45), ETA: (20.0, 0.45), EHA: (7.0, 0.8)}
    many = {k: probed(k, *x) for k, x in pairs.items()}
    one = {k: probed(k, *x, probe="p") for k, x in pairs.items()}
    several = assess_recovery(streams(many), is_energy_exchanger=True)
    single = assess_recovery(streams(one), is_energy_exchanger=True)
    assert several.supply_temperature_ratio.estimate is not None
    assert single.supply_temperature_ratio.estimate is not None
    assert several.supply_temperature_ratio.estimate.u_std > 0.015
    assert single.supply_temperature_ratio.estimate.u_std == pytest.approx(0.0, abs=1e-12)
    assert "use-one-probe" in {a.code for a in several.advice}
    assert "use-one-probe" not in {a.code for a in single.advice}


def test_advice_names_the_difference_that_would_do() -> None:
    wait = next(
        a for a in field().advice if a.code == "wait-for-difference" and a.where == "sensible"
    )
    assert wait.dimension is Dimension.TEMPERATURE_DIFF
    assert wait.present_si == pytest.approx(2.0 / 1.8)
    assert wait.needed_si == pytest.approx(14.7 / 2.0, rel=0.01)  # hand calculation at U = 0.05
    assert wait.u_expanded_frac == pytest.approx(0.10)


def test_heat_and_moisture_that_pull_apart_leave_no_total() -> None:
    dry_heat = {"oda": (36.0, 0.139), "eta": (25.0, 0.485)}
    states = closed(**dry_heat, sensible=0.7, latent=0.5, supply_kg_s=0.05, extract_kg_s=0.05)
    read = {k: probed(k, a.temperature_c, a.rel_humidity_frac) for k, a in states.items()}
    result = assess_recovery(
        streams(read, flow(0.05, "s"), flow(0.05, "e")), is_energy_exchanger=True
    )
    assert codes(result.total_supply) == ["difference-too-small"]
    assert result.sensible_supply.estimate is not None


def test_a_figure_beyond_the_possible_is_flagged() -> None:
    given = trial_of(WINTER)
    exchanged = {**given, SUP: Stream(kind=SUP, air=exactly(_warm()))}
    result = assess_recovery(exchanged, is_energy_exchanger=True)
    assert codes(result.supply_temperature_ratio) == ["ratio-impossible"]


def _warm() -> Any:
    states = closed(
        oda=(26.0, 0.4), eta=(22.0, 0.4), sensible=0.0, latent=0.0, supply_kg_s=1, extract_kg_s=1
    )
    return states[ODA]


def test_an_exchanger_for_heat_alone_has_no_latent_figure() -> None:
    result = assess_recovery(trial_of(DRY_WINTER, latent=0.0), is_energy_exchanger=False)
    assert codes(result.latent_supply) == ["no-moisture-transfer"]
    assert result.leakage_by_moisture is not None
    assert result.leakage_by_moisture.estimate is not None
    assert result.leakage_by_moisture.estimate.value == pytest.approx(0.0, abs=1e-9)
    assert "leakage-by-moisture" not in {f.code for f in result.flags}


def test_vapour_in_its_supply_air_tells_of_leakage() -> None:
    result = assess_recovery(trial_of(DRY_WINTER, latent=0.06), is_energy_exchanger=False)
    assert result.leakage_by_moisture is not None
    assert result.leakage_by_moisture.estimate is not None
    assert result.leakage_by_moisture.estimate.value == pytest.approx(0.06)
    assert "leakage-by-moisture" in {f.code for f in result.flags}


def test_vapour_is_no_tracer_where_it_may_condense() -> None:
    steamy = {"oda": (33.0, 0.60), "eta": (22.0, 0.50)}
    given = trial_of(steamy, sensible=0.7, latent=0.3)
    result = assess_recovery(given, is_energy_exchanger=False)
    assert result.leakage_by_moisture is not None
    assert codes(result.leakage_by_moisture) == ["tracer-may-condense"]


def test_refusals_and_estimates_never_stand_together() -> None:
    for found in (*field().ratios(), *assess_recovery({}, is_energy_exchanger=True).ratios()):
        is_refused = Severity.REFUSAL in {f.severity for f in found.flags}
        assert is_refused == (found.estimate is None) == (found.interval is None)


def test_faults_of_the_caller_are_raised() -> None:
    given = trial_of(WINTER)
    with pytest.raises(ValueError, match="SUP stands under ODA"):
        assess_recovery({ODA: given[SUP]}, is_energy_exchanger=True)
    with pytest.raises(ValueError, match="not in"):
        assess_recovery(given, is_energy_exchanger=True, exhaust_transfer_frac=1.0)


def test_gain_is_negative_where_the_supply_air_is_relieved() -> None:
    winter = assess_recovery(trial_of(WINTER), is_energy_exchanger=True)
    summer = assess_recovery(trial_of(SUMMER), is_energy_exchanger=True)
    assert winter.recovered_heat_w is not None and winter.recovered_heat_w.value > 0.0
    assert winter.recovered_moisture_kg_s is not None
    assert winter.recovered_moisture_kg_s.value > 0.0
    assert summer.recovered_heat_w is not None and summer.recovered_heat_w.value < 0.0
    assert summer.recovered_moisture_kg_s is not None
    assert summer.recovered_moisture_kg_s.value < 0.0


def test_refusals_speak_of_large_differences_in_plain_digits() -> None:
    """Two significant digits, never a power of ten."""
    span = Span(difference_si=exact(0.0), name="enthalpy", symbol="kJ/kg", display_factor=1e-3)
    assert [span.text(v) for v in (412.0, 11_111.0, 123_456.0)] == [
        "0.41 kJ/kg",
        "11 kJ/kg",
        "120 kJ/kg",
    ]
