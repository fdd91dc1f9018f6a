"""The step with the number on the display, as a phone shows it to the hand at the damper."""

from __future__ import annotations

import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

from playwright.sync_api import Page

from tests.browser.conftest import Server, ready
from tests.browser.test_pages_for_everyone import check
from tests.end_to_end.test_next_names_displays import write_files


def test_a_step_with_its_display_reads_well_on_a_phone(
    server: Server, open_page: Callable[..., Page], tmp_path: Path
) -> None:
    folder = tmp_path / "files"
    folder.mkdir()
    files = map(str, write_files(folder))
    taken_in = subprocess.run(
        [sys.executable, "-m", "ventwright", "import", "--record", server.url, *files],
        capture_output=True,
        text=True,
        check=False,
    )
    assert taken_in.returncode == 0, taken_in.stderr
    page = open_page("phone")
    ready(page, f"{server.address}/visits/v")
    step = page.locator('[data-section="next-step"]')
    step.scroll_into_view_if_needed()
    said = step.inner_text()
    assert "Turn the ring of x1 Bath until the flow box there shows −" in said
    assert "That is a flow of" in said
    check(page, 360)
    # All of the step with its buttons on one screen: judgement, no source.
    box = step.bounding_box()
    assert box is not None
    assert box["height"] < 0.4 * 740
