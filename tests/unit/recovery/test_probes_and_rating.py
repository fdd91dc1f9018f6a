"""Procedures that cancel offsets, and figures against ratings."""

from __future__ import annotations

import math
import tomllib
from pathlib import Path

import pytest

from tests.unit.recovery.cases import EHA, ETA, ODA, SUP, exact_air, flow, limits, streams
from tests.unit.recovery.test_assess_recovery import WINTER, trial_of
from ventwright.quantities import AirKind
from ventwright.recovery import (
    DEFINITIONS,
    DefrostKind,
    DefrostLaw,
    Procedure,
    RatedPoint,
    RatioKind,
    assess_recovery,
    compare_probes,
    compare_rated,
    defrost_time_frac,
    fan_efficacy,
    one_probe_round,
    procedure_budgets_si,
    remove_probe_offsets,
    swap_probes,
)
from ventwright.uncertainty import Estimate, Verdict, difference, exact

SOURCES = Path(__file__).resolve().parents[3] / "docs" / "sources.toml"
TRUE_C = {ODA: 12.0, SUP: 18.0, ETA: 20.0, EHA: 14.0}
OFFSETS_K = {"a": 0.3, "b": -0.4, "c": 0.1, "d": 0.45}


def shown_by(probe: str, true_c: float) -> Estimate:
    return limits(true_c + OFFSETS_K[probe], 0.5, f"instrument:{probe}:temperature:air_state")


def test_compared_probes_give_the_true_ratio() -> None:
    placed = dict(zip(AirKind, "abcd", strict=True))
    read = {kind: (p, shown_by(p, TRUE_C[kind])) for kind, p in placed.items()}
    together = compare_probes({p: shown_by(p, 21.0) for p in OFFSETS_K}, reference_id="b")
    corrected = remove_probe_offsets(read, together)
    up = difference(corrected[SUP], corrected[ODA])
    across = difference(corrected[ETA], corrected[ODA])
    assert up.value / across.value == pytest.approx(0.75)
    assert across.u_std == pytest.approx(0.0, abs=1e-12)
    raw = difference(read[ETA][1], read[ODA][1])
    assert raw.u_std == pytest.approx(0.5 / math.sqrt(3.0) * math.sqrt(2.0))


def test_a_probe_beyond_its_limits_is_named() -> None:
    readings = {"a": limits(21.0, 0.2, "a"), "b": limits(22.0, 0.2, "b")}
    found = compare_probes(readings, reference_id="a")
    assert [f.where for f in found.flags] == ["b"]
    with pytest.raises(ValueError, match="not compared"):
        compare_probes(readings, reference_id="z")
    with pytest.raises(ValueError, match="not compared"):
        remove_probe_offsets({ODA: ("z", exact(1.0))}, found)


def test_one_air_that_is_not_one_costs_uncertainty() -> None:
    readings = {"a": exact(21.0), "b": exact(21.1)}
    found = compare_probes(readings, reference_id="a", u_air_si=0.1)
    assert found.offsets["b"].u_std == pytest.approx(math.sqrt(2.0) * 0.1)
    moved = remove_probe_offsets({ODA: ("b", exact(5.0))}, found, u_transfer_si=0.2)
    assert moved[ODA].value == pytest.approx(4.9)
    assert moved[ODA].u_std == pytest.approx(math.sqrt(0.02 + 0.04))


def test_swapping_cancels_offsets_and_sees_drift() -> None:
    first = {ODA: shown_by("a", 12.0), SUP: shown_by("b", 18.0)}
    second = {ODA: shown_by("b", 12.0), SUP: shown_by("a", 18.0)}
    found = swap_probes(first, second)
    step = difference(found.readings[SUP], found.readings[ODA])
    assert step.value == pytest.approx(6.0)
    assert step.u_std == pytest.approx(0.0, abs=1e-12) and not found.flags
    warmer = {ODA: shown_by("b", 13.0), SUP: shown_by("a", 19.0)}
    drifted = swap_probes(first, warmer)
    assert drifted.drift_si.value == pytest.approx(1.0)
    assert [f.code for f in drifted.flags] == ["conditions-moved"]
    moved = difference(drifted.readings[SUP], drifted.readings[ODA])
    assert moved.u_std == pytest.approx(math.sqrt(2.0) * 0.5 / math.sqrt(3.0))
    with pytest.raises(ValueError, match="same two stations"):
        swap_probes(first, {ODA: exact(1.0), ETA: exact(2.0)})


def test_a_round_has_to_close() -> None:
    good = [(kind, shown_by("a", TRUE_C[kind])) for kind in (ODA, SUP, ETA, EHA, ODA)]
    found = one_probe_round(good)
    assert difference(found.readings[ETA], found.readings[ODA]).u_std == pytest.approx(0.0)
    assert not found.flags
    for bad in (good[:-1], [good[0], good[1], good[1], good[0]], good[:1]):
        with pytest.raises(ValueError, match="round starts and ends"):
            one_probe_round(bad)


def test_budgets_of_the_procedures_follow_from_square_roots() -> None:
    budgets = procedure_budgets_si(
        u_calibration_si=0.3, u_reading_si=0.1, u_transfer_si=0.05, drift_si=0.2
    )
    drift = 0.1 / math.sqrt(3.0)
    expected = {
        Procedure.INDEPENDENT: math.sqrt(2.0 * (0.09 + 0.01)),
        Procedure.COMPARED: math.sqrt(4.0 * 0.01 + 0.05**2),
        Procedure.SWAPPED: math.sqrt(2.0 * (0.01 / 2.0 + drift**2)),
        Procedure.ONE_PROBE: math.sqrt(0.01 / 2.0 + 0.01 + drift**2),
    }
    assert budgets == pytest.approx(expected)


def rating(*points: tuple[float, float], u_rated_ratio: float = 0.0) -> list[RatedPoint]:
    return [
        RatedPoint(
            kind=RatioKind.SENSIBLE_SUPPLY,
            flow_m3_s=q,
            rated_ratio=r,
            u_rated_ratio=u_rated_ratio,
        )
        for q, r in points
    ]


THREE = ((0.03, 0.84), (0.05, 0.80), (0.06, 0.74))


@pytest.mark.parametrize(
    ("flow_m3_s", "expected", "codes"),
    [
        (0.03, 0.84, []),
        (0.04, 0.82, []),
        (0.055, 0.77, []),
        (0.07, 0.68, ["rated-extrapolated"]),
        (0.031, 0.838, []),
    ],
)
def test_rating_is_read_along_straight_lines(flow_m3_s, expected, codes) -> None:
    figure = assess_recovery(trial_of(WINTER), is_energy_exchanger=True).sensible_supply
    found = compare_rated(figure, flow_m3_s=exact(flow_m3_s), points=rating(*reversed(THREE)))
    assert found.rated_ratio is not None
    assert found.rated_ratio.value == pytest.approx(expected)
    assert [f.code for f in found.flags] == codes


def test_flow_and_rating_bring_their_uncertainty_along() -> None:
    figure = assess_recovery(trial_of(WINTER), is_energy_exchanger=True).sensible_supply
    points = rating(*THREE, u_rated_ratio=0.02)
    found = compare_rated(figure, flow_m3_s=flow(0.055, "mean", 0.05), points=points)
    assert found.rated_ratio is not None and found.decision is not None
    slope = (0.74 - 0.80) / 0.01
    assert found.rated_ratio.u_std == pytest.approx(math.hypot(0.02, slope * 0.05 * 0.055))
    assert found.decision.verdict is Verdict.NOT_SHOWN


@pytest.mark.parametrize(
    ("points", "flow_m3_s", "code"),
    [
        (THREE, 0.10, "rated-out-of-range"),
        (THREE, 0.02, "rated-out-of-range"),
        (THREE[:1], 0.04, "rated-out-of-range"),
        ((), 0.04, "rated-other-figure"),
    ],
)
def test_a_rating_that_does_not_reach_is_refused(points, flow_m3_s, code) -> None:
    figure = assess_recovery(trial_of(WINTER), is_energy_exchanger=True).sensible_supply
    found = compare_rated(figure, flow_m3_s=exact(flow_m3_s), points=rating(*points))
    assert found.decision is None and [f.code for f in found.flags] == [code]


def test_an_apparent_figure_is_not_held_against_a_net_rating() -> None:
    result = assess_recovery(trial_of(WINTER), is_energy_exchanger=True)
    found = compare_rated(result.apparent_sensible, flow_m3_s=exact(0.05), points=rating(*THREE))
    assert [f.code for f in found.flags] == ["rated-other-figure"]
    assert "sensible-supply" in found.flags[0].message
    refused = compare_rated(result.net_sensible, flow_m3_s=exact(0.05), points=rating(*THREE))
    assert [f.code for f in refused.flags] == ["nothing-to-compare"]
    with pytest.raises(ValueError, match="rated flows"):
        compare_rated(
            result.sensible_supply, flow_m3_s=exact(0.05), points=rating((0.03, 0.8), (0.03, 0.9))
        )


def test_fan_efficacy_needs_flow_and_power() -> None:
    f = fan_efficacy(flow_m3_s=flow(0.05, "q", 0.03), power_w=flow(60.0, "p", 0.04))
    assert f.efficacy_m3_s_w.u_std == pytest.approx(0.05 / 60.0 * 0.05)
    with pytest.raises(ValueError, match="not above 0"):
        fan_efficacy(flow_m3_s=exact(0.05), power_w=exact(0.0))


def test_each_definition_is_a_listed_source_with_the_same_trust() -> None:
    with SOURCES.open("rb") as file:
        listed = tomllib.load(file)
    assert set(DEFINITIONS) == set(RatioKind)
    for kind, definition in DEFINITIONS.items():
        assert definition.kind is kind
        assert listed[definition.source_key]["trust"] == definition.trust.value


def test_dry_states_of_the_helper_are_dry() -> None:
    air = exact_air(temperature_c=5.0, humidity_ratio_kg_kg=1e-7)
    assert streams({ODA: air})[ODA].air.enthalpy_j_kg.value == pytest.approx(5030.25, abs=0.1)


def test_a_flow_below_the_rated_ones_is_served_down_to_half_the_highest() -> None:
    figure = assess_recovery(trial_of(WINTER), is_energy_exchanger=True).sensible_supply
    points = rating((0.05, 0.80), (0.06, 0.74))
    found = compare_rated(figure, flow_m3_s=exact(0.04), points=points)
    assert found.rated_ratio is not None
    assert found.rated_ratio.value == pytest.approx(0.86)
    assert [f.code for f in found.flags] == ["rated-extrapolated"]


def test_a_tolerance_lets_a_figure_lie_that_far_below() -> None:
    """0.75 on site against 0.80 rated."""
    figure = assess_recovery(trial_of(WINTER), is_energy_exchanger=True).sensible_supply
    verdicts = []
    for tolerance_ratio in (0.0, 0.06):
        found = compare_rated(
            figure, flow_m3_s=exact(0.05), points=rating(*THREE), tolerance_ratio=tolerance_ratio
        )
        assert found.decision is not None
        verdicts.append(found.decision.verdict)
    assert verdicts == [Verdict.NOT_MET, Verdict.MET]


@pytest.mark.parametrize(("outdoor_c", "expected"), [(0.0, 0.0), (-1.1, 0.0), (-60.0, 1.0)])
def test_time_in_defrost_is_a_share(outdoor_c, expected) -> None:
    kind = DefrostKind.EXHAUST_ONLY
    assert defrost_time_frac(outdoor_c=outdoor_c, threshold_c=-1.1, kind=kind) == expected


def test_the_manual_of_the_machine_comes_before_typical_numbers() -> None:
    law = DefrostLaw(base_frac=0.05, slope_1_k=0.01)
    kind = DefrostKind.RECIRCULATION
    found = defrost_time_frac(outdoor_c=-15.0, threshold_c=-5.0, kind=kind, law=law)
    assert found == pytest.approx(0.15)


@pytest.mark.parametrize(
    ("outdoor_c", "expected", "codes"),
    [
        (1.0, 0.80, []),
        (-22.0, 0.70, []),
        (-9.0, 0.80, []),
        (14.0, 0.80, ["rated-other-weather"]),
        (None, 0.80, []),
    ],
)
def test_ratings_of_two_winters_are_not_mixed(outdoor_c, expected, codes) -> None:
    figure = assess_recovery(trial_of(WINTER), is_energy_exchanger=True).sensible_supply
    points = [
        RatedPoint(kind=RatioKind.SENSIBLE_SUPPLY, flow_m3_s=q, rated_ratio=r, outdoor_c=test_c)
        for q, r, test_c in ((0.04, 0.84, 0.0), (0.06, 0.76, 0.0), (0.05, 0.70, -25.0))
    ]
    found = compare_rated(figure, flow_m3_s=exact(0.05), points=points, outdoor_c=outdoor_c)
    assert found.rated_ratio is not None
    assert found.rated_ratio.value == pytest.approx(expected)
    assert [f.code for f in found.flags] == codes
