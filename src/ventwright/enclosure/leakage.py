"""The leakage of a house as a power law, carried to other pressures with what that costs in doubt.

Signs: a house pressure is inside less outside [Pa], so suction is negative; a net exhaust is air
that fans take out less air that fans bring in [m³/s], so a positive one pulls on the house.
"""

from __future__ import annotations

import math

from ventwright.quantities.records import dataclass
from ventwright.uncertainty import Estimate, Influence, combine, measured

DEFAULT_EXPONENT = 0.65
"""Exponent of a shell that nobody measured. Source: us_simulation_code"""
DEFAULT_EXPONENT_U = 0.06
"""Standard uncertainty of that default: measured shells lie between 0.5 and 0.8.

Source: leakage_judgement
"""
MEASURED_EXPONENT_U = 0.03
"""Standard uncertainty of an exponent fitted to several pressures, where none is given.

Source: leakage_judgement
"""
TEST_FLOW_U_FRAC = 0.05
"""Standard uncertainty of a leakage flow in calm air, as a share; windy tests do far worse.

Source: leakage_judgement
"""
EXTRAPOLATED_BELOW_PA = 4.0
"""Below this no test reads: the law is carried there, not measured. Source: leakage_judgement"""
EXTRAPOLATION_U_FRAC = 0.05
"""Doubt of the flow for each factor e of pressure below that. Source: leakage_judgement"""
PIVOT_PA = 25.0
"""Where a fitted coefficient and exponent are least correlated: the middle of a usual test from 10
to 60 Pa on a logarithmic scale. Source: leakage_judgement"""


@dataclass(frozen=True, slots=True, kw_only=True)
class LeakageLaw:
    """``flow = test_flow (|pressure| / test_pressure)^exponent``, the same in both directions.

    Parameters
    ----------
    test_flow_m3_s
        Leakage flow at the test pressure [m³/s].
    test_pressure_pa
        Test pressure [Pa].
    exponent
        Exponent [1], 0.5 (sharp openings) to 1 (fine cracks).
    is_exponent_assumed
        Whether it is the default.

    Source: us_simulation_code

    >>> law = leakage_from_test(leakage_flow_m3_s=0.5, exponent=0.65)
    >>> round(law.leak_flow(pressure_pa=-4.0).value, 5)
    0.09682
    """

    test_flow_m3_s: Estimate
    test_pressure_pa: float
    exponent: Estimate
    is_exponent_assumed: bool

    def leak_flow(self, *, pressure_pa: float) -> Estimate:
        """Flow through the shell at a pressure of either sign, as a magnitude [m³/s].

        Parameters
        ----------
        pressure_pa
            House pressure [Pa].
        """
        if pressure_pa == 0.0:
            return Estimate(value=0.0)
        share = abs(pressure_pa) / self.test_pressure_pa
        factor = share**self.exponent.value
        flow = self.test_flow_m3_s.value * factor
        return combine(
            flow,
            [(factor, self.test_flow_m3_s), (flow * math.log(share), self.exponent)],
            extra=[(_EXTRAPOLATED, flow * _u_below(pressure_pa))],
        )

    def house_pressure(self, *, net_exhaust_m3_s: Estimate) -> Estimate:
        """Pressure that a net exhaust alone gives the house: negative where it pulls [Pa].

        The law bends at zero, where its slope vanishes: the sensitivity to the flow is the secant
        over ± one standard uncertainty, so that a flow of nearly nothing, known to ± 10 m³/h, does
        not look like a pressure known exactly.

        Parameters
        ----------
        net_exhaust_m3_s
            Net exhaust [m³/s]; negative where the fans push.
        """
        net, u = net_exhaust_m3_s.value, net_exhaust_m3_s.u_std
        pressure = self._pressure_pa(net)
        n = self.exponent.value
        if u > 0.0:
            slope = (self._pressure_pa(net + u) - self._pressure_pa(net - u)) / (2.0 * u)
        else:
            slope = 0.0 if net == 0.0 else pressure / (n * net)
        terms = [(slope, net_exhaust_m3_s)]
        extra = []
        if net != 0.0:
            ratio = abs(net) / self.test_flow_m3_s.value
            terms += [
                (-pressure / (n * self.test_flow_m3_s.value), self.test_flow_m3_s),
                (-pressure * math.log(ratio) / n**2, self.exponent),
            ]
            extra = [(_EXTRAPOLATED, abs(pressure) * _u_below(pressure) / n)]
        return combine(pressure, terms, extra=extra)

    def _pressure_pa(self, net_m3_s: float) -> float:
        size = (abs(net_m3_s) / self.test_flow_m3_s.value) ** (1.0 / self.exponent.value)
        return -math.copysign(self.test_pressure_pa * size, net_m3_s)


_EXTRAPOLATED = Influence(
    id="enclosure:leakage:extrapolated", label="leakage law carried below tested pressures"
)


def is_extrapolated(*, pressure_pa: float) -> bool:
    """Whether a leakage law is carried below the pressures at which houses are tested.

    Parameters
    ----------
    pressure_pa
        House pressure of either sign [Pa].

    >>> is_extrapolated(pressure_pa=-1.2), is_extrapolated(pressure_pa=-5.0)
    (True, False)
    """
    return abs(pressure_pa) < EXTRAPOLATED_BELOW_PA


def _u_below(pressure_pa: float) -> float:
    size = max(abs(pressure_pa), 1e-12)
    return EXTRAPOLATION_U_FRAC * max(0.0, math.log(EXTRAPOLATED_BELOW_PA / size))


def leakage_from_test(
    *,
    leakage_flow_m3_s: float,
    test_pressure_pa: float = 50.0,
    exponent: float | None = None,
    u_flow_frac: float = TEST_FLOW_U_FRAC,
    u_exponent: float | None = None,
) -> LeakageLaw:
    """Leakage law from a blower-door result.

    Parameters
    ----------
    leakage_flow_m3_s
        Flow at the test pressure [m³/s], above 0.
    test_pressure_pa
        Test pressure [Pa], above 0.
    exponent
        Measured exponent [1], 0.5 to 1; None takes the default with its wider doubt.
    u_flow_frac
        Standard uncertainty of the flow as a share of it [1].
    u_exponent
        Standard uncertainty of the exponent [1]; None takes the usual one.

    Raises
    ------
    ValueError
        If a number is outside its range; the message names it.

    Source: us_simulation_code, leakage_judgement

    >>> law = leakage_from_test(leakage_flow_m3_s=0.5)
    >>> law.exponent.value, law.is_exponent_assumed
    (0.65, True)
    """
    _check("leakage_flow_m3_s", leakage_flow_m3_s, low=0.0)
    _check("test_pressure_pa", test_pressure_pa, low=0.0)
    is_assumed = exponent is None
    n = DEFAULT_EXPONENT if exponent is None else exponent
    if not 0.5 <= n <= 1.0:
        raise ValueError(f"exponent {n!r}: 0.5 to 1 is accepted")
    usual_u = DEFAULT_EXPONENT_U if is_assumed else MEASURED_EXPONENT_U
    return LeakageLaw(
        test_flow_m3_s=measured(
            leakage_flow_m3_s,
            u_std=u_flow_frac * leakage_flow_m3_s,
            id="enclosure:leakage:flow",
            label="leakage test of the house",
        ),
        test_pressure_pa=test_pressure_pa,
        exponent=measured(
            n,
            u_std=usual_u if u_exponent is None else u_exponent,
            id="enclosure:leakage:exponent",
            label="exponent of the house's leakage" + (", assumed" if is_assumed else ""),
        ),
        is_exponent_assumed=is_assumed,
    )


def leakage_from_coeff(
    *,
    leakage_coeff: float,
    exponent: float,
    u_flow_frac: float = TEST_FLOW_U_FRAC,
    u_exponent: float | None = None,
) -> LeakageLaw:
    """Leakage law from a typed coefficient and exponent of a fit.

    The two come from one fit and are strongly correlated at 1 Pa; they are taken as independent at
    25 Pa, the middle of a usual test, where they nearly are.

    Parameters
    ----------
    leakage_coeff
        Flow at 1 Pa by the fit [m³/s per Paⁿ], above 0.
    exponent
        Exponent [1], 0.5 to 1.
    u_flow_frac
        Standard uncertainty of the flow at 25 Pa as a share of it [1].
    u_exponent
        Standard uncertainty of the exponent [1]; None takes the usual one.

    Raises
    ------
    ValueError
        If a number is outside its range; the message names it.

    Source: leakage_judgement

    >>> law = leakage_from_coeff(leakage_coeff=0.04, exponent=0.65)
    >>> round(law.leak_flow(pressure_pa=1.0).value, 6)
    0.04
    """
    _check("leakage_coeff", leakage_coeff, low=0.0)
    return leakage_from_test(
        leakage_flow_m3_s=leakage_coeff * PIVOT_PA**exponent,
        test_pressure_pa=PIVOT_PA,
        exponent=exponent,
        u_flow_frac=u_flow_frac,
        u_exponent=u_exponent,
    )


def _check(name: str, value: float, *, low: float) -> None:
    if not (math.isfinite(value) and value > low):
        raise ValueError(f"{name} {value!r}: a finite number above {low:g} is accepted")
