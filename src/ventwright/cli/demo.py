"""``ventwright demo``."""

from __future__ import annotations

import argparse

from ventwright.actions import preference_of, report_model, run_demonstration
from ventwright.quantities import NumberStyle, UnitPreference

EXIT_DONE = 0


def run_demo(options: argparse.Namespace) -> int:
    """Write, assess and report an invented house, say what to look at, and serve the pages.

    Parameters
    ----------
    options
        Parsed command line.

    Returns
    -------
    int
        0.
    """
    from rich.console import Console

    from ventwright.cli.serve import serve_pages
    from ventwright.cli.show import show

    done = run_demonstration(
        options.out,
        preference=UnitPreference(options.units) if options.units else None,
        number_style=NumberStyle(options.numbers) if options.numbers else None,
    )
    assessment = done.assessment
    preference = (
        UnitPreference(options.units) if options.units else preference_of(assessment.snapshot)
    )
    console = Console()
    show(report_model(assessment, preference=preference), console)
    console.print()
    console.rule("Look at", align="left")
    for path, words in (
        (done.report_path, "the report: open it as owner, designer or official would"),
        (done.house_path, "the house as planned, in plain text"),
        (done.visit_path, "the visit: change a reading, then assess again"),
        (done.findings_path, "all findings as JSON, with every budget"),
    ):
        console.print(f"  {path}  {words}", markup=False, highlight=False, soft_wrap=True)
    console.print(
        f"  ventwright assess {done.house_path} {done.visit_path}  the same from the files",
        markup=False,
        highlight=False,
        soft_wrap=True,
    )
    if not options.once:
        console.print()
        serve_pages(demo_folder=options.out, port_number=options.port)
    return EXIT_DONE
