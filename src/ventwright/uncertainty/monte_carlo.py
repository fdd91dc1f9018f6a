"""Monte Carlo propagation (GUM Supplement 1) as a check on the first-order budget."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from typing import Protocol

from ventwright.quantities.records import dataclass
from ventwright.uncertainty.coverage import Interval
from ventwright.uncertainty.estimate import Distribution, Estimate, Influence


class Draws(Protocol):
    """What is asked of a random generator; `random.Random` fits. It is always handed in."""

    def gauss(self, mu: float, sigma: float) -> float:
        """A normal draw."""

    def uniform(self, a: float, b: float) -> float:
        """A uniform draw."""


@dataclass(frozen=True, slots=True, kw_only=True)
class MonteCarlo:
    """Mean, standard deviation and the symmetric 95 % interval of the draws."""

    mean: float
    u_std: float
    interval: Interval
    count: int


def monte_carlo(
    function: Callable[..., float], inputs: Sequence[Estimate], *, count: int, draws: Draws
) -> MonteCarlo:
    """Distribution of ``function(*inputs)`` by drawing every influence once a trial.

    Shared influences get the same draw in every input, so correlation is kept. Influences with
    finite degrees of freedom are drawn from their stated shape (a slight understatement of the
    tails, which GUM Supplement 1 6.4.9 would take from a t law).

    Parameters
    ----------
    function
        Function of plain floats.
    inputs
        One estimate per argument.
    count
        Number of trials, ≥ 100.
    draws
        Random generator, handed in so that the same seed gives the same answer.

    Raises
    ------
    ValueError
        With fewer than 100 trials.

    Source: gum_s1_2008

    >>> import random
    >>> from ventwright.uncertainty import measured
    >>> e = measured(10.0, u_std=1.0, id="a", label="a")
    >>> m = monte_carlo(lambda x: 2 * x, [e], count=4000, draws=random.Random(1))
    >>> abs(m.u_std - 2.0) < 0.1
    True
    """
    if count < 100:
        raise ValueError(f"{count} trials are too few; at least 100")
    influences: dict[str, Influence] = {}
    for estimate in inputs:
        for c in estimate.components:
            influences.setdefault(c.influence.id, c.influence)
    order = sorted(influences)
    forms = [
        (e.value, [(order.index(c.influence.id), c.contribution) for c in e.components])
        for e in inputs
    ]
    shapes = [influences[key].distribution for key in order]
    results = []
    for _ in range(count):
        xi = [_draw(shape, draws) for shape in shapes]
        arguments = [value + sum(xi[i] * c for i, c in parts) for value, parts in forms]
        results.append(function(*arguments))
    return _summary(results)


def _draw(shape: Distribution, draws: Draws) -> float:
    if shape is Distribution.NORMAL:
        return draws.gauss(0.0, 1.0)
    if shape is Distribution.RECTANGULAR:
        return draws.uniform(-math.sqrt(3.0), math.sqrt(3.0))
    return (draws.uniform(-1.0, 1.0) + draws.uniform(-1.0, 1.0)) * math.sqrt(1.5)


def _summary(results: list[float]) -> MonteCarlo:
    count = len(results)
    mean = math.fsum(results) / count
    variance = math.fsum((r - mean) ** 2 for r in results) / (count - 1)
    ordered = sorted(results)
    tail = round(0.025 * count)
    return MonteCarlo(
        mean=mean,
        u_std=math.sqrt(variance),
        interval=Interval(low=ordered[tail], high=ordered[count - 1 - tail], coverage_frac=0.95),
        count=count,
    )
