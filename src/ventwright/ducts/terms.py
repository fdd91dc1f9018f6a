"""What a law is made of, so that a solver, a sweep and a batch can all read it.

Every law gives a pressure drop for a signed flow as a sum of a constant, a linear and a signed
quadratic part and, where that is not enough, *curves* (friction, powers, fans by points). The drop
never falls when the flow rises, the sign of flow reverses the sign of the drop of every passive
part, and value and slope are continuous through zero flow. Those three properties make a tree of
laws a convex problem with one answer.
"""

from __future__ import annotations

from abc import ABC, abstractmethod
from math import copysign, inf, isfinite
from typing import TYPE_CHECKING, Protocol

from ventwright.quantities.problems import Problem, Severity, UserError
from ventwright.quantities.records import dataclass

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable


class Curve(Protocol):
    """A part of a law that is neither constant, linear nor quadratic."""

    def function(self) -> Callable[[float], tuple[float, float]]:
        """Give the function of signed flow [m³/s] that returns drop [Pa] and slope [Pa·s/m³]."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Terms:
    """A law taken apart: constant + (quadratic·|flow| + linear)·flow + curves.

    Parameters
    ----------
    constant_pa
        Drop at zero flow; negative for a fan.
    linear_pa_per_m3_s
        Coefficient of flow, at least zero.
    quadratic_pa_per_m6_s2
        Coefficient of flow·|flow|, at least zero.
    curves
        Further parts.
    is_closed
        True where nothing passes, whatever the pressure.
    """

    constant_pa: float = 0.0
    linear_pa_per_m3_s: float = 0.0
    quadratic_pa_per_m6_s2: float = 0.0
    curves: tuple[Curve, ...] = ()
    is_closed: bool = False

    def drop_and_slope(self, flow_m3_s: float) -> tuple[float, float]:
        """Drop [Pa] and its slope [Pa·s/m³] at a signed flow; a closed law has none."""
        if self.is_closed:
            msg = "a closed part has no drop: nothing passes, whatever the pressure"
            raise UserError(msg)
        steep = self.quadratic_pa_per_m6_s2 * abs(flow_m3_s)
        drop_pa = self.constant_pa + (steep + self.linear_pa_per_m3_s) * flow_m3_s
        slope = steep + steep + self.linear_pa_per_m3_s
        for curve in self.curves:
            more_pa, more_slope = curve.function()(flow_m3_s)
            drop_pa += more_pa
            slope += more_slope
        return drop_pa, slope


class Law(ABC):
    """A frozen dataclass of `ducts` that turns a signed flow into a pressure drop."""

    __slots__ = ()

    @abstractmethod
    def terms(self) -> Terms:
        """Take the law apart for a solver."""

    def problems(self) -> tuple[Problem, ...]:
        """Name every field whose value the law can't use; empty when all is well."""
        return ()

    def reservations(self, flow_m3_s: float) -> tuple[Problem, ...]:
        """Say where a drop at this flow rests on less than the law's source carries.

        Parameters
        ----------
        flow_m3_s
            Flow [m³/s].
        """
        del flow_m3_s
        return ()

    def drop_and_slope(self, flow_m3_s: float) -> tuple[float, float]:
        """Pressure drop and its slope at a signed flow.

        Parameters
        ----------
        flow_m3_s
            Flow [m³/s], positive in the direction of design flow; zero and negative are ordinary.

        Returns
        -------
        tuple of float
            Drop [Pa], negative for a fan that lifts the pressure, and its slope [Pa·s/m³] ≥ 0.

        Raises
        ------
        UserError
            The flow is not a finite number, a field can't be used, or the law is `Closed`.
        """
        if not isfinite(flow_m3_s):
            msg = f"flow_m3_s is {flow_m3_s}: a finite flow in m³/s is needed"
            raise UserError(msg)
        require_usable(self)
        return self.terms().drop_and_slope(flow_m3_s)


def require_usable(law: Law) -> None:
    """Refuse a law that has a field it can't use.

    Parameters
    ----------
    law
        Any law.

    Raises
    ------
    UserError
        All such fields are named.

    >>> from ventwright.ducts import Polynomial
    >>> require_usable(Polynomial(linear_pa_per_m3_s=3.0))
    """
    problems = law.problems()
    if problems:
        raise UserError("; ".join(p.message for p in problems), problems=problems)


def added(laws: Iterable[Law]) -> Terms:
    """Put laws in series: the same flow through all, the drops added.

    Parameters
    ----------
    laws
        The parts in any order, known to be usable (see `require_usable`); none has no drop.

    Returns
    -------
    Terms
        The sum.

    >>> from ventwright.ducts import Polynomial
    >>> added([Polynomial(linear_pa_per_m3_s=3.0)] * 2).drop_and_slope(0.5)
    (3.0, 6.0)
    """
    constant = linear = quadratic = 0.0
    curves: tuple[Curve, ...] = ()
    is_closed = False
    for law in laws:
        terms = law.terms()
        constant += terms.constant_pa
        linear += terms.linear_pa_per_m3_s
        quadratic += terms.quadratic_pa_per_m6_s2
        curves += terms.curves
        is_closed = is_closed or terms.is_closed
    return Terms(
        constant_pa=constant,
        linear_pa_per_m3_s=linear,
        quadratic_pa_per_m6_s2=quadratic,
        curves=curves,
        is_closed=is_closed,
    )


def out_of_range(law: object, **fields: tuple[float, float, float]) -> tuple[Problem, ...]:
    """Name the fields that lie outside what the law accepts.

    Parameters
    ----------
    law
        The law whose class name stands in the message.
    **fields
        For each field: value, least, greatest. Least itself is excluded when it is zero with a
        negative sign (`-0.0` says "more than zero"), otherwise both ends belong to the range.

    Returns
    -------
    tuple of Problem
        One for each field that is not finite or lies outside.
    """
    found = []
    for name, (value, least, greatest) in fields.items():
        # A value of either sign of zero passes the comparison; -0.0 as least shuts it out.
        if least <= value <= greatest and value not in (0.0, inf):
            continue
        strictly = least == 0.0 and copysign(1.0, least) < 0.0
        if value == 0.0 and least <= 0.0 <= greatest and not strictly:
            continue
        floor = "more than 0" if strictly else f"at least {least:g}"
        ceiling = f" and at most {greatest:g}" if isfinite(greatest) else ""
        found.append(
            Problem(
                code="value-out-of-range",
                where=name,
                message=f"{type(law).__name__}.{name} is {value:g}, {floor}{ceiling} is accepted",
                remedy=f"give a value {floor}{ceiling}",
                severity=Severity.MISTAKE,
            )
        )
    return tuple(found)
