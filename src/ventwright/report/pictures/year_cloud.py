"""A year as a cloud on the psychrometric chart: where outdoor and indoor air spend their hours."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from ventwright.air import AirStateError, moist_air_from
from ventwright.quantities import Dimension, HumidityOver, from_si, unit_of_measure
from ventwright.report.measures import Measures
from ventwright.report.pictures import svg
from ventwright.report.wording import Words

_WIDTH, _HEIGHT = 520.0, 300.0
_LEFT, _RIGHT, _TOP, _BOTTOM = 14.0, 50.0, 26.0, 34.0
_HUMIDITIES_FRAC = (0.2, 0.4, 0.6, 0.8, 1.0)
_CURVE_STEPS = 60
_CELL_K, _CELL_KG_KG = 1.0, 0.5e-3
_LEAST_C, _MOST_C = -40.0, 50.0


@dataclass(frozen=True, slots=True, kw_only=True)
class CloudHours:
    """Hours in one cell, 1 K by 0.5 g/kg, from its lower corner."""

    low_c: float
    low_kg_kg: float
    hours: float


def psychrometric_cloud(
    *,
    outdoor: Sequence[CloudHours],
    indoor: Sequence[CloudHours],
    pressure_pa: float,
    measures: Measures,
    words: Words,
) -> str:
    """Chart of the hours of outdoor and indoor air over temperature and humidity ratio.

    Outdoor hours are shaded cells, darker for more hours; indoor hours are open circles whose area
    grows with the hours.

    Parameters
    ----------
    outdoor, indoor
        Cells with hours; at least one outdoors.
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
    frame = _Frame([*outdoor, *indoor], measures)
    body = _shades(outdoor, frame)
    body += _grid(frame, measures, words)
    body += _curves(frame, pressure_pa)
    body += _circles(indoor, frame)
    body += _legend(words)
    return svg.picture(body, width=_WIDTH, height=_HEIGHT)


class _Frame:
    """From a state to its place."""

    def __init__(self, cells: Sequence[CloudHours], measures: Measures) -> None:
        self.t = unit_of_measure(
            measures.symbol(Dimension.TEMPERATURE), dimension=Dimension.TEMPERATURE
        )
        self.w = unit_of_measure(
            measures.symbol(Dimension.HUMIDITY_RATIO), dimension=Dimension.HUMIDITY_RATIO
        )
        self.low_c = min(c.low_c for c in cells) - 1.0
        self.high_c = max(c.low_c for c in cells) + 2.0 * _CELL_K
        self.high_kg_kg = max(c.low_kg_kg for c in cells) + 2.0 * _CELL_KG_KG

    def at(self, temperature_c: float, humidity_ratio_kg_kg: float) -> svg.Point:
        x = (temperature_c - self.low_c) / (self.high_c - self.low_c)
        y = humidity_ratio_kg_kg / self.high_kg_kg
        return (
            _LEFT + x * (_WIDTH - _LEFT - _RIGHT),
            _HEIGHT - _BOTTOM - y * (_HEIGHT - _TOP - _BOTTOM),
        )


def _shades(cells: Sequence[CloudHours], frame: _Frame) -> list[str]:
    most = max(c.hours for c in cells)
    body = []
    for cell in cells:
        left, top = frame.at(cell.low_c, cell.low_kg_kg + _CELL_KG_KG)
        right, bottom = frame.at(cell.low_c + _CELL_K, cell.low_kg_kg)
        body.append(
            svg.tag(
                "rect",
                x=left,
                y=top,
                width=right - left,
                height=bottom - top,
                fill=svg.SUPPLY,
                fill_opacity=0.08 + 0.77 * math.sqrt(cell.hours / most),
            )
        )
    return body


def _circles(cells: Sequence[CloudHours], frame: _Frame) -> list[str]:
    if not cells:
        return []
    most = max(c.hours for c in cells)
    body = []
    for cell in cells:
        x, y = frame.at(cell.low_c + 0.5 * _CELL_K, cell.low_kg_kg + 0.5 * _CELL_KG_KG)
        radius = max(0.8, 5.0 * math.sqrt(cell.hours / most))
        body.append(svg.tag("circle", cx=x, cy=y, r=radius, fill="none", stroke=svg.EXTRACT))
    return body


def _grid(frame: _Frame, measures: Measures, words: Words) -> list[str]:
    body = []
    right, bottom = _WIDTH - _RIGHT, _HEIGHT - _BOTTOM
    low, high = (from_si(t, unit_of_measure=frame.t) for t in (frame.low_c, frame.high_c))
    marks = svg.ticks(low, high, about=8)
    for value in marks:
        temperature_c = frame.low_c + (frame.high_c - frame.low_c) * (value - low) / (high - low)
        x, _ = frame.at(temperature_c, 0.0)
        body.append(svg.line((x, _TOP), (x, bottom), stroke=svg.GRID, width=0.4))
        label = measures.marked(svg.tick_text(value, marks[1] - marks[0]))
        body.append(svg.text(label, (x, bottom + 12.0), size=8.5, anchor="middle", fill=svg.QUIET))
    top = from_si(frame.high_kg_kg, unit_of_measure=frame.w)
    marks = svg.ticks(0.0, top)
    for value in marks:
        _, y = frame.at(frame.low_c, frame.high_kg_kg * value / top)
        body.append(svg.line((_LEFT, y), (right, y), stroke=svg.GRID, width=0.4))
        label = measures.marked(svg.tick_text(value, marks[1] - marks[0]))
        body.append(svg.text(label, (right + 5.0, y + 3.0), size=8.5, fill=svg.QUIET))
    across = f"{words.say('picture.temperature')}, {measures.symbol(Dimension.TEMPERATURE)}"
    body.append(svg.text(across, (right, bottom + 26.0), anchor="end"))
    up = measures.symbol(Dimension.HUMIDITY_RATIO)
    body.append(svg.text(up, (right + 5.0, _TOP - 4.0), size=8.5))
    return body


def _curves(frame: _Frame, pressure_pa: float) -> list[str]:
    body = []
    low, high = max(frame.low_c, _LEAST_C), min(frame.high_c, _MOST_C)
    for humidity in _HUMIDITIES_FRAC:
        curve: list[svg.Point] = []
        for i in range(_CURVE_STEPS + 1):
            temperature_c = low + (high - low) * i / _CURVE_STEPS
            ratio = _ratio_at(temperature_c, humidity, pressure_pa)
            if ratio is None or ratio > frame.high_kg_kg:
                break
            curve.append(frame.at(temperature_c, ratio))
        if len(curve) < 2:
            continue
        is_saturated = humidity == 1.0
        body.append(
            svg.path(
                curve,
                stroke=svg.INK if is_saturated else "#8a97a3",
                width=1.2 if is_saturated else 0.6,
            )
        )
        x, y = curve[-1]
        body.append(
            svg.text(
                f"{100.0 * humidity:.0f} %",
                (x - 3.0, y + 9.0 if y < _TOP + 14.0 else y - 3.0),
                size=8.0,
                anchor="end",
                fill=svg.QUIET,
            )
        )
    return body


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


def _legend(words: Words) -> list[str]:
    y = 13.0
    return [
        svg.tag(
            "rect", x=_LEFT, y=y - 7.0, width=14.0, height=8.0, fill=svg.SUPPLY, fill_opacity=0.6
        ),
        svg.text(words.say("year-picture.outdoor-hours"), (_LEFT + 19.0, y), size=9.0),
        svg.tag("circle", cx=_LEFT + 196.0, cy=y - 3.0, r=4.0, fill="none", stroke=svg.EXTRACT),
        svg.text(words.say("year-picture.indoor-hours"), (_LEFT + 206.0, y), size=9.0),
        svg.text(
            words.say("year-picture.humidity-lines"),
            (_WIDTH - _RIGHT, y),
            size=8.5,
            anchor="end",
            fill=svg.QUIET,
        ),
    ]
