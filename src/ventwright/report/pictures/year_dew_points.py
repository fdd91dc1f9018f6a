"""Hours of a year by dew point, for the airs of a house."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from ventwright.quantities import Dimension, from_si, unit_of_measure
from ventwright.report.measures import Measures
from ventwright.report.pictures import svg
from ventwright.report.wording import Words

_WIDTH, _HEIGHT = 520.0, 230.0
_LEFT, _RIGHT, _TOP, _BOTTOM = 44.0, 14.0, 28.0, 36.0
# Ink, width and dash of the first, second and third air: told apart without colour.
_STYLES = ((svg.SUPPLY, 1.8, ""), (svg.EXTRACT, 1.8, "5 3"), (svg.INK, 1.2, "1.5 2"))
_STEP_K = 1.0


@dataclass(frozen=True, slots=True, kw_only=True)
class DewHours:
    """One air: hours in steps of 1 K of dew point, from the lower end of each step."""

    label: str
    bins: tuple[tuple[float, float], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class DewMark:
    """A temperature marked on the scale: a surface that gets wet to the right of it."""

    label: str
    temperature_c: float


def hours_by_dew_point(
    airs: Sequence[DewHours],
    *,
    measures: Measures,
    words: Words,
    marks: Sequence[DewMark] = (),
) -> str:
    """Chart of hours by dew point, a stepped line for each of up to three airs.

    Parameters
    ----------
    airs
        At least one, with at least one hour.
    measures
        Unit of measure of the temperature axis.
    words
        For the axes.
    marks
        Temperatures to mark.

    Returns
    -------
    str
        SVG.
    """
    scale = _Scale(airs, marks, measures)
    body = _grid(scale, measures, words)
    for mark in marks:
        x = scale.x(mark.temperature_c)
        body.append(svg.line((x, _TOP), (x, _HEIGHT - _BOTTOM), stroke=svg.QUIET, dash="2 3"))
        body.append(svg.text(mark.label, (x + 3.0, _TOP + 9.0), size=8.0, fill=svg.QUIET))
    for air, style in zip(airs, _STYLES, strict=False):
        body.append(_steps(air, scale, style))
    x = _LEFT
    for air, style in zip(airs, _STYLES, strict=False):
        body.append(_sample((x, 13.0), style))
        body.append(svg.text(air.label, (x + 26.0, 16.0), size=9.0))
        x += 40.0 + 5.2 * len(air.label)
    return svg.picture(body, width=_WIDTH, height=_HEIGHT)


class _Scale:
    """From dew point and hours to a place."""

    def __init__(
        self, airs: Sequence[DewHours], marks: Sequence[DewMark], measures: Measures
    ) -> None:
        self.measure = unit_of_measure(
            measures.symbol(Dimension.TEMPERATURE), dimension=Dimension.TEMPERATURE
        )
        lows = [low for air in airs for low, hours in air.bins if hours > 0.0]
        ends = [*lows, *(m.temperature_c for m in marks)]
        self.low_c, self.high_c = min(ends) - _STEP_K, max(ends) + 2.0 * _STEP_K
        most = max(hours for air in airs for _, hours in air.bins)
        self.hours = svg.ticks(0.0, 1.05 * most, about=5)
        self.most = 1.05 * most

    def x(self, temperature_c: float) -> float:
        share = (temperature_c - self.low_c) / (self.high_c - self.low_c)
        return _LEFT + share * (_WIDTH - _LEFT - _RIGHT)

    def y(self, hours: float) -> float:
        return _HEIGHT - _BOTTOM - hours / self.most * (_HEIGHT - _TOP - _BOTTOM)

    def temperatures(self) -> tuple[list[tuple[float, float]], float]:
        """(shown, °C) of each tick, and their step as shown."""
        low, high = (from_si(t, unit_of_measure=self.measure) for t in (self.low_c, self.high_c))
        marks = svg.ticks(low, high, about=9)
        span = self.high_c - self.low_c
        return (
            [(v, self.low_c + span * (v - low) / (high - low)) for v in marks],
            marks[1] - marks[0] if len(marks) > 1 else 1.0,
        )


def _grid(scale: _Scale, measures: Measures, words: Words) -> list[str]:
    body = []
    right, bottom = _WIDTH - _RIGHT, _HEIGHT - _BOTTOM
    for value in scale.hours:
        y = scale.y(value)
        body.append(svg.line((_LEFT, y), (right, y), stroke=svg.GRID, width=0.5))
        body.append(
            svg.text(f"{value:.0f}", (_LEFT - 5.0, y + 3.0), size=8.5, anchor="end", fill=svg.QUIET)
        )
    shown, step = scale.temperatures()
    for value, temperature_c in shown:
        x = scale.x(temperature_c)
        body.append(svg.line((x, bottom), (x, bottom + 4.0), stroke=svg.QUIET, width=0.8))
        label = measures.marked(svg.tick_text(value, step))
        body.append(svg.text(label, (x, bottom + 14.0), size=8.5, anchor="middle", fill=svg.QUIET))
    symbol = measures.symbol(Dimension.TEMPERATURE)
    across = f"{words.say('year-picture.dew-point')}, {symbol}"
    body.append(svg.text(across, (right, bottom + 28.0), anchor="end"))
    body.append(svg.text(words.say("year-picture.hours"), (_LEFT + 4.0, _TOP - 1.0), size=8.5))
    return body


def _steps(air: DewHours, scale: _Scale, style: tuple[str, float, str]) -> str:
    points: list[svg.Point] = []
    for low_c, hours in air.bins:
        points += [(scale.x(low_c), scale.y(hours)), (scale.x(low_c + _STEP_K), scale.y(hours))]
    first, last = points[0][0], points[-1][0]
    ground = scale.y(0.0)
    return _stroked([(first, ground), *points, (last, ground)], style)


def _stroked(points: Sequence[svg.Point], style: tuple[str, float, str]) -> str:
    ink, width, dash = style
    steps = [f"{svg.number(x)} {svg.number(y)}" for x, y in points]
    line = f"M{' L'.join(steps)}"
    extra = {"stroke_dasharray": dash} if dash else {}
    return svg.tag("path", d=line, fill="none", stroke=ink, stroke_width=width, **extra)


def _sample(at: svg.Point, style: tuple[str, float, str]) -> str:
    return _stroked([at, (at[0] + 22.0, at[1])], style)
