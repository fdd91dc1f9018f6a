"""Weather files against pvlib's readers, states against psychrolib, humidity against scipy."""

from __future__ import annotations

import warnings
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

import numpy as np
import psychrolib
import pytest
from scipy.integrate import solve_ivp

from tests.unit.climate.weather_files import content, epw, hours, real, real_folder
from ventwright.air import kernels
from ventwright.climate import Weather, YearPlan, dew_points_c, parse_weather, rel_humidities_frac
from ventwright.climate.balance import HOUR_S, balance_years, values_of
from ventwright.moisture import HouseAir, fresh_flow
from ventwright.quantities import HumidityOver
from ventwright.uncertainty import exact


def by_pvlib(file: str, path: Path) -> Any:
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        from pvlib import iotools

        if file.endswith(".tm2"):
            data, _ = iotools.read_tmy2(path)
            return data.assign(
                temp_air=data.DryBulb / 10.0,
                temp_dew=data.DewPoint / 10.0,
                pressure=data.Pressure,
            )
        if file.endswith(".epw"):
            data, _ = iotools.read_epw(path)
            return data.rename(columns={"temp_air": "temp_air", "atmospheric_pressure": "pressure"})
        data, _ = iotools.read_tmy3(path, map_variables=True)
        return data


@pytest.mark.parametrize("file", ["12839.tm2", "703165TY.csv", "723170TYA.CSV"])
def test_columns_are_those_of_another_reader(file: str) -> None:
    theirs = by_pvlib(file, real_folder() / file)
    ours = real(file)
    np.testing.assert_allclose(ours.temperature_c, theirs.temp_air.to_numpy(), atol=1e-9)
    np.testing.assert_allclose(ours.pressure_pa, 100.0 * theirs.pressure.to_numpy(), rtol=1e-9)
    # Humidity ratios go back to the printed dew points, over the plane that was told.
    vapour_pa = kernels.vapour_pressure_pa(
        humidity_ratio_kg_kg=ours.humidity_ratio_kg_kg, pressure_pa=ours.pressure_pa
    )
    dew_c = kernels.saturation_temperature_c(
        np, vapour_pressure_pa=vapour_pa, pressure_pa=ours.pressure_pa, over=ours.plane.over
    )
    printed = np.minimum(theirs.temp_dew.to_numpy(), ours.temperature_c)
    np.testing.assert_allclose(dew_c, printed, atol=1e-4)


def test_epw_columns_are_those_of_another_reader(tmp_path: Path) -> None:
    path = tmp_path / "made-up.epw"
    path.write_bytes(content(epw(hours())))
    theirs = by_pvlib("made-up.epw", path)
    ours = parse_weather(path.read_bytes(), name=path.name)
    np.testing.assert_allclose(ours.temperature_c, theirs.temp_air.to_numpy())
    np.testing.assert_allclose(ours.pressure_pa, theirs.pressure.to_numpy())
    printed = theirs.relative_humidity.to_numpy() / 100.0
    found = ours.humidity_ratio_kg_kg[ours.temperature_c > 0.0]
    rel = rel_humidities_frac(
        temperature_c=ours.temperature_c, humidity_ratio_kg_kg=ours.humidity_ratio_kg_kg,
        pressure_pa=ours.pressure_pa,
    )  # fmt: skip
    assert found.size > 5000
    is_warm = ours.temperature_c > 0.0
    np.testing.assert_allclose(rel[is_warm], printed[is_warm], rtol=1e-9)


def test_dew_points_of_a_year_against_psychrolib() -> None:
    """By its own pure-water curve, which leaves 0.07 K at most; it cuts dew points off at T."""
    psychrolib.SetUnitSystem(psychrolib.SI)
    weather = real("723170TYA.CSV")
    some = slice(0, 8760, 37)
    temperature, pressure = weather.temperature_c[some], weather.pressure_pa[some]
    ratio = weather.humidity_ratio_kg_kg[some]
    ours = dew_points_c(humidity_ratio_kg_kg=ratio, pressure_pa=pressure)
    theirs = np.array(
        [
            psychrolib.GetTDewPointFromHumRatio(t, w, p)
            for t, w, p in zip(temperature, ratio, pressure, strict=True)
        ]
    )
    is_below = theirs < temperature - 0.1
    assert np.count_nonzero(is_below) > 200
    np.testing.assert_allclose(ours[is_below], theirs[is_below], atol=0.08)


def steady_weather(levels: list[float]) -> Weather:
    """A year at 10 °C whose humidity ratio jumps from one level to the next each day."""
    begin = datetime(2001, 1, 1)  # noqa: DTZ001 - a year without a zone
    rows = [
        f"{(begin + timedelta(hours=i)).isoformat()},10.0,{levels[i // 24 % len(levels)]}"
        for i in range(8760)
    ]
    head = "time,temperature [C],humidity ratio [g/kg]"
    return parse_weather(content([head, *rows]), name="jumps.csv")


def test_humidity_follows_the_differential_equation() -> None:
    weather = steady_weather([3.0, 6.0, 4.5, 7.0])
    house = YearPlan(
        name="h",
        volume_m3=300.0,
        supply_m3_s=exact(0.05),
        extract_m3_s=exact(0.04),
        infiltration_m3_s=exact(0.01),
        sensible_effectiveness=exact(0.8),
        latent_effectiveness=exact(0.5),
        exhaust_transfer_frac=exact(0.02),
        release_kg_s=exact(1.2e-4),
    )
    values = values_of([house], weather)
    year = balance_years(house, values, weather, is_scalar=True)
    air = HouseAir(
        supply_kg_s=exact(float(values.supply_kg_s[0])),
        extract_kg_s=exact(float(values.extract_kg_s[0])),
        infiltration_kg_s=exact(float(values.infiltration_kg_s[0])),
        latent_effectiveness=house.latent_effectiveness,
        exhaust_transfer_frac=house.exhaust_transfer_frac,
        release_kg_s=house.release_kg_s,
    )
    fresh = fresh_flow(air).value
    stored = float(values.storage_ratio[0] * values.air_kg[0])
    days, ratio = 12, float(year.indoor_kg_kg[0, 0])
    means = year.indoor_kg_kg[:, 0]
    # Start from the balance's own first hour, so that only the course is compared.
    outdoor = weather.humidity_ratio_kg_kg
    settled = outdoor[0] + 1.2e-4 / fresh
    z = fresh * HOUR_S / stored
    ratio = settled + (means[0] - settled) * z / (1.0 - np.exp(-z))
    for day in range(days):
        level = float(outdoor[24 * day])
        solved = solve_ivp(
            lambda _, w, level=level: (1.2e-4 + fresh * (level - w)) / stored,
            (0.0, 24 * HOUR_S),
            [ratio],
            t_eval=np.linspace(0.0, 24 * HOUR_S, 24 * 60 + 1),
            rtol=1e-9,
            atol=1e-12,
        )
        course = solved.y[0]
        hourly = [np.trapezoid(course[60 * h : 60 * h + 61]) / 60.0 for h in range(24)]
        np.testing.assert_allclose(means[24 * day : 24 * day + 24], hourly, rtol=1e-6)
        ratio = float(course[-1])


def test_planes_differ_as_published() -> None:
    """Over ice the air at −10 °C holds 0.9054 of that over water. Source: magnus_sonntag_1990."""
    pressures = [
        kernels.saturation_pressure_pa(
            np, temperature_c=np.array([-10.0]), pressure_pa=101_325.0, over=over
        )[0]
        for over in (HumidityOver.ICE, HumidityOver.WATER)
    ]
    assert pressures[0] / pressures[1] == pytest.approx(0.9054, abs=0.003)
