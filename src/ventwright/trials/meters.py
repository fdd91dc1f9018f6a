"""What a meter shows: repeatability, bias, drift, resolution, the loss of a hood, slips."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

import numpy as np

from ventwright.quantities.words import Side
from ventwright.trials.truth import CFM_M3_S, SIDES

SLIP_SIGMAS = 4.0
"""A slip shifts a reading by at least this many standard deviations of one reading."""


class SlipKind(StrEnum):
    """What went wrong with a reading."""

    WRONG_TERMINAL = "wrong_terminal"
    """Another terminal of the side was read and put down under this one's name."""
    SLIPPED_HOOD = "slipped_hood"
    """The hood did not seal and read low."""


@dataclass(frozen=True, slots=True, kw_only=True)
class MeterModel:
    """How far what a meter shows departs from the flow.

    Parameters
    ----------
    repeat_frac
        Standard deviation of one reading about its mean, relative.
    bias_frac
        Standard deviation of the bias, drawn once a visit for each instrument and method, relative.
    resolution_m3_s
        Step of the display.
    drift_frac_1_h
        Standard deviation of the drift, drawn once a visit, relative per hour.
    hood_loss_coeff
        Size of the drop the hood adds while it is on [Pa/(m³/s)²]; 0 for a powered one.
    slip_frac
        Share of terminal readings that slip, by 4 standard deviations at least.
    allowance_ratio
        Readings allowed for each stop, averaged over the visit.
    """

    repeat_frac: float = 0.015
    bias_frac: float = 0.02
    resolution_m3_s: float = 0.25 * CFM_M3_S
    drift_frac_1_h: float = 0.0
    hood_loss_coeff: float = 0.0
    slip_frac: float = 0.0
    allowance_ratio: float = 1.8


FINE = MeterModel()
"""1.5 % repeatability, 2 % bias, 0.25 cfm resolution."""

COARSE = MeterModel(repeat_frac=0.03, resolution_m3_s=0.5 * CFM_M3_S)
"""3 % repeatability, 2 % bias, 0.5 cfm resolution."""

PERFECT = MeterModel(repeat_frac=0.0, bias_frac=0.0, resolution_m3_s=0.0)
"""Shows the flow itself."""


class Kit:
    """The meters of one visit with the biases they happen to have.

    Terminals of each side are read by a method of their own (a hood to blow into, a box to draw
    from), totals by a traverse: four biases.

    Parameters
    ----------
    model
        How good the meters are.
    rng
        Draws the biases now and the noise of every reading later.
    """

    def __init__(self, model: MeterModel, rng: np.random.Generator) -> None:
        self.model = model
        self._rng = rng
        names = [(side, is_total) for side in SIDES for is_total in (False, True)]
        self._bias = {name: 1 + float(rng.normal(0, model.bias_frac)) for name in names}
        self._drift_1_h = float(rng.normal(0, model.drift_frac_1_h))

    def gain(self, side: Side, *, is_total: bool = False, elapsed_s: float = 0.0) -> float:
        """What the mean of very many readings would be, relative to the flow.

        Parameters
        ----------
        side
            Supply or extract.
        is_total
            At the unit rather than at a terminal.
        elapsed_s
            Time into the visit.
        """
        return self._bias[side, is_total] * (1 + self._drift_1_h * elapsed_s / 3600)

    def noise(self, count: int) -> float:
        """Relative departure of the mean of some readings."""
        return 1 + float(self._rng.normal(0, self.model.repeat_frac)) / float(np.sqrt(count))

    def shown_m3_s(self, mean_m3_s: float, count: int) -> float:
        """Mean of some displayed values about a long-run mean [m³/s].

        Parameters
        ----------
        mean_m3_s
            What very many readings would average to.
        count
            How many are taken.
        """
        noise = self._rng.normal(0, self.model.repeat_frac, count)
        return float(np.mean([self.rounded(mean_m3_s * (1 + float(x))) for x in noise]))

    def rounded(self, value_m3_s: float) -> float:
        """What the display makes of a value [m³/s].

        Parameters
        ----------
        value_m3_s
            Value before rounding.
        """
        step = self.model.resolution_m3_s
        return value_m3_s if step == 0 else round(value_m3_s / step) * step

    def sigma_m3_s(self, flow_m3_s: float) -> float:
        """Standard deviation of one reading at a flow, rounding included [m³/s].

        Parameters
        ----------
        flow_m3_s
            The flow.
        """
        rounding = self.model.resolution_m3_s / float(np.sqrt(12))
        return float(np.hypot(self.model.repeat_frac * flow_m3_s, rounding))
