"""`ventwright requirements`: every value with source, edition, clause and trust."""

import json

import pytest

from ventwright.actions import shipped_rule_sets
from ventwright.cli import main

HOUSE = "examples/juniper_mesa/house.toml"


@pytest.fixture(autouse=True)
def _wide(monkeypatch):
    monkeypatch.setenv("COLUMNS", "220")


def test_list_names_every_rule_set(capsys):
    assert main(["requirements", "list"]) == 0
    out = capsys.readouterr().out
    for one in shipped_rule_sets():
        assert one in out
    assert main(["requirements", "list", "--json"]) == 0
    listed = json.loads(capsys.readouterr().out)["rule_sets"]
    assert [one["id"] for one in listed] == list(shipped_rule_sets())


def test_show_prints_source_edition_clause_and_trust(capsys):
    assert main(["requirements", "show", "washington_2021"]) == 0
    out = capsys.readouterr().out
    assert "M1505.4.1.4" in out
    assert "wac_51_51_2021" in out
    assert "text read" in out
    assert "WAC 51-51" in out
    assert main(["requirements", "show", "en_16798_1_category_2", "--json"]) == 0
    listing = json.loads(capsys.readouterr().out)
    assert {line["trust"] for line in listing["lines"]} == {"memory"}
    assert all(line["source"] and line["edition"] and line["clause"] for line in listing["lines"])


def test_compare_shows_that_one_pair_of_flows_fails_one_basis_and_passes_another(capsys):
    flows = ["--supply", "100 cfm", "--extract", "85 cfm"]
    chosen = ["washington_2021", "ashrae_62_2_2019"]
    assert main(["requirements", "compare", HOUSE, *chosen, *flows, "--json"]) == 0
    rows = json.loads(capsys.readouterr().out)["rows"]
    assert [row["findings"]["balance"]["verdict"] for row in rows] == ["not met", "met"]
    assert main(["requirements", "compare", HOUSE, *chosen, *flows, "--units", "ip"]) == 0
    out = capsys.readouterr().out
    assert "10 % of supply, or 5.00 cfm" in out
    assert "10 % of each from average" in out


def test_compare_without_flows_lists_all_and_takes_infiltration(capsys):
    options = ["--weather-factor", "0.59", "--exterior-share", "100 %", "--units", "ip"]
    assert main(["requirements", "compare", HOUSE, *options]) == 0
    out = capsys.readouterr().out
    assert "imbalance assumed" in out
    assert "at most" in out


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["show", "nothing"], "shipped: approved_document_f_2021"),
        (["compare", HOUSE, "--supply", "100"], "--supply"),
        (["compare", HOUSE, "--supply", "100 cfm"], "both"),
        (["compare", "no_such.toml"], "no_such.toml"),
    ],
)
def test_a_mistake_is_said_plainly(words, said, capsys):
    assert main(["requirements", *words]) == 2
    assert said in capsys.readouterr().err
