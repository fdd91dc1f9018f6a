"""As found against as left: each terminal's target, band and flow with its interval."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from ventwright.quantities import Dimension, Side, from_si, unit_of_measure
from ventwright.report.measures import Measures
from ventwright.report.pictures import svg
from ventwright.report.wording import Words
from ventwright.uncertainty import Estimate, u_expanded

_WIDTH, _LABEL, _RIGHT, _ROW, _TOP, _BOTTOM = 520.0, 132.0, 14.0, 17.0, 22.0, 26.0
_LABEL_CHARACTERS = 26


@dataclass(frozen=True, slots=True, kw_only=True)
class FlowRow:
    """One terminal of the chart; flows in m³/s."""

    label: str
    side: Side
    target_m3_s: float | None
    low_m3_s: float | None
    high_m3_s: float | None
    as_found_m3_s: Estimate | None
    as_left_m3_s: Estimate | None


def flow_chart(rows: Sequence[FlowRow], *, measures: Measures, words: Words) -> str:
    """Chart of terminals, a row for each: band, target, as found (open), as left (filled).

    Parameters
    ----------
    rows
        Terminals from top to bottom.
    measures
        Units of measure of the axis.
    words
        For the legend.

    Returns
    -------
    str
        SVG.
    """
    scale = _Scale(rows, measures)
    labels = [svg.wrapped(row.label, _LABEL_CHARACTERS) for row in rows]
    heights = [max(_ROW, 11.0 * len(lines) + 4.0) for lines in labels]
    height = _TOP + sum(heights) + _BOTTOM
    bottom = height - _BOTTOM
    body = [_legend(words)]
    for value in scale.ticks:
        x = scale.at_shown(value)
        body.append(svg.line((x, _TOP), (x, bottom), stroke=svg.GRID, width=0.6))
        body.append(
            svg.text(
                measures.marked(svg.tick_text(value, scale.step)),
                (x, bottom + 12.0),
                size=8.0,
                anchor="middle",
                fill=svg.QUIET,
            )
        )
    body.append(
        svg.text(
            measures.symbol(Dimension.FLOW),
            (_WIDTH - _RIGHT, bottom + 24.0),
            size=8.0,
            anchor="end",
            fill=svg.QUIET,
        )
    )
    top = _TOP
    for row, lines, tall in zip(rows, labels, heights, strict=True):
        body.append(svg.label(lines, (0.0, top + 0.5 * tall)))
        body += _row(row, top + 0.5 * tall, scale)
        top += tall
    return svg.picture(body, width=_WIDTH, height=height)


class _Scale:
    """From flow to place."""

    def __init__(self, rows: Sequence[FlowRow], measures: Measures) -> None:
        self._measure = unit_of_measure(measures.symbol(Dimension.FLOW), dimension=Dimension.FLOW)
        highest = [0.0]
        for row in rows:
            highest += [v for v in (row.target_m3_s, row.high_m3_s) if v is not None]
            for e in (row.as_found_m3_s, row.as_left_m3_s):
                if e is not None:
                    highest.append(e.value + u_expanded(e))
        top = from_si(max(highest), unit_of_measure=self._measure)
        self._top = 1.05 * top if top > 0.0 else 1.0
        self.ticks = svg.ticks(0.0, self._top)
        self.step = self.ticks[1] - self.ticks[0] if len(self.ticks) > 1 else 1.0

    def at_shown(self, shown: float) -> float:
        width = _WIDTH - _LABEL - _RIGHT
        return _LABEL + width * min(max(shown / self._top, 0.0), 1.0)

    def at(self, flow_m3_s: float) -> float:
        return self.at_shown(from_si(flow_m3_s, unit_of_measure=self._measure))


def _row(row: FlowRow, y: float, scale: _Scale) -> list[str]:
    ink = svg.SUPPLY if row.side is Side.SUPPLY else svg.EXTRACT
    body = []
    if row.low_m3_s is not None or row.high_m3_s is not None:
        left = scale.at(row.low_m3_s or 0.0)
        right = scale.at(row.high_m3_s) if row.high_m3_s is not None else _WIDTH - _RIGHT
        body.append(
            svg.tag("rect", x=left, y=y - 7.0, width=right - left, height=14.0, fill=svg.BAND)
        )
    if row.target_m3_s is not None:
        x = scale.at(row.target_m3_s)
        body.append(svg.line((x, y - 7.0), (x, y + 7.0), stroke=svg.INK, width=1.2))
    body += _flow(row.as_found_m3_s, y - 3.5, scale, ink, is_filled=False)
    body += _flow(row.as_left_m3_s, y + 3.5, scale, ink, is_filled=True)
    return body


def _flow(
    flow: Estimate | None, y: float, scale: _Scale, ink: str, *, is_filled: bool
) -> list[str]:
    if flow is None:
        return []
    u = u_expanded(flow)
    left, right = scale.at(flow.value - u), scale.at(flow.value + u)
    return [
        svg.line((left, y), (right, y), stroke=ink, width=1.1),
        *(svg.line((x, y - 2.0), (x, y + 2.0), stroke=ink, width=1.1) for x in (left, right)),
        svg.tag(
            "circle",
            cx=scale.at(flow.value),
            cy=y,
            r=2.6,
            fill=ink if is_filled else "#ffffff",
            stroke=ink,
            stroke_width=1.1,
        ),
    ]


def _legend(words: Words) -> str:
    y = 10.0
    parts = []
    x = _LABEL
    for key, is_filled in (("phase.as_found", False), ("phase.as_left", True)):
        parts.append(svg.line((x - 8.0, y - 3.0), (x + 8.0, y - 3.0), stroke=svg.INK))
        parts.append(
            svg.tag(
                "circle",
                cx=x,
                cy=y - 3.0,
                r=2.6,
                fill=svg.INK if is_filled else "#ffffff",
                stroke=svg.INK,
            )
        )
        parts.append(svg.text(f"{words.say(key)} ± U", (x + 12.0, y), size=8.5))
        x += 92.0
    parts.append(svg.line((x, y - 10.0), (x, y + 2.0), width=1.2))
    parts.append(svg.text(words.say("picture.target"), (x + 6.0, y), size=8.5))
    x += 52.0
    parts.append(svg.tag("rect", x=x, y=y - 9.0, width=16.0, height=11.0, fill=svg.BAND))
    parts.append(svg.text(words.say("picture.band"), (x + 20.0, y), size=8.5))
    return "".join(parts)
