"""A small writer of SVG: elements with numbers rounded alike and every text escaped."""

from __future__ import annotations

import math
from collections.abc import Sequence
from xml.sax.saxutils import escape, quoteattr

FONT = "Libertinus Serif"
"""Typeface of all text in pictures; the PDF's engine carries it, pages fall back to a serif."""
INK = "#1c2733"
QUIET = "#424c56"
"""Text that steps back: 8.7:1 on white."""
GRID = "#c9d0d6"
BAND = "#dfe6ec"
SUPPLY = "#092c50"
EXTRACT = "#8c3410"
"""Two inks that differ in grey, too (1.8:1), and never stand without letters or shape."""

Point = tuple[float, float]


def tag(name: str, content: str = "", **attributes: str | float) -> str:
    """One element; underscores in attribute names become hyphens.

    Parameters
    ----------
    name
        Element.
    content
        Inner elements, or text that `text` has escaped.
    **attributes
        Numbers are rounded to hundredths.

    >>> tag("line", x1=0.123456, stroke_width=2.0)
    '<line x1="0.12" stroke-width="2"/>'
    """
    parts = [name]
    for key, value in attributes.items():
        shown = value if isinstance(value, str) else number(value)
        parts.append(f"{key.replace('_', '-')}={quoteattr(shown)}")
    head = " ".join(parts)
    return f"<{head}>{content}</{name}>" if content else f"<{head}/>"


def number(value: float) -> str:
    """A coordinate in hundredths, without idle zeros.

    Parameters
    ----------
    value
        Finite.

    >>> number(1.0), number(-0.001), number(12.345)
    ('1', '0', '12.35')
    """
    if not math.isfinite(value):
        raise ValueError(f"a coordinate must be finite, not {value}")
    text = f"{value + 1e-9:.2f}".rstrip("0").rstrip(".")
    return "0" if text in ("-0", "") else text


def text(
    content: str,
    at: Point,
    *,
    size: float = 9.0,
    anchor: str = "start",
    fill: str = INK,
    weight: str = "normal",
) -> str:
    """A line of text on its baseline.

    Parameters
    ----------
    content
        Any text; it is escaped.
    at
        Where its anchor stands.
    size
        Height of type.
    anchor
        ``start``, ``middle`` or ``end``.
    fill
        Colour.
    weight
        ``normal`` or ``bold``.
    """
    return tag(
        "text",
        escape(content),
        x=at[0],
        y=at[1],
        font_family=f"{FONT}, serif",
        font_size=size,
        text_anchor=anchor,
        fill=fill,
        font_weight=weight,
    )


def line(start: Point, end: Point, *, stroke: str = INK, width: float = 1.0, dash: str = "") -> str:
    """A straight line.

    Parameters
    ----------
    start, end
        Its ends.
    stroke, width, dash
        Colour, width, pattern of dashes.
    """
    extra = {"stroke_dasharray": dash} if dash else {}
    return tag(
        "line",
        x1=start[0],
        y1=start[1],
        x2=end[0],
        y2=end[1],
        stroke=stroke,
        stroke_width=width,
        **extra,
    )


def path(
    points: Sequence[Point],
    *,
    stroke: str = INK,
    width: float = 1.0,
    close: bool = False,
    fill: str = "none",
    opacity: float = 1.0,
) -> str:
    """A line through points.

    Parameters
    ----------
    points
        In order.
    stroke, width
        Colour and width.
    close
        Whether the last point joins the first.
    fill, opacity
        Colour of the inside and how much of it shows.
    """
    steps = " ".join(
        f"{'M' if i == 0 else 'L'}{number(x)} {number(y)}" for i, (x, y) in enumerate(points)
    )
    return tag(
        "path",
        d=steps + (" Z" if close else ""),
        fill=fill,
        fill_opacity=opacity,
        stroke=stroke,
        stroke_width=width,
        stroke_linejoin="round",
    )


def picture(body: Sequence[str], *, width: float, height: float) -> str:
    """A whole picture.

    Parameters
    ----------
    body
        Elements, back to front.
    width, height
        Its size; it scales without loss.
    """
    return tag(
        "svg",
        "".join(body),
        xmlns="http://www.w3.org/2000/svg",
        viewBox=f"0 0 {number(width)} {number(height)}",
        width=width,
        height=height,
        role="img",
    )


def wrapped(content: str, most: int) -> list[str]:
    """A label in lines that fit; words too long for a line are broken, nothing is cut.

    Parameters
    ----------
    content
        Any text.
    most
        Characters that fit in a line.

    >>> wrapped("Main bedroom, over the door", 14)
    ['Main bedroom,', 'over the door']
    >>> wrapped("abcdefgh", 5)
    ['abcde', 'fgh']
    """
    lines = [""]
    for word in content.split():
        rest = word
        if lines[-1] and len(lines[-1]) + 1 + len(rest) <= most:
            lines[-1] += f" {rest}"
            continue
        if lines[-1]:
            lines.append("")
        while len(rest) > most:
            lines[-1], rest = rest[:most], rest[most:]
            lines.append("")
        lines[-1] = rest
    return lines


def shortened(content: str, most: int) -> str:
    """A label cut to its place, only where the whole of it stands beside the picture.

    Parameters
    ----------
    content
        Any text.
    most
        Characters that fit.

    >>> shortened("Main bedroom, over the door", 12)
    'Main bedroo…'
    """
    return content if len(content) <= most else content[: most - 1].rstrip() + "…"


def label(lines: Sequence[str], at: Point, *, size: float = 9.0) -> str:
    """Lines of a label, together centred on a height.

    Parameters
    ----------
    lines
        Top to bottom.
    at
        Left end and middle height.
    size
        Height of type.
    """
    x, middle = at
    first = middle + 0.33 * size - 0.55 * size * (len(lines) - 1)
    return "".join(text(t, (x, first + 1.1 * size * i), size=size) for i, t in enumerate(lines))


def ticks(low: float, high: float, *, about: int = 6) -> list[float]:
    """Round values that divide a range, both ends inside it.

    Parameters
    ----------
    low, high
        The range, low < high.
    about
        How many are wanted.

    >>> ticks(0.0, 47.0)
    [0.0, 10.0, 20.0, 30.0, 40.0]
    """
    rough = (high - low) / about
    power = 10.0 ** math.floor(math.log10(rough))
    step = next(s * power for s in (1.0, 2.0, 2.5, 5.0, 10.0) if s * power >= rough * 0.999)
    first = math.ceil(low / step - 1e-9)
    last = math.floor(high / step + 1e-9)
    return [i * step for i in range(first, last + 1)]


def tick_text(value: float, step: float) -> str:
    """A tick's number with as many decimals as its step needs, and a true minus.

    Parameters
    ----------
    value
        Where the tick stands.
    step
        Distance of ticks.

    >>> tick_text(-2.5, 2.5), tick_text(20.0, 10.0)
    ('−2.5', '20')
    """
    decimals = max(0, -math.floor(math.log10(step) + 1e-9))
    if decimals == 0 and abs(step - round(step)) > 1e-9:
        decimals = 1
    return f"{value + 0.0:.{decimals}f}".replace("-", "−")
