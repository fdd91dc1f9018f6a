"""Weather files: each format read alike, gaps and mistakes named with their lines."""

from __future__ import annotations

import numpy as np
import pytest

from tests.unit.climate.weather_files import content, epw, hours, plain, real, real_folder
from ventwright.climate import PlaneBasis, Weather, WeatherKind, parse_weather
from ventwright.quantities import HumidityOver, Severity, UserError


def codes(weather: Weather) -> list[str]:
    return [p.code for p in weather.problems]


def read(lines: list[str], *, name: str = "made-up.epw") -> Weather:
    return parse_weather(content(lines), name=name)


def test_one_year_in_two_formats_is_one_year() -> None:
    one, other = read(epw(hours())), read(plain(hours()))
    assert (one.kind, other.kind) == (WeatherKind.EPW, WeatherKind.CSV)
    assert one.known_count == other.known_count == 8760
    np.testing.assert_allclose(one.temperature_c, other.temperature_c, atol=1e-9)
    np.testing.assert_allclose(one.humidity_ratio_kg_kg, other.humidity_ratio_kg_kg, rtol=1e-9)
    np.testing.assert_allclose(one.pressure_pa, 98_000.0)
    assert (one.name, one.altitude_m, one.latitude_deg) == ("Made-up Bay", 12.0, 52.5)


@pytest.mark.parametrize(
    ("file", "name", "altitude_m", "low_c", "high_c", "mean_c"),
    [
        ("12839.tm2", "Miami FL", 2.0, 3.3, 33.9, 24.3),
        ("703165TY.csv", "Sand Point AK", 7.0, -10.6, 19.4, 4.4),
        ("723170TYA.CSV", "Greensboro Piedmont Triad Int NC", 273.0, -16.7, 35.6, 14.4),
    ],
)
def test_real_files(
    file: str, name: str, altitude_m: float, low_c: float, high_c: float, mean_c: float
) -> None:
    """Extremes and means as pvlib's own reader gives them. Source: pvlib_weather."""
    weather = real(file)
    assert weather.name == name
    assert weather.altitude_m == altitude_m
    assert weather.known_count == 8760
    assert float(weather.temperature_c.min()) == pytest.approx(low_c)
    assert float(weather.temperature_c.max()) == pytest.approx(high_c)
    assert float(weather.temperature_c.mean()) == pytest.approx(mean_c, abs=0.05)
    assert not [p for p in weather.problems if p.severity is not Severity.NOTE]


def test_the_plane_of_a_file_is_told_by_what_it_prints() -> None:
    """Greensboro prints humidity over water, Sand Point over ice. Source: pvlib_weather."""
    greensboro, sand_point = real("723170TYA.CSV").plane, real("703165TY.csv").plane
    assert (greensboro.over, greensboro.basis) == (HumidityOver.WATER, PlaneBasis.COMPARED)
    assert (sand_point.over, sand_point.basis) == (HumidityOver.ICE, PlaneBasis.COMPARED)
    assert sand_point.ice_off_frac is not None and sand_point.water_off_frac is not None
    assert sand_point.ice_off_frac < 0.005
    assert sand_point.water_off_frac > 0.03


def test_without_a_dew_point_the_plane_is_a_custom_and_says_so() -> None:
    cold = read(epw(hours(mean_c=-5.0)))
    assert (cold.plane.over, cold.plane.basis) == (HumidityOver.WATER, PlaneBasis.CUSTOM)
    assert "humidity-plane-assumed" in codes(cold)
    warm = read(epw(hours(mean_c=25.0)))
    assert warm.plane.basis is PlaneBasis.NOT_NEEDED
    assert not warm.problems


def test_a_short_gap_is_drawn_across_and_marked() -> None:
    lines = epw(hours())
    for i in range(100, 104):
        cells = lines[8 + i].split(",")
        cells[6] = "99.9"
        lines[8 + i] = ",".join(cells)
    weather = read(lines)
    assert int(weather.is_filled.sum()) == 4
    assert weather.known_count == 8760
    between = weather.temperature_c[99:105]
    np.testing.assert_allclose(np.diff(between), np.diff(between)[0])
    assert codes(weather) == ["hours-filled", "humidity-plane-assumed"]


def test_a_long_gap_stays_unknown() -> None:
    lines = epw(hours())
    del lines[8 + 200 : 8 + 212]
    weather = read(lines)
    assert weather.known_count == 8760 - 12
    assert np.isnan(weather.temperature_c[205])
    assert "hours-missing" in codes(weather)


@pytest.mark.parametrize(
    ("column", "text", "code", "words"),
    [
        (6, "warm", "not-a-number", "'warm' is no number"),
        (6, "88.0", "dry-bulb-out-of-range", "88"),
        (9, "1013", "pressure-out-of-range", "45 to 110 kPa"),
        (2, "31", "no-such-hour", "no such day"),
        (3, "x", "unreadable-line", "date and hour"),
    ],
)
def test_a_bad_value_is_named_with_its_line_and_the_rest_kept(
    column: int, text: str, code: str, words: str
) -> None:
    lines = epw(hours())
    at = 8 + 24 * (31 + 5) + 7  # a morning in February, which has no 31st
    cells = lines[at].split(",")
    cells[column] = text
    lines[at] = ",".join(cells)
    weather = read(lines)
    problem = next(p for p in weather.problems if p.code == code)
    assert problem.where == f"made-up.epw:{at + 1}"
    assert problem.severity is Severity.MISTAKE
    assert words in problem.message + problem.remedy
    assert weather.known_count == 8760


def test_many_bad_lines_are_listed_a_few_times_and_counted() -> None:
    lines = epw(hours())
    for i in range(50):
        lines[8 + 40 * i] = lines[8 + 40 * i].replace("?9?9,", "?9?9,x", 1)
    weather = read(lines)
    named = [p for p in weather.problems if p.code == "not-a-number"]
    rest = next(p for p in weather.problems if p.code == "more-not-a-number")
    assert len(named) == 12
    assert rest.message.startswith("38 more")


def test_an_hour_that_stands_twice_counts_once() -> None:
    lines = epw(hours())
    lines.insert(20, lines[19])
    weather = read(lines)
    problem = next(p for p in weather.problems if p.code == "repeated-hour")
    assert problem.where == "made-up.epw:21"
    assert "line 20" in problem.message
    assert weather.known_count == 8760


def test_a_table_with_semicolons_and_decimal_commas() -> None:
    weather = read(plain(hours(), mark=";", comma=True), name="tabelle.csv")
    np.testing.assert_allclose(weather.temperature_c, read(plain(hours())).temperature_c)


def test_a_table_in_other_units_of_measure() -> None:
    rows = [f"{c * 1.8 + 32.0:.2f}\t0.60\t29.0" for _, c, _ in hours()]
    weather = parse_weather(content(["dry-bulb (°F)\tRH (frac)\tnote", *rows]), name="no-times.csv")
    reference = read(plain(hours()))
    np.testing.assert_allclose(weather.temperature_c, reference.temperature_c, atol=0.01)
    assert "pressure-from-altitude" in codes(weather)


def test_quarter_hours_are_averaged() -> None:
    rows = [f"{10 + (i % 4)},6.0" for i in range(4 * 8760)]
    weather = parse_weather(
        content(["temperature [°C],humidity ratio [g/kg]", *rows]), name="quarters.csv"
    )
    assert weather.known_count == 8760
    np.testing.assert_allclose(weather.temperature_c, 11.5)
    np.testing.assert_allclose(weather.humidity_ratio_kg_kg, 0.006)


def test_a_leap_year_has_its_day() -> None:
    rows = [f"{10},60" for _ in range(8784)]
    weather = parse_weather(content(["temperature [C],rh [%]", *rows]), name="leap.csv")
    assert weather.hours_count == 8784
    assert (weather.month[31 * 24 + 28 * 24], weather.day[31 * 24 + 28 * 24]) == (2, 29)


def test_part_of_a_year_is_that_part() -> None:
    weather = read(plain(hours(720)))
    assert weather.known_count == 720
    assert weather.hours_count == 8760
    assert "hours-missing" in codes(weather)


def test_times_that_repeat_or_leave_the_year_are_left_out() -> None:
    lines = plain(hours())
    lines.append(lines[1].replace("2001-01-01", "2003-01-01"))
    lines.append(lines[5])
    lines.append(lines[7].replace("2001", "someday"))
    assert {"beyond-the-year", "repeated-time", "unreadable-time"} <= set(codes(read(lines)))


@pytest.mark.parametrize(
    ("lines", "words"),
    [
        (["temperature,rh [%]", "5,60"], "needs its unit"),
        (["temperature [parsec],rh [%]", "5,60"], "needs its unit"),
        (["rh [%],pressure [hPa]", "60,980"], "temperature"),
        (["temperature [C],wind", "5,60"], "no column of humidity"),
        (["temperature [C],rh [%]", "5,60"], "no column 'time'"),
        (["", ""], "empty"),
        (["LOCATION,Nowhere", "no data"], "DATA PERIODS"),
        (["time,temperature [C],rh [%]"], "no row"),
        (["time,temperature [C],rh [%]", "2001-01-01,99,60"], "no hour"),
    ],
)
def test_files_that_hold_no_year_are_refused(lines: list[str], words: str) -> None:
    with pytest.raises(UserError, match=words):
        parse_weather(content(lines), name="odd.csv")


def test_a_damaged_line_of_each_published_format_is_left_out() -> None:
    for file in ("12839.tm2", "703165TY.csv"):
        lines = (real_folder() / file).read_text(encoding="latin-1").splitlines()
        lines[40] = lines[40][:30]
        weather = parse_weather(content(lines), name=file)
        problem = next(p for p in weather.problems if p.severity is Severity.MISTAKE)
        assert problem.where == f"{file}:41"
        assert weather.known_count == 8760


def test_a_missing_column_of_a_published_format_is_refused() -> None:
    lines = (real_folder() / "703165TY.csv").read_text(encoding="latin-1").splitlines()
    lines[1] = lines[1].replace("RHum (%)", "RHum")
    with pytest.raises(UserError, match="RHum"):
        parse_weather(content(lines), name="703165TY.csv")


def test_latin_letters_of_an_old_file_are_read() -> None:
    lines = epw(hours())
    lines[0] = lines[0].replace("Made-up Bay", "Zürich")
    data = "\n".join(lines).encode("latin-1")
    assert parse_weather(data, name="alt.epw").name == "Zürich"


def test_line_numbers_are_those_of_an_editor() -> None:
    """A separator that only Unicode takes for a line end doesn't shift the count."""
    lines = epw(hours())
    lines[5] = "COMMENTS 1,form\x0cfeed and \u2028 separator"
    lines[40] = lines[40].replace("?9?9,", "?9?9,cold", 1)
    weather = parse_weather("\r\n".join(lines).encode(), name="made-up.epw")
    assert [p.where for p in weather.problems if p.code == "not-a-number"] == ["made-up.epw:41"]
