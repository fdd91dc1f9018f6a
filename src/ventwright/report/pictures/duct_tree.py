"""The ducts of one side as a tree: ribbons as wide as their flow, from the unit to the rooms."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from ventwright.quantities import Side
from ventwright.report.pictures import svg

_LEAST_WIDTH, _LEVEL, _LEFT, _RIGHT, _TOP, _BOTTOM = 640.0, 132.0, 8.0, 226.0, 34.0, 14.0
_ROW, _MOST_TRUNK, _LEAST_RIBBON = 24.0, 54.0, 1.6
_BOX = 62.0
_GROUP_GAP = 10.0
"""Above and below what hangs on one branch, for the branch's own label."""
_PALE = {Side.SUPPLY: "#a9c6dc", Side.EXTRACT: "#e0b9a8"}
_INK = {Side.SUPPLY: svg.SUPPLY, Side.EXTRACT: svg.EXTRACT}
_BOLD = {Side.SUPPLY: "#3f7dab", Side.EXTRACT: "#b0603f"}
"""Ribbon of the index run; it is named in words as well."""


@dataclass(frozen=True, slots=True, kw_only=True)
class TreeNode:
    """One run of the tree.

    Parameters
    ----------
    name
        Unique in the tree.
    parent
        Name of the run it leaves, None at the unit.
    flow_m3_s
        Its flow; decides the width [m³/s].
    label
        What it is.
    figures
        What is said of it in numbers, already worded.
    is_index
        Whether it lies on the index run.
    """

    name: str
    parent: str | None
    flow_m3_s: float
    label: str
    figures: str = ""
    is_index: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class _Ribbon:
    """Where a node's ribbon begins and ends."""

    node: TreeNode
    start: svg.Point
    end: svg.Point
    width: float
    is_leaf: bool


def duct_tree(
    nodes: Sequence[TreeNode], *, side: Side, title: str, unit_words: tuple[str, str]
) -> str:
    """Draw one side of a system.

    Air flows to the right on the supply side and to the left on the extract side; arrow heads say
    so. Ribbons stand above one another where a run divides, so that their widths add up.

    Parameters
    ----------
    nodes
        Runs, parents before their children; at least one without a parent.
    side
        Which side.
    title
        Words over the picture.
    unit_words
        Two short lines in the box of the ventilation unit.

    Returns
    -------
    str
        SVG.
    """
    layout = _Layout(nodes)
    body = [svg.text(svg.shortened(title, 100), (_LEFT, 16.0), size=10.5, weight="bold")]
    ribbons = layout.ribbons()
    # The index run lies on top.
    for ribbon in sorted(ribbons, key=lambda r: r.node.is_index):
        body.append(_band(ribbon, side))
    body += _box(layout, side, unit_words)
    for ribbon in ribbons:
        body.append(_head(ribbon, side))
        body += _labels(ribbon)
    return svg.picture(body, width=layout.whole_width, height=layout.height)


class _Layout:
    """Rows for the leaves, columns by depth, ribbons stacked where they leave."""

    def __init__(self, nodes: Sequence[TreeNode]) -> None:
        self.nodes = nodes
        self.children: dict[str | None, list[TreeNode]] = {}
        for node in nodes:
            self.children.setdefault(node.parent, []).append(node)
        self.total = sum(abs(n.flow_m3_s) for n in self.children.get(None, ()))
        self.depth: dict[str, int] = {}
        for node in nodes:
            self.depth[node.name] = 0 if node.parent is None else self.depth[node.parent] + 1
        self.levels = 1 + max(self.depth.values())
        self.whole_width = max(_LEAST_WIDTH, _LEFT + _BOX + _LEVEL * self.levels + _RIGHT)
        self.y: dict[str, float] = {}
        self.bottom = _TOP
        for root in self.children[None]:
            self._place(root)
        self.height = max(self.bottom, self.box_y + self.box_height / 2.0) + _BOTTOM

    @property
    def box_height(self) -> float:
        return max(_MOST_TRUNK + 10.0, 64.0)

    @property
    def box_y(self) -> float:
        """Middle of the unit's box: that of what leaves it, but never above the picture."""
        roots = [self.y[n.name] for n in self.children[None]]
        middle = (roots[0] + roots[-1]) / 2.0
        return max(middle, _TOP + self.box_height / 2.0)

    def width(self, node: TreeNode) -> float:
        if self.total <= 0.0:
            return _LEAST_RIBBON
        return max(_MOST_TRUNK * abs(node.flow_m3_s) / self.total, _LEAST_RIBBON)

    def _place(self, node: TreeNode) -> float:
        below = self.children.get(node.name, [])
        if below:
            self.bottom += _GROUP_GAP
            rows = [self._place(child) for child in below]
            self.bottom += _GROUP_GAP
            self.y[node.name] = (rows[0] + rows[-1]) / 2.0
        else:
            room = max(_ROW, self.width(node) + 6.0)
            self.y[node.name] = self.bottom + room / 2.0
            self.bottom += room
        return self.y[node.name]

    def x(self, level: int) -> float:
        """Right end of a level; level −1 is the unit's box."""
        first = _LEFT + _BOX
        step = (self.whole_width - _RIGHT - first) / self.levels
        return first + step * (level + 1)

    def ribbons(self) -> list[_Ribbon]:
        found = []
        for parent, below in self.children.items():
            at = self.box_y if parent is None else self.y[parent]
            x0 = self.x(-1 if parent is None else self.depth[parent])
            whole = sum(self.width(n) for n in below)
            top = at - whole / 2.0
            for node in below:
                width = self.width(node)
                is_leaf = node.name not in self.children
                x1 = self.x(self.levels - 1 if is_leaf else self.depth[node.name])
                found.append(
                    _Ribbon(
                        node=node,
                        start=(x0, top + width / 2.0),
                        end=(x1, self.y[node.name]),
                        width=width,
                        is_leaf=is_leaf,
                    )
                )
                top += width
        return found


def _band(ribbon: _Ribbon, side: Side) -> str:
    (x0, y0), (x1, y1) = ribbon.start, ribbon.end
    # All curves end before the column does, so that labels stand over level ribbons.
    bend = min(54.0, 0.5 * (x1 - x0))
    n = svg.number
    half = n(x0 + bend / 2.0)
    steps = f"M{n(x0)} {n(y0)} C{half} {n(y0)} {half} {n(y1)} {n(x0 + bend)} {n(y1)} H{n(x1)}"
    ink = _BOLD[side] if ribbon.node.is_index else _PALE[side]
    return svg.tag("path", d=steps, fill="none", stroke=ink, stroke_width=ribbon.width)


def _box(layout: _Layout, side: Side, unit_words: tuple[str, str]) -> list[str]:
    y = layout.box_y
    high = layout.box_height
    middle = _LEFT + _BOX / 2.0
    return [
        svg.tag(
            "rect",
            x=_LEFT,
            y=y - high / 2.0,
            width=_BOX,
            height=high,
            fill="#ffffff",
            stroke=_INK[side],
            stroke_width=1.4,
        ),
        svg.text(unit_words[0], (middle, y - 3.0), size=8.5, anchor="middle", weight="bold"),
        svg.text(unit_words[1], (middle, y + 10.0), size=8.0, anchor="middle"),
    ]


def _head(ribbon: _Ribbon, side: Side) -> str:
    """An arrow head at the rooms' end (supply) or just before the unit's end (extract)."""
    x, y = ribbon.end
    size = max(3.2, min(5.5, ribbon.width / 2.0))
    if not ribbon.is_leaf:
        return ""
    back = -size if side is Side.SUPPLY else size
    tip = x + (4.0 if side is Side.SUPPLY else -2.0)
    points = [(tip + back, y - size), (tip, y), (tip + back, y + size)]
    return svg.path(points, close=True, fill=_INK[side], stroke=_INK[side], width=0.5)


def _labels(ribbon: _Ribbon) -> list[str]:
    node = ribbon.node
    x, y = ribbon.end
    weight = "bold" if node.is_index else "normal"
    if ribbon.is_leaf:
        return [
            svg.text(svg.shortened(node.label, 40), (x + 9.0, y - 1.0), size=8.5, weight=weight),
            svg.text(node.figures, (x + 9.0, y + 8.5), size=7.6, fill=svg.QUIET),
        ]
    room = x - ribbon.start[0]
    most = max(4, int((room - 16.0) / 4.3))
    above = y - ribbon.width / 2.0
    found = [
        svg.text(
            svg.shortened(node.label, most),
            (x - 4.0, above - 3.0),
            size=8.0,
            anchor="end",
            weight=weight,
        )
    ]
    if node.figures:
        found.append(
            svg.text(
                svg.shortened(node.figures, most + 4),
                (x - 4.0, y + ribbon.width / 2.0 + 9.0),
                size=7.4,
                anchor="end",
                fill=svg.QUIET,
            )
        )
    return found
