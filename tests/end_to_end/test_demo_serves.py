"""The demonstration: findings and a report, then the field page where somebody can end it."""

from __future__ import annotations

import os
import pty
import shutil
import subprocess
import sys
import urllib.request
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]


def test_demo_prints_findings_and_address_and_serves_the_invented_house(tmp_path: Path) -> None:
    process = subprocess.Popen(
        [sys.executable, "-m", "ventwright", "demo", "--out", "shown", "--port", "0"],
        cwd=tmp_path,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    )
    assert process.stdout is not None
    lines = []
    for line in process.stdout:
        lines.append(line)
        if line.startswith("Ctrl-C"):
            break
    try:
        text = "".join(lines)
        assert text.index("Look at") < text.index("Pages: http://127.0.0.1:")
        assert (tmp_path / "shown" / "report.pdf").read_bytes().startswith(b"%PDF-")
        address = text.partition("A visit to try: ")[2].split()[0]
        with urllib.request.urlopen(address) as answer:
            assert b'id="terminals"' in answer.read()
        house = address.rpartition("/visits/")[0] + "/houses/juniper-mesa"
        with urllib.request.urlopen(house) as answer:
            assert b"Juniper Mesa" in answer.read()
    finally:
        process.terminate()
        out, trouble = process.communicate()
    assert "Traceback" not in out + trouble


def made(folder: Path, *, is_terminal: bool, is_ci: bool) -> str:
    """Words that `make demo` gives the program, in a place where it is only asked for them."""
    program = folder / "ventwright"
    program.write_text('#!/bin/sh\necho "called: $*"\n', encoding="utf-8")
    program.chmod(0o755)
    ready = folder / "ready"
    ready.touch()
    environment = {name: value for name, value in os.environ.items() if name != "CI"}
    words = ["make", "--no-print-directory", f"BIN={folder}", f"READY={ready}", "demo"]
    reader, writer = pty.openpty() if is_terminal else os.pipe()
    if is_ci:
        environment["CI"] = "1"
    subprocess.run(words, check=True, cwd=ROOT, stdout=writer, env=environment)
    told = os.read(reader, 1000).decode()
    os.close(writer)
    os.close(reader)
    return told.strip()


@pytest.mark.skipif(shutil.which("make") is None, reason="needs make")
def test_make_demo_serves_at_a_terminal_and_ends_anywhere_else(tmp_path: Path) -> None:
    assert made(tmp_path, is_terminal=True, is_ci=False) == "called: demo"
    assert made(tmp_path, is_terminal=False, is_ci=False) == "called: demo --once"
    assert made(tmp_path, is_terminal=True, is_ci=True) == "called: demo --once"
