"""``ventwright assess``."""

from __future__ import annotations

import argparse
import sys

from ventwright.actions import (
    assess_files,
    findings_json,
    preference_of,
    report_model,
    write_report,
)
from ventwright.quantities import NumberStyle, Problem, UnitPreference

EXIT_DONE, EXIT_USER = 0, 2


def run_assess(options: argparse.Namespace) -> int:
    """Assess a visit and print what was found.

    Parameters
    ----------
    options
        Parsed command line.

    Returns
    -------
    int
        0, or 2 if something in the files could not be read (all else was assessed).
    """
    style = NumberStyle(options.numbers) if options.numbers else None
    assessment = assess_files(options.house, options.visit, number_style=style)
    preference = (
        UnitPreference(options.units) if options.units else preference_of(assessment.snapshot)
    )
    if options.json:
        sys.stdout.buffer.write(findings_json(assessment))
        sys.stdout.flush()
    else:
        from rich.console import Console

        from ventwright.cli.show import show

        show(report_model(assessment, preference=preference), Console())
    if options.report:
        write_report(assessment, options.report, preference=preference)
        print(f"report: {options.report}", file=sys.stderr)
    say_mistakes(assessment.mistakes)
    return EXIT_USER if assessment.mistakes else EXIT_DONE


def say_mistakes(mistakes: tuple[Problem, ...]) -> None:
    """Name each field that could not be read, with its place and what is accepted.

    Parameters
    ----------
    mistakes
        Problems of severity *mistake*.
    """
    if not mistakes:
        return
    print(f"\n{len(mistakes)} to mend in the files; all else was assessed:", file=sys.stderr)
    for problem in mistakes:
        print(f"  {problem.where}: {problem.message}", file=sys.stderr)
        print(f"    → {problem.remedy}", file=sys.stderr)
