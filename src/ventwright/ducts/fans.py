"""Fans as laws: the rise they give is a negative drop, and speed goes by the fan laws."""

from __future__ import annotations

from abc import abstractmethod
from itertools import pairwise
from math import inf

from ventwright.ducts.curves import PointsFanCurve, SteadyFlowCurve
from ventwright.ducts.tables import monotone_curve
from ventwright.ducts.terms import Law, Terms, out_of_range
from ventwright.quantities.problems import Problem, Severity, UserError
from ventwright.quantities.records import dataclass, replace


class FanLaw(Law):
    """A law that lifts pressure and has a speed."""

    __slots__ = ()

    speed_frac: float

    @abstractmethod
    def speed_slope_pa(self, flow_m3_s: float) -> float:
        """Rise [Pa] per unit of `speed_frac` at the same flow."""

    def at_speed(self, speed_frac: float) -> FanLaw:
        """Give the same fan at another speed."""
        return replace(self, speed_frac=speed_frac)  # type: ignore[type-var]


@dataclass(frozen=True, slots=True, kw_only=True)
class ParabolicFan(FanLaw):
    """Rise = shut-off · (speed² − flow·|flow| / free-flow²).

    Follows the fan laws exactly: at another speed flow goes with speed and rise with its square.

    Parameters
    ----------
    shut_off_pa
        Rise at zero flow and speed 1, above 0 [Pa].
    free_flow_m3_s
        Flow at zero rise and speed 1, above 0 [m³/s].
    speed_frac
        Speed against the one the two figures belong to, from 0 to 2.

    >>> fan = ParabolicFan(shut_off_pa=300.0, free_flow_m3_s=0.1)
    >>> fan.drop_and_slope(0.05)[0], fan.at_speed(0.5).drop_and_slope(0.025)[0]
    (-225.0, -56.25)
    """

    shut_off_pa: float
    free_flow_m3_s: float
    speed_frac: float = 1.0

    def problems(self) -> tuple[Problem, ...]:
        """Name every field that can't be used."""
        return out_of_range(
            self,
            shut_off_pa=(self.shut_off_pa, -0.0, inf),
            free_flow_m3_s=(self.free_flow_m3_s, -0.0, inf),
            speed_frac=(self.speed_frac, 0.0, 2.0),
        )

    def terms(self) -> Terms:
        """Take the law apart for a solver."""
        return Terms(
            constant_pa=-self.shut_off_pa * self.speed_frac * self.speed_frac,
            quadratic_pa_per_m6_s2=self.shut_off_pa / (self.free_flow_m3_s * self.free_flow_m3_s),
        )

    def speed_slope_pa(self, flow_m3_s: float) -> float:
        """Rise [Pa] per unit of `speed_frac` at the same flow; here flow does not matter."""
        del flow_m3_s
        return 2.0 * self.shut_off_pa * self.speed_frac


@dataclass(frozen=True, slots=True, kw_only=True)
class FanPoint:
    """A point of a fan curve.

    Parameters
    ----------
    flow_m3_s
        Flow, at least 0 [m³/s].
    rise_pa
        Rise of pressure there [Pa].
    """

    flow_m3_s: float
    rise_pa: float


@dataclass(frozen=True, slots=True, kw_only=True)
class FanCurve(FanLaw):
    """A fan by points of its curve: monotone cubic between them, fan laws for speed.

    Beyond the last point and for reversed flow the curve goes on falling with the square of flow;
    before the first it goes on straight. Those parts are for the solver's safety: an answer there
    is outside what the maker states.

    Parameters
    ----------
    points
        At speed 1, at least two; flow rises and rise falls from point to point, so that there is
        one operating point.
    speed_frac
        Speed against the one the points belong to, 0 to 2.

    Source: fritsch_butland_1984

    >>> fan = FanCurve(points=(FanPoint(flow_m3_s=0.0, rise_pa=300.0),
    ...                        FanPoint(flow_m3_s=0.06, rise_pa=200.0),
    ...                        FanPoint(flow_m3_s=0.1, rise_pa=0.0)))
    >>> fan.drop_and_slope(0.06)[0], fan.at_speed(0.5).drop_and_slope(0.03)[0]
    (-200.0, -50.0)
    """

    points: tuple[FanPoint, ...]
    speed_frac: float = 1.0

    def problems(self) -> tuple[Problem, ...]:
        """Name every field that can't be used."""
        found = list(out_of_range(self, speed_frac=(self.speed_frac, 0.0, 2.0)))
        if len(self.points) < 2:
            found.append(_curve_problem("points", "has fewer than two points"))
        for i, point in enumerate(self.points):
            found += [
                replace(problem, where=f"points[{i}].{problem.where}")
                for problem in out_of_range(
                    point,
                    flow_m3_s=(point.flow_m3_s, 0.0, inf),
                    rise_pa=(point.rise_pa, -inf, inf),
                )
            ]
        for i, (here, there) in enumerate(pairwise(self.points)):
            if not here.flow_m3_s < there.flow_m3_s:
                found.append(_curve_problem(f"points[{i + 1}]", "does not go on to a greater flow"))
            if not here.rise_pa > there.rise_pa:
                found.append(
                    _curve_problem(
                        f"points[{i + 1}]",
                        f"rises or stays level from {here.rise_pa:g} to {there.rise_pa:g} Pa: "
                        "more than one operating point may exist",
                    )
                )
        return tuple(found)

    def reservations(self, flow_m3_s: float) -> tuple[Problem, ...]:
        """Say where the flow lies beyond the points, or against the fan."""
        first, last = (self.speed_frac * self.points[end].flow_m3_s for end in (0, -1))
        if first <= flow_m3_s <= last:
            return ()
        where = "against the fan" if flow_m3_s < 0.0 else "outside the points of its curve"
        return (
            Problem(
                code="fan-outside-its-curve",
                where="points",
                message=f"the fan runs at {flow_m3_s:.4g} m³/s, {where} "
                f"({first:.4g} to {last:.4g} m³/s at this speed)",
                remedy="give points of the fan curve up to this flow",
                severity=Severity.WARNING,
            ),
        )

    def curve(self) -> PointsFanCurve:
        """Curve of the drop (the negative rise) at the set speed."""
        return PointsFanCurve(
            points=monotone_curve(
                [point.flow_m3_s for point in self.points],
                [point.rise_pa for point in self.points],
            ),
            speed_frac=self.speed_frac,
        )

    def terms(self) -> Terms:
        """Take the law apart for a solver."""
        return Terms(curves=(self.curve(),))

    def speed_slope_pa(self, flow_m3_s: float) -> float:
        """Rise [Pa] per unit of `speed_frac` at the same flow.

        By the fan laws rise is of second degree in speed and flow together, so speed·slope by
        speed = 2·rise − flow·slope by flow.
        """
        if self.speed_frac == 0.0:
            points = self.curve().points
            return points.slopes[0] * flow_m3_s if flow_m3_s < 0.0 else 0.0
        drop_pa, slope = self.drop_and_slope(flow_m3_s)
        return (slope * flow_m3_s - 2.0 * drop_pa) / self.speed_frac


def _curve_problem(where: str, what: str) -> Problem:
    return Problem(
        code="fan-curve-not-falling",
        where=where,
        message=f"FanCurve.{where} {what}",
        remedy="give points with flow rising and pressure falling, beyond any stall hump",
        severity=Severity.MISTAKE,
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class SteadyFlowFan(FanLaw):
    """A fan that holds its flow whatever the duct, as far as its curve at full speed allows.

    Parameters
    ----------
    set_flow_m3_s
        Flow it is set to at `speed_frac` 1, above 0 [m³/s].
    full
        Its curve at full speed.
    droop_frac
        Spread of flow between no rise and shut-off rise, against the set flow, 0.001 to 0.5;
        0.02 by judgement.
    speed_frac
        Factor on the set flow, above 0, to 2.

    >>> full = FanCurve(points=(FanPoint(flow_m3_s=0.0, rise_pa=300.0),
    ...                         FanPoint(flow_m3_s=0.1, rise_pa=0.0)))
    >>> fan = SteadyFlowFan(set_flow_m3_s=0.04, full=full)
    >>> round(fan.drop_and_slope(0.04)[0], 1), round(fan.drop_and_slope(0.0)[0], 1)
    (-150.0, -300.0)
    """

    set_flow_m3_s: float
    full: FanCurve
    droop_frac: float = 0.02
    speed_frac: float = 1.0

    def problems(self) -> tuple[Problem, ...]:
        """Name every field that can't be used."""
        return self.full.problems() + out_of_range(
            self,
            set_flow_m3_s=(self.set_flow_m3_s, -0.0, inf),
            droop_frac=(self.droop_frac, 0.001, 0.5),
            speed_frac=(self.speed_frac, -0.0, 2.0),
        )

    def reservations(self, flow_m3_s: float) -> tuple[Problem, ...]:
        """Say where the fan no longer holds its flow, or its full curve is left."""
        set_m3_s = self.set_flow_m3_s * self.speed_frac
        if abs(flow_m3_s / set_m3_s - 1.0) <= self.droop_frac:
            return ()
        short = Problem(
            code="fan-misses-its-flow",
            where="set_flow_m3_s",
            message=f"the fan is set to {set_m3_s:.4g} m³/s and runs at {flow_m3_s:.4g} m³/s",
            remedy="look for a blocked path, or set a flow the fan can reach",
            severity=Severity.WARNING,
        )
        return (short, *self.full.reservations(flow_m3_s))

    def curve(self) -> SteadyFlowCurve:
        """Curve of the drop (the negative rise)."""
        full = self.full.curve()
        return SteadyFlowCurve(
            fan=full,
            flow_m3_s=self.set_flow_m3_s * self.speed_frac,
            full_pa=-full.function()(0.0)[0],
            droop_frac=self.droop_frac,
        )

    def terms(self) -> Terms:
        """Take the law apart for a solver."""
        return Terms(curves=(self.curve(),))

    def speed_slope_pa(self, flow_m3_s: float) -> float:
        """Rise [Pa] per unit of `speed_frac` at the same flow."""
        curve = self.curve()
        line_share = curve.weights(flow_m3_s)[1]
        # The line is full/droop·(1 + droop/2 − flow/set): only its last part moves with it.
        return line_share * curve.line_slope() * flow_m3_s / self.speed_frac


def fan_power_w(*, flow_m3_s: float, rise_pa: float, efficiency_frac: float) -> float:
    """Electric power of a fan from what it does: flow · rise / efficiency.

    Parameters
    ----------
    flow_m3_s
        Flow, at least 0 [m³/s].
    rise_pa
        Total rise, at least 0 [Pa].
    efficiency_frac
        Of fan, motor and electronics together, above 0; small house fans reach 0.15 to 0.45.

    Returns
    -------
    float
        Power [W].

    Raises
    ------
    UserError
        The efficiency is not above 0 and at most 1.

    >>> round(fan_power_w(flow_m3_s=0.0472, rise_pa=150.0, efficiency_frac=0.25), 1)
    28.3
    """
    if not 0.0 < efficiency_frac <= 1.0:
        msg = f"efficiency_frac is {efficiency_frac:g}: above 0 and at most 1 is accepted"
        raise UserError(msg)
    return flow_m3_s * rise_pa / efficiency_frac


def fan_power_at_speed_w(
    *, full_power_w: float, standby_power_w: float, speed_frac: float, exponent: float = 3.0
) -> float:
    """Electric power at another speed in the same duct: standby + (full − standby) · speed^3.

    Parameters
    ----------
    full_power_w, standby_power_w
        Power at speed 1 and of the electronics alone [W].
    speed_frac
        Speed against speed 1, at least 0.
    exponent
        3 by the fan laws; 2 to 2.7 is met in the field (from memory).

    Returns
    -------
    float
        Power [W].

    Source: fan_laws

    >>> round(fan_power_at_speed_w(full_power_w=80.0, standby_power_w=4.0, speed_frac=0.6), 1)
    20.4
    """
    return standby_power_w + (full_power_w - standby_power_w) * float(speed_frac**exponent)
