"""Bathrooms while a shower runs, as the report tells of them."""

from __future__ import annotations

import xml.etree.ElementTree as ET
from dataclasses import replace

from tests.unit.report import cases
from ventwright.quantities import UnitPreference
from ventwright.report import Part
from ventwright.report.pictures import svg
from ventwright.report.pictures.fogging import ShowerCurve, ShowerPanel, fogging_chart
from ventwright.report.wording import words_of

SVG = "{http://www.w3.org/2000/svg}"
PROMISE = "A model with ranges of assumptions, not a promise."


def test_section_has_words_table_and_picture() -> None:
    section = cases.model_of("juniper_mesa", UnitPreference.IP).section("surfaces")
    assert section.part is Part.ANNEX
    table = next(t for t in section.tables if t.id == "wet-rooms")
    assert PROMISE in table.note
    assert [row[0].text for row in table.rows] == ["Main bath", "Main bath", "Hall bath"]
    picture = next(p for p in section.pictures if p.id == "fogging")
    assert picture.follows == "wet-rooms" and PROMISE in picture.caption
    assert "Main bath, boost" in picture.alt and "Hall bath, continuous" in picture.alt
    printed = cases.squeezed("".join(t.text or "" for t in ET.fromstring(picture.svg).iter()))
    assert cases.squeezed("mirror fogged") in printed


def test_what_is_refused_stands_with_its_reason() -> None:
    house = cases.assessed("juniper_mesa").snapshot.house
    bare = replace(
        house,
        rooms=tuple(replace(r, volume_m3=None, floor_area_m2=None) for r in house.rooms),
    )
    section = cases.composed(cases.with_snapshot("juniper_mesa", house=bare)).section("surfaces")
    assert "fogging" not in {p.id for p in section.pictures}
    assert "wet-rooms" not in {t.id for t in section.tables}
    told = [line.text for line in section.lines if "Hall bath" in line.text]
    assert told and "neither the volume nor the floor" in told[0]


def test_fogged_span_lies_where_its_minutes_are_and_curves_differ_in_grey() -> None:
    curve = tuple((60.0 * i, 0.5) for i in range(61))
    panel = ShowerPanel(
        label="Bath",
        shower_s=600.0,
        run_s=3600.0,
        fogged_s=(600.0, 1800.0),
        curves=(
            ShowerCurve(label="continuous", points=curve),
            ShowerCurve(label="boost", points=curve),
        ),
    )
    root = ET.fromstring(fogging_chart([panel], words=words_of()))
    marks = {
        e.text: float(e.attrib["x"])
        for e in root.iter(f"{SVG}text")
        if e.attrib["text-anchor"] == "middle"
    }
    (span,) = (e for e in root.iter(f"{SVG}rect") if e.attrib["fill"] == svg.BAND)
    left, width = float(span.attrib["x"]), float(span.attrib["width"])
    assert abs(left - marks["10"]) < 0.02 and abs(left + width - marks["30"]) < 0.02
    dashes = ["stroke-dasharray" in e.attrib for e in root.iter(f"{SVG}path")]
    assert dashes == [False, True]
    free = fogging_chart([replace(panel, fogged_s=None)], words=words_of())
    assert svg.BAND not in free
