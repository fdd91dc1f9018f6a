"""Bathrooms while a shower runs, as the pipeline finds them."""

import copy
import itertools

import pytest

from tests.unit.findings.test_assess import CFM, HOUSE, assessed, flow
from ventwright.quantities import Side


def house(**bath):
    changed = copy.deepcopy(HOUSE)
    changed["rooms"][1] |= bath
    setting = {"id": "boost", "role": "boost", "run_time": "20 min"}
    changed["systems"][0]["fan_settings"].append(setting)
    return changed


def found(*readings, **bath):
    return assessed(*readings, house=house(**(bath or {"volume": "12 m³"}))).wet_rooms


def extract(cfm, *, setting="continuous", phase="as_found"):
    return flow(f"{setting}-{phase}", "terminal:t2", cfm, setting=setting, phase=phase)


def fogged_s(one, place):
    """From the first film to the last, at one of the three vapours."""
    course = one.courses[0]
    if course.fogs_at_s[place] is None:
        return 0.0
    left = course.clears_after_s[place]
    end = one.run_s if left is None else one.shower_s + left
    return end - course.fogs_at_s[place]


@pytest.mark.parametrize("place", [0, 1, 2])
def test_more_extract_never_fogs_longer(place):
    spells = [fogged_s(found(extract(cfm))[0], place) for cfm in (5, 15, 25, 50, 80, 140)]
    assert spells == sorted(spells, reverse=True)
    assert spells[0] > spells[-1]


def test_more_vapour_fogs_sooner_and_clears_later():
    (one,) = found(extract(25))
    low, middle, high = one.courses[0].fogs_at_s
    assert low > middle > high
    low, middle, high = one.courses[0].clears_after_s
    assert low < middle < high


def test_smallest_extract_does_what_it_says_and_a_little_less_does_not():
    (one,) = found(extract(25))
    free_cfm, soon_cfm = one.free_extract_m3_s / CFM, one.soon_extract_m3_s / CFM
    # The search runs in coarser steps than the course, 3 % from the limit.
    assert fogged_s(found(extract(1.05 * free_cfm))[0], 1) == 0.0
    assert fogged_s(found(extract(0.9 * free_cfm))[0], 1) > 0.0
    kept = found(extract(1.15 * soon_cfm))[0].courses[0].clears_after_s[1]
    assert kept <= one.soon_s < found(extract(0.7 * soon_cfm))[0].courses[0].clears_after_s[1]
    assert soon_cfm < free_cfm


def test_curve_starts_from_the_air_of_the_visit_and_has_a_point_a_minute():
    (one,) = found(extract(25))
    course = one.courses[0]
    times_s, humidity = course.curve_time_s, course.curve_rel_humidity_frac
    assert len(times_s) == len(humidity) == 60
    # From 40 % of the visit, half a minute into the shower.
    assert 0.4 < humidity[0] < 0.6
    assert {b - a for a, b in itertools.pairwise(times_s)} == {60.0}
    assert max(humidity) <= course.peak_rel_humidity_frac[1] <= 1.0


def test_boost_is_run_where_it_was_measured_for_as_long_as_its_setting_says():
    (one,) = found(extract(25), extract(60, setting="boost"))
    continuous, boost = one.courses
    assert (continuous.boost_s, boost.boost_s, boost.setting) == (0.0, 1200.0, "boost")
    assert boost.extract_m3_s.value > continuous.extract_m3_s.value
    assert boost.clears_after_s[1] < continuous.clears_after_s[1]


def test_last_phase_counts():
    (one,) = found(extract(25), extract(50, phase="as_left"))
    assert one.courses[0].extract_m3_s.value == pytest.approx(50 * CFM, rel=0.01)


def test_without_a_size_it_says_why_and_a_floor_alone_is_marked():
    (told,) = assessed(extract(25)).wet_rooms
    assert told.reason_code == "no-bathroom-size" and told.courses == ()
    (one,) = found(extract(25), floor_area="5 m²")
    assert one.is_volume_assumed and one.volume_m3 == pytest.approx(5 * 2.4)
    assert not found(extract(25))[0].is_volume_assumed


def test_an_extract_that_rests_is_refused():
    resting = house(volume="12 m³")
    resting["systems"][0]["fan_settings"][0] |= {"run_time": "20 min", "period": "60 min"}
    (told,) = assessed(extract(25), house=resting).wet_rooms
    assert told.reason_code == "extract-rests" and told.courses == ()


def test_only_measured_extract_counts():
    assert found(flow("bed", "terminal:t1", 60)) == ()
    assert found(extract(60, setting="boost")) == ()
    other = house(volume="12 m³")
    other["systems"][0]["terminals"].append({"id": "t3", "side": Side.EXTRACT, "room": "bath"})
    assert assessed(extract(25), house=other).wet_rooms == ()
