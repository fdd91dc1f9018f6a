"""How far flows are from their share of what the side moves, and how sure that is."""

from __future__ import annotations

from collections.abc import Sequence
from math import exp, sqrt
from operator import mul

from ventwright.balancing.inference import Picture, Posterior
from ventwright.balancing.side_model import MODEL_FRAC
from ventwright.balancing.site_data import SideSetup
from ventwright.quantities.records import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class Departures:
    """Departures of one side's terminals from their target share.

    The target share is the target scaled so that the side's targets add up to its flows. A
    departure is counted in half bands: within −1 to 1 is right.

    Parameters
    ----------
    flows_m3_s
        Flow of each terminal [m³/s].
    wanted_m3_s
        Its target share [m³/s].
    bands_m3_s
        Half width of its band [m³/s].
    offs
        Departures in half bands.
    """

    flows_m3_s: tuple[float, ...]
    wanted_m3_s: tuple[float, ...]
    bands_m3_s: tuple[float, ...]
    offs: tuple[float, ...]

    @property
    def worst(self) -> float:
        """Greatest departure."""
        return max(map(abs, self.offs))


def departures(setup: SideSetup, flows_m3_s: Sequence[float]) -> Departures:
    """Departures for given flows.

    Parameters
    ----------
    setup
        The side.
    flows_m3_s
        Flow of each of its terminals [m³/s].

    >>> from ventwright.balancing.site_data import Outlet
    >>> from ventwright.quantities.words import Side
    >>> side = SideSetup(side=Side.SUPPLY, outlets=(
    ...     Outlet(id="a", run_id=None, target_m3_s=0.01),
    ...     Outlet(id="b", run_id=None, target_m3_s=0.02)))
    >>> [round(x, 3) for x in departures(side, (0.011, 0.019)).offs]
    [1.0, -0.5]
    """
    scale = sum(flows_m3_s) / sum(item.target_m3_s for item in setup.outlets)
    wanted = tuple(scale * item.target_m3_s for item in setup.outlets)
    bands = tuple(
        max(item.band_frac * w, item.band_m3_s)
        for item, w in zip(setup.outlets, wanted, strict=True)
    )
    offs = tuple((q - w) / b for q, w, b in zip(flows_m3_s, wanted, bands, strict=True))
    return Departures(flows_m3_s=tuple(flows_m3_s), wanted_m3_s=wanted, bands_m3_s=bands, offs=offs)


def departures_of(shown: Picture) -> Departures:
    """Departures in a state of the model."""
    flows = [exp(shown.state.ln_flow[leaf]) for leaf in shown.model.tree.leaves]
    return departures(shown.model.setup, flows)


def spreads_of(
    posterior: Posterior,
    shown: Picture,
    *,
    fixed: frozenset[int] = frozenset(),
    has_local: bool = True,
) -> tuple[tuple[float, ...], tuple[float, ...]]:
    """Standard uncertainties of flows (relative) and of departures (in half bands).

    Parameters
    ----------
    posterior
        What is known.
    shown
        The state meant.
    fixed
        Nodes whose resistance is taken as known.
    has_local
        Whether what all readings at one terminal share counts; without it, what more readings
        could still make smaller.
    """
    off = departures_of(shown)
    flows = off.flows_m3_s
    halves = [posterior.half(shown.row(leaf, fixed=fixed)) for leaf in shown.model.tree.leaves]
    total = [0.0] * len(halves[0])
    for q, half in zip(flows, halves, strict=True):
        for i, value in enumerate(half):
            total[i] += q * value
    whole = sum(flows)
    local = shown.model.local_fracs if has_local else (0.0,) * len(flows)
    apart = [(q * x) ** 2 for q, x in zip(flows, local, strict=True)]
    all_apart = sum(apart)
    relative, in_bands = [], []
    for i, (q, half) in enumerate(zip(flows, halves, strict=True)):
        relative.append(sqrt(sum(map(mul, half, half)) + MODEL_FRAC**2 + local[i] ** 2))
        part = off.wanted_m3_s[i] / whole
        against = [q * x - part * t for x, t in zip(half, total, strict=True)]
        # Its own part moves it against the side's total, and so does every other terminal's.
        by_local = (1.0 - 2.0 * part) * apart[i] + part**2 * all_apart
        square = sum(map(mul, against, against)) + (q * MODEL_FRAC) ** 2 + by_local
        in_bands.append(sqrt(square) / off.bands_m3_s[i])
    return tuple(relative), tuple(in_bands)
