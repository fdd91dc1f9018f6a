"""From a list of duct pieces to laws, each with its place, its section and its doubts."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from math import pi

from ventwright.assembly.fittings import FITTING_NAMES, Junction, fitting_loss
from ventwright.assembly.pieces import Piece, PieceKind, doubts_of
from ventwright.ducts import (
    FLEXIBLE_ROUGHNESS_M,
    GALVANISED_ROUGHNESS_M,
    DuctAir,
    FlexDuct,
    Law,
    RectDuct,
    RoundDuct,
    compression_factor,
)
from ventwright.house import DuctKind, DuctPiece
from ventwright.quantities import Problem, Severity, Side
from ventwright.quantities.records import dataclass

SEMI_RIGID_ROUGHNESS_M = 3e-5
"""Smooth inner wall with slight waves and joints, by judgement. Source: planning_judgement"""
USUAL_COMPRESSION_FRAC = 0.10
"""Flexible duct whose laying nobody described, by judgement. Source: planning_judgement"""
LEAST_FLEXIBLE_M, MOST_FLEXIBLE_M = 0.1, 0.4
"""Diameters that the handbook's curve for compressed duct is used for."""
_KINDS = {
    DuctKind.ROUND: PieceKind.RIGID,
    DuctKind.RECTANGULAR: PieceKind.RIGID,
    DuctKind.FLEXIBLE: PieceKind.FLEXIBLE,
    DuctKind.SEMI_RIGID: PieceKind.SEMI_RIGID,
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Section:
    """Inside of a duct.

    Parameters
    ----------
    hydraulic_m
        Diameter, or four times area over perimeter [m].
    area_m2
        Free area [m²].
    width_m, height_m
        Sides, of a rectangular one [m].
    """

    hydraulic_m: float
    area_m2: float
    width_m: float | None = None
    height_m: float | None = None


def section_of(piece: DuctPiece) -> Section | None:
    """The section a piece states, or None.

    Parameters
    ----------
    piece
        Any piece; sides go before a diameter only for rectangular and semi-rigid ducts.

    >>> section_of(DuctPiece(kind=DuctKind.ROUND, diameter_m=0.2)).hydraulic_m
    0.2
    """
    width_m, height_m = piece.width_m, piece.height_m
    may_be_flat = piece.kind in (DuctKind.RECTANGULAR, DuctKind.SEMI_RIGID, DuctKind.FITTING)
    if may_be_flat and width_m is not None and height_m is not None:
        return Section(
            hydraulic_m=2.0 * width_m * height_m / (width_m + height_m),
            area_m2=width_m * height_m,
            width_m=width_m,
            height_m=height_m,
        )
    if piece.diameter_m is None or piece.kind is DuctKind.RECTANGULAR:
        return None
    area_m2 = 0.25 * pi * piece.diameter_m * piece.diameter_m
    return Section(hydraulic_m=piece.diameter_m, area_m2=area_m2)


def far_section(ducts: Sequence[DuctPiece], side: Side) -> Section | None:
    """The section at the end of a run that lies away from the unit, or None.

    Parameters
    ----------
    ducts
        In the direction of design flow: on the extract side the far end comes first.
    side
        Which side.

    >>> wide, narrow = (DuctPiece(kind=DuctKind.ROUND, diameter_m=d) for d in (0.16, 0.1))
    >>> far_section([wide, narrow], Side.EXTRACT).hydraulic_m
    0.16
    """
    found = [section_of(piece) for piece in ducts if piece.kind is not DuctKind.FITTING]
    known = [section for section in found if section is not None]
    if not known:
        return None
    return known[-1] if side is Side.SUPPLY else known[0]


def pieces_of(
    ducts: Sequence[DuctPiece], *, where: str, junction: Junction, air: DuctAir
) -> tuple[tuple[Piece, ...], tuple[Problem, ...]]:
    """Laws of a list of duct pieces, and what stands in the way.

    Parameters
    ----------
    ducts
        One list of the record.
    where
        Key path of the list.
    junction
        Where the run leaves its parent.
    air
        Air in the ducts.

    Returns
    -------
    tuple
        Pieces, and problems; one of severity *refusal* says that a loss is not known.

    >>> duct = DuctPiece(kind=DuctKind.ROUND, diameter_m=0.125, length_m=4.0)
    >>> from ventwright.ducts import STANDARD_DUCT_AIR
    >>> found, problems = pieces_of([duct], where="branch b.ducts", junction=Junction(),
    ...                             air=STANDARD_DUCT_AIR)
    >>> found[0].where, problems
    ('branch b.ducts[0]', ())
    """
    pieces: list[Piece] = []
    problems: list[Problem] = []
    for i, piece in enumerate(ducts):
        place = f"{where}[{i}]"
        section = section_of(piece) or _beside(ducts, i)
        found: Piece | Problem
        if section is None:
            found = _refusal("duct-size-missing", place, "it has no diameter or sides")
        elif piece.kind is DuctKind.FITTING:
            found = _fitting(piece, section, place=place, junction=junction, air=air)
        else:
            problems += _remarks(piece, place)
            found = _straight(piece, section, place=place, air=air)
        if isinstance(found, Problem):
            problems.append(found)
        else:
            problems += _unusable(found)
            pieces.append(found)
    return tuple(pieces), tuple(problems)


def _beside(ducts: Sequence[DuctPiece], i: int) -> Section | None:
    """A fitting without a size has that of the duct before it, else of the one after it."""
    if ducts[i].kind is not DuctKind.FITTING:
        return None
    around = [section_of(p) for p in [*reversed(ducts[:i]), *ducts[i + 1 :]]]
    return next((section for section in around if section is not None), None)


def _fitting(
    piece: DuctPiece, section: Section, *, place: str, junction: Junction, air: DuctAir
) -> Piece | Problem:
    found = fitting_loss(
        piece.fitting or "",
        diameter_m=section.hydraulic_m,
        area_m2=section.area_m2,
        junction=junction,
        air=air,
    )
    if found is None:
        said = f"fitting {piece.fitting!r} is not known" if piece.fitting else "it names no fitting"
        known = ", ".join(FITTING_NAMES)
        return _refusal(
            "fitting-unknown", place, said, remedy=f"write one of {known}; or 'loss 1.8'"
        )
    law, is_assumed = found
    law = type(law)(
        loss_coeff=law.loss_coeff * piece.count,
        diameter_m=law.diameter_m,
        area_m2=law.area_m2,
        growth_reynolds=law.growth_reynolds,
        air=air,
    )
    return _piece(
        law,
        PieceKind.FITTING,
        section,
        place=place,
        is_assumed=is_assumed,
        fitting=(piece.fitting or "") if piece.count == 1 else f"{piece.count:g} × {piece.fitting}",
    )


def _straight(piece: DuctPiece, section: Section, *, place: str, air: DuctAir) -> Piece | Problem:
    if piece.length_m is None:
        return _refusal("duct-length-missing", place, "it has no length")
    length_m = piece.length_m * piece.count
    kind = _KINDS[piece.kind]
    is_assumed = piece.kind is DuctKind.FLEXIBLE and piece.compression_frac is None
    roughness_m = piece.roughness_m
    if roughness_m is None:
        roughness_m = {
            PieceKind.RIGID: GALVANISED_ROUGHNESS_M,
            PieceKind.SEMI_RIGID: SEMI_RIGID_ROUGHNESS_M,
            PieceKind.FLEXIBLE: FLEXIBLE_ROUGHNESS_M,
        }[kind]
    law: Law
    if section.width_m is not None and section.height_m is not None:
        law = RectDuct(
            length_m=length_m,
            width_m=section.width_m,
            height_m=section.height_m,
            roughness_m=roughness_m,
            air=air,
        )
    elif piece.kind is DuctKind.FLEXIBLE:
        law = _flexible(piece, length_m=length_m, roughness_m=roughness_m, air=air)
    else:
        law = RoundDuct(
            length_m=length_m,
            diameter_m=section.hydraulic_m,
            roughness_m=roughness_m,
            air=air,
        )
    return _piece(law, kind, section, place=place, is_assumed=is_assumed, length_m=length_m)


def _flexible(piece: DuctPiece, *, length_m: float, roughness_m: float, air: DuctAir) -> Law:
    """Flexible duct; outside the curve's diameters its factor is taken at the curve's end."""
    compression_frac = piece.compression_frac
    if compression_frac is None:
        compression_frac = USUAL_COMPRESSION_FRAC
    diameter_m = piece.diameter_m or 0.0
    if LEAST_FLEXIBLE_M <= diameter_m <= MOST_FLEXIBLE_M or not 0.0 <= compression_frac <= 0.45:
        return FlexDuct(
            length_m=length_m,
            diameter_m=diameter_m,
            compression_frac=compression_frac,
            roughness_m=roughness_m,
            air=air,
        )
    end_m = min(max(diameter_m, LEAST_FLEXIBLE_M), MOST_FLEXIBLE_M)
    longer = compression_factor(compression_frac=compression_frac, diameter_m=end_m)
    return RoundDuct(
        length_m=length_m * longer, diameter_m=diameter_m, roughness_m=roughness_m, air=air
    )


def _piece(
    law: Law,
    kind: PieceKind,
    section: Section,
    *,
    place: str,
    is_assumed: bool,
    length_m: float | None = None,
    fitting: str = "",
) -> Piece:
    return Piece(
        law=law,
        kind=kind,
        where=place,
        diameter_m=None if section.width_m is not None else section.hydraulic_m,
        width_m=section.width_m,
        height_m=section.height_m,
        area_m2=section.area_m2,
        length_m=length_m,
        fitting=fitting,
        is_assumed=is_assumed,
        doubts=doubts_of(kind, where=place, is_assumed=is_assumed),
    )


def _remarks(piece: DuctPiece, place: str) -> Iterator[Problem]:
    if piece.kind is DuctKind.FLEXIBLE:
        if piece.compression_frac is None:
            yield Problem(
                code="compression-assumed",
                where=place,
                message="nobody said how far flexible duct is pulled out; a length "
                f"{USUAL_COMPRESSION_FRAC:.0%} short of fully stretched is assumed",
                remedy="write 'compression'; 4 % is well pulled out, 30 % is slack",
            )
        diameter_m = piece.diameter_m
        if diameter_m is not None and not LEAST_FLEXIBLE_M <= diameter_m <= MOST_FLEXIBLE_M:
            yield Problem(
                code="flexible-outside-table",
                where=place,
                message="flexible duct is smaller or larger than any the handbook's curve is "
                "used for (100 to 400 mm); the factor at the curve's end is taken",
                remedy="expect more doubt here, or plan a rigid or semi-rigid duct",
            )
    if piece.count != 1:
        yield Problem(
            code="lengths-in-series",
            where=place,
            message=f"{piece.count:g} such lengths are taken one after the other",
            severity=Severity.NOTE,
        )


def _unusable(piece: Piece) -> list[Problem]:
    return [
        _refusal(found.code, piece.where, found.message, remedy=found.remedy)
        for found in piece.law.problems()
    ]


def _refusal(code: str, where: str, said: str, *, remedy: str = "") -> Problem:
    return Problem(
        code=code,
        where=where,
        message=f"{where}: {said}, so the loss of this run is not known",
        remedy=remedy or "write it in the house file; a plan rests on it",
        severity=Severity.REFUSAL,
    )
