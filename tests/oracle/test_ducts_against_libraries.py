"""Duct laws against the libraries fluids and scipy, and against themselves written another way."""

from __future__ import annotations

from math import exp
from random import Random

import fluids
import numpy as np
import pytest
from fluids import friction as library
from fluids.flow_meter import C_Reader_Harris_Gallagher, discharge_coefficient_to_K
from scipy.integrate import quad
from scipy.interpolate import PchipInterpolator

from tests.oracle.random_trees import random_fan, random_run, random_terminal
from ventwright.ducts import (
    EndPiece,
    FanCurve,
    FanPoint,
    RectDuct,
    RoundDuct,
    bend_loss_coeff,
    butterfly_loss_coeff,
    compression_factor,
    darcy_friction,
    end_piece_loss_coeff,
    iris_loss_coeff,
    mitre_loss_coeff,
    narrowing_loss_coeff,
    widening_loss_coeff,
)

REYNOLDS = [float(re) for re in np.geomspace(4000.0, 1e7, 60)]
HOUSE_REYNOLDS = [float(re) for re in np.geomspace(5e3, 1e6, 40)]
ROUGHNESS = (0.0, 1e-6, 1e-4, 7e-4, 1e-3, 9e-3, 0.02, 0.05)


def test_friction_is_colebrook() -> None:
    """Exact solution (Lambert W) of Colebrook's equation; we lie within 1e-5 of it."""
    for reynolds in REYNOLDS:
        for rough in ROUGHNESS:
            exact = library.Colebrook(reynolds, rough)
            assert darcy_friction(reynolds=reynolds, roughness_ratio=rough) == pytest.approx(
                exact, rel=1e-5
            )


@pytest.mark.parametrize(
    ("name", "band"),
    [
        ("Haaland", 0.02),
        ("Swamee_Jain_1976", 0.03),
        ("Churchill_1977", 0.03),
        ("Jain_1976", 0.03),
        ("Serghides_1", 0.001),
        ("Zigrang_Sylvester_2", 0.002),
        ("Chen_1979", 0.005),
        ("Romeo_2002", 0.002),
        ("Sonnad_Goudar_2006", 0.01),
        ("Buzzelli_2008", 0.001),
        ("Manadilli_1997", 0.025),
        ("Avci_Karagoz_2009", 0.03),
    ],
)
def test_the_family_of_explicit_forms_agrees(name: str, band: float) -> None:
    """Over house ducts, Re 5e3 to 1e6 and roughness 1e-5 to 9e-3; the bands are the forms' own."""
    for reynolds in HOUSE_REYNOLDS:
        for rough in (1e-5, 1e-4, 7e-4, 1e-3, 9e-3):
            ours = darcy_friction(reynolds=reynolds, roughness_ratio=rough)
            assert getattr(library, name)(reynolds, rough) == pytest.approx(ours, rel=band)


def test_friction_obeys_physics_over_its_whole_range() -> None:
    for rough in ROUGHNESS:
        grid = np.geomspace(1.0, 1e8, 4000)
        friction = [darcy_friction(reynolds=float(re), roughness_ratio=rough) for re in grid]
        assert min(friction) > 0.0
        drop = np.array(friction) * grid**2
        assert np.all(np.diff(drop) > 0.0)
        assert friction[0] == pytest.approx(64.0)


def test_two_ways_to_treat_a_rectangle_agree() -> None:
    """Hydraulic diameter against Huebscher's equivalent round duct of equal flow."""
    for side in (1.0, 0.5, 1 / 3, 0.25):
        width_m, height_m = 0.25, 0.25 * side
        round_m = 1.30 * (width_m * height_m) ** 0.625 / (width_m + height_m) ** 0.25
        for velocity_m_s in (2.0, 3.0, 5.0):
            flow = velocity_m_s * width_m * height_m
            ours = RectDuct(length_m=1.0, width_m=width_m, height_m=height_m)
            other = RoundDuct(length_m=1.0, diameter_m=round_m)
            assert ours.drop_and_slope(flow)[0] == pytest.approx(
                other.drop_and_slope(flow)[0], rel=0.08
            )


def test_bends_and_mitres_against_fluids() -> None:
    """Handbook table against Rennels and Miller, which differ among themselves by 20 %."""
    for angle in (45, 60, 90):
        miller = fluids.bend_miter(angle, Di=0.2, Re=2e5, method="Miller")
        assert mitre_loss_coeff(angle_deg=angle) == pytest.approx(miller, abs=0.08)
    # The handbook's smooth bend is the excess over straight duct; Rennels includes friction along
    # the bend, which is taken off here.
    for ratio in (1.0, 1.5, 2.0):
        whole = fluids.bend_rounded(
            Di=0.2, angle=90, bend_diameters=ratio, Re=2e5, method="Rennels", roughness=9e-5
        )
        along = darcy_friction(reynolds=2e5, roughness_ratio=9e-5 / 0.2) * 0.5 * np.pi * ratio
        assert bend_loss_coeff(radius_ratio=ratio) == pytest.approx(whole - along, abs=0.12)


def test_cones_and_ends_against_fluids() -> None:
    for ratio in (2.0, 4.0, 6.0):
        abrupt = widening_loss_coeff(area_ratio=ratio, angle_deg=180.0)
        assert abrupt == pytest.approx(fluids.diffuser_sharp(1.0, ratio**0.5), abs=0.07)
        sharp = fluids.contraction_sharp(Di1=ratio**0.5, Di2=1.0)
        assert narrowing_loss_coeff(area_ratio=ratio, angle_deg=180.0) == pytest.approx(
            sharp, abs=0.12
        )
    for angle in (20.0, 30.0, 60.0):
        conical = fluids.diffuser_conical(Di1=1.0, Di2=2.0, angle=angle, method="Idelchik", Re=1e5)
        assert widening_loss_coeff(area_ratio=4.0, angle_deg=angle) == pytest.approx(
            conical, abs=0.11
        )
    for angle in (30.0, 60.0, 90.0):
        conical = fluids.contraction_conical(Di1=2.0, Di2=1.0, angle=angle, fd=0.02)
        assert narrowing_loss_coeff(area_ratio=4.0, angle_deg=angle) == pytest.approx(
            conical, abs=0.06
        )
    assert end_piece_loss_coeff(EndPiece.EXIT_ABRUPT) == fluids.exit_normal()
    flush = fluids.entrance_sharp(method="Idelchik")
    assert end_piece_loss_coeff(EndPiece.ENTRY_FLANGED) == flush
    rounded = fluids.entrance_rounded(Di=1.0, rc=0.1, method="Idelchik")
    assert end_piece_loss_coeff(EndPiece.ENTRY_BELLMOUTH) == pytest.approx(rounded, abs=0.01)


def test_iris_damper_against_the_pipe_orifice() -> None:
    """Reader-Harris/Gallagher coefficient of a concentric orifice, turned into a loss."""
    for open_ratio, band in ((0.05, 0.04), (0.1, 0.04), (0.3, 0.05), (0.5, 0.13)):
        hole_m = 0.125 * open_ratio**0.5
        coeff = C_Reader_Harris_Gallagher(
            D=0.125, Do=hole_m, rho=1.2, mu=1.82e-5, m=0.024, taps="D"
        )
        loss = discharge_coefficient_to_K(D=0.125, Do=hole_m, C=coeff)
        assert iris_loss_coeff(open_ratio=open_ratio) == pytest.approx(loss, rel=band)


def test_butterfly_against_the_exponential_damper_law() -> None:
    """Fitted to other dampers: ln K = −1.51 + 0.0842·angle, single blade, 25 to 60°."""
    for angle in range(25, 56, 5):
        ratio = butterfly_loss_coeff(closing_deg=angle) / exp(-1.51 + 0.0842 * angle)
        assert 0.6 < ratio < 2.5, (angle, ratio)


def test_flexible_duct_against_published_findings() -> None:
    """Laboratory: four times at moderate compression, up to about ten times at more (6–10 in)."""
    for diameter_m in (0.152, 0.203, 0.254):
        assert 1.5 < compression_factor(compression_frac=0.04, diameter_m=diameter_m) < 4.0
        assert 3.0 < compression_factor(compression_frac=0.15, diameter_m=diameter_m) < 5.5
        assert 5.5 < compression_factor(compression_frac=0.30, diameter_m=diameter_m) < 10.5


def test_fan_curve_against_scipy_pchip() -> None:
    flows = np.array([0.0, 0.02, 0.05, 0.06, 0.09])
    rises = np.array([310.0, 290.0, 200.0, 150.0, 0.0])
    points = tuple(
        FanPoint(flow_m3_s=float(q), rise_pa=float(p)) for q, p in zip(flows, rises, strict=True)
    )
    ours = FanCurve(points=points)
    scipy_curve = PchipInterpolator(flows, rises)
    grid = np.linspace(0.0, 0.09, 181)
    for flow in grid:
        drop, slope = ours.drop_and_slope(float(flow))
        assert -drop == pytest.approx(float(scipy_curve(flow)), rel=1e-12, abs=1e-9)
        if 0.0 < flow < 0.09:
            assert -slope == pytest.approx(float(scipy_curve(flow, 1)), rel=1e-9, abs=1e-6)


def test_slopes_are_the_derivatives_of_drops() -> None:
    """The integral of each slope is the drop, through zero flow and both directions."""
    for seed in range(60):
        rng = Random(seed)
        for law in (*random_run(rng), random_terminal(rng), random_fan(rng)):
            for low, high in ((-0.02, 0.015), (1e-4, 0.004), (0.004, 0.05)):
                rise = law.drop_and_slope(high)[0] - law.drop_and_slope(low)[0]
                kinks = [x for x in (-0.001, 0.0, 0.001) if low < x < high]
                area, _ = quad(
                    lambda q, law=law: law.drop_and_slope(q)[1],
                    low,
                    high,
                    points=kinks or None,
                    limit=400,
                )
                assert area == pytest.approx(rise, rel=2e-4, abs=1e-6), (seed, law)
