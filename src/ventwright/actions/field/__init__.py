"""What the field page asks of the record: a visit as a page, an entry as typed, a flow at once."""

from ventwright.actions.field.begin import begin_visit
from ventwright.actions.field.forms import (
    entry_kind,
    field_forms,
    purpose_of,
)
from ventwright.actions.field.model import (
    Choice,
    FieldPage,
    Habits,
    StandingEntry,
    StepDoor,
    TakenEntry,
    TypedEntry,
    VisitMarks,
)
from ventwright.actions.field.page import (
    WorkedVisit,
    field_page,
    visit_marks,
    visit_report,
    work_out,
)
from ventwright.actions.field.plan import (
    InstrumentPage,
    PlanPage,
    carry_instrument,
    house_forms,
    instrument_page,
    plan_page,
)
from ventwright.actions.field.sweep import SweepSoFar, average_sweep
from ventwright.actions.field.take import take_entry, take_signature

__all__ = [
    "Choice",
    "FieldPage",
    "Habits",
    "InstrumentPage",
    "PlanPage",
    "StandingEntry",
    "StepDoor",
    "SweepSoFar",
    "TakenEntry",
    "TypedEntry",
    "VisitMarks",
    "WorkedVisit",
    "average_sweep",
    "begin_visit",
    "carry_instrument",
    "entry_kind",
    "field_forms",
    "field_page",
    "house_forms",
    "instrument_page",
    "plan_page",
    "purpose_of",
    "take_entry",
    "take_signature",
    "visit_marks",
    "visit_report",
    "work_out",
]
