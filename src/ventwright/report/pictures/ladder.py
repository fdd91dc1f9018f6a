"""Dew-point ladder: each surface's temperature beside the dew point of the air that touches it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from ventwright.quantities import Dimension, from_si, unit_of_measure
from ventwright.report.measures import Measures
from ventwright.report.pictures import svg
from ventwright.report.wording import Words
from ventwright.uncertainty import Estimate, u_expanded

_WIDTH, _LABEL, _RIGHT, _ROW, _TOP, _BOTTOM = 520.0, 172.0, 18.0, 22.0, 24.0, 27.0
_LABEL_CHARACTERS = 34


@dataclass(frozen=True, slots=True, kw_only=True)
class LadderRow:
    """One surface."""

    label: str
    surface_c: Estimate
    dew_point_c: Estimate


def dew_point_ladder(rows: Sequence[LadderRow], *, measures: Measures, words: Words) -> str:
    """Chart of surfaces, a row for each: a drop-shaped dew point and a bar-shaped surface.

    Parameters
    ----------
    rows
        Surfaces from top to bottom.
    measures
        Units of measure of the axis.
    words
        For the legend.

    Returns
    -------
    str
        SVG.
    """
    measure = unit_of_measure(
        measures.symbol(Dimension.TEMPERATURE), dimension=Dimension.TEMPERATURE
    )
    ends = []
    for row in rows:
        for e in (row.surface_c, row.dew_point_c):
            ends += [e.value - u_expanded(e), e.value + u_expanded(e)]
    shown = [from_si(c, unit_of_measure=measure) for c in ends]
    margin = 0.06 * (max(shown) - min(shown)) + 0.5
    low, high = min(shown) - margin, max(shown) + margin
    width = _WIDTH - _LABEL - _RIGHT

    def at(temperature_c: float) -> float:
        value = from_si(temperature_c, unit_of_measure=measure)
        return _LABEL + width * (value - low) / (high - low)

    labels = [svg.wrapped(row.label, _LABEL_CHARACTERS) for row in rows]
    heights = [max(_ROW, 11.0 * len(lines) + 4.0) for lines in labels]
    height = _TOP + sum(heights) + _BOTTOM
    bottom = height - _BOTTOM
    body = [_legend(words)]
    marks = svg.ticks(low, high)
    step = marks[1] - marks[0] if len(marks) > 1 else 1.0
    for value in marks:
        x = _LABEL + width * (value - low) / (high - low)
        body.append(svg.line((x, _TOP), (x, bottom), stroke=svg.GRID, width=0.6))
        label = measures.marked(svg.tick_text(value, step))
        body.append(svg.text(label, (x, bottom + 12.0), size=8.0, anchor="middle", fill=svg.QUIET))
    symbol = measures.symbol(Dimension.TEMPERATURE)
    body.append(
        svg.text(symbol, (_WIDTH - _RIGHT, bottom + 24.0), size=8.0, anchor="end", fill=svg.QUIET)
    )
    top = _TOP
    for row, lines, tall in zip(rows, labels, heights, strict=True):
        y = top + 0.5 * tall
        top += tall
        body.append(svg.label(lines, (0.0, y)))
        for e, is_dew, offset in ((row.dew_point_c, True, -4.0), (row.surface_c, False, 4.0)):
            u = u_expanded(e)
            ink = svg.SUPPLY if is_dew else svg.EXTRACT
            body.append(
                svg.line((at(e.value - u), y + offset), (at(e.value + u), y + offset), stroke=ink)
            )
            body.append(_sign(at(e.value), y + offset, is_dew=is_dew))
    return svg.picture(body, width=_WIDTH, height=height)


def _sign(x: float, y: float, *, is_dew: bool) -> str:
    if is_dew:
        return svg.tag("circle", cx=x, cy=y, r=3.0, fill=svg.SUPPLY, stroke="none")
    return svg.tag("rect", x=x - 2.0, y=y - 4.0, width=4.0, height=8.0, fill=svg.EXTRACT)


def _legend(words: Words) -> str:
    x, y = _LABEL, 10.0
    return "".join(
        (
            _sign(x, y - 3.0, is_dew=True),
            svg.text(f"{words.say('picture.dew-point')} ± U", (x + 8.0, y), size=8.5),
            _sign(x + 110.0, y - 3.0, is_dew=False),
            svg.text(f"{words.say('picture.surface')} ± U", (x + 118.0, y), size=8.5),
        )
    )
