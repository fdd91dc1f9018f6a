"""``ventwright report`` and ``ventwright sheet``: forms, parts, papers, mistakes."""

from __future__ import annotations

import csv
import json
from pathlib import Path

import pytest

from ventwright.actions import examples_folder
from ventwright.cli import main

HOUSE = str(examples_folder() / "harbour_terrace" / "house.toml")
VISIT = str(examples_folder() / "harbour_terrace" / "visit.toml")


@pytest.mark.parametrize(
    ("name", "begins"),
    [("r.pdf", b"%PDF-"), ("r.html", b"<!DOCTYPE html>"), ("r.json", b'{\n "schema"')],
)
def test_the_ending_chooses_the_form(tmp_path: Path, name: str, begins: bytes) -> None:
    assert main(["report", HOUSE, VISIT, "--out", str(tmp_path / name)]) == 0
    assert (tmp_path / name).read_bytes().startswith(begins)


def test_a_named_form_goes_before_the_ending(tmp_path: Path) -> None:
    out = tmp_path / "tables"
    assert main(["report", HOUSE, VISIT, "--out", str(out), "--format", "csv"]) == 0
    assert (out / "instruments.csv").read_bytes().startswith("\ufeff".encode())
    assert not list(out.glob("*.part"))


def test_parts_and_units_reach_the_report(tmp_path: Path) -> None:
    out = tmp_path / "r.json"
    words = ["--parts", "record, owner", "--units", "ip"]
    assert main(["report", HOUSE, VISIT, "--out", str(out), *words]) == 0
    told = json.loads(out.read_text("utf-8"))
    assert {s["part"] for s in told["sections"]} == {"owner", "record"}
    assert {"name": "Units of measure", "value": "inch-pound"} in told["facts"]


def test_the_decimal_mark_reaches_every_form(tmp_path: Path) -> None:
    words = ["--units", "si_m3h", "--decimal", "comma"]
    for name in ("r.json", "r.html"):
        assert main(["report", HOUSE, VISIT, "--out", str(tmp_path / name), *words]) == 0
        told = (tmp_path / name).read_text("utf-8").replace("\u00a0", " ")
        assert "22,2 ± 2,6" in told and "22.2 ± 2.6" not in told
    folder = ["--out", str(tmp_path / "t"), "--format", "csv"]
    assert main(["report", HOUSE, VISIT, *folder, *words]) == 0
    with (tmp_path / "t" / "flows-erv-continuous.csv").open(encoding="utf-8-sig") as file:
        rows = list(csv.reader(file))
    assert {len(row) for row in rows} == {len(rows[0])}
    assert "22,2 ± 2,6" in rows[1]


@pytest.mark.parametrize(
    "words", [["--parts", "lawyer"], ["--parts", ","], ["--out", "no/such/folder/r.pdf"]]
)
def test_mistakes_are_named(
    tmp_path: Path, words: list[str], capsys: pytest.CaptureFixture[str]
) -> None:
    given = ["report", HOUSE, VISIT, "--out", str(tmp_path / "r.pdf"), *words]
    assert main(given) == 2
    said = capsys.readouterr().err
    assert "parts" in said or "can't write" in said
    assert not list(tmp_path.iterdir())


def test_an_ending_that_says_nothing_is_asked_about(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["report", HOUSE, VISIT, "--out", str(tmp_path / "report")]) == 2
    assert "--format" in capsys.readouterr().err


def test_a_report_of_a_spoilt_visit_is_written_and_says_so(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    visit = str(examples_folder() / "malformed" / "visit.toml")
    assert main(["report", HOUSE, visit, "--out", str(tmp_path / "r.html")]) == 2
    assert "to mend" in capsys.readouterr().err
    assert (tmp_path / "r.html").is_file()


@pytest.mark.parametrize("paper", ["a4", "us-letter"])
def test_a_sheet_is_written_twice_the_same(tmp_path: Path, paper: str) -> None:
    for name in ("a.pdf", "b.pdf"):
        assert main(["sheet", HOUSE, "--out", str(tmp_path / name), "--paper", paper]) == 0
    assert (tmp_path / "a.pdf").read_bytes() == (tmp_path / "b.pdf").read_bytes()


def test_a_sheet_of_no_house_is_refused(tmp_path: Path) -> None:
    assert main(["sheet", VISIT, "--out", str(tmp_path / "s.pdf")]) == 2
    assert not list(tmp_path.iterdir())
