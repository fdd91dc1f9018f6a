"""What one law of an assembled network stands for, and how far its loss is known."""

from __future__ import annotations

from enum import StrEnum

from ventwright.ducts import Law
from ventwright.quantities.records import dataclass
from ventwright.uncertainty import Influence


class PieceKind(StrEnum):
    """What a law of the network was made from."""

    RIGID = "rigid"
    FLEXIBLE = "flexible"
    SEMI_RIGID = "semi_rigid"
    FITTING = "fitting"
    DAMPER = "damper"
    TERMINAL = "terminal"
    EXCHANGER = "exchanger"
    FAN = "fan"
    ADDED = "added"


@dataclass(frozen=True, slots=True, kw_only=True)
class LossDoubt:
    """One cause of doubt about a loss: pieces that share the influence share the doubt.

    Parameters
    ----------
    influence
        The cause.
    u_ln_ratio
        Standard uncertainty of the natural logarithm of the loss (for a fan: of its rise).
    """

    influence: Influence
    u_ln_ratio: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Piece:
    """One law with its place in the record.

    Parameters
    ----------
    law
        The law as it stands in the network.
    kind
        What it was made from.
    where
        Key path in the house, such as ``branch s-first.ducts[0]``.
    diameter_m, width_m, height_m
        Its section, as written or taken from its neighbour [m].
    area_m2
        Free area [m²]; None where a velocity says nothing (terminal, exchanger, fan).
    length_m
        Of a duct [m].
    fitting
        Name of a fitting.
    is_assumed
        Whether a figure it needs was not in the record and a usual one stands in for it.
    doubts
        How far its loss is known.
    """

    law: Law
    kind: PieceKind
    where: str
    diameter_m: float | None = None
    width_m: float | None = None
    height_m: float | None = None
    area_m2: float | None = None
    length_m: float | None = None
    fitting: str = ""
    is_assumed: bool = False
    doubts: tuple[LossDoubt, ...] = ()


_SHARED = {
    PieceKind.RIGID: ("friction of rigid ducts: wall, joints, true diameter", 0.10),
    PieceKind.FLEXIBLE: ("friction of flexible ducts: how far they are pulled out", 0.35),
    PieceKind.SEMI_RIGID: ("friction of semi-rigid ducts: wall, true inside diameter", 0.15),
    PieceKind.FITTING: ("losses of fittings against the tables", 0.20),
    PieceKind.DAMPER: ("losses of dampers against the tables", 0.25),
    PieceKind.TERMINAL: ("terminals against the maker's tables", 0.08),
    PieceKind.EXCHANGER: ("pressure across the exchanger against its table", 0.06),
    PieceKind.FAN: ("fan curve: the maker's tolerance", 0.05),
}
_OWN = {
    PieceKind.RIGID: ("as built", 0.08),
    PieceKind.FLEXIBLE: ("as built", 0.20),
    PieceKind.SEMI_RIGID: ("as built", 0.10),
    PieceKind.FITTING: ("as built", 0.15),
    PieceKind.DAMPER: ("as built", 0.15),
    PieceKind.TERMINAL: ("as built", 0.06),
    PieceKind.EXCHANGER: ("as built", 0.04),
    PieceKind.FAN: ("as built", 0.02),
}
_ASSUMED_TERMINAL = ("terminals taken by their size alone", 0.40)
_ASSUMED_OWN_U_LN_RATIO = 0.25


def doubts_of(
    kind: PieceKind, *, where: str, is_assumed: bool = False, u_shared_ln_ratio: float | None = None
) -> tuple[LossDoubt, ...]:
    """Doubts about the loss of a piece before anything is measured.

    Two causes each: one that all pieces of the kind share (the table or law leans one way
    everywhere) and one of the piece's own. The figures are judgement: friction of rigid duct within
    about ± 25 %, of flexible duct within a factor of two, fittings within ± 50 %, terminals with a
    table within ± 10 % of flow, terminals taken by size within ± 45 % of flow, all at two standard
    uncertainties.

    Parameters
    ----------
    kind
        What the piece is.
    where
        Its place, which names its own doubt.
    is_assumed
        Whether a usual figure stands in for one of the record.
    u_shared_ln_ratio
        Shared doubt where the record states one.

    Source: planning_judgement

    >>> [d.u_ln_ratio for d in doubts_of(PieceKind.RIGID, where="branch b.ducts[0]")]
    [0.1, 0.08]
    """
    if kind is PieceKind.ADDED:
        return ()
    label, shared = _SHARED[kind]
    words, own = _OWN[kind]
    key = f"plan:{kind.value}"
    if is_assumed:
        own = max(own, _ASSUMED_OWN_U_LN_RATIO)
        if kind is PieceKind.TERMINAL:
            label, shared = _ASSUMED_TERMINAL
            key += ":by-size"
    return (
        LossDoubt(influence=Influence(id=key, label=label), u_ln_ratio=u_shared_ln_ratio or shared),
        LossDoubt(
            influence=Influence(id=f"{key}:{where}", label=f"{where}, {words}"), u_ln_ratio=own
        ),
    )
