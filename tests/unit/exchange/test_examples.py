"""The examples that come with the project: read without a word, or with just those meant."""

from __future__ import annotations

import tomllib
from collections import Counter
from pathlib import Path

import jsonschema
import pytest

from tests.unit.exchange.test_schemas import SCHEMAS, plain
from ventwright.exchange import (
    canonical_json,
    from_json,
    read_house,
    read_visit,
    write_house,
    write_visit,
)
from ventwright.house import (
    House,
    Method,
    Phase,
    Reading,
    StationKind,
    Visit,
    parse_house,
    parse_visit,
)
from ventwright.quantities import AirKind, Severity

EXAMPLES = Path(__file__).resolve().parents[3] / "examples"
HOUSE_OF = {
    "juniper_mesa": "juniper_mesa",
    "harbour_terrace": "harbour_terrace",
    "hard_visit": "harbour_terrace",
    "malformed": "harbour_terrace",
}
WHOLE = ("juniper_mesa", "harbour_terrace")


def house_of(name: str) -> House:
    house, problems = read_house(EXAMPLES / HOUSE_OF[name] / "house.toml")
    assert problems == ()
    return house


def visit_of(name: str) -> Visit:
    visit, problems = read_visit(EXAMPLES / name / "visit.toml", house=house_of(name))
    assert problems == ()
    return visit


def test_every_folder_of_examples_is_tried_here() -> None:
    device_files = {"devices"}  # tried where devices are heard
    assert {p.name for p in EXAMPLES.iterdir() if p.is_dir()} == set(HOUSE_OF) | device_files


@pytest.mark.parametrize("name", WHOLE)
def test_the_two_houses_are_whole(name: str) -> None:
    house, visit = house_of(name), visit_of(name)
    terminals = {t.id for system in house.systems for t in system.terminals}
    for phase in (Phase.AS_FOUND, Phase.AS_LEFT):
        found = {
            r.station.ref
            for r in visit.readings
            if r.station.kind is StationKind.TERMINAL
            and (r.phase, r.setting) == (phase, "continuous")
        }
        assert found == terminals
    states = {r.station.stream for r in visit.readings if r.method is Method.AIR_STATE}
    assert states >= set(AirKind)
    assert any(r.setting == "boost" for r in visit.readings)
    assert any(r.method is Method.POWER for r in visit.readings)
    assert {r.station.ref for r in visit.readings if r.station.kind is StationKind.SURFACE} == {
        s.id for s in house.surfaces
    }
    assert visit.walk_through and visit.adjustments and visit.faults and visit.final_settings
    assert {f.target for f in visit.final_settings} >= terminals
    assert house.rule_sets == ("own_targets",)


def test_a_check_from_a_spreadsheet_alone() -> None:
    path = EXAMPLES / "harbour_terrace" / "recheck.csv"
    visit, problems = read_visit(path, house=house_of("harbour_terrace"))
    assert problems == ()
    assert len(visit.readings) == 11
    first, last = visit.readings[0], visit.readings[-1]
    assert first.look.flows_m3_s == pytest.approx((0.012, 0.0119))  # type: ignore[union-attr]
    assert last.look.power_w == 51.2  # type: ignore[union-attr]


def mass_indicator(readings: list[Reading]) -> float:
    """Sum of the mean velocities of thermal probes, which go with mass."""
    (one,) = readings
    values = one.look.velocities_m_s  # type: ignore[union-attr]
    flat = [v for line in values for v in (line if isinstance(line, tuple) else (line,))]
    return sum(flat) / len(flat)


@pytest.mark.parametrize("name", WHOLE)
def test_imbalance_is_seen_as_found_and_gone_as_left(name: str) -> None:
    """Both ports of a house have one diameter and one probe that shows velocity of standard air."""
    visit = visit_of(name)
    shares = {}
    for phase in (Phase.AS_FOUND, Phase.AS_LEFT):
        means = {
            stream: mass_indicator(
                [
                    r
                    for r in visit.readings
                    if (r.station.stream, r.phase, r.setting, r.instrument)
                    == (stream, phase, "continuous", "probe")
                ]
            )
            for stream in (AirKind.SUPPLY, AirKind.EXTRACT)
        }
        supply, extract = means[AirKind.SUPPLY], means[AirKind.EXTRACT]
        shares[phase] = abs(supply - extract) / (0.5 * (supply + extract))
    assert shares[Phase.AS_FOUND] > 0.15
    assert shares[Phase.AS_LEFT] < 0.05


def test_the_hard_visit_can_be_read_but_for_two_references() -> None:
    visit, problems = read_visit(
        EXAMPLES / "hard_visit" / "visit.toml", house=house_of("hard_visit")
    )
    assert [(p.code, p.severity, p.where.partition(": ")[2]) for p in problems] == [
        ("unknown-instrument", Severity.WARNING, "reading q14.instrument"),
        ("unknown-reference", Severity.REFUSAL, "reading q15.station"),
    ]
    assert len(visit.readings) == len({r.id for r in visit.readings}) == 30


def test_each_slip_of_the_malformed_visit_is_named_with_its_line() -> None:
    path = EXAMPLES / "malformed" / "visit.toml"
    visit, problems = read_visit(path, house=house_of("malformed"))
    assert Counter(p.code for p in problems) == {
        "unknown-key": 2,
        "missing-key": 2,
        "unknown-word": 2,
        "no-unit": 1,
        "ambiguous-number": 1,
        "unknown-unit": 1,
        "wrong-dimension": 1,
        "out-of-range": 1,
        "time-without-zone": 1,
    }
    assert {p.severity for p in problems} == {Severity.MISTAKE}
    lines = path.read_text(encoding="utf-8").splitlines()
    shown = {"no-unit": '"68"', "ambiguous-number": '"1,234 m³/h"', "unknown-unit": '"12 furlongs"'}
    for problem in problems:
        place, _, key_path = problem.where.partition(": ")
        file, _, line = place.partition(":")
        text = lines[int(line) - 1]
        assert file == "visit.toml"
        assert key_path.rpartition(".")[2].partition("[")[0] in text or "[[readings]]" in text
        assert shown.get(problem.code, "") in text
    assert visit.readings[0].id == "m1"
    assert "m8" in {r.id for r in visit.readings}


@pytest.mark.parametrize("name", HOUSE_OF)
def test_they_are_written_and_read_without_loss(name: str) -> None:
    house = house_of(name)
    visit, _ = read_visit(EXAMPLES / name / "visit.toml", house=house)
    assert parse_house(tomllib.loads(write_house(house)))[0] == house
    written = write_visit(visit)
    assert parse_visit(tomllib.loads(written))[0] == visit
    assert "typed =" not in written
    assert from_json(House, canonical_json(house)) == house
    assert from_json(Visit, canonical_json(visit)) == visit


@pytest.mark.parametrize("name", HOUSE_OF)
def test_the_schemas_accept_all_but_the_malformed_one(name: str) -> None:
    valid = {}
    for what in ("house", "visit"):
        path = EXAMPLES / name / f"{what}.toml"
        if path.is_file():
            mapping = plain(tomllib.loads(path.read_text(encoding="utf-8")))
            validator = jsonschema.Draft202012Validator(SCHEMAS[f"{what}.schema.json"])
            valid[what] = validator.is_valid(mapping)
    assert valid["visit"] is (name != "malformed")
    assert valid.get("house", True)
