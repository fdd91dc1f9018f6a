"""The demonstration: an invented house written out, assessed, and reported."""

from __future__ import annotations

import shutil
from dataclasses import dataclass
from importlib import resources
from pathlib import Path

from ventwright.actions.assess_files import (
    Assessment,
    assess_files,
    findings_json,
    preference_of,
    write_report,
    write_whole,
)
from ventwright.quantities import NumberStyle, UnitPreference, UserError

DEMO_HOUSE = "juniper_mesa"


@dataclass(frozen=True, slots=True, kw_only=True)
class Demonstration:
    """The files a demonstration wrote, and what was found."""

    assessment: Assessment
    house_path: Path
    visit_path: Path
    findings_path: Path
    report_path: Path


def examples_folder() -> Path:
    """Folder of the invented houses: inside an installed package, else in the repository.

    Raises
    ------
    UserError
        If the installation holds none.

    >>> (examples_folder() / "juniper_mesa" / "house.toml").is_file()
    True
    """
    package = Path(str(resources.files("ventwright")))
    for folder in (package / "examples", package.parents[1] / "examples"):
        if folder.is_dir():
            return folder
    raise UserError("the invented houses are missing from this installation; install it again")


def run_demonstration(
    out: Path,
    *,
    preference: UnitPreference | None = None,
    number_style: NumberStyle | None = None,
) -> Demonstration:
    """Write an invented house and visit to a folder, assess them, write findings and report.

    Parameters
    ----------
    out
        Folder, made if missing; files of the same names are replaced.
    preference
        Units of measure of the report; None takes those the visit was typed in.
    number_style
        As in `assess_files`.

    Raises
    ------
    UserError
        If the folder can't be made or written to.

    >>> import tempfile
    >>> with tempfile.TemporaryDirectory() as out:
    ...     done = run_demonstration(Path(out))
    ...     done.report_path.name, done.findings_path.is_file()
    ('report.pdf', True)
    """
    source = examples_folder() / DEMO_HOUSE
    try:
        out.mkdir(parents=True, exist_ok=True)
        for name in ("house.toml", "visit.toml"):
            shutil.copyfile(source / name, out / name)
    except OSError as mistake:
        raise UserError(f"can't write to {out}: {mistake.strerror or mistake}") from mistake
    house_path, visit_path = out / "house.toml", out / "visit.toml"
    assessment = assess_files(house_path, visit_path, number_style=number_style)
    findings_path, report_path = out / "findings.json", out / "report.pdf"
    write_whole(findings_path, findings_json(assessment))
    write_report(
        assessment, report_path, preference=preference or preference_of(assessment.snapshot)
    )
    return Demonstration(
        assessment=assessment,
        house_path=house_path,
        visit_path=visit_path,
        findings_path=findings_path,
        report_path=report_path,
    )
