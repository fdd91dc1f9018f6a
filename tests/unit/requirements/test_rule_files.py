"""Rule files: read whole, cite listed sources, and a new one needs no code."""

import tomllib
from pathlib import Path

import pytest

from ventwright.actions import list_rule_set, load_rule_sets, shipped_rule_sets
from ventwright.quantities import UserError
from ventwright.requirements import (
    HouseFacts,
    RateState,
    Trust,
    parse_rule_set,
    required_rates,
)

SOURCES = tomllib.loads(Path("docs/sources.toml").read_text(encoding="utf-8"))
CFM = 0.3048**3 / 60


def test_every_value_has_a_listed_source_with_its_title_and_a_trust():
    for one in shipped_rule_sets():
        listing = list_rule_set(one)
        assert listing.lines
        for line in listing.lines:
            assert line.title == SOURCES[line.source]["title"], (one, line.place)
            assert line.trust in [trust.value for trust in Trust], (one, line.place)


def test_no_value_is_better_known_than_its_source():
    """A source that was not read can't be quoted as read; own targets rest on custom."""
    for one in shipped_rule_sets():
        for line in list_rule_set(one).lines:
            if line.trust == "read":
                assert SOURCES[line.source]["trust"] == "read", (one, line.place)
            if line.trust == "second_hand":
                assert SOURCES[line.source]["trust"] != "memory", (one, line.place)


def test_a_rule_set_of_ones_own_is_a_file(tmp_path):
    (tmp_path / "rules").mkdir()
    text = """
schema = "ventwright-rules-1"
id = "our_firm"
name = "Our firm's least rate"
[rate]
methods = [
  { id = "sum", citation = { source = "own", trust = "own" }, terms = [
    { counts = "dwelling", flow = "10 cfm" },
    { counts = "people", flow = "20 cfm", added = 1 },
    { counts = "volume", air_changes = "0.1 1/h", citation = { source = "x", trust = "memory" } },
  ] },
]
"""
    (tmp_path / "rules" / "our_firm.toml").write_text(text, encoding="utf-8")
    (rules,) = load_rule_sets(["our_firm"], beside=tmp_path)
    result = required_rates(rules, HouseFacts(people=2, volume_m3=360.0))
    assert result.total_m3_s == pytest.approx(50 * CFM + 0.01)
    assert result.trust is Trust.MEMORY
    assert not result.is_compliance_claimable


def rate(**method):
    cited = {"source": "own", "trust": "own"}
    return {
        "schema": "ventwright-rules-1",
        "id": "x",
        "name": "X",
        "rate": {"methods": [{"id": "m", "citation": cited, **method}]},
    }


@pytest.mark.parametrize(
    ("method", "code", "where"),
    [
        ({}, "terms-or-table", "rate.methods[0]"),
        ({"terms": [{"counts": "floor_area", "flow": "1 cfm"}]}, "area-step", "terms[0]"),
        ({"terms": [{"counts": "volume", "flow": "1 cfm"}]}, "missing-key", "terms[0]"),
        ({"terms": [{"counts": "rooms", "flow": "1 cfm"}]}, "room-kinds", "terms[0]"),
        (
            {"table": {"bedrooms": [1, 2], "rows": [{"flows": ["1 cfm"]}]}},
            "row-length",
            "table.rows[0]",
        ),
        (
            {"table": {"bedrooms": [2, 1], "rows": [{"flows": ["1 cfm", "2 cfm"]}]}},
            "unordered",
            "table.bedrooms",
        ),
        (
            {
                "table": {
                    "bedrooms": [1],
                    "rows": [{"flows": ["1 cfm"]}, {"up_to_area": "9 m²", "flows": ["2 cfm"]}],
                }
            },
            "unordered",
            "table.rows",
        ),
    ],
)
def test_a_form_that_does_not_fit_together_is_named(method, code, where):
    _, problems = parse_rule_set(rate(**method))
    assert [p for p in problems if p.code == code and where in p.where], problems


def test_room_rules_and_limits_that_do_not_fit_are_named():
    cited = {"source": "own", "trust": "own"}
    mapping = {
        "schema": "ventwright-rules-1",
        "id": "x",
        "name": "X",
        "rooms": [
            {"side": "extract", "room_kinds": [], "citation": cited},
            {"side": "extract", "room_kinds": ["kitchen"], "per": "volume", "citation": cited},
            {"side": "supply", "room_kinds": ["bedroom"], "per": "person", "citation": cited},
            {"side": "supply", "room_kinds": ["bedroom"], "per": "area", "citation": cited},
        ],
        "equipment": [{"citation": cited}],
    }
    _, problems = parse_rule_set(mapping)
    found = {(p.where, p.code) for p in problems}
    assert ("rooms[0]", "room-kinds") in found
    assert ("rooms[1]", "missing-key") in found
    assert ("rooms[2]", "missing-key") in found
    assert ("rooms[3]", "area-step") in found
    assert ("equipment[0]", "one-limit") in found


def test_a_file_whose_parts_do_not_fit_is_refused_by_name(tmp_path):
    (tmp_path / "rules").mkdir()
    text = 'schema = "ventwright-rules-1"\nid = "x"\nname = "X"\n[rate]\nmethods = []\n'
    (tmp_path / "rules" / "x.toml").write_text(text, encoding="utf-8")
    with pytest.raises(UserError, match="the rate has no method"):
        load_rule_sets(["x"], beside=tmp_path)


def test_the_example_in_the_manual_reads_whole_and_gives_a_rate():
    text = Path("docs/rule_files.md").read_text(encoding="utf-8")
    example = text.split("```toml\n")[1].split("```")[0]
    rules, problems = parse_rule_set(tomllib.loads(example))
    assert problems == ()
    house = HouseFacts(floor_area_m2=100.0, volume_m3=250.0, bedrooms=2, people=3, run_frac=0.5)
    result = required_rates(rules, house)
    assert result.state is RateState.KNOWN
    said = {m.id: (m.is_used, m.reason_code) for m in result.methods}
    assert said == {"equation": (False, "missing-rooms"), "table": (True, "")}
    # 60 cfm, 80 % of it, times 1.2 as neither balanced nor distributed; twice that at half time.
    assert result.required_m3_s == pytest.approx(60 * 0.8 * 1.2 * CFM)
    assert result.running_m3_s == pytest.approx(2 * result.required_m3_s)
