"""The ducts of a side with their terminals: target band, flow with its interval, verdict in words.

Drawn for a hand's width. Colours are fallbacks: the page sets its own by class, light and dark.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from xml.sax.saxutils import escape

from ventwright.quantities import Side
from ventwright.report.model import Mark
from ventwright.report.pictures import svg

_WIDTH, _TOP, _ROW, _INDENT, _FOOT = 344.0, 44.0, 56.0, 14.0, 8.0
_BAR, _BAR_RIGHT = 62.0, 336.0
_SPAN = 0.5
"""The bar reaches from half of the target to one and a half."""
_SIZE = 14.0
_LABEL_CHARACTERS = 40


@dataclass(frozen=True, slots=True, kw_only=True)
class TreeRow:
    """A branch, or a terminal with what is known of it.

    Flows are shares of the target; `text` and `verdict` are worded. `depth_count` says how many
    branches lie between it and the unit.
    """

    station: str
    label: str
    depth_count: int
    is_terminal: bool
    text: str = ""
    verdict: str = ""
    mark: Mark | None = None
    low_ratio: float | None = None
    high_ratio: float | None = None
    flow_low_ratio: float | None = None
    flow_ratio: float | None = None
    flow_high_ratio: float | None = None
    has_target: bool = False


def field_tree(rows: Sequence[TreeRow], *, side: Side, title: str, legend: str, alt: str) -> str:
    """Draw one side.

    Parameters
    ----------
    rows
        Branches and terminals, each after the branch it hangs on.
    side
        Decides the ink.
    title, legend
        Words over the picture.
    alt
        Words for those who can't see it.

    Returns
    -------
    str
        SVG.

    >>> picture = field_tree([TreeRow(station="terminal:t1", label="t1 Bath", depth_count=0,
    ...     is_terminal=True)], side=Side.EXTRACT, title="Extract", legend="band", alt="t1")
    >>> picture[:4], "t1 Bath" in picture
    ('<svg', True)
    """
    ink = "sup" if side is Side.SUPPLY else "eta"
    tops, y = [], _TOP
    for row in rows:
        tops.append(y)
        y += _ROW if row.is_terminal else 0.5 * _ROW
    body = [
        _text(title, (0.0, 16.0), weight="bold"),
        _text(legend, (0.0, 33.0), kind="quiet", size=12.0),
        *_ducts(rows, tops, ink),
    ]
    for row, top in zip(rows, tops, strict=True):
        body += _terminal(row, top, ink) if row.is_terminal else _branch(row, top)
    return svg.tag(
        "svg",
        svg.tag("title", escape(alt)) + "".join(body),
        xmlns="http://www.w3.org/2000/svg",
        viewBox=f"0 0 {svg.number(_WIDTH)} {svg.number(y + _FOOT)}",
        role="img",
        **{"class": "tree"},
    )


def _x(row: TreeRow) -> float:
    return 6.0 + _INDENT * row.depth_count


def _ducts(rows: Sequence[TreeRow], tops: Sequence[float], ink: str) -> list[str]:
    """A line down from each run to the last thing that hangs on it, and a stub to each."""
    body = []
    for i, (row, top) in enumerate(zip(rows, tops, strict=True)):
        x = _x(row)
        body.append(_line((x, top + 10.0), (x + 8.0, top + 10.0), ink, width=3.0))
        start = _TOP - 4.0
        for before, height in zip(reversed(rows[:i]), reversed(tops[:i]), strict=True):
            if before.depth_count < row.depth_count:
                start = height + 10.0
                break
        body.append(_line((x, start), (x, top + 10.0), ink, width=3.0))
    return body


def _branch(row: TreeRow, top: float) -> list[str]:
    return [_text(row.label, (_x(row) + 13.0, top + 15.0), kind="quiet")]


def _terminal(row: TreeRow, top: float, ink: str) -> list[str]:
    label = svg.shortened(row.label, _LABEL_CHARACTERS - 2 * row.depth_count)
    word = _KIND_OF_MARK[row.mark] if row.mark else "quiet"
    left = max(_BAR, _x(row) + 13.0)
    body = [
        _text(label, (_x(row) + 13.0, top + 15.0)),
        _text(row.verdict, (_BAR_RIGHT, top + 32.0), kind=word, size=13.0, anchor="end"),
        _text(row.text, (left, top + 32.0), weight="bold"),
        _rect(left, top + 37.0, _BAR_RIGHT - left, 8.0, "track"),
    ]
    if row.has_target:
        body += _bar(row, top, left, ink)
    return [svg.tag("g", "".join(body), data_station=row.station)]


def _bar(row: TreeRow, top: float, left: float, ink: str) -> list[str]:
    def at(ratio: float) -> float:
        share = min(max((ratio - 1.0 + _SPAN) / (2.0 * _SPAN), 0.0), 1.0)
        return left + share * (_BAR_RIGHT - left)

    body = []
    if row.low_ratio is not None or row.high_ratio is not None:
        low = at(row.low_ratio if row.low_ratio is not None else 0.0)
        high = at(row.high_ratio if row.high_ratio is not None else 2.0)
        body.append(_rect(low, top + 37.0, high - low, 8.0, "band"))
    body.append(_line((at(1.0), top + 35.0), (at(1.0), top + 47.0), "mark", width=2.0))
    if row.flow_ratio is None or row.flow_low_ratio is None or row.flow_high_ratio is None:
        return body
    low, high = at(row.flow_low_ratio), at(row.flow_high_ratio)
    middle = top + 41.0
    body.append(_line((low, middle), (high, middle), ink, width=3.0))
    body.append(
        svg.tag(
            "circle",
            cx=at(row.flow_ratio),
            cy=middle,
            r=5.0,
            fill=_FALLBACK[ink],
            **{"class": f"f-{ink}"},
        )
    )
    return body


_KIND_OF_MARK = {
    Mark.MET: "met",
    Mark.NOT_MET: "miss",
    Mark.NOT_SHOWN: "open",
    Mark.CAUTION: "open",
    Mark.NOTE: "quiet",
}
_FALLBACK = {
    "ink": svg.INK,
    "quiet": svg.QUIET,
    "sup": svg.SUPPLY,
    "eta": svg.EXTRACT,
    "mark": svg.INK,
    "band": svg.BAND,
    "track": "#f1f4f6",
    "met": svg.INK,
    "miss": svg.INK,
    "open": svg.INK,
}


def _text(
    content: str,
    at: svg.Point,
    *,
    kind: str = "ink",
    size: float = _SIZE,
    anchor: str = "start",
    weight: str = "normal",
) -> str:
    return svg.tag(
        "text",
        escape(content),
        x=at[0],
        y=at[1],
        font_size=size,
        text_anchor=anchor,
        font_weight=weight,
        fill=_FALLBACK[kind],
        **{"class": f"f-{kind}"},
    )


def _rect(x: float, y: float, width: float, height: float, kind: str) -> str:
    return svg.tag(
        "rect",
        x=x,
        y=y,
        width=max(width, 0.0),
        height=height,
        fill=_FALLBACK[kind],
        **{"class": f"f-{kind}"},
    )


def _line(start: svg.Point, end: svg.Point, kind: str, *, width: float) -> str:
    return svg.tag(
        "line",
        x1=start[0],
        y1=start[1],
        x2=end[0],
        y2=end[1],
        stroke=_FALLBACK[kind],
        stroke_width=width,
        **{"class": f"s-{kind}"},
    )
