"""Server and browser killed at random moments: nothing lost, nothing doubled, order kept.

A few rounds here; VENTWRIGHT_ROUNDS=100 runs the long form.
"""

from __future__ import annotations

import os
import random
import signal
import subprocess
import time
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Page, Playwright

from tests.browser.conftest import CHROMIUM, FLAGS, Server, free_port, ready, sent
from tests.browser.thumbs import note
from ventwright.actions.record import entries_since, open_ledger
from ventwright.house import Note

ROUNDS = int(os.environ.get("VENTWRIGHT_ROUNDS", "6"))


class Phone:
    """A browser with storage of its own, in a process group that can be killed as a whole."""

    def __init__(self, playing: Playwright, folder: Path) -> None:
        self.playing = playing
        self.folder = folder
        self.start()

    def start(self) -> None:
        port_number = free_port()
        options = ["--headless=new", "--no-first-run", *FLAGS, f"--user-data-dir={self.folder}"]
        self.process = subprocess.Popen(
            [str(CHROMIUM), *options, f"--remote-debugging-port={port_number}", "about:blank"],
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
            start_new_session=True,
        )
        address = f"http://127.0.0.1:{port_number}"
        for attempt in range(100):
            try:
                self.browser = self.playing.chromium.connect_over_cdp(address)
                break
            except Exception:
                # Not listening yet; the last attempt says why.
                if attempt == 99:
                    raise
                time.sleep(0.1)
        self.page: Page = self.browser.contexts[0].pages[0]

    def kill(self) -> None:
        os.killpg(self.process.pid, signal.SIGKILL)
        self.process.wait()


@pytest.fixture
def phone(playing: Playwright, tmp_path: Path) -> Iterator[Phone]:
    phone = Phone(playing, tmp_path / "profile")
    yield phone
    phone.kill()


def notes_in(server: Server) -> list[str]:
    with open_ledger(server.url) as ledger:
        found = [e.entry.what for e in entries_since(ledger, server.visit)]
    return [what.text for what in found if isinstance(what, Note)]


def test_server_and_browser_killed_midway(server: Server, phone: Phone) -> None:
    chance = random.Random(20260304)
    address = f"{server.address}/visits/{server.visit}"
    ready(phone.page, address)
    typed: list[str] = []

    def type_some(round_number: int, count: int) -> None:
        for _ in range(count):
            typed.append(f"round {round_number}, note {len(typed)}")
            note(phone.page, typed[-1])

    for round_number in range(ROUNDS):
        type_some(round_number, chance.randint(0, 2))
        time.sleep(chance.uniform(0.0, 0.3))
        server.kill()
        type_some(round_number, chance.randint(1, 3))
        if chance.random() < 0.6:
            phone.kill()
            if chance.random() < 0.5:
                server.start()
            phone.start()
            if server.process is not None and server.process.poll() is not None:
                server.start()
            ready(phone.page, address)
        else:
            server.start()
        type_some(round_number, 1)
    sent(phone.page)
    assert notes_in(server) == typed


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
