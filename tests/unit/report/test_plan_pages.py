"""Written plans: every key has words, tables hold together, trees are drawn to scale."""

from __future__ import annotations

import re
from dataclasses import replace
from itertools import pairwise
from pathlib import Path
from xml.etree import ElementTree

import pytest

import ventwright.report
from tests.unit.assembly import houses
from ventwright.findings import PlanSnapshot, plan_house
from ventwright.quantities import Side, UnitPreference
from ventwright.report import compose_plan, plan_drawing, words_of
from ventwright.report.pictures.duct_tree import TreeNode, duct_tree

FOLDER = Path(ventwright.report.__file__).parent
SVG = "{http://www.w3.org/2000/svg}"


def composed(house, preference=UnitPreference.SI_LS):
    snapshot = PlanSnapshot(engine="0", house=house, rule_sets=())
    return compose_plan(
        plan_house(snapshot), snapshot, preference=preference, snapshot_sha256="0" * 64
    )


def test_every_key_of_a_plan_has_words_and_every_word_a_use():
    words = words_of("en", "words_plan")
    source = "".join(p.read_text("utf-8") for p in FOLDER.glob("plan_*.py"))
    used = set(re.findall(r'"(plan-[a-z]+\.[a-z_-]+)"', source))
    assert used and not [key for key in used if key not in words]
    own = {key for key in words if key.startswith("plan-")}
    tables = {"plan-column", "plan-basis", "plan-fact"}
    unused = {key for key in own - used if key.partition(".")[0] not in tables}
    # These are made from codes of the engine.
    made = re.compile(
        r"plan-line\.(reach-.*|refused-one)|plan-mark\.(index|by_size|outside_table|drop_over)"
    )
    assert not [key for key in unused if not made.fullmatch(key)]


@pytest.mark.parametrize("preference", list(UnitPreference))
def test_tables_are_whole_in_every_habit_of_units(preference):
    model = composed(houses.house(), preference)
    tables = [t for section in model.sections for t in section.tables]
    assert len({t.id for t in tables}) == len(tables) >= 10
    for table in tables:
        assert all(len(row) == len(table.columns) for row in table.rows), table.id
        assert all(c.title and "plan" not in c.title for c in table.columns)
    pictures = [p for section in model.sections for p in section.pictures]
    assert {p.follows for p in pictures} <= {t.id for t in tables}
    trees = [p for p in pictures if p.id.startswith("plan-tree-")]
    assert len(trees) == 2
    assert all("hrv-s1" in p.alt or "hrv-x1" in p.alt for p in trees)


def test_summary_says_what_matters_and_names_the_system_where_there_are_two():
    model = composed(houses.house(houses.system("a"), houses.system("b")))
    lines = [line.text for line in model.section("plan-summary").lines]
    assert any(t.startswith("a: ") for t in lines) and any(t.startswith("b: ") for t in lines)
    assert any("velocity screen" in t for t in lines)


def test_refused_side_is_said_in_the_summary():
    given = houses.with_terminal(houses.system(), "hrv-s1", design_flow_m3_s=None)
    lines = [line.text for line in composed(houses.house(given)).section("plan-summary").lines]
    assert any("can't be planned" in t for t in lines)
    assert any("One thing is missing" in t for t in lines)


def nodes():
    return (
        TreeNode(name="trunk", parent=None, flow_m3_s=0.03, label="Trunk"),
        TreeNode(name="a", parent="trunk", flow_m3_s=0.02, label="A", is_index=True),
        TreeNode(name="b", parent="trunk", flow_m3_s=0.01, label="B <&> tail"),
        TreeNode(name="c", parent=None, flow_m3_s=0.015, label="C"),
    )


@pytest.mark.parametrize("side", list(Side))
def test_ribbons_are_as_wide_as_their_flow(side):
    drawing = duct_tree(nodes(), side=side, title="T", unit_words=("Unit", "45"))
    root = ElementTree.fromstring(drawing)
    widths = [
        float(p.get("stroke-width")) for p in root.iter(f"{SVG}path") if p.get("fill") == "none"
    ]
    # The index run is drawn last; the rest in order.
    assert sorted(widths) == pytest.approx([12.0, 18.0, 24.0, 36.0])
    assert widths[-1] == pytest.approx(24.0)
    texts = [t.text for t in root.iter(f"{SVG}text")]
    assert "B <&> tail" in texts and "Trunk" in texts


def test_tree_of_sixty_terminals_keeps_rows_apart():
    model = composed(houses.many_terminals(60))
    picture = model.section("plan-close").pictures[0]
    root = ElementTree.fromstring(picture.svg)
    labels = [t for t in root.iter(f"{SVG}text") if (t.text or "").startswith("s-t")]
    rows = sorted(float(t.get("y")) for t in labels)
    assert len(rows) == 60
    assert min(b - a for a, b in pairwise(rows)) > 20.0
    assert float(root.get("height")) > rows[-1]


def test_drawing_stacks_all_sides():
    drawing = plan_drawing(composed(houses.house()))
    root = ElementTree.fromstring(drawing)
    inner = root.findall(f".//{SVG}svg")
    assert len(inner) == 2
    assert float(root.get("height")) == pytest.approx(sum(float(s.get("height")) for s in inner))


def test_zero_flows_are_drawn_thin():
    flat = tuple(replace(n, flow_m3_s=0.0) for n in nodes())
    drawing = duct_tree(flat, side=Side.SUPPLY, title="T", unit_words=("Unit", "0"))
    assert ElementTree.fromstring(drawing) is not None
