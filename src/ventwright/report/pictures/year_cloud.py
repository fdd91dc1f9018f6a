"""A year as a cloud on the psychrometric chart: where outdoor and indoor air spend their hours."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from ventwright.report.measures import Measures
from ventwright.report.pictures import svg
from ventwright.report.pictures.chart import LEFT, WIDTH, Frame, curves, grid
from ventwright.report.wording import Words

_HEIGHT, _TOP = 300.0, 26.0
_HUMIDITIES_FRAC = (0.2, 0.4, 0.6, 0.8, 1.0)
_CELL_K, _CELL_KG_KG = 1.0, 0.5e-3


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
    frame = _frame([*outdoor, *indoor], measures)
    body = _shades(outdoor, frame)
    body += grid(frame, words)
    body += curves(
        frame,
        pressure_pa=pressure_pa,
        humidities_frac=_HUMIDITIES_FRAC,
        labelled_frac=_HUMIDITIES_FRAC,
    )
    body += _circles(indoor, frame)
    body += _legend(words)
    return svg.picture(body, width=WIDTH, height=_HEIGHT)


def _frame(cells: Sequence[CloudHours], measures: Measures) -> Frame:
    return Frame(
        low_c=min(c.low_c for c in cells) - 1.0,
        high_c=max(c.low_c for c in cells) + 2.0 * _CELL_K,
        high_kg_kg=max(c.low_kg_kg for c in cells) + 2.0 * _CELL_KG_KG,
        measures=measures,
        height=_HEIGHT,
        top=_TOP,
    )


def _shades(cells: Sequence[CloudHours], frame: Frame) -> list[str]:
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


def _circles(cells: Sequence[CloudHours], frame: Frame) -> list[str]:
    if not cells:
        return []
    most = max(c.hours for c in cells)
    body = []
    for cell in cells:
        x, y = frame.at(cell.low_c + 0.5 * _CELL_K, cell.low_kg_kg + 0.5 * _CELL_KG_KG)
        radius = max(0.8, 5.0 * math.sqrt(cell.hours / most))
        body.append(svg.tag("circle", cx=x, cy=y, r=radius, fill="none", stroke=svg.EXTRACT))
    return body


def _legend(words: Words) -> list[str]:
    y = 13.0
    return [
        svg.tag(
            "rect", x=LEFT, y=y - 7.0, width=14.0, height=8.0, fill=svg.SUPPLY, fill_opacity=0.6
        ),
        svg.text(words.say("year-picture.outdoor-hours"), (LEFT + 19.0, y), size=9.0),
        svg.tag("circle", cx=LEFT + 196.0, cy=y - 3.0, r=4.0, fill="none", stroke=svg.EXTRACT),
        svg.text(words.say("year-picture.indoor-hours"), (LEFT + 206.0, y), size=9.0),
    ]
