"""Corrections that keep what was there, notes, and habits that a phone remembers of its person."""

from __future__ import annotations

from collections.abc import Callable
from io import BytesIO

from PIL import Image
from playwright.sync_api import Page, expect
from pypdf import PdfReader

from tests.browser.test_pages_for_everyone import check
from tests.browser.thumbs import note, shut
from tests.pages import Server, ready, sent
from ventwright.actions.record import (
    entries_since,
    look_at_visit,
    open_ledger,
    read_picture,
)
from ventwright.house import Reading, Withdrawal

DONE_VISIT = "juniper-mesa-2026-02-11"
S3 = '[data-group="terminals"] [data-station="terminal:s3"]'


def type_reading(page: Page, text: str) -> None:
    page.click(S3)
    page.keyboard.type(text)
    page.click("#entry-save")
    shut(page)


def test_correction_supersedes_and_both_are_kept(
    server: Server, open_page: Callable[..., Page]
) -> None:
    page = open_page("phone")
    ready(page, f"{server.address}/visits/{DONE_VISIT}")
    with open_ledger(server.url) as ledger:
        before = len(entries_since(ledger, DONE_VISIT))
    page.select_option("#phase", "interim")
    type_reading(page, "190")
    sent(page)
    expect(page.locator(S3)).to_contain_text("±")
    page.click(S3)
    page.click("#entry-past button:text('Correct')")
    digits = page.locator("#entry-fields input[inputmode=decimal]:visible").first
    # What was typed stands there to be mended, not to be typed anew.
    expect(digits).to_have_value("190")
    digits.fill("180")
    page.click("#entry-save")
    shut(page)
    sent(page)
    with open_ledger(server.url) as ledger:
        kept = [one.entry.what for one in entries_since(ledger, DONE_VISIT, after_number=before)]
        standing = look_at_visit(ledger, DONE_VISIT).visit.readings
    first, second = kept
    assert isinstance(first, Reading)
    assert isinstance(second, Reading)
    assert second.supersedes == first.id
    assert [r.typed[0].text.split()[0] for r in (first, second)] == ["190", "180"]
    # Both are in the visit; the superseded one is out of force.
    assert {first.id, second.id} <= {r.id for r in standing}


def test_undo_adds_to_the_record_and_takes_nothing_away(
    server: Server, open_page: Callable[..., Page]
) -> None:
    page = open_page("phone")
    ready(page, f"{server.address}/visits/{DONE_VISIT}")
    with open_ledger(server.url) as ledger:
        before = len(entries_since(ledger, DONE_VISIT))
    page.select_option("#phase", "interim")
    type_reading(page, "190")
    page.click("#toast button")
    expect(page.locator("#toast")).to_contain_text("out of force")
    sent(page)
    expect(page.locator(S3).locator(".figure")).to_have_text("–", timeout=20_000)
    with open_ledger(server.url) as ledger:
        added = [one.entry.what for one in entries_since(ledger, DONE_VISIT, after_number=before)]
    reading, undone = added
    assert isinstance(reading, Reading)
    assert isinstance(undone, Withdrawal)
    assert (undone.entry, undone.reason) == (reading.id, "undone")


def test_note_is_read_by_whoever_opens_the_visit(
    server: Server, open_page: Callable[..., Page]
) -> None:
    one = open_page("phone")
    ready(one, f"{server.address}/visits/{server.visit}")
    note(one, "loft hatch sticks")
    sent(one)
    other = open_page("desk")
    ready(other, f"{server.address}/visits/{server.visit}")
    other.click("#conditions > details:last-of-type > summary")
    expect(other.locator("#conditions")).to_contain_text("loft hatch sticks")


def test_units_and_decimals_are_remembered_from_visit_to_visit(
    server: Server, open_page: Callable[..., Page]
) -> None:
    page = open_page("phone", locale="en-GB")
    ready(page, f"{server.address}/visits/{DONE_VISIT}")
    page.select_option("#preference", "si_ls")
    page.select_option("#number_style", "decimal_comma")
    page.fill("#by", "A. Sample")
    page.locator("#by").blur()
    ready(page, f"{server.address}/visits/{server.visit}")
    assert page.input_value("#preference") == "si_ls"
    assert page.input_value("#number_style") == "decimal_comma"
    assert page.input_value("#by") == "A. Sample"
    # The house page reads by the same habits.
    ready(page, f"{server.address}/houses/juniper-mesa")
    s1 = page.locator('[data-path="systems/hrv/terminals/s1"]')
    expect(s1).to_contain_text("12,3 L/s")


def test_unit_of_a_field_is_remembered_where_it_was_chosen(
    server: Server, open_page: Callable[..., Page]
) -> None:
    page = open_page("phone", locale="de-DE")
    ready(page, f"{server.address}/visits/{server.visit}")
    page.click('[data-form="conditions"]')
    page.get_by_label("Unit of Wind", exact=True).select_option("mph")
    page.get_by_label("Wind", exact=True).fill("4")
    page.click("#entry-save")
    shut(page)
    sent(page)
    visit = {"id": "next-day", "technician": "A.", "at": "2026-03-05T09:20:00-07:00"}
    page.request.post(f"{server.address}/api/houses/juniper-mesa/visits", data=visit)
    ready(page, f"{server.address}/visits/next-day")
    page.click('[data-form="conditions"]')
    expect(page.get_by_label("Unit of Wind", exact=True)).to_have_value("mph")


def test_signature_is_drawn_offline_kept_and_printed(
    server: Server, open_page: Callable[..., Page]
) -> None:
    page = open_page("phone")
    ready(page, f"{server.address}/visits/{DONE_VISIT}")
    server.kill()
    page.click('[data-form="signature"]')
    page.get_by_label("Name", exact=True).fill("A. Reed")
    page.get_by_label("Signs as", exact=True).select_option("owner")
    pad = page.locator("#entry canvas")
    pad.scroll_into_view_if_needed()
    check(page, 360)
    box = pad.bounding_box()
    assert box is not None
    page.mouse.move(box["x"] + 30, box["y"] + 60)
    page.mouse.down()
    for step in range(12):
        page.mouse.move(box["x"] + 30 + 18 * step, box["y"] + 60 + (-1) ** step * 20)
    page.mouse.up()
    page.click("#entry-save")
    shut(page)
    expect(page.locator("#outbox")).to_have_text("1 waiting")
    expect(page.locator("#waiting")).to_contain_text("Signature of A. Reed")
    server.start()
    sent(page)
    with open_ledger(server.url) as ledger:
        (signature,) = [
            one
            for one in look_at_visit(ledger, DONE_VISIT).visit.signatures
            if one.name == "A. Reed"
        ]
        assert signature.role.value == "owner"
        assert signature.signed_at is not None
        picture, media_type = read_picture(ledger, signature.picture_sha256 or "")
    assert media_type == "image/png"
    drawn = Image.open(BytesIO(picture)).convert("L")
    ink = sum(drawn.histogram()[:128])
    assert 1_000 < ink < 0.2 * drawn.width * drawn.height
    page.click("#issue")
    link = page.locator("#issued-report")
    expect(link).to_contain_text("report 1", timeout=90_000)
    content = page.request.get(f"{server.address}{link.get_attribute('href')}").body()
    pictures = [one.image for leaf in PdfReader(BytesIO(content)).pages for one in leaf.images]
    assert any(one is not None and one.size == drawn.size for one in pictures)


def test_doubt_speaks_in_the_units_of_whoever_reads(
    server: Server, open_page: Callable[..., Page]
) -> None:
    page = open_page("phone", locale="en-US")
    ready(page, f"{server.address}/visits/{DONE_VISIT}")
    page.select_option("#phase", "interim")
    type_reading(page, "20")
    sent(page)
    station = page.locator(S3)
    expect(station).to_contain_text("fpm")
    expect(station).not_to_contain_text("m/s")
