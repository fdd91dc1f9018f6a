"""Readings the model can't explain: named with their odds, asked for again, left out until then.

Each reading is held against what all other readings and the priors make of it. A slip is taken to
be rare and of any size; the odds weigh that against chance. A reading with odds above the limit is
left out and the side is worked out again without it, so that it never bends the model.
"""

from __future__ import annotations

from math import exp, sqrt
from operator import mul

from ventwright.balancing.inference import Posterior
from ventwright.balancing.site_data import Session
from ventwright.balancing.view import SideView, view
from ventwright.quantities.records import dataclass
from ventwright.quantities.words import Side

SLIP_FRAC = 0.02
"""Share of readings taken to slip before anything is known. Judgement."""
SLIP_SIGMAS = 10.0
"""Spread of a slip in standard uncertainties of a reading. Judgement."""
ODDS_LIMIT = 3.0
"""Odds from which a reading is named."""
LEAST_FREEDOM = 0.03
"""A reading of which nothing else tells as much as this share of its variance can't be judged."""
MOST_SUSPECTS = 6


@dataclass(frozen=True, slots=True, kw_only=True)
class Surprise:
    """A reading that is not believed.

    Parameters
    ----------
    reading_id
        Which.
    thing_id
        Of what.
    expected_m3_s
        What all other readings say [m³/s].
    shown_m3_s
        What was read [m³/s].
    sigmas_ratio
        Distance in standard uncertainties of that expectation and the reading together.
    odds_ratio
        Odds that something went wrong against chance.
    """

    reading_id: str
    thing_id: str
    expected_m3_s: float
    shown_m3_s: float
    sigmas_ratio: float
    odds_ratio: float


def slip_odds(sigmas: float) -> float:
    """Odds of a slip for a distance in standard uncertainties.

    >>> round(slip_odds(2.0), 3), slip_odds(5.0) > 100
    (0.015, True)
    """
    wide = 1.0 + SLIP_SIGMAS**2
    gain = min(0.5 * sigmas**2 * SLIP_SIGMAS**2 / wide, 600.0)
    return SLIP_FRAC / (1.0 - SLIP_FRAC) / sqrt(wide) * exp(gain)


def held_out(posterior: Posterior) -> list[tuple[float, float] | None]:
    """For each observation its distance from what all others say, and that in logarithms.

    None where nothing else tells enough to judge.
    """
    found: list[tuple[float, float] | None] = []
    for item, deviation, row in zip(
        posterior.model.observations, posterior.deviations, posterior.rows, strict=True
    ):
        half = posterior.half(row)
        own = item.spread**2
        rest = own - sum(map(mul, half, half))
        if rest < LEAST_FREEDOM * own:
            found.append(None)
        else:
            found.append((deviation / sqrt(rest), deviation * own / rest))
    return found


def believed(session: Session, side: Side) -> tuple[SideView, tuple[Surprise, ...]]:
    """A side worked out from the readings that can be believed, and those that can't.

    Parameters
    ----------
    session
        All that was done.
    side
        Which side.
    """
    surprises: list[Surprise] = []
    seen = view(session, side)
    while len(surprises) < MOST_SUSPECTS:
        worst = _worst(seen)
        if worst is None or worst.odds_ratio < ODDS_LIMIT:
            break
        surprises.append(worst)
        seen = view(session, side, tuple(item.reading_id for item in surprises))
    return seen, tuple(surprises)


def _worst(seen: SideView) -> Surprise | None:
    """The least explained reading; of two equally at odds the later one, which can be repeated."""
    best: tuple[float, int] | None = None
    model = seen.model
    distances = held_out(seen.posterior)
    for place, distance in enumerate(distances):
        if distance is not None:
            sigmas = abs(distance[0])
            if best is None or sigmas > 0.98 * best[0]:
                best = (sigmas, place)
    if best is None:
        return None
    item = model.observations[best[1]]
    away = distances[best[1]]
    shift = 0.0 if away is None else away[1]
    return Surprise(
        reading_id=item.reading.id,
        thing_id=item.reading.thing_id,
        expected_m3_s=exp(item.ln_flow - shift),
        shown_m3_s=item.reading.flow_m3_s,
        sigmas_ratio=best[0],
        odds_ratio=slip_odds(best[0]),
    )
