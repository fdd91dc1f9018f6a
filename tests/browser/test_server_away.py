"""The page opens while the server is away, where the connection is trusted; over https too."""

from __future__ import annotations

import base64
import hashlib
import shutil
import subprocess
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from cryptography.hazmat.primitives import serialization
from playwright.sync_api import Error, Page, Playwright, expect

import ventwright
from tests.browser.thumbs import note
from tests.pages import Phone, Server, notes_in, ready, sent
from ventwright.wiring.signing import read_signed

DONE_VISIT = "juniper-mesa-2026-02-11"
CERTUTIL = shutil.which("certutil")


def answered_for(page: Page) -> None:
    """Wait until a worker that is fully there answers for the page.

    Asked again and again from here: the policy of the pages lets no string be run in them.
    """
    for _ in range(300):
        if page.evaluate("navigator.serviceWorker.controller?.state === 'activated'"):
            return
        time.sleep(0.1)
    raise AssertionError("no worker answers for the page")


def kept_for_later(page: Page) -> None:
    """Wait until the worker answers for the page."""
    page.evaluate("navigator.serviceWorker.ready.then(() => true)")
    answered_for(page)


def only_newer_is_kept(page: Page, before: list[str]) -> None:
    """Wait until the new edition's files are kept and the old one's are gone."""
    for _ in range(100):
        now = page.evaluate("caches.keys()")
        if len(now) == 1 and now != before:
            break
        time.sleep(0.1)
    else:
        raise AssertionError(f"kept: {now}, before: {before}")
    answered_for(page)


def reload(page: Page) -> None:
    page.reload()
    page.wait_for_selector("html[data-ready=yes]")


def goes_on_while_the_server_is_away(page: Page, server: Server, base: str) -> None:
    """From a page that was opened once: reload, type, reload, and send once when it is back."""
    page.goto(f"{base}/visits/{DONE_VISIT}")
    page.wait_for_selector("html[data-ready=yes]")
    page.select_option("#phase", "as_left")
    assert page.evaluate("isSecureContext") is True
    kept_for_later(page)
    station = page.locator('[data-group="terminals"] [data-station="terminal:s2"]')
    figure, picture = station.text_content(), page.locator("#pictures").inner_html()
    assert figure is not None
    assert "±" in figure
    assert "<svg" in picture
    server.kill()
    reload(page)
    assert station.text_content() == figure
    assert page.locator("#pictures").inner_html() == picture
    expect(page.locator("#age")).to_contain_text("The server does not answer. As of")
    note(page, "typed while it was away")
    expect(page.locator("#outbox")).to_have_text("1 waiting")
    page.once("dialog", lambda dialog: dialog.accept())
    reload(page)
    expect(page.locator("#outbox")).to_have_text("1 waiting")
    server.start()
    sent(page)
    reload(page)
    expect(page.locator("#outbox")).to_have_text("All sent")
    assert notes_in(server, DONE_VISIT).count("typed while it was away") == 1


def test_page_opens_without_its_server(server: Server, open_page: Callable[..., Page]) -> None:
    page = open_page("phone")
    goes_on_while_the_server_is_away(page, server, server.address)


def test_a_visit_never_opened_here_says_so(server: Server, open_page: Callable[..., Page]) -> None:
    page = open_page("phone")
    ready(page, f"{server.address}/visits/{server.visit}")
    kept_for_later(page)
    server.kill()
    ready(page, f"{server.address}/visits/{DONE_VISIT}")
    expect(page.locator("#age")).to_contain_text("Nothing of this visit is on this phone yet")
    # Other pages are not pretended.
    with pytest.raises(Error, match=r"ERR_CONNECTION_REFUSED|ERR_FAILED"):
        page.goto(f"{server.address}/")


def test_worker_keeps_files_of_the_page_and_nothing_of_the_record(
    server: Server, open_page: Callable[..., Page]
) -> None:
    page = open_page("phone")
    ready(page, f"{server.address}/visits/{DONE_VISIT}")
    kept_for_later(page)
    note(page, "sent")
    sent(page)
    kept = page.evaluate(
        """async () => {
          const caches_ = await Promise.all((await caches.keys()).map((name) => caches.open(name)));
          const kept = (await Promise.all(caches_.map((one) => one.keys()))).flat();
          return kept.map((one) => new URL(one.url).pathname);
        }"""
    )
    assert "/shell" in kept
    assert not [path for path in kept if path != "/shell" and not path.startswith("/static/")]
    shell = page.request.get(f"{server.address}/shell").text()
    assert DONE_VISIT not in shell
    assert "Juniper" not in shell


def test_no_page_is_older_than_its_server(
    server: Server, open_page: Callable[..., Page], tmp_path: Path
) -> None:
    newer = tmp_path / "newer"
    ignored = shutil.ignore_patterns("__pycache__")
    shutil.copytree(Path(ventwright.__file__).parent, newer / "ventwright", ignore=ignored)
    file = newer / "ventwright" / "web" / "static" / "visit.js"
    marked = (
        file.read_text(encoding="utf-8") + '\ndocument.documentElement.dataset.edition = "2";\n'
    )
    file.write_text(marked, encoding="utf-8")
    page = open_page("phone")
    ready(page, f"{server.address}/visits/{server.visit}")
    kept_for_later(page)
    before = page.evaluate("caches.keys()")
    server.kill()
    server.source = newer
    server.start()
    # The open page goes on, and says that there is a newer one.
    note(page, "on the old page")
    sent(page)
    expect(page.locator("#age")).to_contain_text("This page was renewed on the server")
    assert page.evaluate("document.documentElement.dataset.edition") is None
    reload(page)
    assert page.evaluate("document.documentElement.dataset.edition") == "2"
    expect(page.locator("#age")).to_be_empty()
    only_newer_is_kept(page, before)
    server.kill()
    reload(page)
    assert page.evaluate("document.documentElement.dataset.edition") == "2"
    server.source = None
    server.start()
    reload(page)
    assert page.evaluate("document.documentElement.dataset.edition") is None


@pytest.fixture
def https_server(tmp_path: Path) -> Iterator[Server]:
    server = Server(tmp_path, "--lan", "--https", "--address", "van.local")
    yield server
    server.kill()


def authority_file(server: Server) -> Path:
    return server.data / "ventwright" / "authority" / "ventwright-authority.crt"


def trusting_home(server: Server, folder: Path) -> Path:
    """A home whose certificate store trusts the authority for servers, as by the trust page."""
    assert CERTUTIL is not None
    store = folder / ".pki" / "nssdb"
    store.mkdir(parents=True)
    words = [CERTUTIL, "-d", f"sql:{store}"]
    subprocess.run([*words, "-N", "--empty-password"], check=True)
    file = str(authority_file(server))
    subprocess.run([*words, "-A", "-n", "van", "-t", "C,,", "-i", file], check=True)
    return folder


def accepting_flag(server: Server) -> str:
    """A flag that makes Chromium accept the server's key alone, where no store can be written."""
    found = read_signed((authority_file(server).parent / "server.pem").read_bytes())
    assert found is not None
    public = found.key.public_key().public_bytes(
        serialization.Encoding.DER, serialization.PublicFormat.SubjectPublicKeyInfo
    )
    digest = base64.b64encode(hashlib.sha256(public).digest()).decode()
    return f"--ignore-certificate-errors-spki-list={digest}"


@pytest.mark.parametrize(
    "way",
    [
        "told to accept its key",
        pytest.param(
            "trusts the authority",
            marks=pytest.mark.skipif(
                CERTUTIL is None, reason="needs certutil: apt-get install libnss3-tools"
            ),
        ),
    ],
)
def test_over_https_a_paired_phone_goes_on_without_its_server(
    way: str, https_server: Server, playing: Playwright, tmp_path: Path
) -> None:
    server = https_server
    token = server.log.read_text().partition("/pair#")[2].split()[0]
    base = f"https://van.local:{server.port_number + 1}"
    if way == "trusts the authority":
        phone = Phone(playing, tmp_path / "p", home=trusting_home(server, tmp_path / "home"))
    else:
        phone = Phone(playing, tmp_path / "p", accepting_flag(server))
    try:
        page = phone.page
        page.goto(f"http://van.local:{server.port_number}/")
        expect(page.locator("h1")).to_have_text("Trust this machine")
        page.goto(f"{base}/pair#{token}")
        page.fill("#name", "test phone")
        page.click("text=Pair >> nth=-1")
        expect(page.locator("h1")).to_have_text("Houses")
        # No thumb is as quick as to leave while the storage of the first page is being made.
        expect(page.locator("#outbox")).to_have_text("All sent")
        goes_on_while_the_server_is_away(page, server, base)
    finally:
        phone.kill()


def test_a_phone_that_does_not_trust_it_is_warned(
    https_server: Server, playing: Playwright, tmp_path: Path
) -> None:
    phone = Phone(playing, tmp_path / "p", home=tmp_path)
    try:
        with pytest.raises(Error, match="ERR_CERT_AUTHORITY_INVALID"):
            phone.page.goto(f"https://van.local:{https_server.port_number + 1}/pair")
    finally:
        phone.kill()
