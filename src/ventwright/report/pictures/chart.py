"""The frame of a psychrometric chart: its scales, grid, and curves of equal relative humidity."""

from __future__ import annotations

from collections.abc import Sequence

from ventwright.air import AirStateError, moist_air_from
from ventwright.quantities import Dimension, HumidityOver, from_si, unit_of_measure
from ventwright.report.measures import Measures
from ventwright.report.pictures import svg
from ventwright.report.wording import Words

WIDTH, LEFT, RIGHT, BOTTOM = 520.0, 14.0, 50.0, 34.0
_STEPS = 80
_LEAST_C, _MOST_C = -40.0, 60.0
_CURVE = "#8a97a3"


class Frame:
    """From a state to its place.

    Parameters
    ----------
    low_c, high_c
        Temperatures at the edges [°C].
    high_kg_kg
        Humidity ratio at the top [kg/kg]; 0 at the bottom.
    measures
        Units of measure of both axes.
    height, top
        Of the whole picture, and where the chart in it begins.
    """

    def __init__(
        self,
        *,
        low_c: float,
        high_c: float,
        high_kg_kg: float,
        measures: Measures,
        height: float,
        top: float,
    ) -> None:
        self.low_c, self.high_c, self.high_kg_kg = low_c, high_c, high_kg_kg
        self.measures = measures
        self.height, self.top, self.bottom = height, top, height - BOTTOM

    def at(self, temperature_c: float, humidity_ratio_kg_kg: float) -> svg.Point:
        """Place of a state."""
        x = (temperature_c - self.low_c) / (self.high_c - self.low_c)
        y = humidity_ratio_kg_kg / self.high_kg_kg
        return LEFT + x * (WIDTH - LEFT - RIGHT), self.bottom - y * (self.bottom - self.top)

    def shown(self, value_si: float, dimension: Dimension) -> float:
        """A value in the reader's unit of measure."""
        symbol = self.measures.symbol(dimension)
        return from_si(value_si, unit_of_measure=unit_of_measure(symbol, dimension=dimension))


def grid(frame: Frame, words: Words) -> list[str]:
    """Lines and numbers of both axes, with their names.

    Parameters
    ----------
    frame
        Its scales.
    words
        For the names.
    """
    body = []
    right, bottom = WIDTH - RIGHT, frame.bottom
    low, high = (frame.shown(t, Dimension.TEMPERATURE) for t in (frame.low_c, frame.high_c))
    marks = svg.ticks(low, high, about=8)
    for value in marks:
        share = (value - low) / (high - low)
        x, _ = frame.at(frame.low_c + (frame.high_c - frame.low_c) * share, 0.0)
        body.append(svg.line((x, frame.top), (x, bottom), stroke=svg.GRID, width=0.5))
        label = frame.measures.marked(svg.tick_text(value, marks[1] - marks[0]))
        body.append(svg.text(label, (x, bottom + 12.0), size=8.5, anchor="middle", fill=svg.QUIET))
    most = frame.shown(frame.high_kg_kg, Dimension.HUMIDITY_RATIO)
    marks = svg.ticks(0.0, most)
    for value in marks:
        _, y = frame.at(frame.low_c, frame.high_kg_kg * value / most)
        body.append(svg.line((LEFT, y), (right, y), stroke=svg.GRID, width=0.5))
        label = frame.measures.marked(svg.tick_text(value, marks[1] - marks[0]))
        body.append(svg.text(label, (right + 5.0, y + 3.0), size=8.5, fill=svg.QUIET))
    across = f"{words.say('picture.temperature')}, {frame.measures.symbol(Dimension.TEMPERATURE)}"
    up = frame.measures.symbol(Dimension.HUMIDITY_RATIO)
    body.append(svg.text(across, (right, bottom + 26.0), anchor="end"))
    named = words.say("picture.humidity-ratio")
    body.append(svg.text(named, (LEFT, bottom + 26.0), size=8.5, fill=svg.QUIET))
    body.append(svg.text(up, (right + 5.0, frame.top - 4.0), size=8.5))
    return body


def curves(
    frame: Frame,
    *,
    pressure_pa: float,
    humidities_frac: Sequence[float],
    labelled_frac: Sequence[float],
) -> list[str]:
    """Curves of equal relative humidity, over ice below freezing; saturation is the bold one.

    Parameters
    ----------
    frame
        Its scales.
    pressure_pa
        Barometric pressure [Pa].
    humidities_frac
        Relative humidity of each curve [-].
    labelled_frac
        Those that carry their number.

    Source: hyland_wexler_1983
    """
    body, labels = [], []
    for humidity in humidities_frac:
        curve = _curve(frame, pressure_pa, humidity)
        if len(curve) < 2:
            continue
        is_saturated = humidity == 1.0
        ink, width = (svg.INK, 1.3) if is_saturated else (_CURVE, 0.6)
        body.append(svg.path(curve, stroke=ink, width=width))
        if humidity in labelled_frac:
            labels.append(_label(curve[-1], humidity, frame.top))
    return body + labels


def _curve(frame: Frame, pressure_pa: float, humidity_frac: float) -> list[svg.Point]:
    low, high = max(frame.low_c, _LEAST_C), min(frame.high_c, _MOST_C)
    points: list[svg.Point] = []
    for i in range(_STEPS + 1):
        temperature_c = low + (high - low) * i / _STEPS
        ratio = _ratio_at(temperature_c, humidity_frac, pressure_pa)
        if ratio is None:
            break
        place = frame.at(temperature_c, ratio)
        if ratio > frame.high_kg_kg:
            if points:
                points.append(_at_top(points[-1], place, frame.top))
            break
        points.append(place)
    return points


def _at_top(inside: svg.Point, outside: svg.Point, top: float) -> svg.Point:
    """Where a curve meets the upper edge."""
    share = (inside[1] - top) / (inside[1] - outside[1])
    return inside[0] + share * (outside[0] - inside[0]), top


def _label(end: svg.Point, humidity_frac: float, top: float) -> str:
    """The number stands where the curve leaves the chart, or inside the right edge."""
    x, y = end
    at = (x - 3.0, y + 10.0) if y < top + 14.0 else (x - 4.0, y - 3.0)
    words = f"{100.0 * humidity_frac:.0f} %"
    width = 4.2 * len(words)
    rim = svg.tag(
        "rect", x=at[0] - width, y=at[1] - 7.5, width=width + 1.0, height=9.5, fill="#ffffff"
    )
    return rim + svg.text(words, at, size=8.0, anchor="end", fill=svg.QUIET)


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
