"""The ducts of each side as a tree: what each terminal was left at and what it should carry."""

from __future__ import annotations

from collections.abc import Iterator

from ventwright.findings import SystemFindings, TerminalFinding
from ventwright.house import Branch, SettingRole, System, Terminal
from ventwright.quantities import Dimension, Side
from ventwright.report.model import Picture, Section
from ventwright.report.pen import Pen
from ventwright.report.pictures.duct_tree import TreeNode, duct_tree
from ventwright.uncertainty import Estimate, u_expanded


def ducts_section(pen: Pen) -> Section:
    """One picture for each side of each system, in its everyday setting.

    Parameters
    ----------
    pen
        What is written about.
    """
    return Section(id="ducts", title=pen.say("section.ducts"), pictures=tuple(_pictures(pen)))


def _pictures(pen: Pen) -> Iterator[Picture]:
    for system, found in pen.systems():
        everyday = [f.id for f in system.fan_settings if f.role is SettingRole.CONTINUOUS]
        for side in Side:
            for setting in everyday[:1]:
                tree = _Tree(pen, system, found, side, setting)
                if tree.is_worth_drawing():
                    yield tree.picture()


class _Tree:
    """Runs of one side from the record, with the findings of one setting."""

    def __init__(
        self, pen: Pen, system: System, found: SystemFindings, side: Side, setting: str
    ) -> None:
        self.pen, self.system, self.side, self.setting = pen, system, side, setting
        self.branches = [b for b in system.branches if b.side is side]
        self.terminals = [t for t in system.terminals if t.side is side]
        self.found = {t.terminal_id: t for t in found.terminals if t.setting == setting}

    def is_worth_drawing(self) -> bool:
        """Whether something was read there; a plan alone has pictures of its own."""
        return any(_read(self.found.get(t.id)) is not None for t in self.terminals)

    def picture(self) -> Picture:
        say, side = self.pen.say, self.pen.say(f"side.{self.side.value}")
        nodes = tuple(self._below(None))
        rows = " ".join(
            say("ducts.row", name=n.label, figures=n.figures) for n in nodes if n.figures
        )
        named = self.pen.setting(self.setting)
        return Picture(
            id=f"ducts-{self.system.id}-{self.side.value}",
            svg=duct_tree(
                nodes,
                side=self.side,
                title=self.pen.of_system(self.system.id)
                + say("ducts.title", side=side.capitalize(), setting=named),
                unit_words=(say("station.unit"), side),
            ),
            alt=say("ducts.alt", side=side, setting=named, rows=rows),
            caption=say("ducts.caption", side=side),
        )

    def _below(self, branch_id: str | None) -> Iterator[TreeNode]:
        """Parents before children, terminals of a run before its further branches."""
        for terminal in self.terminals:
            if terminal.branch == branch_id:
                yield self._terminal(terminal)
        for branch in self.branches:
            if branch.parent == branch_id and self._served(branch):
                yield TreeNode(
                    name=f"branch {branch.id}",
                    parent=_branch_name(branch.parent),
                    # Only the width of a ribbon; what the branch carries was not measured there.
                    flow_m3_s=sum(self._width_m3_s(t) for t in self._served(branch)),
                    label=branch.name or branch.id,
                )
                yield from self._below(branch.id)

    def _served(self, branch: Branch) -> list[Terminal]:
        served = [t for t in self.terminals if t.branch == branch.id]
        for child in self.branches:
            if child.parent == branch.id:
                served += self._served(child)
        return served

    def _width_m3_s(self, terminal: Terminal) -> float:
        found = self.found.get(terminal.id)
        read = _read(found)
        if read is not None:
            return read.value
        return (found.target_m3_s if found is not None else None) or 0.0

    def _terminal(self, terminal: Terminal) -> TreeNode:
        found = self.found.get(terminal.id)
        room = terminal.id if found is None else f"{terminal.id} {found.room_name}"
        return TreeNode(
            name=f"terminal {terminal.id}",
            parent=_branch_name(terminal.branch),
            flow_m3_s=self._width_m3_s(terminal),
            label=room,
            figures=self._figures(found),
        )

    def _figures(self, found: TerminalFinding | None) -> str:
        m, say = self.pen.measures, self.pen.say
        read = _read(found)
        target = found.target_m3_s if found is not None else None
        u = u_expanded(read) if read is not None else None
        parts = [m.estimate(read, Dimension.FLOW) or say("reason.not-measured")]
        if target is not None:
            shown = m.flow_number(target, u_si=u)
            parts.append(say("ducts.target", value=f"{shown} {m.symbol(Dimension.FLOW)}"))
        if read is not None and found is not None:
            parts += [self.pen.say(f"verdict.{line.verdict.value}") for line in found.lines[:1]]
        return " · ".join(parts)


def _read(found: TerminalFinding | None) -> Estimate | None:
    flow = None if found is None else found.as_left or found.as_found
    return None if flow is None else flow.figure.flow_m3_s


def _branch_name(branch_id: str | None) -> str | None:
    return None if branch_id is None else f"branch {branch_id}"
