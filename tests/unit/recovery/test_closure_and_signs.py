"""Whether the streams agree, and what the states say of condensate, frost, leaks and imbalance."""

from __future__ import annotations

from dataclasses import replace

import pytest

from tests.unit.recovery.cases import EHA, ETA, ODA, SUP, exact_air, flow, streams
from tests.unit.recovery.test_assess_recovery import DRY_WINTER, SUMMER, WINTER, trial_of
from ventwright.quantities import AirKind, SourceTrust
from ventwright.recovery import (
    Condensate,
    RecoveryResult,
    Stream,
    assess_recovery,
    exhaust_transfer_by_tracer,
    net_outdoor_air_m3_s,
)
from ventwright.uncertainty import Estimate, Verdict, exact, measured


def moistened(given: dict[AirKind, Stream], kind: AirKind, by_frac: float) -> dict:
    """One stream's humidity ratio moved by a share of the difference between the inlets."""
    span = given[ETA].air.humidity_ratio_kg_kg.value - given[ODA].air.humidity_ratio_kg_kg.value
    air = exact_air(
        temperature_c=given[kind].air.temperature_c.value,
        humidity_ratio_kg_kg=given[kind].air.humidity_ratio_kg_kg.value + by_frac * span,
    )
    return {**given, kind: replace(given[kind], air=air)}


@pytest.mark.parametrize(
    ("season", "kind", "by_frac", "says"),
    [
        (WINTER, SUP, 0.1, "moisture gained by the supply side is not given up by the extract"),
        (WINTER, EHA, -0.1, "moisture given up by the extract side is not found in the supply"),
        (SUMMER, SUP, 0.1, "moisture given up by the supply side is not found in the extract"),
        (SUMMER, EHA, -0.1, "moisture gained by the extract side is not given up by the supply"),
    ],
)
def test_the_gap_names_the_stream_that_shows_more(season, kind, by_frac, says) -> None:
    result = assess_recovery(moistened(trial_of(season), kind, by_frac), is_energy_exchanger=True)
    closure = result.moisture_closure
    assert closure.estimate is not None
    assert closure.estimate.value == pytest.approx(0.1 if kind is SUP else -0.1)
    assert closure.is_explained is False
    assert [f.code for f in closure.flags] == ["moisture-not-closed"]
    assert closure.flags[0].message.startswith(says)
    assert result.sensible_closure.is_explained is not False


def test_a_gap_beyond_the_recalled_limit_says_whence_the_limit_comes() -> None:
    given = moistened(trial_of(WINTER), SUP, 0.3)
    closure = assess_recovery(given, is_energy_exchanger=True).moisture_closure
    assert closure.decision is not None
    assert closure.decision.verdict is Verdict.NOT_MET
    assert closure.trust is SourceTrust.MEMORY
    flag = next(f for f in closure.flags if f.code == "closure-outside-limit")
    assert "not confirmed" in flag.message


def test_drained_water_closes_the_balance() -> None:
    given = moistened(trial_of(DRY_WINTER, latent=0.0), EHA, -0.15)
    span = given[ETA].air.humidity_ratio_kg_kg.value - given[ODA].air.humidity_ratio_kg_kg.value
    drained = exact(0.15 * span * 0.05)
    result = assess_recovery(given, is_energy_exchanger=False, condensate_kg_s=drained)
    assert result.moisture_closure.estimate is not None
    assert result.moisture_closure.estimate.value == pytest.approx(0.0, abs=1e-9)
    assert result.condensate is Condensate.PRESENT
    assert "weigh-condensate" not in {a.code for a in result.advice}


def test_condensate_not_weighed_is_asked_for() -> None:
    """22 °C/60 % has its dew point at 13.9 °C; the exhaust leaves saturated at 8 °C."""
    states = {ODA: (-5.0, 0.0019), SUP: (14.0, 0.0019), ETA: (22.0, 0.0099), EHA: (8.0, 0.0066)}
    air = {k: exact_air(temperature_c=t, humidity_ratio_kg_kg=w) for k, (t, w) in states.items()}
    result = assess_recovery(streams(air, exact(0.05), exact(0.05)), is_energy_exchanger=False)
    assert result.condensate is Condensate.PRESENT
    assert "condensate-present" in {f.code for f in result.flags}
    assert "weigh-condensate" in {a.code for a in result.advice}


@pytest.mark.parametrize(
    ("eta_frac", "expected"), [(0.20, Condensate.ABSENT), (0.40, Condensate.POSSIBLE)]
)
def test_the_cold_end_decides_what_is_possible(eta_frac, expected) -> None:
    """22 °C/40 % has its dew point at 7.8 °C; the cold end lies at 5.6 °C, the exhaust at 8.3."""
    season = {"oda": (3.0, 0.8), "eta": (22.0, eta_frac)}
    given = trial_of(season, sensible=0.72, latent=0.0)
    result = assess_recovery(given, is_energy_exchanger=False)
    assert result.condensate is expected


def test_without_the_leaving_stream_condensate_is_unknown() -> None:
    given = {k: s for k, s in trial_of(WINTER).items() if k is not EHA}
    assert assess_recovery(given, is_energy_exchanger=True).condensate is Condensate.UNKNOWN


def four_flows(*kg_s: float, u_frac: float = 0.001) -> RecoveryResult:
    given = trial_of(WINTER)
    read = {
        kind: replace(given[kind], mass_flow_kg_s=flow(m, kind.value, u_frac))
        for kind, m in zip(AirKind, kg_s, strict=True)
    }
    return assess_recovery(read, is_energy_exchanger=True)


def test_dry_air_is_counted_from_four_flows() -> None:
    result = four_flows(0.060, 0.050, 0.050, 0.050)
    closure = result.mass_closure
    assert closure.estimate is not None and closure.decision is not None
    assert closure.estimate.value == pytest.approx(0.2)
    assert closure.decision.verdict is Verdict.NOT_MET
    assert {f.code for f in closure.flags} == {"mass-not-closed", "closure-outside-limit"}
    assert result.outdoor_air_correction is not None
    assert result.outdoor_air_correction.estimate is not None
    assert result.outdoor_air_correction.estimate.value == pytest.approx(1.2)
    assert not result.outdoor_air_correction.flags


def test_a_flow_that_stands_in_for_another_is_no_fourth_flow() -> None:
    given = trial_of(WINTER)
    stand_in = {
        **given,
        ODA: replace(given[ODA], mass_flow_kg_s=given[SUP].mass_flow_kg_s),
        EHA: replace(given[EHA], mass_flow_kg_s=exact(0.049)),
    }
    result = assess_recovery(stand_in, is_energy_exchanger=True)
    assert result.mass_closure.estimate is None
    assert [f.code for f in result.mass_closure.flags] == ["mass-closure-not-measured"]
    assert result.outdoor_air_correction is None


@pytest.mark.parametrize(
    ("oda_c", "is_energy_exchanger", "code"),
    [
        (-10.0, False, "frost-expected"),
        (-10.0, True, None),
        (-20.0, True, "frost-expected"),
        (2.0, False, None),
    ],
)
def test_frost_begins_later_where_moisture_is_drawn_off(oda_c, is_energy_exchanger, code) -> None:
    season = {"oda": (oda_c, 0.7), "eta": (21.0, 0.2)}
    given = trial_of(season, sensible=0.5, latent=0.2)
    found = {
        f.code
        for f in assess_recovery(given, is_energy_exchanger=is_energy_exchanger).flags
        if f.code.startswith("frost")
    }
    assert found == ({code} if code else set())


def test_cold_exhaust_is_named() -> None:
    given = trial_of({"oda": (-5.0, 0.7), "eta": (20.0, 0.20)}, sensible=0.85, latent=0.0)
    codes = {f.code for f in assess_recovery(given, is_energy_exchanger=False).flags}
    assert "exhaust-near-freezing" in codes


@pytest.mark.parametrize(
    ("supply", "extract", "u_frac", "code"),
    [
        (0.050, 0.050, 0.001, None),
        (0.050, 0.050, 0.05, "flows-unbalanced"),
        (0.060, 0.050, 0.001, "flows-unbalanced"),
        (0.050, 0.120, 0.01, "flows-too-unbalanced"),
    ],
)
def test_imbalance_is_spoken_of(supply, extract, u_frac, code) -> None:
    given = trial_of(WINTER, supply_kg_s=supply, extract_kg_s=extract)
    states = {k: s.air for k, s in given.items()}
    read = streams(states, flow(supply, "s", u_frac), flow(extract, "e", u_frac))
    flags = assess_recovery(read, is_energy_exchanger=True).flags
    assert [f.code for f in flags if f.code.startswith("flows")] == ([code] if code else [])


@pytest.mark.parametrize(("share", "count"), [(0.03, 0), (0.07, 1), (0.15, 1)])
def test_extract_air_in_the_supply_air_is_spoken_of(share, count) -> None:
    result = assess_recovery(
        trial_of(WINTER), is_energy_exchanger=True, exhaust_transfer_frac=share
    )
    assert [f.code for f in result.flags].count("cross-contamination") == count


def watts(value: float, name: str = "power") -> Estimate:
    return measured(value, u_std=0.02 * value, id=name, label=name)


@pytest.mark.parametrize("season", [WINTER, SUMMER])
def test_fan_heat_and_leakage_are_taken_out_in_both_seasons(season) -> None:
    """An exchanger of 0.75, then 40 W of fan, 15 W of casing and 4 % leakage put on top."""
    given = trial_of(season, sensible=0.75)
    oda, eta = (given[k].air.temperature_c.value for k in (ODA, ETA))
    through = given[SUP].air.temperature_c.value
    rate = 0.05 * (1006.0 + 1860.0 * given[ODA].air.humidity_ratio_kg_kg.value)
    sup_c = 0.96 * through + 0.04 * eta + (40.0 + 15.0) / rate
    air = exact_air(
        temperature_c=sup_c, humidity_ratio_kg_kg=given[SUP].air.humidity_ratio_kg_kg.value
    )
    read = {**given, SUP: replace(given[SUP], air=air)}
    result = assess_recovery(
        read,
        is_energy_exchanger=True,
        fan_power_w=exact(80.0),
        supply_fan_share_frac=exact(0.5),
        casing_gain_w=exact(15.0),
        exhaust_transfer_frac=0.04,
    )
    assert result.net_sensible.estimate is not None
    assert result.sensible_supply.estimate is not None
    share = (through - oda) / (eta - oda)
    weight = result.sensible_supply.estimate.value / ((sup_c - oda) / (eta - oda))
    assert result.net_sensible.estimate.value == pytest.approx(weight * share, rel=1e-9)
    assert not result.net_sensible.flags


def test_what_was_not_taken_out_is_said() -> None:
    result = assess_recovery(trial_of(WINTER), is_energy_exchanger=True, fan_power_w=watts(60.0))
    assert [f.code for f in result.net_sensible.flags] == ["correction-incomplete"]
    assert result.net_sensible.estimate is not None
    ids = {c.influence.id for c in result.net_sensible.estimate.components}
    assert "recovery:supply-fan-share" in ids
    assert [f.code for f in assess_recovery(
        trial_of(WINTER), is_energy_exchanger=True
    ).net_sensible.flags] == ["correction-unknown"]  # fmt: skip


def test_net_figures_of_heating_are_refused_in_cooling_and_without_power() -> None:
    cooling = assess_recovery(trial_of(SUMMER), is_energy_exchanger=True, fan_power_w=watts(60.0))
    silent = assess_recovery(trial_of(WINTER), is_energy_exchanger=True)
    for name in ("sensible_recovery_efficiency", "dry_heat_recovery"):
        assert [f.code for f in getattr(cooling, name).flags] == ["heating-only"]
        assert [f.code for f in getattr(silent, name).flags] == ["power-missing"]


@pytest.mark.parametrize(("season", "moves"), [(WINTER, "raises"), (SUMMER, "lowers")])
def test_fan_heat_is_spoken_of_in_kelvin(season, moves) -> None:
    """45 W in 0.05 kg/s of air of 1006 J/(kg K) and a little vapour: 0.9 K."""
    strong = assess_recovery(trial_of(season), is_energy_exchanger=True, fan_power_w=watts(90.0))
    flag = next(f for f in strong.flags if f.code == "fan-heat")
    assert "0.9 K" in flag.message and moves in flag.message
    weak = assess_recovery(trial_of(season), is_energy_exchanger=True, fan_power_w=watts(5.0))
    assert "fan-heat" not in {f.code for f in weak.flags}


def test_a_tracer_is_asked_for_only_where_the_streams_disagree() -> None:
    agreed = assess_recovery(trial_of(WINTER), is_energy_exchanger=True)
    apart = assess_recovery(moistened(trial_of(WINTER), SUP, 0.1), is_energy_exchanger=True)
    known = assess_recovery(
        moistened(trial_of(WINTER), SUP, 0.1), is_energy_exchanger=True, exhaust_transfer_frac=0.02
    )
    asked = ["measure-cross-leakage" in {a.code for a in r.advice} for r in (agreed, apart, known)]
    assert asked == [False, True, False]


def test_tracer_gives_the_share_or_a_reason() -> None:
    def ppm(value: float, name: str) -> Estimate:
        return measured(1e-6 * value, u_std=15e-6, id=name, label=name)

    found = exhaust_transfer_by_tracer(
        outdoor_frac=ppm(420.0, "1"), supply_frac=ppm(480.0, "2"), extract_frac=ppm(1420.0, "3")
    )
    assert found.estimate is not None and found.trust is SourceTrust.MEMORY
    assert found.estimate.value == pytest.approx(0.06)
    empty = exhaust_transfer_by_tracer(
        outdoor_frac=ppm(420.0, "1"), supply_frac=ppm(422.0, "2"), extract_frac=ppm(470.0, "3")
    )
    assert [f.code for f in empty.flags] == ["difference-too-small"]
    assert "50 ppm" in empty.flags[0].message
    net = net_outdoor_air_m3_s(
        supply_flow_m3_s=watts(0.05, "flow"), exhaust_transfer_frac=found.estimate
    )
    assert net.value == pytest.approx(0.047)
    assert net.u_std == pytest.approx(
        ((0.94 * 0.001) ** 2 + (0.05 * found.estimate.u_std) ** 2) ** 0.5
    )
