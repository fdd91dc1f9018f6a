"""Pieces a simulated house is put together from: ducts, runs, filters, rings and flaps.

Sizes follow usual velocities, 2.5 to 3.5 m/s; what was built then departs from the design. Ranges
are judgement, informed by the texts behind the key. Source: trial_house_ranges
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from ventwright.trials.dampers import Flap, Ring
from ventwright.trials.truth import CFM_M3_S, Layout

HALF_DENSITY_KG_M3 = 0.6
VISCOSITY_M2_S = 1.5e-5
CORE_REYNOLDS = 1500.0
LEAK_EXPONENT = 1 / 0.65
ROUND_SIZES_M = (0.1, 0.125, 0.16, 0.2, 0.25, 0.315)
RING_FACTORS_M3_S_SQRT_PA = (1.5e-3, 2.6e-3, 4.2e-3, 6.5e-3, 9.5e-3)
PIPE_FLOW_M3_S = 18 * CFM_M3_S


@dataclass(frozen=True, slots=True, kw_only=True)
class Piece:
    """One element before it gets its place: size, exponent, core and lift of `Elements`."""

    coeff: float
    exponent: float = 2.0
    core_m3_s: float = 1e-5
    lift_pa: float = 0.0

    def drop_pa(self, flow_m3_s: float) -> float:
        """Drop at a flow, without the lift [Pa]."""
        wide = flow_m3_s**2 + self.core_m3_s**2
        return float(self.coeff * flow_m3_s * wide ** ((self.exponent - 1) / 2))


def piece_through(
    *, flow_m3_s: float, drop_pa: float, exponent: float, core_m3_s: float = 1e-5
) -> Piece:
    """A piece that takes a given drop at a given flow.

    Parameters
    ----------
    flow_m3_s
        Flow at which the drop is known; above zero.
    drop_pa
        Drop at that flow; above zero.
    exponent
        Power of the flow.
    core_m3_s
        Flow below which it is laminar.

    >>> round(piece_through(flow_m3_s=0.01, drop_pa=50, exponent=2, core_m3_s=1e-9).coeff)
    500000
    """
    plain = Piece(coeff=1.0, exponent=exponent, core_m3_s=core_m3_s)
    return Piece(coeff=drop_pa / plain.drop_pa(flow_m3_s), exponent=exponent, core_m3_s=core_m3_s)


def size_for(*, flow_m3_s: float, velocity_m_s: float) -> float:
    """Smallest usual diameter that keeps the velocity, the largest if none does [m].

    Parameters
    ----------
    flow_m3_s
        Flow.
    velocity_m_s
        Velocity not to exceed.

    >>> size_for(flow_m3_s=0.06, velocity_m_s=3.2)
    0.16
    """
    wanted = math.sqrt(flow_m3_s / velocity_m_s * 4 / math.pi)
    return next((size for size in ROUND_SIZES_M if size >= wanted), ROUND_SIZES_M[-1])


def duct(
    rng: np.random.Generator,
    *,
    flow_m3_s: float,
    diameter_m: float,
    length_m: float,
    loss_coeff: float,
    rough_ratio: float = 1.0,
) -> Piece:
    """A round duct with its fittings: smooth-pipe friction at the design flow times a roughness.

    Parameters
    ----------
    rng
        Draws the exponent, 1.80 to 1.95.
    flow_m3_s
        Design flow.
    diameter_m
        Inside diameter.
    length_m
        Length.
    loss_coeff
        Sum over the fittings.
    rough_ratio
        Friction relative to smooth pipe; flexible duct that is not stretched has 2 to 6.
    """
    velocity_m_s = flow_m3_s / (math.pi / 4 * diameter_m**2)
    reynolds = max(velocity_m_s * diameter_m / VISCOSITY_M2_S, CORE_REYNOLDS)
    friction = 0.316 * reynolds**-0.25 * rough_ratio
    loss = friction * length_m / diameter_m + loss_coeff
    return piece_through(
        flow_m3_s=flow_m3_s,
        drop_pa=loss * HALF_DENSITY_KG_M3 * velocity_m_s**2,
        exponent=float(rng.uniform(1.80, 1.95)),
        core_m3_s=math.pi / 4 * diameter_m * VISCOSITY_M2_S * CORE_REYNOLDS,
    )


def outdoor_leg(rng: np.random.Generator, flow_m3_s: float) -> Piece:
    """Flexible insulated duct to outdoors with its hood."""
    return duct(
        rng,
        flow_m3_s=flow_m3_s,
        diameter_m=size_for(flow_m3_s=flow_m3_s, velocity_m_s=3.2),
        length_m=float(rng.uniform(2, 6)),
        loss_coeff=float(rng.uniform(1.0, 2.5)),
        rough_ratio=2.0,
    )


def air_filter(rng: np.random.Generator, flow_m3_s: float) -> Piece:
    """A filter: 15 to 50 Pa at the design flow, between laminar and turbulent."""
    drop_pa, exponent = float(rng.uniform(15, 50)), float(rng.uniform(1.1, 1.5))
    return piece_through(flow_m3_s=flow_m3_s, drop_pa=drop_pa, exponent=exponent)


def exchanger_core(rng: np.random.Generator, flow_m3_s: float) -> Piece:
    """An exchanger core: 40 to 100 Pa at the design flow, nearly laminar."""
    drop_pa, exponent = float(rng.uniform(40, 100)), float(rng.uniform(1.02, 1.25))
    return piece_through(flow_m3_s=flow_m3_s, drop_pa=drop_pa, exponent=exponent)


def main_segment(
    rng: np.random.Generator, layout: Layout, *, flow_m3_s: float, total_m3_s: float
) -> Piece:
    """One segment of the main duct; a trunk narrows slowly, a manifold's box lies close by.

    Parameters
    ----------
    rng
        Draws size, length and fittings.
    layout
        Trunk or manifold.
    flow_m3_s
        Design flow in the segment.
    total_m3_s
        Design flow of the side.
    """
    is_trunk = layout is Layout.TRUNK
    return duct(
        rng,
        flow_m3_s=flow_m3_s,
        diameter_m=size_for(
            flow_m3_s=(flow_m3_s + total_m3_s) / 2, velocity_m_s=float(rng.uniform(2.5, 3.5))
        ),
        length_m=float(rng.uniform(1, 4) if is_trunk else rng.uniform(0.5, 2.5)),
        loss_coeff=float(rng.uniform(0.1, 0.6)),
    )


def branch_duct(rng: np.random.Generator, layout: Layout, flow_m3_s: float) -> Piece:
    """The duct from the main to the first terminal of a branch, or the neck of a manifold's box."""
    is_trunk = layout is Layout.TRUNK
    return duct(
        rng,
        flow_m3_s=flow_m3_s,
        diameter_m=size_for(flow_m3_s=flow_m3_s, velocity_m_s=2.5 if is_trunk else 3.5),
        length_m=float(rng.uniform(1, 5) if is_trunk else rng.uniform(0.3, 1.5)),
        loss_coeff=float(rng.uniform(0.6, 1.4)),
    )


def run(rng: np.random.Generator, layout: Layout, flow_m3_s: float) -> Piece:
    """The last run: round and perhaps flexible on a trunk, one to four narrow pipes from a box."""
    squeeze = float(np.clip(rng.lognormal(0, 0.35), 0.6, 2.5))
    if layout is Layout.TRUNK:
        return duct(
            rng,
            flow_m3_s=flow_m3_s,
            diameter_m=size_for(flow_m3_s=flow_m3_s, velocity_m_s=2.5),
            length_m=float(rng.uniform(1, 6)),
            loss_coeff=float(rng.uniform(0.4, 1.6)) * squeeze,
            rough_ratio=float(rng.choice([1.1, 3.0])) * squeeze,
        )
    pipes = math.ceil(flow_m3_s / PIPE_FLOW_M3_S)
    one = duct(
        rng,
        flow_m3_s=flow_m3_s / pipes,
        diameter_m=float(rng.choice([0.063, 0.076])),
        length_m=float(rng.uniform(4, 14)),
        loss_coeff=float(rng.uniform(0.8, 2.0)),
        rough_ratio=1.2 * squeeze,
    )
    return Piece(
        coeff=one.coeff / pipes**one.exponent,
        exponent=one.exponent,
        core_m3_s=one.core_m3_s * pipes,
    )


def ring(rng: np.random.Generator, *, flow_m3_s: float, exponent: float) -> Ring:
    """The smallest usual ring that takes no more than 8 Pa open, as it happens to be made.

    Parameters
    ----------
    rng
        Draws gap, neck, stops and play; one ring in ten meets something before it is fully open.
    flow_m3_s
        Design flow.
    exponent
        Power of the flow in its drop.
    """
    sizes = RING_FACTORS_M3_S_SQRT_PA
    usual = next((size for size in sizes if flow_m3_s <= size * math.sqrt(8)), sizes[-1])
    ratio = float(rng.uniform(1.2, 2.5))
    neck = usual * float(rng.lognormal(0, 0.08)) * math.sqrt(1 + 1 / ratio**2)
    return Ring(
        gap_factor=ratio * neck,
        neck_factor=neck,
        shape=float(rng.uniform(0.8, 1.3)),
        scale=flow_m3_s ** (2 - exponent),
        low_stop_frac=float(rng.uniform(0.02, 0.06)),
        high_stop_frac=1.0 if rng.random() < 0.9 else float(rng.uniform(0.6, 0.9)),
        play_frac=float(rng.uniform(0.0, 0.03)),
        is_stuck=False,
    )


def flap(rng: np.random.Generator, flow_m3_s: float) -> Flap:
    """A single blade in a branch sized for 2.5 m/s; its shut stop lies at 67 to 80 degrees."""
    diameter_m = size_for(flow_m3_s=flow_m3_s, velocity_m_s=2.5)
    return Flap(
        log_open=float(rng.normal(-1.66, 0.3)),
        log_per_deg=float(rng.uniform(0.085, 0.105)),
        scale=HALF_DENSITY_KG_M3 / (math.pi / 4 * diameter_m**2) ** 2,
        low_stop_frac=float(rng.uniform(0.12, 0.25)),
        high_stop_frac=1.0,
        play_frac=float(rng.uniform(0.0, 0.02)),
        is_stuck=False,
    )
