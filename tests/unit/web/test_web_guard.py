"""Who is let in, from where, with how much."""

from __future__ import annotations

import threading
from collections.abc import Iterator
from pathlib import Path

import pytest
from fastapi.testclient import TestClient

from tests.unit.web.conftest import THERE, TOKEN
from ventwright.actions.record import Ledger
from ventwright.web import pairing
from ventwright.wiring import device_file

SECRET = "Juniper"
PATHS = [
    "/",
    "/houses/juniper-mesa",
    "/visits/try-it",
    "/api/visits/try-it/page",
    "/api/visits/try-it/number",
    "/api/visits/try-it/events",
    "/api/visits/try-it/draft.pdf",
    "/api/devices",
    "/api/openapi.json",
    "/houses/juniper-mesa/reports/1.pdf",
]


def pair(phone: TestClient, token: str = TOKEN, name: str = "test phone") -> int:
    return phone.post("/api/pair", json={"token": token, "name": name}).status_code


@pytest.mark.parametrize("path", PATHS)
def test_unpaired_device_sees_nothing(path: str, phone: TestClient) -> None:
    answer = phone.get(path)
    assert answer.status_code in (303, 401)
    assert SECRET not in answer.text
    phone.cookies.set("ventwright_device", "guessed")
    assert phone.get(path).status_code in (303, 401)


def test_unpaired_device_can_change_nothing(phone: TestClient) -> None:
    answer = phone.post("/api/visits/try-it/entries", json={})
    assert answer.status_code == 401
    assert answer.json()["code"] == "not-paired"


def test_pairing_revoking_and_what_is_kept(
    phone: TestClient, here: TestClient, ledger: Ledger
) -> None:
    assert pair(phone, "wrong") == 403
    assert pair(phone) == 200
    cookie = next(iter(phone.cookies.jar))
    assert cookie.has_nonstandard_attr("HttpOnly")
    assert cookie.get_nonstandard_attr("SameSite") == "strict"
    kept = device_file(ledger).read_text()
    assert "test phone" in kept
    assert str(cookie.value) not in kept
    assert device_file(ledger).stat().st_mode & 0o077 == 0
    assert SECRET in phone.get("/").text
    (device,) = here.get("/api/devices").json()
    assert phone.post(f"/api/devices/{device['id']}/revoke").status_code == 403
    assert here.post(f"/api/devices/{device['id']}/revoke").status_code == 200
    assert here.post(f"/api/devices/{device['id']}/revoke").status_code == 404
    assert phone.get("/api/visits/try-it/number").status_code == 401


def test_an_open_stream_ends_when_its_device_is_shut_out(
    phone: TestClient, here: TestClient
) -> None:
    assert pair(phone) == 200
    (device,) = here.get("/api/devices").json()
    revoke = f"/api/devices/{device['id']}/revoke"
    later = threading.Timer(1.0, lambda: here.post(revoke))
    later.start()
    # Comes back only when the stream has ended.
    answer = phone.get("/api/visits/try-it/events")
    later.join()
    assert answer.headers["content-type"].startswith("text/event-stream")
    assert phone.get("/api/visits/try-it/events").status_code == 401


def test_guessing_is_slowed(phone: TestClient) -> None:
    answers = [pair(phone, f"guess {i}") for i in range(12)]
    assert answers == [403] * 10 + [429] * 2
    assert pair(phone) == 429


def test_record_served_without_a_token_lets_nobody_in(ledger: Ledger) -> None:
    from ventwright.wiring import build_app

    app = build_app(ledger, hosts=("ladder.test",))
    phone = TestClient(app, base_url=THERE, client=("192.168.1.20", 1))
    assert pair(phone, "") == 403


@pytest.mark.parametrize("host", ["evil.test", "127.0.0.1.evil.test", "", "localhost.evil.test:80"])
def test_other_names_are_refused(host: str, here: TestClient) -> None:
    """A name that was made to point here by someone else (DNS rebinding)."""
    assert here.get("/", headers={"host": host}).status_code == 421


@pytest.mark.parametrize(
    "headers",
    [
        {"origin": "http://evil.test"},
        {"origin": "null"},
        {"origin": "http://127.0.0.1:9999"},
        {"sec-fetch-site": "cross-site"},
        {"sec-fetch-site": "same-site"},
    ],
)
def test_other_pages_change_nothing(headers: dict[str, str], here: TestClient) -> None:
    before = here.get("/api/visits/try-it/number").json()
    answer = here.post("/api/visits/try-it/entries", json={}, headers=headers)
    assert answer.status_code == 403
    assert here.get("/api/visits/try-it/number").json() == before


def test_loopback_name_from_elsewhere_is_no_pass(phone: TestClient) -> None:
    assert phone.get("/", headers={"host": "127.0.0.1"}).status_code == 303


ENTRIES, PHOTO = "/api/visits/try-it/entries", "/api/visits/try-it/photos/p1"
PNG = b"\x89PNG\r\n\x1a\n"


@pytest.mark.parametrize(
    ("address", "most_bytes"), [(ENTRIES, 1_000_000), (PHOTO, 20_000_000), ("/api/pair", 1_000_000)]
)
def test_too_much_is_refused(address: str, most_bytes: int, here: TestClient) -> None:
    before = here.get("/api/visits/try-it/number").json()

    def in_pieces() -> Iterator[bytes]:
        """Of a length that nobody announces."""
        yield PNG
        for _ in range(most_bytes // 500_000):
            yield b"x" * 500_000

    whole = PNG + b"x" * most_bytes
    for content in (whole, in_pieces()):
        answer = here.post(address, content=content)
        assert (answer.status_code, answer.json()["code"]) == (413, "too-large")
    assert here.get("/api/visits/try-it/number").json() == before


def test_a_photo_may_be_larger_than_an_entry(here: TestClient) -> None:
    assert here.post(PHOTO, content=PNG + b"x" * 1_500_000).status_code == 200


@pytest.mark.parametrize("length", ["many", "-1", "1e3", ""])
def test_a_length_that_is_no_number_is_refused(length: str, here: TestClient) -> None:
    answer = here.post(ENTRIES, content=b"{}", headers={"content-length": length})
    assert answer.status_code == 413


@pytest.mark.parametrize(
    "path", ["/", "/visits/try-it", "/api/visits/try-it/number", "/static/page.css", "/nowhere"]
)
def test_every_answer_keeps_browsers_in(path: str, here: TestClient) -> None:
    headers = here.get(path).headers
    policy = headers["content-security-policy"]
    assert "default-src 'none'" in policy
    assert "unsafe" not in policy
    assert "frame-ancestors 'none'" in policy
    assert headers["x-content-type-options"] == "nosniff"
    assert headers["referrer-policy"] == "no-referrer"


def test_pages_name_no_other_machine() -> None:
    """No address of another machine in anything that is sent to a browser."""
    import ventwright.web

    folder = Path(ventwright.web.__file__).parent
    names = ("http://www.w3.org/2000/svg",)
    for path in folder.rglob("*"):
        if path.suffix in {".html", ".js", ".css", ".svg"} and "vendor" not in path.parts:
            text = path.read_text(encoding="utf-8")
            for name in names:
                text = text.replace(name, "")
            assert "://" not in text, path
            assert "style=" not in text, path


def test_one_may_knock_again_after_a_minute(monkeypatch: pytest.MonkeyPatch) -> None:
    now_s = [1000.0]
    monkeypatch.setattr(pairing.time, "monotonic", lambda: now_s[0])
    door = pairing.Door(TOKEN)
    assert [door.may_try() for _ in range(11)] == [True] * 10 + [False]
    now_s[0] += 59.0
    assert not door.may_try()
    now_s[0] += 2.0
    assert door.may_try()
