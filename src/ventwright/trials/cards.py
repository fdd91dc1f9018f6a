"""What a technician holds: cards of terminals and branches, readings, turns, the outcome."""

from __future__ import annotations

from dataclasses import dataclass

from ventwright.quantities.words import Side
from ventwright.trials.dampers import Table
from ventwright.trials.truth import Indices, Place


@dataclass(frozen=True, slots=True, kw_only=True)
class TerminalCard:
    """What is known of a terminal on arrival.

    Parameters
    ----------
    id
        Name.
    side
        Supply or extract.
    branch_id
        The branch it hangs on.
    target_m3_s
        Design flow; the band is the greater of 10 % or 1 cfm.
    place
        Its room.
    damper_place
        Where its damper is turned: the room, or the crawl space or loft when remote.
    has_ring
        Whether there is anything to turn; that it is stuck shows when one tries.
    opening_frac
        Opening as found, by its mark.
    table
        Opening against flow factor relative to full opening; empty without a ring.
    is_table_known
        Whether that table is this terminal's own rather than a general one.
    """

    id: str
    side: Side
    branch_id: str
    target_m3_s: float
    place: Place
    damper_place: Place
    has_ring: bool
    opening_frac: float
    table: Table
    is_table_known: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class BranchCard:
    """What is known of a branch on arrival; its damper, if any, is in the crawl space or loft.

    Branches stand in the order in which they leave the main duct, the one nearest the fan first.
    """

    id: str
    side: Side
    terminal_ids: tuple[str, ...]
    place: Place
    has_damper: bool
    opening_frac: float
    table: Table


@dataclass(frozen=True, slots=True, kw_only=True)
class SiteReading:
    """A value noted: mean of `count` displayed values at a terminal, or of a side's total.

    `thing` is a terminal's id, or ``total supply`` or ``total extract``.
    """

    number: int
    thing: str
    flow_m3_s: float
    count: int
    elapsed_s: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Turn:
    """What a turn came to.

    Parameters
    ----------
    opening_frac
        Where the mark stands now.
    is_stuck
        It would not move.
    stop
        ``open`` or ``shut`` if it ended at a stop, else empty.
    reading
        What the meter shows at the end, if it was in place and the allowance granted a reading.
    """

    opening_frac: float
    is_stuck: bool
    stop: str
    reading: SiteReading | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Outcome:
    """How a procedure ended.

    Parameters
    ----------
    is_closed
        Whether it declared the as-left readings good.
    suspect_readings
        Numbers of readings it named as surprises.
    """

    is_closed: bool
    suspect_readings: Indices = ()
