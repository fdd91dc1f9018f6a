"""Psychrometric chart: dry-bulb temperature, humidity ratio, the four streams and their doubt."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from ventwright.air import AirStateError, moist_air_from
from ventwright.quantities import AirKind, Dimension, HumidityOver, from_si, unit_of_measure
from ventwright.report.measures import Measures
from ventwright.report.pictures import svg
from ventwright.report.wording import Words
from ventwright.uncertainty import COVERAGE_FACTOR, Estimate, covariance

_WIDTH, _HEIGHT = 520.0, 258.0
_LEFT, _RIGHT, _TOP, _BOTTOM = 14.0, 50.0, 12.0, 34.0
_HUMIDITIES_FRAC = (0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9, 1.0)
_LABELLED_FRAC = (0.2, 0.4, 0.6, 0.8, 1.0)
_STEPS = 48
_ELLIPSE_POINTS = 48
_PATHS = ((AirKind.OUTDOOR, AirKind.SUPPLY), (AirKind.EXTRACT, AirKind.EXHAUST))
_LEAST_C, _MOST_C = -45.0, 60.0
"""Range of the chart's curves; a point beyond it would be no house's air."""


@dataclass(frozen=True, slots=True, kw_only=True)
class StreamPoint:
    """One stream's state with uncertainty."""

    kind: AirKind
    temperature_c: Estimate
    humidity_ratio_kg_kg: Estimate


def psychrometric_chart(
    points: Sequence[StreamPoint], *, pressure_pa: float, measures: Measures, words: Words
) -> str:
    """Chart of the streams on lines of equal relative humidity.

    Each stream stands with the letters of EN 16798-3 and the ellipse that its temperature and
    humidity ratio share at k = 2; lines join what enters an exchanger to what leaves it.

    Parameters
    ----------
    points
        At least one stream.
    pressure_pa
        Barometric pressure of the curves [Pa].
    measures
        Units of measure of both axes.
    words
        For the labels.

    Returns
    -------
    str
        SVG.

    Source: hyland_wexler_1983
    """
    frame = _Frame(points, measures)
    body = _grid(frame, measures, words)
    body += _curves(frame, pressure_pa)
    body += _streams(points, frame)
    return svg.picture(body, width=_WIDTH, height=_HEIGHT)


class _Frame:
    """From a state to its place; ranges are taken wide enough for all streams."""

    def __init__(self, points: Sequence[StreamPoint], measures: Measures) -> None:
        self._t = unit_of_measure(
            measures.symbol(Dimension.TEMPERATURE), dimension=Dimension.TEMPERATURE
        )
        self._w = unit_of_measure(
            measures.symbol(Dimension.HUMIDITY_RATIO), dimension=Dimension.HUMIDITY_RATIO
        )
        temperatures = [p.temperature_c.value for p in points]
        moistest = max(
            p.humidity_ratio_kg_kg.value + COVERAGE_FACTOR * p.humidity_ratio_kg_kg.u_std
            for p in points
        )
        middle = 0.5 * (min(temperatures) + max(temperatures))
        half = max(0.5 * (max(temperatures) - min(temperatures)) + 4.0, 7.0)
        self.low_c, self.high_c = middle - half, middle + half
        self.high_kg_kg = max(1.25 * moistest, 0.004)

    def at(self, temperature_c: float, humidity_ratio_kg_kg: float) -> svg.Point:
        x = (temperature_c - self.low_c) / (self.high_c - self.low_c)
        y = humidity_ratio_kg_kg / self.high_kg_kg
        return (
            _LEFT + x * (_WIDTH - _LEFT - _RIGHT),
            _HEIGHT - _BOTTOM - y * (_HEIGHT - _TOP - _BOTTOM),
        )

    def temperature_ticks(self) -> tuple[list[tuple[float, float]], float]:
        """(shown, °C) of each tick, and their step as shown."""
        low = from_si(self.low_c, unit_of_measure=self._t)
        high = from_si(self.high_c, unit_of_measure=self._t)
        marks = svg.ticks(low, high, about=8)
        span_c = self.high_c - self.low_c
        return (
            [(v, self.low_c + span_c * (v - low) / (high - low)) for v in marks],
            marks[1] - marks[0],
        )

    def ratio_ticks(self) -> tuple[list[tuple[float, float]], float]:
        """(shown, kg/kg) of each tick, and their step as shown."""
        high = from_si(self.high_kg_kg, unit_of_measure=self._w)
        marks = svg.ticks(0.0, high)
        return [(v, self.high_kg_kg * v / high) for v in marks], marks[1] - marks[0]


def _grid(frame: _Frame, measures: Measures, words: Words) -> list[str]:
    body = []
    right, bottom = _WIDTH - _RIGHT, _HEIGHT - _BOTTOM
    marks, step = frame.temperature_ticks()
    for shown, value in marks:
        x, _ = frame.at(value, 0.0)
        body.append(svg.line((x, _TOP), (x, bottom), stroke=svg.GRID, width=0.5))
        body.append(
            svg.text(
                measures.marked(svg.tick_text(shown, step)),
                (x, bottom + 12.0),
                size=8.5,
                anchor="middle",
                fill=svg.QUIET,
            )
        )
    marks, step = frame.ratio_ticks()
    for shown, value in marks:
        _, y = frame.at(frame.low_c, value)
        body.append(svg.line((_LEFT, y), (right, y), stroke=svg.GRID, width=0.5))
        body.append(
            svg.text(
                measures.marked(svg.tick_text(shown, step)),
                (right + 5.0, y + 3.0),
                size=8.5,
                fill=svg.QUIET,
            )
        )
    across = f"{words.say('picture.temperature')}, {measures.symbol(Dimension.TEMPERATURE)}"
    up = measures.symbol(Dimension.HUMIDITY_RATIO)
    body.append(svg.text(across, (right, bottom + 26.0), anchor="end", fill=svg.INK))
    body.append(svg.text(words.say("picture.humidity-ratio"), (_LEFT + 4.0, _TOP + 9.0)))
    body.append(svg.text(up, (right + 5.0, _TOP - 2.0), size=8.5))
    return body


def _curves(frame: _Frame, pressure_pa: float) -> list[str]:
    body = []
    low, high = max(frame.low_c, _LEAST_C), min(frame.high_c, _MOST_C)
    for humidity in _HUMIDITIES_FRAC:
        curve: list[svg.Point] = []
        for i in range(_STEPS + 1):
            temperature = low + (high - low) * i / _STEPS
            ratio = _ratio_at(temperature, humidity, pressure_pa)
            if ratio is None or ratio > frame.high_kg_kg:
                if ratio is not None and curve:
                    curve.append(_cut(frame, curve[-1], frame.at(temperature, ratio)))
                break
            curve.append(frame.at(temperature, ratio))
        if len(curve) < 2:
            continue
        is_saturated = humidity == 1.0
        body.append(
            svg.path(
                curve,
                stroke=svg.INK if is_saturated else "#8a97a3",
                width=1.3 if is_saturated else 0.6,
            )
        )
        if humidity in _LABELLED_FRAC:
            body.append(_curve_label(curve, humidity))
    return body


def _curve_label(curve: list[svg.Point], humidity: float) -> str:
    """The label stands where the curve leaves the chart, or inside the right edge."""
    x, y = curve[-1]
    is_at_top = y < _TOP + 14.0
    at = (x - 3.0, y + 10.0) if is_at_top else (x - 4.0, y - 3.0)
    words = f"{100.0 * humidity:.0f} %"
    width = 4.2 * len(words)
    rim = svg.tag(
        "rect", x=at[0] - width, y=at[1] - 7.5, width=width + 1.0, height=9.5, fill="#ffffff"
    )
    return rim + svg.text(words, at, size=8.0, anchor="end", fill=svg.QUIET)


def _cut(frame: _Frame, inside: svg.Point, outside: svg.Point) -> svg.Point:
    """Where a curve meets the upper edge."""
    _, top = frame.at(frame.low_c, frame.high_kg_kg)
    share = (inside[1] - top) / (inside[1] - outside[1])
    return inside[0] + share * (outside[0] - inside[0]), top


def _ratio_at(temperature_c: float, humidity_frac: float, pressure_pa: float) -> float | None:
    try:
        return moist_air_from(
            pressure_pa=pressure_pa,
            temperature_c=temperature_c,
            rel_humidity_frac=humidity_frac,
            humidity_over=HumidityOver.ICE if temperature_c < 0.0 else None,
        ).humidity_ratio_kg_kg
    except AirStateError:
        return None


def _streams(points: Sequence[StreamPoint], frame: _Frame) -> list[str]:
    body = []
    places = {p.kind: frame.at(p.temperature_c.value, p.humidity_ratio_kg_kg.value) for p in points}
    for start, end in _PATHS:
        if start in places and end in places:
            ink = _ink(start)
            body.append(svg.line(places[start], places[end], stroke=ink, width=1.6))
            body += _arrow(places[start], places[end], ink)
    for p in points:
        body.append(
            svg.path(
                _ellipse(p, frame),
                stroke=_ink(p.kind),
                width=0.9,
                close=True,
                fill=_ink(p.kind),
                opacity=0.12,
            )
        )
    for p in points:
        x, y = places[p.kind]
        body.append(svg.tag("circle", cx=x, cy=y, r=3.2, fill=_ink(p.kind), stroke="#ffffff"))
        is_left = p.kind in (AirKind.OUTDOOR, AirKind.EXHAUST)
        is_above = p.kind in (AirKind.EXTRACT, AirKind.EXHAUST)
        at = (x - 7.0 if is_left else x + 7.0, y - 7.0 if is_above else y + 14.0)
        body.append(_label(p.kind, at, "end" if is_left else "start"))
    return body


def _label(kind: AirKind, at: svg.Point, anchor: str) -> str:
    """Letters with a white rim, so that they read on any line."""
    width = 22.0
    left = at[0] - width if anchor == "end" else at[0]
    rim = svg.tag(
        "rect",
        x=left - 1.5,
        y=at[1] - 9.0,
        width=width + 3.0,
        height=11.5,
        fill="#ffffff",
        fill_opacity=0.85,
    )
    return rim + svg.text(kind.value, at, size=10.0, anchor=anchor, fill=_ink(kind), weight="bold")


def _ink(kind: AirKind) -> str:
    return svg.SUPPLY if kind in (AirKind.OUTDOOR, AirKind.SUPPLY) else svg.EXTRACT


def _arrow(start: svg.Point, end: svg.Point, ink: str) -> list[str]:
    """Head of an arrow in the middle of a line; none where the line is too short to see one."""
    dx, dy = end[0] - start[0], end[1] - start[1]
    length = math.hypot(dx, dy)
    if length < 24.0:
        return []
    ux, uy = dx / length, dy / length
    mx, my = start[0] + 0.55 * dx, start[1] + 0.55 * dy
    wings = [
        (mx - 7.0 * ux - 3.5 * uy, my - 7.0 * uy + 3.5 * ux),
        (mx, my),
        (mx - 7.0 * ux + 3.5 * uy, my - 7.0 * uy - 3.5 * ux),
    ]
    return [svg.path(wings, stroke=ink, width=0.5, close=True, fill=ink)]


def _ellipse(point: StreamPoint, frame: _Frame) -> list[svg.Point]:
    """Joint region of temperature and humidity ratio at k = 2, from the lower Cholesky factor."""
    t, w = point.temperature_c, point.humidity_ratio_kg_kg
    shared = covariance(t, w) / t.u_std if t.u_std > 0.0 else 0.0
    own = math.sqrt(max(w.u_std**2 - shared**2, 0.0))
    ring = []
    for i in range(_ELLIPSE_POINTS):
        a = 2.0 * math.pi * i / _ELLIPSE_POINTS
        c, s = COVERAGE_FACTOR * math.cos(a), COVERAGE_FACTOR * math.sin(a)
        ring.append(frame.at(t.value + t.u_std * c, max(w.value + shared * c + own * s, 0.0)))
    return ring
