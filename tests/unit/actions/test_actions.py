"""What the actions add to the rooms they call: whole files, habits of units, spelled-out JSON."""

import json
import math
from pathlib import Path

import pytest

from ventwright.actions import assess_files, findings_json, preference_of, write_whole
from ventwright.exchange import digest, from_json
from ventwright.findings import VisitSnapshot
from ventwright.quantities import UnitPreference, UserError

EXAMPLES = Path(__file__).parents[3] / "examples"


@pytest.fixture(scope="module")
def assessment():
    folder = EXAMPLES / "juniper_mesa"
    return assess_files(folder / "house.toml", folder / "visit.toml")


def test_the_snapshot_reads_back_to_the_same_record(assessment):
    again = from_json(VisitSnapshot, assessment.snapshot_bytes)
    assert again == assessment.snapshot
    assert digest(assessment.snapshot_bytes) == assessment.snapshot_sha256


def test_every_estimate_in_the_findings_file_has_its_uncertainty(assessment):
    found = json.loads(findings_json(assessment))
    assert found["snapshot_sha256"] == assessment.snapshot_sha256
    flow = found["findings"]["systems"][0]["flows"][0][1]["figure"]["std_flow_m3_s"]
    squares = math.fsum(c["contribution"] ** 2 for c in flow["components"])
    assert flow["u_std"] == pytest.approx(math.sqrt(squares))
    line = found["findings"]["systems"][0]["balances"][0]["lines"][0]
    assert line["verdict"] in {"met", "not met", "not shown"}


@pytest.mark.parametrize(
    ("name", "habit"),
    [("juniper_mesa", {UnitPreference.IP}), ("harbour_terrace", set(UnitPreference) - {"ip"})],
)
def test_units_follow_what_was_typed(name, habit):
    folder = EXAMPLES / name
    one = assess_files(folder / "house.toml", folder / "visit.toml")
    assert preference_of(one.snapshot) in habit


def test_a_file_is_replaced_whole_or_not_at_all(tmp_path):
    target = tmp_path / "out.bin"
    write_whole(target, b"old")
    write_whole(target, b"new")
    assert target.read_bytes() == b"new"
    assert list(tmp_path.iterdir()) == [target]
    with pytest.raises(UserError, match="nowhere"):
        write_whole(tmp_path / "nowhere" / "out.bin", b"x")
