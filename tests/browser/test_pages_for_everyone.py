"""Every page at every size: no sideways scroll, targets large enough, no finding of axe-core."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Page, expect

from tests.browser.conftest import Server, ready, sent
from tests.browser.thumbs import note, shut

AXE = (Path(__file__).parent / "vendor" / "axe.min.js").read_text(encoding="utf-8")
SERIOUS = {"serious", "critical"}
DONE_VISIT = "juniper-mesa-2026-02-11"
PAGES = ("/", "/houses/juniper-mesa", f"/visits/{DONE_VISIT}", "/pair")
SMALL = """() => [...document.querySelectorAll('button, a, select, input, summary')]
  .filter((e) => e.checkVisibility() && !e.classList.contains('skip'))
  .map((e) => [e.getBoundingClientRect(), e.textContent || e.id])
  .filter(([box]) => box.width && (box.height < 47.5 || box.width < 47.5))
  .map(([box, name]) => `${name.trim()} ${box.width}x${box.height}`)"""
CUT = """() => [...document.querySelectorAll('button, .figure, .said, .aside, b, h1, h2, label')]
  .filter((e) => e.checkVisibility() && e.scrollWidth > e.clientWidth + 1 && e.clientWidth)
  .map((e) => e.textContent.trim())"""


def findings(page: Page) -> list[str]:
    page.evaluate(AXE)
    found: dict[str, Any] = page.evaluate("() => axe.run(document)")
    return [
        f"{one['id']}: {node['target']} {node['failureSummary']}"
        for one in found["violations"]
        if one["impact"] in SERIOUS
        for node in one["nodes"]
    ]


def check(page: Page, width: int) -> None:
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    assert page.evaluate(SMALL) == []
    assert page.evaluate(CUT) == []
    assert findings(page) == []


@pytest.mark.parametrize(("size", "width"), [("phone", 360), ("desk", 1280)])
@pytest.mark.parametrize(("locale", "scheme"), [("en-US", "light"), ("de-DE", "dark")])
def test_pages_fit_and_can_be_used_by_everyone(
    size: str,
    width: int,
    locale: str,
    scheme: str,
    server: Server,
    open_page: Callable[..., Page],
) -> None:
    page = open_page(size, locale=locale, scheme=scheme)
    for path in PAGES:
        page.goto(f"{server.address}{path}")
        if path.startswith("/visits/"):
            page.wait_for_selector("html[data-ready=yes]")
            page.select_option("#phase", "as_left")
            for summary in page.locator("main details > summary").all():
                summary.click()
        check(page, width)
    # The dialog too, with a reading to correct.
    ready(page, f"{server.address}/visits/{DONE_VISIT}")
    page.click('[data-station="terminal:s3"]')
    check(page, width)


def test_keyboard_alone_takes_a_reading(server: Server, open_page: Callable[..., Page]) -> None:
    page = open_page("desk")
    ready(page, f"{server.address}/visits/{DONE_VISIT}")
    page.select_option("#phase", "as_left")
    station = page.locator('[data-group="terminals"] [data-station="terminal:s3"]')
    station.focus()
    page.keyboard.press("Enter")
    page.keyboard.type("181,5")
    page.keyboard.press("Enter")
    shut(page)
    sent(page)
    expect(page.locator("#toast")).to_contain_text("±")


def test_number_formats_follow_the_reader(server: Server, open_page: Callable[..., Page]) -> None:
    page = open_page("phone", locale="de-DE")
    ready(page, f"{server.address}/visits/{DONE_VISIT}")
    page.select_option("#phase", "as_left")
    s2 = page.locator('[data-group="terminals"] [data-station="terminal:s2"]')
    expect(s2).to_contain_text("25,8 ± 2,5 m³/h")
    page.select_option("#number_style", "decimal_point")
    expect(s2).to_contain_text("25.8 ± 2.5 m³/h")
    page.select_option("#preference", "ip")
    expect(s2).to_contain_text("15.2 ± 1.4 cfm")


def test_either_mark_is_a_decimal_mark_and_notes_do_not_matter(
    server: Server, open_page: Callable[..., Page]
) -> None:
    page = open_page("phone", locale="de-DE")
    ready(page, f"{server.address}/visits/{server.visit}")
    page.click('[data-form="conditions"]')
    page.get_by_label("Outdoor relative humidity", exact=True).fill("62.5")
    page.get_by_role("textbox", name="Note").fill("mild, dry, 1,5 days of sun")
    page.click("#entry-save")
    shut(page)
    sent(page)
    page.click("text=Conditions written down")
    expect(page.locator('[data-section="conditions"]')).to_contain_text("62")


def test_second_phone_sees_what_the_first_typed(
    server: Server, open_page: Callable[..., Page]
) -> None:
    one, other = open_page("phone"), open_page("phone")
    address = f"{server.address}/visits/{server.visit}"
    ready(one, address)
    ready(other, address)
    one.click("#walk summary")
    other.click("#walk summary")
    one.click("#walk-filters-good")
    expect(other.locator("#walk-filters-good")).to_have_attribute("aria-pressed", "true")
    note(other, "seen")
    sent(other)


def test_undo_takes_a_reading_out_of_force(server: Server, open_page: Callable[..., Page]) -> None:
    page = open_page("phone")
    ready(page, f"{server.address}/visits/{DONE_VISIT}")
    page.select_option("#phase", "interim")
    station = page.locator('[data-group="terminals"] [data-station="terminal:s3"]')
    station.click()
    page.keyboard.type("300")
    page.click("#entry-save")
    shut(page)
    expect(station).to_contain_text("±")
    page.click("#toast button")
    sent(page)
    expect(station.locator(".figure")).to_have_text("–")


def test_photo_is_kept_and_sent(
    server: Server, open_page: Callable[..., Page], tmp_path: Path
) -> None:
    page = open_page("phone")
    ready(page, f"{server.address}/visits/{server.visit}")
    photo = tmp_path / "trap.png"
    page.locator("h1").screenshot(path=photo)
    page.set_input_files("#camera", photo)
    sent(page)
    page.click("text=Walk-through, faults, notes and photos so far")
    expect(page.locator("#photos img")).to_have_count(1)


def test_only_a_paired_device_sees_anything(tmp_path: Path, open_page: Callable[..., Page]) -> None:
    server = Server(tmp_path, "--lan", "--address", "lan.test")
    try:
        token = server.log.read_text().partition("/pair#")[2].split()[0]
        there = f"http://lan.test:{server.port_number}"
        page = open_page("phone")
        page.goto(f"{there}/houses/juniper-mesa")
        expect(page.locator("h1")).to_have_text("Pair this device")
        assert page.request.get(f"{server.address}/api/devices").status == 200
        page.goto(f"{there}/pair#{token}")
        page.fill("#name", "test phone")
        # The code is out of the address at once: nobody reads it over a shoulder or in a history.
        assert "#" not in page.url
        page.click("text=Pair >> nth=-1")
        expect(page.locator("h1")).to_have_text("Houses")
        # Over plain http on a network: no crypto.randomUUID, no locks, no service worker.
        ready(page, f"{there}/visits/{server.visit}")
        assert page.evaluate("isSecureContext") is False
        assert page.evaluate("'serviceWorker' in navigator") is False
        note(page, "from the ladder")
        sent(page)
        devices = page.request.get(f"{server.address}/api/devices").json()
        assert [d["name"] for d in devices] == ["test phone"]
        revoked = page.request.post(f"{server.address}/api/devices/{devices[0]['id']}/revoke")
        assert revoked.status == 200
        note(page, "after being shut out")
        page.goto(f"{there}/")
        expect(page.locator("h1")).to_have_text("Pair this device")
    finally:
        server.kill()


def test_next_step_opens_where_it_is_typed(server: Server, open_page: Callable[..., Page]) -> None:
    page = open_page("phone")
    ready(page, f"{server.address}/visits/{server.visit}")
    page.select_option("#phase", "as_left")
    page.click("#steps button.main")
    expect(page.locator("#entry-title")).to_contain_text("s1")
    assert page.input_value("#phase") == "as_found"


def test_timed_average_says_how_long_to_go_on(
    server: Server, open_page: Callable[..., Page]
) -> None:
    page = open_page("phone")
    ready(page, f"{server.address}/visits/{server.visit}")
    page.click("#sweep")
    for sample in ("412", "420", "416", "421", "413", "417"):
        page.fill("#sweep-sample", sample)
        page.keyboard.press("Enter")
    expect(page.locator("dialog[open]")).to_contain_text("6 samples")
    check(page, 360)


def test_fault_is_noted_and_mended(server: Server, open_page: Callable[..., Page]) -> None:
    page = open_page("phone")
    ready(page, f"{server.address}/visits/{server.visit}")
    page.click('[data-form="fault"]')
    page.get_by_label("What is wrong", exact=True).fill("trap dry")
    page.click("#entry-save")
    shut(page)
    page.click("text=Mended: trap dry")
    sent(page)
    expect(page.locator("#faults button")).to_have_count(0)


def test_two_phones_correct_one_reading_and_a_person_decides(
    server: Server, open_page: Callable[..., Page]
) -> None:
    one, other = open_page("phone"), open_page("phone")
    for page, text in ((one, "190"), (other, "200")):
        ready(page, f"{server.address}/visits/{DONE_VISIT}")
        page.select_option("#phase", "as_left")
        page.click('[data-group="terminals"] [data-station="terminal:s3"]')
        page.click("#entry-past button:text('Correct')")
        page.locator("#entry-fields input[inputmode=decimal]:visible").first.fill(text)
    for page in (one, other):
        page.click("#entry-save")
        shut(page)
        sent(page)
    choices = one.locator(".contest button")
    expect(choices).to_have_count(2)
    check(one, 360)
    choices.filter(has_text="200").click()
    expect(one.locator(".contest")).to_have_count(0)
    expect(other.locator(".contest")).to_have_count(0)
