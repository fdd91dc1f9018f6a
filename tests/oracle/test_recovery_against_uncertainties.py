"""Budgets of recovery and surfaces against the `uncertainties` package on psychrolib's moist air.

The two hold the same first-order calculus but share no code: derivatives there come from automatic
differentiation and from a wrapper around another library's humidity ratio. That library has no
enhancement factor, which moves humidity ratios by 0.4 %.
"""

from __future__ import annotations

import math
from types import SimpleNamespace

import psychrolib
import pytest
import uncertainties

from tests.unit.recovery.cases import (
    EHA,
    ETA,
    ODA,
    SEA_LEVEL_PA,
    SUP,
    celsius,
    flow,
    probed,
    streams,
)
from ventwright.moisture import (
    CooledSurface,
    check_surface,
    glazing_temperature,
    lowest_safe_set_point,
    surface_temperature_from_factor,
)
from ventwright.recovery import assess_recovery
from ventwright.uncertainty import exact, measured

CASES = {
    "summer": {
        "states": {ODA: (86.0, 0.68), SUP: (80.0, 0.62), ETA: (75.0, 0.52), EHA: (81.5, 0.585)},
        "flows": (0.0558, 0.0511),
    },
    "winter": {
        "states": {ODA: (28.0, 0.80), SUP: (60.0, 0.42), ETA: (70.0, 0.38), EHA: (40.0, 0.75)},
        "flows": (0.040, 0.052),
    },
}
HALF_K, HALF_FRAC, U_FLOW = 0.3, 0.02, 0.03
P_W, FAN_SHARE_U = 70.0, 0.15 / math.sqrt(3.0)
LEAK, U_LEAK = 0.05, 0.02


@pytest.fixture(autouse=True)
def si_units():
    psychrolib.SetUnitSystem(psychrolib.SI)


def humidity_ratio(temperature_c: float, rel_humidity_frac: float) -> float:
    """Over water below freezing, as probes read: the library alone would take ice."""
    saturated = psychrolib.GetSatVapPres(max(temperature_c, 0.02))
    if temperature_c < 0.0:
        magnus = [math.exp(17.62 * t / (243.12 + t)) for t in (temperature_c, 0.02)]
        saturated *= magnus[0] / magnus[1]
    return psychrolib.GetHumRatioFromVapPres(rel_humidity_frac * saturated, SEA_LEVEL_PA)


wrapped_humidity_ratio = uncertainties.wrap(humidity_ratio)


def theirs(case) -> dict:
    t, w, h = {}, {}, {}
    for kind, (f, rh) in case["states"].items():
        t[kind] = uncertainties.ufloat(celsius(f), HALF_K / math.sqrt(3.0))
        humidity = uncertainties.ufloat(rh, HALF_FRAC / math.sqrt(3.0))
        w[kind] = wrapped_humidity_ratio(t[kind], humidity)
        h[kind] = 1006.0 * t[kind] + w[kind] * (2_501_000.0 + 1860.0 * t[kind])
    m = SimpleNamespace(
        s=uncertainties.ufloat(case["flows"][0], U_FLOW * case["flows"][0]),
        e=uncertainties.ufloat(case["flows"][1], U_FLOW * case["flows"][1]),
    )
    c = SimpleNamespace(s=m.s * (1006.0 + 1860.0 * w[ODA]), e=m.e * (1006.0 + 1860.0 * w[ETA]))
    power = uncertainties.ufloat(P_W, 0.02 * P_W)
    share = uncertainties.ufloat(0.5, FAN_SHARE_U)
    c_min = min(c.s, c.e, key=lambda x: x.n)
    m_min = min(m.s, m.e, key=lambda x: x.n)
    span_t, span_w, span_h = (x[ETA] - x[ODA] for x in (t, w, h))
    leak = uncertainties.ufloat(LEAK, U_LEAK)
    through = (t[SUP] - share * power / c.s - leak * t[ETA]) / (1 - leak)
    net = c.s * (t[SUP] - t[ODA] - leak * span_t) - share * power
    return {
        "supply_temperature_ratio": (t[SUP] - t[ODA]) / span_t,
        "extract_humidity_ratio": (w[ETA] - w[EHA]) / span_w,
        "sensible_supply": c.s * (t[SUP] - t[ODA]) / (c_min * span_t),
        "sensible_extract": c.e * (t[ETA] - t[EHA]) / (c_min * span_t),
        "latent_supply": m.s * (w[SUP] - w[ODA]) / (m_min * span_w),
        "latent_extract": m.e * (w[ETA] - w[EHA]) / (m_min * span_w),
        "total_supply": m.s * (h[SUP] - h[ODA]) / (m_min * span_h),
        "net_sensible": c.s * (through - t[ODA]) / (c_min * span_t),
        "sensible_recovery_efficiency": net / (c.e * span_t + (1 - share) * power),
        "dry_heat_recovery": (t[ETA] - t[EHA] + power / c.e) / span_t,
        "moisture_closure": (m.s * (w[SUP] - w[ODA]) - m.e * (w[ETA] - w[EHA])) / (m_min * span_w),
        "energy_closure": (m.s * (h[SUP] - h[ODA]) - m.e * (h[ETA] - h[EHA])) / (m_min * span_h),
        "recovered_heat_w": m.s * (h[SUP] - h[ODA]),
        "recovered_moisture_kg_s": m.s * (w[SUP] - w[ODA]),
    }


@pytest.mark.parametrize("name", list(CASES))
def test_values_and_budgets(name: str) -> None:
    case = CASES[name]
    states = {
        k: probed(k, celsius(f), rh, half_width_k=HALF_K, half_width_frac=HALF_FRAC)
        for k, (f, rh) in case["states"].items()
    }
    flows = (flow(m, side, U_FLOW) for m, side in zip(case["flows"], "se", strict=True))
    result = assess_recovery(
        streams(states, *flows),
        is_energy_exchanger=True,
        fan_power_w=measured(P_W, u_std=0.02 * P_W, id="power", label="power"),
        exhaust_transfer_frac=measured(LEAK, u_std=U_LEAK, id="leak", label="cross leakage"),
    )
    checked = 0
    for figure, other in theirs(case).items():
        found = getattr(result, figure)
        estimate = found if figure.startswith("recovered") else found.estimate
        if estimate is None:
            assert name == "summer" and found.flags[0].code == "heating-only"
            continue
        checked += 1
        assert estimate.value == pytest.approx(other.n, rel=0.006, abs=0.002), figure
        # The side with less air is the smaller for certain here, so the flow weight has no doubt.
        assert estimate.u_std == pytest.approx(other.s, rel=0.02), figure
    assert checked >= 12


def test_margin_to_the_dew_point_of_a_surface_in_the_same_room() -> None:
    """The probe's offset enters wall and dew point alike; both calculi must see that."""
    room = probed(ETA, 21.0, 0.45, half_width_k=0.5)
    wall = surface_temperature_from_factor(
        indoor_c=room.temperature_c,
        outdoor_c=exact(-5.0),
        temperature_factor_frac=measured(0.75, u_std=0.03, id="f", label="factor"),
    )
    found = check_surface(surface_id="wall", surface_temperature_c=wall, air=room, air_name="room")
    t = uncertainties.ufloat(21.0, 0.5 / math.sqrt(3.0))
    rh = uncertainties.ufloat(0.45, 0.03 / math.sqrt(3.0))
    factor = uncertainties.ufloat(0.75, 0.03)
    dew = uncertainties.wrap(psychrolib.GetTDewPointFromRelHum)(t, rh)
    surface = -5.0 + factor * (t + 5.0)
    margin = surface - dew
    assert found.margin_k.value == pytest.approx(margin.n, abs=0.02)
    assert found.margin_k.u_std == pytest.approx(margin.s, rel=0.01)
    saturated = uncertainties.wrap(psychrolib.GetSatVapPres)
    humidity = rh * saturated(t) / saturated(surface)
    assert found.surface_rel_humidity_frac.value == pytest.approx(humidity.n, rel=0.002)
    assert found.surface_rel_humidity_frac.u_std == pytest.approx(humidity.s, rel=0.01)


def test_set_point_and_pane_carry_every_input() -> None:
    values = {"other": (30.0, 1.0), "factor": (0.85, 0.04), "dew": (21.0, 0.6), "u": (2.6, 0.3)}
    ours = {k: measured(v, u_std=s, id=k, label=k) for k, (v, s) in values.items()}
    other, factor, dew, u_value = (uncertainties.ufloat(*x) for x in values.values())
    lining = CooledSurface(
        surface_id="lining",
        other_side_c=ours["other"],
        temperature_factor=ours["factor"],
        dew_point_c=ours["dew"],
    )
    limit = lowest_safe_set_point((lining,), margin_k=0.5)
    assert limit is not None
    expected = other + (dew + 0.5 - other) / factor
    assert limit.estimate_c.value == pytest.approx(expected.n)
    assert limit.estimate_c.u_std == pytest.approx(expected.s)
    pane = glazing_temperature(
        indoor_c=exact(21.0), outdoor_c=ours["other"], u_value_w_m2_k=ours["u"]
    )
    theirs_pane = 21.0 - 0.13 * u_value * (21.0 - other)
    assert pane.value == pytest.approx(theirs_pane.n)
    assert pane.u_std == pytest.approx(theirs_pane.s)
    # A pane that loses more is colder in winter: the sign of the budget line, not only its size.
    winter = glazing_temperature(
        indoor_c=exact(21.0), outdoor_c=exact(0.0), u_value_w_m2_k=ours["u"]
    )
    assert winter.components[0].contribution < 0.0
