"""Pages over https: plain http explains how to trust them, and shows nothing else."""

from __future__ import annotations

import pytest
from fastapi import FastAPI
from fastapi.testclient import TestClient

from tests.unit.web.conftest import HERE, TOKEN
from tests.unit.web.test_web_guard import PATHS, SECRET
from ventwright.actions.record import Ledger
from ventwright.web import TrustedAuthority
from ventwright.wiring import build_app

AUTHORITY = TrustedAuthority(
    name="Ventwright on <ladder>",
    certificate_der=b"\x30\x00certificate",
    fingerprint=("AB CD", "EF 01"),
    runs_out_on="2031-03-04",
    address="https://ladder.test:8471",
)


@pytest.fixture
def app(ledger: Ledger) -> FastAPI:
    return build_app(ledger, hosts=("ladder.test",), pairing_token=TOKEN, authority=AUTHORITY)


@pytest.fixture
def safe_phone(app: FastAPI) -> TestClient:
    """A device on the network, over https, not paired yet."""
    return TestClient(
        app,
        base_url=AUTHORITY.address,
        client=("192.168.1.20", 50000),
        follow_redirects=False,
        raise_server_exceptions=False,
    )


@pytest.mark.parametrize("path", [*PATHS, "/pair", "/worker.js", "/shell"])
def test_plain_http_shows_others_nothing_but_how_to_trust(path: str, phone: TestClient) -> None:
    answer = phone.get(path)
    assert answer.status_code == (426 if path.startswith("/api/") else 303)
    assert answer.headers.get("location", "/trust") == "/trust"
    assert SECRET not in answer.text


def test_a_paired_device_shows_its_token_over_https_alone(
    phone: TestClient, safe_phone: TestClient
) -> None:
    body = {"token": TOKEN, "name": "test phone"}
    assert phone.post("/api/pair", json=body).status_code == 426
    assert safe_phone.get("/").headers["location"] == "/pair"
    assert safe_phone.post("/api/pair", json=body).status_code == 200
    (cookie,) = safe_phone.cookies.jar
    assert cookie.secure
    assert SECRET in safe_phone.get("/").text
    # Someone who sends it in the clear all the same is shown no more than before.
    phone.cookies.set("ventwright_device", str(cookie.value))
    assert phone.get("/").headers["location"] == "/trust"
    answer = phone.post("/api/visits/try-it/entries", json={})
    assert answer.json()["code"] == "https-only"


def test_an_entry_that_waits_under_plain_http_is_not_taken_for_refused(phone: TestClient) -> None:
    """The page throws nothing away at this status: it says so and goes on waiting."""
    answer = phone.post("/api/visits/try-it/entries", json={"id": "r1"})
    assert answer.status_code not in (400, 401, 404, 409, 413, 415, 422)
    assert AUTHORITY.address in answer.json()["message"]


def test_this_machine_needs_no_https(here: TestClient) -> None:
    assert SECRET in here.get("/").text
    assert here.base_url == HERE


def test_the_page_says_what_to_compare_and_gives_the_certificate(phone: TestClient) -> None:
    text = phone.get("/trust").text
    assert "\n".join(f"<b>{line}</b>" for line in AUTHORITY.fingerprint) in text
    for part in (*AUTHORITY.fingerprint, AUTHORITY.runs_out_on, AUTHORITY.address, "To remove:"):
        assert part in text
    assert "&lt;ladder&gt;" in text
    answer = phone.get("/trust/ventwright-authority.crt")
    assert answer.content == AUTHORITY.certificate_der
    assert answer.headers["content-type"] == "application/x-x509-ca-cert"
    assert phone.get("/trust", headers={"host": "evil.test"}).status_code == 421


def test_without_https_there_is_nothing_to_trust(ledger: Ledger) -> None:
    app = build_app(ledger, hosts=("ladder.test",), pairing_token=TOKEN)
    phone = TestClient(app, base_url="http://ladder.test", client=("192.168.1.20", 1))
    for path in ("/trust", "/trust/ventwright-authority.crt"):
        assert phone.get(path).status_code == 404
