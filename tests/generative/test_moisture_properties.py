"""Rooms, houses and weather files made up by the hundred: what holds for every one of them."""

from __future__ import annotations

import math

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.unit.climate.weather_files import content, epw, hours
from ventwright.climate import parse_weather
from ventwright.moisture import (
    ExtractStep,
    Lining,
    Release,
    RoomInUse,
    RoomRun,
    RoomSurface,
    advance_humidity,
    free_response,
    run_room,
)
from ventwright.quantities import UserError


def number(low: float, high: float) -> st.SearchStrategy[float]:
    return st.floats(low, high, allow_nan=False)


@st.composite
def surfaces(draw: st.DrawFn, name: str) -> RoomSurface:
    return RoomSurface(
        surface_id=name,
        area_m2=draw(number(0.1, 30.0)),
        temperature_c=draw(number(2.0, 30.0)),
        convection_w_m2_k=draw(number(1.0, 10.0)),
        film_capacity_kg_m2=draw(number(0.0, 0.2)),
        heat_capacity_j_m2_k=draw(st.none() | number(2_000.0, 50_000.0)),
        backing_m2k_w=draw(st.just(math.inf) | number(0.01, 1.0)),
        splashed_kg_m2=draw(st.just(0.0) | number(0.0, 0.1)),
    )


@st.composite
def rooms(draw: st.DrawFn) -> RoomInUse:
    ratio = draw(number(0.001, 0.014))
    lining = Lining(
        area_m2=draw(number(1.0, 40.0)),
        buffer_value_kg_m2=draw(number(0.01, 0.2)),
        temperature_c=21.0,
        convection_w_m2_k=4.0,
        cycle_s=7200.0,
    )
    count = draw(st.integers(0, 3))
    return RoomInUse(
        volume_m3=draw(number(3.0, 60.0)),
        pressure_pa=draw(number(75_000.0, 105_000.0)),
        incoming_c=draw(number(10.0, 28.0)),
        incoming_humidity_ratio_kg_kg=ratio,
        start_c=draw(number(20.0, 28.0)),
        start_humidity_ratio_kg_kg=ratio,
        surfaces=tuple(draw(surfaces(f"s{i}")) for i in range(count)),
        lining=draw(st.none() | st.just(lining)),
        holds_temperature=draw(st.booleans()),
    )


def ran(room: RoomInUse, *, release_kg_s: float, flow_m3_s: float, step_s: float) -> RoomRun:
    shower = Release(
        start_s=60.0, end_s=660.0, moisture_kg_s=release_kg_s, heat_w=150.0, splashes=True
    )
    return run_room(
        math,
        room,
        releases=(shower,),
        extract=(ExtractStep(start_s=0.0, flow_m3_s=flow_m3_s),),
        duration_s=2400.0,
        step_s=step_s,
        moment_every_s=60.0,
    )


@settings(max_examples=40)
@given(
    room=rooms(),
    release_kg_s=number(0.0, 2e-3),
    flow_m3_s=number(0.0, 0.1),
    step_s=st.sampled_from([10.0, 30.0, 120.0]),
)
def test_every_room_keeps_its_water_and_its_bounds(
    room: RoomInUse, release_kg_s: float, flow_m3_s: float, step_s: float
) -> None:
    run = ran(room, release_kg_s=release_kg_s, flow_m3_s=flow_m3_s, step_s=step_s)
    w = run.water
    came = w.released_kg + w.splashed_kg + w.brought_in_kg
    went = w.extracted_kg + w.run_off_kg + w.settled_kg + w.stayed_kg
    assert math.isclose(came, went, rel_tol=1e-9, abs_tol=1e-12)
    assert min(w.extracted_kg, w.run_off_kg, w.settled_kg) >= 0.0
    for moment in run.moments:
        assert 0.0 < moment.rel_humidity_frac <= 1.0 + 1e-9
        assert all(film >= 0.0 for film in moment.film_kg_m2)
        assert -20.0 < moment.temperature_c < 80.0


@settings(max_examples=25)
@given(room=rooms(), release_kg_s=number(1e-4, 1e-3), flow_m3_s=number(0.002, 0.05))
def test_many_rooms_at_once_are_each_as_one(
    room: RoomInUse, release_kg_s: float, flow_m3_s: float
) -> None:
    one = ran(room, release_kg_s=release_kg_s, flow_m3_s=flow_m3_s, step_s=30.0)
    flows = np.array([0.5 * flow_m3_s, flow_m3_s, 3.0 * flow_m3_s])
    many = run_room(
        np,
        room,
        releases=(
            Release(
                start_s=60.0, end_s=660.0, moisture_kg_s=release_kg_s, heat_w=150.0, splashes=True
            ),
        ),
        extract=(ExtractStep(start_s=0.0, flow_m3_s=flows),),
        duration_s=2400.0,
        step_s=30.0,
    )
    for alone, together in zip(one.spells, many.spells, strict=True):
        for field in ("fogs_at_s", "clears_at_s", "peak_film_kg_m2"):
            of_many = float(np.broadcast_to(getattr(together, field), (3,))[1])
            of_one = float(getattr(alone, field))
            assert of_many == of_one or math.isclose(of_many, of_one, rel_tol=1e-9, abs_tol=30.0)
    assert math.isclose(float(many.water.extracted_kg[1]), one.water.extracted_kg, rel_tol=1e-9)


@given(
    start=number(0.001, 0.02),
    settled=number(0.001, 0.03),
    fresh=number(1e-4, 0.2),
    stored=number(50.0, 2e4),
    wanted=number(0.004, 0.02),
    floor=number(0.004, 0.02),
    capacity=number(0.0, 1e-2),
)
def test_drying_never_moistens_and_never_overshoots(
    start: float,
    settled: float,
    fresh: float,
    stored: float,
    wanted: float,
    floor: float,
    capacity: float,
) -> None:
    given_hour = {"fresh_kg_s": fresh, "stored_kg": stored, "step_s": 3600.0}
    free, response = free_response(math, start_kg_kg=start, settled_kg_kg=settled, **given_hour)
    with_coil, _ = free_response(math, start_kg_kg=start, settled_kg_kg=floor, **given_hour)
    end, coil, dried = advance_humidity(
        math,
        start_kg_kg=start,
        free_end_kg_kg=free,
        response_s_kg=response,
        coil_end_kg_kg=with_coil,
        coil_floor_kg_kg=floor,
        wanted_kg_kg=wanted,
        capacity_kg_s=capacity,
    )
    assert coil >= 0.0
    assert 0.0 <= dried <= capacity
    assert end <= free + 1e-15
    assert end >= min(free, wanted, floor) - 1e-12
    # What was taken out is what lies between the two ends.
    assert math.isclose(free - end, (coil + dried) * response, rel_tol=1e-9, abs_tol=1e-15)


LINES = epw(hours())


@settings(max_examples=30)
@given(
    damage=st.lists(
        st.tuples(st.integers(8, len(LINES) - 1), st.text(max_size=40)), min_size=1, max_size=20
    )
)
def test_a_damaged_file_is_read_around_its_damage(damage: list[tuple[int, str]]) -> None:
    lines = list(LINES)
    for at, text in damage:
        lines[at] = text
    data = "\n".join(lines).encode("utf-8", errors="replace")
    weather = parse_weather(data, name="damaged.epw")
    assert weather.known_count >= 8760 - 24 * len(damage)
    assert bool(np.isfinite(weather.temperature_c[weather.is_known]).all())
    assert bool((weather.humidity_ratio_kg_kg[weather.is_known] > 0.0).all())


@settings(max_examples=60)
@given(data=st.binary(max_size=400))
def test_anything_else_is_refused_as_the_users_to_mend(data: bytes) -> None:
    try:
        parse_weather(data, name="odd.bin")
    except UserError as refusal:
        assert str(refusal)
    else:
        raise AssertionError("a year was read from noise")


def test_a_truncated_file_is_read_as_far_as_it_goes() -> None:
    half = content(LINES)[:300_000]
    weather = parse_weather(half, name="cut.epw")
    assert 0 < weather.known_count < 8760
