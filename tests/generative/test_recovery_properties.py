"""What must hold of recovery whatever the weather: symmetry, closure, refusal, ordering."""

from __future__ import annotations

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from tests.unit.recovery.cases import EHA, ETA, ODA, SUP, exact_air, probed, streams
from ventwright.moisture import check_surface
from ventwright.recovery import RatioResult, assess_recovery, fieller_interval
from ventwright.uncertainty import combine, exact, measured

temperatures = st.floats(-15.0, 40.0)
ratios_w = st.floats(0.0008, 0.0025)
shares = st.floats(0.0, 1.0)
flows = st.floats(0.02, 0.12)


@st.composite
def exchanges(draw):
    """Inlets and an exchanger; its outlets follow from the two effectivenesses."""
    oda, eta = (draw(temperatures), draw(ratios_w)), (draw(temperatures), draw(ratios_w))
    assume(abs(oda[0] - eta[0]) > 1.0 and abs(oda[1] - eta[1]) > 1e-4)
    sensible, latent = draw(shares), draw(shares)
    m = draw(flows), draw(flows)
    rates = m[0] * (1006.0 + 1860.0 * oda[1]), m[1] * (1006.0 + 1860.0 * eta[1])
    heat = sensible * min(rates) * (eta[0] - oda[0])
    water = latent * min(m) * (eta[1] - oda[1])
    return (
        {
            ODA: oda,
            SUP: (oda[0] + heat / rates[0], oda[1] + water / m[0]),
            ETA: eta,
            EHA: (eta[0] - heat / rates[1], eta[1] - water / m[1]),
        },
        m,
        (sensible, latent),
    )


def read(states, m):
    air = {k: exact_air(temperature_c=t, humidity_ratio_kg_kg=w) for k, (t, w) in states.items()}
    return streams(air, exact(m[0]), exact(m[1]))


@given(exchanges())
def test_what_went_in_comes_out_on_both_sides(case) -> None:
    states, m, (sensible, latent) = case
    result = assess_recovery(read(states, m), is_energy_exchanger=True)
    for found, expected in (
        (result.sensible_supply, sensible),
        (result.sensible_extract, sensible),
        (result.latent_supply, latent),
        (result.latent_extract, latent),
    ):
        assert found.estimate is not None
        assert found.estimate.value == pytest.approx(expected, abs=1e-7)
    for closure in (result.sensible_closure, result.moisture_closure):
        assert closure.estimate is not None and closure.is_explained is True


@given(exchanges())
def test_ratios_of_temperature_know_no_season(case) -> None:
    """Mirrored about the outdoor temperature, heating becomes cooling and ratios stay."""
    states, m, _ = case
    middle = states[ODA][0]
    mirrored = {k: (2.0 * middle - t, w) for k, (t, w) in states.items()}
    assume(all(-35.0 < t < 60.0 for t, _ in mirrored.values()))
    here = assess_recovery(read(states, m), is_energy_exchanger=True)
    there = assess_recovery(read(mirrored, m), is_energy_exchanger=True)
    for name in ("supply_temperature_ratio", "sensible_extract", "supply_humidity_ratio"):
        a, b = getattr(here, name).estimate, getattr(there, name).estimate
        assert a.value == pytest.approx(b.value, abs=1e-9)


@given(
    st.floats(-10.0, 35.0),
    st.floats(0.2, 0.9),
    st.floats(18.0, 26.0),
    st.floats(0.2, 0.7),
    st.floats(0.05, 1.0),
)
def test_a_figure_has_an_interval_around_it_or_a_reason(
    oda_c, oda_frac, eta_c, eta_frac, half_width_k
) -> None:
    pairs = {
        ODA: (oda_c, oda_frac),
        SUP: (0.3 * oda_c + 0.7 * eta_c, 0.4),
        ETA: (eta_c, eta_frac),
        EHA: (0.7 * oda_c + 0.3 * eta_c, 0.4),
    }
    air = {k: probed(k, *x, half_width_k=half_width_k) for k, x in pairs.items()}
    result = assess_recovery(streams(air, exact(0.05), exact(0.05)), is_energy_exchanger=True)
    for found in result.ratios():
        _check_one(found)
    difference_k = abs(eta_c - oda_c)
    limit_k = 3.0 * half_width_k / 3.0**0.5 * 2.0**0.5
    if difference_k < limit_k * (1.0 - 1e-9):
        assert result.supply_temperature_ratio.estimate is None


def _check_one(found: RatioResult) -> None:
    if found.estimate is None:
        assert found.flags[0].message and found.flags[0].remedy
        return
    assert found.interval is not None
    assert found.interval.low <= found.estimate.value <= found.interval.high
    assert found.interval.high - found.interval.low <= 0.5 + 1e-9


@given(
    st.floats(-2.0, 2.0), st.floats(0.01, 0.5), st.floats(1.0, 3.0), st.floats(0.01, 0.3),
    st.floats(-0.9, 0.9),
)  # fmt: skip
def test_ends_of_fiellers_interval_are_where_the_residual_is_just_not_zero(
    n, u_n, d, u_d, shared
) -> None:
    common = measured(0.0, u_std=1.0, id="common", label="common")
    numerator = combine(
        n, [(shared * u_n, common), (1.0, measured(0.0, u_std=u_n, id="n", label="n"))]
    )
    denominator = combine(
        d, [(shared * u_d, common), (1.0, measured(0.0, u_std=u_d, id="d", label="d"))]
    )
    found = fieller_interval(numerator_si=numerator, denominator_si=denominator)
    assume(found is not None)
    for end in (found.low, found.high):
        residual = combine(n - end * d, [(1.0, numerator), (-end, denominator)])
        assert abs(residual.value) == pytest.approx(1.959964 * residual.u_std, rel=1e-5)


@given(st.floats(-5.0, 30.0), st.floats(0.1, 1.0), st.floats(0.1, 3.0))
def test_a_warmer_surface_is_never_likelier_wet(surface_c, u_std, warmer_k) -> None:
    room = probed(ODA, 22.0, 0.5)
    checks = [
        check_surface(
            surface_id="s",
            surface_temperature_c=measured(t, u_std=u_std, id="s", label="s"),
            air=room,
            air_name="room",
        )
        for t in (surface_c, surface_c + warmer_k)
    ]
    assert checks[1].prob_wet_frac <= checks[0].prob_wet_frac
    humidities = [c.surface_rel_humidity_frac.value for c in checks]
    assert humidities[1] < humidities[0]


@given(exchanges(), st.floats(0.0, 0.3))
def test_leakage_put_on_top_is_taken_out_again(case, leak) -> None:
    states, m, _ = case
    through, eta = states[SUP], states[ETA]
    mixed = tuple((1.0 - leak) * a + leak * b for a, b in zip(through, eta, strict=True))
    given_streams = read({**states, SUP: mixed}, m)
    result = assess_recovery(given_streams, is_energy_exchanger=True, exhaust_transfer_frac=leak)
    clean = assess_recovery(read(states, m), is_energy_exchanger=True)
    assert result.net_sensible.estimate is not None and clean.sensible_supply.estimate is not None
    assert result.net_sensible.estimate.value == pytest.approx(
        clean.sensible_supply.estimate.value, abs=1e-7
    )
