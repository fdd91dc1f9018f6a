"""What passes between the field page and the record."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING

from ventwright.actions.record import Handed
from ventwright.house import EntryKind
from ventwright.quantities import NumberStyle, Problem, UnitPreference

if TYPE_CHECKING:
    from ventwright.report.field import FieldModel, FieldValue


@dataclass(frozen=True, slots=True, kw_only=True)
class Habits:
    """How a person reads and types numbers."""

    preference: UnitPreference = UnitPreference.SI_M3H
    number_style: NumberStyle = NumberStyle.DECIMAL_POINT


@dataclass(frozen=True, slots=True, kw_only=True)
class TypedEntry:
    """An entry as a page hands it in: texts by key, the id made where it was typed.

    `record_id` is the id of what it speaks of where that differs, such as a fault mended later.
    """

    id: str
    kind: EntryKind
    texts: Mapping[str, object]
    at: datetime
    record_id: str = ""
    supersedes: str | None = None
    reason: str = ""
    by: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class TakenEntry:
    """What became of it; `value` says at once what a reading amounts to."""

    handed: Handed
    problems: tuple[Problem, ...]
    value: FieldValue | None


@dataclass(frozen=True, slots=True, kw_only=True)
class StandingEntry:
    """Something typed before that stands: its entry's id, and its texts to be typed over."""

    id: str
    record_id: str
    kind: str
    texts: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class StepDoor:
    """Where the next step of balancing is typed: what is read in which phase, what is turned.

    `station` is empty where nothing is read, `target` where nothing is turned.
    """

    setting: str
    station: str = ""
    phase: str = ""
    target: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Choice:
    """One of several entries that contradict each other; the first that is listed stands."""

    sha256: str
    number: int
    kind: str
    text: str


@dataclass(frozen=True, slots=True, kw_only=True)
class VisitMarks:
    """How many entries a visit has, and how many its house's plan: a page is made of both."""

    number: int
    plan_number: int


@dataclass(frozen=True, slots=True, kw_only=True)
class FieldPage:
    """A visit as the field page shows it, up to the entry `number`; photos by hash and caption.

    `plan_number` is that of the house's plan.
    """

    visit_id: str
    house_id: str
    number: int
    plan_number: int
    is_closed: bool
    model: FieldModel
    standing: tuple[StandingEntry, ...]
    photos: tuple[tuple[str, str], ...]
    steps: tuple[StepDoor, ...]
    contests: tuple[tuple[Choice, ...], ...]
    problems: tuple[Problem, ...]
