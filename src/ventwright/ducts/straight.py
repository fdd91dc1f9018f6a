"""Straight ducts: wall friction of round, rectangular and flexible ones.

One friction form serves them all: Darcy–Weisbach with Colebrook's equation in an explicit form,
laminar below Re 2000, joined by a cubic up to Re 4000 (see `FrictionCurve`). Air in a duct is taken
as incompressible and of one density along its length.
"""

from __future__ import annotations

from math import exp, inf, pi

from ventwright.ducts.curves import FrictionCurve
from ventwright.ducts.terms import Law, Terms, out_of_range
from ventwright.quantities.problems import Problem, Severity, UserError
from ventwright.quantities.records import dataclass

GALVANISED_ROUGHNESS_M = 9e-5
"""Galvanised steel. Source: ashrae_hof_2017_ch21"""
FLEXIBLE_ROUGHNESS_M = 9e-4
"""Flexible duct, fully stretched. Source: ashrae_hof_2017_ch21"""
MOST_ROUGH_RATIO = 0.05
"""Relative roughness up to which Colebrook's equation was made."""


@dataclass(frozen=True, slots=True, kw_only=True)
class DuctAir:
    """The two properties of the air in a duct that laws need.

    Parameters
    ----------
    density_kg_m3
        Above 0 [kg/m³]; 1.2 at 20 °C, sea level.
    viscosity_pa_s
        Dynamic viscosity, above 0 [Pa·s]; 1.82e-5 at 20 °C.
    """

    density_kg_m3: float = 1.2
    viscosity_pa_s: float = 1.82e-5

    def problems(self) -> tuple[Problem, ...]:
        """Name every field that can't be used."""
        return out_of_range(
            self,
            density_kg_m3=(self.density_kg_m3, -0.0, inf),
            viscosity_pa_s=(self.viscosity_pa_s, -0.0, inf),
        )


STANDARD_DUCT_AIR = DuctAir()


def darcy_friction(*, reynolds: float, roughness_ratio: float) -> float:
    """Darcy friction of a round duct, as the laws use it.

    64/Re up to Re 2000; from Re 4000 Haaland's formula with one Newton step on Colebrook's
    equation, within 1e-5 of its exact solution; between them the cubic of `FrictionCurve`.

    Parameters
    ----------
    reynolds
        Reynolds number, above 0.
    roughness_ratio
        Roughness / diameter, 0 to 0.05.

    Returns
    -------
    float
        Darcy friction (four times Fanning's).

    Raises
    ------
    UserError
        An argument lies outside its range.

    Source: colebrook_1939, haaland_1983

    >>> round(darcy_friction(reynolds=1e5, roughness_ratio=1e-4), 5)
    0.01851
    """
    if not 0.0 < reynolds < inf or not 0.0 <= roughness_ratio <= MOST_ROUGH_RATIO:
        msg = (
            f"reynolds is {reynolds:g} and roughness_ratio {roughness_ratio:g}: "
            "more than 0, and 0 to 0.05, are accepted"
        )
        raise UserError(msg)
    curve = FrictionCurve(
        drop_per_fre2_pa=1.0, reynolds_per_m3_s=1.0, roughness_ratio=roughness_ratio
    )
    return curve.function()(reynolds)[0] / (reynolds * reynolds)


def round_area_m2(*, diameter_m: float) -> float:
    """Cross-section of a round duct [m²].

    Parameters
    ----------
    diameter_m
        Inside diameter [m].

    >>> round(round_area_m2(diameter_m=0.125), 5)
    0.01227
    """
    return 0.25 * pi * diameter_m * diameter_m


@dataclass(frozen=True, slots=True, kw_only=True)
class RoundDuct(Law):
    """Friction of a straight round duct.

    Darcy–Weisbach: drop = f · length/diameter · density/2 · velocity².

    Parameters
    ----------
    length_m, diameter_m
        Above 0 [m]; diameter is the inside one.
    roughness_m
        Absolute roughness, from 0 to 5 % of the diameter [m]; galvanised steel by default.
    air
        Density and viscosity.

    Source: colebrook_1939, haaland_1983, ashrae_hof_2017_ch21

    >>> duct = RoundDuct(length_m=1.0, diameter_m=0.1524,
    ...                  air=DuctAir(density_kg_m3=1.204, viscosity_pa_s=1.825e-5))
    >>> round(duct.drop_and_slope(0.0472)[0], 2)
    0.68
    """

    length_m: float
    diameter_m: float
    roughness_m: float = GALVANISED_ROUGHNESS_M
    air: DuctAir = STANDARD_DUCT_AIR

    def problems(self) -> tuple[Problem, ...]:
        """Name every field that can't be used."""
        return self.air.problems() + out_of_range(
            self,
            length_m=(self.length_m, -0.0, inf),
            diameter_m=(self.diameter_m, -0.0, inf),
            roughness_m=(self.roughness_m, 0.0, MOST_ROUGH_RATIO * max(self.diameter_m, 0.0)),
        )

    def terms(self) -> Terms:
        """Take the law apart for a solver."""
        return _friction(
            length_m=self.length_m,
            hydraulic_m=self.diameter_m,
            area_m2=round_area_m2(diameter_m=self.diameter_m),
            roughness_m=self.roughness_m,
            air=self.air,
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class RectDuct(Law):
    """Friction of a straight rectangular duct or flat channel, by hydraulic diameter.

    Laminar flow has its own factor for the shape; turbulent flow uses the round law at the
    hydraulic diameter 2·width·height/(width + height), which lies within 8 % of the equivalent
    round duct of equal flow (Huebscher) up to a side ratio of 4.

    Parameters
    ----------
    length_m, width_m, height_m
        Above 0 [m]; sides are inside ones.
    roughness_m
        Absolute roughness, from 0 to 5 % of the hydraulic diameter [m].
    air
        Density and viscosity.

    Source: colebrook_1939, haaland_1983, shah_london_1978

    >>> duct = RectDuct(length_m=1.0, width_m=0.35, height_m=0.2)
    >>> round(duct.drop_and_slope(0.5)[0], 1)
    2.3
    """

    length_m: float
    width_m: float
    height_m: float
    roughness_m: float = GALVANISED_ROUGHNESS_M
    air: DuctAir = STANDARD_DUCT_AIR

    @property
    def hydraulic_diameter_m(self) -> float:
        """Four times the area over the perimeter [m]."""
        return 2.0 * self.width_m * self.height_m / (self.width_m + self.height_m)

    def problems(self) -> tuple[Problem, ...]:
        """Name every field that can't be used."""
        found = self.air.problems() + out_of_range(
            self,
            length_m=(self.length_m, -0.0, inf),
            width_m=(self.width_m, -0.0, inf),
            height_m=(self.height_m, -0.0, inf),
        )
        if found:
            return found
        most_m = MOST_ROUGH_RATIO * self.hydraulic_diameter_m
        return out_of_range(self, roughness_m=(self.roughness_m, 0.0, most_m))

    def terms(self) -> Terms:
        """Take the law apart for a solver."""
        side = min(self.width_m, self.height_m) / max(self.width_m, self.height_m)
        shape = 1.0 + side * (
            -1.3553 + side * (1.9467 + side * (-1.7012 + side * (0.9564 - side * 0.2537)))
        )
        return _friction(
            length_m=self.length_m,
            hydraulic_m=self.hydraulic_diameter_m,
            area_m2=self.width_m * self.height_m,
            roughness_m=self.roughness_m,
            air=self.air,
            laminar_coeff=96.0 * shape,
        )


def compression_factor(*, compression_frac: float, diameter_m: float) -> float:
    """How many times the drop of a flexible duct grows when it is not pulled out.

    1 + 58 · compression · exp(−4.96 · diameter), after the handbook's curve for 6–10 inch duct.

    Parameters
    ----------
    compression_frac
        (Fully stretched length − length as laid) / fully stretched length, 0 to 0.45.
    diameter_m
        Inside diameter [m], 0.1 to 0.4; below 0.15 m this extrapolates.

    Returns
    -------
    float
        Factor on the friction of the stretched duct of the length as laid.

    Raises
    ------
    UserError
        An argument lies outside its range.

    Source: ashrae_hof_2017_ch21

    >>> round(compression_factor(compression_frac=0.15, diameter_m=0.15), 1)
    5.1
    """
    if not 0.0 <= compression_frac <= 0.45 or not 0.1 <= diameter_m <= 0.4:
        msg = (
            f"compression_frac is {compression_frac:g} and diameter_m {diameter_m:g}: "
            "0 to 0.45, and 0.1 to 0.4, are accepted"
        )
        raise UserError(msg)
    return 1.0 + 58.0 * compression_frac * exp(-4.96 * diameter_m)


@dataclass(frozen=True, slots=True, kw_only=True)
class FlexDuct(Law):
    """Friction of a flexible duct, more or less pulled out.

    Parameters
    ----------
    length_m
        Length as laid, above 0 [m].
    diameter_m
        Inside diameter, 0.1 to 0.4 [m].
    compression_frac
        See `compression_factor`; 0 is fully stretched, house ducts lie at 0.04 to 0.3.
    roughness_m
        Of the stretched duct, from 0 to 5 % of the diameter [m].
    air
        Density and viscosity.

    Source: ashrae_hof_2017_ch21, abushakra_2004

    >>> flex = FlexDuct(length_m=3.0, diameter_m=0.15, compression_frac=0.15)
    >>> tight = FlexDuct(length_m=3.0, diameter_m=0.15, compression_frac=0.0)
    >>> round(flex.drop_and_slope(0.03)[0] / tight.drop_and_slope(0.03)[0], 1)
    5.1
    """

    length_m: float
    diameter_m: float
    compression_frac: float
    roughness_m: float = FLEXIBLE_ROUGHNESS_M
    air: DuctAir = STANDARD_DUCT_AIR

    def problems(self) -> tuple[Problem, ...]:
        """Name every field that can't be used."""
        return self.air.problems() + out_of_range(
            self,
            length_m=(self.length_m, -0.0, inf),
            diameter_m=(self.diameter_m, 0.1, 0.4),
            compression_frac=(self.compression_frac, 0.0, 0.45),
            roughness_m=(self.roughness_m, 0.0, MOST_ROUGH_RATIO * max(self.diameter_m, 0.0)),
        )

    def reservations(self, flow_m3_s: float) -> tuple[Problem, ...]:
        """Say that the compression factor was measured at 6 to 10 inch only."""
        del flow_m3_s
        if self.compression_frac == 0.0 or 0.15 <= self.diameter_m <= 0.26:
            return ()
        return (
            Problem(
                code="flex-outside-its-tests",
                where="diameter_m",
                message=f"compression of flexible duct was measured at 0.15 to 0.25 m; at "
                f"{self.diameter_m:g} m its effect is an extrapolation",
                severity=Severity.NOTE,
            ),
        )

    def terms(self) -> Terms:
        """Take the law apart for a solver."""
        longer = compression_factor(
            compression_frac=self.compression_frac, diameter_m=self.diameter_m
        )
        return _friction(
            length_m=self.length_m * longer,
            hydraulic_m=self.diameter_m,
            area_m2=round_area_m2(diameter_m=self.diameter_m),
            roughness_m=self.roughness_m,
            air=self.air,
        )


def _friction(
    *,
    length_m: float,
    hydraulic_m: float,
    area_m2: float,
    roughness_m: float,
    air: DuctAir,
    laminar_coeff: float = 64.0,
) -> Terms:
    viscous = air.viscosity_pa_s * air.viscosity_pa_s / (2.0 * air.density_kg_m3)
    curve = FrictionCurve(
        drop_per_fre2_pa=length_m * viscous / hydraulic_m**3,
        reynolds_per_m3_s=air.density_kg_m3 * hydraulic_m / (air.viscosity_pa_s * area_m2),
        roughness_ratio=roughness_m / hydraulic_m,
        laminar_coeff=laminar_coeff,
    )
    return Terms(curves=(curve,))
