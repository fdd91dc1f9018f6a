"""Dry, wet or not shown; the mould screen; which surface comes first; how far one may cool."""

from __future__ import annotations

import math

import pytest

from tests.unit.recovery.cases import ODA, SEA_LEVEL_PA, limits, probed
from ventwright.air import AirEstimate, air_estimate_from, moist_air_from
from ventwright.moisture import (
    ClimateMonth,
    CooledSurface,
    SurfaceCheck,
    check_surface,
    condensation_point_c,
    critical_month,
    critical_surface_temperature_c,
    duct_skin_temperature,
    first_to_wet,
    glazing_temperature,
    growth_rel_humidity_frac,
    highest_safe_dew_point,
    insulation_needed_m2k_w,
    lowest_safe_set_point,
    rel_humidity_at_dew_point_frac,
    round_insulation_m2k_w,
    supply_terminal_temperature,
    surface_rel_humidity,
    surface_temperature_from_factor,
    temperature_factor_from,
)
from ventwright.quantities import HumidityOver, Severity
from ventwright.uncertainty import Estimate, Verdict, correlation, exact, measured, prob_within


def air(temperature_c: float = 24.0, rel_humidity_frac: float = 0.5) -> AirEstimate:
    return probed(ODA, temperature_c, rel_humidity_frac, probe="room")


def surface(temperature_c: float, u_std: float = 0.3) -> Estimate:
    return measured(temperature_c, u_std=u_std, id=f"surface:{temperature_c}", label="surface")


def check(temperature_c: float, u_std: float = 0.3, **more) -> SurfaceCheck:
    name = more.pop("surface_id", f"at {temperature_c:g}")
    return check_surface(
        surface_id=name,
        surface_temperature_c=surface(temperature_c, u_std),
        air=more.pop("air", air()),
        air_name="room",
        **more,
    )


@pytest.mark.parametrize(
    ("temperature_c", "verdict", "code"),
    [
        (18.0, Verdict.MET, None),
        (13.5, Verdict.NOT_SHOWN, "surface-not-shown-dry"),
        (10.0, Verdict.NOT_MET, "surface-wet"),
    ],
)
def test_a_surface_is_dry_wet_or_not_shown(temperature_c, verdict, code) -> None:
    found = check(temperature_c)
    assert found.decision.verdict is verdict
    codes = [f.code for f in found.flags if f.code.startswith("surface")]
    assert codes == ([code] if code else [])
    assert found.prob_wet_frac == pytest.approx(1.0 - prob_within(found.margin_k, low=0.0))
    assert found.margin_k.value == pytest.approx(temperature_c - 12.94, abs=0.02)


def test_a_margin_may_be_asked_for() -> None:
    assert check(15.0, u_std=0.1, air=_exact_air(24.0, 0.5)).decision.verdict is Verdict.MET
    wanted = check(15.0, u_std=0.1, air=_exact_air(24.0, 0.5), margin_wanted_k=3.0)
    assert wanted.decision.verdict is Verdict.NOT_MET
    assert wanted.prob_wet_frac < 1e-6


def _exact_air(temperature_c: float, rel_humidity_frac: float) -> AirEstimate:
    return air_estimate_from(
        pressure_pa=exact(SEA_LEVEL_PA),
        temperature_c=exact(temperature_c),
        rel_humidity_frac=exact(rel_humidity_frac),
        humidity_over=HumidityOver.WATER,
    )


def test_mould_screen_asks_more_than_dryness() -> None:
    """24 °C/50 %: dew at 12.9 °C, 80 % at 16.4 °C."""
    dry = check(15.0, u_std=0.1, air=_exact_air(24.0, 0.5))
    assert dry.decision.verdict is Verdict.MET
    assert dry.mould_decision.verdict is Verdict.NOT_MET
    flag = next(f for f in dry.flags if f.code == "mould-screen")
    assert flag.severity is Severity.WARNING and "second-hand" in flag.message
    assert not check(19.0, u_std=0.1, air=_exact_air(24.0, 0.5)).flags
    doubtful = check(16.4, u_std=0.3, air=_exact_air(24.0, 0.5))
    assert doubtful.mould_decision.verdict is Verdict.NOT_SHOWN


def test_humidity_is_one_exactly_at_the_dew_point() -> None:
    for temperature_c, frac in ((24.0, 0.5), (21.0, 0.3), (5.0, 0.6), (-8.0, 0.7)):
        given = _exact_air(temperature_c, frac)
        at_dew = surface_rel_humidity(air=given, surface_temperature_c=condensation_point_c(given))
        assert at_dew.value == pytest.approx(1.0, abs=1e-6)
        warm = surface_rel_humidity(air=given, surface_temperature_c=exact(temperature_c))
        own = moist_air_from(
            pressure_pa=SEA_LEVEL_PA,
            temperature_c=temperature_c,
            humidity_ratio_kg_kg=given.state.humidity_ratio_kg_kg,
            humidity_over=HumidityOver.ICE,
        )
        assert warm.value == pytest.approx(own.rel_humidity_frac, abs=1e-6)


def test_frost_comes_before_dew_on_a_cold_surface() -> None:
    cold = probed(ODA, -5.0, 0.8, half_width_frac=0.02)
    frost = condensation_point_c(cold)
    assert frost.value == pytest.approx(cold.state.frost_point_c)
    assert frost.value > cold.dew_point_c.value
    # Its slope is that of the frost curve, found here by moving the humidity.
    moved = {
        s: moist_air_from(
            pressure_pa=SEA_LEVEL_PA,
            temperature_c=-5.0,
            rel_humidity_frac=0.8 + s * 0.001,
            humidity_over=HumidityOver.WATER,
        )
        for s in (-1, 1)
    }
    slope = (moved[1].frost_point_c - moved[-1].frost_point_c) / (
        moved[1].dew_point_c - moved[-1].dew_point_c
    )
    assert frost.u_std / cold.dew_point_c.u_std == pytest.approx(slope, rel=0.03)
    found = check(-9.0, air=cold)
    assert found.decision.verdict is Verdict.NOT_MET
    assert "frost point" in next(f for f in found.flags if f.code == "surface-wet").message


def test_a_surface_read_by_the_probe_of_the_air_shares_its_offset() -> None:
    room = air()
    shared = surface_temperature_from_factor(
        indoor_c=room.temperature_c, outdoor_c=exact(0.0), temperature_factor_frac=exact(0.7)
    )
    found = check_surface(
        surface_id="wall", surface_temperature_c=shared, air=room, air_name="room"
    )
    assert correlation(shared, found.dew_point_c) > 0.2
    assert found.margin_k.u_std < math.hypot(shared.u_std, found.dew_point_c.u_std)


def test_the_smallest_margin_comes_first() -> None:
    near, far = check(14.0, surface_id="edge"), check(18.0, surface_id="wall")
    found = first_to_wet([far, near])
    assert found is not None and found.runner_up is not None
    assert (found.check.surface_id, found.runner_up.surface_id) == ("edge", "wall")
    assert found.prob_first_frac > 0.99
    alike = first_to_wet([check(14.0, surface_id="a"), check(14.05, surface_id="b")])
    assert alike is not None and 0.5 < alike.prob_first_frac < 0.6
    alone = first_to_wet([near])
    assert alone is not None and alone.runner_up is None and alone.prob_first_frac == 1.0


def test_limits_hold_with_the_confidence_asked() -> None:
    walls = {"window": surface(13.5, 0.4), "wall": surface(14.0, 0.1)}
    found = highest_safe_dew_point(walls, u_dew_point_k=0.3, confidence_frac=0.95)
    assert found is not None and found.surface_id == "window"
    margin = measured(
        walls["window"].value - found.limit_c, u_std=math.hypot(0.4, 0.3), id="m", label="m"
    )
    assert prob_within(margin, low=0.0) == pytest.approx(0.95, abs=1e-6)
    even = highest_safe_dew_point(walls, confidence_frac=0.5)
    assert even is not None and even.limit_c == 13.5
    assert highest_safe_dew_point({}) is None
    with pytest.raises(ValueError, match="confidence"):
        highest_safe_dew_point(walls, confidence_frac=1.0)


def cooled(name: str, factor: float, dew_c: float, other_c: float = 30.0) -> CooledSurface:
    return CooledSurface(
        surface_id=name,
        other_side_c=limits(other_c, 1.0, f"{name}:other"),
        temperature_factor=limits(factor, 0.03, f"{name}:factor"),
        dew_point_c=limits(dew_c, 0.8, "dew"),
    )


def test_the_set_point_puts_the_surface_at_its_dew_point() -> None:
    lining = cooled("lining", 0.9, 22.0)
    found = lowest_safe_set_point((lining, cooled("deck", 0.6, 22.0)))
    assert found is not None and found.surface_id == "lining"
    at = surface_temperature_from_factor(
        indoor_c=exact(found.estimate_c.value),
        outdoor_c=exact(30.0),
        temperature_factor_frac=exact(0.9),
    )
    assert at.value == pytest.approx(22.0)
    assert found.limit_c > found.estimate_c.value
    # Monte Carlo in one line: the guard covers what the inputs do to the surface.
    safe = surface_temperature_from_factor(
        indoor_c=exact(found.limit_c),
        outdoor_c=lining.other_side_c,
        temperature_factor_frac=lining.temperature_factor,
    )
    margin_u = math.hypot(safe.u_std, lining.dew_point_c.u_std)
    dry = prob_within(measured(safe.value - 22.0, u_std=margin_u, id="m", label="m"), low=0.0)
    assert dry == pytest.approx(0.95, abs=0.01)
    assert lowest_safe_set_point(()) is None
    with pytest.raises(ValueError, match="not above 0"):
        lowest_safe_set_point((cooled("none", 0.0, 22.0),))


def test_factor_and_temperature_are_inverse_with_one_budget() -> None:
    indoor, outdoor = limits(21.0, 0.5, "in"), limits(-3.0, 0.5, "out")
    factor = temperature_factor_from(surface_c=surface(14.0), indoor_c=indoor, outdoor_c=outdoor)
    there_and_back = surface_temperature_from_factor(
        indoor_c=indoor, outdoor_c=outdoor, temperature_factor_frac=factor
    )
    assert there_and_back.value == pytest.approx(14.0)
    assert there_and_back.u_std == pytest.approx(0.3)
    with pytest.raises(ZeroDivisionError):
        temperature_factor_from(surface_c=exact(20.0), indoor_c=exact(20.0), outdoor_c=exact(20.0))


def test_a_bare_duct_is_as_cold_as_its_air_and_much_insulation_as_warm_as_the_room() -> None:
    for r, expected in ((0.0, 13.0), (1e6, 26.0)):
        skin = duct_skin_temperature(
            ambient_c=exact(26.0), duct_air_c=exact(13.0), insulation_m2k_w=exact(r)
        )
        assert skin.value == pytest.approx(expected, abs=1e-4)
    needed = insulation_needed_m2k_w(ambient_c=26.0, duct_air_c=13.0, dew_point_c=22.0)
    skin = duct_skin_temperature(
        ambient_c=exact(26.0), duct_air_c=exact(13.0), insulation_m2k_w=exact(needed)
    )
    assert skin.value == pytest.approx(22.0)
    assert skin.u_std > 0.1  # the film is not well known
    assert insulation_needed_m2k_w(ambient_c=26.0, duct_air_c=24.0, dew_point_c=20.0) == 0.0


def test_round_insulation_tends_to_flat() -> None:
    flat = round_insulation_m2k_w(thickness_m=0.02, inner_diameter_m=1e4, conductivity_w_m_k=0.04)
    assert flat == pytest.approx(0.5, rel=1e-5)
    pipe = round_insulation_m2k_w(
        thickness_m=0.013, inner_diameter_m=0.022, conductivity_w_m_k=0.04
    )
    assert pipe > 0.013 / 0.04


@pytest.mark.parametrize(
    ("function", "arguments"),
    [
        (duct_skin_temperature, {"ambient_c": 1, "duct_air_c": 1, "insulation_m2k_w": -1}),
        (glazing_temperature, {"indoor_c": 20, "outdoor_c": 0, "u_value_w_m2_k": 9}),
    ],
)
def test_impossible_constructions_are_refused(function, arguments) -> None:
    with pytest.raises(ValueError):
        function(**{name: exact(float(value)) for name, value in arguments.items()})


def test_impossible_numbers_are_refused() -> None:
    with pytest.raises(ValueError, match="at or below its dew point"):
        insulation_needed_m2k_w(ambient_c=20.0, duct_air_c=13.0, dew_point_c=20.0)
    with pytest.raises(ValueError, match="conductivity"):
        round_insulation_m2k_w(thickness_m=0.1, inner_diameter_m=0.1, conductivity_w_m_k=0.0)
    with pytest.raises(ValueError, match="relative humidity"):
        critical_surface_temperature_c(air(), rel_humidity_frac=80.0)
    with pytest.raises(ValueError, match="above the air"):
        rel_humidity_at_dew_point_frac(dew_point_c=21.0, temperature_c=20.0)


def test_a_terminal_lies_between_its_air_and_the_room() -> None:
    face = supply_terminal_temperature(
        supply_c=exact(13.0), room_c=exact(24.0), warming_frac=limits(0.15, 0.15, "warming")
    )
    assert face.value == pytest.approx(13.0 + 0.15 * 11.0)
    assert face.u_std == pytest.approx(11.0 * 0.15 / math.sqrt(3.0))


def test_the_critical_month_is_the_one_that_asks_most() -> None:
    months = [
        ClimateMonth(name=n, outdoor_c=t, outdoor_rel_humidity_frac=h, excess_pa=e)
        for n, t, h, e in (
            ("January", -5.0, 0.9, 540.0),
            ("April", 8.0, 0.8, 540.0),
            ("July", 22.0, 0.7, 100.0),
        )
    ]
    found = critical_month(months, indoor_c=20.0)
    assert found is not None and found.month.name == "April"
    assert critical_month(months[2:], indoor_c=20.0) is None
    assert critical_month([], indoor_c=20.0) is None


def test_mould_needs_moister_air_in_the_cold() -> None:
    values = [growth_rel_humidity_frac(t) for t in (-1.0, 1.0, 5.0, 10.0, 20.0, 30.0)]
    assert values[0] == 1.0
    assert values == sorted(values, reverse=True) and values[-1] == 0.8
    assert growth_rel_humidity_frac(21.0, is_sensitive=False) == 0.85
