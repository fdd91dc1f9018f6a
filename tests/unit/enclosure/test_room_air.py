"""Room air: solutions known in closed form, conservation, nights, what mends a stale room."""

import math

import pytest

from ventwright.enclosure import (
    Door,
    Zone,
    air_paths,
    course_of_levels,
    fresh_air_reaching_m3_s,
    people_give_off,
    rate_in_room_m3_s,
    steady_levels,
    supply_for_limit_m3_s,
    usual_co2_limit,
    usual_generation_rates,
)

OUTDOOR = 420e-6


def single(supply=0.010, volume=30.0):
    room = Zone(id="room", volume_m3=volume, supply_m3_s=supply, extract_m3_s=supply)
    return air_paths([room], [], root="room")


def two_rooms(*, exchange, supply=(0.010, 0.030), volumes=(30.0, 200.0)):
    """A bedroom that overflows to the rest of the house, air swapping past its door besides."""
    bed = Zone(id="bed", volume_m3=volumes[0], supply_m3_s=supply[0])
    rest = Zone(id="rest", volume_m3=volumes[1], supply_m3_s=supply[1], extract_m3_s=sum(supply))
    door = Door(first="bed", second="rest", exchange_m3_s=exchange)
    return air_paths([bed, rest], [door], root="rest")


def test_one_room_settles_where_flow_and_source_say():
    levels = steady_levels(single(), generation_m3_s={"room": 6e-6}, outdoor_frac=OUTDOOR)
    assert levels.of("room") == pytest.approx(OUTDOOR + 6e-6 / 0.010, rel=1e-14)


def test_one_room_approaches_exponentially():
    course = course_of_levels(
        single(),
        generation_m3_s={"room": 6e-6},
        start_frac={"room": 900e-6},
        outdoor_frac=OUTDOOR,
        duration_s=7200.0,
        step_count=8,
    )
    settled = OUTDOOR + 6e-4
    for time, levels in zip(course.times_s, course.levels, strict=True):
        by_hand = settled + (900e-6 - settled) * math.exp(-0.010 * time / 30.0)
        assert levels.of("room") == pytest.approx(by_hand, rel=1e-13)
    end = math.exp(-0.010 * 7200.0 / 30.0)
    mean = settled + (900e-6 - settled) * (1.0 - end) / (0.010 * 7200.0 / 30.0)
    assert course.mean.of("room") == pytest.approx(mean, rel=1e-13)


def test_sealed_room_rises_in_a_straight_line_and_never_settles():
    sealed = air_paths([Zone(id="room", volume_m3=30.0)], [], root="room")
    assert steady_levels(sealed, generation_m3_s={"room": 6e-6}).of("room") is None
    course = course_of_levels(
        sealed,
        generation_m3_s={"room": 6e-6},
        start_frac={},
        outdoor_frac=OUTDOOR,
        duration_s=8 * 3600.0,
    )
    assert course.levels[-1].of("room") == pytest.approx(OUTDOOR + 6e-6 * 28800.0 / 30.0)


def test_two_rooms_settle_where_two_balances_say():
    generation = {"bed": 6e-6, "rest": 4e-6}
    levels = steady_levels(two_rooms(exchange=0.060), generation_m3_s=generation)
    # swap = 0.060 − 0.010/2; bed: (s + w) b = w r + G; rest loses all extract.
    swap, supply, total = 0.055, 0.010, 0.040
    rest = (4e-6 + 6e-6) / total
    bed = (6e-6 + swap * rest) / (supply + swap)
    assert levels.of("rest") == pytest.approx(rest, rel=1e-13)
    assert levels.of("bed") == pytest.approx(bed, rel=1e-13)


def test_two_rooms_move_by_two_exponentials():
    """Eigenvalues and eigenvectors of the 2 × 2 system by hand."""
    swap, supply, total, v1, v2 = 0.055, 0.010, 0.040, 30.0, 200.0
    a11, a12 = -(supply + swap) / v1, swap / v1
    a21, a22 = (supply + swap) / v2, -(total + swap) / v2
    trace, det = a11 + a22, a11 * a22 - a12 * a21
    root = math.sqrt(trace * trace / 4.0 - det)
    fast, slow = trace / 2.0 - root, trace / 2.0 + root
    start = (1e-3, 2e-4)
    # c(t) = p e^{fast t} + q e^{slow t} with p + q = start and fast p + slow q = A start.
    rate = (a11 * start[0] + a12 * start[1], a21 * start[0] + a22 * start[1])
    q = [(r - fast * s) / (slow - fast) for r, s in zip(rate, start, strict=True)]
    p = [s - x for s, x in zip(start, q, strict=True)]
    time = 3000.0
    by_hand = [
        x * math.exp(fast * time) + y * math.exp(slow * time) for x, y in zip(p, q, strict=True)
    ]
    course = course_of_levels(
        two_rooms(exchange=0.060),
        generation_m3_s={},
        start_frac={"bed": start[0], "rest": start[1]},
        duration_s=time,
        step_count=3,
    )
    found = course.levels[-1].concentration_frac
    assert found == pytest.approx(by_hand, rel=1e-12)


def test_supply_carries_back_what_the_exchanger_leaks():
    room = Zone(id="room", volume_m3=30.0, supply_m3_s=0.01, extract_m3_s=0.01)
    paths = air_paths([room], [], root="room", exhaust_transfer_frac=0.1)
    levels = steady_levels(paths, generation_m3_s={"room": 6e-6}, outdoor_frac=OUTDOOR)
    assert levels.of("room") == pytest.approx(OUTDOOR + 6e-6 / 0.009, rel=1e-13)


def test_bedroom_fed_from_the_hall_has_what_swaps_past_its_door():
    bed = Zone(id="bed", volume_m3=30.0)
    hall = Zone(id="hall", volume_m3=200.0, supply_m3_s=0.040, extract_m3_s=0.040)
    door = Door(first="bed", second="hall", exchange_m3_s=0.0004)
    reaching = fresh_air_reaching_m3_s(air_paths([bed, hall], [door], root="hall"), zone_id="bed")
    # Two resistances in a row: past the door, and out of the house.
    assert 1.0 / reaching == pytest.approx(1.0 / 0.0004 + 1.0 / 0.040)
    shut = Door(first="bed", second="hall")
    assert fresh_air_reaching_m3_s(air_paths([bed, hall], [shut], root="hall"), zone_id="bed") == 0


def test_generic_pollutant_is_spread_by_the_same_flows():
    """Given off by every floor alike, in µg: dirtiest where least air comes per floor."""
    per_m3_s = {"bed": 12.0, "rest": 80.0}
    levels = steady_levels(two_rooms(exchange=0.0), generation_m3_s=per_m3_s)
    assert levels.of("bed") == pytest.approx(12.0 / 0.010)
    assert levels.of("rest") == pytest.approx(92.0 / 0.040)


def test_supply_that_mends_a_stale_room_just_keeps_the_limit():
    zones = [
        Zone(id="bed", volume_m3=30.0, supply_m3_s=0.004),
        Zone(id="rest", volume_m3=200.0, supply_m3_s=0.036, extract_m3_s=0.040),
    ]
    doors = [Door(first="bed", second="rest", exchange_m3_s=0.0003)]
    asked = {
        "generation_m3_s": {"bed": 22e-3 / 3600.0, "rest": 2e-6},
        "outdoor_frac": OUTDOOR,
    }
    limit = usual_co2_limit().concentration_frac
    flow = supply_for_limit_m3_s(
        zones,
        doors,
        root="rest",
        zone_id="bed",
        limit_frac=limit,
        exhaust_transfer_frac=0.02,
        **asked,
    )
    assert flow is not None and flow > 0.010
    more = flow - 0.004
    mended = [
        Zone(id="bed", volume_m3=30.0, supply_m3_s=flow),
        Zone(id="rest", volume_m3=200.0, supply_m3_s=0.036, extract_m3_s=0.040 + more),
    ]
    paths = air_paths(mended, doors, root="rest", exhaust_transfer_frac=0.02)
    assert steady_levels(paths, **asked).of("bed") == pytest.approx(limit, rel=1e-9)


def test_room_that_is_fresh_keeps_its_supply_and_a_hopeless_one_is_said_so():
    room = Zone(id="a", volume_m3=30.0, supply_m3_s=0.02, extract_m3_s=0.02)
    asked = {"root": "a", "zone_id": "a", "generation_m3_s": {"a": 6e-6}, "outdoor_frac": OUTDOOR}
    assert supply_for_limit_m3_s([room], [], limit_frac=1e-3, **asked) == 0.02
    assert supply_for_limit_m3_s([room], [], limit_frac=OUTDOOR + 1e-9, **asked) is None
    with pytest.raises(ValueError, match="limit_frac"):
        supply_for_limit_m3_s([room], [], limit_frac=OUTDOOR, **asked)


def test_unknown_zones_and_times_are_refused():
    with pytest.raises(ValueError, match="attic"):
        steady_levels(single(), generation_m3_s={"attic": 1.0})
    with pytest.raises(ValueError, match="attic"):
        course_of_levels(single(), generation_m3_s={}, start_frac={"attic": 1.0}, duration_s=1.0)
    with pytest.raises(ValueError, match="duration_s"):
        course_of_levels(single(), generation_m3_s={}, start_frac={}, duration_s=0.0)


def test_breath_at_altitude_is_more_volume():
    rates = {r.id: r for r in usual_generation_rates()}
    low = rate_in_room_m3_s(rates["man-awake"])
    high = rate_in_room_m3_s(rates["man-awake"], pressure_pa=80_000.0)
    assert high / low == pytest.approx(101_325.0 / 80_000.0)
    assert rate_in_room_m3_s(rates["asleep"], pressure_pa=80_000.0) == rates["asleep"].rate_m3_s


def test_more_people_are_known_better_in_proportion():
    asleep = usual_generation_rates()[0]
    one, four = (people_give_off(asleep, people=n, place="bed") for n in (1, 4))
    assert four.u_std / four.value == pytest.approx(0.5 * one.u_std / one.value)
    assert people_give_off(asleep, people=0, place="bed").u_std == 0.0
