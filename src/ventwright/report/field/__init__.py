"""The field page as data: stations with their figures, forms to fill in, the picture of the house.

Made from findings like the report; the page draws it and computes nothing.
"""

from ventwright.report.field.forms import EntryForm, FieldForm, entry_forms, method_forms
from ventwright.report.field.model import (
    FieldModel,
    FieldPicture,
    FieldStation,
    FieldValue,
    StationGroup,
)
from ventwright.report.field.plan import PlanList, PlanPart, compose_instrument, compose_plan
from ventwright.report.field.plan_forms import plan_forms
from ventwright.report.field.stations import compose_field, value_of_reading
from ventwright.report.field.sweep import sweep_text

__all__ = [
    "EntryForm",
    "FieldForm",
    "FieldModel",
    "FieldPicture",
    "FieldStation",
    "FieldValue",
    "PlanList",
    "PlanPart",
    "StationGroup",
    "compose_field",
    "compose_instrument",
    "compose_plan",
    "entry_forms",
    "method_forms",
    "plan_forms",
    "sweep_text",
    "value_of_reading",
]
