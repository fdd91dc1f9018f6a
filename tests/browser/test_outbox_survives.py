"""What keeps entries where answers are lost, tabs are two and files are carried.

Server and browser killed at random moments: `tests/robustness/test_killed_pages.py`.
"""

from __future__ import annotations

from pathlib import Path

from playwright.sync_api import Playwright, expect

from tests.browser.thumbs import note
from tests.pages import Phone, Server, notes_in, ready, sent


def test_answer_that_was_lost_doubles_nothing(server: Server, phone: Phone) -> None:
    """The record has it, the phone does not know: it sends again, and is acknowledged."""
    ready(phone.page, f"{server.address}/visits/{server.visit}")
    lost: list[str] = []

    def lose_the_answer(route: object) -> None:
        if len(lost) < 3:
            answer = route.fetch()  # type: ignore[attr-defined]
            lost.append(answer.text())
            route.abort()  # type: ignore[attr-defined]
        else:
            route.continue_()  # type: ignore[attr-defined]

    phone.page.route("**/entries", lose_the_answer)
    note(phone.page, "said once")
    note(phone.page, "said after")
    sent(phone.page)
    assert len(lost) == 3
    assert '"already"' in lost[1]
    assert notes_in(server) == ["said once", "said after"]


def test_two_tabs_of_one_phone_keep_the_order(server: Server, phone: Phone) -> None:
    address = f"{server.address}/visits/{server.visit}"
    one, other = phone.page, phone.browser.contexts[0].new_page()
    ready(one, address)
    ready(other, address)
    server.kill()
    typed = [f"note {i}" for i in range(6)]
    for i, text in enumerate(typed):
        note((one, other)[i % 2], text)
    server.start()
    sent(one)
    sent(other)
    assert notes_in(server) == typed


def test_what_waits_can_be_carried_in_a_file(
    server: Server, phone: Phone, playing: Playwright, tmp_path: Path
) -> None:
    address = f"{server.address}/visits/{server.visit}"
    ready(phone.page, address)
    server.kill()
    note(phone.page, "carried by hand")
    with phone.page.expect_download() as kept:
        phone.page.click("#save-queue")
    file = tmp_path / "waiting.json"
    kept.value.save_as(file)
    server.start()
    sent(phone.page)
    other = Phone(playing, tmp_path / "other")
    try:
        ready(other.page, address)
        other.page.set_input_files("#queue-file", file)
        sent(other.page)
    finally:
        other.kill()
    assert notes_in(server) == ["carried by hand"]


def test_page_warns_before_it_is_left_while_entries_wait(server: Server, phone: Phone) -> None:
    ready(phone.page, f"{server.address}/visits/{server.visit}")
    server.kill()
    note(phone.page, "not sent yet")
    asked: list[str] = []

    def stay(dialog: object) -> None:
        asked.append(dialog.type)  # type: ignore[attr-defined]
        dialog.accept()  # type: ignore[attr-defined]

    phone.page.on("dialog", stay)
    phone.page.close(run_before_unload=True)
    phone.browser.contexts[0].new_page()
    assert asked == ["beforeunload"]
    server.start()


def test_storage_that_does_not_answer_is_told(server: Server, phone: Phone) -> None:
    """Instead of a page that is silent for ever and could keep nothing."""
    phone.page.add_init_script("IDBRequest.prototype.addEventListener = () => {}")
    phone.page.goto(f"{server.address}/visits/{server.visit}")
    expect(phone.page.locator("#outbox")).to_have_text("No storage", timeout=15_000)
    expect(phone.page.get_by_text("nothing typed here could be kept")).to_be_visible()
