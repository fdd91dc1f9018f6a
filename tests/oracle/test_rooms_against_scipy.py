"""A room in use against the same balances written as differential equations for scipy."""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
import psychrolib
import pytest
from scipy.integrate import solve_ivp

from ventwright.air import kernels
from ventwright.moisture import (
    ExtractStep,
    Lining,
    Release,
    RoomInUse,
    RoomSurface,
    WetRoomPlan,
    buffer_layer,
    middle_of,
    moisture_effusivity_si,
    run_room,
    usual_wet_room_assumptions,
    wet_room,
)
from ventwright.quantities import HumidityOver

PRESSURE_PA = 101_325.0
SHOWER_S, DURATION_S = 600.0, 3600.0
LEWIS, HEAT_J_KG = 0.86, 2.45e6


def saturated(temperature_c: float) -> float:
    """Humidity ratio at saturation by psychrolib, with the enhancement factor it leaves out."""
    psychrolib.SetUnitSystem(psychrolib.SI)
    factor = kernels.enhancement_factor(
        math, temperature_c=temperature_c, pressure_pa=PRESSURE_PA, over=HumidityOver.ICE
    )
    vapour_pa = factor * psychrolib.GetSatVapPres(temperature_c)
    return 0.621945 * vapour_pa / (PRESSURE_PA - vapour_pa)


def surface(name: str, area_m2: float, **more: float) -> RoomSurface:
    return RoomSurface(
        surface_id=name,
        area_m2=area_m2,
        temperature_c=20.0,
        convection_w_m2_k=4.0,
        film_capacity_kg_m2=1.0,
        **more,
    )


def room(*, lining: Lining | None = None, surfaces: tuple[RoomSurface, ...]) -> RoomInUse:
    return RoomInUse(
        volume_m3=12.0,
        pressure_pa=PRESSURE_PA,
        incoming_c=21.0,
        incoming_humidity_ratio_kg_kg=0.0070,
        start_c=21.0,
        start_humidity_ratio_kg_kg=0.0070,
        surfaces=surfaces,
        lining=lining,
    )


def equations(case: RoomInUse, *, release_kg_s: float, heat_w: float, flow_m3_s: float) -> Callable:
    """Right-hand side for [T, W, lining, surface temperatures, films], written anew."""
    volume = 287.042 * 294.15 * (1.0 + 0.0070 / 0.621945) / PRESSURE_PA
    dry_kg, exchanged = case.volume_m3 / volume, flow_m3_s / volume
    transfer = 4.0 / (1006.0 * LEWIS ** (2.0 / 3.0))
    surfaces = case.surfaces
    n = len(surfaces)
    if case.lining is not None:
        pws = kernels.saturation_pressure_pa(
            math,
            temperature_c=case.lining.temperature_c,
            pressure_pa=PRESSURE_PA,
            over=HumidityOver.ICE,
        )
        effusivity = moisture_effusivity_si(
            buffer_value_kg_m2=case.lining.buffer_value_kg_m2, saturation_pressure_pa=pws
        )
        capacity, resistance = buffer_layer(
            effusivity_si=effusivity, saturation_pressure_pa=pws, cycle_s=case.lining.cycle_s
        )
        film = 1006.0 * LEWIS ** (2.0 / 3.0) / case.lining.convection_w_m2_k
        conductance = 1.0 / (film + resistance * 0.621945 / PRESSURE_PA)
        lining_ratio = saturated(case.lining.temperature_c)

    def change(time_s: float, y: np.ndarray) -> np.ndarray:
        air_c, ratio, stored = y[:3]
        is_on = time_s < SHOWER_S
        water = (release_kg_s if is_on else 0.0) + exchanged * (0.0070 - ratio)
        heat = heat_w if is_on else 0.0
        heat_capacity = 1006.0 + 1860.0 * ratio
        heat += exchanged * heat_capacity * (21.0 - air_c)
        dy = np.zeros_like(y)
        for i, s in enumerate(surfaces):
            wall_c, film_kg = y[3 + i], y[3 + n + i]
            flux = transfer * (ratio - saturated(wall_c))
            if film_kg <= 0.0 and flux < 0.0:
                flux = 0.0
            water -= s.area_m2 * flux
            heat += s.area_m2 * 4.0 * (wall_c - air_c)
            dy[3 + n + i] = flux
            if s.heat_capacity_j_m2_k is not None:
                gained = 4.0 * (air_c - wall_c) + HEAT_J_KG * flux
                gained += (s.temperature_c - wall_c) / s.backing_m2k_w
                dy[3 + i] = gained / s.heat_capacity_j_m2_k
        if case.lining is not None:
            flux = conductance * (ratio - stored * lining_ratio)
            water -= case.lining.area_m2 * flux
            dy[2] = flux / capacity
        dy[0] = heat / (dry_kg * heat_capacity)
        dy[1] = water / dry_kg
        return dy

    return change


CASES = {
    "cold mirror": room(surfaces=(surface("mirror", 1.0),)),
    "mirror and tiles that warm": room(
        surfaces=(
            surface("mirror", 1.0, heat_capacity_j_m2_k=10_500.0),
            surface("tiles", 12.0, heat_capacity_j_m2_k=13_000.0, backing_m2k_w=0.05),
        )
    ),
    "lining that stores": room(
        lining=Lining(
            area_m2=18.0,
            buffer_value_kg_m2=0.05,
            temperature_c=21.0,
            convection_w_m2_k=4.0,
            cycle_s=7200.0,
        ),
        surfaces=(surface("mirror", 1.0, heat_capacity_j_m2_k=10_500.0),),
    ),
}


@pytest.mark.parametrize("name", list(CASES))
def test_course_of_a_shower(name: str) -> None:
    case = CASES[name]
    release, heat, flow = 25e-3 / 60.0, 180.0, 0.020
    change = equations(case, release_kg_s=release, heat_w=heat, flow_m3_s=flow)
    n = len(case.surfaces)
    start_lining = 0.0 if case.lining is None else 0.0070 / saturated(21.0)
    y = np.array([21.0, 0.0070, start_lining, *([20.0] * n), *([0.0] * n)])
    theirs: dict[float, np.ndarray] = {}
    # The shower's end is a jump of the equations: one call of the solver on either side of it.
    for begin, end in ((0.0, SHOWER_S), (SHOWER_S, DURATION_S)):
        times = np.arange(begin + 300.0, end + 1.0, 300.0)
        solved = solve_ivp(
            change, (begin, end - 1e-6), y, method="LSODA", t_eval=times - 1e-6, max_step=2.0,
            rtol=1e-7, atol=1e-10,
        )  # fmt: skip
        assert solved.success
        theirs |= dict(zip(times.tolist(), solved.y.T, strict=True))
        y = solved.y[:, -1]
    run = run_room(
        math,
        case,
        releases=(Release(start_s=0.0, end_s=SHOWER_S, moisture_kg_s=release, heat_w=heat),),
        extract=(ExtractStep(start_s=0.0, flow_m3_s=flow),),
        duration_s=DURATION_S,
        step_s=1.0,
        moment_every_s=1.0,
    )
    ours = {m.time_s: m for m in run.moments}
    for time_s, state in theirs.items():
        moment = ours[time_s]
        assert moment.temperature_c == pytest.approx(state[0], abs=0.01)
        assert moment.humidity_ratio_kg_kg == pytest.approx(state[1], abs=2e-5)
        assert moment.surface_c == pytest.approx(state[3 : 3 + n], abs=0.02)
        assert moment.film_kg_m2 == pytest.approx(np.maximum(state[3 + n :], 0.0), abs=4e-4)


def test_times_hardly_depend_on_the_step_and_long_steps_are_stable() -> None:
    plan = WetRoomPlan(
        volume_m3=12.0,
        mirror_m2=1.0,
        tiles_m2=15.0,
        lining_m2=18.0,
        incoming_c=21.0,
        incoming_humidity_ratio_kg_kg=0.0069,
        pressure_pa=PRESSURE_PA,
        shower_s=SHOWER_S,
    )
    case, releases = wet_room(plan, middle_of(usual_wet_room_assumptions()))
    spells = {}
    for step_s in (1.0, 5.0, 10.0, 120.0):
        run = run_room(
            math,
            case,
            releases=releases,
            extract=(ExtractStep(start_s=0.0, flow_m3_s=0.010),),
            duration_s=7200.0,
            step_s=step_s,
        )
        spells[step_s] = run.spell("mirror")
        assert run.peak_rel_humidity_frac <= 1.0 + 1e-9
    for step_s, allowed_s in ((5.0, 10.0), (10.0, 20.0), (120.0, 240.0)):
        for name in ("fogs_at_s", "clears_at_s"):
            near = pytest.approx(getattr(spells[1.0], name), abs=allowed_s)
            assert getattr(spells[step_s], name) == near
