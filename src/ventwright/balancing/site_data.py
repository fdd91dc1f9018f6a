"""What guidance is told: terminals, runs of duct, dampers, meters, and what was done.

Everything is frozen, made of plain values and tuples, and can be written to JSON (`session_json`).
"""

from __future__ import annotations

from enum import StrEnum

from ventwright.quantities.records import dataclass
from ventwright.quantities.words import Side

LIKELY_SHARED_SHARE = 0.7
"""Share of the fan's pressure at no flow that a house usually loses before the rooms' ducts part:
fall of the fan curve, outdoor leg, filter, exchanger. Judgement."""


FactorTable = tuple[tuple[float, float], ...]
"""Pairs (opening, flow factor relative to fully open), rising."""


class SettingStyle(StrEnum):
    """How a damper is set."""

    LIVE = "live"
    """A meter or pressure tap stays in place while the hand turns."""
    BLIND = "blind"
    """Turn, cover, read: the meter hides the damper."""
    REMOTE = "remote"
    """Turn in another place, walk, read."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Spot:
    """Where something is, for fewest ways.

    Parameters
    ----------
    area
        Storey, crawl space or loft; from one to another is a trip.
    x_m, y_m
        Position within it [m].
    """

    area: str = ""
    x_m: float = 0.0
    y_m: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Damper:
    """Something to turn.

    Parameters
    ----------
    opening_frac
        Its mark as found, 0 shut to 1 fully open; None if there is no mark.
    table
        Pairs (opening, flow factor relative to fully open), rising; empty if unknown.
    table_u_frac
        Standard uncertainty of the logarithm of the table's flow factors, relative: 0.05 for the
        product's own table, 0.2 for one of its kind.
    full_turns
        Turns from shut to fully open, so that a step can be told in turns; None if unknown.
    is_movable
        False where it is known to be stuck or must stay.
    spot
        Where it is turned.
    """

    opening_frac: float | None = None
    table: FactorTable = ()
    table_u_frac: float = 0.2
    full_turns: float | None = None
    is_movable: bool = True
    spot: Spot = Spot()


@dataclass(frozen=True, slots=True, kw_only=True)
class LossShare:
    """What is known of the share of pressure that is lost in a run of duct.

    Parameters
    ----------
    likely_frac
        Of the pressure at the run's start, what is lost in it; between 0 and 1.
    spread_ratio
        Standard uncertainty of the logarithm of its odds, likely/(1 − likely); 0.9 is wide, 0.25
        is a calculation from known ducts.
    """

    likely_frac: float
    spread_ratio: float = 0.9


@dataclass(frozen=True, slots=True, kw_only=True)
class Run:
    """A run of duct that feeds several things: a branch, or a piece of the main duct.

    Parameters
    ----------
    id
        Name, unique within the side.
    parent_id
        The run it starts from; None for the shared path at the unit.
    damper
        Its damper, if any.
    loss
        What is known of its loss as found.
    """

    id: str
    parent_id: str | None = None
    damper: Damper | None = None
    loss: LossShare = LossShare(likely_frac=0.12)


@dataclass(frozen=True, slots=True, kw_only=True)
class Outlet:
    """A terminal with its target.

    Parameters
    ----------
    id
        Name, unique in the house.
    run_id
        The run it hangs on; None for the shared path.
    target_m3_s
        Flow wanted [m³/s].
    band_frac, band_m3_s
        Half width of its band: the greater of the share of its target and the flow [m³/s].
    damper
        Its damper; None for a fixed grille.
    duct_ratio
        Likely ratio of the terminal's own drop, fully open, to that of the duct behind it back to
        where it leaves its run.
    duct_spread_ratio
        Standard uncertainty of the logarithm of that ratio where it was worked out from the drops
        of both; None for a guess, which all terminals of a side share in part.
    spot
        Where it is read.
    """

    id: str
    run_id: str | None
    target_m3_s: float
    band_frac: float = 0.10
    band_m3_s: float = 0.0
    damper: Damper | None = None
    duct_ratio: float = 1.0
    duct_spread_ratio: float | None = None
    spot: Spot = Spot()


@dataclass(frozen=True, slots=True, kw_only=True)
class Meter:
    """How good a method of reading is.

    Parameters
    ----------
    id
        Name; readings refer to it.
    repeat_frac
        Relative standard uncertainty of one reading about its mean.
    resolution_m3_s
        Step of the display [m³/s].
    bias_frac
        Relative standard uncertainty of what all its readings share.
    local_frac
        Relative standard uncertainty of what its readings at one terminal share and those at other
        terminals don't: the flow a hood takes there, the jet, the shape of the grille. No number
        of readings there makes it smaller, and it does not cancel in shares.
    """

    id: str
    repeat_frac: float = 0.03
    resolution_m3_s: float = 0.0
    bias_frac: float = 0.03
    local_frac: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class SideSetup:
    """One side of the house: the tree of runs and terminals behind one fan.

    Parameters
    ----------
    side
        Supply or extract.
    outlets, runs
        Its terminals and runs.
    shared
        What is known of the share lost in the shared path, the fall of the fan's curve included.
    speed_frac
        Fan speed as found, as its control shows it.
    most_speed_frac
        Highest speed it may be set to.
    power_w
        Electric power of the fan as found [W]; None if not read.
    is_speed_settable
        Whether the speed can be set for this side alone. Where it can't, the side's total is set by
        its main damper: that of a run which all its terminals are behind.
    """

    side: Side
    outlets: tuple[Outlet, ...]
    runs: tuple[Run, ...] = ()
    shared: LossShare = LossShare(likely_frac=LIKELY_SHARED_SHARE, spread_ratio=0.7)
    speed_frac: float = 1.0
    most_speed_frac: float = 1.0
    power_w: float | None = None
    is_speed_settable: bool = True


@dataclass(frozen=True, slots=True, kw_only=True)
class Options:
    """How the work is done.

    Parameters
    ----------
    style
        How dampers are set.
    readings_a_stop_ratio
        Readings that may be averaged, per stop, over the whole visit.
    setting_frac
        Relative standard uncertainty of the hand.
    confidence_frac
        Asked of a verdict.
    unit_spot
        Where fan speeds are set.
    """

    style: SettingStyle = SettingStyle.LIVE
    readings_a_stop_ratio: float = 1.8
    setting_frac: float = 0.01
    confidence_frac: float = 0.9
    unit_spot: Spot = Spot()


@dataclass(frozen=True, slots=True, kw_only=True)
class FlowReading:
    """A flow read at a terminal, or of a run or a whole side.

    Parameters
    ----------
    id
        Name of the reading.
    thing_id
        The terminal, the run, or `total` for the whole side.
    side
        Whose.
    flow_m3_s
        What the meter showed, the mean if averaged [m³/s].
    meter_id
        By which method.
    count
        Readings averaged.
    """

    id: str
    thing_id: str
    side: Side
    flow_m3_s: float
    meter_id: str
    count: int = 1


@dataclass(frozen=True, slots=True, kw_only=True)
class DamperMove:
    """A damper was turned; a reading at the stop follows as a `FlowReading`.

    Parameters
    ----------
    thing_id
        Terminal or run.
    side
        Whose.
    opening_frac
        Where its mark stands now; None if it has none.
    is_at_open_stop, is_at_shut_stop
        It ended at a stop.
    is_stuck
        It would not move.
    """

    thing_id: str
    side: Side
    opening_frac: float | None = None
    is_at_open_stop: bool = False
    is_at_shut_stop: bool = False
    is_stuck: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class SpeedMove:
    """A fan was set to another speed."""

    side: Side
    speed_frac: float


Event = FlowReading | DamperMove | SpeedMove


@dataclass(frozen=True, slots=True, kw_only=True)
class Session:
    """All that is known and all that was done, in order; changed only by making another.

    Parameters
    ----------
    sides
        The sides to be balanced.
    meters
        Methods of reading.
    options
        How the work is done.
    events
        Readings and moves in the order in which they happened.
    """

    sides: tuple[SideSetup, ...]
    meters: tuple[Meter, ...]
    options: Options = Options()
    events: tuple[Event, ...] = ()

    def setup(self, side: Side) -> SideSetup:
        """Setup of one side."""
        return next(item for item in self.sides if item.side is side)

    def meter(self, meter_id: str) -> Meter:
        """Meter by name."""
        return next(item for item in self.meters if item.id == meter_id)
