"""Photograph the field page for the docs, in Debian's chromium, from the invented house.

``python tools/field_pictures.py`` writes ``docs/pictures/field_*.png``, each page on a phone and on
a desk, and in English and German formats of numbers wherever it shows any; ``--out`` writes
elsewhere.
Figures, not pixels, are what a picture is read for: it is looked at, not compared.
"""

from __future__ import annotations

import argparse
import math
import os
import subprocess
import sys
import tempfile
import time
import urllib.error
import urllib.request
from collections.abc import Callable
from dataclasses import dataclass, replace
from io import BytesIO
from pathlib import Path

from PIL import Image
from playwright.sync_api import Browser, Page, sync_playwright

from ventwright.actions.record import Ledger, add_entry, look_at_visit, open_ledger
from ventwright.house import Phase, entry_of
from ventwright.wiring import fill_demo

ROOT = Path(__file__).resolve().parent.parent
FOLDER = ROOT / "docs" / "pictures"
CHROMIUM = "/usr/bin/chromium"
DONE = "/visits/juniper-mesa-2026-02-11"


def _visit(page: Page, base: str, path: str = DONE, *, phase: str = "as_left") -> None:
    page.goto(base + path)
    page.wait_for_selector("html[data-ready=yes]")
    page.select_option("#phase", phase)


def houses(page: Page, base: str) -> None:
    """Houses, and the visits that changed last."""
    page.goto(base + "/")


def house(page: Page, base: str) -> None:
    """A house, and where a visit is begun."""
    _house(page, base)


def plan(page: Page, base: str) -> None:
    """The plan of a house: rooms, systems, terminals with their targets and bands."""
    _house(page, base)
    page.evaluate("document.querySelectorAll('#plan details').forEach((one) => (one.open = true))")
    _scroll(page, '[data-list$="terminals"]')


def form(page: Page, base: str) -> None:
    """A terminal's target and band being changed, with a mistake told at its field."""
    _house(page, base)
    page.click('[data-path="systems/hrv/terminals/s1"]')
    page.get_by_label("Target: design flow", exact=True).fill("44,5")
    page.get_by_label("Band: least", exact=True).fill("50")
    page.get_by_label("Band: most", exact=True).fill("46")
    page.click("dialog.part button.main")
    page.wait_for_selector("dialog.part .wrong")


def _house(page: Page, base: str) -> None:
    page.goto(base + "/houses/juniper-mesa")
    page.wait_for_selector("html[data-ready=yes]")


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
    page.get_by_label("Unit of the samples").select_option("m/s")
    for text in ("2.31", "2.38", "2.25", "2.29", "2.36", "2.22", "2.30", "2.34"):
        page.fill("#sweep-sample", text)
        page.keyboard.press("Enter")
        page.wait_for_timeout(900)


def sign(page: Page, base: str) -> None:
    """A signature being drawn."""
    _visit(page, base)
    page.click('[data-form="signature"]')
    page.get_by_label("Name", exact=True).fill("A. Sample")
    pad = page.locator("#entry canvas")
    pad.scroll_into_view_if_needed()
    box = pad.bounding_box()
    assert box is not None
    wide, tall = box["width"], box["height"]
    page.mouse.move(box["x"] + 0.15 * wide, box["y"] + 0.6 * tall)
    page.mouse.down()
    for step in range(60):
        swing = 0.22 * tall * math.sin(step / 2.4) * (1.0 - step / 75)
        page.mouse.move(box["x"] + (0.15 + 0.011 * step) * wide, box["y"] + 0.55 * tall - swing)
    page.mouse.up()


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


def _scroll(page: Page, place: str) -> None:
    page.evaluate(
        "(place) => document.querySelector(place).scrollIntoView({ behavior: 'instant' })", place
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class View:
    """One page or a part of it; `lead` opens it. `has_figures` gives it two formats of numbers."""

    lead: Callable[[Page, str], None]
    has_figures: bool = True
    is_dark: bool = False
    sizes: tuple[str, ...] = ("phone", "desk")


SIZES = {"phone": (360, 740), "desk": (1280, 800)}
FORMATS = {"en": "en-US", "de": "de-DE"}
VIEWS = {
    "houses": View(lead=houses, has_figures=False),
    "house": View(lead=house, has_figures=False),
    "plan": View(lead=plan),
    "form": View(lead=form),
    "visit": View(lead=begin),
    "terminals": View(lead=terminals),
    "entry": View(lead=entry),
    "average": View(lead=average),
    "sign": View(lead=sign, has_figures=False),
    "waiting": View(lead=waiting, has_figures=False),
    "next": View(lead=next_step, is_dark=True),
    # On a desk it stands beside the work, and is in every other picture.
    "picture": View(lead=picture, is_dark=True, sizes=("phone",)),
    "pair": View(lead=pair, has_figures=False),
    "trust": View(lead=trust, has_figures=False),
}
COLOURS_COUNT = 256


def shoot(browser: Browser, base: str, out: Path, *, only: str = "") -> None:
    """Take every picture.

    Parameters
    ----------
    browser
        Chromium.
    base
        Where the pages are served.
    out
        Folder for the pictures.
    only
        Name of one view; empty takes all.
    """
    out.mkdir(parents=True, exist_ok=True)
    for name, view in VIEWS.items():
        if only not in ("", name):
            continue
        for size in view.sizes:
            for language in FORMATS if view.has_figures else ("en",):
                path = out / f"field_{name}_{size}_{language}.png"
                _shoot_one(browser, base, path, view, size, language)
                print(f"wrote {path.name}: {path.stat().st_size // 1024} kB")


def _shoot_one(
    browser: Browser, base: str, path: Path, view: View, size: str, language: str
) -> None:
    width, height = SIZES[size]
    context = browser.new_context(
        viewport={"width": width, "height": height},
        color_scheme="dark" if view.is_dark else "light",
        locale=FORMATS[language],
    )
    page = context.new_page()
    view.lead(page, base)
    seen = Image.open(BytesIO(page.screenshot()))
    # A page is drawn in a few colours: a palette keeps its letters as they are at a third the size.
    seen.convert("RGB").quantize(COLOURS_COUNT, dither=Image.Dither.NONE).save(path, optimize=True)
    context.close()


def main() -> None:
    """Serve the invented house, photograph it, stop."""
    parser = argparse.ArgumentParser(description="Photograph the field page.")
    parser.add_argument("--out", type=Path, default=FOLDER, metavar="DIR")
    parser.add_argument("--only", default="", choices=["", *VIEWS], metavar="VIEW")
    options = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        url = f"sqlite:///{Path(folder, 'record.db')}"
        with open_ledger(url) as ledger:
            fresh = fill_demo(ledger)
            _read_as_found(ledger, fresh)
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
                shoot(browser, base, options.out, only=options.only)
                browser.close()
        finally:
            server.kill()
            server.wait()


def _read_as_found(ledger: Ledger, fresh: str) -> None:
    """Give the fresh visit the other one's first readings, so that there is a next step."""
    for one in look_at_visit(ledger, DONE.rpartition("/")[2]).visit.readings:
        if one.phase is Phase.AS_FOUND:
            add_entry(ledger, fresh, entry_of(replace(one, id=f"again-{one.id}", supersedes=None)))


def _wait(base: str) -> None:
    for _ in range(300):
        try:
            urllib.request.urlopen(f"{base}/pair").close()
            return
        except (urllib.error.URLError, OSError):
            time.sleep(0.1)


if __name__ == "__main__":
    main()
