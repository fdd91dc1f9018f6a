"""Fittings: loss coefficients from a small table, and the law that carries one.

The coefficients are those of handbook tables as a public program writes them down; they hold for
Re above about 2e5 and a straight run before and after. At house flows (Re 1e4 to 4e4) tight bends
lose more, which `Loss.growth_reynolds` carries. A tee's loss depends on how the flow splits; here
it is taken at one split and then kept, which is what keeps a tree of laws convex.
"""

from __future__ import annotations

from enum import StrEnum
from math import inf

from ventwright.ducts.straight import STANDARD_DUCT_AIR, DuctAir
from ventwright.ducts.tables import between, between_two
from ventwright.ducts.terms import Law, Terms, out_of_range
from ventwright.quantities.problems import Problem, UserError
from ventwright.quantities.records import dataclass

MITRE_GROWTH_REYNOLDS = 4000.0
"""Fits the table's 1.40, 1.19, 1.09, 1.04 at Re 1e4, 3e4, 6e4, 1e5 within 5 %.
Source: smacna_tables_code"""
PLAIN_GROWTH_REYNOLDS = 200.0
"""Judgement: 2 % more at Re 1e4, and a slope above zero at zero flow."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Loss(Law):
    """A fitting known by its loss coefficient, referred to the velocity in one area.

    drop = coefficient · (1 + growth/Re) · density/2 · velocity·|velocity|.

    Parameters
    ----------
    loss_coeff
        At high Reynolds number, at least 0.
    diameter_m
        Diameter (hydraulic for other shapes) of the section it is referred to, above 0 [m].
    area_m2
        Its area where it is not round [m²]; None takes the circle of `diameter_m`.
    growth_reynolds
        Reynolds number at which the coefficient has doubled, at least 0.
    air
        Density and viscosity.

    Source: smacna_tables_code

    >>> elbow = Loss(loss_coeff=0.33, diameter_m=0.125, growth_reynolds=0.0)
    >>> round(elbow.drop_and_slope(0.0283)[0], 2)
    1.05
    """

    loss_coeff: float
    diameter_m: float
    area_m2: float | None = None
    growth_reynolds: float = PLAIN_GROWTH_REYNOLDS
    air: DuctAir = STANDARD_DUCT_AIR

    def problems(self) -> tuple[Problem, ...]:
        """Name every field that can't be used."""
        area_m2 = 1.0 if self.area_m2 is None else self.area_m2
        return self.air.problems() + out_of_range(
            self,
            loss_coeff=(self.loss_coeff, 0.0, inf),
            diameter_m=(self.diameter_m, -0.0, inf),
            area_m2=(area_m2, -0.0, inf),
            growth_reynolds=(self.growth_reynolds, 0.0, inf),
        )

    def terms(self) -> Terms:
        """Take the law apart for a solver."""
        area_m2 = self.area_m2
        if area_m2 is None:
            area_m2 = 0.7853981633974483 * self.diameter_m * self.diameter_m
        quadratic = 0.5 * self.loss_coeff * self.air.density_kg_m3 / (area_m2 * area_m2)
        reynolds_per_m3_s = (
            self.air.density_kg_m3 * self.diameter_m / (self.air.viscosity_pa_s * area_m2)
        )
        return Terms(
            linear_pa_per_m3_s=quadratic * self.growth_reynolds / reynolds_per_m3_s,
            quadratic_pa_per_m6_s2=quadratic,
        )


BEND_RADIUS_RATIOS = (0.5, 0.75, 1.0, 1.5, 2.0, 2.5)
BEND_LOSSES = (0.71, 0.33, 0.22, 0.15, 0.13, 0.12)
BEND_ANGLES_DEG = (0.0, 20.0, 30.0, 45.0, 60.0, 75.0, 90.0, 110.0, 130.0, 150.0, 180.0)
BEND_ANGLE_FACTORS = (0.0, 0.31, 0.45, 0.60, 0.78, 0.90, 1.00, 1.13, 1.20, 1.28, 1.40)
SEGMENT_RADIUS_RATIOS = (0.75, 1.0, 1.5, 2.0)
SEGMENT_LOSSES = {
    3: (0.54, 0.42, 0.34, 0.33),
    4: (0.50, 0.37, 0.27, 0.24),
    5: (0.46, 0.33, 0.24, 0.19),
}
MITRE_ANGLES_DEG = (20.0, 30.0, 45.0, 60.0, 75.0, 90.0)
MITRE_LOSSES = (0.08, 0.16, 0.34, 0.55, 0.81, 1.2)
WIDENING_AREA_RATIOS = (2.0, 4.0, 6.0)
WIDENING_ANGLES_DEG = (16.0, 20.0, 30.0, 45.0, 60.0, 90.0, 180.0)
WIDENING_LOSSES = (
    (0.14, 0.19, 0.32, 0.33, 0.33, 0.32, 0.30),
    (0.23, 0.30, 0.46, 0.61, 0.68, 0.64, 0.62),
    (0.27, 0.33, 0.48, 0.66, 0.77, 0.74, 0.72),
)
NARROWING_AREA_RATIOS = (2.0, 4.0, 6.0)
NARROWING_ANGLES_DEG = (10.0, 30.0, 60.0, 90.0, 120.0, 180.0)
NARROWING_LOSSES = (
    (0.05, 0.05, 0.06, 0.12, 0.18, 0.26),
    (0.05, 0.04, 0.07, 0.17, 0.27, 0.41),
    (0.05, 0.04, 0.07, 0.18, 0.28, 0.42),
)
TEE_AREA_RATIOS = (0.2, 0.4, 0.6, 0.8)
TEE_FLOW_RATIOS = (0.1, 0.3, 0.5, 0.7, 0.9)
TEE_LOSSES = {
    45: (
        (0.56, 1.00, 1.80, 1.80, 1.80),
        (0.66, 0.40, 0.54, 0.95, 1.70),
        (0.74, 0.44, 0.35, 0.43, 0.68),
        (0.78, 0.49, 0.34, 0.32, 0.40),
    ),
    90: (
        (1.30, 2.90, 2.90, 2.90, 2.90),
        (0.99, 1.30, 1.70, 2.40, 2.40),
        (0.96, 1.00, 1.10, 1.40, 2.00),
        (0.95, 0.92, 0.94, 1.10, 1.40),
    ),
}
TEE_STRAIGHT_RATIOS = (0.0, 0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.8, 1.0)
TEE_STRAIGHT_LOSSES = (0.35, 0.28, 0.22, 0.17, 0.13, 0.09, 0.06, 0.02, 0.00)


class EndPiece(StrEnum):
    """Pieces whose loss coefficient is one number, referred to the duct's velocity."""

    ENTRY_PLAIN = "entry-plain"
    ENTRY_FLANGED = "entry-flanged"
    ENTRY_BELLMOUTH = "entry-bellmouth"
    INTAKE_HOOD = "intake-hood"
    EXHAUST_HOOD = "exhaust-hood"
    EXIT_ABRUPT = "exit-abrupt"
    BOOT_STRAIGHT = "boot-straight"
    BOOT_RIGHT_ANGLE = "boot-right-angle"


END_PIECE_LOSSES = {
    EndPiece.ENTRY_PLAIN: 1.0,
    EndPiece.ENTRY_FLANGED: 0.5,
    EndPiece.ENTRY_BELLMOUTH: 0.12,
    EndPiece.INTAKE_HOOD: 1.3,
    EndPiece.EXHAUST_HOOD: 1.2,
    EndPiece.EXIT_ABRUPT: 1.0,
    EndPiece.BOOT_STRAIGHT: 0.35,
    EndPiece.BOOT_RIGHT_ANGLE: 1.2,
}
"""Entries, hoods (half a diameter of gap) and exit from the tables; a straight boot is taken as the
wide-angled widening to twice the area, a right-angled one as the 90° mitre (judgement).
Source: smacna_tables_code, duct_judgement"""


def end_piece_loss_coeff(piece: EndPiece) -> float:
    """Loss coefficient of an entry, hood, exit or boot, referred to the duct's velocity.

    An exit includes the velocity pressure that is lost in the room.

    Parameters
    ----------
    piece
        Which piece.

    Source: smacna_tables_code

    >>> end_piece_loss_coeff(EndPiece.ENTRY_FLANGED)
    0.5
    """
    return END_PIECE_LOSSES[piece]


def bend_loss_coeff(*, radius_ratio: float, angle_deg: float = 90.0) -> float:
    """Loss coefficient of a smooth round bend.

    Parameters
    ----------
    radius_ratio
        Radius of the centre line / diameter, 0.5 to 2.5.
    angle_deg
        Turn, 0 to 180 [°].

    Raises
    ------
    UserError
        An argument lies outside the table.

    Source: smacna_tables_code

    >>> bend_loss_coeff(radius_ratio=1.0), round(bend_loss_coeff(radius_ratio=1.0, angle_deg=45), 3)
    (0.22, 0.132)
    """
    return between(
        what="radius_ratio", at=radius_ratio, places=BEND_RADIUS_RATIOS, values=BEND_LOSSES
    ) * between(what="angle_deg", at=angle_deg, places=BEND_ANGLES_DEG, values=BEND_ANGLE_FACTORS)


def segment_bend_loss_coeff(*, radius_ratio: float, piece_count: int) -> float:
    """Loss coefficient of a 90° round bend made of 3 to 5 straight pieces.

    Parameters
    ----------
    radius_ratio
        Radius of the centre line / diameter, 0.75 to 2.
    piece_count
        3, 4 or 5.

    Raises
    ------
    UserError
        An argument lies outside the table.

    Source: smacna_tables_code

    >>> segment_bend_loss_coeff(radius_ratio=1.5, piece_count=5)
    0.24
    """
    if piece_count not in SEGMENT_LOSSES:
        msg = f"piece_count is {piece_count}: bends of 3, 4 or 5 pieces are known"
        raise UserError(msg)
    return between(
        what="radius_ratio",
        at=radius_ratio,
        places=SEGMENT_RADIUS_RATIOS,
        values=SEGMENT_LOSSES[piece_count],
    )


def mitre_loss_coeff(*, angle_deg: float) -> float:
    """Loss coefficient of a round mitred bend; use it with `MITRE_GROWTH_REYNOLDS`.

    Parameters
    ----------
    angle_deg
        Turn, 20 to 90 [°].

    Raises
    ------
    UserError
        The angle lies outside the table.

    Source: smacna_tables_code

    >>> mitre_loss_coeff(angle_deg=90.0)
    1.2
    """
    return between(what="angle_deg", at=angle_deg, places=MITRE_ANGLES_DEG, values=MITRE_LOSSES)


def widening_loss_coeff(*, area_ratio: float, angle_deg: float) -> float:
    """Loss coefficient of a round cone that widens, referred to the narrow section.

    Parameters
    ----------
    area_ratio
        Wide area / narrow area, 2 to 6.
    angle_deg
        Full angle of the cone, 16 to 180 (abrupt) [°].

    Raises
    ------
    UserError
        An argument lies outside the table.

    Source: smacna_tables_code

    >>> widening_loss_coeff(area_ratio=4.0, angle_deg=30.0)
    0.46
    """
    return between_two(
        what_row="area_ratio",
        row=area_ratio,
        rows=WIDENING_AREA_RATIOS,
        what_column="angle_deg",
        column=angle_deg,
        columns=WIDENING_ANGLES_DEG,
        values=WIDENING_LOSSES,
    )


def narrowing_loss_coeff(*, area_ratio: float, angle_deg: float) -> float:
    """Loss coefficient of a cone that narrows, referred to the narrow section.

    Parameters
    ----------
    area_ratio
        Wide area / narrow area, 2 to 6.
    angle_deg
        Full angle of the cone, 10 to 180 (abrupt) [°].

    Raises
    ------
    UserError
        An argument lies outside the table.

    Source: smacna_tables_code

    >>> narrowing_loss_coeff(area_ratio=2.0, angle_deg=60.0)
    0.06
    """
    return between_two(
        what_row="area_ratio",
        row=area_ratio,
        rows=NARROWING_AREA_RATIOS,
        what_column="angle_deg",
        column=angle_deg,
        columns=NARROWING_ANGLES_DEG,
        values=NARROWING_LOSSES,
    )


def tee_branch_loss_coeff(*, area_ratio: float, flow_ratio: float, angle_deg: int) -> float:
    """Loss coefficient into the branch of a dividing round tee or wye, on branch velocity.

    The table speaks of the common section; the answer is turned to the branch by the square of
    the velocity ratio.

    Parameters
    ----------
    area_ratio
        Branch area / common area, 0.2 to 0.8.
    flow_ratio
        Branch flow / common flow, 0.1 to 0.9.
    angle_deg
        45 (wye) or 90 (tee) [°].

    Raises
    ------
    UserError
        An argument lies outside the table.

    Source: smacna_tables_code

    >>> round(tee_branch_loss_coeff(area_ratio=0.4, flow_ratio=0.3, angle_deg=90), 2)
    2.31
    """
    if angle_deg not in TEE_LOSSES:
        msg = f"angle_deg is {angle_deg}: wyes of 45° and tees of 90° are known"
        raise UserError(msg)
    on_common = between_two(
        what_row="area_ratio",
        row=area_ratio,
        rows=TEE_AREA_RATIOS,
        what_column="flow_ratio",
        column=flow_ratio,
        columns=TEE_FLOW_RATIOS,
        values=TEE_LOSSES[angle_deg],
    )
    velocity_ratio = flow_ratio / area_ratio
    return on_common / (velocity_ratio * velocity_ratio)


def tee_straight_loss_coeff(*, velocity_ratio: float) -> float:
    """Loss coefficient straight through a dividing round tee, on common velocity.

    Parameters
    ----------
    velocity_ratio
        Velocity after / velocity before the tee, 0 to 1.

    Raises
    ------
    UserError
        The ratio lies outside the table.

    Source: smacna_tables_code

    >>> tee_straight_loss_coeff(velocity_ratio=0.5)
    0.09
    """
    return between(
        what="velocity_ratio",
        at=velocity_ratio,
        places=TEE_STRAIGHT_RATIOS,
        values=TEE_STRAIGHT_LOSSES,
    )
