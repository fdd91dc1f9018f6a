"""Pictures: well formed, inside their frame, true to scale, readable without colour."""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET
from pathlib import Path

import psychrolib
import pytest

import ventwright.report as report_room
from tests.unit.report import cases
from ventwright.air import air_estimate_from
from ventwright.quantities import AirKind, UnitPreference
from ventwright.report import Measures, words_of
from ventwright.report.pictures import StreamPoint, psychrometric_chart, svg
from ventwright.uncertainty import measured

SVG = "{http://www.w3.org/2000/svg}"
FOLDER = Path(str(report_room.__file__)).parent

every_example = pytest.mark.parametrize("name", sorted(cases.EXAMPLES))
every_habit = pytest.mark.parametrize("preference", list(UnitPreference))


@every_example
@every_habit
def test_pictures_are_well_formed_and_inside_their_frame(
    name: str, preference: UnitPreference
) -> None:
    pictures = [p for s in cases.model_of(name, preference).sections for p in s.pictures]
    assert pictures
    for picture in pictures:
        root = ET.fromstring(picture.svg)
        width, height = (float(x) for x in root.attrib["viewBox"].split()[2:])
        assert picture.alt and picture.caption
        for element in root.iter():
            for key, limit in (("x", width), ("x1", width), ("x2", width), ("cx", width)):
                if key in element.attrib:
                    assert -0.01 <= float(element.attrib[key]) <= limit + 0.01
            for key in ("y", "y1", "y2", "cy"):
                if key in element.attrib:
                    assert -4.0 <= float(element.attrib[key]) <= height + 0.01
            if element.tag == f"{SVG}text":
                assert element.attrib["font-family"] == f"{svg.FONT}, serif"
                assert not is_cut(element, width)


def is_cut(element: ET.Element, width: float) -> bool:
    """Whether a text runs out of the picture, at half an em a letter."""
    length = 0.5 * float(element.attrib["font-size"]) * len(element.text or "")
    x = float(element.attrib["x"])
    left = {"start": x, "middle": x - length / 2, "end": x - length}[element.attrib["text-anchor"]]
    return left < -6.0 or left + length > width + 6.0


def chart(temperature_c: float, rel_humidity_frac: float, pressure_pa: float) -> ET.Element:
    air = air_estimate_from(
        pressure_pa=measured(pressure_pa, u_std=10.0, id="p", label="p"),
        temperature_c=measured(temperature_c, u_std=0.2, id="t", label="t"),
        rel_humidity_frac=measured(rel_humidity_frac, u_std=0.01, id="rh", label="rh"),
    )
    point = StreamPoint(
        kind=AirKind.SUPPLY,
        temperature_c=air.temperature_c,
        humidity_ratio_kg_kg=air.humidity_ratio_kg_kg,
    )
    drawn = psychrometric_chart(
        [point],
        pressure_pa=pressure_pa,
        measures=Measures(preference=UnitPreference.SI_LS),
        words=words_of(),
    )
    return ET.fromstring(drawn)


class Axes:
    """Reads a chart as a person does: from the numbers at its ticks."""

    def __init__(self, root: ET.Element) -> None:
        texts = [e for e in root.iter(f"{SVG}text") if re.fullmatch(r"−?\d+(\.\d+)?", e.text or "")]
        across = [e for e in texts if e.attrib["text-anchor"] == "middle"]
        up = [e for e in texts if e.attrib["text-anchor"] == "start"]
        self._x = self._line([(float(e.attrib["x"]), self._value(e)) for e in across])
        # The baseline of a number stands 3 below its tick.
        self._y = self._line([(float(e.attrib["y"]) - 3.0, self._value(e)) for e in up])

    @staticmethod
    def _value(element: ET.Element) -> float:
        return float((element.text or "").replace("−", "-"))

    @staticmethod
    def _line(pairs: list[tuple[float, float]]) -> tuple[float, float]:
        (x0, v0), (x1, v1) = pairs[0], pairs[-1]
        slope = (v1 - v0) / (x1 - x0)
        return v0 - slope * x0, slope

    def temperature(self, x: float) -> float:
        return self._x[0] + self._x[1] * x

    def ratio(self, y: float) -> float:
        return self._y[0] + self._y[1] * y


@pytest.mark.parametrize("pressure_pa", [101325.0, 80000.0])
def test_curves_of_the_chart_agree_with_psychrolib(pressure_pa: float) -> None:
    """PsychroLib 2.5, GetHumRatioFromRelHum, read back from the drawing itself."""
    root = chart(22.0, 0.55, pressure_pa)
    axes = Axes(root)
    psychrolib.SetUnitSystem(psychrolib.SI)
    curves = [e for e in root.iter(f"{SVG}path") if "Z" not in e.attrib["d"]]
    assert len(curves) == 10
    for number, curve in enumerate(curves, start=1):
        points = re.findall(r"[ML](\S+) (\S+)", curve.attrib["d"])
        for x, y in points[:-1:6]:
            t = axes.temperature(float(x))
            expected = 1e3 * psychrolib.GetHumRatioFromRelHum(t, 0.1 * number, pressure_pa)
            # A hundredth of a picture point in y and x, and 0.5 % for the enhancement factor.
            assert axes.ratio(float(y)) == pytest.approx(expected, rel=0.008, abs=0.02)


def test_a_stream_stands_where_its_state_says() -> None:
    psychrolib.SetUnitSystem(psychrolib.SI)
    root = chart(22.0, 0.55, 101325.0)
    axes = Axes(root)
    dot = next(root.iter(f"{SVG}circle"))
    assert axes.temperature(float(dot.attrib["cx"])) == pytest.approx(22.0, abs=0.05)
    expected = 1e3 * psychrolib.GetHumRatioFromRelHum(22.0, 0.55, 101325.0)
    assert axes.ratio(float(dot.attrib["cy"])) == pytest.approx(expected, rel=0.006)


def test_the_ellipse_spans_two_standard_uncertainties() -> None:
    root = chart(22.0, 0.55, 101325.0)
    axes = Axes(root)
    ring = next(e for e in root.iter(f"{SVG}path") if "Z" in e.attrib["d"])
    temperatures = [
        axes.temperature(float(x)) for x, _ in re.findall(r"[ML](\S+) (\S+)", ring.attrib["d"])
    ]
    assert max(temperatures) == pytest.approx(22.4, abs=0.03)
    assert min(temperatures) == pytest.approx(21.6, abs=0.03)


def luminance(colour: str) -> float:
    """Relative luminance of WCAG 2.2."""
    parts = [int(colour[i : i + 2], 16) / 255.0 for i in (1, 3, 5)]
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(first: str, second: str) -> float:
    """Contrast ratio of WCAG 2.2."""
    high, low = sorted((luminance(first), luminance(second)), reverse=True)
    return (high + 0.05) / (low + 0.05)


def test_the_measure_of_contrast_is_right() -> None:
    """WCAG 2.2: black on white is 21:1; #767676 on white is just above 4.5:1 (common example)."""
    assert contrast("#000000", "#ffffff") == pytest.approx(21.0)
    assert contrast("#767676", "#ffffff") == pytest.approx(4.54, abs=0.01)


def test_both_sides_differ_in_grey() -> None:
    """What a copier makes of them: by luminance alone they stand at least 1.7:1 apart."""
    assert contrast(svg.SUPPLY, svg.EXTRACT) >= 1.7


def test_every_ink_has_a_contrast_of_seven_to_one() -> None:
    template = (FOLDER / "template.typ").read_text("utf-8")
    named = dict(re.findall(r"#let (\w+) = rgb\(\"(#\w{6})\"\)", template))
    papers = ["#ffffff", named.pop("tint")]
    named.pop("hairline")
    marks = re.findall(r"ink: rgb\(\"(#\w{6})\"\)", template)
    inks = [*named.values(), *marks, svg.INK, svg.QUIET, svg.SUPPLY, svg.EXTRACT]
    assert len(marks) == 4
    assert not [(i, p) for i in inks for p in papers if contrast(i, p) < 7.0]


def test_the_two_inks_of_the_sides_differ_in_grey() -> None:
    """WCAG's 3:1 would be asked of neighbours; sides also differ by letters, row and shape."""
    assert contrast(svg.SUPPLY, svg.EXTRACT) > 1.0
    for picture in (
        p
        for s in cases.model_of("juniper_mesa", UnitPreference.IP).sections
        for p in s.pictures
        if p.id.startswith("psychrometric")
    ):
        texts = {e.text for e in ET.fromstring(picture.svg).iter(f"{SVG}text")}
        assert {"ODA", "SUP", "ETA", "EHA"} <= texts
