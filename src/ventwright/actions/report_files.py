"""Write a report in the form its reader wants, and the blank sheet of a house."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from enum import StrEnum
from pathlib import Path
from typing import TYPE_CHECKING

from ventwright import __version__
from ventwright.actions.assess_files import Assessment, write_whole
from ventwright.actions.rule_sets import load_rule_sets
from ventwright.exchange import canonical_json, digest, read_house
from ventwright.findings import PlanSnapshot
from ventwright.house import Visit
from ventwright.quantities import NumberStyle, UnitPreference, UserError

if TYPE_CHECKING:
    from ventwright.actions.visit_year import VisitYear
    from ventwright.report import ReportModel

PARTS = ("owner", "record", "annex")
"""Readers of a report, in its order."""
PAPERS = ("a4", "us-letter")


class ReportFormat(StrEnum):
    """Forms of one report."""

    PDF = "pdf"
    HTML = "html"
    CSV = "csv"
    """A folder with one file for each table."""
    JSON = "json"


def format_of(path: Path, asked: str | None = None) -> ReportFormat:
    """The form of a report: the one asked for, else by the ending of its file.

    Parameters
    ----------
    path
        Where it will be written.
    asked
        One of `ReportFormat`, or None.

    Raises
    ------
    UserError
        If neither tells.

    >>> format_of(Path("report.html")).value, format_of(Path("tables"), "csv").value
    ('html', 'csv')
    """
    ending = {".pdf": "pdf", ".html": "html", ".htm": "html", ".json": "json"}
    name = asked or ending.get(path.suffix.lower(), "")
    if name not in list(ReportFormat):
        listed = ", ".join(ReportFormat)
        raise UserError(f"{path}: its ending names no form; write --format, one of {listed}")
    return ReportFormat(name)


def parts_of(text: str) -> tuple[str, ...]:
    """Parts of a report from a list with commas.

    Parameters
    ----------
    text
        Such as ``owner,record``.

    Raises
    ------
    UserError
        For a part that a report doesn't have, or none at all.

    >>> parts_of("annex, owner")
    ('owner', 'annex')
    """
    asked = [word.strip().lower() for word in text.split(",") if word.strip()]
    wrong = [word for word in asked if word not in PARTS]
    if wrong or not asked:
        named = wrong[0] if wrong else text
        raise UserError(f"parts: {named!r} is none; write one or more of {','.join(PARTS)}")
    return tuple(part for part in PARTS if part in asked)


def report_model(
    assessment: Assessment,
    *,
    preference: UnitPreference,
    parts: Collection[str] = PARTS,
    photos: Mapping[str, bytes] | None = None,
    number_style: NumberStyle = NumberStyle.DECIMAL_POINT,
    year: VisitYear | None = None,
) -> ReportModel:
    """The report of an assessment in words, tables and pictures.

    Parameters
    ----------
    assessment
        What to report.
    preference
        Units of measure to show.
    parts
        Of `PARTS`.
    photos
        Contents of the visit's photos by their SHA-256.
    number_style
        Decimal mark of the numbers shown.
    year
        The house in a year of weather, for the annex.

    >>> from ventwright.actions import assess_files, examples_folder
    >>> folder = examples_folder() / "harbour_terrace"
    >>> one = assess_files(folder / "house.toml", folder / "visit.toml")
    >>> model = report_model(one, preference=UnitPreference.SI_M3H, parts=("owner",))
    >>> [s.id for s in model.sections]
    ['summary', 'next', 'changed', 'care']
    """
    from ventwright.report import AnnexYear, Part, Particulars, compose

    shown = None
    if year is not None:
        shown = AnnexYear(
            found=year.found,
            weather_name=year.weather_name,
            weather_sha256=year.weather_sha256,
            measured=year.measured,
        )
    return compose(
        assessment.findings,
        assessment.snapshot,
        preference=preference,
        snapshot_sha256=assessment.snapshot_sha256,
        parts=tuple(Part(part) for part in parts),
        particulars=Particulars(photos=photos or {}, year=shown),
        number_style=number_style,
    )


def write_report_as(  # noqa: PLR0913 - each says one thing about the file
    assessment: Assessment,
    path: Path,
    *,
    preference: UnitPreference,
    format: ReportFormat = ReportFormat.PDF,
    parts: Collection[str] = PARTS,
    paper: str | None = None,
    photos_folder: Path | None = None,
    number_style: NumberStyle = NumberStyle.DECIMAL_POINT,
    year: VisitYear | None = None,
) -> tuple[Path, ...]:
    """Write the report of an assessment as PDF, HTML, JSON, or a folder of CSV files.

    Parameters
    ----------
    assessment
        What to report.
    path
        File, or folder for CSV; files are replaced only once the new ones are complete.
    preference
        Units of measure to show.
    format
        Which form.
    parts
        Of `PARTS`.
    paper
        Of the PDF: ``a4`` or ``us-letter``; None takes what goes with the units.
    photos_folder
        Where photos lie, each named by its SHA-256; those that are missing or altered are named in
        the report and not printed.
    number_style
        Decimal mark of the numbers shown.
    year
        The house in a year of weather, for the annex.

    Returns
    -------
    tuple of Path
        What was written.

    Raises
    ------
    UserError
        If the place can't be written to.

    >>> import tempfile
    >>> from ventwright.actions import assess_files, examples_folder
    >>> folder = examples_folder() / "harbour_terrace"
    >>> one = assess_files(folder / "house.toml", folder / "visit.toml")
    >>> with tempfile.TemporaryDirectory() as out:
    ...     done = write_report_as(one, Path(out) / "r.html", preference=UnitPreference.SI_M3H,
    ...                            format=ReportFormat.HTML)
    ...     done[0].read_text("utf-8")[:15]
    '<!DOCTYPE html>'
    """
    from ventwright.report import csv_files, render_html, render_pdf, report_json

    photos = photos_in(photos_folder, assessment.snapshot.visit) if photos_folder else {}
    model = report_model(
        assessment,
        preference=preference,
        parts=parts,
        photos=photos,
        number_style=number_style,
        year=year,
    )
    if format is ReportFormat.CSV:
        return _write_folder(path, csv_files(model))
    if format is ReportFormat.PDF:
        content = render_pdf(model, snapshot=assessment.snapshot_bytes, paper=paper)
    elif format is ReportFormat.HTML:
        content = render_html(model).encode()
    else:
        content = report_json(model)
    write_whole(path, content)
    return (path,)


def photos_in(folder: Path, visit: Visit) -> dict[str, bytes]:
    """Photos of a visit that lie in a folder under their SHA-256, each with its hash checked.

    Parameters
    ----------
    folder
        As a house is exported: ``photos`` beside the visit file.
    visit
        Which photos.

    >>> photos_in(Path("no_such_folder"), Visit(schema="ventwright-visit-1", id="v", house="h"))
    {}
    """
    named = {p.sha256 for p in visit.photos}
    found: dict[str, bytes] = {}
    for path in sorted(folder.glob("*")) if named else []:
        if path.stem in named and path.is_file():
            content = path.read_bytes()
            if digest(content) == path.stem:
                found[path.stem] = content
    return found


def _write_folder(path: Path, files: dict[str, str]) -> tuple[Path, ...]:
    try:
        path.mkdir(parents=True, exist_ok=True)
    except OSError as mistake:
        raise UserError(f"can't write {path}: {mistake.strerror or mistake}") from mistake
    for name, text in files.items():
        # The mark tells spreadsheets that the text is UTF-8.
        write_whole(path / name, text.encode("utf-8-sig"))
    return tuple(path / name for name in files)


def write_sheet(
    house_path: Path, path: Path, *, preference: UnitPreference, paper: str | None = None
) -> None:
    """Write the blank sheet of a house as PDF, to be filled in by hand.

    Parameters
    ----------
    house_path
        House file (.toml).
    path
        Where; an existing file is replaced only once the new one is complete.
    preference
        Units of measure to show.
    paper
        ``a4`` or ``us-letter``; None takes what goes with the units.

    Raises
    ------
    UserError
        If the file holds no house or the place can't be written to.

    >>> import tempfile
    >>> from ventwright.actions import examples_folder
    >>> house = examples_folder() / "harbour_terrace" / "house.toml"
    >>> with tempfile.TemporaryDirectory() as out:
    ...     write_sheet(house, Path(out) / "sheet.pdf", preference=UnitPreference.SI_M3H)
    ...     (Path(out) / "sheet.pdf").read_bytes()[:5]
    b'%PDF-'
    """
    from ventwright.report import compose_sheet, render_pdf

    house, problems = read_house(house_path)
    if house is None:
        raise UserError(f"{house_path} holds no house", problems=problems)
    snapshot = PlanSnapshot(
        engine=__version__,
        house=house,
        rule_sets=load_rule_sets(house.rule_sets, beside=house_path.parent),
        problems=problems,
    )
    content = canonical_json(snapshot)
    model = compose_sheet(
        house, preference=preference, snapshot_sha256=digest(content), engine=__version__
    )
    write_whole(path, render_pdf(model, snapshot=content, paper=paper))
