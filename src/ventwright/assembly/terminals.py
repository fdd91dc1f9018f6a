"""What a terminal and a coarse damper do to the air: from their tables, else by their size."""

from __future__ import annotations

from math import sqrt

from ventwright.assembly.openings import Openings
from ventwright.assembly.pieces import Piece, PieceKind, doubts_of
from ventwright.ducts import (
    STANDARD_DUCT_AIR,
    ButterflyDamper,
    Closed,
    DuctAir,
    FlowFactorOpening,
    IrisDamper,
    Law,
    Loss,
    RingTable,
    flow_factor_at_density,
    ring_table_from_seat,
)
from ventwright.house import Branch, DamperKind, Setter, Terminal
from ventwright.quantities import Problem, Severity
from ventwright.quantities.records import dataclass

SEAT_RATIO = 0.8
"""Seat of a ring valve over its neck, by judgement. Source: planning_judgement"""
GRILLE_DISCHARGE_COEFF = 0.65
"""Share of the ideal flow through the face of a fixed grille, by judgement.
Source: planning_judgement"""


@dataclass(frozen=True, slots=True, kw_only=True)
class TerminalOpening:
    """What is known of a terminal's opening, at standard air.

    Parameters
    ----------
    open_flow_factor
        Fully open [m³/s per √Pa].
    table
        Flow factor against turns; None where it can't be turned or nobody gave a table.
    can_turn
        Whether the terminal can throttle at all.
    is_assumed
        Whether it was taken by its size alone.
    """

    open_flow_factor: float
    table: RingTable | None
    can_turn: bool
    is_assumed: bool


def terminal_opening(
    terminal: Terminal, *, duct_diameter_m: float | None
) -> tuple[TerminalOpening | None, tuple[Problem, ...]]:
    """The opening of a terminal: by its table, else by its size, else refused.

    Parameters
    ----------
    terminal
        Any terminal.
    duct_diameter_m
        Of its duct, where the terminal states no size of its own [m].

    Source: planning_judgement, curtain_model

    >>> terminal_opening(Terminal(id="t", side="supply", room="r"), duct_diameter_m=None)[1][0].code
    'terminal-size-missing'
    """
    where = f"terminal {terminal.id}"
    can_turn = terminal.setter is not Setter.FIXED
    if terminal.opening_table:
        points = sorted(terminal.opening_table, key=lambda p: p.opening_turns)
        factors = tuple(p.flow_factor for p in points)
        if len(points) == 1:
            opening = TerminalOpening(
                open_flow_factor=factors[0], table=None, can_turn=can_turn, is_assumed=False
            )
            return opening, ()
        table = RingTable(opening_turns=tuple(p.opening_turns for p in points), flow_factor=factors)
        problems = table.problems()
        if problems:
            return None, (_refused("opening-table-not-rising", where, problems[0].message),)
        opening = TerminalOpening(
            open_flow_factor=factors[-1], table=table, can_turn=can_turn, is_assumed=False
        )
        return opening, ()
    return _by_size(terminal, where, can_turn, duct_diameter_m)


def _by_size(
    terminal: Terminal, where: str, can_turn: bool, duct_diameter_m: float | None
) -> tuple[TerminalOpening | None, tuple[Problem, ...]]:
    diameter_m = terminal.diameter_m or duct_diameter_m
    factor: float | None = None
    if not can_turn and terminal.face_area_m2 is not None:
        spread = sqrt(2.0 / STANDARD_DUCT_AIR.density_kg_m3)
        factor = GRILLE_DISCHARGE_COEFF * terminal.face_area_m2 * spread
    elif diameter_m is not None:
        curtain = ring_table_from_seat(seat_diameter_m=SEAT_RATIO * diameter_m)
        factor = curtain.flow_factor[-1]
    if factor is None:
        said = f"{where} has neither a table of its opening nor a size: its loss is not known"
        return None, (_refused("terminal-size-missing", where, said),)
    # Turns of a valve that nobody described would be made up; only its flow factor is given.
    opening = TerminalOpening(
        open_flow_factor=factor, table=None, can_turn=can_turn, is_assumed=True
    )
    return opening, (
        Problem(
            code="terminal-taken-by-size",
            where=where,
            message="no table of the opening is given, so a plain valve or grille of the size is "
            "taken",
            remedy="write 'opening_table' from the maker's paper: turns and flow factor",
        ),
    )


def _refused(code: str, where: str, message: str) -> Problem:
    return Problem(
        code=code,
        where=where,
        message=message,
        remedy="write 'opening_table' (turns and flow factor, both rising), or 'diameter'",
        severity=Severity.REFUSAL,
    )


def terminal_piece(
    terminal: Terminal, opening: TerminalOpening, *, openings: Openings, air: DuctAir
) -> Piece:
    """The law of a terminal as it stands.

    Parameters
    ----------
    terminal
        The terminal.
    opening
        What is known of it.
    openings
        How everything stands.
    air
        Air in the ducts; tables belong to standard air.
    """
    law: Law
    if terminal.id in openings.closed:
        law = Closed()
    else:
        factor = opening.open_flow_factor
        turns = openings.terminal_turns.get(terminal.id)
        if terminal.id in openings.terminal_flow_factors:
            factor = openings.terminal_flow_factors[terminal.id]
        elif turns is not None and opening.table is not None:
            factor = opening.table.flow_factor_at(turns)
        law = FlowFactorOpening(
            flow_factor=flow_factor_at_density(
                flow_factor=factor,
                stated_density_kg_m3=STANDARD_DUCT_AIR.density_kg_m3,
                density_kg_m3=air.density_kg_m3,
            )
        )
    where = f"terminal {terminal.id}"
    return Piece(
        law=law,
        kind=PieceKind.TERMINAL,
        where=where,
        is_assumed=opening.is_assumed,
        doubts=doubts_of(PieceKind.TERMINAL, where=where, is_assumed=opening.is_assumed),
    )


def damper_piece(
    branch: Branch, *, duct_diameter_m: float | None, openings: Openings, air: DuctAir
) -> Piece | Problem | None:
    """The law of a branch's damper as it stands; None where the branch has none.

    A slide is taken as an iris of the same open share, by judgement: both are a sharp-edged
    opening in a straight duct.

    Parameters
    ----------
    branch
        The branch.
    duct_diameter_m
        Of its duct, where the damper states no size of its own [m].
    openings
        How everything stands.
    air
        Air in the ducts.
    """
    damper = branch.damper
    if damper is None:
        return None
    where = f"branch {branch.id}.damper"
    diameter_m = damper.diameter_m or duct_diameter_m
    if diameter_m is None:
        return Problem(
            code="damper-size-missing",
            where=where,
            message=f"{where} has no diameter and its duct none either",
            remedy="write 'diameter'",
            severity=Severity.REFUSAL,
        )
    law = _damper_law(branch, damper.kind, diameter_m, openings, air)
    problems = law.problems()
    if problems:
        found = problems[0]
        return Problem(
            code=found.code,
            where=where,
            message=f"{where}: {found.message}",
            remedy=found.remedy,
            severity=Severity.REFUSAL,
        )
    return Piece(
        law=law,
        kind=PieceKind.DAMPER,
        where=where,
        diameter_m=diameter_m,
        area_m2=0.7853981633974483 * diameter_m * diameter_m,
        doubts=doubts_of(PieceKind.DAMPER, where=where),
    )


def _damper_law(
    branch: Branch, kind: DamperKind, diameter_m: float, openings: Openings, air: DuctAir
) -> Law:
    coeff = openings.damper_loss_coeffs.get(branch.id)
    if coeff is not None:
        return Loss(loss_coeff=coeff, diameter_m=diameter_m, air=air)
    if kind is DamperKind.BUTTERFLY:
        recorded_deg = branch.damper.position_deg if branch.damper else None
        stuck_deg = recorded_deg if branch.damper and branch.damper.is_stuck else None
        closing_deg = openings.dampers_deg.get(branch.id, stuck_deg or 0.0)
        return ButterflyDamper(diameter_m=diameter_m, closing_deg=closing_deg, air=air)
    open_ratio = openings.damper_open_ratios.get(branch.id, 1.0)
    return IrisDamper(diameter_m=diameter_m, open_ratio=open_ratio, air=air)
