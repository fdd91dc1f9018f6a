"""The tutorial, step by step as a reader does it: files saved, commands run, output compared."""

from __future__ import annotations

import re
import shlex
import subprocess
import sys
from pathlib import Path

import pytest

from tests.unit.climate.weather_files import content, epw, hours

DOCS = Path(__file__).parents[2] / "docs"
RUN_AS_THEY_STAND = ("choose_a_report", "judge_by_rules", "mend_a_file", "visit_on_paper")
"""Guides that need no more than the tutorial's own files."""
BLOCK = re.compile(
    r"(?:(?P<how>[Ss]ave\s+as|[Aa]dd\s+to)\s+`(?P<file>[^`]+)`:\n\n)?"
    r"```(?P<kind>\w+)\n(?P<text>.*?)```",
    re.DOTALL,
)


def run(command: str, folder: Path) -> tuple[str, int]:
    words = shlex.split(command)
    assert words[0] == "ventwright"
    done = subprocess.run(
        [sys.executable, "-m", "ventwright", *words[1:]],
        capture_output=True,
        text=True,
        encoding="utf-8",
        cwd=folder,
        check=False,
        env={"PATH": "/usr/bin:/bin", "PYTHONIOENCODING": "utf-8", "COLUMNS": "200"},
    )
    return done.stdout + done.stderr, done.returncode


def check_console(text: str, folder: Path) -> int:
    """Run each command and find its lines, in their order, in what it printed."""
    commands = 0
    for part in re.split(r"^\$ ", text, flags=re.MULTILINE)[1:]:
        command, *expected = part.strip().splitlines()
        printed, code = run(command, folder)
        shown = " ".join(printed.split())
        wanted = 0
        for line in expected:
            if line.startswith("exit code: "):
                wanted = int(line.removeprefix("exit code: "))
                continue
            assert line in shown, f"{command}\n{line}\nnot in\n{printed}"
            shown = shown[shown.index(line) + len(line) :]
        assert code == wanted, printed
        commands += 1
    return commands


def check_edit(text: str, folder: Path) -> None:
    name, change = text.strip().split(": ", 1)
    old, new = change.split(" -> ")
    path = folder / name
    content = path.read_text("utf-8")
    assert content.count(old) == 1
    path.write_text(content.replace(old, new), "utf-8")


def test_the_tutorial_does_what_it_says(tmp_path: Path) -> None:
    text = (DOCS / "tutorial" / "first_visit.md").read_text("utf-8")
    commands = saved = compared = 0
    for block in BLOCK.finditer(text):
        kind, content = block["kind"], block["text"]
        if kind == "toml":
            assert block["file"], "a file in the tutorial has no name"
            path = tmp_path / block["file"]
            is_more = block["how"].lower().startswith("add")
            before = path.read_text("utf-8") + "\n" if is_more else ""
            path.write_text(before + content, "utf-8")
            saved += 1
        elif kind == "console":
            commands += check_console(content, tmp_path)
        elif kind == "edit":
            check_edit(content, tmp_path)
        else:
            assert kind == "same"
            one, other = (tmp_path / name for name in content.split())
            assert one.read_bytes() == other.read_bytes()
            compared += 1
    assert (saved, compared) == (3, 1)
    assert commands >= 7


def files_of_the_tutorial(folder: Path, *, is_mended: bool) -> None:
    """Its house and visit, as a reader of the guides may have them."""
    text = (DOCS / "tutorial" / "first_visit.md").read_text("utf-8")
    for block in BLOCK.finditer(text):
        if block["kind"] == "toml" and block["file"]:
            path = folder / block["file"]
            is_more = block["how"].lower().startswith("add")
            before = path.read_text("utf-8") + "\n" if is_more else ""
            path.write_text(before + block["text"], "utf-8")
        elif block["kind"] == "edit" and is_mended:
            check_edit(block["text"], folder)


@pytest.mark.parametrize("name", RUN_AS_THEY_STAND)
def test_the_commands_of_the_guides_run(name: str, tmp_path: Path) -> None:
    page = DOCS / "how_to" / f"{name}.md"
    is_mended = page.stem != "mend_a_file"
    files_of_the_tutorial(tmp_path, is_mended=is_mended)
    (tmp_path / "place.epw").write_bytes(content(epw(hours())))
    for block in BLOCK.finditer(page.read_text("utf-8")):
        if block["kind"] != "console":
            continue
        text = block["text"] if is_mended else block["text"].rstrip() + "\nexit code: 2\n"
        assert check_console(text.replace("  →", "→"), tmp_path)
