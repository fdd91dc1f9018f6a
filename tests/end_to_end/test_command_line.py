"""The commands as a user runs them, in a process of their own."""

import json
import subprocess
import sys
from pathlib import Path

import pytest

EXAMPLES = Path(__file__).parents[2] / "examples"


def run(*words, cwd=None):
    return subprocess.run(
        [sys.executable, "-m", "ventwright", *map(str, words)],
        capture_output=True,
        text=True,
        encoding="utf-8",
        cwd=cwd,
        check=False,
        env={"PATH": "/usr/bin:/bin", "PYTHONIOENCODING": "utf-8", "COLUMNS": "140"},
    )


def files(name):
    return EXAMPLES / name / "house.toml", EXAMPLES / name / "visit.toml"


@pytest.mark.parametrize("name", ["juniper_mesa", "harbour_terrace"])
def test_assess_prints_findings_and_ends_well(name):
    done = run("assess", *files(name))
    assert done.returncode == 0, done.stderr
    for words in ("met", "not met", "Balance", "Surfaces"):
        assert words in done.stdout


def test_the_hard_visit_ends_well_with_its_refusals_listed():
    house, _ = files("harbour_terrace")
    done = run("assess", house, EXAMPLES / "hard_visit" / "visit.toml", "--json")
    assert done.returncode == 0, done.stderr
    found = json.loads(done.stdout)["findings"]
    refused = {
        flag["code"]
        for reading in found["readings"]
        for flag in reading["flags"]
        if flag["severity"] == "refusal"
    }
    assert {"vane-below-start", "box-on-supply"} <= refused
    assert len(refused) >= 5


def test_a_malformed_file_exits_2_with_line_field_and_what_is_accepted():
    house, _ = files("juniper_mesa")
    done = run("assess", house, EXAMPLES / "malformed" / "visit.toml", "--json")
    assert done.returncode == 2
    assert "visit.toml:" in done.stderr
    assert "did you mean" in done.stderr or "accepted" in done.stderr
    assert "1,234" in done.stderr
    readings = json.loads(done.stdout)["findings"]["readings"]
    assert any(r["flow"] is not None for r in readings)


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("assess", "no_house.toml", "no_visit.toml"), "no_house.toml"),
        (("assess", "only_one.toml"), "VISIT"),
        (("balance",), "invalid choice"),
    ],
)
def test_mistakes_on_the_command_line_exit_2_and_say_which(words, said, tmp_path):
    done = run(*words, cwd=tmp_path)
    assert done.returncode == 2
    assert said in done.stderr
    assert "Traceback" not in done.stderr


def test_a_fault_of_ours_exits_70_and_keeps_its_details(tmp_path, monkeypatch, capsys):
    from ventwright.cli import main
    from ventwright.cli.main import EXIT_BUG

    monkeypatch.setenv("TMPDIR", str(tmp_path))
    monkeypatch.setattr("tempfile.tempdir", None)
    monkeypatch.setattr(sys.modules["ventwright.cli.main"], "_run", lambda _: 1 / 0)
    assert main(["demo", "--once"]) == EXIT_BUG
    said = capsys.readouterr().err
    assert "a fault of ours" in said
    (kept,) = tmp_path.glob("ventwright-fault-*.txt")
    assert "ZeroDivisionError" in kept.read_text(encoding="utf-8")


def test_demo_writes_all_four_files_and_says_what_to_look_at(tmp_path):
    done = run("demo", "--once", "--out", "shown", cwd=tmp_path)
    assert done.returncode == 0, done.stderr
    names = {p.name for p in (tmp_path / "shown").iterdir()}
    assert names == {"house.toml", "visit.toml", "findings.json", "report.pdf"}
    assert "report.pdf" in done.stdout
    assert "Look at" in done.stdout


def test_demo_into_a_place_that_cannot_be_made_is_the_users_to_mend(tmp_path):
    (tmp_path / "taken").write_text("a file, not a folder", encoding="utf-8")
    done = run("demo", "--once", "--out", "taken", cwd=tmp_path)
    assert done.returncode == 2
    assert "taken" in done.stderr


@pytest.mark.parametrize("name", ["juniper_mesa", "harbour_terrace"])
def test_the_same_files_give_the_same_bytes_twice(name, tmp_path):
    outputs = []
    for i in range(2):
        report = tmp_path / f"{i}.pdf"
        done = run("assess", *files(name), "--json", "--report", report)
        assert done.returncode == 0, done.stderr
        outputs.append((done.stdout, report.read_bytes()))
    assert outputs[0] == outputs[1]


def test_a_report_that_cannot_be_written_is_said_so_and_leaves_no_half(tmp_path):
    target = tmp_path / "missing" / "report.pdf"
    done = run("assess", *files("juniper_mesa"), "--report", target)
    assert done.returncode == 2
    assert "report.pdf" in done.stderr
    assert not list(tmp_path.rglob("*.part"))


def test_next_prints_a_step_and_its_picture():
    done = run("next", *files("juniper_mesa"))
    assert done.returncode == 0, done.stderr
    assert "Every terminal is within its band" in done.stdout
    step = json.loads(run("next", *files("juniper_mesa"), "--json").stdout)
    assert step["systems"][0]["step_kind"] == "Finished"
