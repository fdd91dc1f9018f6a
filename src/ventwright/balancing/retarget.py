"""Re-targeting: room flows rescaled to what the machine can really do, within each room's band."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from ventwright.quantities.records import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class TerminalDesign:
    """What was planned for one terminal.

    Parameters
    ----------
    id
        The terminal.
    design_flow_m3_s
        Planned flow [m³/s], > 0.
    low_m3_s, high_m3_s
        The room's own hard band [m³/s]; None where open.
    """

    id: str
    design_flow_m3_s: float
    low_m3_s: float | None = None
    high_m3_s: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Retarget:
    """New targets of one side.

    Parameters
    ----------
    targets
        Pairs of terminal id and new target [m³/s], in the order given.
    scale_ratio
        The common factor on all terminals that no band holds.
    held_low, held_high
        Terminals held at the edge of their own band.
    shortfall_m3_s
        How much the bands ask beyond what is reachable [m³/s]; positive means the bands can't all
        be kept, negative that their maxima leave air over, zero that the sum fits.
    """

    targets: tuple[tuple[str, float], ...]
    scale_ratio: float
    held_low: tuple[str, ...]
    held_high: tuple[str, ...]
    shortfall_m3_s: float


def retarget(terminals: Sequence[TerminalDesign], *, total_m3_s: float) -> Retarget:
    """Targets in proportion to design that add up to a reachable total, no band ever left.

    Finds the factor s with ``Σ clip(s·design_i, low_i, high_i) = total``. The sum grows with s
    piecewise linearly, so the factor is found exactly by walking the points where a band begins or
    ends to hold.

    Parameters
    ----------
    terminals
        One side's terminals, at least one.
    total_m3_s
        What the side can move [m³/s], > 0.

    Returns
    -------
    Retarget
        Where the bands can't add up to the total every terminal stands at its band's edge and
        `shortfall_m3_s` says how far off the sum is.

    Raises
    ------
    ValueError
        For no terminals, a design or total that is not positive, or a crossed band.

    >>> rooms = [TerminalDesign(id="a", design_flow_m3_s=0.06), TerminalDesign(id="b",
    ...     design_flow_m3_s=0.04, low_m3_s=0.036)]
    >>> new = retarget(rooms, total_m3_s=0.08)
    >>> [round(flow, 4) for _, flow in new.targets], new.held_low
    ([0.044, 0.036], ('b',))
    """
    _check(terminals, total_m3_s)
    lows = [t.low_m3_s or 0.0 for t in terminals]
    highs = [float("inf") if t.high_m3_s is None else t.high_m3_s for t in terminals]
    designs = [t.design_flow_m3_s for t in terminals]

    def flows_at(scale: float) -> list[float]:
        return [
            min(max(scale * d, low), high)
            for d, low, high in zip(designs, lows, highs, strict=True)
        ]

    knots = sorted(
        {0.0}
        | {low / d for d, low in zip(designs, lows, strict=True)}
        | {high / d for d, high in zip(designs, highs, strict=True) if high != float("inf")}
    )
    scale = _solve(knots, total_m3_s, flows_at)
    flows = flows_at(scale)
    return Retarget(
        targets=tuple((t.id, f) for t, f in zip(terminals, flows, strict=True)),
        scale_ratio=scale,
        held_low=tuple(
            t.id for t, low, d in zip(terminals, lows, designs, strict=True) if low > scale * d
        ),
        held_high=tuple(
            t.id for t, high, d in zip(terminals, highs, designs, strict=True) if high < scale * d
        ),
        shortfall_m3_s=_beyond_rounding(sum(flows) - total_m3_s, total_m3_s),
    )


def _solve(knots: list[float], total: float, flows_at: Callable[[float], list[float]]) -> float:
    sums = [sum(flows_at(k)) for k in knots]
    if total <= sums[0]:
        return knots[0]
    for (k0, s0), (k1, s1) in zip(
        zip(knots, sums, strict=True), zip(knots[1:], sums[1:], strict=True), strict=False
    ):
        if total <= s1:
            return k0 + (k1 - k0) * (total - s0) / (s1 - s0)
    # Beyond the last knot only terminals without a maximum still grow, at a constant rate.
    last = knots[-1]
    rate = sum(flows_at(last + 1.0)) - sums[-1]
    return last + (total - sums[-1]) / rate if rate > 0.0 else last


def _beyond_rounding(gap: float, total: float) -> float:
    return 0.0 if abs(gap) <= 1e-9 * total else gap


def _check(terminals: Sequence[TerminalDesign], total: float) -> None:
    if not terminals:
        raise ValueError("no terminals to give targets to")
    if not total > 0.0:
        raise ValueError(f"total {total!r} m³/s is not positive")
    for t in terminals:
        if not t.design_flow_m3_s > 0.0:
            raise ValueError(f"design flow of {t.id!r} is {t.design_flow_m3_s!r} m³/s")
        if t.low_m3_s is not None and t.high_m3_s is not None and t.low_m3_s > t.high_m3_s:
            raise ValueError(f"band of {t.id!r} is crossed")
