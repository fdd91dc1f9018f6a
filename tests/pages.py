"""A served record and a browser, both of which can be killed; sockets to other machines blocked.

For the tests in a browser, and for those of robustness.
"""

from __future__ import annotations

import os
import signal
import socket
import subprocess
import sys
import time
import urllib.error
import urllib.request
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, BrowserContext, Page, Playwright, expect, sync_playwright

from ventwright.actions.record import entries_since, open_ledger
from ventwright.house import Note
from ventwright.wiring import fill_demo

CHROMIUM = Path("/usr/bin/chromium")
# Skipped with a word where there is no browser; never in continuous integration.
needs_chromium = pytest.mark.skipif(
    not CHROMIUM.exists() and not os.environ.get("CI"),
    reason="needs Debian's chromium: apt-get install chromium",
)
# Nothing but loopback has a name or an address for the browser.
FLAGS = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-background-networking",
    "--host-resolver-rules=MAP lan.test 127.0.0.1, MAP van.local 127.0.0.1, MAP * ~NOTFOUND, "
    "EXCLUDE 127.0.0.1",
]
SIZES = {"phone": (360, 740), "desk": (1280, 800)}


def free_port() -> int:
    """A port that is free, and the next one too."""
    while True:
        with socket.create_server(("127.0.0.1", 0)) as found:
            port_number = int(found.getsockname()[1])
            try:
                socket.create_server(("127.0.0.1", port_number + 1)).close()
            except (OSError, OverflowError):
                continue
            return port_number


class Server:
    """The program serving a record, as a process of its own.

    `source` is where the package is taken from, for another edition of it.
    """

    def __init__(self, folder: Path, *options: str) -> None:
        self.url = f"sqlite:///{folder / 'record.db'}"
        self.data = folder / "data"
        self.source: Path | None = None
        self.port_number = free_port()
        self.address = f"http://127.0.0.1:{self.port_number}"
        self.options = options
        self.log = folder / "server.log"
        with open_ledger(self.url) as ledger:
            self.visit = fill_demo(ledger)
        self.process: subprocess.Popen[bytes] | None = None
        self.start()

    def start(self) -> None:
        words = ["serve", "--port", str(self.port_number), "--database", self.url, *self.options]
        with self.log.open("ab") as log:
            self.process = subprocess.Popen(
                [sys.executable, "-m", "ventwright", *words],
                stdout=log,
                stderr=log,
                env={
                    **os.environ,
                    "XDG_DATA_HOME": str(self.data),
                    **({"PYTHONPATH": str(self.source)} if self.source else {}),
                },
            )
        for _ in range(600):
            try:
                urllib.request.urlopen(f"{self.address}/pair").close()
                return
            except (urllib.error.URLError, OSError):
                assert self.process.poll() is None, self.log.read_text()
                time.sleep(0.1)
        raise AssertionError(f"no answer: {self.log.read_text()}")

    def kill(self) -> None:
        """No farewell: as if the machine had lost its power."""
        assert self.process is not None
        self.process.send_signal(signal.SIGKILL)
        self.process.wait()


class Phone:
    """A browser with storage of its own, in a process group that can be killed as a whole."""

    def __init__(self, playing: Playwright, folder: Path, *flags: str, home: Path | None = None):
        self.playing = playing
        self.folder = folder
        self.flags = flags
        self.environment = {**os.environ, **({"HOME": str(home)} if home else {})}
        self.start()

    def start(self) -> None:
        port_number = free_port()
        options = ["--headless=new", "--no-first-run", *FLAGS, *self.flags]
        options += [f"--user-data-dir={self.folder}", f"--remote-debugging-port={port_number}"]
        self.process = subprocess.Popen(
            [str(CHROMIUM), *options, "about:blank"],
            env=self.environment,
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


# Of a module: more than one folder of tests uses these, and only one may play at a time.
@pytest.fixture(scope="module")
def playing() -> Iterator[Playwright]:
    with sync_playwright() as playing:
        yield playing


@pytest.fixture(scope="module")
def browser(playing: Playwright) -> Iterator[Browser]:
    browser = playing.chromium.launch(executable_path=str(CHROMIUM), args=FLAGS)
    yield browser
    browser.close()


@pytest.fixture
def server(tmp_path: Path) -> Iterator[Server]:
    server = Server(tmp_path)
    yield server
    server.kill()


@pytest.fixture
def phone(playing: Playwright, tmp_path: Path) -> Iterator[Phone]:
    phone = Phone(playing, tmp_path / "profile")
    yield phone
    phone.kill()


@pytest.fixture
def open_page(browser: Browser) -> Iterator[Callable[..., Page]]:
    """Give a new phone or desk; what it asked other machines for is held against the test."""
    contexts: list[BrowserContext] = []
    strangers: list[str] = []
    faults: list[str] = []

    def note(url: str) -> None:
        if not url.startswith(("http://127.0.0.1:", "http://lan.test:", "blob:", "data:")):
            strangers.append(url)

    def new(size: str = "phone", *, locale: str = "en-GB", scheme: str = "light") -> Page:
        width, height = SIZES[size]
        context = browser.new_context(
            viewport={"width": width, "height": height},
            locale=locale,
            color_scheme=scheme,
            has_touch=size == "phone",
        )
        contexts.append(context)
        page = context.new_page()
        page.on("request", lambda request: note(request.url))
        page.on("pageerror", lambda fault: faults.append(str(fault)))
        return page

    yield new
    for context in contexts:
        context.close()
    assert not strangers
    assert not faults


def ready(page: Page, address: str) -> None:
    """Open a visit and wait until it has filled itself."""
    page.goto(address)
    page.wait_for_selector("html[data-ready=yes]")


def sent(page: Page) -> None:
    """Wait until nothing waits."""
    expect(page.locator("#outbox")).to_have_text("All sent", timeout=60_000)


def notes_in(server: Server, visit: str = "") -> list[str]:
    with open_ledger(server.url) as ledger:
        found = [e.entry.what for e in entries_since(ledger, visit or server.visit)]
    return [what.text for what in found if isinstance(what, Note)]
