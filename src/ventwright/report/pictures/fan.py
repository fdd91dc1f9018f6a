"""A fan's curve at the speeds of its settings, with the points where it works."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from ventwright.quantities import Dimension, Side, from_si, unit_of_measure
from ventwright.report.measures import Measures
from ventwright.report.pictures import svg
from ventwright.report.wording import Words

_WIDTH, _HEIGHT = 520.0, 250.0
_NEAR = 10.0
"""Labels of points no farther apart would lie on one another."""
_LEFT, _RIGHT, _TOP, _BOTTOM = 46.0, 16.0, 26.0, 36.0


@dataclass(frozen=True, slots=True, kw_only=True)
class FanLine:
    """What a fan can do at one speed: flows in m³/s with rises in Pa, by rising flow."""

    speed_frac: float
    points: tuple[tuple[float, float], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class WorkingPoint:
    """Where a fan works in one setting: flow in m³/s and rise at the unit's ports in Pa."""

    label: str
    flow_m3_s: float
    rise_pa: float
    is_set: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class DesignPoint:
    """What the design asks for, with the expanded uncertainty of the rise."""

    flow_m3_s: float
    rise_pa: float
    u_rise_pa: float


def fan_chart(
    curves: Sequence[FanLine],
    points: Sequence[WorkingPoint],
    *,
    design: DesignPoint | None,
    side: Side,
    measures: Measures,
    words: Words,
) -> str:
    """Chart of flow against pressure at the unit's ports: curves by speed and points of settings.

    Parameters
    ----------
    curves
        One for each speed.
    points
        Where the fan works.
    design
        What the design asks for.
    side
        Chooses the ink.
    measures
        Units of measure of the axes.
    words
        For axes and legend.

    Returns
    -------
    str
        SVG.
    """
    drawn = [point for curve in curves for point in curve.points]
    flows = [q for q, _ in drawn] + [p.flow_m3_s for p in points]
    rises = [p for _, p in drawn] + [p.rise_pa for p in points]
    if design is not None:
        flows.append(design.flow_m3_s)
        rises.append(design.rise_pa + design.u_rise_pa)
    frame = _Frame(max(flows), max(rises), measures)
    ink = svg.SUPPLY if side is Side.SUPPLY else svg.EXTRACT
    body = [*frame.grid(), _legend(words, ink)]
    for curve in curves:
        # Below zero the unit needs help to move so much; the chart ends at its axis.
        line = [frame.at(q, p) for q, p in curve.points if p >= 0.0]
        stroke = svg.INK if curve.speed_frac == 1.0 else svg.QUIET
        body.append(svg.path(line, stroke=stroke, width=1.2))
        x, y = line[0]
        speed = f"{100.0 * curve.speed_frac:.0f} %"
        body.append(svg.text(speed, (x + 3.0, y - 3.0), size=8.0))
    if design is not None:
        body += _design(design, frame)
    for point in points:
        x, y = frame.at(point.flow_m3_s, point.rise_pa)
        body.append(
            svg.tag(
                "circle",
                cx=x,
                cy=y,
                r=3.2,
                fill=ink if point.is_set else "#ffffff",
                stroke=ink,
                stroke_width=1.3,
            )
        )
    body += _labels(points, frame)
    return svg.picture(body, width=_WIDTH, height=_HEIGHT)


def _labels(points: Sequence[WorkingPoint], frame: _Frame) -> list[str]:
    """Names of the settings; those that run at one place share a label."""
    named = [p for p in points if p.is_set] or list(points)
    groups: list[tuple[svg.Point, list[str]]] = []
    for point in named:
        at = frame.at(point.flow_m3_s, point.rise_pa)
        names = next((n for there, n in groups if math.dist(there, at) < _NEAR), None)
        label = svg.shortened(point.label, 18)
        if names is None:
            groups.append((at, [label]))
        elif label not in names:
            names.append(label)
    return [svg.text(", ".join(names), (x + 7.0, y - 5.0), size=8.5) for (x, y), names in groups]


class _Frame:
    """From flow and pressure to a place."""

    def __init__(self, flow_m3_s: float, rise_pa: float, measures: Measures) -> None:
        self._measures = measures
        self._symbols = [measures.symbol(d) for d in (Dimension.FLOW, Dimension.PRESSURE)]
        self._flow = unit_of_measure(self._symbols[0], dimension=Dimension.FLOW)
        self._rise = unit_of_measure(self._symbols[1], dimension=Dimension.PRESSURE)
        self._most = (
            1.08 * from_si(max(flow_m3_s, 1e-6), unit_of_measure=self._flow),
            1.1 * from_si(max(rise_pa, 1e-6), unit_of_measure=self._rise),
        )

    def at(self, flow_m3_s: float, rise_pa: float) -> svg.Point:
        return self._place(
            from_si(flow_m3_s, unit_of_measure=self._flow),
            from_si(rise_pa, unit_of_measure=self._rise),
        )

    def _place(self, flow: float, rise: float) -> svg.Point:
        wide, tall = _WIDTH - _LEFT - _RIGHT, _HEIGHT - _TOP - _BOTTOM
        return _LEFT + wide * flow / self._most[0], _TOP + tall * (1.0 - rise / self._most[1])

    def grid(self) -> list[str]:
        body = []
        low = _HEIGHT - _BOTTOM
        across, up = (svg.ticks(0.0, most) for most in self._most)
        for value in across:
            x, _ = self._place(value, 0.0)
            body.append(svg.line((x, _TOP), (x, low), stroke=svg.GRID, width=0.6))
            shown = self._measures.marked(svg.tick_text(value, across[1] - across[0]))
            body.append(svg.text(shown, (x, low + 12.0), size=8.0, anchor="middle"))
        for value in up:
            _, y = self._place(0.0, value)
            body.append(svg.line((_LEFT, y), (_WIDTH - _RIGHT, y), stroke=svg.GRID, width=0.6))
            shown = self._measures.marked(svg.tick_text(value, up[1] - up[0]))
            body.append(svg.text(shown, (_LEFT - 5.0, y + 3.0), size=8.0, anchor="end"))
        right = (_WIDTH - _RIGHT, low + 25.0)
        body.append(svg.text(self._symbols[0], right, size=8.0, anchor="end", fill=svg.QUIET))
        body.append(svg.text(self._symbols[1], (0.0, _TOP - 12.0), size=8.0, fill=svg.QUIET))
        return body


def _design(design: DesignPoint, frame: _Frame) -> list[str]:
    x, y = frame.at(design.flow_m3_s, design.rise_pa)
    _, high = frame.at(design.flow_m3_s, design.rise_pa + design.u_rise_pa)
    _, low = frame.at(design.flow_m3_s, max(design.rise_pa - design.u_rise_pa, 0.0))
    ends = (svg.line((x - 3.0, end), (x + 3.0, end), width=1.0) for end in (high, low))
    return [
        svg.line((x, high), (x, low), width=1.0),
        *ends,
        svg.line((x - 5.0, y), (x + 5.0, y), width=1.4),
    ]


def _legend(words: Words, ink: str) -> str:
    parts, x = [], _LEFT + 60.0
    for key, fill in (("fan.open", "#ffffff"), ("fan.set", ink)):
        parts.append(
            svg.tag("circle", cx=x, cy=8.0, r=3.2, fill=fill, stroke=ink, stroke_width=1.3)
        )
        parts.append(svg.text(words.say(key), (x + 7.0, 11.0), size=8.5))
        x += 110.0
    parts.append(svg.line((x, 3.0), (x, 13.0), width=1.0))
    parts.append(svg.line((x - 5.0, 8.0), (x + 5.0, 8.0), width=1.4))
    parts.append(svg.text(words.say("fan.design"), (x + 9.0, 11.0), size=8.5))
    return "".join(parts)
