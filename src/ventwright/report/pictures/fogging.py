"""A bathroom's humidity while a shower runs and after it, with the time its mirror is fogged."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from ventwright.report.pictures import svg
from ventwright.report.wording import Words

_WIDTH, _LEFT, _RIGHT = 520.0, 34.0, 10.0
_TITLE, _PLOT, _AXIS, _FOOT = 32.0, 92.0, 18.0, 16.0
_PANEL = _TITLE + _PLOT + _AXIS
_LOW, _HIGH = 20.0, 100.0
_INKS = ((svg.SUPPLY, ""), (svg.EXTRACT, "5 3"))
"""First curve whole, second dashed: told apart without colour."""
_LABEL_CHARACTERS = 50


@dataclass(frozen=True, slots=True, kw_only=True)
class ShowerCurve:
    """Relative humidity at one extract: times [s] and shares of 1."""

    label: str
    points: tuple[tuple[float, float], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class ShowerPanel:
    """One bathroom: its curves, its shower, and from when to when its mirror is fogged [s]."""

    label: str
    shower_s: float
    run_s: float
    fogged_s: tuple[float, float] | None
    curves: tuple[ShowerCurve, ...]


def fogging_chart(panels: Sequence[ShowerPanel], *, words: Words) -> str:
    """Chart of humidity over time, a panel for each bathroom, the fogged span shaded.

    Parameters
    ----------
    panels
        Bathrooms from top to bottom, each with up to two curves.
    words
        For axes and spans.

    Returns
    -------
    str
        SVG.
    """
    body: list[str] = []
    for i, panel in enumerate(panels):
        body += _panel(panel, top=i * _PANEL, words=words)
    foot = len(panels) * _PANEL + 8.0
    body.append(
        svg.text(
            words.say("picture.shower-minutes"),
            (_WIDTH - _RIGHT, foot),
            size=8.0,
            anchor="end",
            fill=svg.QUIET,
        )
    )
    body.append(
        svg.text(words.say("picture.shower-humidity"), (0.0, foot), size=8.0, fill=svg.QUIET)
    )
    return svg.picture(body, width=_WIDTH, height=len(panels) * _PANEL + _FOOT)


def _panel(panel: ShowerPanel, *, top: float, words: Words) -> list[str]:
    base = top + _TITLE + _PLOT
    low = min([_LOW, *(20.0 * (5.0 * h // 1.0) for c in panel.curves for _, h in c.points)])

    def x_of(time_s: float) -> float:
        return _LEFT + (_WIDTH - _LEFT - _RIGHT) * time_s / panel.run_s

    def y_of(percent: float) -> float:
        return base - _PLOT * (percent - low) / (_HIGH - low)

    body = []
    if panel.fogged_s is not None:
        left, right = (x_of(t) for t in panel.fogged_s)
        body.append(_span(left, right, top=y_of(_HIGH), height=_PLOT))
        middle = 0.5 * (left + right)
        label = words.say("picture.fogged")
        # Beside a span too narrow for it.
        is_inside = right - left > 5.0 * len(label)
        at = (middle, base - 14.0) if is_inside else (right + 4.0, base - 14.0)
        anchor = "middle" if is_inside else "start"
        body.append(svg.text(label, at, size=8.0, anchor=anchor))
    for value in svg.ticks(low, _HIGH, about=4):
        y = y_of(value)
        body.append(svg.line((_LEFT, y), (_WIDTH - _RIGHT, y), stroke=svg.GRID, width=0.5))
        body.append(_small(f"{value:.0f}", (_LEFT - 5.0, y + 3.0), anchor="end"))
    for minutes in svg.ticks(0.0, panel.run_s / 60.0):
        x = x_of(60.0 * minutes)
        body.append(svg.line((x, base), (x, base + 3.0), stroke=svg.QUIET, width=0.7))
        body.append(_small(f"{minutes:.0f}", (x, base + 12.0), anchor="middle"))
    end = x_of(panel.shower_s)
    body.append(svg.line((_LEFT, base), (end, base), width=3.0))
    body.append(_small(words.say("picture.shower"), (_LEFT + 3.0, base - 4.0)))
    for curve, (ink, dash) in zip(panel.curves, _INKS, strict=False):
        points = [(x_of(t), y_of(100.0 * h)) for t, h in curve.points]
        body.append(_curve(points, ink=ink, dash=dash))
    return [*body, *_titles(panel, top=top)]


def _titles(panel: ShowerPanel, *, top: float) -> list[str]:
    body = [svg.text(svg.shortened(panel.label, 60), (_LEFT, top + 11.0), weight="bold")]
    x = _LEFT
    for curve, (ink, dash) in zip(panel.curves, _INKS, strict=False):
        label = svg.shortened(curve.label, _LABEL_CHARACTERS)
        y = top + 23.0
        body.append(svg.line((x, y - 3.0), (x + 18.0, y - 3.0), stroke=ink, width=1.5, dash=dash))
        body.append(svg.text(label, (x + 22.0, y), size=8.0))
        x += 238.0
    return body


def _span(left: float, right: float, *, top: float, height: float) -> str:
    return svg.tag(
        "rect",
        x=left,
        y=top,
        width=max(right - left, 0.5),
        height=height,
        fill=svg.BAND,
        stroke=svg.QUIET,
        stroke_width=0.5,
    )


def _curve(points: Sequence[svg.Point], *, ink: str, dash: str) -> str:
    """One path, so that dashes run on from minute to minute."""
    steps = " ".join(
        f"{'L' if i else 'M'}{svg.number(x)} {svg.number(y)}" for i, (x, y) in enumerate(points)
    )
    extra = {"stroke_dasharray": dash} if dash else {}
    return svg.tag("path", d=steps, fill="none", stroke=ink, stroke_width=1.5, **extra)


def _small(content: str, at: svg.Point, *, anchor: str = "start") -> str:
    return svg.text(content, at, size=8.0, anchor=anchor, fill=svg.QUIET)
