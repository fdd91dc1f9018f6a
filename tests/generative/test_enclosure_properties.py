"""What must hold of air in rooms and of house pressure, whatever the house."""

from __future__ import annotations

import math

from hypothesis import assume, given, settings
from hypothesis import strategies as st

from ventwright.enclosure import (
    Door,
    Zone,
    air_paths,
    course_of_levels,
    leakage_from_test,
    pressure_states,
    steady_levels,
    without_fresh_air,
)
from ventwright.uncertainty import exact

CONSERVED = 1e-12
flows = st.sampled_from([0.0, 0.0, 0.004, 0.011, 0.03]) | st.floats(0.0, 0.05)
volumes = st.floats(5.0, 200.0)
exchanges = st.sampled_from([0.0, 0.0002, 0.06]) | st.floats(0.0, 0.1)
sources = st.floats(0.0, 2e-5)
quick = settings(max_examples=60, deadline=None, derandomize=True)


@st.composite
def houses(draw, *, least=2):
    """Zones hung on one another as a tree, balanced or not, with sources and cross leakage."""
    count = draw(st.integers(least, 6))
    zones = [
        Zone(
            id=f"z{i}",
            volume_m3=draw(volumes),
            supply_m3_s=draw(flows),
            extract_m3_s=draw(flows),
            infiltration_m3_s=draw(st.sampled_from([0.0, 0.002])),
        )
        for i in range(count)
    ]
    doors = [
        Door(
            first=f"z{i}",
            second=f"z{draw(st.integers(0, i - 1))}",
            exchange_m3_s=draw(exchanges),
        )
        for i in range(1, count)
    ]
    generation = {z.id: draw(sources) for z in zones}
    return zones, doors, generation, draw(st.sampled_from([0.0, 0.05]))


def paths_of(house, *, doors=None):
    return air_paths(house[0], doors or house[1], root="z0", exhaust_transfer_frac=house[3])


def carried_out(paths, level_of, outdoor):
    """Substance leaving the house less substance entering it, by every flow of air."""
    extracts = [f for f in paths.flows if f.path.value == "extract"]
    total = sum(f.flow_m3_s for f in extracts)
    mixed = sum(f.flow_m3_s * level_of(f.source) for f in extracts) / total if total else 0.0
    back = paths.exhaust_transfer_frac if total else 0.0
    out = sum(f.flow_m3_s * level_of(f.source) for f in paths.flows if f.target == "")
    for f in paths.flows:
        if f.source == "":
            is_supply = f.path.value == "supply"
            share = back if is_supply else 0.0
            out -= f.flow_m3_s * ((1.0 - share) * outdoor + share * mixed)
    return out


@given(houses())
@quick
def test_air_is_conserved_in_every_zone(house):
    paths = paths_of(house)
    for zone in house[0]:
        into = [f.flow_m3_s for f in paths.flows if f.target == zone.id]
        out = [f.flow_m3_s for f in paths.flows if f.source == zone.id]
        assert abs(math.fsum(into) - math.fsum(out)) <= CONSERVED * max([*into, *out, 1e-3])


@given(houses())
@quick
def test_settled_substance_is_conserved(house):
    paths = paths_of(house)
    assume(not without_fresh_air(paths))
    # A room that has a litre in 11 days settles at no level worth a number.
    assume(min(f.flow_m3_s for f in paths.flows) > 1e-9)
    levels = steady_levels(paths, generation_m3_s=house[2], outdoor_frac=420e-6)
    made = math.fsum(house[2].values())
    leaving = [f for f in paths.flows if f.source]
    moved = made + sum(f.flow_m3_s * levels.of(f.source) for f in leaving)
    assert abs(carried_out(paths, levels.of, 420e-6) - made) <= CONSERVED * moved


@given(houses(), st.floats(600.0, 40_000.0), st.integers(1, 9))
@quick
def test_substance_is_conserved_through_a_night(house, duration_s, steps):
    """What is there at the end is what was there, plus what was made, less what was carried out."""
    paths = paths_of(house)
    start = {z.id: 420e-6 + 1e-4 * i for i, z in enumerate(house[0])}
    course = course_of_levels(
        paths,
        generation_m3_s=house[2],
        start_frac=start,
        outdoor_frac=420e-6,
        duration_s=duration_s,
        step_count=steps,
    )
    held = [
        sum(z.volume_m3 * levels.of(z.id) for z in house[0])
        for levels in (course.levels[0], course.levels[-1])
    ]
    made = duration_s * math.fsum(house[2].values())
    gone = duration_s * carried_out(paths, course.mean.of, 420e-6)
    moved = sum(held) + made + duration_s * sum(f.flow_m3_s for f in paths.flows) * 1e-3
    assert abs(held[1] - held[0] - made + gone) <= CONSERVED * moved


@given(houses(), st.floats(600.0, 40_000.0))
@quick
def test_clean_outdoor_air_never_makes_a_level_negative(house, duration_s):
    course = course_of_levels(
        paths_of(house),
        generation_m3_s=house[2],
        start_frac={"z1": 1e-3},
        duration_s=duration_s,
        step_count=3,
    )
    assert all(level >= 0.0 for levels in course.levels for level in levels.concentration_frac)


@given(houses(), st.floats(1e-4, 0.05), st.booleans())
@quick
def test_more_supply_never_raises_a_room(house, more, is_matched):
    """Whether extract elsewhere follows or the shell takes it, with a tight exchanger.

    Where the exchanger leaks, an extract moved to a staler place brings more of that back.
    """
    zones, doors, generation, _ = house
    richer = [
        Zone(
            id=z.id,
            volume_m3=z.volume_m3,
            supply_m3_s=z.supply_m3_s + (more if z.id == "z1" else 0.0),
            extract_m3_s=z.extract_m3_s + (more if z.id == "z0" and is_matched else 0.0),
            infiltration_m3_s=z.infiltration_m3_s,
        )
        for z in zones
    ]
    # People of that room alone: what others give off may come in with more air from elsewhere.
    own = {"z1": generation["z1"]}
    before, after = (
        steady_levels(air_paths(z, doors, root="z0"), generation_m3_s=own).of("z1")
        for z in (zones, richer)
    )
    assert after is not None
    assert before is None or after <= before * (1.0 + 1e-9)


@given(houses(), st.floats(0.0, 1.0))
@quick
def test_closing_a_door_never_lowers_what_a_room_holds_of_its_own_people(house, narrower):
    """Of other people's air a closed door may well keep some out."""
    doors, generation = house[1], house[2]
    shut = [
        Door(first=d.first, second=d.second, exchange_m3_s=d.exchange_m3_s * narrower)
        if "z1" in (d.first, d.second)
        else d
        for d in doors
    ]
    own = {"z1": generation["z1"]}
    wide, tight = (
        steady_levels(paths_of(house, doors=d), generation_m3_s=own).of("z1") for d in (doors, shut)
    )
    assert tight is None or (wide is not None and tight >= wide * (1.0 - 1e-9))


@given(
    st.floats(0.02, 1.0),
    st.floats(0.5, 1.0),
    st.lists(st.floats(-0.3, 0.3), min_size=2, max_size=5),
)
@quick
def test_more_exhaust_always_pulls_harder(leakage, exponent, nets):
    law = leakage_from_test(leakage_flow_m3_s=leakage, exponent=exponent)
    pressures = [law.house_pressure(net_exhaust_m3_s=exact(net)).value for net in sorted(nets)]
    assert pressures == sorted(pressures, reverse=True)
    for net, pressure in zip(sorted(nets), pressures, strict=True):
        (state,) = pressure_states(law, imbalance_m3_s=exact(-net))
        assert state.pressure_pa.value == -pressure
