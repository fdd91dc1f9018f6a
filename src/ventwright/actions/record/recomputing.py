"""An issued report worked out again from its snapshot, and held against what was issued."""

from __future__ import annotations

import json
import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from ventwright import __version__
from ventwright.actions.record.reports import KeptReport
from ventwright.exchange import canonical_json, from_json
from ventwright.findings import VisitSnapshot, assess
from ventwright.quantities import UserError

TOLERANCE = 1e-9
"""Of one, or of the figure where it is larger than one: far below what any reading carries, far
above what another machine's arithmetic can move."""

_ABSENT = object()


@dataclass(frozen=True, slots=True, kw_only=True)
class Difference:
    """One figure or word that comes out otherwise; texts as JSON writes them."""

    path: str
    issued: str
    recomputed: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Recomputation:
    """What a report says when it is worked out again.

    `trouble` says why it could not be, and is empty otherwise. Figures that a later version adds
    are no difference.
    """

    house: str
    number: int
    engine_then: str
    engine_now: str
    differences: tuple[Difference, ...] = ()
    trouble: str = ""


def recompute(kept: KeptReport) -> Recomputation:
    """Work a report out again from its snapshot.

    Parameters
    ----------
    kept
        As it was issued.

    >>> from ventwright.actions.record import issue_report, practice_ledger
    >>> with practice_ledger() as ledger:
    ...     again = recompute(issue_report(ledger, "v"))
    >>> again.differences, again.trouble
    ((), '')
    """
    report = kept.report
    trouble = ""
    found: tuple[Difference, ...] = ()
    try:
        snapshot = from_json(VisitSnapshot, kept.snapshot)
        now = json.loads(canonical_json(assess(snapshot)))
        found = tuple(differences(json.loads(kept.findings), now))
    except (UserError, ValueError) as mistake:
        trouble = str(mistake)
    return Recomputation(
        house=report.house,
        number=report.number,
        engine_then=report.engine,
        engine_now=__version__,
        differences=found,
        trouble=trouble,
    )


def differences(issued: Any, recomputed: Any, *, path: str = "") -> Iterator[Difference]:
    """Where two findings differ by more than the tolerance, each with its place.

    Parameters
    ----------
    issued, recomputed
        As JSON reads them.
    path
        Where they stand.

    >>> list(differences({"a": [1.0, 2.0]}, {"a": [1.0, 2.1], "b": 3}))
    [Difference(path='a[1]', issued='2.0', recomputed='2.1')]
    """
    if isinstance(issued, dict) and isinstance(recomputed, dict):
        for key, value in issued.items():
            if path or key != "engine":
                below = f"{path}.{key}" if path else key
                yield from differences(value, recomputed.get(key, _ABSENT), path=below)
    elif isinstance(issued, list) and isinstance(recomputed, list):
        if len(issued) != len(recomputed):
            yield Difference(
                path=path, issued=f"{len(issued)} items", recomputed=f"{len(recomputed)} items"
            )
        for i, (a, b) in enumerate(zip(issued, recomputed, strict=False)):
            yield from differences(a, b, path=f"{path}[{i}]")
    elif not _same(issued, recomputed):
        yield Difference(path=path, issued=_shown(issued), recomputed=_shown(recomputed))


def _same(a: Any, b: Any) -> bool:
    numbers = [isinstance(x, int | float) and not isinstance(x, bool) for x in (a, b)]
    if all(numbers):
        return math.isclose(a, b, rel_tol=TOLERANCE, abs_tol=TOLERANCE)
    return type(a) is type(b) and bool(a == b)


def _shown(value: Any) -> str:
    if value is _ABSENT:
        return "nothing"
    text = json.dumps(value, ensure_ascii=False)
    return text if len(text) <= 60 else f"{text[:57]}..."
