"""What a technician does on the field page, one gesture a function, counting touches."""

from __future__ import annotations

from playwright.sync_api import Page, expect


def shut(page: Page) -> None:
    """Wait until the dialog is gone: the entry is then kept on the phone."""
    expect(page.locator("#entry")).to_be_hidden()


def read_first(page: Page, station: str, group: str, method: str, **values: str) -> None:
    """Read at a station whose method and set-up nobody chose before."""
    page.click(f'[data-group="{group}"] [data-station="{station}"]')
    chosen = page.locator("#entry-method")
    if not chosen.is_visible():
        page.click("#entry-fields > details > summary >> nth=0")
    chosen.select_option(method)
    instrument = values.pop("instrument", "")
    if instrument:
        page.select_option("#entry-instrument", instrument)
    for label, text in values.items():
        box = page.get_by_label(label.replace("_", " "), exact=True)
        if not box.is_visible():
            page.click("#entry-fields .setup > summary")
        box.fill(text)
    page.click("#entry-save")
    shut(page)


def read_again(page: Page, station: str, group: str, *digits: str) -> int:
    """Read at a station as last time: returns how many touches it took beside the digits."""
    touches = 1
    page.click(f'[data-group="{group}"] [data-station="{station}"]')
    assert page.evaluate("document.activeElement.inputMode") == "decimal"
    page.keyboard.type(digits[0])
    for more in digits[1:]:
        # The key that goes on to the next field is one touch of a thumb.
        page.locator("#entry-fields input[inputmode=decimal]:visible").nth(1).fill(more)
        touches += 1
    page.click("#entry-save")
    shut(page)
    return touches + 1


def note(page: Page, text: str) -> None:
    page.click('[data-form="note"]')
    page.get_by_role("textbox", name="Note").fill(text)
    page.click("#entry-save")
    shut(page)
