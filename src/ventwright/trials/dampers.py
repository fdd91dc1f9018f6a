"""What turns in a simulated house: terminal rings and branch flaps, with stops and play.

A damper's opening runs from 0 (shut) to 1 (fully open). The hand and the blade are two things: the
blade follows the hand with play, so coming from the other side leaves it elsewhere.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Protocol

import numpy as np

Table = tuple[tuple[float, float], ...]
"""Pairs (opening, flow factor relative to full opening), rising."""

_TABLE_STEPS = 20


class Damper(Protocol):
    """What ring and flap have in common."""

    @property
    def low_stop_frac(self) -> float:
        """Opening at the shut stop."""

    @property
    def high_stop_frac(self) -> float:
        """Opening at the open stop."""

    @property
    def play_frac(self) -> float:
        """Width of the play between hand and blade."""

    @property
    def is_stuck(self) -> bool:
        """Whether it will not move at all."""

    def coeff(self, opening_frac: float) -> float:
        """Size of the drop at an opening [Pa/(m³/s)^exponent]."""

    def opening_for(self, coeff: float) -> float:
        """Opening that gives a size, not limited by the stops."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Ring:
    """A terminal whose ring opens a gap in front of a neck.

    The free area grows with the opening until the neck limits:
    ``1/factor² = 1/(gap_factor · opening^shape)² + 1/neck_factor²``.

    Parameters
    ----------
    gap_factor
        Flow per root of pressure of the gap at full opening [m³/s/Pa^½].
    neck_factor
        The same of the neck alone [m³/s/Pa^½].
    shape
        Power of the opening in the gap's factor, 0.8 to 1.3.
    scale
        Turns Pa/(m³/s)² at the design flow into the size for the element's own exponent.
    low_stop_frac, high_stop_frac
        Openings at the two stops.
    play_frac
        Width of the play between hand and blade.
    is_stuck
        Whether it will not move.

    >>> ring = Ring(gap_factor=0.004, neck_factor=0.003, shape=1.0, scale=1.0, low_stop_frac=0.05,
    ...             high_stop_frac=1.0, play_frac=0.0, is_stuck=False)
    >>> round(ring.opening_for(ring.coeff(0.4)), 6)
    0.4
    """

    gap_factor: float
    neck_factor: float
    shape: float
    scale: float
    low_stop_frac: float
    high_stop_frac: float
    play_frac: float
    is_stuck: bool

    def coeff(self, opening_frac: float) -> float:
        """Size of the drop at an opening [Pa/(m³/s)^exponent]."""
        gap = self.gap_factor * float(opening_frac**self.shape)
        return self.scale * (1 / gap**2 + 1 / self.neck_factor**2)

    def opening_for(self, coeff: float) -> float:
        """Opening that gives a size; 1000 where even the bare neck takes more."""
        rest = coeff / self.scale - 1 / self.neck_factor**2
        if rest <= 0:
            return 1000.0
        return float((1 / (math.sqrt(rest) * self.gap_factor)) ** (1 / self.shape))


@dataclass(frozen=True, slots=True, kw_only=True)
class Flap:
    """A single blade in a round branch, its loss growing exponentially with the angle.

    ``loss_coeff = exp(log_open + log_per_deg · angle)``, the angle counted from open; a thin plate
    has log_open −1.66 and log_per_deg 0.103. Source: smacna_tables_code

    Parameters
    ----------
    log_open
        Logarithm of the loss coefficient when open.
    log_per_deg
        Its growth per degree.
    scale
        Turns a loss coefficient into a size [Pa/(m³/s)²].
    low_stop_frac, high_stop_frac
        Openings at the stops; 1 is open, 0 a blade across the duct.
    play_frac
        Width of the play between lever and blade.
    is_stuck
        Whether it will not move.

    >>> flap = Flap(log_open=-1.66, log_per_deg=0.103, scale=1.0, low_stop_frac=0.1,
    ...             high_stop_frac=1.0, play_frac=0.0, is_stuck=False)
    >>> round(flap.coeff(1 - 30 / 90), 2), round(flap.opening_for(flap.coeff(0.5)), 6)
    (4.18, 0.5)
    """

    log_open: float
    log_per_deg: float
    scale: float
    low_stop_frac: float
    high_stop_frac: float
    play_frac: float
    is_stuck: bool

    def coeff(self, opening_frac: float) -> float:
        """Size of the drop at an opening [Pa/(m³/s)²]."""
        return self.scale * math.exp(self.log_open + self.log_per_deg * 90 * (1 - opening_frac))

    def opening_for(self, coeff: float) -> float:
        """Opening that gives a size, above 1 where even an open blade takes more."""
        angle_deg = (math.log(coeff / self.scale) - self.log_open) / self.log_per_deg
        return 1 - angle_deg / 90


def follow(*, blade_frac: float, hand_frac: float, play_frac: float) -> float:
    """Where the blade ends when the hand has moved: dragged once the play is used up.

    Parameters
    ----------
    blade_frac
        Opening of the blade before.
    hand_frac
        Opening the hand shows after the move.
    play_frac
        Width of the play.

    >>> follow(blade_frac=0.5, hand_frac=0.7, play_frac=0.04)
    0.68
    >>> follow(blade_frac=0.68, hand_frac=0.69, play_frac=0.04)
    0.68
    """
    return min(max(blade_frac, hand_frac - play_frac / 2), hand_frac + play_frac / 2)


def table_of(damper: Damper, *, distortion: float) -> Table:
    """The table a technician holds: opening against flow factor relative to full opening.

    Parameters
    ----------
    damper
        The true damper.
    distortion
        By how much the table's logarithm is off; 0.05 makes a change by a factor 2 look like 2.07.

    Returns
    -------
    Pairs (opening, relative flow factor), rising from the shut stop to opening 1.
    """
    openings = np.linspace(max(damper.low_stop_frac, 0.02), 1.0, _TABLE_STEPS)
    full = damper.coeff(1.0)
    return tuple(
        (float(x), float((full / damper.coeff(float(x))) ** (0.5 * (1 + distortion))))
        for x in openings
    )
