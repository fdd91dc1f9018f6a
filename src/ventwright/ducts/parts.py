"""Laws of single parts that need only a few numbers: losses, openings, filters, exchangers."""

from __future__ import annotations

from math import inf, sqrt

from ventwright.ducts.curves import PowerCurve
from ventwright.ducts.terms import Law, Terms, out_of_range
from ventwright.quantities.problems import Problem
from ventwright.quantities.records import dataclass

SOFT_RATIO = 1e-4
"""A power law turns linear below this share of its reference flow."""
LINEAR_PRESSURE_PA = 1e-10
"""An opening's quadratic law carries a linear part equal to it at this pressure, so that its slope
at zero flow is not zero; at 1 Pa the linear part is 1e-5 of the drop."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Polynomial(Law):
    """Drop = linear·flow + quadratic·flow·|flow|; the plainest law, for models and fits.

    Parameters
    ----------
    linear_pa_per_m3_s
        At least 0 [Pa·s/m³].
    quadratic_pa_per_m6_s2
        At least 0 [Pa·s²/m⁶].

    >>> Polynomial(linear_pa_per_m3_s=100.0, quadratic_pa_per_m6_s2=1e4).drop_and_slope(-0.02)
    (-6.0, 500.0)
    """

    linear_pa_per_m3_s: float = 0.0
    quadratic_pa_per_m6_s2: float = 0.0

    def problems(self) -> tuple[Problem, ...]:
        """Name every field that can't be used."""
        return out_of_range(
            self,
            linear_pa_per_m3_s=(self.linear_pa_per_m3_s, 0.0, inf),
            quadratic_pa_per_m6_s2=(self.quadratic_pa_per_m6_s2, 0.0, inf),
        )

    def terms(self) -> Terms:
        """Take the law apart for a solver."""
        return Terms(
            linear_pa_per_m3_s=self.linear_pa_per_m3_s,
            quadratic_pa_per_m6_s2=self.quadratic_pa_per_m6_s2,
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class PowerLaw(Law):
    """Drop = `drop_pa` · (flow / `flow_m3_s`)^`exponent`, through one known point.

    Below 1e-4 of the reference flow the law turns linear, so that slope stays finite and above
    zero. Cracks, leaky ducts and house shells: flow exponent 0.60–0.65, which is 1/0.65 here.

    Parameters
    ----------
    drop_pa, flow_m3_s
        A point of the law, both above 0 [Pa, m³/s].
    exponent
        Of flow, from 0.5 to 3; the inverse of the exponent of pressure.

    Source: airflow_exponents

    >>> round(PowerLaw(drop_pa=50.0, flow_m3_s=0.1, exponent=1 / 0.65).drop_and_slope(0.05)[0], 2)
    17.21
    """

    drop_pa: float
    flow_m3_s: float
    exponent: float

    def problems(self) -> tuple[Problem, ...]:
        """Name every field that can't be used."""
        return out_of_range(
            self,
            drop_pa=(self.drop_pa, -0.0, inf),
            flow_m3_s=(self.flow_m3_s, -0.0, inf),
            exponent=(self.exponent, 0.5, 3.0),
        )

    def terms(self) -> Terms:
        """Take the law apart for a solver."""
        curve = PowerCurve(
            coeff=self.drop_pa / self.flow_m3_s**self.exponent,
            exponent=self.exponent,
            soft_m3_s=SOFT_RATIO * self.flow_m3_s,
        )
        return Terms(curves=(curve,))


@dataclass(frozen=True, slots=True, kw_only=True)
class FlowFactorOpening(Law):
    """A terminal, grille or orifice known by its flow factor: flow = factor · √drop.

    Parameters
    ----------
    flow_factor
        Flow at a drop of 1 Pa, above 0 [m³/s per √Pa]. 1 L/s per √Pa is 0.001.

    Notes
    -----
    The factor belongs to one air density; see `flow_factor_at_density`.

    >>> round(FlowFactorOpening(flow_factor=1.5e-3).drop_and_slope(4.743e-3)[0], 1)
    10.0
    """

    flow_factor: float

    def problems(self) -> tuple[Problem, ...]:
        """Name every field that can't be used."""
        return out_of_range(self, flow_factor=(self.flow_factor, -0.0, inf))

    def terms(self) -> Terms:
        """Take the law apart for a solver."""
        return Terms(
            linear_pa_per_m3_s=sqrt(LINEAR_PRESSURE_PA) / self.flow_factor,
            quadratic_pa_per_m6_s2=1.0 / (self.flow_factor * self.flow_factor),
        )


def flow_factor_at_density(
    *, flow_factor: float, stated_density_kg_m3: float, density_kg_m3: float
) -> float:
    """Flow factor at another air density: flow at the same drop goes with 1/√density.

    Parameters
    ----------
    flow_factor
        As stated [m³/s per √Pa].
    stated_density_kg_m3
        Density to which it was stated [kg/m³], above 0.
    density_kg_m3
        Density now [kg/m³], above 0.

    Returns
    -------
    float
        Flow factor now [m³/s per √Pa].

    >>> round(flow_factor_at_density(flow_factor=2e-3, stated_density_kg_m3=1.2,
    ...                              density_kg_m3=0.97) * 1e3, 3)
    2.225
    """
    return flow_factor * sqrt(stated_density_kg_m3 / density_kg_m3)


@dataclass(frozen=True, slots=True, kw_only=True)
class Closed(Law):
    """A capped end or a tight damper: no flow, whatever the pressure.

    >>> Closed().terms().is_closed
    True
    """

    def terms(self) -> Terms:
        """Take the law apart for a solver."""
        return Terms(is_closed=True)
