"""What must hold of a setup before guidance can begin."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise
from math import isfinite

from ventwright.balancing.side_shape import TOTAL_ID
from ventwright.balancing.site_data import Damper, LossShare, Session, SideSetup
from ventwright.quantities.problems import Problem, Severity


def check_session(session: Session) -> tuple[Problem, ...]:
    """Everything about a setup that can't be used; empty when all is well.

    Parameters
    ----------
    session
        A session without events.
    """
    found: list[Problem] = []
    if not session.sides:
        found.append(
            _mistake("no-side", "sides", "no side is given", "give supply, extract or both")
        )
    if len({setup.side for setup in session.sides}) < len(session.sides):
        found.append(_mistake("side-twice", "sides", "a side is given twice", "give each once"))
    if len({meter.id for meter in session.meters}) < len(session.meters) or not session.meters:
        found.append(
            _mistake("meter-names", "meters", "meters need names of their own", "give at least one")
        )
    for meter in session.meters:
        numbers = (
            meter.repeat_frac,
            meter.resolution_m3_s,
            meter.bias_frac,
            meter.local_frac,
        )
        if not all(isfinite(x) and x >= 0.0 for x in numbers) or max(numbers[0], numbers[1]) == 0.0:
            found.append(
                _mistake(
                    "meter-spread",
                    f"meter {meter.id}",
                    f"meter '{meter.id}' has a spread that is no number, below 0 or 0 altogether",
                    "give a repeatability or a resolution above 0",
                )
            )
    for setup in session.sides:
        found += _side(setup)
    return tuple(found)


def _mistake(code: str, where: str, message: str, remedy: str) -> Problem:
    return Problem(
        code=code, where=where, message=message, remedy=remedy, severity=Severity.MISTAKE
    )


def _side(setup: SideSetup) -> Iterator[Problem]:
    names = [TOTAL_ID, *(run.id for run in setup.runs), *(item.id for item in setup.outlets)]
    for name in sorted({name for name in names if names.count(name) > 1}):
        yield _mistake(
            "name-twice", name, f"'{name}' is used twice", "give each thing its own name"
        )
    if not setup.outlets:
        yield _mistake(
            "no-outlet", setup.side, f"the {setup.side} side has no terminal", "give one"
        )
    known: set[str | None] = {None}
    for run in setup.runs:
        if run.parent_id not in known:
            yield _mistake(
                "run-order",
                run.id,
                f"'{run.id}' starts from '{run.parent_id}', which is not given before it",
                "give runs from the fan outwards",
            )
        known.add(run.id)
        yield from _loss(run.id, run.loss)
        yield from _damper(run.id, run.damper)
    yield from _loss(TOTAL_ID, setup.shared)
    for item in setup.outlets:
        if item.run_id not in known:
            yield _mistake(
                "unknown-run", item.id, f"'{item.id}' hangs on '{item.run_id}'", "name a run given"
            )
        if not (isfinite(item.target_m3_s) and item.target_m3_s > 0.0):
            yield _mistake(
                "target", item.id, f"target of '{item.id}' is {item.target_m3_s}", "above 0 m³/s"
            )
        if not (
            item.band_frac >= 0.0 and item.band_m3_s >= 0.0 and item.band_frac + item.band_m3_s
        ):
            yield _mistake("band", item.id, f"'{item.id}' has no band", "above 0")
        if not item.duct_ratio > 0.0:
            yield _mistake("duct-ratio", item.id, f"duct ratio of '{item.id}'", "above 0")
        if item.duct_spread_ratio is not None and not item.duct_spread_ratio > 0.0:
            yield _mistake("duct-ratio", item.id, f"duct spread of '{item.id}'", "above 0")
        yield from _damper(item.id, item.damper)
    if not 0.0 < setup.speed_frac <= setup.most_speed_frac:
        yield _mistake(
            "speed",
            setup.side,
            f"speed {setup.speed_frac} of the {setup.side} fan",
            f"above 0, up to {setup.most_speed_frac}",
        )


def _loss(name: str, loss: LossShare) -> Iterator[Problem]:
    if not (0.0 < loss.likely_frac < 1.0 and loss.spread_ratio > 0.0):
        yield _mistake(
            "loss-share", name, f"loss share of '{name}'", "between 0 and 1, spread above 0"
        )


def _damper(name: str, damper: Damper | None) -> Iterator[Problem]:
    if damper is None:
        return
    if damper.opening_frac is not None and not 0.0 <= damper.opening_frac <= 1.0:
        yield _mistake("opening", name, f"opening of '{name}' is {damper.opening_frac}", "0 to 1")
    table = damper.table
    rises = all(a < c and b < d for (a, b), (c, d) in pairwise(table))
    if table and (len(table) < 2 or not rises or table[0][1] <= 0.0):
        yield _mistake(
            "table", name, f"table of '{name}'", "two pairs or more, both columns rising, above 0"
        )
    if not damper.table_u_frac > 0.0:
        yield _mistake("table-spread", name, f"spread of the table of '{name}'", "above 0")
