"""``ventwright year`` as a user runs it, in a process of its own, on the weather files of pvlib."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

import pytest

from tests.unit.climate.weather_files import content, epw, hours, real_folder

EXAMPLES = Path(__file__).parents[2] / "examples"


def run(*words: object) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-m", "ventwright", "year", *map(str, words)],
        capture_output=True,
        text=True,
        encoding="utf-8",
        check=False,
        env={"PATH": "/usr/bin:/bin", "PYTHONIOENCODING": "utf-8", "COLUMNS": "140"},
    )


@pytest.mark.parametrize("house", ["juniper_mesa", "harbour_terrace"])
@pytest.mark.parametrize("file", ["12839.tm2", "703165TY.csv"])
def test_both_examples_in_hot_and_in_cold_weather(house: str, file: str, tmp_path: Path) -> None:
    done = run(
        EXAMPLES / house / "house.toml",
        "--weather",
        real_folder() / file,
        "--cool-to",
        "75 °F",
        "--dryer",
        "any",
        "--pictures",
        tmp_path / "charts",
        "--json",
    )
    assert done.returncode == 0, done.stderr
    found = json.loads(done.stdout)
    assert found["schema"] == "ventwright-year-1"
    assert len(found["snapshot_sha256"]) == 64
    year = found["year"]
    assert year["known_h"] == 8760.0
    dried = next(e for e in year["estimates"] if e["code"] == "dehumidifier_kg")["estimate_si"]
    assert dried["u_std"] > 0.0
    assert (dried["value"] > 5000.0) == (file == "12839.tm2")
    assert sorted(p.name for p in (tmp_path / "charts").iterdir()) == [
        "year-cloud.svg",
        "year-dew-points.svg",
        "year-heat-months.svg",
        "year-water-months.svg",
    ]


def test_words_report_and_mistakes(tmp_path: Path) -> None:
    lines = epw(hours())
    lines[30] = lines[30].replace("?9?9,", "?9?9,warm", 1)
    weather = tmp_path / "made-up.epw"
    weather.write_bytes(content(lines))
    report = tmp_path / "year.pdf"
    house = EXAMPLES / "harbour_terrace" / "house.toml"
    done = run(house, "--weather", weather, "--report", report, "--moisture", "8 L/day")
    assert done.returncode == 2
    assert "made-up.epw:31" in done.stderr and "is no number" in done.stderr
    for words in ("In short", "Dew points", "largest influences", "A year is a calculation"):
        assert words in done.stdout
    assert report.read_bytes().startswith(b"%PDF-")


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (["--weather", "no_such_file.epw"], "no such file"),
        (["--weather", "WEATHER", "--cool-to", "10 °C"], "cooling not below it"),
        (["--weather", "WEATHER", "--dry-to", "60"], "--dry-to"),
        (["--weather", "WEATHER", "--dry-to", "5 %"], "20 to 95 %"),
        (["--weather", "WEATHER", "--dryer", "12 cfm"], "--dryer"),
    ],
)
def test_what_a_user_can_mend_exits_2(words: list[str], told: str) -> None:
    weather = str(real_folder() / "703165TY.csv")
    done = run(
        EXAMPLES / "juniper_mesa" / "house.toml",
        *(weather if w == "WEATHER" else w for w in words),
    )
    assert done.returncode == 2
    assert told in done.stderr
