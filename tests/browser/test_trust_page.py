"""The page that explains how to trust the serving machine fits, and can be used by everyone."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Page, expect

from tests.browser.test_pages_for_everyone import check
from tests.pages import Server


@pytest.fixture
def server(tmp_path: Path) -> Iterator[Server]:
    server = Server(tmp_path, "--lan", "--https", "--address", "van.local")
    yield server
    server.kill()


@pytest.mark.parametrize(("size", "width"), [("phone", 360), ("desk", 1280)])
@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_trust_page_fits(
    size: str, width: int, scheme: str, server: Server, open_page: Callable[..., Page]
) -> None:
    page = open_page(size, scheme=scheme)
    page.goto(f"{server.address}/trust")
    for summary in page.locator("details > summary").all():
        summary.click()
    check(page, width)
    shown = page.locator(".fingerprint").inner_text().split()
    assert len(shown) == 32
    printed = server.log.read_text()
    assert " ".join(printed.partition("to compare:")[2].split()[:32]) == " ".join(shown)
    with page.expect_download() as given:
        page.click("text=Get the certificate")
    folder = server.data / "ventwright" / "authority"
    kept = (folder / "ventwright-authority.crt").read_bytes()
    assert given.value.suggested_filename == "ventwright-authority.crt"
    assert Path(given.value.path()).read_bytes() == kept
    expect(page.locator("h1")).to_have_text("Trust this machine")
