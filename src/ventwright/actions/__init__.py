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
from ventwright.actions.demo import Demonstration, examples_folder, run_demonstration
from ventwright.actions.rule_sets import DEFAULT_RULE_SETS, load_rule_sets, shipped_rule_sets

__all__ = [
    "DEFAULT_RULE_SETS",
    "Assessment",
    "Demonstration",
    "assess_files",
    "assess_snapshot",
    "examples_folder",
    "findings_json",
    "load_rule_sets",
    "preference_of",
    "run_demonstration",
    "shipped_rule_sets",
    "write_report",
    "write_whole",
]
