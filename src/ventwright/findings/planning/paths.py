"""Losses along every path at the design flows, and the index run."""

from __future__ import annotations

from collections.abc import Mapping

from ventwright.assembly import Piece, PieceKind, SideAssembly, terminal_link
from ventwright.ducts import FanLaw
from ventwright.network import Tree
from ventwright.quantities import Side
from ventwright.quantities.records import dataclass
from ventwright.uncertainty import Estimate, combine, measured


@dataclass(frozen=True, slots=True, kw_only=True)
class PieceLoss:
    """Loss of one piece at a flow; positive along the flow."""

    piece: Piece
    drop_pa: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Paths:
    """Every path of one side at given flows.

    Parameters
    ----------
    side
        The side with everything open.
    link_flow_m3_s
        Flow of each link, and of the shared path by the side's name.
    losses
        Losses of the pieces of each link; the fan is not among them.
    chains
        For each terminal the names from the side to its own link.
    house_pa
        Pressure of the house [Pa].
    """

    side: SideAssembly
    link_flow_m3_s: Mapping[str, float]
    losses: Mapping[str, tuple[PieceLoss, ...]]
    chains: Mapping[str, tuple[str, ...]]
    house_pa: float

    def drop_pa(self, link: str) -> float:
        """Loss of one link."""
        return sum(loss.drop_pa for loss in self.losses[link])

    def path_pa(self, terminal_id: str) -> float:
        """Loss from outside to the room."""
        return sum(self.drop_pa(link) for link in self.chains[terminal_id])

    def index_terminal(self) -> str:
        """The terminal whose path loses most; the first listed of several."""
        return max(self.chains, key=self.path_pa)

    def lift_pa(self) -> float:
        """What the pressure of the house adds to the rise that is needed."""
        return self.house_pa if self.side.side is Side.SUPPLY else -self.house_pa

    def fan_rise_pa(self) -> Estimate:
        """Rise of the fan law that the index run needs, with the doubts about its losses."""
        chain = self.chains[self.index_terminal()]
        losses = [loss for link in chain for loss in self.losses[link]]
        return _summed(losses, self.lift_pa())

    def external_rise_pa(self) -> Estimate:
        """The same at the unit's ports: without the exchanger where that stands by itself."""
        chain = self.chains[self.index_terminal()]
        losses = [
            loss
            for link in chain
            for loss in self.losses[link]
            if loss.piece.kind is not PieceKind.EXCHANGER
        ]
        return _summed(losses, self.lift_pa())


def _summed(losses: list[PieceLoss], lift_pa: float) -> Estimate:
    terms = [
        (
            loss.drop_pa,
            measured(0.0, u_std=d.u_ln_ratio, id=d.influence.id, label=d.influence.label),
        )
        for loss in losses
        for d in loss.piece.doubts
    ]
    return combine(sum(loss.drop_pa for loss in losses) + lift_pa, terms)


def link_flows_m3_s(tree: Tree, terminal_flow_m3_s: Mapping[str, float]) -> dict[str, float]:
    """Flow of every link and of the shared path when each terminal carries a given flow.

    Parameters
    ----------
    tree
        One side.
    terminal_flow_m3_s
        By the name of the terminal's link [m³/s].
    """
    parents = {link.name: link.parent for link in tree.links}
    flows = dict.fromkeys((tree.name, *parents), 0.0)
    for name, flow in terminal_flow_m3_s.items():
        at = name
        while True:
            flows[at] += flow
            if at == tree.name:
                break
            at = parents[at]
    return flows


def paths_of(
    side: SideAssembly, terminal_flow_m3_s: Mapping[str, float], *, house_pa: float
) -> Paths | None:
    """Losses of every path at given flows; None where a loss of the side is not known.

    Parameters
    ----------
    side
        A side with everything open.
    terminal_flow_m3_s
        By terminal id [m³/s]; every terminal of the side.
    house_pa
        Pressure of the house [Pa].
    """
    tree = side.tree
    if tree is None:
        return None
    flows = link_flows_m3_s(tree, {terminal_link(t): q for t, q in terminal_flow_m3_s.items()})
    losses = {}
    for name, flow in flows.items():
        passive = [p for p in side.pieces_of(name) if not isinstance(p.law, FanLaw)]
        losses[name] = tuple(
            PieceLoss(piece=p, drop_pa=p.law.drop_and_slope(flow)[0]) for p in passive
        )
    parents = {link.name: link.parent for link in tree.links}
    chains = {}
    for terminal_id in terminal_flow_m3_s:
        chain = [terminal_link(terminal_id)]
        while chain[-1] != tree.name:
            chain.append(parents[chain[-1]])
        chains[terminal_id] = tuple(reversed(chain))
    return Paths(side=side, link_flow_m3_s=flows, losses=losses, chains=chains, house_pa=house_pa)
