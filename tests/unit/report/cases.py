"""Assessed examples and small changes of them, for all tests of the report."""

from __future__ import annotations

import functools
import io
from dataclasses import replace

import pypdf

from ventwright.actions import (
    Assessment,
    assess_files,
    assess_snapshot,
    examples_folder,
    load_rule_sets,
)
from ventwright.findings import VisitSnapshot
from ventwright.house import House, Visit
from ventwright.quantities import UnitPreference
from ventwright.report import ReportModel, compose, render_pdf

EXAMPLES = {
    "juniper_mesa": ("juniper_mesa", UnitPreference.IP),
    "harbour_terrace": ("harbour_terrace", UnitPreference.SI_M3H),
    "hard_visit": ("harbour_terrace", UnitPreference.SI_LS),
}
"""Visit → house and the habit it was typed in."""


@functools.cache
def assessed(name: str) -> Assessment:
    """One example assessed."""
    folder = examples_folder()
    house = EXAMPLES[name][0]
    return assess_files(folder / house / "house.toml", folder / name / "visit.toml")


@functools.cache
def empty() -> Assessment:
    """A visit without a reading in a house without a system."""
    house = House(schema="ventwright-house-1", id="h", name="Barn", altitude_m=0.0)
    visit = Visit(schema="ventwright-visit-1", id="v", house="h")
    return assess_snapshot(
        VisitSnapshot(engine="0", house=house, visit=visit, rule_sets=load_rule_sets(()))
    )


def with_snapshot(name: str, **changes: object) -> Assessment:
    """An example with another house, visit or rule sets, assessed again."""
    return assess_snapshot(replace(assessed(name).snapshot, **changes))  # type: ignore[arg-type]


def composed(found: Assessment, preference: UnitPreference | None = None) -> ReportModel:
    """The report model of an assessment, in SI with litres per second unless said otherwise."""
    return compose(
        found.findings,
        found.snapshot,
        preference=preference or UnitPreference.SI_LS,
        snapshot_sha256=found.snapshot_sha256,
    )


@functools.cache
def model_of(name: str, preference: UnitPreference) -> ReportModel:
    """The report model of an example."""
    return composed(assessed(name), preference)


@functools.cache
def pdf_of(name: str, preference: UnitPreference, paper: str | None = None) -> bytes:
    """The PDF of an example."""
    model = model_of(name, preference)
    return render_pdf(model, snapshot=assessed(name).snapshot_bytes, paper=paper)


def read_pdf(content: bytes) -> pypdf.PdfReader:
    """A reader of a PDF's bytes."""
    return pypdf.PdfReader(io.BytesIO(content))


def squeezed(text: str) -> str:
    """A text without white space and hyphens, since lines break where they must."""
    gone = {" ", "\n", "\t", "\u00a0", "\u200b", "\u2009", "\u202f", "-", "\u2010", "\u00ad"}
    gone |= {"\u2068", "\u2069", "\u200c", "\u200d", "\ufe0f", "\u2060"}
    return "".join(c for c in text if c not in gone)


def text_of(content: bytes) -> str:
    """All text of a PDF, squeezed."""
    return squeezed("".join(page.extract_text() for page in read_pdf(content).pages))


def all_texts(model: ReportModel) -> list[str]:
    """Every text of a model that is printed."""
    texts = [model.title, model.subtitle, *(t for fact in model.facts for t in fact)]
    for section in model.sections:
        texts.append(section.title)
        texts += [line.text for line in (*section.lines, *section.cautions)]
        texts += [picture.caption for picture in section.pictures]
        for table in section.tables:
            texts += [table.title, table.note]
            texts += [t for c in table.columns for t in (c.title, c.unit_of_measure)]
            texts += [cell.text for row in table.rows for cell in row]
    return [t for t in texts if t]
