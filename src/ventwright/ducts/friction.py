"""Wall friction: one form for the laws, and the other known forms to hold it against."""

from __future__ import annotations

from dataclasses import dataclass
from math import inf, pi

from ventwright.ducts.curves import FrictionCurve
from ventwright.ducts.terms import Law, Terms, out_of_range
from ventwright.quantities.problems import Problem


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


@dataclass(frozen=True, slots=True, kw_only=True)
class RoundDuct(Law):
    """Friction of a straight round duct.

    Darcy–Weisbach: drop = f · length/diameter · density/2 · velocity².

    Parameters
    ----------
    length_m, diameter_m
        Above 0 [m]; diameter is the inside one.
    roughness_m
        Absolute roughness, from 0 to 5 % of the diameter [m]; galvanised steel 0.09 mm.
    air
        Density and viscosity.
    friction_ratio
        Factor on friction, above 0; 1 for a plain duct.

    Source: colebrook_1939, haaland_1983, ashrae_hof_2017_ch21

    >>> duct = RoundDuct(length_m=1.0, diameter_m=0.1524, roughness_m=9e-5,
    ...                  air=DuctAir(density_kg_m3=1.204, viscosity_pa_s=1.825e-5))
    >>> round(duct.drop_and_slope(0.0472)[0], 2)
    0.68
    """

    length_m: float
    diameter_m: float
    roughness_m: float = 9e-5
    air: DuctAir = STANDARD_DUCT_AIR
    friction_ratio: float = 1.0

    def problems(self) -> tuple[Problem, ...]:
        """Name every field that can't be used."""
        return self.air.problems() + out_of_range(
            self,
            length_m=(self.length_m, -0.0, inf),
            diameter_m=(self.diameter_m, -0.0, inf),
            roughness_m=(self.roughness_m, 0.0, 0.05 * max(self.diameter_m, 0.0)),
            friction_ratio=(self.friction_ratio, -0.0, inf),
        )

    def terms(self) -> Terms:
        """Take the law apart for a solver."""
        air = self.air
        scale = air.viscosity_pa_s * air.viscosity_pa_s / (2.0 * air.density_kg_m3)
        curve = FrictionCurve(
            pa_per_fre2=self.friction_ratio * self.length_m * scale / self.diameter_m**3,
            reynolds_per_m3_s=4.0 * air.density_kg_m3 / (pi * self.diameter_m * air.viscosity_pa_s),
            relative_roughness=self.roughness_m / self.diameter_m,
        )
        return Terms(curves=(curve,))
