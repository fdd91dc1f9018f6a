"""Figures stand out at 7:1 or more on every page, light and dark, at both sizes.

The ratio is that of WCAG 2.2 (relative luminance, contrast ratio; 1.4.6 asks for 7:1), of the
colours that the browser computed: the text's over everything that lies under its middle.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Page, expect

from tests.browser.thumbs import note
from tests.pages import Server, ready

DONE_VISIT = "juniper-mesa-2026-02-11"
LEAST_RATIO = 7.0

FIGURES = (Path(__file__).parent / "figures.js").read_text(encoding="utf-8")


def channels(paint: str) -> tuple[tuple[float, float, float], float]:
    """Channels from 0 to 1 and opacity of a computed colour, as browsers write sRGB."""
    if paint in ("none", "transparent"):
        return (0.0, 0.0, 0.0), 0.0
    assert paint.startswith("rgb"), paint
    numbers = [
        float(part) for part in paint.partition("(")[2].rstrip(")").replace(",", " ").split()
    ]
    red, green, blue = (number / 255 for number in numbers[:3])
    return (red, green, blue), numbers[3] if len(numbers) > 3 else 1.0


def over(
    paint: tuple[float, float, float], opacity: float, below: tuple[float, float, float]
) -> tuple[float, float, float]:
    red, green, blue = (p * opacity + b * (1 - opacity) for p, b in zip(paint, below, strict=True))
    return red, green, blue


def luminance(paint: tuple[float, float, float]) -> float:
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in paint]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(one: tuple[float, float, float], other: tuple[float, float, float]) -> float:
    light, dark = sorted((luminance(one), luminance(other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


def ratio(figure: dict[str, Any]) -> float:
    ground = None
    layers = []
    for layer in figure["under"]:
        paint, opacity = channels(layer["paint"])
        layers.append((paint, opacity * layer["alpha"]))
        if layers[-1][1] == 1.0:
            break
    else:
        raise AssertionError(f"nothing opaque lies under {figure}")
    ground = layers.pop()[0]
    for paint, opacity in reversed(layers):
        ground = over(paint, opacity, ground)
    ink, opacity = channels(figure["ink"])
    return contrast(over(ink, opacity, ground), ground)


def too_faint(page: Page, at_least: int) -> list[str]:
    figures = page.evaluate(FIGURES)
    assert len(figures) >= at_least, f"{len(figures)} figures on {page.url}"
    return [
        f"{ratio(one):.2f} {one['text'][:60]!r} {one['where']} {one['ink']} {one['under'][:2]}"
        for one in figures
        if ratio(one) < LEAST_RATIO
    ]


@pytest.mark.parametrize(
    ("one", "other", "expected"),
    [
        ("rgb(0, 0, 0)", "rgb(255, 255, 255)", 21.0),
        ("rgb(118, 118, 118)", "rgb(255, 255, 255)", 4.54),
    ],
)
def test_ratio_is_that_of_the_standard(one: str, other: str, expected: float) -> None:
    """Black on white is 21:1 by definition; that grey 118 gives 4.54:1 is from memory."""
    assert contrast(channels(one)[0], channels(other)[0]) == pytest.approx(expected, abs=0.005)


@pytest.fixture
def server(tmp_path: Path) -> Iterator[Server]:
    server = Server(tmp_path, "--lan", "--https", "--address", "van.local")
    yield server
    server.kill()


def unfold(page: Page) -> None:
    page.evaluate("document.querySelectorAll('details').forEach((one) => { one.open = true; })")


@pytest.mark.parametrize("size", ["phone", "desk"])
@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_figures_can_be_read_in_the_sun(
    size: str, scheme: str, server: Server, open_page: Callable[..., Page]
) -> None:
    page = open_page(size, scheme=scheme)
    faint = []
    for path, at_least in (("/", 2), ("/houses/juniper-mesa", 20), ("/trust", 8)):
        page.goto(f"{server.address}{path}")
        if path.startswith("/houses/"):
            page.wait_for_selector("html[data-ready=yes]")
        unfold(page)
        faint += too_faint(page, at_least)
    ready(page, f"{server.address}/visits/{DONE_VISIT}")
    for phase in ("as_left", "as_found"):
        page.select_option("#phase", phase)
        unfold(page)
        faint += too_faint(page, 100)
    page.click('[data-group="terminals"] [data-station="terminal:s3"]')
    page.keyboard.type("181")
    faint += too_faint(page, 3)
    page.click("#entry-close")
    # What waits, what was just kept, and how old it all is.
    server.kill()
    note(page, "note 1 of 1")
    expect(page.locator("#age")).to_contain_text("As of")
    faint += too_faint(page, 100)
    assert not faint, "\n".join(sorted(set(faint)))
