"""``ventwright plan``: words, JSON, drawing, PDF, and mistakes."""

from __future__ import annotations

import json
from pathlib import Path
from xml.etree import ElementTree

import pytest

from ventwright.cli import main

EXAMPLES = Path(__file__).parents[3] / "examples"
HOUSES = ["juniper_mesa", "harbour_terrace"]


@pytest.mark.parametrize("name", HOUSES)
def test_example_houses_plan_without_refusal(name, capsys):
    house = EXAMPLES / name / "house.toml"
    assert main(["plan", str(house), "--json"]) == 0
    found = json.loads(capsys.readouterr().out)["plan"]
    assert not [p for p in found["problems"] if p["severity"] in ("refusal", "mistake")]
    for side in found["systems"][0]["sides"]:
        assert side["reach"] == "met" and side["index_terminal"]
        assert side["needed_pa"]["u_std"] > 0.0
        assert len(side["size_steps"]) == 3
        assert len(side["settings"]) >= 2
    assert found["systems"][0]["powers"]


@pytest.mark.parametrize("name", HOUSES)
def test_words_are_printed(name, capsys):
    assert main(["plan", str(EXAMPLES / name / "house.toml")]) == 0
    said = capsys.readouterr().out
    for words in ("reaches its design", "index run", "What will have to be closed", "One size up"):
        assert words in said


def test_drawing_and_document_are_written(tmp_path, capsys):
    drawing, document = tmp_path / "tree.svg", tmp_path / "plan.pdf"
    house = str(EXAMPLES / "harbour_terrace" / "house.toml")
    options = ["--svg", str(drawing), "--report", str(document), "--json"]
    assert main(["plan", house, *options]) == 0
    assert "written" in capsys.readouterr().err
    root = ElementTree.fromstring(drawing.read_text("utf-8"))
    titles = [e.text for e in root.iter("{http://www.w3.org/2000/svg}title")]
    assert len(titles) == 2 and all("Tree of the" in t for t in titles)
    assert document.read_bytes().startswith(b"%PDF")


def test_mistakes_in_the_file_exit_2_and_all_else_is_planned(tmp_path, capsys):
    text = (EXAMPLES / "harbour_terrace" / "house.toml").read_text("utf-8")
    broken = tmp_path / "house.toml"
    broken.write_text(text.replace('max_flow = "300 m³/h"', 'max_flow = "300 furlongs"'), "utf-8")
    assert main(["plan", str(broken), "--json"]) == 2
    printed = capsys.readouterr()
    assert "furlongs" in printed.err
    assert json.loads(printed.out)["plan"]["systems"][0]["sides"][0]["reach"] == "met"


def test_house_without_a_system_and_missing_file_exit_2(tmp_path, capsys):
    bare = tmp_path / "house.toml"
    bare.write_text('schema = "ventwright-house-1"\nid = "h"\nname = "H"\n', "utf-8")
    assert main(["plan", str(bare)]) == 2
    assert "[[systems]]" in capsys.readouterr().err
    assert main(["plan", str(tmp_path / "none.toml")]) == 2


def test_nothing_to_draw_is_said(tmp_path, capsys):
    text = (EXAMPLES / "harbour_terrace" / "house.toml").read_text("utf-8")
    lines = [line for line in text.splitlines() if not line.startswith("design_flow")]
    bare = tmp_path / "house.toml"
    bare.write_text("\n".join(lines) + "\n", "utf-8")
    assert main(["plan", str(bare), "--json", "--svg", str(tmp_path / "tree.svg")]) == 2
    printed = capsys.readouterr()
    assert "nothing to draw" in printed.err
    codes = {p["code"] for p in json.loads(printed.out)["plan"]["problems"]}
    assert "design-flow-missing" in codes
