"""What ducts leak: one link into the house and one to outside for each stretch that leaks there."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from math import pi

from ventwright.assembly.assembled import HOUSE_ZONE, OUTDOOR_ZONE
from ventwright.ducts import TightnessClass, duct_leakage
from ventwright.house import DuctPiece, DuctTightness, Space
from ventwright.network import Link, LinkRole

_INSIDE = frozenset({Space.ROOM, Space.CONDITIONED, Space.BASEMENT})


def duct_surface_m2(piece: DuctPiece) -> float:
    """Surface of a piece of duct; none for fittings and for pieces without length or size.

    Parameters
    ----------
    piece
        Any piece.

    Returns
    -------
    float
        ``π·d·L`` or ``2(w + h)·L`` [m²].

    >>> from ventwright.house import DuctKind
    >>> one = DuctPiece(kind=DuctKind.ROUND, diameter_m=0.16, length_m=4.0)
    >>> round(duct_surface_m2(one), 3)
    2.011
    """
    if piece.length_m is None:
        return 0.0
    if piece.diameter_m is not None:
        return pi * piece.diameter_m * piece.length_m
    if piece.width_m is not None and piece.height_m is not None:
        return 2.0 * (piece.width_m + piece.height_m) * piece.length_m
    return 0.0


def leak_links(
    parent: str, ducts: Iterable[DuctPiece], *, tightness: DuctTightness | None
) -> Iterator[Link]:
    """Leaks of the ducts at a node of the tree, by the space they run in.

    The limit of the class is taken as the leakage, at the pressure of the node behind the ducts.
    Without a class nothing leaks in the model.

    Parameters
    ----------
    parent
        Name of the link or tree behind which the ducts lie.
    ducts
        The pieces.
    tightness
        Class of the system's ducts.

    Source: en_16798_3_tightness

    >>> from ventwright.house import DuctKind
    >>> one = DuctPiece(kind=DuctKind.ROUND, diameter_m=0.16, length_m=4.0, space=Space.LOFT)
    >>> [link.zone for link in leak_links("side", [one], tightness=DuctTightness.ATC_3)]
    ['outdoors']
    """
    if tightness is None:
        return
    pieces = list(ducts)
    for zone, is_inside in ((HOUSE_ZONE, True), (OUTDOOR_ZONE, False)):
        surface_m2 = sum(duct_surface_m2(p) for p in pieces if (p.space in _INSIDE) is is_inside)
        if surface_m2 > 0.0:
            law = duct_leakage(surface_m2=surface_m2, tightness=TightnessClass(tightness.value))
            yield Link(
                name=f"{parent} leak {zone}",
                parent=parent,
                laws=(law,),
                zone=zone,
                role=LinkRole.LEAK,
            )
