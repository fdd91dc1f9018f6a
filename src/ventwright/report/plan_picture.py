"""Pictures of a plan: each side as a tree of ribbons, with words for those who can't see it."""

from __future__ import annotations

from collections.abc import Iterator
from xml.sax.saxutils import escape

from ventwright.findings import SidePlan, SystemPlan
from ventwright.house import Branch, System, Terminal
from ventwright.report.model import Picture, ReportModel
from ventwright.report.pictures import svg
from ventwright.report.pictures.duct_tree import TreeNode, duct_tree
from ventwright.report.plan_pen import PlanPen

_TREE = "plan-tree-"


def tree_pictures(pen: PlanPen) -> Iterator[Picture]:
    """One tree for each side whose design flows are known.

    Parameters
    ----------
    pen
        What is written about.
    """
    systems = {s.id: s for s in pen.snapshot.house.systems}
    for found in pen.found.systems:
        for side in found.sides:
            if side.index_terminal is not None:
                yield _picture(pen, found, systems[found.system_id], side)


def plan_drawing(model: ReportModel) -> str | None:
    """All trees of a plan under one another in one SVG; None where there are none.

    Parameters
    ----------
    model
        A composed plan.

    >>> from ventwright.report.model import ReportModel
    >>> plan_drawing(ReportModel(title="", subtitle="", facts=(), sections=(), cautions=(),
    ...                          snapshot_sha256="", engine="", dated="")) is None
    True
    """
    drawn = [p for section in model.sections for p in section.pictures]
    pictures = [p for p in drawn if p.id.startswith(_TREE)]
    if not pictures:
        return None
    body, y, width = [], 0.0, 0.0
    for one in pictures:
        body.append(
            svg.tag(
                "g",
                svg.tag("title", escape(one.alt)) + one.svg,
                **{"transform": f"translate(0 {svg.number(y)})"},
            )
        )
        y += _size(one.svg, "height")
        width = max(width, _size(one.svg, "width"))
    return svg.picture(body, width=width, height=y)


def _size(drawing: str, which: str) -> float:
    """Width or height as the outermost element states it."""
    return float(drawing.partition(f' {which}="')[2].partition('"')[0])


def _picture(pen: PlanPen, found: SystemPlan, system: System, side: SidePlan) -> Picture:
    nodes = tuple(_Tree(pen, system, side).nodes())
    word = pen.side(side.side)
    title = pen.say(
        "plan-picture.title",
        system=pen.of_system(found),
        side=word,
        setting=pen.setting(side.setting),
    )
    rows = " ".join(
        pen.say(
            "plan-picture.row",
            name=node.label,
            flow=node.figures,
            index=pen.say("plan-picture.row-index") if node.is_index else "",
        )
        for node in nodes
    )
    total = pen.flow(side.design_m3_s)
    return Picture(
        id=f"{_TREE}{found.system_id}-{side.side.value}",
        svg=duct_tree(
            nodes,
            side=side.side,
            title=title,
            unit_words=(pen.say("plan-picture.unit"), total),
        ),
        alt=pen.say("plan-picture.alt", side=pen.say(f"side.{side.side.value}"), rows=rows),
        caption=pen.say("plan-picture.caption", side=word),
        follows=f"plan-terminals-{found.system_id}-{side.side.value}",
    )


class _Tree:
    """Runs of one side from the record, with the plan's figures."""

    def __init__(self, pen: PlanPen, system: System, side: SidePlan) -> None:
        self.pen, self.side = pen, side
        self.branches = [b for b in system.branches if b.side is side.side]
        self.terminals = [t for t in system.terminals if t.side is side.side]
        self.plans = {t.terminal_id: t for t in side.terminals}
        self.dampers = {d.branch_id: d for d in side.dampers}

    def nodes(self) -> Iterator[TreeNode]:
        """Parents before children, terminals of a run before its further branches."""
        yield from self._below(None)

    def _below(self, branch_id: str | None) -> Iterator[TreeNode]:
        for terminal in self.terminals:
            if terminal.branch == branch_id:
                yield self._terminal(terminal)
        for branch in self.branches:
            if branch.parent == branch_id and self._served(branch.id):
                yield self._branch(branch)
                yield from self._below(branch.id)

    def _served(self, branch_id: str) -> list[Terminal]:
        found = [t for t in self.terminals if t.branch == branch_id]
        for branch in self.branches:
            if branch.parent == branch_id:
                found += self._served(branch.id)
        return found

    def _branch(self, branch: Branch) -> TreeNode:
        served = [self.plans[t.id] for t in self._served(branch.id)]
        flow = sum(t.design_m3_s or 0.0 for t in served)
        damper = self.dampers.get(branch.id)
        words = self.pen.flow(flow)
        if damper is not None:
            words = self.pen.say(
                "plan-picture.damper", flow=words, position=self.pen.position(damper)
            )
        return TreeNode(
            name=f"branch {branch.id}",
            parent=None if branch.parent is None else f"branch {branch.parent}",
            flow_m3_s=flow,
            label=branch.name or branch.id,
            figures=words,
            is_index=any(t.is_index for t in served),
        )

    def _terminal(self, terminal: Terminal) -> TreeNode:
        plan = self.plans[terminal.id]
        words = self.pen.flow(plan.design_m3_s)
        if plan.open_m3_s is not None:
            words = self.pen.say(
                "plan-picture.terminal-figures",
                flow=words,
                open=self.pen.flow(plan.open_m3_s.value),
            )
        if plan.is_index:
            words = f"{words} · {self.pen.say('plan-mark.index')}"
        elif plan.excess_pa is not None:
            words = f"{words} · {self.pen.opening(plan)}"
        return TreeNode(
            name=f"terminal {terminal.id}",
            parent=None if terminal.branch is None else f"branch {terminal.branch}",
            flow_m3_s=plan.design_m3_s or 0.0,
            label=f"{terminal.id} {plan.room_name}",
            figures=words,
            is_index=plan.is_index,
        )
