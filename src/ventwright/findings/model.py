"""What an assessment finds, as data: every figure with its readings, every refusal with its cause.

Texts for people are made in `report`; here stand numbers, verdicts, codes, and the ids of the
readings that each figure rests on.
"""

from __future__ import annotations

from enum import StrEnum

from ventwright.air import AirEstimate
from ventwright.findings.house_air import DoorFinding, PressureFinding, RoomAirFinding
from ventwright.findings.wet_room_air import WetRoomFinding
from ventwright.house import (
    Fault,
    FilterSide,
    FinalSetting,
    Method,
    Phase,
    Station,
    WalkThroughEntry,
)
from ventwright.instruments import FlowFigure
from ventwright.moisture import FirstToWet, SafeLimit, SurfaceCheck
from ventwright.quantities import AirKind, Problem, Side
from ventwright.quantities.records import dataclass
from ventwright.recovery import FanEfficacy, RatedComparison, RatioKind, RecoveryResult
from ventwright.requirements import BalancePair, Judgement, RateFindings
from ventwright.uncertainty import Estimate, Settling, Verdict, what_would_settle


@dataclass(frozen=True, slots=True, kw_only=True)
class ReadingFinding:
    """One reading interpreted.

    `is_used` is false for readings that are kept and flagged but enter no verdict (in defrost,
    refused, superseded); `unused_code` says which.
    """

    reading_id: str
    station: Station
    setting: str
    phase: Phase
    method: Method
    instrument_id: str | None
    flow: FlowFigure | None = None
    air: AirEstimate | None = None
    scalar_si: Estimate | None = None
    method_note: str = ""
    flags: tuple[Problem, ...] = ()
    is_used: bool = True
    unused_code: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class FlowFinding:
    """The flow at one station in one setting and phase, all its readings taken together.

    `filter_sides` are those its readings name; a pair that mixes both sides makes no verdict.
    """

    figure: FlowFigure
    setting: str
    phase: Phase
    reading_ids: tuple[str, ...]
    filter_sides: tuple[FilterSide, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class JudgedLine:
    """One judgement, or the reason why none could be drawn (verdict *not shown*).

    `settling` says of a judgement that is *not shown* how small the uncertainty would have to be,
    and which influence to attack first.
    """

    rule_set_id: str
    judgement: Judgement | None = None
    reason_code: str = ""
    settling: Settling | None = None

    @property
    def verdict(self) -> Verdict:
        """The verdict; *not shown* where no judgement could be drawn."""
        return Verdict.NOT_SHOWN if self.judgement is None else self.judgement.decision.verdict


def judged_line(rule_set_id: str, judgement: Judgement | None) -> JudgedLine:
    """A line for a judgement, with what would settle it where it is *not shown*.

    Parameters
    ----------
    rule_set_id
        The rule set.
    judgement
        What it says; None where the rule leaves both sides open.
    """
    if judgement is None:
        return JudgedLine(rule_set_id=rule_set_id, reason_code="rule-open")
    return JudgedLine(
        rule_set_id=rule_set_id,
        judgement=judgement,
        settling=what_would_settle(judgement.judged_si, judgement.decision),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class TerminalFinding:
    """One terminal in one setting: planned, re-targeted, found, left, judged.

    Flows are volumes of room air as it is in the house (not standard air), the measure in which
    design flows are written. `share_frac` is the terminal's share of all terminals of its side,
    in which a meter's common bias cancels; it is known only where all were read.
    """

    terminal_id: str
    room_id: str
    room_name: str
    side: Side
    setting: str
    design_m3_s: float | None
    target_m3_s: float | None
    low_m3_s: float | None
    high_m3_s: float | None
    as_found: FlowFinding | None
    as_left: FlowFinding | None
    judged_phase: Phase | None
    share_frac: Estimate | None
    share_target_frac: float | None
    lines: tuple[JudgedLine, ...]


class HouseEffect(StrEnum):
    """What an imbalance does to the house."""

    PULLED = "pulled"
    """More air leaves than enters: the house is under suction."""
    PUSHED = "pushed"
    UNDECIDED = "undecided"


@dataclass(frozen=True, slots=True, kw_only=True)
class BalanceFinding:
    """Two streams compared as mass in one setting and phase.

    `first` is supply or outdoor, `second` extract or exhaust, both as standard volume [m³/s].
    `effect` is stated at 95 % confidence, otherwise undecided with its probability.
    """

    pair: BalancePair
    setting: str
    phase: Phase
    first: FlowFinding | None
    second: FlowFinding | None
    gap_m3_s: Estimate | None
    share_of_average_frac: Estimate | None
    effect: HouseEffect
    prob_pulled_frac: float | None
    lines: tuple[JudgedLine, ...]
    missing: tuple[AirKind, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Explanation:
    """One possible cause of a gap between terminals and duct, with its probability."""

    code: str
    prob_frac: float


@dataclass(frozen=True, slots=True, kw_only=True)
class TotalFinding:
    """A side's terminals added up against its duct, in one setting and phase.

    `gap_share_frac` is (duct − terminals) over duct. Odds rest on the stated priors and say where
    to look first; they are no measurement.
    """

    side: Side
    setting: str
    phase: Phase
    duct: FlowFinding | None
    terminals_m3_s: Estimate | None
    missing_terminals: tuple[str, ...]
    gap_share_frac: Estimate | None
    explanations: tuple[Explanation, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class DesignFinding:
    """A side's measured total against the designer's total, as room air [m³/s]."""

    side: Side
    setting: str
    phase: Phase
    design_m3_s: float
    measured_m3_s: Estimate | None
    lines: tuple[JudgedLine, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class RetargetFinding:
    """Both sides rescaled to the lower flow that both can reach, in one setting.

    `limited_by` is the side that reaches less; None where the design is reachable and stands.
    """

    setting: str
    side: Side
    design_total_m3_s: float
    reachable_m3_s: float
    limited_by: Side | None
    scale_ratio: float
    held_low: tuple[str, ...]
    held_high: tuple[str, ...]
    shortfall_m3_s: float


@dataclass(frozen=True, slots=True, kw_only=True)
class RecoveryFinding:
    """Heat and moisture exchange in one setting and phase, with the streams it rests on.

    `rated` compares with the unit's rated points at the measured flow, one entry for each figure
    that was rated.
    """

    setting: str
    phase: Phase
    streams: tuple[tuple[AirKind, AirEstimate], ...]
    reading_ids: tuple[str, ...]
    missing: tuple[AirKind, ...]
    result: RecoveryResult | None
    rated: tuple[tuple[RatioKind, RatedComparison], ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class PowerFinding:
    """Electrical power in one setting and what it buys."""

    setting: str
    phase: Phase
    power_w: Estimate
    efficacy: FanEfficacy | None
    reading_ids: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class SurfaceFinding:
    """One surface against the air that touches it."""

    surface_id: str
    name: str
    kind: str
    origin_code: str
    check: SurfaceCheck | None
    reason_code: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class EffectiveFinding:
    """Ventilation averaged over the day by how long each setting runs, as room air [m³/s]."""

    side: Side
    mean_m3_s: Estimate | None
    running_frac: float
    settings: tuple[str, ...]
    missing_settings: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Advice:
    """One thing to do next: a code, its subject, and what its sentence needs.

    `detail` is the label of the influence to attack first, where the advice is to read better.
    """

    code: str
    subject: str
    setting: str = ""
    value_si: float | None = None
    goal_si: float | None = None
    detail: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class SystemFindings:
    """Everything found about one ventilation unit and its ducts."""

    system_id: str
    flows: tuple[tuple[str, FlowFinding], ...]
    terminals: tuple[TerminalFinding, ...]
    balances: tuple[BalanceFinding, ...]
    totals: tuple[TotalFinding, ...]
    designs: tuple[DesignFinding, ...]
    retargets: tuple[RetargetFinding, ...]
    recoveries: tuple[RecoveryFinding, ...]
    powers: tuple[PowerFinding, ...]
    effective: tuple[EffectiveFinding, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Findings:
    """What one snapshot says.

    `engine` names the version that found it; the same snapshot gives the same findings.
    `first_to_wet` is the surface with the least margin; `safe_dew_point` the highest indoor dew
    point that leaves every surface touched by room air dry with confidence. `rates` judges the
    house against each rule set that asks for a rate or for room flows. `house_pressures`, `doors`
    and `rooms_air` speak of the shell, of closed doors, and of bedrooms at night; `wet_rooms` of
    bathrooms with a shower running.
    """

    engine: str
    house_id: str
    visit_id: str
    phase: Phase
    pressure_pa: Estimate
    pressure_origin_code: str
    systems: tuple[SystemFindings, ...]
    surfaces: tuple[SurfaceFinding, ...]
    readings: tuple[ReadingFinding, ...]
    walk_through: tuple[WalkThroughEntry, ...]
    punch_list: tuple[Fault, ...]
    final_settings: tuple[FinalSetting, ...]
    problems: tuple[Problem, ...]
    advice: tuple[Advice, ...]
    first_to_wet: FirstToWet | None = None
    safe_dew_point: SafeLimit | None = None
    rates: tuple[RateFindings, ...] = ()
    house_pressures: tuple[PressureFinding, ...] = ()
    doors: tuple[DoorFinding, ...] = ()
    rooms_air: tuple[RoomAirFinding, ...] = ()
    wet_rooms: tuple[WetRoomFinding, ...] = ()
