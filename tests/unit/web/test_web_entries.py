"""Entries: what is taken, what is refused, and in what words."""

from __future__ import annotations

import json
from typing import Any

import pytest
from fastapi.testclient import TestClient

from ventwright.actions.record import Ledger, entries_since, look_at_visit

ADDRESS = "/api/visits/try-it/entries"
READING: dict[str, Any] = {
    "id": "r1",
    "kind": "reading",
    "at": "2026-03-04T09:20:00-07:00",
    "texts": {
        "station": "terminal:s3",
        "setting": "continuous",
        "phase": "as_found",
        "method": "vane",
        "instrument": "vane",
        "velocities": ["180 fpm", "174 fpm"],
        "area": "12.57 in²",
    },
    "preference": "ip",
}


def with_texts(**texts: Any) -> dict[str, Any]:
    return {**READING, "texts": {**READING["texts"], **texts}}


def test_reading_is_acknowledged_with_flow_uncertainty_and_band(
    here: TestClient, ledger: Ledger
) -> None:
    answer = here.post(ADDRESS, json=READING)
    assert answer.status_code == 200
    receipt = answer.json()
    assert receipt["state"] == "recorded"
    assert "±" in receipt["value"]["text"]
    assert receipt["value"]["text"].endswith("cfm")
    assert " to " in receipt["value"]["band"]
    (reading,) = look_at_visit(ledger, "try-it").visit.readings
    # Exactly as typed, and the door it came through.
    assert [t.text for t in reading.typed] == ["180 fpm", "174 fpm", "12.57 in²"]
    assert entries_since(ledger, "try-it")[-1].via == "page on this machine"


def test_same_again_is_acknowledged_and_other_content_contested(
    here: TestClient, ledger: Ledger
) -> None:
    states = [here.post(ADDRESS, json=READING).json()["state"] for _ in range(2)]
    assert states == ["recorded", "already"]
    other = here.post(ADDRESS, json=with_texts(velocities=["190 fpm"]))
    assert other.status_code == 200
    assert other.json()["state"] == "contested"
    assert other.json()["problems"][0]["code"] == "contested"
    (reading,) = look_at_visit(ledger, "try-it").visit.readings
    assert reading.typed[0].text == "180 fpm"


@pytest.mark.parametrize(
    ("style", "text", "kept"),
    [("decimal_comma", "3,6 Pa", 3.6), ("decimal_point", "3.6 Pa", 3.6)],
)
def test_decimal_marks(
    style: str, text: str, kept: float, here: TestClient, ledger: Ledger
) -> None:
    body = with_texts(station="terminal:x1", method="flow_box", drops=[text], opening_area="12 in²")
    del body["texts"]["velocities"], body["texts"]["area"]
    assert here.post(ADDRESS, json={**body, "number_style": style}).status_code == 200
    (reading,) = look_at_visit(ledger, "try-it").visit.readings
    assert reading.look.drops_pa == (kept,)  # type: ignore[union-attr]


@pytest.mark.parametrize(
    "texts",
    [
        {"velocities": ["quick"]},
        {"velocities": ["180"]},
        {"velocities": ["NaN fpm"]},
        {"velocities": ["1e999 fpm"]},
        {"velocities": [True]},
        {"velocities": [180]},
        {"velocities": 180},
        {"velocities": None},
        {"area": "-3 in²"},
        {"station": "attic"},
        {"method": "guess"},
        {"phase": "later"},
        {"speed": "3 fpm"},
    ],
)
def test_unreadable_field_is_named_and_nothing_kept(
    texts: dict[str, Any], here: TestClient, ledger: Ledger
) -> None:
    before = len(entries_since(ledger, "try-it"))
    answer = here.post(ADDRESS, json=with_texts(**texts))
    assert answer.status_code == 422
    body = answer.json()
    assert set(body) == {"code", "message", "problems"}
    assert any(next(iter(texts)) in p["where"] for p in body["problems"])
    assert len(entries_since(ledger, "try-it")) == before


@pytest.mark.parametrize("number", ["NaN", "Infinity", "-Infinity", "1e999"])
def test_what_is_no_number_in_json_is_refused_and_not_echoed(number: str, here: TestClient) -> None:
    content = json.dumps(READING).replace('"r1"', number)
    answer = here.post(ADDRESS, content=content, headers={"content-type": "application/json"})
    assert answer.status_code == 422
    assert answer.json()["code"] == "invalid"


@pytest.mark.parametrize(
    "change",
    [
        {"at": 1772640000},
        {"at": True},
        {"at": "2026-03-04T09:20:00"},
        {"at": "0001-01-01T00:00:00+14:00"},
        {"at": "yesterday"},
        {"id": "../r1"},
        {"id": ""},
        {"kind": "house"},
        {"kind": "report"},
        {"preference": "metric"},
        {"surprise": 1},
        {"texts": {}},
        {"texts": []},
    ],
)
def test_strict_fields(change: dict[str, Any], here: TestClient) -> None:
    answer = here.post(ADDRESS, json={**READING, **change})
    assert answer.status_code == 422
    assert answer.json()["problems"]


def test_unknown_visit_and_house(here: TestClient) -> None:
    assert here.post("/api/visits/nowhere/entries", json=READING).status_code == 404
    assert here.get("/api/visits/nowhere/page").json()["code"] == "unknown-visit"
    assert here.get("/visits/nowhere").status_code == 404
    body = {"id": "w", "technician": "A. Sample", "at": "2026-03-04T09:20:00-07:00"}
    assert here.post("/api/houses/nowhere/visits", json=body).status_code == 404


def test_visit_begun_twice_is_one(here: TestClient) -> None:
    body = {"id": "w", "technician": "A. Sample", "at": "2026-03-04T09:20:00-07:00"}
    answers = [here.post("/api/houses/juniper-mesa/visits", json=body) for _ in range(2)]
    assert [a.json() for a in answers] == [{"id": "w"}, {"id": "w"}]
    page = here.get("/api/visits/w/page").json()
    assert ["vane", "vane meter, 4 in with cone", "vane_meter"] in page["model"]["instruments"]


def test_other_kinds_of_entry(here: TestClient, ledger: Ledger) -> None:
    at = READING["at"]
    bodies = [
        ("conditions", {"outdoor_temperature": "27 °F", "are_windows_shut": True}),
        ("walk_through", {"item": "filters", "outcome": "good"}),
        ("adjustment", {"kind": "terminal", "target": "s1", "turned": "0.5 turns"}),
        ("fault", {"what": "trap dry", "where": "laundry"}),
        ("final_setting", {"kind": "terminal", "target": "s1", "opening": "3 turns"}),
        ("note", {"text": "hatch stuck"}),
        ("signature", {"name": "A. Sample", "role": "technician"}),
        ("closing", {}),
    ]
    for i, (kind, texts) in enumerate(bodies):
        body = {"id": f"e{i}", "kind": kind, "texts": texts, "at": at}
        answer = here.post(ADDRESS, json=body)
        assert answer.status_code == 200, answer.text
    visit = look_at_visit(ledger, "try-it").visit
    assert visit.conditions.are_windows_shut is True
    assert visit.adjustments[0].turned_turns == 0.5
    assert visit.signatures[0].signed_at is not None
    assert visit.closed_at is not None


def test_page_after_page_in_both_number_formats(here: TestClient) -> None:
    address = "/api/visits/juniper-mesa-2026-02-11/page"
    query = {"preference": "si_m3h", "number_style": "decimal_comma"}
    page = here.get(address, params=query).json()
    values = [
        v
        for s in page["model"]["stations"]
        for v in s["values"]
        if (s["key"], v["setting"], v["phase"]) == ("terminal:s2", "continuous", "as_left")
    ]
    assert [v["text"] for v in values] == ["25,8 ± 2,5 m³/h"]
    sections = {s["id"] for s in page["model"]["sections"]}
    assert {"next", "next-step", "summary", "balance", "recovery", "surfaces"} <= sections


def test_events_tell_where_the_visit_stands(here: TestClient) -> None:
    marks = here.get("/api/visits/try-it/number").json()
    answer = here.get("/api/visits/try-it/events?is_once=true")
    assert answer.headers["content-type"].startswith("text/event-stream")
    event, _, data = answer.text.strip().partition("\n")
    assert event == "event: number"
    assert json.loads(data.removeprefix("data: ")) == marks


def test_photo_is_what_its_bytes_say(here: TestClient) -> None:
    png = b"\x89PNG\r\n\x1a\n" + b"0" * 40
    address = "/api/visits/try-it/photos/p1?caption=trap"
    assert [here.post(address, content=png).json()["state"] for _ in range(2)] == [
        "recorded",
        "already",
    ]
    assert here.post(address.replace("p1", "p2"), content=b"<svg/>").status_code == 422
    ((sha256, caption),) = here.get("/api/visits/try-it/page").json()["photos"]
    assert caption == "trap"
    answer = here.get(f"/api/photos/{sha256}")
    assert (answer.content, answer.headers["content-type"]) == (png, "image/png")


def test_issued_report_stays(here: TestClient) -> None:
    issued = here.post("/api/visits/try-it/reports", json={"issued_by": "A. Sample"}).json()
    assert issued["number"] == 1
    first = here.get(issued["address"])
    assert first.content.startswith(b"%PDF-")
    here.post(ADDRESS, json=READING)
    assert here.get(issued["address"]).content == first.content
    assert here.get("/houses/juniper-mesa/reports/2.pdf").status_code == 404


def test_timed_average_speaks_the_readers_format(here: TestClient) -> None:
    body = {"samples": [4.0, 6.0, 5.0, 6.0, 4.0, 5.0], "interval_s": 2.0, "wanted_frac": 0.5}
    answer = here.post("/api/sweep", json={**body, "number_style": "decimal_comma"}).json()
    assert answer["message"].startswith("Mean 5,0 ± 0,9 of 6 samples in 12 s")
    for wrong in ([True], ["5"], [], [None]):
        assert here.post("/api/sweep", json={**body, "samples": wrong}).status_code == 422
    for number in ("NaN", "Infinity", "1e999"):
        content = json.dumps(body).replace("4.0", number, 1)
        sent = here.post(
            "/api/sweep", content=content, headers={"content-type": "application/json"}
        )
        assert sent.status_code == 422, number


def test_hostile_text_stays_text(here: TestClient) -> None:
    trap = "<img src=x onerror=alert(1)>"
    at = READING["at"]
    for i, (kind, texts) in enumerate(
        [
            ("note", {"text": trap, "where": trap}),
            ("fault", {"what": trap, "where": trap}),
            ("walk_through", {"item": "filters", "outcome": "fault", "note": trap}),
            ("conditions", {"note": trap}),
        ]
    ):
        body = {"id": f"h{i}", "kind": kind, "texts": texts, "at": at}
        assert here.post(ADDRESS, json=body).status_code == 200
    page = here.get("/api/visits/try-it/page").json()
    parts = [s["html"] for s in page["model"]["sections"]]
    parts += [p["svg"] for p in page["model"]["pictures"]]
    assert not [part for part in parts if "<img" in part]
    assert any("&lt;img" in part for part in parts)
    assert "<img" not in here.get("/", params={"words": trap}).text


def test_fault_is_mended_by_an_entry_of_its_own(here: TestClient, ledger: Ledger) -> None:
    at = READING["at"]
    fault = {"id": "f1", "kind": "fault", "texts": {"what": "trap dry"}, "at": at}
    mended = {
        **fault,
        "id": "f2",
        "record_id": "f1",
        "supersedes": "f1",
        "texts": {"what": "trap dry", "is_mended": True},
    }
    assert [here.post(ADDRESS, json=b).status_code for b in (fault, mended)] == [200, 200]
    faults = look_at_visit(ledger, "try-it").visit.faults
    assert [(f.id, f.is_mended) for f in faults] == [("f1", True)]
