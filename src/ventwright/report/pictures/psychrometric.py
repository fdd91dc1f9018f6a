"""Psychrometric chart: dry-bulb temperature, humidity ratio, the four streams and their doubt."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from ventwright.quantities import AirKind
from ventwright.report.measures import Measures
from ventwright.report.pictures import svg
from ventwright.report.pictures.chart import WIDTH, Frame, curves, grid
from ventwright.report.wording import Words
from ventwright.uncertainty import COVERAGE_FACTOR, Estimate, covariance

_HEIGHT, _TOP = 258.0, 12.0
_HUMIDITIES_FRAC = (0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9, 1.0)
_LABELLED_FRAC = (0.2, 0.4, 0.6, 0.8, 1.0)
_ELLIPSE_POINTS = 48
_PATHS = ((AirKind.OUTDOOR, AirKind.SUPPLY), (AirKind.EXTRACT, AirKind.EXHAUST))


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
    frame = _frame(points, measures)
    body = grid(frame, words)
    body += curves(
        frame,
        pressure_pa=pressure_pa,
        humidities_frac=_HUMIDITIES_FRAC,
        labelled_frac=_LABELLED_FRAC,
    )
    body += _streams(points, frame)
    return svg.picture(body, width=WIDTH, height=_HEIGHT)


def _frame(points: Sequence[StreamPoint], measures: Measures) -> Frame:
    """Ranges wide enough for all streams."""
    temperatures = [p.temperature_c.value for p in points]
    moistest = max(
        p.humidity_ratio_kg_kg.value + COVERAGE_FACTOR * p.humidity_ratio_kg_kg.u_std
        for p in points
    )
    middle = 0.5 * (min(temperatures) + max(temperatures))
    half = max(0.5 * (max(temperatures) - min(temperatures)) + 4.0, 7.0)
    return Frame(
        low_c=middle - half,
        high_c=middle + half,
        high_kg_kg=max(1.25 * moistest, 0.004),
        measures=measures,
        height=_HEIGHT,
        top=_TOP,
    )


def _streams(points: Sequence[StreamPoint], frame: Frame) -> list[str]:
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


def _ellipse(point: StreamPoint, frame: Frame) -> list[svg.Point]:
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
