"""What readings taught of a side: losses assumed and learnt, flows predicted against read."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from ventwright.quantities import Dimension, Side, from_si, unit_of_measure
from ventwright.report.measures import Measures
from ventwright.report.pictures import svg
from ventwright.report.wording import Words

_WIDTH, _LABEL, _RIGHT, _ROW, _TOP, _AXIS = 520.0, 150.0, 16.0, 18.0, 34.0, 28.0
_LABEL_CHARACTERS = 28


@dataclass(frozen=True, slots=True, kw_only=True)
class Bar:
    """One row: an open bar of what was assumed or allowed, a filled mark of what is known.

    Parameters
    ----------
    label
        Its name.
    low, high
        Ends of the broad bar.
    tick
        Upright line in it: the most likely before, or the target.
    value, value_low, value_high
        What is known now, with its interval.
    read
        Open mark; None without one.
    is_doubted
        Whether a reading there is not believed.
    """

    label: str
    low: float
    high: float
    tick: float
    value: float
    value_low: float
    value_high: float
    read: float | None = None
    is_doubted: bool = False


def inference_chart(
    shares: Sequence[Bar],
    flows: Sequence[Bar],
    *,
    side: Side,
    measures: Measures,
    words: Words,
) -> str:
    """Two panels, one above the other: shares of pressure lost, flows of terminals.

    Parameters
    ----------
    shares
        Rows in fractions.
    flows
        Rows in m³/s.
    side
        For the ink.
    measures
        Units of measure of the axes.
    words
        For titles and legends.
    """
    ink = svg.SUPPLY if side is Side.SUPPLY else svg.EXTRACT
    body: list[str] = []
    bottom = _panel(
        body, shares, 0.0, ink, measures, words, dimension=Dimension.FRACTION, kind="shares"
    )
    bottom = _panel(
        body, flows, bottom + 8.0, ink, measures, words, dimension=Dimension.FLOW, kind="flows"
    )
    return svg.picture(body, width=_WIDTH, height=bottom)


def _panel(
    body: list[str],
    rows: Sequence[Bar],
    top: float,
    ink: str,
    measures: Measures,
    words: Words,
    *,
    dimension: Dimension,
    kind: str,
) -> float:
    """Draw one panel and say where it ends."""
    symbol = measures.symbol(dimension)
    measure = unit_of_measure(symbol, dimension=dimension)
    most = max(max(r.high, r.value_high, r.read or 0.0) for r in rows)
    whole = from_si(
        1.0 if dimension is Dimension.FRACTION else 1.05 * most, unit_of_measure=measure
    )
    width = _WIDTH - _LABEL - _RIGHT

    def at(value: float) -> float:
        shown = from_si(value, unit_of_measure=measure)
        return _LABEL + width * min(max(shown / whole, 0.0), 1.0)

    body.append(svg.text(words.say(f"learnt.picture-{kind}"), (0.0, top + 11.0), weight="bold"))
    _legend(body, kind, top + 25.0, ink, words)
    labels = [svg.wrapped(row.label, _LABEL_CHARACTERS) for row in rows]
    heights = [max(_ROW, 11.0 * len(lines) + 4.0) for lines in labels]
    start, end = top + _TOP, top + _TOP + sum(heights)
    ticks = svg.ticks(0.0, whole)
    for value in ticks:
        x = _LABEL + width * value / whole
        body.append(svg.line((x, start), (x, end), stroke=svg.GRID, width=0.6))
        shown = measures.marked(svg.tick_text(value, ticks[1] - ticks[0]))
        body.append(svg.text(shown, (x, end + 11.0), size=8.0, anchor="middle", fill=svg.QUIET))
    body.append(
        svg.text(symbol, (_WIDTH - _RIGHT, end + 22.0), size=8.0, anchor="end", fill=svg.QUIET)
    )
    y = start
    for row, lines, tall in zip(rows, labels, heights, strict=True):
        middle = y + 0.5 * tall
        body.append(svg.label(lines, (0.0, middle)))
        places = (at(row.low), at(row.high), at(row.tick))
        known = (at(row.value_low), at(row.value), at(row.value_high))
        _row(body, places, known, middle, ink)
        if row.read is not None:
            body.append(_diamond(at(row.read), middle, ink, is_doubted=row.is_doubted))
        y += tall
    return end + _AXIS


def _row(
    body: list[str],
    places: tuple[float, float, float],
    known: tuple[float, float, float],
    y: float,
    ink: str,
) -> None:
    left, right, tick = places
    body.append(
        svg.tag(
            "rect",
            x=left,
            y=y - 6.5,
            width=max(right - left, 0.5),
            height=13.0,
            fill=svg.BAND,
            stroke=svg.QUIET,
            stroke_width=0.4,
        )
    )
    body.append(svg.line((tick, y - 6.5), (tick, y + 6.5), width=1.2))
    low, value, high = known
    body.append(svg.line((low, y), (high, y), stroke=ink, width=1.6))
    body += [svg.line((x, y - 3.0), (x, y + 3.0), stroke=ink, width=1.2) for x in (low, high)]
    body.append(svg.tag("circle", cx=value, cy=y, r=2.8, fill=ink))


def _diamond(x: float, y: float, ink: str, *, is_doubted: bool) -> str:
    points = ((x, y - 4.2), (x + 4.2, y), (x, y + 4.2), (x - 4.2, y))
    drawn = svg.path(points, stroke=ink, width=1.2, close=True)
    if is_doubted:
        drawn += svg.line((x - 7.0, y - 7.0), (x + 7.0, y + 7.0), width=1.4)
        drawn += svg.line((x - 7.0, y + 7.0), (x + 7.0, y - 7.0), width=1.4)
    return drawn


def _legend(body: list[str], kind: str, y: float, ink: str, words: Words) -> None:
    x = _LABEL
    middle = y - 3.0
    _row(body, (x, x + 22.0, x + 11.0), (x + 30.0, x + 36.0, x + 42.0), middle, ink)
    body.append(svg.text(words.say(f"learnt.legend-{kind}"), (x + 50.0, y), size=8.5))
    if kind == "flows":
        body.append(_diamond(x + 215.0, middle, ink, is_doubted=False))
        body.append(svg.text(words.say("learnt.legend-read"), (x + 223.0, y), size=8.5))
        body.append(_diamond(x + 268.0, middle, ink, is_doubted=True))
        body.append(svg.text(words.say("learnt.legend-doubted"), (x + 280.0, y), size=8.5))
