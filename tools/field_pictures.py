"""Photograph the field page for the docs, in Debian's chromium, from the invented house.

``python tools/field_pictures.py`` writes ``docs/pictures/field_*.png``; ``--out`` writes elsewhere.
Figures, not pixels, are what a picture is read for: it is looked at, not compared.
"""

from __future__ import annotations

import argparse
import os
import subprocess
import sys
import tempfile
import time
import urllib.error
import urllib.request
from collections.abc import Callable
from pathlib import Path

from playwright.sync_api import Browser, Page, sync_playwright

from ventwright.actions.record import open_ledger
from ventwright.wiring import fill_demo

ROOT = Path(__file__).resolve().parent.parent
FOLDER = ROOT / "docs" / "pictures"
CHROMIUM = "/usr/bin/chromium"
DONE = "/visits/juniper-mesa-2026-02-11"
PHONE, DESK = (360, 740), (1280, 800)


def _visit(page: Page, base: str, path: str = DONE, *, phase: str = "as_left") -> None:
    page.goto(base + path)
    page.wait_for_selector("html[data-ready=yes]")
    page.select_option("#phase", phase)


def houses(page: Page, base: str) -> None:
    """Houses, and the visits that changed last."""
    page.goto(base + "/")


def house(page: Page, base: str) -> None:
    """A house, and where a visit is begun."""
    page.goto(base + "/houses/juniper-mesa")


def begin(page: Page, base: str) -> None:
    """The visit page from its top."""
    _visit(page, base)


def terminals(page: Page, base: str) -> None:
    """Readings at the terminals."""
    _visit(page, base)
    _scroll(page, "#terminals")


def entry(page: Page, base: str) -> None:
    """One reading being typed, in litres or cubic metres with a comma."""
    _visit(page, base)
    page.click('[data-group="terminals"] [data-station="terminal:s3"]')
    page.keyboard.type("181")


def average(page: Page, base: str) -> None:
    """A timed average of what a meter shows."""
    _visit(page, base)
    page.click('[data-group="unit"] [data-station="SUP"]')
    page.click("#entry .average >> nth=0")
    for text in ("2.31", "2.38", "2.25", "2.29", "2.36", "2.22", "2.30", "2.34"):
        page.fill("#sweep-sample", text)
        page.keyboard.press("Enter")
        page.wait_for_timeout(900)


def waiting(page: Page, base: str) -> None:
    """Entries that wait while the server is away."""
    _visit(page, base, phase="interim")
    page.route("**/entries", lambda route: route.abort())
    for station, digits in (("s1", "262"), ("s2", "171")):
        page.click(f'[data-group="terminals"] [data-station="terminal:{station}"]')
        page.keyboard.type(digits)
        page.click("#entry-save")
        page.wait_for_selector("#entry", state="hidden")
    page.evaluate("document.getElementById('toast').replaceChildren()")
    page.evaluate("scrollTo({ top: 0, behavior: 'instant' })")


def next_step(page: Page, base: str) -> None:
    """What to do next."""
    _visit(page, base, "/visits/try-it", phase="as_found")
    _scroll(page, "#next")


def picture(page: Page, base: str) -> None:
    """The whole house."""
    _visit(page, base)
    _scroll(page, "#house")


def pair(page: Page, base: str) -> None:
    """All that an unpaired device sees."""
    page.goto(base + "/pair")


def trust(page: Page, base: str) -> None:
    """How a phone comes to trust the serving machine."""
    page.goto(base + "/trust")


def desk(page: Page, base: str) -> None:
    """The visit on a wide screen."""
    _visit(page, base)


def _scroll(page: Page, place: str) -> None:
    page.evaluate(
        "(place) => document.querySelector(place).scrollIntoView({ behavior: 'instant' })", place
    )


PICTURES: dict[str, tuple[Callable[[Page, str], None], tuple[int, int], str, str]] = {
    "field_houses": (houses, PHONE, "light", "en-GB"),
    "field_house": (house, PHONE, "light", "en-GB"),
    "field_visit": (begin, PHONE, "light", "en-US"),
    "field_terminals": (terminals, PHONE, "light", "de-DE"),
    "field_entry": (entry, PHONE, "light", "de-DE"),
    "field_average": (average, PHONE, "light", "en-GB"),
    "field_waiting": (waiting, PHONE, "light", "en-US"),
    "field_next": (next_step, PHONE, "dark", "en-US"),
    "field_picture": (picture, PHONE, "dark", "en-GB"),
    "field_pair": (pair, PHONE, "light", "en-GB"),
    "field_trust": (trust, PHONE, "light", "en-GB"),
    "field_desk": (desk, DESK, "light", "en-US"),
}


def shoot(browser: Browser, base: str, out: Path) -> None:
    """Take every picture.

    Parameters
    ----------
    browser
        Chromium.
    base
        Where the pages are served.
    out
        Folder for the pictures.
    """
    out.mkdir(parents=True, exist_ok=True)
    for name, (lead, (width, height), scheme, locale) in PICTURES.items():
        context = browser.new_context(
            viewport={"width": width, "height": height},
            color_scheme="dark" if scheme == "dark" else "light",
            locale=locale,
        )
        page = context.new_page()
        lead(page, base)
        path = out / f"{name}.png"
        page.screenshot(path=path)
        context.close()
        print(f"wrote {path.name}: {path.stat().st_size // 1024} kB")


def main() -> None:
    """Serve the invented house, photograph it, stop."""
    parser = argparse.ArgumentParser(description="Photograph the field page.")
    parser.add_argument("--out", type=Path, default=FOLDER, metavar="DIR")
    options = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        url = f"sqlite:///{Path(folder, 'record.db')}"
        with open_ledger(url) as ledger:
            fill_demo(ledger)
        words = [sys.executable, "-m", "ventwright", "serve", "--port", "0", "--database", url]
        words += ["--lan", "--https", "--address", "van.local"]
        environment = {**os.environ, "XDG_DATA_HOME": folder}
        server = subprocess.Popen(words, stdout=subprocess.PIPE, text=True, env=environment)
        assert server.stdout is not None
        base = server.stdout.readline().removeprefix("Pages: ").strip().rstrip("/")
        try:
            _wait(base)
            with sync_playwright() as playing:
                browser = playing.chromium.launch(
                    executable_path=CHROMIUM, args=["--no-sandbox", "--disable-gpu"]
                )
                shoot(browser, base, options.out)
                browser.close()
        finally:
            server.kill()
            server.wait()


def _wait(base: str) -> None:
    for _ in range(300):
        try:
            urllib.request.urlopen(f"{base}/pair").close()
            return
        except (urllib.error.URLError, OSError):
            time.sleep(0.1)


if __name__ == "__main__":
    main()
