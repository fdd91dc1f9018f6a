"""Recovery against closed cases, hand calculations and Monte Carlo intervals, row by row."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any

import pytest

from tests.reference import shelves
from tests.unit.recovery.cases import (
    EHA,
    ETA,
    ODA,
    SEA_LEVEL_PA,
    STD_CFM_KG_S,
    SUP,
    celsius,
    exact_air,
    probed,
    streams,
)
from ventwright.air import moist_air_from
from ventwright.quantities import HumidityOver, SourceTrust
from ventwright.recovery import (
    Condensate,
    DefrostKind,
    RecoveryResult,
    assess_recovery,
    defrost_time_frac,
    difference_needed_si,
    fan_efficacy,
)
from ventwright.uncertainty import combine, exact, measured

DRY = 1e-7
CFM_M3_S = 0.3048**3 / 60.0


def value_of(result: RecoveryResult, name: str) -> float:
    found = getattr(result, name)
    assert found.estimate is not None, found.flags
    return float(found.estimate.value)


def field_case(inputs: dict[str, Any]) -> RecoveryResult:
    """Whole degrees and per cents as typed, standard flows, probes with ordinary limits."""
    states = {
        kind: probed(kind, celsius(inputs[name][0]), inputs[name][1])
        for kind, name in ((ODA, "oda"), (SUP, "sup"), (ETA, "eta"), (EHA, "eha"))
    }
    flows = (STD_CFM_KG_S * inputs["supply_scfm"], STD_CFM_KG_S * inputs["extract_scfm"])
    return assess_recovery(
        streams(states, exact(flows[0]), exact(flows[1])), is_energy_exchanger=True
    )


def dew_point_f(inputs: dict[str, Any], name: str) -> float:
    temperature_f, rel_humidity_frac = inputs[name]
    air = moist_air_from(
        pressure_pa=SEA_LEVEL_PA,
        temperature_c=celsius(temperature_f),
        rel_humidity_frac=rel_humidity_frac,
    )
    return 32.0 + 1.8 * air.dew_point_c


def dry_streams(*, oda_c: float, sup_c: float, eta_c: float, eha_c: float, kg_s: float) -> Any:
    temperatures = {ODA: oda_c, SUP: sup_c, ETA: eta_c, EHA: eha_c}
    states = {
        kind: exact_air(temperature_c=t, humidity_ratio_kg_kg=DRY)
        for kind, t in temperatures.items()
    }
    return streams(states, exact(kg_s), exact(kg_s))


def dry_heat_recovery(
    *, eta_c: float, eha_c: float, oda_c: float, flow_m3_h: float, power_w: float, name: str
) -> float:
    kg_s = flow_m3_h / 3600.0 * 1.2
    case = dry_streams(oda_c=oda_c, sup_c=eta_c - 1.0, eta_c=eta_c, eha_c=eha_c, kg_s=kg_s)
    result = assess_recovery(case, is_energy_exchanger=False, fan_power_w=exact(power_w))
    return value_of(result, name)


def net_of_leakage(*, apparent: float, exhaust_transfer: float) -> float:
    case = dry_streams(oda_c=0.0, sup_c=20.0 * apparent, eta_c=20.0, eha_c=5.0, kg_s=0.05)
    result = assess_recovery(
        case, is_energy_exchanger=False, exhaust_transfer_frac=exhaust_transfer
    )
    return value_of(result, "net_sensible")


def sensible_recovery_efficiency(*, flow_cfm: float, power_w: float, apparent: float) -> float:
    density_kg_m3 = SEA_LEVEL_PA / (287.042 * 273.15)
    kg_s = flow_cfm * CFM_M3_S * density_kg_m3
    case = dry_streams(oda_c=0.0, sup_c=22.0 * apparent, eta_c=22.0, eha_c=6.0, kg_s=kg_s)
    result = assess_recovery(case, is_energy_exchanger=False, fan_power_w=exact(power_w))
    return value_of(result, "sensible_recovery_efficiency")


def difference_needed_k(*, half_width_k: float, ratio: float, wanted: float) -> float:
    readings = [
        measured(t, u_std=half_width_k / math.sqrt(3.0), id=name, label=name)
        for t, name in ((0.0, "oda"), (7.5, "sup"), (10.0, "eta"))
    ]
    oda, sup, eta = readings
    residual = combine(0.0, [(1.0, sup), (-1.0, oda), (-ratio, eta), (ratio, oda)])
    span = combine(10.0, [(1.0, eta), (-1.0, oda)])
    return difference_needed_si(residual_si=residual, span_si=span, wanted_u_frac=wanted)


def efficacy(cfm_w: float) -> Any:
    return fan_efficacy(flow_m3_s=exact(100.0 * cfm_w * CFM_M3_S), power_w=exact(100.0))


FUNCTIONS: dict[str, Callable[..., float]] = {
    "dry_heat_recovery": lambda **i: dry_heat_recovery(**i, name="dry_heat_recovery"),
    "extract_temperature_ratio_of": lambda **i: dry_heat_recovery(
        **i, name="extract_temperature_ratio"
    ),
    "net_of_leakage": net_of_leakage,
    "sensible_recovery_efficiency": sensible_recovery_efficiency,
    "difference_needed_k": difference_needed_k,
    "defrost_time_frac": lambda kind, **i: defrost_time_frac(kind=DefrostKind(kind), **i),
    "w_per_l_s": lambda cfm_w: efficacy(cfm_w).specific_fan_power_w_per_m3_s.value / 1000.0,
    "wh_m3": lambda cfm_w: efficacy(cfm_w).specific_fan_power_w_per_m3_s.value / 3600.0,
}


@pytest.mark.parametrize("row", shelves.rows("recovery.csv"), ids=str)
def test_recovery(row: shelves.Row) -> None:
    function, inputs = row["function"], row.inputs
    if function.startswith("dew_point_f."):
        row.check(dew_point_f(inputs, function.partition(".")[2]))
    elif function in FUNCTIONS:
        row.check(FUNCTIONS[function](**inputs))
    else:
        row.check(value_of(field_case(inputs), function))


@pytest.mark.parametrize("row", shelves.rows("recovery_golden.csv"), ids=str)
def test_closed_cases(row: shelves.Row) -> None:
    """Outlets made from given effectiveness give it back, on both sides and with every balance."""
    pressure_pa = row.number("p_Pa")
    states = {
        kind: exact_air(
            temperature_c=row.number(f"T_{name}"),
            humidity_ratio_kg_kg=row.number(f"W_{name}"),
            pressure_pa=pressure_pa,
        )
        for kind, name in ((ODA, "oa"), (SUP, "sa"), (ETA, "ra"), (EHA, "ea"))
    }
    flows = exact(row.number("m_sup")), exact(row.number("m_exh"))
    all_of = streams(states, *flows)
    result = assess_recovery(all_of, is_energy_exchanger=True)
    expected = {
        "supply_temperature_ratio": "Tratio_sup",
        "extract_temperature_ratio": "Tratio_exh",
        "supply_humidity_ratio": "Wratio_sup",
        "extract_humidity_ratio": "Wratio_exh",
        "sensible_supply": "eps_s",
        "sensible_extract": "eps_s",
        "latent_supply": "eps_l",
        "latent_extract": "eps_l",
        "total_supply": "eps_t_sup",
        "total_extract": "eps_t_exh",
    }
    for name, column in expected.items():
        assert value_of(result, name) == pytest.approx(row.number(column), abs=2e-6), name
    assert result.recovered_heat_w is not None
    assert result.recovered_heat_w.value == pytest.approx(row.number("Qt_W"), rel=1e-6)
    for closure in (result.sensible_closure, result.moisture_closure):
        assert closure.estimate is not None
        assert closure.estimate.value == pytest.approx(0.0, abs=2e-6)
    assert result.energy_closure.estimate is not None
    assert abs(result.energy_closure.estimate.value) < 0.002
    assert result.energy_closure.is_explained is True
    is_energy_exchanger = row.number("eps_l") > 0.0
    judged = assess_recovery(all_of, is_energy_exchanger=is_energy_exchanger).condensate
    assert (judged is Condensate.PRESENT) == (row["satflag_ea"] == "True")


@pytest.mark.parametrize("row", shelves.rows("recovery_intervals.csv"), ids=str)
def test_intervals_agree_with_monte_carlo(row: shelves.Row) -> None:
    half = {
        "half_width_k": row.number("half_width_k"),
        "half_width_frac": row.number("half_width_frac"),
    }
    oda = probed(ODA, row.number("oda_c"), row.number("oda_frac"), **half)
    eta = probed(ETA, row.number("eta_c"), row.number("eta_frac"), **half)
    sup_c = blend(oda.temperature_c.value, eta.temperature_c.value, row.number("sensible"))
    humidity = blend(
        oda.humidity_ratio_kg_kg.value, eta.humidity_ratio_kg_kg.value, row.number("latent")
    )
    state = moist_air_from(
        pressure_pa=SEA_LEVEL_PA, temperature_c=sup_c, humidity_ratio_kg_kg=humidity
    )
    sup = probed(SUP, sup_c, state.rel_humidity_frac, **half)
    result = assess_recovery(streams({ODA: oda, SUP: sup, ETA: eta}), is_energy_exchanger=True)
    found = getattr(result, row["figure"])
    if not row["low"]:
        assert found.estimate is None and "Monte Carlo" in row["note"]
        return
    assert found.interval is not None
    assert found.interval.low == pytest.approx(row.number("low"), abs=row.number("tol_abs"))
    assert found.interval.high == pytest.approx(row.number("high"), abs=row.number("tol_abs"))


def blend(start: float, end: float, share: float) -> float:
    return start + share * (end - start)


def test_a_figure_known_from_memory_says_so() -> None:
    result = field_case(shelves.rows("recovery.csv")[0].inputs)
    assert result.latent_supply.trust is SourceTrust.MEMORY
    assert result.moisture_closure.trust is SourceTrust.MEMORY
    assert result.sensible_supply.trust is SourceTrust.READ


def test_probes_below_freezing_are_over_water() -> None:
    cold = probed(ODA, -10.0, 0.8)
    assert cold.state.humidity_over is HumidityOver.WATER
