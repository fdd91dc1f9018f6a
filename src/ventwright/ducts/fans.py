"""Fans as laws: the rise they give is a negative drop, and speed goes by the fan laws."""

from __future__ import annotations

from abc import abstractmethod
from dataclasses import dataclass, replace
from math import inf

from ventwright.ducts.terms import Law, Terms, out_of_range
from ventwright.quantities.problems import Problem


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
