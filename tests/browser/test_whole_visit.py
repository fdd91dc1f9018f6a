"""A whole visit by thumb, from the first reading to the issued report, at two sizes."""

from __future__ import annotations

import json
from collections.abc import Callable
from io import BytesIO

import pytest
from playwright.sync_api import Page, expect
from pypdf import PdfReader

from tests.browser.conftest import Server, sent
from tests.browser.thumbs import read_again, read_first, shut
from ventwright.actions.record import look_at_visit, open_ledger

SUPPLY = {"s1": "250", "s2": "166", "s3": "180", "s4": "262", "s5": "192"}
EXTRACT = {"x1": "3.6", "x2": "3.1", "x3": "2.4", "x4": "1.4"}
STREAMS = {"ODA": ("2.8", "62"), "SUP": ("17.0", "22"), "ETA": ("21.0", "27"), "EHA": ("7.0", "70")}


def begin(page: Page, server: Server) -> str:
    page.goto(f"{server.address}/houses/juniper-mesa")
    page.fill("#technician", "A. Sample")
    page.click("text=Begin >> nth=-1")
    page.wait_for_url("**/visits/*")
    page.wait_for_selector("html[data-ready=yes]")
    page.select_option("#preference", "ip")
    return page.url.rpartition("/")[2]


def look_around(page: Page) -> None:
    page.click('[data-form="conditions"]')
    page.get_by_label("Outdoor temperature", exact=True).fill("27")
    page.get_by_label("Windows shut", exact=True).select_option("true")
    page.click("#entry-save")
    shut(page)
    page.click("#walk summary")
    page.click("#walk-filters-good")
    page.click("#walk-condensate_drain-fault")
    page.get_by_label("Note", exact=True).fill("trap was dry")
    page.click("#entry-save")
    shut(page)
    expect(page.locator("#walk-filters-good")).to_have_attribute("aria-pressed", "true")
    expect(page.locator("#walk-condensate_drain-fault")).to_have_attribute("aria-pressed", "true")


def measure(page: Page, phase: str) -> None:
    page.select_option("#phase", phase)
    is_first = phase == "as_found"
    for stream, speed in (("SUP", "427"), ("ETA", "422")):
        if is_first and stream == "SUP":
            read_first(
                page, stream, "unit", "sweep",
                instrument="probe", Velocity=speed, **{"Duct, inside diameter": "6"},
            )  # fmt: skip
        else:
            assert read_again(page, stream, "unit", speed) <= 3
    for i, (terminal, speed) in enumerate(SUPPLY.items()):
        if is_first and i == 0:
            read_first(
                page, f"terminal:{terminal}", "terminals", "vane",
                instrument="vane", Velocity=speed, **{"Area of cone or face": "12.57"},
            )  # fmt: skip
        else:
            assert read_again(page, f"terminal:{terminal}", "terminals", speed) <= 3
    for terminal, drop in EXTRACT.items():
        if is_first:
            read_first(
                page, f"terminal:{terminal}", "terminals", "flow_box",
                instrument="box", **{"Pressure drop": drop, "Opening of the box": "12"},
            )  # fmt: skip
        else:
            assert read_again(page, f"terminal:{terminal}", "terminals", drop) <= 3


def measure_air(page: Page) -> None:
    for i, (stream, (temperature, humidity)) in enumerate(STREAMS.items()):
        fahrenheit = f"{float(temperature) * 1.8 + 32:.1f}"
        if i == 0:
            read_first(
                page, stream, "air", "air_state",
                instrument="hygro", Temperature=fahrenheit, **{"Relative humidity": humidity},
            )  # fmt: skip
        else:
            assert read_again(page, stream, "air", fahrenheit, humidity) <= 3
    read_first(
        page, "surface:window-bed", "surfaces", "surface_temperature",
        instrument="contact", Temperature="50.6",
    )  # fmt: skip


def leave(page: Page) -> None:
    page.click('[data-form="final_setting"]')
    page.get_by_label("Terminal, branch or fan", exact=True).select_option("s1")
    page.get_by_label("Turns open", exact=True).fill("3.5")
    page.click("#entry-save")
    shut(page)
    page.click('[data-form="signature"]')
    page.get_by_label("Name", exact=True).fill("A. Sample")
    page.click("#entry-save")
    shut(page)


@pytest.mark.parametrize("size", ["phone", "desk"])
def test_from_first_reading_to_issued_report(
    size: str, server: Server, open_page: Callable[..., Page]
) -> None:
    page = open_page(size)
    visit_id = begin(page, server)
    look_around(page)
    measure(page, "as_found")
    sent(page)
    # The flow, its uncertainty and the band stand at the station, and in the picture.
    station = page.locator('[data-group="terminals"] [data-station="terminal:s3"]')
    expect(station).to_contain_text("±")
    expect(station).to_contain_text("band")
    expect(page.locator("#pictures")).to_contain_text("s3 West bedroom")
    measure(page, "as_left")
    measure_air(page)
    leave(page)
    sent(page)
    assert page.evaluate("document.documentElement.scrollWidth") <= page.viewport_size["width"]
    page.click("#issue")
    link = page.locator("#issued-report")
    expect(link).to_contain_text("report 1", timeout=60_000)
    content = page.request.get(f"{server.address}{link.get_attribute('href')}").body()
    snapshot = attached_snapshot(content)
    readings = snapshot["visit"]["readings"]
    assert len(readings) == 2 * (2 + len(SUPPLY) + len(EXTRACT)) + len(STREAMS) + 1
    assert [r["phase"] for r in readings[:11]] == ["as_found"] * 11
    with open_ledger(server.url) as ledger:
        seen = look_at_visit(ledger, visit_id)
    assert [r.id for r in seen.visit.readings] == [r["id"] for r in readings]
    assert seen.visit.signatures[0].name == "A. Sample"
    assert not seen.problems


def attached_snapshot(content: bytes) -> dict[str, dict[str, list[dict[str, str]]]]:
    attachments = PdfReader(BytesIO(content)).attachments
    (name,) = [n for n in attachments if n.endswith(".json")]
    found: dict[str, dict[str, list[dict[str, str]]]] = json.loads(attachments[name][0])
    return found
