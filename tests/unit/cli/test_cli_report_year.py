"""`ventwright report --weather`: the year in the annex, from what the visit measured."""

from __future__ import annotations

import hashlib
import json
from pathlib import Path

import pytest
from pypdf import PdfReader

from ventwright.actions import Assessment, assess_files, examples_folder, year_of_visit
from ventwright.actions.visit_year import measured_plan
from ventwright.cli.main import main
from ventwright.climate import YearOptions, YearPlan, plan_year
from ventwright.house import Phase
from ventwright.quantities import Side

FOLDER = examples_folder() / "harbour_terrace"
FILES = [str(FOLDER / "house.toml"), str(FOLDER / "visit.toml")]


def as_measured(assessment: Assessment) -> tuple[YearPlan, tuple[str, ...]]:
    return measured_plan(plan_year(assessment.snapshot.house, YearOptions())[0], assessment)


@pytest.fixture
def weather(tmp_path: Path) -> Path:
    path = tmp_path / "weather.csv"
    hours = "".join(f"{5 + h % 24 / 2:.1f},70\n" for h in range(8760))
    path.write_text("temperature [C],rh [%]\n" + hours)
    return path


def test_the_annex_holds_months_and_tables(weather: Path, tmp_path: Path) -> None:
    outs = [tmp_path / "a.json", tmp_path / "b.json"]
    for out in outs:
        assert main(["report", *FILES, "--weather", str(weather), "--out", str(out)]) == 0
    assert outs[0].read_bytes() == outs[1].read_bytes()
    sections = json.loads(outs[0].read_text("utf-8"))["sections"]
    (year,) = (s for s in sections if s["id"] == "year")
    assert [t["id"] for t in year["tables"]] == ["year-heat", "year-water"]
    words = json.dumps(year, ensure_ascii=False)
    assert hashlib.sha256(weather.read_bytes()).hexdigest() in words
    assert "supply flow, extract flow" in words
    document = tmp_path / "a.pdf"
    words = ["--parts", "annex", "--weather", str(weather), "--out", str(document)]
    assert main(["report", *FILES, *words]) == 0
    text = " ".join(page.extract_text() for page in PdfReader(document).pages)
    for said in ("A year of weather", "SHA-256", "Heat of the year", "Water of the year"):
        assert said in text
    page = tmp_path / "a.html"
    assert main(["report", *FILES, "--weather", str(weather), "--out", str(page)]) == 0
    bars = page.read_text("utf-8").count("Bars by month. ")
    assert bars == 1  # heat alone: no water to keep out or to dry in so cool a year


def test_the_measured_supply_is_the_one_as_left(weather: Path) -> None:
    assessment = assess_files(FOLDER / "house.toml", FOLDER / "visit.toml")
    found = year_of_visit(assessment, weather)
    (system,) = assessment.findings.systems
    left = [
        d.measured_m3_s
        for d in system.designs
        if (d.side, d.setting, d.phase) == (Side.SUPPLY, "continuous", Phase.AS_LEFT)
    ]
    assert left
    assert left[0] is not None
    assert {"supply", "extract"} <= set(found.measured)
    plan, names = as_measured(assessment)
    assert names == found.measured
    assert plan.supply_m3_s.value == left[0].value
    assert plan.supply_m3_s.u_std == pytest.approx(left[0].u_std)


def test_without_weather_the_annex_says_how(tmp_path: Path) -> None:
    out = tmp_path / "a.json"
    assert main(["report", *FILES, "--parts", "annex", "--out", str(out)]) == 0
    assert "--weather" in out.read_text("utf-8")


def test_weather_without_annex_is_refused(
    weather: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    out = tmp_path / "a.pdf"
    words = ["report", *FILES, "--weather", str(weather), "--parts", "owner", "--out", str(out)]
    assert main(words) == 2
    assert "annex" in capsys.readouterr().err
    assert not out.exists()
