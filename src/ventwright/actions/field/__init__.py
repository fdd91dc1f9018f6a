"""What the field page asks of the record: a visit as a page, an entry as typed, a flow at once."""

from ventwright.actions.field.begin import begin_visit
from ventwright.actions.field.house import (
    HouseTable,
    entry_kind,
    field_forms,
    house_page,
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
)
from ventwright.actions.field.page import (
    field_page,
    visit_number,
    visit_report,
)
from ventwright.actions.field.plan import (
    InstrumentPage,
    PlanPage,
    house_forms,
    instrument_page,
    plan_page,
)
from ventwright.actions.field.sweep import SweepSoFar, average_sweep
from ventwright.actions.field.take import take_entry

__all__ = [
    "Choice",
    "FieldPage",
    "Habits",
    "HouseTable",
    "InstrumentPage",
    "PlanPage",
    "StandingEntry",
    "StepDoor",
    "SweepSoFar",
    "TakenEntry",
    "TypedEntry",
    "average_sweep",
    "begin_visit",
    "entry_kind",
    "field_forms",
    "field_page",
    "house_forms",
    "house_page",
    "instrument_page",
    "plan_page",
    "purpose_of",
    "take_entry",
    "visit_number",
    "visit_report",
]
