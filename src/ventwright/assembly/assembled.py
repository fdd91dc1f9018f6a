"""What assembly gives back: the network with its sides taken apart and its problems."""

from __future__ import annotations

from ventwright.assembly.pieces import Piece
from ventwright.assembly.terminals import TerminalOpening
from ventwright.ducts import DuctAir
from ventwright.network import Network, Tree
from ventwright.quantities import Problem, Severity, Side
from ventwright.quantities.records import dataclass

OUTDOOR_ZONE, HOUSE_ZONE, SHELL = "outdoors", "house", "shell"


def side_name(system_id: str, side: Side) -> str:
    """Name of one side of a system in the network, which is that of its shared path.

    Parameters
    ----------
    system_id
        Id of the system.
    side
        Which side.

    >>> side_name("hrv", Side.SUPPLY)
    'hrv supply'
    """
    return f"{system_id} {side.value}"


def branch_link(branch_id: str) -> str:
    """Name of a branch's link in the network.

    Parameters
    ----------
    branch_id
        Id of the branch.

    >>> branch_link("s-first")
    'branch s-first'
    """
    return f"branch {branch_id}"


def terminal_link(terminal_id: str) -> str:
    """Name of a terminal's link in the network.

    Parameters
    ----------
    terminal_id
        Id of the terminal.

    >>> terminal_link("s1")
    'terminal s1'
    """
    return f"terminal {terminal_id}"


@dataclass(frozen=True, slots=True, kw_only=True)
class SideAssembly:
    """One side of one system.

    Parameters
    ----------
    system_id, side
        Which.
    name
        Name of its tree.
    tree
        Shared path and links; None where a loss in it is not known.
    pieces
        Laws of each link (and of the tree's shared path) with their places, in the order of the
        laws; added laws are not among them.
    terminals
        What is known of the opening of each terminal.
    speed_frac
        Speed of the fan in the setting.
    is_speed_assumed
        Whether the setting names no speed and 1 stands in.
    has_fan
        Whether there is a fan law.
    planned_m3_s
        Planned total in the setting [m³/s].
    problems
        What is missing or assumed on this side.
    """

    system_id: str
    side: Side
    name: str
    tree: Tree | None
    pieces: tuple[tuple[str, tuple[Piece, ...]], ...]
    terminals: tuple[tuple[str, TerminalOpening], ...]
    speed_frac: float
    is_speed_assumed: bool
    has_fan: bool
    planned_m3_s: float | None
    problems: tuple[Problem, ...]

    @property
    def is_solvable(self) -> bool:
        """Whether every loss is known and there is a fan."""
        return self.tree is not None and self.has_fan

    def pieces_of(self, link: str) -> tuple[Piece, ...]:
        """Pieces of a link, or of the shared path by the name of the side."""
        return next((pieces for name, pieces in self.pieces if name == link), ())


@dataclass(frozen=True, slots=True, kw_only=True)
class Assembled:
    """The network of a house, ready to be solved, and what it was made of.

    Parameters
    ----------
    network
        All sides that can be solved, and the zones.
    sides
        Every side that has terminals, solvable or not.
    air
        Air in the ducts.
    problems
        Everything missing or assumed.
    """

    network: Network
    sides: tuple[SideAssembly, ...]
    air: DuctAir
    problems: tuple[Problem, ...]

    @property
    def is_whole(self) -> bool:
        """Whether nothing was refused."""
        return not any(p.severity is Severity.REFUSAL for p in self.problems)
