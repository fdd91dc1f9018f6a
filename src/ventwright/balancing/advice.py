"""What guidance says: the next step, the predicted picture, or that all is done."""

from __future__ import annotations

from enum import StrEnum

from ventwright.balancing.surprise import Surprise
from ventwright.quantities.records import dataclass
from ventwright.quantities.words import Side
from ventwright.uncertainty import Verdict


class Deed(StrEnum):
    """What a step asks for."""

    READ_AS_FOUND = "read as found"
    READ_BEFORE_TURN = "read before turning"
    TURN = "turn"
    SET_SPEED = "set speed"
    READ_AS_LEFT = "read as left"
    READ_AGAIN = "read again"


class LookFor(StrEnum):
    """What may be wrong with a terminal that can't get its air."""

    CRUSHED_DUCT = "crushed duct"
    DISCONNECTED_BRANCH = "disconnected branch"
    SWAPPED_DUCTS = "swapped ducts"
    SHUT_DAMPER = "shut damper"


@dataclass(frozen=True, slots=True, kw_only=True)
class Predicted:
    """A terminal as it stands, or will stand after a step.

    Parameters
    ----------
    outlet_id, side
        Which terminal.
    flow_m3_s
        Most likely flow, as the side's own meter would show it [m³/s].
    u_frac
        Its relative standard uncertainty without the meter's bias, which all share.
    u_bias_frac
        Relative standard uncertainty of that bias.
    wanted_m3_s
        Its target share: the target scaled to what the side moves [m³/s].
    band_m3_s
        Half width of its band [m³/s].
    prob_within_frac
        Probability that it lies within its band; the bias cancels there.
    verdict
        Met, not met or not shown at the confidence asked for; not shown of one never read.
    """

    outlet_id: str
    side: Side
    flow_m3_s: float
    u_frac: float
    u_bias_frac: float
    wanted_m3_s: float
    band_m3_s: float
    prob_within_frac: float
    verdict: Verdict


@dataclass(frozen=True, slots=True, kw_only=True)
class Lead:
    """A terminal short of air with its path open, and what to look for; for the punch list."""

    outlet_id: str
    side: Side
    look_for: tuple[LookFor, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class SideTotal:
    """What a side moves, and what its fan saves.

    Parameters
    ----------
    side
        Which side.
    flow_ratio
        Flow of its terminals against the sum of their targets.
    reach_ratio
        The same at the highest speed of its fan.
    saved_power_frac
        Share of the fan's power saved against keeping the speed as found and shutting dampers.
    saved_w
        The same in watts [W]; None where the fan's power as found is not known.
    """

    side: Side
    flow_ratio: float
    reach_ratio: float
    saved_power_frac: float
    saved_w: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class NextStep:
    """One thing to do now.

    Parameters
    ----------
    deed
        What to do.
    side
        On which side.
    thing_id
        The terminal, run or `total` (a fan) it is done to.
    read_id
        Where the meter is: the terminal itself, or the one to be watched while a branch damper is
        turned; empty where nothing is read.
    count
        Readings to average.
    stop_m3_s
        For a turn with the meter in place: the reading to stop at now, so that it ends right when
        the others are done [m³/s]. Without a meter in place it is given where there is no mark to
        turn to: what to find when it is read afterwards.
    stop_low_m3_s, stop_high_m3_s
        How near is near enough [m³/s].
    opening_frac
        Mark the damper is expected to end at, or to turn it to where no meter is in place.
    turn_count
        The same as turns from where it stands, positive to open; None if turns are not known.
    is_fully_open
        Open to the stop, whatever the reading.
    speed_frac
        Speed to set.
    settles_m3_s
        Where the reading will be when all planned moves are done [m³/s].
    predicted
        All terminals of the side after the step.
    surprises
        Readings that are not believed.
    """

    deed: Deed
    side: Side
    thing_id: str
    read_id: str = ""
    count: int = 1
    stop_m3_s: float | None = None
    stop_low_m3_s: float | None = None
    stop_high_m3_s: float | None = None
    opening_frac: float | None = None
    turn_count: float | None = None
    is_fully_open: bool = False
    speed_frac: float | None = None
    settles_m3_s: float | None = None
    predicted: tuple[Predicted, ...] = ()
    surprises: tuple[Surprise, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Finished:
    """Nothing more to do that would be worth a stop.

    Parameters
    ----------
    is_met
        Whether every terminal is met.
    outlets
        All terminals with their verdicts.
    totals
        Both sides.
    leads
        Terminals short of air with their path open.
    surprises
        Readings that are not believed.
    """

    is_met: bool
    outlets: tuple[Predicted, ...]
    totals: tuple[SideTotal, ...]
    leads: tuple[Lead, ...]
    surprises: tuple[Surprise, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Method:
    """Figures the method is tuned with; all are judgement, tried on simulated houses.

    Parameters
    ----------
    loose_coverage_factor
        Standard uncertainties a flow is kept from the edge of its band when a later correction at
        its as-left stop would cost nothing.
    tight_coverage_factor
        The same where a correction would cost a stop, and at the as-left stop itself.
    least_guard_ratio
        Part of the band that is used in any case with the meter in place.
    round_guard_ratio, helpless_guard_ratio
        In rounds, without a meter in place: part of the band to be used by what will be read
        anyway, and by what is short of air and fully open.
    round_coverage_factor, helpless_coverage_factor
        In rounds, standard uncertainties that what stands as left is kept from the edge of its
        band, and the same where it is short of air and fully open.
    least_left_guard_ratio
        Part of the band that what stands as left may use in any case.
    turn_again_cost_ratio
        What turning a damper costs whose terminal stands as left: it must be read once more.
    least_effect_ratio, beforehand_effect_ratio
        Effect on its own terminal, in half bands, from which a turn is worth a hand, and from which
        a damper is turned once more just before its as-left reading.
    surely_off_prob_frac
        A terminal just read that lies in its band with no more than this probability is turned at
        once; the unsure wait until all are read.
    again_ratio
        A damper just turned is turned again if it is off by more than this part of the band.
    run_cost_live_ratio, run_cost_blind_ratio, run_cost_remote_ratio
        What turning a branch damper costs against a terminal's.
    found_count, before_count, stop_count, left_count
        Readings wanted as found, before a turn, at its stop, as left; fewer if the allowance is
        used up.
    reads_before_turn
        Whether a terminal is read just before its damper is turned.
    closing_confidence_frac, closing_rounds_confidence_frac
        A terminal less surely within its band than this is read again as left, with the meter in
        place and in rounds,
    more_left_count
        if it was read no more often than this since its own damper was turned.
    early_speed_ratio
        A fan is set before the as-left readings if the flow is off by more than this.
    late_speed_ratio
        A fan is set at the end if the flow is off by more than this.
    """

    loose_coverage_factor: float = 1.0
    tight_coverage_factor: float = 2.2
    least_guard_ratio: float = 0.35
    round_guard_ratio: float = 0.6
    helpless_guard_ratio: float = 0.5
    round_coverage_factor: float = 1.6
    helpless_coverage_factor: float = 1.0
    least_left_guard_ratio: float = 0.7
    turn_again_cost_ratio: float = 2.5
    least_effect_ratio: float = 0.2
    beforehand_effect_ratio: float = 1.0
    surely_off_prob_frac: float = 0.05
    again_ratio: float = 0.5
    run_cost_live_ratio: float = 2.5
    run_cost_blind_ratio: float = 3.0
    run_cost_remote_ratio: float = 1.1
    found_count: int = 2
    before_count: int = 1
    stop_count: int = 2
    left_count: int = 2
    reads_before_turn: bool = True
    closing_confidence_frac: float = 0.96
    closing_rounds_confidence_frac: float = 0.95
    more_left_count: int = 2
    early_speed_ratio: float = 0.10
    late_speed_ratio: float = 0.01
