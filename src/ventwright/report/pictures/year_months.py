"""Twelve months as stacked bars, one stack up from a line and one down from it."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from ventwright.report.pictures import svg

_WIDTH, _HEIGHT = 520.0, 220.0
_LEFT, _RIGHT, _TOP, _BOTTOM = 48.0, 10.0, 30.0, 22.0
_BAR_SHARE = 0.62
# Fill and edge by direction and lightness: two inks that differ in grey, each dark and light.
_FILLS = {
    (False, False): (svg.SUPPLY, svg.SUPPLY),
    (False, True): ("#cfdce8", svg.SUPPLY),
    (True, False): (svg.EXTRACT, svg.EXTRACT),
    (True, True): ("#ead9d0", svg.EXTRACT),
}
_Height = Callable[[float], float]


@dataclass(frozen=True, slots=True, kw_only=True)
class MonthStack:
    """One month: amounts in the order of the parts, as shown."""

    label: str
    amounts: tuple[float, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class StackPart:
    """One part of every month's bars: up from the line or down from it, dark or light."""

    label: str
    hangs_down: bool = False
    is_light: bool = False


def month_bars(months: Sequence[MonthStack], *, parts: Sequence[StackPart], axis_label: str) -> str:
    """Chart of months, a bar up and a bar down for each, stacked from up to four parts.

    Parameters
    ----------
    months
        In order; amounts 0 or more.
    parts
        Up to four, in the order of the amounts.
    axis_label
        What the amounts are and in what unit of measure.

    Returns
    -------
    str
        SVG.
    """
    up = max((_sum(m, parts, False) for m in months), default=0.0)
    down = max((_sum(m, parts, True) for m in months), default=0.0)
    total = (up + down) or 1.0
    high, low = up + 0.04 * total, -(down + 0.04 * total if down else 0.0)

    def y_of(value: float) -> float:
        return _TOP + (high - value) / (high - low) * (_HEIGHT - _TOP - _BOTTOM)

    body = _grid(y_of, low=low, high=high)
    slot = (_WIDTH - _LEFT - _RIGHT) / max(len(months), 1)
    for i, month in enumerate(months):
        left = _LEFT + slot * (i + 0.5 * (1.0 - _BAR_SHARE))
        body += _bars(month, parts, left=left, width=slot * _BAR_SHARE, y_of=y_of)
        centre = _LEFT + slot * (i + 0.5)
        body.append(svg.text(month.label, (centre, _HEIGHT - 8.0), size=8.5, anchor="middle"))
    body.append(
        svg.line((_LEFT, y_of(0.0)), (_WIDTH - _RIGHT, y_of(0.0)), stroke=svg.INK, width=1.0)
    )
    body += _legend(parts)
    body.append(svg.text(axis_label, (2.0, _TOP - 4.0), size=8.5, fill=svg.QUIET))
    return svg.picture(body, width=_WIDTH, height=_HEIGHT)


def _sum(month: MonthStack, parts: Sequence[StackPart], hangs_down: bool) -> float:
    return sum(
        amount
        for amount, part in zip(month.amounts, parts, strict=True)
        if part.hangs_down is hangs_down
    )


def _grid(y_of: _Height, *, low: float, high: float) -> list[str]:
    marks = svg.ticks(low, high, about=6)
    step = marks[1] - marks[0] if len(marks) > 1 else 1.0
    body = []
    for value in marks:
        y = y_of(value)
        body.append(svg.line((_LEFT, y), (_WIDTH - _RIGHT, y), stroke=svg.GRID, width=0.5))
        label = svg.tick_text(abs(value), step)
        body.append(svg.text(label, (_LEFT - 5.0, y + 3.0), size=8.5, anchor="end", fill=svg.QUIET))
    return body


def _bars(
    month: MonthStack,
    parts: Sequence[StackPart],
    *,
    left: float,
    width: float,
    y_of: _Height,
) -> list[str]:
    body = []
    ends = {False: 0.0, True: 0.0}
    for amount, part in zip(month.amounts, parts, strict=True):
        if amount <= 0.0:
            continue
        fill, edge = _FILLS[part.hangs_down, part.is_light]
        start = ends[part.hangs_down]
        end = start - amount if part.hangs_down else start + amount
        ends[part.hangs_down] = end
        top, bottom = sorted((y_of(start), y_of(end)))
        body.append(
            svg.tag(
                "rect",
                x=left,
                y=top,
                width=width,
                height=max(bottom - top, 0.3),
                fill=fill,
                stroke=edge,
                stroke_width=0.7,
            )
        )
    return body


def _legend(parts: Sequence[StackPart]) -> list[str]:
    body = []
    x = _LEFT
    for part in parts:
        fill, edge = _FILLS[part.hangs_down, part.is_light]
        body.append(
            svg.tag(
                "rect", x=x, y=5.0, width=11.0, height=9.0, fill=fill, stroke=edge, stroke_width=0.7
            )
        )
        body.append(svg.text(part.label, (x + 15.0, 13.0), size=8.5))
        x += 27.0 + 4.4 * len(part.label)
    return body
