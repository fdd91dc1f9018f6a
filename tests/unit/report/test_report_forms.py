"""HTML, CSV and JSON of the same model, and the blank sheet: nothing lost, nothing taken as markup.

HTML is read back by the standard library's parser, CSV by its reader: neither wrote it.
"""

from __future__ import annotations

import base64
import csv
import hashlib
import io
import json
import re
from dataclasses import replace
from html.parser import HTMLParser

import pytest

from tests.unit.report import cases
from tests.unit.report.twelve import twelve
from ventwright.house import House, Room, RoomKind, System
from ventwright.quantities import UnitPreference
from ventwright.report import (
    Cell,
    Column,
    Line,
    Part,
    ReportModel,
    Section,
    Table,
    compose_sheet,
    csv_files,
    render_html,
    render_pdf,
    report_json,
    report_style,
    table_csv,
)

HABITS = {name: preference for name, (_, preference) in cases.EXAMPLES.items()}
HOSTILE = (
    "#import \"x\"; $a$ *b* _c_ `d` <script>alert('x')</script> &amp; \"quoted\" 'single' ]]> --> "
    "\u202egnp.exe\u202c \u05e9\u05dc\u05d5\u05dd \U0001f600 " + "W" * 90
)
VOID = {"meta", "br", "line", "rect", "circle", "path", "polyline", "ellipse", "polygon", "text"}

every_example = pytest.mark.parametrize("name", sorted(cases.EXAMPLES))


class Reader(HTMLParser):
    """Texts, tags, attributes and headers of a page."""

    def __init__(self) -> None:
        super().__init__(convert_charrefs=True)
        self.texts: list[str] = []
        self.tags: list[str] = []
        self.attributes: list[tuple[str, str, str]] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append(tag)
        self.attributes += [(tag, key, value or "") for key, value in attrs]

    def handle_data(self, data: str) -> None:
        self.texts.append(data)


def read(text: str) -> Reader:
    reader = Reader()
    reader.feed(text)
    reader.close()
    return reader


@every_example
def test_every_text_of_the_model_stands_in_the_page(name: str) -> None:
    model = cases.model_of(name, HABITS[name])
    told = cases.squeezed("".join(read(render_html(model)).texts))
    assert not [t for t in cases.all_texts(model) if cases.squeezed(t) not in told]


@every_example
def test_the_page_loads_and_runs_nothing(name: str) -> None:
    page = render_html(cases.model_of(name, HABITS[name]))
    reader = read(page)
    assert not {"script", "link", "img", "iframe", "object", "form", "a"} & set(reader.tags)
    for tag, key, value in reader.attributes:
        assert not key.startswith("on") and key not in ("style", "href", "src"), (tag, key)
        assert "://" not in value or key == "xmlns", (tag, key, value)
    policy = next(v for t, k, v in reader.attributes if t == "meta" and "default-src" in v)
    digest = base64.b64encode(hashlib.sha256(report_style().encode()).digest()).decode()
    assert policy.startswith("default-src 'none'") and f"'sha256-{digest}'" in policy
    assert f"<style>{report_style()}</style>" in page
    assert page == render_html(cases.model_of(name, HABITS[name]))


@every_example
def test_tables_have_heads_and_pictures_words(name: str) -> None:
    model = cases.model_of(name, HABITS[name])
    reader = read(render_html(model))
    tables = [t for s in model.sections for t in s.tables]
    pictures = [p for s in model.sections for p in s.pictures]
    assert reader.tags.count("table") == reader.tags.count("caption") == len(tables)
    heads = [v for t, k, v in reader.attributes if t == "th" and k == "scope"]
    assert heads == ["col"] * sum(len(t.columns) for t in tables)
    spoken = [v for t, k, v in reader.attributes if k == "aria-label"]
    alts = [p.alt for p in pictures]
    assert [s for s in spoken if s in alts] == alts
    assert sorted(s for s in spoken if s not in alts) == sorted(t.title for t in tables)
    assert reader.tags.count("svg") == len(pictures)


def hostile() -> ReportModel:
    table = Table(
        id="a/../b c",
        title=HOSTILE,
        columns=(Column(title=HOSTILE, unit_of_measure=HOSTILE), Column(title="=x")),
        rows=((Cell(text=HOSTILE), Cell(text="=HYPERLINK(1)")),),
        note=HOSTILE,
    )
    section = Section(
        id="flows",
        title=HOSTILE,
        lines=(Line(text=HOSTILE),),
        tables=(table, replace(table, id="a_.._b_c"), replace(table, id="A/../B c")),
    )
    return ReportModel(
        title=HOSTILE,
        subtitle=HOSTILE,
        facts=((HOSTILE, HOSTILE),),
        sections=(section,),
        cautions=(),
        snapshot_sha256="0" * 64,
        engine=HOSTILE,
        dated="",
    )


def test_hostile_texts_stay_texts() -> None:
    page = render_html(hostile())
    reader = read(page)
    assert "script" not in reader.tags
    told = "".join(reader.texts)
    assert told.count("<script>alert('x')</script>") >= 9
    # A turn of direction is named, so that a file name can't hide its ending.
    assert "\u202e" not in page and "[U+202E RIGHT-TO-LEFT OVERRIDE]" in told
    assert "\U0001f600" in told and "\u05e9\u05dc\u05d5\u05dd" in told


def test_csv_can_be_read_back_and_runs_nothing() -> None:
    files = csv_files(hostile())
    assert len(files) == 3 and len({n.lower() for n in files}) == 3
    for name, text in files.items():
        assert re.fullmatch(r"[A-Za-z0-9_-]+\.csv", name)
        rows = list(csv.reader(io.StringIO(text, newline="")))
        assert rows[0][1] == "'=x"
        assert rows[1] == [HOSTILE, "'=HYPERLINK(1)"]


@every_example
def test_csv_and_json_hold_every_cell(name: str) -> None:
    model = cases.model_of(name, HABITS[name])
    tables = [t for s in model.sections for t in s.tables]
    assert len(csv_files(model)) == len(tables)
    for table in tables:
        rows = list(csv.reader(io.StringIO(table_csv(table), newline="")))
        assert len(rows) == 1 + len(table.rows)
        for row, cells in zip(rows[1:], table.rows, strict=True):
            plain = [text.removeprefix("'") for text in row]
            assert plain == [cell.text.removeprefix("'") for cell in cells]
    plain = json.loads(report_json(model))
    told = [t for s in plain["sections"] for t in s["tables"]]
    assert [t["id"] for t in told] == [t.id for t in tables]
    for one, table in zip(told, tables, strict=True):
        shown = [[cell["text"] for cell in row] for row in one["rows"]]
        assert shown == [[cell.text for cell in row] for row in table.rows]
    assert plain["snapshot_sha256"] == model.snapshot_sha256


def sheet_of(house: House, preference: UnitPreference) -> ReportModel:
    return compose_sheet(house, preference=preference, snapshot_sha256="0" * 64, engine="0")


@pytest.mark.parametrize("paper", ["a4", "us-letter"])
@pytest.mark.parametrize("preference", list(UnitPreference))
def test_a_sheet_of_twelve_terminals_fills_two_pages(
    paper: str, preference: UnitPreference
) -> None:
    house = twelve("juniper_mesa").snapshot.house
    content = render_pdf(sheet_of(house, preference), snapshot=b"{}", paper=paper)
    assert len(cases.read_pdf(content).pages) <= 2
    text = cases.text_of(content)
    for terminal in house.systems[0].terminals:
        assert cases.squeezed(terminal.id) in text
    for fan in house.systems[0].fan_settings:
        assert cases.squeezed(fan.name) in text


def test_a_sheet_leaves_room_to_write_for_every_terminal_and_port() -> None:
    house: House = cases.assessed("harbour_terrace").snapshot.house
    sheet = sheet_of(house, UnitPreference.SI_M3H)
    tables = {t.id: t for s in sheet.sections for t in s.tables}
    assert all(t.is_form for t in tables.values())
    system: System = house.systems[0]
    rows = tables[f"sheet-terminals-{system.id}"].rows
    assert sorted(r[0].text for r in rows) == sorted(t.id for t in system.terminals)
    assert all(cell.text == " " for row in rows for cell in row[5:])
    streams = tables[f"sheet-streams-{system.id}"].rows
    assert [r[0].text.split()[0] for r in streams] == ["ODA", "SUP", "ETA", "EHA"]


def test_a_long_name_is_not_cut_in_a_sheet() -> None:
    house: House = cases.assessed("harbour_terrace").snapshot.house
    system = house.systems[0]
    name = "a very long name of a terminal behind the second door on the left " * 4
    long = replace(system, terminals=(replace(system.terminals[0], name=name),))
    room = Room(id="x", name=HOSTILE, kind=RoomKind.LIVING)
    changed = replace(house, systems=(long,), rooms=(*house.rooms, room))
    text = cases.text_of(render_pdf(sheet_of(changed, UnitPreference.IP), snapshot=b"{}"))
    assert cases.squeezed(name) in text


def test_parts_reach_every_form() -> None:
    whole = cases.model_of("juniper_mesa", UnitPreference.IP)
    owner = replace(whole, sections=tuple(s for s in whole.sections if s.part is Part.OWNER))
    assert set(csv_files(owner)) < set(csv_files(whole))
    assert 'class="annex"' not in render_html(owner)
