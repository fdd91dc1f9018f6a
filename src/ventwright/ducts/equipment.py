"""What stands in the shared path, and what leaks out of it: filters, exchangers, duct leakage."""

from __future__ import annotations

from enum import StrEnum
from math import inf

from ventwright.ducts.parts import PowerLaw
from ventwright.ducts.terms import Law, Terms, out_of_range
from ventwright.quantities.problems import Problem
from ventwright.quantities.records import dataclass

FILTER_LINEAR_FRAC = 0.8
EXCHANGER_LINEAR_FRAC = 0.9


def _linear_and_quadratic(
    *, drop_pa: float, flow_m3_s: float, linear_frac: float, linear_factor: float = 1.0
) -> Terms:
    return Terms(
        linear_pa_per_m3_s=linear_factor * linear_frac * drop_pa / flow_m3_s,
        quadratic_pa_per_m6_s2=(1.0 - linear_frac) * drop_pa / (flow_m3_s * flow_m3_s),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Filter(Law):
    """A filter between clean and loaded: drop = loading · clean drop(flow).

    The clean drop is part linear, part quadratic in flow through one known point. Coarse filters
    start at 10–30 Pa, fine ones at 20–60 Pa; they are changed at two to three times that (all from
    memory).

    Parameters
    ----------
    clean_drop_pa, rated_flow_m3_s
        Drop of the clean filter at a flow, both above 0 [Pa, m³/s].
    loading_ratio
        Drop now / drop when clean at the same flow, 1 to 20.
    linear_frac
        Linear share of the drop at that flow, 0.05 to 1; 0.8 by judgement.

    Source: filter_and_exchanger_forms

    >>> Filter(clean_drop_pa=25.0, rated_flow_m3_s=0.05, loading_ratio=2.0).drop_and_slope(0.05)[0]
    50.0
    """

    clean_drop_pa: float
    rated_flow_m3_s: float
    loading_ratio: float = 1.0
    linear_frac: float = FILTER_LINEAR_FRAC

    def problems(self) -> tuple[Problem, ...]:
        """Name every field that can't be used."""
        return out_of_range(
            self,
            clean_drop_pa=(self.clean_drop_pa, -0.0, inf),
            rated_flow_m3_s=(self.rated_flow_m3_s, -0.0, inf),
            loading_ratio=(self.loading_ratio, 1.0, 20.0),
            linear_frac=(self.linear_frac, 0.05, 1.0),
        )

    def terms(self) -> Terms:
        """Take the law apart for a solver."""
        return _linear_and_quadratic(
            drop_pa=self.loading_ratio * self.clean_drop_pa,
            flow_m3_s=self.rated_flow_m3_s,
            linear_frac=self.linear_frac,
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class ExchangerCore(Law):
    """One side of a heat or energy exchanger: narrow channels, nearly laminar.

    Linear plus quadratic through one known point; with the default share the local exponent is
    1.1. The linear part goes with viscosity: air at −7 °C has 7.5 % less than at 21 °C.

    Parameters
    ----------
    rated_drop_pa, rated_flow_m3_s
        Drop at a flow, both above 0 [Pa, m³/s].
    linear_frac
        Linear share of the drop at that flow, 0.05 to 1; 0.9 by judgement.
    viscosity_ratio
        Viscosity now / viscosity of the rating, 0.5 to 2.

    Source: filter_and_exchanger_forms

    >>> core = ExchangerCore(rated_drop_pa=80.0, rated_flow_m3_s=0.05)
    >>> round(core.drop_and_slope(0.025)[0], 1)
    38.0
    """

    rated_drop_pa: float
    rated_flow_m3_s: float
    linear_frac: float = EXCHANGER_LINEAR_FRAC
    viscosity_ratio: float = 1.0

    def problems(self) -> tuple[Problem, ...]:
        """Name every field that can't be used."""
        return out_of_range(
            self,
            rated_drop_pa=(self.rated_drop_pa, -0.0, inf),
            rated_flow_m3_s=(self.rated_flow_m3_s, -0.0, inf),
            linear_frac=(self.linear_frac, 0.05, 1.0),
            viscosity_ratio=(self.viscosity_ratio, 0.5, 2.0),
        )

    def terms(self) -> Terms:
        """Take the law apart for a solver."""
        return _linear_and_quadratic(
            drop_pa=self.rated_drop_pa,
            flow_m3_s=self.rated_flow_m3_s,
            linear_frac=self.linear_frac,
            linear_factor=self.viscosity_ratio,
        )


class TightnessClass(StrEnum):
    """Air tightness classes of ducts, from leaky to tight."""

    ATC_6 = "ATC 6"
    ATC_5 = "ATC 5"
    ATC_4 = "ATC 4"
    ATC_3 = "ATC 3"
    ATC_2 = "ATC 2"
    ATC_1 = "ATC 1"


LEAKAGE_COEFF = {
    TightnessClass.ATC_6: 0.0675e-3,
    TightnessClass.ATC_5: 0.027e-3,
    TightnessClass.ATC_4: 0.009e-3,
    TightnessClass.ATC_3: 0.003e-3,
    TightnessClass.ATC_2: 0.001e-3,
    TightnessClass.ATC_1: 0.00033e-3,
}
"""Most leakage a class allows, m³/s per m² of duct at 1 Pa. Source: en_16798_3_tightness"""
LEAKAGE_EXPONENT = 0.65
LEAKAGE_AT_PA = 100.0


def duct_leakage(*, surface_m2: float, tightness: TightnessClass) -> PowerLaw:
    """Law of what a duct leaks into the space around it: flow = c · surface · pressure^0.65.

    Parameters
    ----------
    surface_m2
        Surface of the duct, above 0 [m²].
    tightness
        Class whose limit is taken as the leakage.

    Returns
    -------
    PowerLaw
        Through the point at 100 Pa.

    Source: en_16798_3_tightness

    >>> law = duct_leakage(surface_m2=10.0, tightness=TightnessClass.ATC_5)
    >>> round(law.flow_m3_s / 0.000471947, 1)
    11.4
    """
    flow_m3_s = LEAKAGE_COEFF[tightness] * surface_m2 * LEAKAGE_AT_PA**LEAKAGE_EXPONENT
    return PowerLaw(drop_pa=LEAKAGE_AT_PA, flow_m3_s=flow_m3_s, exponent=1.0 / LEAKAGE_EXPONENT)
