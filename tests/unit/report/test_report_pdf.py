"""The document: tagged, with its snapshot, the same bytes each time, nothing cut, nothing lost.

What a validator of PDF/A or PDF/UA would say is not tested here: the standards are claimed by the
file and enforced by the program that writes it as far as it checks.
"""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path

import pytest
from fontTools.ttLib import TTFont

import ventwright.report as report_room
from tests.unit.report import cases
from tools import typefaces
from ventwright.quantities import UnitPreference
from ventwright.report import Line, Mark, ReportModel, Section, render_pdf

HABITS = {name: preference for name, (_, preference) in cases.EXAMPLES.items()}
# ISO 216 and ANSI/ASME Y14.1 letter, in points of 1/72 inch.
SIZES = {"a4": (210 / 25.4 * 72, 297 / 25.4 * 72), "us-letter": (8.5 * 72, 11 * 72)}
BARE = ReportModel(
    title="t",
    subtitle="s",
    facts=(),
    sections=(),
    cautions=(),
    snapshot_sha256="0" * 64,
    engine="0",
    dated="2026-01-01",
)
MARGIN = 17.0 / 25.4 * 72.0

every_example = pytest.mark.parametrize("name", sorted(cases.EXAMPLES))


@every_example
def test_the_document_is_tagged_and_names_language_and_title(name: str) -> None:
    root = cases.read_pdf(cases.pdf_of(name, HABITS[name])).trailer["/Root"]
    assert root["/MarkInfo"]["/Marked"] is True or bool(root["/MarkInfo"]["/Marked"])
    assert root["/StructTreeRoot"]["/Type"] == "/StructTreeRoot"
    assert root["/Lang"] == "en"
    assert root["/ViewerPreferences"]["/DisplayDocTitle"]
    meta = cases.read_pdf(cases.pdf_of(name, HABITS[name])).metadata
    assert meta is not None
    house = cases.assessed(name).snapshot.house.name
    assert house in str(meta.title)


def tags_of(element: object, found: list[str]) -> list[str]:
    obj = element.get_object() if hasattr(element, "get_object") else element
    if isinstance(obj, list):
        for one in obj:
            tags_of(one, found)
    elif isinstance(obj, dict):
        if "/S" in obj:
            found.append(str(obj["/S"]))
        if "/K" in obj:
            tags_of(obj["/K"], found)
    return found


def test_tables_have_heads_and_pictures_have_words() -> None:
    content = cases.pdf_of("juniper_mesa", UnitPreference.IP)
    root = cases.read_pdf(content).trailer["/Root"]["/StructTreeRoot"]
    tags = tags_of(root["/K"], [])
    model = cases.model_of("juniper_mesa", UnitPreference.IP)
    tables = [t for s in model.sections for t in s.tables]
    pictures = [p for s in model.sections for p in s.pictures]
    assert tags.count("/Table") == len(tables)
    assert tags.count("/TH") >= sum(len(t.columns) for t in tables)
    assert tags.count("/H1") == len(model.sections)
    assert tags.count("/Figure") == len(pictures)
    alts = alt_texts(root["/K"], [])
    for picture in pictures:
        assert cases.squeezed(picture.alt) in {cases.squeezed(a) for a in alts}


def alt_texts(element: object, found: list[str]) -> list[str]:
    obj = element.get_object() if hasattr(element, "get_object") else element
    if isinstance(obj, list):
        for one in obj:
            alt_texts(one, found)
    elif isinstance(obj, dict):
        if "/Alt" in obj:
            found.append(str(obj["/Alt"]))
        if "/K" in obj:
            alt_texts(obj["/K"], found)
    return found


@every_example
def test_the_standards_are_claimed(name: str) -> None:
    root = cases.read_pdf(cases.pdf_of(name, HABITS[name])).trailer["/Root"]
    xmp = root["/Metadata"].get_data().decode("utf-8")
    assert re.search(r"pdfaid:part[>=\"']+3\b", xmp)
    assert re.search(r"pdfaid:conformance[>=\"']+A\b", xmp)
    assert re.search(r"pdfuaid:part[>=\"']+1\b", xmp)


@every_example
def test_the_snapshot_is_attached_as_it_is(name: str) -> None:
    reader = cases.read_pdf(cases.pdf_of(name, HABITS[name]))
    assert list(reader.attachments) == ["snapshot.json"]
    assert reader.attachments["snapshot.json"] == [cases.assessed(name).snapshot_bytes]
    assert cases.assessed(name).snapshot_sha256 in cases.text_of(cases.pdf_of(name, HABITS[name]))


@every_example
def test_twice_the_same_bytes(name: str) -> None:
    model = cases.model_of(name, HABITS[name])
    again = render_pdf(model, snapshot=cases.assessed(name).snapshot_bytes)
    assert again == cases.pdf_of(name, HABITS[name])


def test_the_clock_is_not_in_it(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("SOURCE_DATE_EPOCH", "86400")
    model = cases.model_of("juniper_mesa", UnitPreference.IP)
    again = render_pdf(model, snapshot=cases.assessed("juniper_mesa").snapshot_bytes)
    assert again == cases.pdf_of("juniper_mesa", UnitPreference.IP)
    meta = cases.read_pdf(again).metadata
    assert meta is not None
    assert str(meta["/CreationDate"]).startswith(f"D:{model.dated.replace('-', '')}")


@pytest.mark.parametrize("paper", sorted(SIZES))
@pytest.mark.parametrize("preference", list(UnitPreference))
def test_no_text_is_lost_on_any_paper(paper: str, preference: UnitPreference) -> None:
    content = cases.pdf_of("juniper_mesa", preference, paper)
    text = cases.text_of(content)
    missing = [
        t
        for t in cases.all_texts(cases.model_of("juniper_mesa", preference))
        if not is_told(t, text)
    ]
    assert not missing
    for page in cases.read_pdf(content).pages:
        width, height = (float(x) for x in page.mediabox[2:])
        assert (width, height) == pytest.approx(SIZES[paper], abs=0.5)


def is_told(text: str, document: str) -> bool:
    """Whether a text stands in the document: as a whole, or word by word across a page break."""
    if cases.squeezed(text) in document:
        return True
    return len(text) > 40 and all(cases.squeezed(word) in document for word in text.split())


@every_example
def test_no_text_is_lost_in_any_example(name: str) -> None:
    text = cases.text_of(cases.pdf_of(name, HABITS[name]))
    missing = [
        t for t in cases.all_texts(cases.model_of(name, HABITS[name])) if not is_told(t, text)
    ]
    assert not missing


@every_example
@pytest.mark.parametrize("paper", sorted(SIZES))
def test_every_text_begins_inside_the_margins(name: str, paper: str) -> None:
    content = cases.pdf_of(name, HABITS[name], paper)
    width, _ = SIZES[paper]
    for number, page in enumerate(cases.read_pdf(content).pages):
        starts: list[float] = []

        def visit(
            text: str,
            cm: list[float],
            tm: list[float],
            font: object,
            size: float,
            starts: list[float] = starts,
        ) -> None:
            if text.strip():
                starts.append(cm[0] * tm[4] + cm[2] * tm[5] + cm[4])

        page.extract_text(visitor_text=visit)
        assert starts
        assert min(starts) >= MARGIN - 1.0, number
        assert max(starts) <= width - MARGIN + 1.0, number


def test_the_usual_paper_goes_with_the_habit() -> None:
    assert cases.model_of("juniper_mesa", UnitPreference.IP).paper == "us-letter"
    assert cases.model_of("juniper_mesa", UnitPreference.SI_LS).paper == "a4"


def test_another_paper_is_refused() -> None:
    model = cases.model_of("juniper_mesa", UnitPreference.IP)
    with pytest.raises(ValueError, match="foolscap"):
        render_pdf(model, snapshot=b"{}", paper="foolscap")


def test_an_empty_undated_visit_makes_a_document() -> None:
    found = cases.empty()
    content = render_pdf(cases.composed(found), snapshot=found.snapshot_bytes)
    assert "Nothingwasread" in cases.text_of(content)
    meta = cases.read_pdf(content).metadata
    assert meta is not None and "D:1970" in str(meta["/CreationDate"])


def test_only_typefaces_of_the_program_are_used() -> None:
    fonts = set()
    for page in cases.read_pdf(cases.pdf_of("juniper_mesa", UnitPreference.IP)).pages:
        for font in page["/Resources"].get("/Font", {}).values():
            fonts.add(str(font.get_object()["/BaseFont"]).partition("+")[2].split("-")[0])
    assert fonts <= {"LibertinusSerif", "DejaVuSansMono"}
    assert fonts


@pytest.mark.parametrize("name", ["glyphs.txt", "glyphs_more.txt"])
def test_every_listed_glyph_prints_under_both_standards(name: str) -> None:
    text = (Path(str(report_room.__file__)).parent / "typefaces" / name).read_text("ascii")
    glyphs = []
    for part in text.split():
        first, _, last = part.partition("-")
        glyphs += [chr(c) for c in range(int(first, 16), int(last or first, 16) + 1)]
    assert len(glyphs) > 3000
    lines = tuple(
        Line(text=" ".join(glyphs[i : i + 60]), mark=Mark.NOT_MET)
        for i in range(0, len(glyphs), 60)
    )
    sections = (
        Section(id="a", title="A", lines=lines),
        Section(id="b", title="B", lines=lines[:9]),
    )
    model = replace(BARE, sections=sections)
    assert render_pdf(model, snapshot=b"{}").startswith(b"%PDF-")


def test_lists_of_glyphs_are_those_of_the_typefaces() -> None:
    """Read by fontTools, which knows nothing of the program that sets the document."""
    for name, text in typefaces.lists().items():
        assert (typefaces.FOLDER / name).read_text("ascii") == text, name


def test_each_typeface_has_its_licence_beside_it() -> None:
    told = (typefaces.FOLDER / "README.md").read_text("utf-8")
    for path in typefaces.FOLDER.glob("*.ttf"):
        row = next(line for line in told.splitlines() if f"`{path.name}`" in line)
        licence = next(p for p in typefaces.FOLDER.glob("*.txt") if f"`{p.name}`" in row)
        with TTFont(path) as face:
            names = face["name"]
            assert names.getDebugName(1) in licence.read_text("utf-8")
            kind = "Open Font License" if licence.name == "OFL.txt" else "Apache License"
            assert kind in str(names.getDebugName(13))
