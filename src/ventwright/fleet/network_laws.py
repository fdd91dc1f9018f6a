"""The laws of a prepared network over many houses at once: rows are links, columns houses."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from typing import Any, cast

import numpy as np
from numpy.typing import NDArray

from ventwright.ducts import (
    Curve,
    FanLaw,
    FrictionCurve,
    PointsFanCurve,
    PowerCurve,
    SteadyFlowCurve,
    added,
)
from ventwright.ducts.curves import (
    LAMINAR_END_REYNOLDS,
    TURBULENT_START_REYNOLDS,
    turbulent_resistance,
)
from ventwright.network import Prepared

Array = NDArray[np.float64]
CurveFunction = Callable[[Array], tuple[Array, Array]]


@dataclass(frozen=True, slots=True, kw_only=True)
class FrictionRows:
    """All friction curves of a network; each number is a column over the curves.

    Parameters
    ----------
    entries
        Entry of each curve.
    ratio
        Factor on its drop, a column or one for each house.
    """

    entries: NDArray[np.intp]
    ratio: Array
    drop_per_fre2_pa: Array
    reynolds_per_m3_s: Array
    laminar_coeff: Array
    rough: Array
    blend: tuple[Array, Array, Array]

    def drop_and_slope(self, flow: Array) -> tuple[Array, Array]:
        """Drop [Pa] and slope [Pa·s/m³] of each curve at flows [m³/s]."""
        reynolds = np.abs(flow) * self.reynolds_per_m3_s
        fre2, steep = turbulent_resistance(
            reynolds=cast(Any, np.maximum(reynolds, TURBULENT_START_REYNOLDS)),
            rough=cast(Any, self.rough),
            haaland=cast(Any, self.rough**1.11),
            ln=cast(Any, np.log),
        )
        is_slow = reynolds < TURBULENT_START_REYNOLDS
        if np.any(is_slow):
            fre2, steep = self._slow(reynolds, is_slow, fre2, steep)
        scale = self.ratio * self.drop_per_fre2_pa
        drop = np.copysign(scale * fre2, flow)
        return drop, scale * self.reynolds_per_m3_s * steep

    def _slow(self, reynolds: Array, is_slow: Any, fre2: Any, steep: Any) -> tuple[Any, Any]:
        """Put laminar flow and the cubic up to turbulent flow in their places."""
        span = TURBULENT_START_REYNOLDS - LAMINAR_END_REYNOLDS
        t = np.clip((reynolds - LAMINAR_END_REYNOLDS) / span, 0.0, 1.0)
        m0, c2, c3 = self.blend
        start = self.laminar_coeff * LAMINAR_END_REYNOLDS
        blended = start + t * (m0 + t * (c2 + t * c3))
        blend_slope = (m0 + t * (2.0 * c2 + t * 3.0 * c3)) / span
        is_laminar = reynolds <= LAMINAR_END_REYNOLDS
        blended = np.where(is_laminar, self.laminar_coeff * reynolds, blended)
        blend_slope = np.where(is_laminar, self.laminar_coeff, blend_slope)
        return np.where(is_slow, blended, fre2), np.where(is_slow, blend_slope, steep)

    def take(self, houses: NDArray[np.intp]) -> FrictionRows:
        """Keep some houses."""
        return replace(self, ratio=taken(self.ratio, houses))


@dataclass(frozen=True, slots=True, kw_only=True)
class ManyLaws:
    """Coefficients of every entry over houses; one column where all houses agree."""

    constant: Array
    linear: Array
    quadratic: Array
    friction: FrictionRows | None
    others: tuple[tuple[int, Curve, Array], ...]

    def drop_and_slope(self, flow: Array) -> tuple[Array, Array]:
        """Drop [Pa] and slope [Pa·s/m³] of every entry at flows [m³/s]."""
        steep = self.quadratic * np.abs(flow)
        drop = self.constant + (steep + self.linear) * flow
        slope = steep + steep + self.linear
        if self.friction is not None:
            more, more_slope = self.friction.drop_and_slope(flow[self.friction.entries])
            for k, i in enumerate(self.friction.entries):
                drop[i] += more[k]
                slope[i] += more_slope[k]
        for i, curve, ratio in self.others:
            more, more_slope = curve_function(curve)(flow[i])
            drop[i] += ratio * more
            slope[i] += ratio * more_slope
        return drop, slope

    def take(self, houses: NDArray[np.intp]) -> ManyLaws:
        """Keep some houses."""
        return ManyLaws(
            constant=taken(self.constant, houses),
            linear=taken(self.linear, houses),
            quadratic=taken(self.quadratic, houses),
            friction=None if self.friction is None else self.friction.take(houses),
            others=tuple(
                (i, _curve_of(curve, houses), taken(ratio, houses))
                for i, curve, ratio in self.others
            ),
        )


def taken(values: Array, houses: NDArray[np.intp]) -> Array:
    """Columns of some houses; a single column or number stands for all."""
    if values.ndim == 0 or values.shape[-1] == 1:
        return values
    return values[..., houses]


def _curve_of(curve: Curve, houses: NDArray[np.intp]) -> Curve:
    if isinstance(curve, PointsFanCurve):
        return replace(curve, speed_frac=cast(Any, taken(np.asarray(curve.speed_frac), houses)))
    if isinstance(curve, SteadyFlowCurve):
        return replace(curve, flow_m3_s=cast(Any, taken(np.asarray(curve.flow_m3_s), houses)))
    return curve


def many_laws(
    prepared: Prepared,
    *,
    loss_ratio: Mapping[str, Array],
    speed_frac: Mapping[str, Array],
    house_count: int,
) -> ManyLaws:
    """Lay the laws of a network out over houses."""
    size = len(prepared.layout.names)
    ratios = {prepared.entry(name): ratio for name, ratio in loss_ratio.items()}
    speeds = {prepared.entry(name): speed for name, speed in speed_frac.items()}
    width = house_count if ratios or speeds else 1
    constant, linear, quadratic = (np.zeros((size, width)) for _ in range(3))
    friction: list[tuple[int, FrictionCurve, Array]] = []
    others: list[tuple[int, Curve, Array]] = []
    one = np.ones(1)
    for i, parts in enumerate(prepared.parts):
        if parts.passive.is_closed or parts.fans.is_closed:
            linear[i] = 1.0
            continue
        ratio = np.asarray(ratios.get(i, one * prepared.loss_ratio[i]), dtype=float)
        fans = parts.fans
        if i in speeds:
            fan_laws = [law for law in parts.laws if isinstance(law, FanLaw)]
            fans = added([law.at_speed(cast(Any, speeds[i])) for law in fan_laws])
        loss = parts.passive
        constant[i] = ratio * loss.constant_pa + fans.constant_pa
        linear[i] = ratio * loss.linear_pa_per_m3_s + fans.linear_pa_per_m3_s
        quadratic[i] = ratio * loss.quadratic_pa_per_m6_s2 + fans.quadratic_pa_per_m6_s2
        for curve in loss.curves:
            if isinstance(curve, FrictionCurve):
                friction.append((i, curve, ratio))
            else:
                others.append((i, curve, ratio))
        others += [(i, curve, one) for curve in fans.curves]
    return ManyLaws(
        constant=constant,
        linear=linear,
        quadratic=quadratic,
        friction=_friction_rows(friction) if friction else None,
        others=tuple(others),
    )


def _friction_rows(rows: list[tuple[int, FrictionCurve, Array]]) -> FrictionRows:
    def column(values: list[float]) -> Array:
        return np.array(values)[:, np.newaxis]

    curves = [curve for _, curve, _ in rows]
    blends = [curve.blend() for curve in curves]
    width = max(ratio.size for _, _, ratio in rows)
    return FrictionRows(
        entries=np.array([i for i, _, _ in rows]),
        ratio=np.array([np.broadcast_to(ratio, width) for _, _, ratio in rows]),
        drop_per_fre2_pa=column([curve.drop_per_fre2_pa for curve in curves]),
        reynolds_per_m3_s=column([curve.reynolds_per_m3_s for curve in curves]),
        laminar_coeff=column([curve.laminar_coeff for curve in curves]),
        rough=column([curve.roughness_ratio / 3.7 for curve in curves]),
        blend=(
            column([blend[0] for blend in blends]),
            column([blend[1] for blend in blends]),
            column([blend[2] for blend in blends]),
        ),
    )


def curve_function(curve: Curve) -> CurveFunction:
    """Give the array form of a curve's function."""
    if isinstance(curve, PowerCurve):
        # Nothing in a power depends on a branch, so its own function serves arrays.
        return cast(CurveFunction, curve.function())
    if isinstance(curve, PointsFanCurve):
        return lambda flow: _points_fan(curve, flow)
    if isinstance(curve, SteadyFlowCurve):
        return lambda flow: _steady_fan(curve, flow)
    msg = f"no array form of {type(curve).__name__} is known"
    raise TypeError(msg)


def _points_fan(curve: PointsFanCurve, flow: Array) -> tuple[Array, Array]:
    points = curve.points
    x, y, m = (np.array(row) for row in (points.x, points.y, points.slopes))
    speed = np.asarray(curve.speed_frac, dtype=float)
    steep = curve.beyond_pa_per_m6_s2
    last = x[-1] * speed
    start = speed * speed * (y[0] - m[0] * x[0])
    end = speed * speed * y[-1] + steep * last * last
    at = np.clip(flow / np.where(speed > 0.0, speed, 1.0), 0.0, x[-1])
    i = np.clip(np.searchsorted(x, at, side="right") - 1, 0, len(x) - 2)
    width = x[i + 1] - x[i]
    secant = (y[i + 1] - y[i]) / width
    t = (at - x[i]) / width
    c2 = 3.0 * secant - 2.0 * m[i] - m[i + 1]
    c3 = m[i] + m[i + 1] - 2.0 * secant
    is_before = at < x[0]
    rise = np.where(
        is_before, y[0] + m[0] * (at - x[0]), y[i] + width * t * (m[i] + t * (c2 + t * c3))
    )
    rise_slope = np.where(is_before, m[0], m[i] + t * (2.0 * c2 + t * 3.0 * c3))
    drop = -speed * speed * rise
    slope = -speed * rise_slope
    is_beyond, is_against = flow >= last, flow <= 0.0
    drop = np.where(is_against, -start - speed * m[0] * flow - steep * flow * flow, drop)
    slope = np.where(is_against, -speed * m[0] - 2.0 * steep * flow, slope)
    drop = np.where(is_beyond, steep * flow * flow - end, drop)
    return drop, np.where(is_beyond, 2.0 * steep * flow, slope)


def _steady_fan(curve: SteadyFlowCurve, flow: Array) -> tuple[Array, Array]:
    drop, slope = _points_fan(curve.fan, flow)
    rise, line_share, full_share, still_slope = curve.weights_at(
        cast(Any, flow), most_pa=cast(Any, -drop), root=cast(Any, np.sqrt)
    )
    return cast(Any, -rise), line_share * curve.line_slope() + full_share * slope + still_slope
