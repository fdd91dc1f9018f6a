"""The example houses against assemblies made by hand: friction by `fluids`, roots by SciPy.

Nothing of the engine's laws is used here but the fan's own points. Loss coefficients of fittings
are typed from the table of the handbook as a public program writes it down
(Source: smacna_tables_code); friction is Colebrook's equation as `fluids` solves it
(Source: colebrook_1939). Ours is an explicit form within 1e-5 of it.
"""

from __future__ import annotations

from itertools import pairwise
from math import pi, sqrt
from pathlib import Path

import fluids
import numpy as np
import pytest
from scipy.interpolate import RegularGridInterpolator
from scipy.optimize import brentq, root

from tests.unit.assembly import houses
from ventwright.actions import plan_file
from ventwright.findings import PlanSnapshot, plan_house
from ventwright.quantities import Side

EXAMPLES = Path(__file__).parents[2] / "examples"
VISCOSITY = 1.82e-5
INCH, FOOT, CFM, INWC = 0.0254, 0.3048, 0.00047194745, 249.08891


def friction(flow, *, length, diameter, roughness, density, factor=1.0):
    if flow == 0.0:
        return 0.0
    area = pi * diameter**2 / 4.0
    velocity = abs(flow) / area
    reynolds = density * velocity * diameter / VISCOSITY
    f = fluids.friction_factor(Re=reynolds, eD=roughness / diameter, Method="Colebrook")
    drop = factor * f * length / diameter * density / 2.0 * velocity**2
    return drop if flow > 0.0 else -drop


def fitting(flow, loss_coeff, *, diameter, density):
    """Our coefficients grow by 200/Re, a judgement that keeps slopes above zero."""
    area = pi * diameter**2 / 4.0
    velocity = abs(flow) / area
    reynolds = density * velocity * diameter / VISCOSITY
    return loss_coeff * (1.0 + 200.0 / reynolds) * density / 2.0 * velocity**2


def test_path_to_the_living_room_of_the_house_at_altitude():
    plan = plan_file(EXAMPLES / "juniper_mesa" / "house.toml").found
    density = plan.air_density_kg_m3
    # 6400 ft by the standard atmosphere, 20 °C, 45 % relative humidity.
    pressure = 101325.0 * (1.0 - 2.25577e-5 * 6400 * FOOT) ** 5.2559
    assert density == pytest.approx(pressure / (287.055 * 293.15), rel=0.006)
    side = next(s for s in plan.systems[0].sides if s.side is Side.SUPPLY)
    total, own = 110 * CFM, 28 * CFM
    six = {"diameter": 6 * INCH, "density": density}
    flex = 1.0 + 0.58 * 4.0 * np.exp(-0.00496 * 152.4)
    outdoor = (
        fitting(total, 1.3, **six)  # hood, half a diameter of gap
        + friction(total, length=9 * FOOT, roughness=0.9e-3, factor=flex, **six)
        + fitting(total, 0.15, **six)  # bend, r/D 1.5
    )
    supply = (
        friction(total, length=5 * FOOT, roughness=0.09e-3, **six)
        + fitting(total, 0.33, **six)  # five-piece bend, r/D 1
    )
    small = {"diameter": 0.075, "density": density}
    run = (
        fitting(own, 0.5, **small)  # flanged entry
        + friction(own, length=33 * FOOT, roughness=0.03e-3, **small)
        + 3.0 * fitting(own, 0.15, **small)
    )
    seat = 0.8 * 5 * INCH
    spread = 0.65 * sqrt(2.0 / 1.2)
    gap, neck = spread * pi * seat * 12 * 0.00125, spread * pi * seat**2 / 4.0
    factor = gap * neck / sqrt(gap**2 + neck**2) / sqrt(density / 1.2)
    by_hand = {
        "system hrv.outdoor_ducts": outdoor,
        "system hrv.supply_ducts": supply,
        "terminal s4.ducts": run,
        "terminal s4": (own / factor) ** 2,
    }
    found = {loss.where: loss.drop_pa for loss in side.index_losses}
    for where, drop in by_hand.items():
        assert found[where] == pytest.approx(drop, rel=1e-3), where
    assert side.index_terminal == "s4"
    assert side.needed_pa.value == pytest.approx(
        sum(by_hand.values()) + side.house_pressure_pa, rel=1e-3
    )


def test_split_of_the_terrace_house_extract_by_a_dense_solver():
    """All four extract terminals open, all pieces typed again, five unknown flows by SciPy."""
    plan = plan_file(EXAMPLES / "harbour_terrace" / "house.toml").found
    density = plan.air_density_kg_m3
    side = next(s for s in plan.systems[0].sides if s.side is Side.EXTRACT)
    steel = {"roughness": 0.09e-3, "density": density}
    thin = sqrt(density / 1.2)

    def duct(flow, length, diameter):
        return friction(flow, length=length, diameter=diameter, **steel)

    def loss(flow, coeff, diameter):
        return fitting(flow, coeff, diameter=diameter, density=density)

    def terminal(flow, factor):
        return (flow / (factor / thin)) ** 2

    table = RegularGridInterpolator(
        ((0.2, 0.4, 0.6, 0.8), (0.1, 0.3, 0.5, 0.7, 0.9)),
        (
            (1.30, 2.90, 2.90, 2.90, 2.90),
            (0.99, 1.30, 1.70, 2.40, 2.40),
            (0.96, 1.00, 1.10, 1.40, 2.00),
            (0.95, 0.92, 0.94, 1.10, 1.40),
        ),
    )

    def tee(area_ratio, flow_ratio):
        """Branch of a 90° tee on branch velocity; the table speaks of the common one."""
        area_ratio = min(area_ratio, 0.8)
        return table((area_ratio, flow_ratio)) / (flow_ratio / area_ratio) ** 2

    def straight(area_ratio, flow_ratio):
        ratio = min(max(flow_ratio / area_ratio, 0.2), 1.0)
        losses = (0.35, 0.28, 0.22, 0.17, 0.13, 0.09, 0.06, 0.02, 0.00)
        places = (0.0, 0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.8, 1.0)
        return np.interp(ratio, places, losses) / ratio**2

    # Design splits, at which tees are taken and kept.
    k_ground_tee = tee((0.125 / 0.16) ** 2, 27 / 42)
    k_riser_straight = straight(1.0, 42 / 54)
    k_x1 = straight(1.0, 20 / 27)
    k_x2 = tee((0.1 / 0.125) ** 2, 7 / 27)
    k_x3 = tee((0.125 / 0.16) ** 2, 15 / 42)
    k_x4 = tee((0.1 / 0.16) ** 2, 12 / 54)

    def x1(q):
        return loss(q, 0.22 + k_x1, 0.125) + duct(q, 1.6, 0.125) + terminal(q, 4.55e-3)

    def x2(q):
        return loss(q, k_x2, 0.1) + duct(q, 0.9, 0.1) + terminal(q, 2.15e-3)

    def x3(q):
        return loss(q, 0.22 + k_x3, 0.125) + duct(q, 1.4, 0.125) + terminal(q, 4.55e-3)

    def x4(q):
        return loss(q, 0.44 + k_x4, 0.1) + duct(q, 2.6, 0.1) + terminal(q, 2.50e-3)

    def riser(q):
        return duct(q, 5.5, 0.16) + loss(q, 0.44 + k_riser_straight, 0.16)

    def ground(q):
        return loss(q, 0.22 + k_ground_tee, 0.125) + duct(q, 4.1, 0.125)

    def shared(q):
        return duct(q, 3.1, 0.16) + duct(q, 1.5, 0.16) + loss(q, 0.22 + 0.22 + 1.2, 0.16)

    total = side.settings[0].open_total_m3_s.value
    rise = side.settings[0].open_point.external_pa + side.settings[0].house_pressure_pa

    def gaps(scaled):
        q1, q2, q3, q4 = scaled * 1e-2
        at_root = rise - shared(q1 + q2 + q3 + q4)
        at_riser = at_root - riser(q1 + q2 + q3)
        at_ground = at_riser - ground(q1 + q2)
        return [at_ground - x1(q1), at_ground - x2(q2), at_riser - x3(q3), at_root - x4(q4)]

    answer = root(gaps, [2.0, 0.7, 1.5, 1.2], tol=1e-12)
    assert answer.success
    for flow, t in zip(answer.x * 1e-2, side.terminals, strict=True):
        assert t.open_m3_s.value == pytest.approx(flow, rel=1e-3), t.terminal_id
    assert sum(answer.x) * 1e-2 == pytest.approx(total, rel=1e-3)


def test_operating_point_lies_on_the_curve_and_on_the_system():
    """Straight fan lines make speed laws exact: rise = s²·p0 − s·p0·q/q0; root by SciPy."""
    points = ((200.0, 0.0), (0.0, 0.1))
    given = houses.system(ventilation_unit=houses.unit(points=points))
    found = plan_house(PlanSnapshot(engine="0", house=houses.house(given), rule_sets=()))
    denser = found.air_density_kg_m3 / 1.2
    for side in found.systems[0].sides:
        speed = brentq(
            lambda s, q=side.design_m3_s, p=side.needed_pa.value: (
                denser * (200.0 * s * s - 2000.0 * s * q) - p
            ),
            0.1,
            2.0,
        )
        assert side.needed_speed_frac.value == pytest.approx(speed, rel=1e-9)
        for setting in side.settings:
            point, s = setting.open_point, setting.speed_frac
            rise = denser * (200.0 * s * s - 2000.0 * s * point.flow_m3_s)
            assert point.external_pa == pytest.approx(rise, rel=1e-9)
        rises = [(s.open_point.flow_m3_s, s.speed_frac) for s in side.settings]
        assert all(b[0] > a[0] and b[1] > a[1] for a, b in pairwise(rises))
