"""A year on paper: every chart drawn and told in words, units as wished, doubts in the open."""

from __future__ import annotations

import math
import re
import xml.etree.ElementTree as ET
from dataclasses import replace
from functools import cache

import pytest

from tests.unit.climate.weather_files import content, epw, hours, real
from ventwright.climate import (
    YearFindings,
    YearPlan,
    YearSurface,
    assess_year,
    follow_year,
    parse_weather,
)
from ventwright.moisture import household_release
from ventwright.quantities import UnitPreference
from ventwright.report import YEAR_SECTION_IDS, ReportModel, compose_year, words_of
from ventwright.uncertainty import exact, measured


@cache
def miami() -> YearFindings:
    house = YearPlan(
        name="Made-up House <&>",
        volume_m3=300.0,
        supply_m3_s=measured(0.05, u_std=0.0025, id="supply", label="supply flow"),
        extract_m3_s=exact(0.05),
        infiltration_m3_s=exact(0.01),
        sensible_effectiveness=exact(0.8),
        latent_effectiveness=exact(0.5),
        exhaust_transfer_frac=exact(0.0),
        release_kg_s=household_release(4),
        cooling_c=24.0,
        frost_threshold_c=5.0,
        dehumidifier_kg_s=math.inf,
        surfaces=(
            YearSurface(surface_id="slab", name="Slab", air="outdoor", temperature_c=20.0),
            YearSurface(surface_id="pipe", name="Pipe", air="room"),
        ),
    )
    return assess_year(house, real("12839.tm2"))


def composed(
    found: YearFindings | None = None, *, preference: UnitPreference = UnitPreference.SI_LS
) -> ReportModel:
    return compose_year(
        found or miami(),
        pressure_pa=101_325.0,
        preference=preference,
        snapshot_sha256="0" * 64,
        engine="0",
    )


def test_every_section_is_there_in_order() -> None:
    assert tuple(s.id for s in composed().sections) == YEAR_SECTION_IDS


def test_every_chart_is_a_picture_with_words() -> None:
    pictures = [p for s in composed().sections for p in s.pictures]
    assert [p.id for p in pictures] == [
        "year-dew-points",
        "year-cloud",
        "year-heat-months",
        "year-water-months",
    ]
    for picture in pictures:
        root = ET.fromstring(picture.svg)
        assert root.tag.endswith("svg")
        assert not re.search(r"\bnan\b|\binf\b", picture.svg)
        assert len(picture.alt) > 40 and picture.caption


def test_a_year_without_water_has_no_chart_of_it() -> None:
    dry = tuple(
        replace(m, kept_out_kg=0.0, brought_in_kg=0.0, dehumidifier_kg=0.0) for m in miami().months
    )
    pictures = [p.id for s in composed(replace(miami(), months=dry)).sections for p in s.pictures]
    assert pictures == ["year-dew-points", "year-cloud", "year-heat-months"]


def test_bars_add_up_to_the_months() -> None:
    """The tallest bar of the heat chart is that of the month with the most heat."""
    picture = next(p for s in composed().sections for p in s.pictures if "heat" in p.id)
    bars = [
        (float(r.get("x", "0")), float(r.get("height", "0")))
        for r in ET.fromstring(picture.svg).iter()
        if r.tag.endswith("rect") and float(r.get("width", "0")) > 20.0
    ]
    by_month: dict[float, float] = {}
    for x, height in bars:
        by_month[x] = by_month.get(x, 0.0) + height
    tallest = sorted(by_month).index(max(by_month, key=lambda x: by_month[x]))
    months = miami().months
    heat = [
        m.recovered_heating_j + m.lost_heating_j + m.kept_out_cooling_j + m.brought_in_cooling_j
        for m in months
    ]
    assert tallest == heat.index(max(heat))


def test_sentences_have_no_open_places_and_no_raw_keys() -> None:
    model = composed()
    texts = [line.text for s in model.sections for line in s.lines]
    texts += [cell.text for s in model.sections for t in s.tables for row in t.rows for cell in row]
    texts += [c.title for s in model.sections for t in s.tables for c in t.columns]
    for text in texts:
        assert "{" not in text and "}" not in text
        assert not re.search(r"\bnan\b|\binf\b", text)
    keys = set(words_of("en", "words_year"))
    assert {f"year-figure.{e.code.partition(':')[0]}" for e in miami().estimates} <= keys


def test_inch_pound_readers_get_their_units() -> None:
    model = composed(preference=UnitPreference.IP)
    assert model.paper == "us-letter"
    airs = next(t for s in model.sections for t in s.tables if t.id == "year-airs")
    assert [c.unit_of_measure for c in airs.columns][1:3] == ["°F", "gr/lb"]
    water = next(t for s in model.sections for t in s.tables if t.id == "year-water")
    assert any("pint" in cell.text for row in water.rows for cell in row)


def test_wet_surfaces_and_frost_are_told() -> None:
    summary = composed().section("year-summary")
    assert summary is not None
    text = "\n".join(line.text for line in summary.lines)
    assert "Slab: wet in" in text
    assert "frost threshold" in text
    assert "All 8760 hours" in text
    assert "heat alone would leave" in text


def test_a_figure_stands_beside_its_uncertainty() -> None:
    heat = next(t for s in composed().sections for t in s.tables if t.id == "year-heat")
    rows = {row[0].text: row for row in heat.rows}
    kept = rows["heat kept out while it is warmer outdoors"]
    assert kept[1].text.endswith("kWh") and kept[2].text.endswith("kWh")
    assert float(kept[2].text.split()[0]) > 0.0


def test_a_year_with_holes_says_how_many() -> None:
    house = YearPlan(
        name="h",
        volume_m3=300.0,
        supply_m3_s=exact(0.05),
        extract_m3_s=exact(0.05),
        infiltration_m3_s=exact(0.01),
        sensible_effectiveness=exact(0.8),
        latent_effectiveness=exact(0.0),
        exhaust_transfer_frac=exact(0.0),
        release_kg_s=exact(1e-4),
    )
    half = parse_weather(content(epw(hours())[: 8 + 4380]), name="half.epw")
    model = composed(follow_year(house, half))
    summary = model.section("year-summary")
    assert summary is not None
    assert summary.lines[0].text.startswith("4380 of 8760 hours")
    assert summary.lines[0].mark is not None
    doubts = model.section("year-doubts")
    assert doubts is not None
    assert any("hours of the year are not in the file" in r[1].text for r in doubts.tables[0].rows)


def test_the_same_findings_give_the_same_model() -> None:
    assert composed() == composed()
    assert composed(replace(miami(), place="Elsewhere")) != composed()


@pytest.mark.parametrize("preference", list(UnitPreference))
def test_every_habit_of_units_can_be_written(preference: UnitPreference) -> None:
    assert composed(preference=preference).sections
