"""Stated 95 % intervals hold the truth in 92 to 98 % of simulated tests, refusals apart."""

from __future__ import annotations

import math
import random
from collections import Counter

import pytest

from tests.unit.recovery.cases import closed, exactly, flow, probed, streams
from ventwright.moisture import highest_safe_dew_point
from ventwright.recovery import assess_recovery
from ventwright.uncertainty import exact, measured

COUNT = 600
CASES = {
    "winter, normal": ((0.0, 0.75), (22.0, 0.40), 0.75, 0.50, 0.060, 0.060, 0.5, 0.03, False),
    "winter, rectangular": ((-8.0, 0.8), (21.0, 0.35), 0.8, 0.6, 0.05, 0.06, 0.4, 0.02, True),
    "summer, normal": ((35.0, 0.47), (24.0, 0.51), 0.70, 0.55, 0.070, 0.060, 0.4, 0.02, False),
    "humid, rectangular": ((30.0, 0.70), (24.0, 0.50), 0.7, 0.55, 0.06, 0.063, 0.5, 0.03, True),
}
U_FLOW = 0.04


def off_by(rng: random.Random, half_width: float, is_rectangular: bool) -> float:
    if is_rectangular:
        return rng.uniform(-half_width, half_width)
    return rng.gauss(0.0, half_width / math.sqrt(3.0))


@pytest.mark.parametrize("name", list(CASES))
def test_intervals_cover(name: str) -> None:
    oda, eta, sensible, latent, m_s, m_e, half_k, half_frac, is_rectangular = CASES[name]
    rng = random.Random(f"coverage {name}")
    truth = closed(
        oda=oda, eta=eta, sensible=sensible, latent=latent, supply_kg_s=m_s, extract_kg_s=m_e
    )
    exact_streams = streams({k: exactly(a) for k, a in truth.items()}, exact(m_s), exact(m_e))
    true = {
        f.kind: f.estimate.value
        for f in assess_recovery(exact_streams, is_energy_exchanger=True).ratios()
        if f.estimate is not None
    }
    held: Counter[str] = Counter()
    shown: Counter[str] = Counter()
    for _ in range(COUNT):
        air = {
            kind: probed(
                kind,
                state.temperature_c + off_by(rng, half_k, is_rectangular),
                min(0.999, state.rel_humidity_frac + off_by(rng, half_frac, is_rectangular)),
                half_width_k=half_k,
                half_width_frac=half_frac,
            )
            for kind, state in truth.items()
        }
        m = [value * (1.0 + rng.gauss(0.0, U_FLOW)) for value in (m_s, m_e)]
        read = streams(air, flow(m[0], "s", U_FLOW), flow(m[1], "e", U_FLOW))
        for found in assess_recovery(read, is_energy_exchanger=True).ratios():
            if found.interval is not None and found.kind in true:
                shown[found.kind.value] += 1
                held[found.kind.value] += (
                    found.interval.low <= true[found.kind] <= found.interval.high
                )
    coverage = {kind: held[kind] / count for kind, count in shown.items()}
    print(name, {kind: round(c, 3) for kind, c in coverage.items()})
    assert {kind.value for kind in true} == set(coverage)
    assert all(0.92 <= c <= 0.98 for c in coverage.values()), coverage


def test_a_safe_dew_point_is_safe_as_often_as_it_says() -> None:
    """The wall stays dry at the stated limit if that lies at or below its true temperature."""
    rng = random.Random("safe dew point")
    wall_c, u_std = 13.0, 0.4
    dry = 0
    for _ in range(COUNT):
        read = measured(wall_c + rng.gauss(0.0, u_std), u_std=u_std, id="w", label="wall")
        limit = highest_safe_dew_point({"wall": read}, confidence_frac=0.95)
        assert limit is not None
        dry += limit.limit_c <= wall_c
    assert 0.93 <= dry / COUNT <= 0.97
