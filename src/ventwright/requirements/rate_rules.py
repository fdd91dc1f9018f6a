"""The forms a whole-dwelling rate may take in a rule file; every number stands in the file.

A rate is built in a fixed order: one of its methods (a sum of terms, or a table), its least value,
the share of it that runs continuously, the credit for infiltration, a credit by share, the factor
for the kind of system, and the factor for running part of the time. A file gives those that its
text has.
"""

from __future__ import annotations

from enum import StrEnum

from ventwright.house import RoomKind
from ventwright.quantities import (
    AirChangeRate1H,
    AreaM2,
    Count,
    FlowM3S,
    Frac,
    LengthM,
    PressurePa,
    TimeS,
)
from ventwright.quantities.records import dataclass
from ventwright.requirements.citation import Citation
from ventwright.uncertainty import DecisionRule


class Counts(StrEnum):
    """What a term of a formula is multiplied by."""

    DWELLING = "dwelling"
    FLOOR_AREA = "floor_area"
    FLOOR_AREA_SQUARED = "floor_area_squared"
    VOLUME = "volume"
    """Air changes of the volume."""
    BEDROOMS = "bedrooms"
    PEOPLE = "people"
    """Those named; where nobody said, bedrooms with the term's `added`."""
    EXTRA_PEOPLE = "extra_people"
    """Those named beyond bedrooms with the term's `added`; none where nobody said."""
    ROOMS = "rooms"
    """Rooms of the kinds listed."""
    BASEMENT = "basement"
    """1 if a room lies below the entrance storey."""


@dataclass(frozen=True, slots=True, kw_only=True)
class RateTerm:
    """One term: a flow for each of what it counts.

    An area counts in steps of `per_area_m2`: 3 cfm for each 100 ft². Bedrooms, people and rooms
    are first kept between `least_count` and `most_count`, then `skipped_count` are left out and
    `added_count` added: bedrooms + 1 is `added = 1`. A volume takes `air_changes_1_h` instead of a
    flow. A term without a citation of its own has its method's.
    """

    counts: Counts
    flow_m3_s: FlowM3S | None = None
    air_changes_1_h: AirChangeRate1H | None = None
    per_area_m2: AreaM2 | None = None
    room_kinds: tuple[RoomKind, ...] = ()
    least_count: Count | None = None
    most_count: Count | None = None
    skipped_count: Count = 0
    added_count: Count = 0
    is_subtracted: bool = False
    citation: Citation | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class TableRow:
    """A band of floor area and its flow for each column; without `up_to_area_m2` it is open."""

    up_to_area_m2: AreaM2 | None = None
    flows_m3_s: tuple[FlowM3S, ...]
    most_flows_m3_s: tuple[FlowM3S, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class RateTable:
    """A printed table: columns by the most bedrooms they hold, rows by the largest area.

    Beyond the last column a house takes that column if it is open, `further_bedroom_m3_s` for each
    bedroom more if that is given, and has no value otherwise. Beyond the last row it has none.
    """

    bedrooms: tuple[Count, ...]
    is_last_column_open: bool = False
    further_bedroom_m3_s: FlowM3S | None = None
    rows: tuple[TableRow, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class RateMethod:
    """One way to the rate: terms or a table, for floor areas within the range if one is given."""

    id: str
    from_area_m2: AreaM2 | None = None
    up_to_area_m2: AreaM2 | None = None
    terms: tuple[RateTerm, ...] = ()
    table: RateTable | None = None
    citation: Citation
    note: str = ""


class MethodChoice(StrEnum):
    """How several methods of one rule stand to each other."""

    ALTERNATIVE = "alternative"
    """Any one may be used; the first that can be computed unless another is named."""
    LARGEST = "largest"
    """All are computed and the largest counts."""


class CountedFlow(StrEnum):
    """Which of the two total flows a rate is compared with."""

    LARGER = "larger"
    SMALLER = "smaller"


@dataclass(frozen=True, slots=True, kw_only=True)
class LeastFlow:
    """A rate that a dwelling never falls below."""

    flow_m3_s: FlowM3S
    citation: Citation


@dataclass(frozen=True, slots=True, kw_only=True)
class ContinuousShare:
    """The part of a total capacity that must run all the time."""

    share_frac: Frac
    least_m3_s: FlowM3S = 0.0
    citation: Citation


@dataclass(frozen=True, slots=True, kw_only=True)
class Distribution:
    """What counts as distributed: rooms that air is ducted to and taken from.

    Every room of the kinds in the two `every` lists, and at least one of those in `one_of`.
    """

    supply_to_every: tuple[RoomKind, ...] = ()
    supply_to_one_of: tuple[RoomKind, ...] = ()
    extract_from_every: tuple[RoomKind, ...] = ()
    citation: Citation


@dataclass(frozen=True, slots=True, kw_only=True)
class ShareCredit:
    """A share of the rate that is let off where the system is distributed *and* balanced."""

    credit_frac: Frac
    distribution: Distribution
    citation: Citation


@dataclass(frozen=True, slots=True, kw_only=True)
class SystemFactors:
    """Factors on the rate by whether the system is balanced and whether it is distributed."""

    both_factor: Count
    balanced_factor: Count
    distributed_factor: Count
    neither_factor: Count
    distribution: Distribution
    citation: Citation


class CreditForm(StrEnum):
    """How infiltration lowers the required fan flow."""

    CAPPED = "capped"
    """Total less infiltration, at most `cap` of the total."""
    REDUCED = "reduced"
    """Total less infiltration; unbalanced, less infiltration squared over the total."""
    IMBALANCE = "imbalance"
    """The fan flow at which fan and infiltration superpose to the total at a given imbalance."""
    ABOVE_DEFAULT = "above_default"
    """Total less a share of what infiltration exceeds a built-in default by."""


class Superposition(StrEnum):
    """How a fan and infiltration add up."""

    QUADRATURE = "quadrature"
    FAN_RATIO = "fan_ratio"
    IMBALANCE_RATIO = "imbalance_ratio"


@dataclass(frozen=True, slots=True, kw_only=True)
class InfiltrationRule:
    """A credit for infiltration from a blower-door result and a weather and shielding factor.

    Leakage area is `leakage_area_m2` for each `per_flow_m3_s` at the reference pressure, to which
    the measured flow is carried by its exponent. Normalised leakage is `normalising_factor` times
    leakage area over floor area times height over reference height to `height_exponent`. The
    effective flow is normalised leakage times weather factor, taken as changes per hour of the
    floor area times the reference height. `short_coeff` is that of the short form, shown beside it.
    """

    form: CreditForm
    superposition: Superposition | None = None
    reference_pressure_pa: PressurePa
    leakage_area_m2: AreaM2
    per_flow_m3_s: FlowM3S
    default_exponent: Count
    normalising_factor: Count
    reference_height_m: LengthM
    height_exponent: Count
    short_coeff: Count | None = None
    short_pressure_pa: PressurePa | None = None
    cap_frac: Frac | None = None
    credited_frac: Frac | None = None
    default_flow_m3_s: FlowM3S | None = None
    default_per_area_m2: AreaM2 | None = None
    is_for_detached_only: bool = False
    is_for_existing_only: bool = False
    citation: Citation
    note: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class RunPoint:
    """One column of a table of factors by run time."""

    run_frac: Frac
    factor: Count


@dataclass(frozen=True, slots=True, kw_only=True)
class CyclingRule:
    """What a system that runs part of the time must move while it runs.

    With points: the factor between them by interpolation, and none outside them. Without: the
    equal mean. A period longer than `period_s` is not covered.
    """

    period_s: TimeS
    points: tuple[RunPoint, ...] = ()
    citation: Citation


@dataclass(frozen=True, slots=True, kw_only=True)
class RateRule:
    """The whole-dwelling rate of a rule set."""

    choice: MethodChoice = MethodChoice.ALTERNATIVE
    counted: CountedFlow = CountedFlow.SMALLER
    decision_rule: DecisionRule = DecisionRule.SIMPLE
    methods: tuple[RateMethod, ...]
    least: LeastFlow | None = None
    continuous: ContinuousShare | None = None
    infiltration: InfiltrationRule | None = None
    share_credit: ShareCredit | None = None
    system_factors: SystemFactors | None = None
    cycling: CyclingRule | None = None
    note: str = ""
