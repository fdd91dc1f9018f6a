"""`plan` and `year` with `--decimal comma`: the same numbers with the other mark."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from ventwright.actions import examples_folder
from ventwright.cli.main import main

HOUSE = str(examples_folder() / "juniper_mesa" / "house.toml")
POINT = re.compile(r"(?<=\d)\.(?=\d)")


def weather(folder: Path) -> str:
    path = folder / "weather.csv"
    hours = "".join(f"{5 + h % 24 / 2:.1f},70\n" for h in range(8760))
    path.write_text("temperature [C],rh [%]\n" + hours)
    return str(path)


@pytest.mark.parametrize("command", ["plan", "year"])
def test_the_same_is_said_with_commas(
    command: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    words = [command, HOUSE, *(["--weather", weather(tmp_path)] if command == "year" else [])]
    said = {}
    for mark in ("point", "comma"):
        assert main([*words, "--decimal", mark]) == 0
        said[mark] = capsys.readouterr().out
    assert POINT.search(said["point"])
    assert not POINT.search(said["comma"])
    assert main(words) == 0
    assert capsys.readouterr().out == said["point"]


def test_another_mark_is_refused(capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit) as refused:
        main(["plan", HOUSE, "--decimal", "dot"])
    assert refused.value.code == 2
    assert "point" in capsys.readouterr().err
