"""One side of one system as a tree: shared path, branches, terminals."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from ventwright.assembly.assembled import (
    HOUSE_ZONE,
    OUTDOOR_ZONE,
    SideAssembly,
    branch_link,
    side_name,
    terminal_link,
)
from ventwright.assembly.duct_laws import far_section, pieces_of
from ventwright.assembly.fittings import Junction
from ventwright.assembly.leakage import leak_links
from ventwright.assembly.machine import machine_of
from ventwright.assembly.openings import Openings
from ventwright.assembly.pieces import Piece, PieceKind
from ventwright.assembly.planned import planned_total_m3_s
from ventwright.assembly.terminals import (
    TerminalOpening,
    damper_piece,
    terminal_opening,
    terminal_piece,
)
from ventwright.ducts import DuctAir
from ventwright.house import (
    Branch,
    DuctPiece,
    FanSetting,
    System,
    Terminal,
)
from ventwright.network import Link, LinkRole, Tree
from ventwright.quantities import Problem, Severity, Side

_NO_DUCTS = "no duct is listed, so none is counted"


def assemble_side(
    system: System,
    side: Side,
    *,
    setting: FanSetting | None,
    openings: Openings,
    air: DuctAir,
) -> SideAssembly:
    """Build the tree of one side.

    Parameters
    ----------
    system
        The system.
    side
        Which side; it has at least one terminal.
    setting
        Fan setting; None is full speed.
    openings
        How dampers and terminals stand.
    air
        Air in the ducts.
    """
    return _SideBuilder(system, side, openings, air).build(setting)


class _SideBuilder:
    """Collects links, pieces and problems of one side."""

    def __init__(self, system: System, side: Side, openings: Openings, air: DuctAir) -> None:
        self.system, self.side, self.openings, self.air = system, side, openings, air
        self.name = side_name(system.id, side)
        self.problems: list[Problem] = []
        self.pieces: list[tuple[str, tuple[Piece, ...]]] = []
        self.openings_known: list[tuple[str, TerminalOpening]] = []
        self.terminals = [t for t in system.terminals if t.side is side]
        self.branches = [b for b in system.branches if b.side is side]
        self.design = self._design_flows()

    def build(self, setting: FanSetting | None) -> SideAssembly:
        planned = planned_total_m3_s(self.system, self.side, setting)
        machine = machine_of(
            self.system.ventilation_unit,
            side=self.side,
            setting=setting,
            set_flow_m3_s=planned,
            air=self.air,
            where=f"system {self.system.id}",
        )
        self.problems += machine.problems
        shared = (*machine.pieces, *self._shared_ducts())
        self.pieces.append((self.name, shared))
        links = [link for b in self.branches if (link := self._branch(b)) is not None]
        links += [link for t in self.terminals if (link := self._terminal(t)) is not None]
        links += self._leaks()
        self._remark_on_fittings()
        tree = None
        if not self._is_refused():
            tree = Tree(
                name=self.name,
                side=self.side,
                shared=tuple(piece.law for piece in shared),
                links=tuple(links),
                outdoor_zone=OUTDOOR_ZONE,
            )
        return SideAssembly(
            system_id=self.system.id,
            side=self.side,
            name=self.name,
            tree=tree,
            pieces=tuple(self.pieces),
            terminals=tuple(self.openings_known),
            speed_frac=machine.speed_frac,
            is_speed_assumed=machine.is_speed_assumed,
            has_fan=machine.has_fan,
            planned_m3_s=planned,
            problems=tuple(_gathered(self.problems, self.name)),
        )

    def _leaks(self) -> Iterator[Link]:
        """Leaks behind the unit and behind each branch, the ducts of its terminals included."""
        _, room_side = self._shared_lists()[1]
        places: list[tuple[str, str | None, tuple[DuctPiece, ...]]] = [(self.name, None, room_side)]
        places += [
            (branch_link(b.id), b.id, b.ducts) for b in self.branches if self._leads_somewhere(b.id)
        ]
        for link, branch_id, ducts in places:
            own = [p for t in self.terminals if t.branch == branch_id for p in t.ducts]
            yield from leak_links(link, (*ducts, *own), tightness=self.system.tightness)

    def _is_refused(self) -> bool:
        """Whether a loss is unknown; a missing fan alone leaves the losses as they are."""
        fan_codes = {"fan-curve-missing", "fan-curve-not-falling", "set-flow-missing"}
        refusals = [p for p in self.problems if p.severity is Severity.REFUSAL]
        return any(p.code not in fan_codes for p in refusals)

    def _design_flows(self) -> dict[str, float]:
        """Design flow of each link and of the shared path, where every terminal behind has one."""
        flows: dict[str, float] = {}
        parents = {branch_link(b.id): self._parent(b.parent) for b in self.branches}
        unknown: set[str] = set()
        for terminal in self.terminals:
            at: str | None = terminal_link(terminal.id)
            parents[terminal_link(terminal.id)] = self._parent(terminal.branch)
            flow = terminal.design_flow_m3_s
            for _ in range(len(self.branches) + 2):
                if at is None:
                    break
                if flow is None:
                    unknown.add(at)
                else:
                    flows[at] = flows.get(at, 0.0) + flow
                at = parents.get(at)
        return {name: flow for name, flow in flows.items() if name not in unknown}

    def _parent(self, branch_id: str | None) -> str:
        return self.name if branch_id is None else branch_link(branch_id)

    def _shared_lists(self) -> tuple[tuple[str, tuple[DuctPiece, ...]], ...]:
        """Shared lists from outside to the first branching."""
        system = self.system
        if self.side is Side.SUPPLY:
            return (
                ("outdoor_ducts", system.outdoor_ducts),
                ("supply_ducts", system.supply_ducts),
            )
        return (("exhaust_ducts", system.exhaust_ducts), ("extract_ducts", system.extract_ducts))

    def _shared_ducts(self) -> list[Piece]:
        found: list[Piece] = []
        for key, ducts in self._shared_lists():
            where = f"system {self.system.id}.{key}"
            found += self._ducts(ducts, where, Junction())
        return found

    def _ducts(
        self, ducts: Sequence[DuctPiece], where: str, junction: Junction
    ) -> tuple[Piece, ...]:
        pieces, problems = pieces_of(ducts, where=where, junction=junction, air=self.air)
        self.problems += problems
        return pieces

    def _junction(self, link: str, branch_id: str | None) -> Junction:
        """Where a run leaves its parent: the parent's size there, and the design split."""
        if branch_id is None:
            _, parent_ducts = self._shared_lists()[1]
        else:
            parent_ducts = next((b.ducts for b in self.branches if b.id == branch_id), ())
        section = far_section(parent_ducts, self.side)
        parent = self._parent(branch_id)
        ratio = None
        if self.design.get(parent) and link in self.design:
            ratio = self.design[link] / self.design[parent]
        return Junction(
            main_diameter_m=None if section is None else section.hydraulic_m, flow_ratio=ratio
        )

    def _branch(self, branch: Branch) -> Link | None:
        link = branch_link(branch.id)
        if not self._leads_somewhere(branch.id):
            self.problems.append(
                Problem(
                    code="branch-without-terminals",
                    where=link,
                    message=f"{link} serves no terminal and is left out",
                    remedy="name it at a terminal, or take it out",
                    severity=Severity.NOTE,
                )
            )
            return None
        pieces = self._ducts(branch.ducts, f"{link}.ducts", self._junction(link, branch.parent))
        section = far_section(branch.ducts, self.side)
        damper = damper_piece(
            branch,
            duct_diameter_m=None if section is None else section.hydraulic_m,
            openings=self.openings,
            air=self.air,
        )
        if isinstance(damper, Problem):
            self.problems.append(damper)
        elif damper is not None:
            pieces = (*pieces, damper)
        if not branch.ducts:
            self._remark_on_missing_ducts(link)
        self.pieces.append((link, pieces))
        return Link(
            name=link,
            parent=self._parent(branch.parent),
            laws=tuple(piece.law for piece in pieces),
            design_flow_m3_s=self.design.get(link),
        )

    def _leads_somewhere(self, branch_id: str) -> bool:
        """Whether a terminal hangs on the branch or on one behind it."""
        behind = {branch_id}
        for _ in self.branches:
            behind |= {b.id for b in self.branches if b.parent in behind}
        return any(t.branch in behind for t in self.terminals)

    def _terminal(self, terminal: Terminal) -> Link | None:
        link = terminal_link(terminal.id)
        pieces = self._ducts(terminal.ducts, f"{link}.ducts", self._junction(link, terminal.branch))
        section = far_section(terminal.ducts, self.side)
        opening, problems = terminal_opening(
            terminal, duct_diameter_m=None if section is None else section.hydraulic_m
        )
        self.problems += problems
        if not terminal.ducts:
            self._remark_on_missing_ducts(link)
        if opening is None:
            return None
        self.openings_known.append((terminal.id, opening))
        pieces = (*pieces, terminal_piece(terminal, opening, openings=self.openings, air=self.air))
        self.pieces.append((link, pieces))
        return Link(
            name=link,
            parent=self._parent(terminal.branch),
            laws=tuple(piece.law for piece in pieces),
            zone=HOUSE_ZONE,
            role=LinkRole.TERMINAL,
            design_flow_m3_s=terminal.design_flow_m3_s,
        )

    def _remark_on_missing_ducts(self, link: str) -> None:
        self.problems.append(
            Problem(
                code="no-ducts-listed",
                where=link,
                message=_NO_DUCTS,
                remedy="list its ducts, or leave it if it sits right at its parent",
            )
        )

    def _remark_on_fittings(self) -> None:
        """Name runs that list ducts and no fitting: their loss is likely too low."""
        bare = [
            name
            for name, pieces in self.pieces
            if any(p.length_m is not None for p in pieces)
            and not any(p.kind is PieceKind.FITTING for p in pieces)
        ]
        if not bare:
            return
        self.problems.append(
            Problem(
                code="no-fittings-listed",
                where=self.name,
                message="no bend, tee, hood or boot is listed in: "
                + ", ".join(bare)
                + "; the predicted pressure is likely too low there",
                remedy="list fittings with kind = 'fitting', fitting = 'bend_90' and so on",
            )
        )


def _gathered(problems: Sequence[Problem], side: str) -> Iterator[Problem]:
    """The same said of several parts of one side is said once, with their names."""
    places: dict[tuple[str, str, str, Severity], list[str]] = {}
    for p in problems:
        places.setdefault((p.code, p.message, p.remedy, p.severity), []).append(p.where)
    for (code, message, remedy, severity), where in places.items():
        yield Problem(
            code=code,
            where=where[0] if len(where) == 1 else side,
            message=message if len(where) == 1 else f"{message}: " + ", ".join(where),
            remedy=remedy,
            severity=severity,
        )
