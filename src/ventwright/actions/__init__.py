"""One function for each thing a user does; files, engine and report brought together."""

from ventwright.actions.assess_files import (
    Assessment,
    assess_files,
    assess_snapshot,
    findings_json,
    preference_of,
    write_report,
    write_whole,
)
from ventwright.actions.compare_rules import (
    ComparisonRow,
    HouseComparison,
    compare_house,
    comparison_json,
)
from ventwright.actions.demo import Demonstration, examples_folder, run_demonstration
from ventwright.actions.next_step import guide_visit, next_json, next_model
from ventwright.actions.plan_house import (
    HousePlan,
    house_preference,
    plan_file,
    plan_json,
    plan_model,
    write_plan_drawing,
    write_plan_report,
)
from ventwright.actions.report_files import (
    ReportFormat,
    format_of,
    parts_of,
    photos_in,
    report_model,
    write_report_as,
    write_sheet,
)
from ventwright.actions.rule_sets import (
    DEFAULT_RULE_SETS,
    RuleLine,
    RuleSetListing,
    list_rule_set,
    load_rule_sets,
    shipped_rule_sets,
)
from ventwright.actions.visit_year import VisitYear, year_of_visit
from ventwright.actions.year import (
    HouseYear,
    follow_house_year,
    write_year_pictures,
    write_year_report,
    year_json,
    year_model,
    year_options,
)

__all__ = [
    "DEFAULT_RULE_SETS",
    "Assessment",
    "ComparisonRow",
    "Demonstration",
    "HouseComparison",
    "HousePlan",
    "HouseYear",
    "ReportFormat",
    "RuleLine",
    "RuleSetListing",
    "VisitYear",
    "assess_files",
    "assess_snapshot",
    "compare_house",
    "comparison_json",
    "examples_folder",
    "findings_json",
    "follow_house_year",
    "format_of",
    "guide_visit",
    "house_preference",
    "list_rule_set",
    "load_rule_sets",
    "next_json",
    "next_model",
    "parts_of",
    "photos_in",
    "plan_file",
    "plan_json",
    "plan_model",
    "preference_of",
    "report_model",
    "run_demonstration",
    "shipped_rule_sets",
    "write_plan_drawing",
    "write_plan_report",
    "write_report",
    "write_report_as",
    "write_sheet",
    "write_whole",
    "write_year_pictures",
    "write_year_report",
    "year_json",
    "year_model",
    "year_of_visit",
    "year_options",
]
