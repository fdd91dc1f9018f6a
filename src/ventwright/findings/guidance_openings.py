"""Where rings and blades stood when the visit began, and after each change, as far as is written.

A position is written with a reading (terminal pressure needs it), with a change, or among the
settings as left; how far something was turned carries it from one to the next, both ways.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from itertools import pairwise

from ventwright.balancing import Damper
from ventwright.ducts import butterfly_loss_coeff
from ventwright.house import (
    Adjustment,
    AdjustmentKind,
    DamperKind,
    Reading,
    StationKind,
    Terminal,
    Visit,
)
from ventwright.house import Damper as BranchDamper
from ventwright.quantities.records import dataclass, field

OWN_TABLE_U_FRAC = 0.10
"""How well a terminal's typed table of turns is known. Judgement."""
BLADE_TABLE_U_FRAC = 0.2
"""How well the table of a plain butterfly blade fits the one at hand. Judgement."""
_BLADE_DEG = tuple(range(80, -1, -10))
_SHUT_DEG = 90.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Positions:
    """Turns from shut [turns] or degrees from open [°] of everything that can be turned.

    Parameters
    ----------
    found
        As the visit found it, by terminal or branch.
    after
        After each change, by the change's id.
    """

    found: Mapping[str, float] = field(default_factory=dict)
    after: Mapping[str, float] = field(default_factory=dict)


def positions_of(visit: Visit, events: Sequence[Reading | Adjustment]) -> Positions:
    """Positions as found and after each change, worked out from all that is written.

    Parameters
    ----------
    visit
        The visit, for the settings as left.
    events
        Its readings and changes in order.

    >>> from ventwright.house import Adjustment, AdjustmentKind
    >>> turn = Adjustment(id="a", kind=AdjustmentKind.TERMINAL, target="t1",
    ...                   turned_turns=-2.0, opening_turns=5.0)
    >>> plain = Visit(schema="ventwright-visit-1", id="v", house="h", adjustments=(turn,))
    >>> positions_of(plain, [turn]).found
    {'t1': 7.0}
    """
    found: dict[str, float] = {}
    after: dict[str, float] = {}
    turned = (AdjustmentKind.TERMINAL, AdjustmentKind.DAMPER)
    for target in {e.target for e in events if isinstance(e, Adjustment) and e.kind in turned} | {
        e.station.ref or "" for e in events if isinstance(e, Reading) and _shown(e) is not None
    }:
        known, changes = _walk(visit, events, target)
        _carry(known, [change.turned_turns for change in changes])
        if known[0] is not None:
            found[target] = known[0]
        after |= {
            change.id: at for change, at in zip(changes, known[1:], strict=True) if at is not None
        }
    return Positions(found=found, after=after)


def _walk(
    visit: Visit, events: Sequence[Reading | Adjustment], target: str
) -> tuple[list[float | None], list[Adjustment]]:
    """What is written of one thing's position before the first change and after each."""
    known: list[float | None] = [None]
    changes: list[Adjustment] = []
    for event in events:
        if isinstance(event, Adjustment):
            if event.target == target and event.kind is not AdjustmentKind.FAN:
                changes.append(event)
                known.append(
                    event.opening_turns if event.position_deg is None else event.position_deg
                )
        elif event.station.ref == target and known[-1] is None:
            known[-1] = _shown(event)
    final = next((f for f in visit.final_settings if f.target == target), None)
    if final is not None and known[-1] is None:
        known[-1] = final.opening_turns if final.position_deg is None else final.position_deg
    return known, changes


def _shown(reading: Reading) -> float | None:
    """Turns that a reading of a terminal was taken at."""
    if reading.station.kind is not StationKind.TERMINAL:
        return None
    return getattr(reading.look, "opening_turns", None)


def _carry(known: list[float | None], turned: list[float | None]) -> None:
    """Fill gaps from the neighbour and how far was turned in between, forwards, then backwards."""
    for i, way in enumerate(turned):
        at = known[i]
        if known[i + 1] is None and at is not None and way is not None:
            known[i + 1] = at + way
    for i, way in reversed(list(enumerate(turned))):
        at = known[i + 1]
        if known[i] is None and at is not None and way is not None:
            known[i] = at - way


def ring_of(terminal: Terminal, found_turns: float | None) -> Damper:
    """A terminal's ring for guidance: its table against turns, and where it stood.

    Parameters
    ----------
    terminal
        Any terminal that can be turned.
    found_turns
        Turns from shut as found; None if nobody wrote them.
    """
    points = sorted(
        ((p.opening_turns, p.flow_factor) for p in terminal.opening_table), key=lambda p: p[0]
    )
    rising = len(points) > 1 and all(a[1] < b[1] for a, b in pairwise(points))
    if not rising:
        return Damper()
    most_turns, most_factor = points[-1]
    return Damper(
        table=tuple((turns / most_turns, factor / most_factor) for turns, factor in points),
        table_u_frac=OWN_TABLE_U_FRAC,
        full_turns=most_turns,
        opening_frac=opening_frac_of(terminal, found_turns),
    )


def opening_frac_of(terminal: Terminal, turns: float | None) -> float | None:
    """Turns as a share of the most a terminal's table knows; None without either."""
    most = _most_turns(terminal)
    return None if turns is None or most <= 0.0 else min(1.0, max(0.0, turns / most))


def turns_of(terminal: Terminal, opening_frac: float | None) -> float | None:
    """The inverse: turns from shut at an opening; None without an opening or a table."""
    most = _most_turns(terminal)
    return None if opening_frac is None or most <= 0.0 else opening_frac * most


def _most_turns(terminal: Terminal) -> float:
    return max((p.opening_turns for p in terminal.opening_table), default=0.0)


def blade_of(damper: BranchDamper, found_deg: float | None) -> Damper:
    """A branch damper for guidance; a butterfly's table is that of a thin plate, by its angle.

    Parameters
    ----------
    damper
        As the house file has it.
    found_deg
        Angle from open as found [°]; None if the visit does not say. What the house file last saw
        is no finding of this visit and is left aside.

    Source: smacna_tables_code
    """
    if damper.kind is not DamperKind.BUTTERFLY:
        return Damper(is_movable=not damper.is_stuck)
    open_coeff = butterfly_loss_coeff(closing_deg=0.0)
    table = tuple(
        (1.0 - deg / _SHUT_DEG, (open_coeff / butterfly_loss_coeff(closing_deg=deg)) ** 0.5)
        for deg in _BLADE_DEG
    )
    return Damper(
        is_movable=not damper.is_stuck,
        table=table,
        table_u_frac=BLADE_TABLE_U_FRAC,
        opening_frac=None if found_deg is None else blade_frac(found_deg),
    )


def blade_frac(closing_deg: float) -> float:
    """Opening of a blade, 1 along the duct and 0 across it, from its angle from open [°].

    >>> blade_frac(30.0)
    0.6666666666666667
    """
    return min(1.0, max(0.0, 1.0 - closing_deg / _SHUT_DEG))


def blade_deg(opening_frac: float) -> float:
    """The inverse: angle from open [°] of a blade at an opening.

    Parameters
    ----------
    opening_frac
        Opening, 1 along the duct and 0 across it.

    >>> round(blade_deg(blade_frac(30.0)), 9)
    30.0
    """
    return _SHUT_DEG * (1.0 - opening_frac)
