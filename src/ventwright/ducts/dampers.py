"""Dampers: loss coefficient against position, and the position for a wanted coefficient."""

from __future__ import annotations

from functools import cache
from math import exp, log, sqrt

from ventwright.ducts.fittings import Loss
from ventwright.ducts.straight import STANDARD_DUCT_AIR, DuctAir
from ventwright.ducts.tables import MonotoneCurve, monotone_curve
from ventwright.ducts.terms import Law, Terms, out_of_range
from ventwright.quantities.problems import Problem, UserError
from ventwright.quantities.records import dataclass

BUTTERFLY_ANGLES_DEG = (0.0, 10.0, 20.0, 30.0, 40.0, 50.0, 60.0)
BUTTERFLY_LOSSES = (0.20, 0.52, 1.5, 4.5, 11.0, 29.0, 108.0)
LEAST_OPEN_RATIO = 0.02


@cache
def _butterfly() -> MonotoneCurve:
    """Logarithm of the loss coefficient against the angle, drawn when first asked for."""
    return monotone_curve(BUTTERFLY_ANGLES_DEG, [log(loss) for loss in BUTTERFLY_LOSSES])


def butterfly_loss_coeff(*, closing_deg: float) -> float:
    """Loss coefficient of a round butterfly damper, thin plate.

    Monotone curve through the logarithms of the table up to 60°; from there to 90° it goes on with
    the same slope (judgement: a shut blade that leaks).

    Parameters
    ----------
    closing_deg
        Angle of the blade from open, 0 to 90 [°].

    Raises
    ------
    UserError
        The angle lies outside its range.

    Source: smacna_tables_code

    >>> round(butterfly_loss_coeff(closing_deg=30.0), 2)
    4.5
    """
    if not 0.0 <= closing_deg <= 90.0:
        msg = f"closing_deg is {closing_deg:g}: 0 (open) to 90 (shut) is accepted"
        raise UserError(msg)
    return exp(_butterfly().value_and_slope(closing_deg)[0])


def butterfly_angle_deg(*, loss_coeff: float) -> float:
    """Angle at which a butterfly damper has a loss coefficient; 0 or 90 where it can't reach it.

    Parameters
    ----------
    loss_coeff
        Wanted coefficient, above 0.

    Returns
    -------
    float
        Angle from open [°].

    >>> round(butterfly_angle_deg(loss_coeff=4.5), 1)
    30.0
    """
    low, high = 0.0, 90.0
    for _ in range(60):
        middle = 0.5 * (low + high)
        if butterfly_loss_coeff(closing_deg=middle) < loss_coeff:
            low = middle
        else:
            high = middle
    return 0.5 * (low + high)


def iris_loss_coeff(*, open_ratio: float) -> float:
    """Loss coefficient of an iris damper taken as a sharp-edged orifice in a straight duct.

    (1 − s + 0.707·√(1 − s))² / s², s the open share of the area.

    Parameters
    ----------
    open_ratio
        Open area / duct area, 0.02 to 1.

    Raises
    ------
    UserError
        The ratio lies outside its range.

    Source: idelchik_orifice

    >>> round(iris_loss_coeff(open_ratio=0.5), 2)
    4.0
    """
    if not LEAST_OPEN_RATIO <= open_ratio <= 1.0:
        msg = f"open_ratio is {open_ratio:g}: {LEAST_OPEN_RATIO:g} to 1 is accepted"
        raise UserError(msg)
    shut = 1.0 - open_ratio
    root = (shut + 0.707 * sqrt(shut)) / open_ratio
    return root * root


@dataclass(frozen=True, slots=True, kw_only=True)
class ButterflyDamper(Law):
    """A round butterfly damper at a position.

    Parameters
    ----------
    diameter_m
        Inside diameter of the duct, above 0 [m].
    closing_deg
        Angle of the blade from open, 0 to 90 [°]; a tight shut damper is `Closed`.
    air
        Density and viscosity.

    Source: smacna_tables_code

    >>> damper = ButterflyDamper(diameter_m=0.102, closing_deg=30.0)
    >>> round(damper.drop_and_slope(30 * 0.000471947)[0], 1)
    8.2
    """

    diameter_m: float
    closing_deg: float
    air: DuctAir = STANDARD_DUCT_AIR

    def problems(self) -> tuple[Problem, ...]:
        """Name every field that can't be used."""
        return (
            out_of_range(self, closing_deg=(self.closing_deg, 0.0, 90.0))
            + Loss(loss_coeff=0.0, diameter_m=self.diameter_m, air=self.air).problems()
        )

    def terms(self) -> Terms:
        """Take the law apart for a solver."""
        loss_coeff = butterfly_loss_coeff(closing_deg=self.closing_deg)
        return Loss(loss_coeff=loss_coeff, diameter_m=self.diameter_m, air=self.air).terms()


@dataclass(frozen=True, slots=True, kw_only=True)
class IrisDamper(Law):
    """An iris damper at a position.

    Parameters
    ----------
    diameter_m
        Inside diameter of the duct, above 0 [m].
    open_ratio
        Open area / duct area, 0.02 to 1.
    air
        Density and viscosity.

    Source: idelchik_orifice

    >>> half = IrisDamper(diameter_m=0.125, open_ratio=0.5)
    >>> round(half.drop_and_slope(0.02)[0], 1)
    6.4
    """

    diameter_m: float
    open_ratio: float
    air: DuctAir = STANDARD_DUCT_AIR

    def problems(self) -> tuple[Problem, ...]:
        """Name every field that can't be used."""
        return (
            out_of_range(self, open_ratio=(self.open_ratio, LEAST_OPEN_RATIO, 1.0))
            + Loss(loss_coeff=0.0, diameter_m=self.diameter_m, air=self.air).problems()
        )

    def terms(self) -> Terms:
        """Take the law apart for a solver."""
        loss_coeff = iris_loss_coeff(open_ratio=self.open_ratio)
        return Loss(loss_coeff=loss_coeff, diameter_m=self.diameter_m, air=self.air).terms()
