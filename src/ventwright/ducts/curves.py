"""The curves that laws are made of beside constant, linear and quadratic parts.

Each is a few plain numbers and gives a function of flow; the numbers serve the batch form too.
"""

from __future__ import annotations

from math import log, sqrt
from typing import TYPE_CHECKING

from ventwright.ducts.tables import MonotoneCurve
from ventwright.quantities.records import dataclass

if TYPE_CHECKING:
    from collections.abc import Callable

LAMINAR_END_REYNOLDS = 2000.0
TURBULENT_START_REYNOLDS = 4000.0
HAALAND_PER_LN = -1.8 / log(10.0)
COLEBROOK_PER_LN = 2.0 / log(10.0)
SMOOTH_PER_LN = 2.51 * COLEBROOK_PER_LN
BEND = -6.9 * HAALAND_PER_LN / COLEBROOK_PER_LN


def turbulent_resistance(
    *,
    reynolds: float,
    rough: float,
    haaland: float,
    ln: Callable[[float], float] = log,
) -> tuple[float, float]:
    """Darcy friction times Re², and its slope against Re, in turbulent flow.

    Haaland's formula gives 1/√f; one Newton step on Colebrook's equation mends it. With NumPy's
    logarithm the same lines serve arrays.

    Parameters
    ----------
    reynolds
        Reynolds number, above `TURBULENT_START_REYNOLDS`.
    rough
        Relative roughness / 3.7.
    haaland
        `rough` to the power 1.11.
    ln
        Natural logarithm.

    Returns
    -------
    tuple of float
        f·Re² and d(f·Re²)/dRe.
    """
    w = 1.0 / reynolds
    t = haaland + 6.9 * w
    x0 = HAALAND_PER_LN * ln(t)
    y = rough + 2.51 * w * x0
    m = SMOOTH_PER_LN / y
    mw = m * w
    gap = x0 + COLEBROOK_PER_LN * ln(y)
    steep = 1.0 + mw
    x1 = x0 - gap / steep
    # Slope of the Newton step itself: Haaland's slope enters only through the bend of the gap.
    bend = m * rough / y + BEND * mw * mw / t
    x1_per_w = (gap * bend / steep - m * x0) / steep
    square = x1 * x1
    return reynolds * reynolds / square, 2.0 * (reynolds + x1_per_w / x1) / square


@dataclass(frozen=True, slots=True, kw_only=True)
class FrictionCurve:
    """Wall friction over all Reynolds numbers: drop = `drop_per_fre2_pa` · f·Re².

    Laminar below Re 2000 (f = `laminar_coeff`/Re), Colebrook above Re 4000, and between them the
    cubic in Re that joins f·Re² with its slope at both ends; it rises throughout.
    """

    drop_per_fre2_pa: float
    reynolds_per_m3_s: float
    roughness_ratio: float
    laminar_coeff: float = 64.0

    def blend(self) -> tuple[float, float, float]:
        """Coefficients of t, t² and t³ of f·Re² − laminar end, with t = (Re − 2000)/2000."""
        span = TURBULENT_START_REYNOLDS - LAMINAR_END_REYNOLDS
        rough = self.roughness_ratio / 3.7
        end, end_slope = turbulent_resistance(
            reynolds=TURBULENT_START_REYNOLDS, rough=rough, haaland=rough**1.11
        )
        rise = end - self.laminar_coeff * LAMINAR_END_REYNOLDS
        m0 = self.laminar_coeff * span
        m1 = end_slope * span
        return m0, 3.0 * rise - 2.0 * m0 - m1, m0 + m1 - 2.0 * rise

    def function(self) -> Callable[[float], tuple[float, float]]:
        """Give the function of signed flow [m³/s] that returns drop [Pa] and slope [Pa·s/m³]."""
        to_re = self.reynolds_per_m3_s
        per_fre2 = self.drop_per_fre2_pa
        per_slope = per_fre2 * to_re
        rough = self.roughness_ratio / 3.7
        haaland = rough**1.11
        laminar = per_slope * self.laminar_coeff
        start = self.laminar_coeff * LAMINAR_END_REYNOLDS
        span = TURBULENT_START_REYNOLDS - LAMINAR_END_REYNOLDS
        m0, c2, c3 = self.blend()

        def friction(flow: float) -> tuple[float, float]:
            reynolds = abs(flow) * to_re
            if reynolds <= LAMINAR_END_REYNOLDS:
                return laminar * flow, laminar
            if reynolds < TURBULENT_START_REYNOLDS:
                t = (reynolds - LAMINAR_END_REYNOLDS) / span
                drop = per_fre2 * (start + t * (m0 + t * (c2 + t * c3)))
                slope = per_slope * (m0 + t * (2.0 * c2 + t * 3.0 * c3)) / span
                return (drop, slope) if flow > 0.0 else (-drop, slope)
            fre2, fre2_slope = turbulent_resistance(reynolds=reynolds, rough=rough, haaland=haaland)
            drop = per_fre2 * fre2
            return (drop if flow > 0.0 else -drop), per_slope * fre2_slope

        return friction


@dataclass(frozen=True, slots=True, kw_only=True)
class PowerCurve:
    """Drop = `coeff` · flow · (flow² + soft²)^((exponent − 1)/2).

    Above a few times `soft_m3_s` this is coeff·flow^exponent; at zero flow it is linear, so its
    slope is neither zero nor infinite there.
    """

    coeff: float
    exponent: float
    soft_m3_s: float

    def function(self) -> Callable[[float], tuple[float, float]]:
        """Give the function of signed flow [m³/s] that returns drop [Pa] and slope [Pa·s/m³]."""
        coeff, exponent = self.coeff, self.exponent
        soft2 = self.soft_m3_s * self.soft_m3_s
        half = 0.5 * (exponent - 3.0)

        def power(flow: float) -> tuple[float, float]:
            square = flow * flow
            u = square + soft2
            base = coeff * u**half
            return base * u * flow, base * (exponent * square + soft2)

        return power


@dataclass(frozen=True, slots=True, kw_only=True)
class PointsFanCurve:
    """Drop = −rise of a fan by points at a speed, by the fan laws: rise = speed²·R(flow/speed).

    R is the monotone curve through the points. Below the first point it goes on straight; beyond
    the last one, and for flow against the fan, it falls with the square of flow, which needs no
    speed to divide by: at speed 0 what is left is the resistance of a standing wheel.
    """

    points: MonotoneCurve
    speed_frac: float

    @property
    def beyond_pa_per_m6_s2(self) -> float:
        """Coefficient of flow² beyond the last point that continues value and slope there."""
        return -self.points.slopes[-1] / (2.0 * self.points.x[-1])

    def function(self) -> Callable[[float], tuple[float, float]]:
        """Give the function of signed flow [m³/s] that returns drop [Pa] and slope [Pa·s/m³]."""
        speed = self.speed_frac
        square = speed * speed
        first_slope = self.points.slopes[0]
        last = self.points.x[-1] * speed
        steep = self.beyond_pa_per_m6_s2
        start = square * (self.points.y[0] - first_slope * self.points.x[0])
        end = square * self.points.y[-1] + steep * last * last
        inside = self.points.value_and_slope

        def fan(flow: float) -> tuple[float, float]:
            if flow >= last:
                return steep * flow * flow - end, 2.0 * steep * flow
            if flow <= 0.0:
                against = steep * flow
                return (
                    -start - speed * first_slope * flow - against * flow,
                    -speed * first_slope - 2.0 * against,
                )
            rise, slope = inside(flow / speed)
            return -square * rise, -speed * slope

        return fan


@dataclass(frozen=True, slots=True, kw_only=True)
class SteadyFlowCurve:
    """Drop = −rise of a fan that holds its flow within a droop as long as it has the pressure.

    Rise is the steep line through the set flow, but no more than the fan gives at full speed and
    no less than the resistance of a standing wheel; corners are rounded over about 1 Pa.
    """

    fan: PointsFanCurve
    flow_m3_s: float
    full_pa: float
    droop_frac: float

    def line_slope(self) -> float:
        """Fall of the steep line [Pa·s/m³]."""
        return self.full_pa / (self.droop_frac * self.flow_m3_s)

    def function(self) -> Callable[[float], tuple[float, float]]:
        """Give the function of signed flow [m³/s] that returns drop [Pa] and slope [Pa·s/m³]."""
        full = self.fan.function()
        line_slope = self.line_slope()

        def steady(flow: float) -> tuple[float, float]:
            drop, slope = full(flow)
            rise, line_share, full_share, still_slope = self.weights_at(flow, most_pa=-drop)
            return -rise, line_share * line_slope + full_share * slope + still_slope

        return steady

    def weights(self, flow_m3_s: float) -> tuple[float, float, float, float]:
        """Rise, shares of the steep line and of the full curve in its slope, and the rest of it."""
        return self.weights_at(flow_m3_s, most_pa=-self.fan.function()(flow_m3_s)[0])

    def weights_at(
        self, flow_m3_s: float, *, most_pa: float, root: Callable[[float], float] = sqrt
    ) -> tuple[float, float, float, float]:
        """The same with the rise at full speed given; NumPy's root makes it serve arrays."""
        line = self.line_slope() * (self.flow_m3_s * (1.0 + 0.5 * self.droop_frac) - flow_m3_s)
        steep = self.fan.beyond_pa_per_m6_s2
        still = -steep * flow_m3_s * abs(flow_m3_s)
        gap = line - most_pa
        round_off = root(gap * gap + 1.0)
        low = 0.5 * (line + most_pa - round_off)
        line_share = 0.5 * (1.0 - gap / round_off)
        gap = low - still
        round_off = root(gap * gap + 1.0)
        rise = 0.5 * (low + still + round_off)
        share = 0.5 * (1.0 + gap / round_off)
        still_slope = (1.0 - share) * 2.0 * steep * abs(flow_m3_s)
        return rise, share * line_share, share * (1.0 - line_share), still_slope
