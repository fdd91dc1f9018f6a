"""Odds of the causes of a gap between terminals and duct."""

import math

import pytest
from scipy.integrate import quad
from scipy.stats import expon, norm, uniform

from ventwright.findings import explain_gap
from ventwright.findings.gap import _with_exponential, _with_uniform
from ventwright.uncertainty import measured


def gap(value, u_std=0.03):
    return measured(value, u_std=u_std, id="gap", label="gap")


@pytest.mark.parametrize("value", [-0.1, 0.0, 0.05, 0.2])
@pytest.mark.parametrize("u_std", [0.02, 0.06])
def test_the_laws_agree_with_an_integral_by_scipy(value, u_std):
    def integral(law, low, high):
        return quad(lambda x: norm.pdf(value, x, u_std) * law.pdf(x), low, high, limit=200)[0]

    assert _with_exponential(value, u_std) == pytest.approx(
        integral(expon(scale=0.08), 0.0, 1.5), rel=2e-3
    )
    assert _with_uniform(value, u_std, 0.3) == pytest.approx(
        integral(uniform(0.05, 0.25), 0.05, 0.30), rel=1e-6
    )


@pytest.mark.parametrize(
    ("value", "first"),
    [
        (0.01, "within-uncertainty"),
        (0.14, "duct-leakage"),
        (-0.15, "meter-bias"),
        (-0.60, "wrong-station"),
    ],
)
def test_size_and_sign_of_a_gap_point_to_its_cause(value, first):
    assert explain_gap(gap(value), largest_share_frac=0.3)[0].code == first


@pytest.mark.parametrize("value", [-5.0, -0.3, 0.0, 0.1, 0.9])
def test_odds_add_up_to_one(value):
    odds = explain_gap(gap(value), largest_share_frac=0.3)
    assert math.fsum(e.prob_frac for e in odds) == pytest.approx(1.0)
    assert [e.prob_frac for e in odds] == sorted((e.prob_frac for e in odds), reverse=True)


def test_leakage_can_only_take_air_away_between_duct_and_terminal():
    odds = {e.code: e.prob_frac for e in explain_gap(gap(-0.12), largest_share_frac=0.3)}
    assert odds["duct-leakage"] < 0.05
