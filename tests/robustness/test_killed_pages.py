"""Server and browser killed at random moments: nothing lost, nothing doubled, order kept.

A few rounds here; VENTWRIGHT_ROUNDS=100 runs the long form.
"""

from __future__ import annotations

import os
import random
import time

from tests.browser.thumbs import note
from tests.pages import Phone, Server, needs_chromium, notes_in, ready, sent

ROUNDS_COUNT = int(os.environ.get("VENTWRIGHT_ROUNDS", "8"))
SEED = 20260304


@needs_chromium
def test_server_and_browser_killed_midway(server: Server, phone: Phone) -> None:
    chance = random.Random(SEED)
    address = f"{server.address}/visits/{server.visit}"
    ready(phone.page, address)
    typed: list[str] = []

    def type_some(round_number: int, count: int) -> None:
        for _ in range(count):
            typed.append(f"round {round_number}, note {len(typed)}")
            note(phone.page, typed[-1])

    for round_number in range(ROUNDS_COUNT):
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
