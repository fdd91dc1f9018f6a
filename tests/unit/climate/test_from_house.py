"""From a house file to a year: what is written counts, what isn't is assumed aloud."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from ventwright.climate import CoolingCoil, YearOptions, YearPlan, plan_year
from ventwright.house import (
    DuctKind,
    DuctPiece,
    Envelope,
    FanSetting,
    House,
    RatedBasis,
    RatedPoint,
    Recovery,
    SettingRole,
    Surface,
    SurfaceKind,
    System,
    Terminal,
    VentilationUnit,
)
from ventwright.quantities import Problem, Severity, Side, UserError

UNIT = VentilationUnit(
    name="made-up unit",
    recovery=Recovery.ENERGY,
    exhaust_transfer_frac=0.02,
    rated_points=(
        RatedPoint(
            flow_m3_s=0.040,
            outdoor_temperature_c=2.0,
            basis=RatedBasis.TEMPERATURE_RATIO,
            sensible_frac=0.84,
            latent_frac=0.60,
        ),
        RatedPoint(
            flow_m3_s=0.060,
            outdoor_temperature_c=2.0,
            basis=RatedBasis.TEMPERATURE_RATIO,
            sensible_frac=0.80,
            latent_frac=0.50,
        ),
        RatedPoint(
            flow_m3_s=0.050,
            outdoor_temperature_c=-15.0,
            basis=RatedBasis.TEMPERATURE_RATIO,
            sensible_frac=0.60,
        ),
    ),
)
DAY = FanSetting(
    id="day",
    role=SettingRole.CONTINUOUS,
    supply_flow_m3_s=0.060,
    extract_flow_m3_s=0.058,
    hours_per_day=16,
)
NIGHT = FanSetting(
    id="night",
    role=SettingRole.REDUCED,
    supply_flow_m3_s=0.060,
    extract_flow_m3_s=0.060,
    run_time_s=1800.0,
    period_s=3600.0,
    hours_per_day=8,
)


def house(*, system: dict[str, Any] | None = None, **changes: Any) -> House:
    parts: dict[str, Any] = {
        "id": "a",
        "ventilation_unit": UNIT,
        "fan_settings": (DAY, NIGHT),
        **(system or {}),
    }
    given: dict[str, Any] = {
        "schema": "ventwright-house-1",
        "id": "h",
        "name": "Made-up House",
        "volume_m3": 300.0,
        "people": 3,
        "envelope": Envelope(leakage_flow_m3_s=0.20, test_pressure_pa=50.0),
        "systems": (System(**parts),),
        **changes,
    }
    return House(**given)


def planned(one: House, **options: Any) -> tuple[YearPlan, tuple[Problem, ...]]:
    return plan_year(one, YearOptions(**options))


def test_settings_count_by_their_hours_and_running_time() -> None:
    plan, _ = planned(house())
    assert plan.supply_m3_s.value == pytest.approx((16 * 0.060 + 8 * 0.030) / 24)
    assert plan.extract_m3_s.value == pytest.approx((16 * 0.058 + 8 * 0.030) / 24)
    assert plan.supply_m3_s.u_std == pytest.approx(0.05 * plan.supply_m3_s.value)


def test_without_hours_the_continuous_setting_runs_all_day() -> None:
    settings = tuple(replace(s, hours_per_day=None) for s in (NIGHT, DAY))
    assert planned(house(system={"fan_settings": settings}))[0].supply_m3_s.value == 0.060


def test_without_settings_the_terminals_count() -> None:
    terminals = (
        Terminal(id="s", side=Side.SUPPLY, room="r", design_flow_m3_s=0.030),
        Terminal(id="x", side=Side.EXTRACT, room="r", design_flow_m3_s=0.025),
    )
    plan, _ = planned(house(system={"fan_settings": (), "terminals": terminals}))
    assert (plan.supply_m3_s.value, plan.extract_m3_s.value) == (0.030, 0.025)


def test_ratings_are_read_at_the_flow_and_of_the_mildest_test() -> None:
    plan, notes = planned(house())
    assert plan.sensible_effectiveness.value == pytest.approx(0.82)
    assert plan.latent_effectiveness.value == pytest.approx(0.55)
    assert plan.exhaust_transfer_frac.value == pytest.approx(0.02)
    assert "rating-assumed" not in [n.code for n in notes]


def test_beyond_the_rated_flows_the_nearest_rating_counts() -> None:
    fast = replace(DAY, supply_flow_m3_s=0.090, extract_flow_m3_s=0.090)
    plan, _ = planned(house(system={"fan_settings": (fast,)}))
    assert plan.sensible_effectiveness.value == pytest.approx(0.80)


def test_a_heat_exchanger_passes_no_moisture_and_frosts_sooner() -> None:
    heat = replace(UNIT, recovery=Recovery.HEAT, has_recirculation_defrost=True)
    plan, _ = planned(house(system={"ventilation_unit": heat}))
    assert plan.latent_effectiveness.value == plan.latent_effectiveness.u_std == 0.0
    assert plan.frost_threshold_c == -1.1
    assert plan.defrost is not None
    assert planned(house())[0].frost_threshold_c == -12.2
    assert planned(house())[0].defrost is None


def test_what_is_not_written_is_assumed_aloud() -> None:
    bare = replace(UNIT, rated_points=())
    plan, notes = planned(
        house(
            system={"ventilation_unit": bare},
            volume_m3=None,
            floor_area_m2=100.0,
            envelope=None,
            people=None,
            bedrooms=3,
        )
    )
    assert plan.volume_m3 == 250.0
    assert plan.infiltration_m3_s.value == pytest.approx(0.1 * 250.0 / 3600.0)
    assert plan.release_kg_s.value * 86_400.0 == pytest.approx(9.5)
    codes = [n.code for n in notes]
    assert codes.count("rating-assumed") == 2
    assert {"volume-assumed", "infiltration-assumed", "release-assumed"} <= set(codes)
    assert all(n.severity is Severity.NOTE for n in notes)


def test_leakage_at_another_pressure_is_carried_to_50_pa() -> None:
    at_25 = Envelope(leakage_flow_m3_s=0.12, test_pressure_pa=25.0, leakage_exponent=0.6)
    plan, _ = planned(house(envelope=at_25))
    assert plan.infiltration_m3_s.value == pytest.approx(0.12 * 2.0**0.6 / 20.0)


def test_a_net_rating_is_named() -> None:
    net = replace(UNIT, rated_points=(replace(UNIT.rated_points[0], basis=RatedBasis.NET),))
    _, notes = planned(house(system={"ventilation_unit": net}))
    assert "net-rating" in [n.code for n in notes]


def test_options_take_the_place_of_assumptions() -> None:
    coil = CoolingCoil(balance_c=20.0, sensible_w_k=150.0)
    plan, notes = planned(
        house(), heating_c=21.0, cooling_c=25.0, release_kg_s=1e-4, coil=coil, dehumidifier_kg_s=1.0
    )
    assert (plan.heating_c, plan.cooling_c, plan.coil) == (21.0, 25.0, coil)
    assert plan.release_kg_s.value == pytest.approx(1e-4)
    assert plan.release_kg_s.u_std > 0.0
    assert "release-assumed" not in [n.code for n in notes]


def test_an_insulated_duct_gets_the_factor_of_its_jacket() -> None:
    duct = DuctPiece(kind=DuctKind.FLEXIBLE, insulation_m2_k_w=1.4)
    hood = DuctPiece(kind=DuctKind.FITTING, fitting="intake_hood")
    jacket = Surface(id="jacket", kind=SurfaceKind.COLD_DUCT)
    grille = Surface(id="grille", kind=SurfaceKind.SUPPLY_TERMINAL)
    plan, _ = planned(house(system={"outdoor_ducts": (hood, duct)}, surfaces=(jacket, grille)))
    factor = plan.surfaces[0].temperature_factor_frac
    assert factor == pytest.approx(1.4 / (1.4 + 1.0 / (1.46 * 5.678)), rel=1e-3)
    assert plan.surfaces[1].is_as_supply
    bare = replace(duct, insulation_m2_k_w=None)
    plan, _ = planned(house(system={"outdoor_ducts": (duct, bare)}, surfaces=(jacket,)))
    assert plan.surfaces[0].temperature_factor_frac is None


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"volume_m3": None}, "neither volume nor floor_area"),
        ({"systems": ()}, "no planned supply flow"),
    ],
)
def test_a_house_without_air_or_flow_is_refused(changes: dict[str, Any], words: str) -> None:
    with pytest.raises(UserError, match=words):
        planned(house(**changes))
