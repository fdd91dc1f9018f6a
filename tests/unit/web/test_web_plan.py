"""The plan by the page's interface: parts changed one by one, refused in the parser's words."""

from __future__ import annotations

from typing import Any

import pytest
from fastapi.testclient import TestClient

from ventwright.actions.record import (
    Ledger,
    change_house,
    find_instruments,
    look_at_visit,
    open_house,
    open_instrument,
)

PLAN = "/api/houses/juniper-mesa/plan"
PARTS = "/api/houses/juniper-mesa/parts"
S1 = ["systems", "hrv", "terminals", "s1"]


def part(plan: dict[str, Any], path: list[str]) -> dict[str, Any]:
    if plan["path"] == path:
        return plan
    for one in (p for a_list in plan["lists"] for p in a_list["parts"]):
        if one["path"] == path[: len(one["path"])]:
            return part(one, path)
    raise KeyError(path)


def seen(here: TestClient, path: list[str]) -> str:
    return str(part(here.get(PLAN).json()["plan"], path)["sha256"])


def test_target_and_band_of_a_terminal_are_changed_and_the_rest_stays(
    here: TestClient, ledger: Ledger
) -> None:
    before = open_house(ledger, "juniper-mesa").house
    texts = {"design_flow": "50,5 m³/h", "min_flow": "45 m³/h", "max_flow": "55 m³/h"}
    body = {
        "id": "c1",
        "path": S1,
        "seen_sha256": seen(here, S1),
        "texts": texts,
        "number_style": "decimal_comma",
    }
    assert here.post(PARTS, json=body).json()["state"] == "recorded"
    after = open_house(ledger, "juniper-mesa")
    (old,), (new,) = before.systems, after.house.systems
    assert new.terminals[0].design_flow_m3_s == pytest.approx(50.5 / 3600)
    assert new.terminals[0].ducts == old.terminals[0].ducts
    assert new.terminals[1:] == old.terminals[1:]
    # Both revisions are in the record; the same change again adds none.
    assert after.number == 2
    assert open_house(ledger, "juniper-mesa", number=1).house == before
    assert here.post(PARTS, json=body).json() == {
        "id": "c1",
        "state": "already",
        "number": 2,
        "problems": [],
    }


def test_two_people_change_two_parts_and_contradict_each_other_in_one(
    here: TestClient, ledger: Ledger
) -> None:
    s2 = [*S1[:-1], "s2"]
    first, second = seen(here, S1), seen(here, s2)
    for i, (path, sha256) in enumerate(((S1, first), (s2, second))):
        body = {"id": f"c{i}", "path": path, "seen_sha256": sha256, "texts": {"place": "high"}}
        assert here.post(PARTS, json=body).status_code == 200
    late = {"id": "c9", "path": S1, "seen_sha256": first, "texts": {"place": "low"}}
    answer = here.post(PARTS, json=late)
    assert (answer.status_code, answer.json()["code"]) == (409, "changed-meanwhile")
    (system,) = open_house(ledger, "juniper-mesa").house.systems
    assert [t.place for t in system.terminals[:2]] == ["high", "high"]


@pytest.mark.parametrize(
    ("path", "texts", "code", "where"),
    [
        (S1, {"design_flow": "50"}, "no-unit", "design_flow"),
        (S1, {"design_flow": "-3 cfm"}, "out-of-range", "design_flow"),
        (S1, {"side": "left"}, "unknown-word", "side"),
        (S1, {"side": None}, "missing-key", "side"),
        (S1, {"colour": "red"}, "unknown-key", "colour"),
        (S1, {"room": "attic"}, "unknown-reference", "terminal s1.room"),
        (S1, {"min_flow": "90 cfm", "max_flow": "20 cfm"}, "band-crossed", "terminal s1.min_flow"),
        (S1[:2], {"ventilation_unit.name": None}, "missing-key", "ventilation_unit.name"),
        (["rooms", "den"], {"name": "Den"}, "missing-key", "kind"),
        (["garage"], {"name": "Den"}, "unknown-part", "garage"),
        (["systems", "none", "terminals", "s1"], {"side": "supply"}, "missing-key", "room"),
        ([], {"floor_area": "big"}, "no-number", "floor_area"),
    ],
)  # fmt: skip
def test_refusals_name_the_field_in_the_words_of_the_parser(
    path: list[str], texts: dict[str, Any], code: str, where: str, here: TestClient, ledger: Ledger
) -> None:
    try:
        sha256 = seen(here, path)
    except KeyError:
        sha256 = ""
    answer = here.post(PARTS, json={"id": "c", "path": path, "seen_sha256": sha256, "texts": texts})
    assert 400 <= answer.status_code < 500
    assert (code, where) in [(p["code"], p["where"]) for p in answer.json()["problems"]]
    assert open_house(ledger, "juniper-mesa").number == 1


def test_damper_comes_and_goes_with_its_branch(here: TestClient, ledger: Ledger) -> None:
    path = ["systems", "hrv", "branches", "b1"]
    new = {
        "id": "c1",
        "path": path,
        "texts": {"side": "supply", "damper.kind": "iris", "damper.diameter": "125 mm"},
    }
    assert here.post(PARTS, json=new).status_code == 200
    branch = open_house(ledger, "juniper-mesa").house.systems[0].branches[0]
    assert branch.damper is not None
    assert (branch.id, branch.damper.diameter_m) == ("b1", 0.125)
    gone = {"damper.kind": None, "damper.diameter": None, "damper.is_stuck": None}
    body = {"id": "c2", "path": path, "seen_sha256": seen(here, path), "texts": gone}
    assert here.post(PARTS, json=body).status_code == 200
    assert open_house(ledger, "juniper-mesa").house.systems[0].branches[0].damper is None
    out = {"id": "c3", "path": path, "seen_sha256": seen(here, path), "is_removal": True}
    assert [here.post(PARTS, json=out).json()["state"] for _ in range(2)] == ["recorded", "already"]
    assert open_house(ledger, "juniper-mesa").house.systems[0].branches == ()


def test_room_that_terminals_name_can_not_be_taken_out(here: TestClient, ledger: Ledger) -> None:
    path = ["rooms", "study"]
    body = {"id": "c", "path": path, "seen_sha256": seen(here, path), "is_removal": True}
    answer = here.post(PARTS, json=body)
    assert answer.json()["problems"][0]["code"] == "unknown-reference"
    assert len(open_house(ledger, "juniper-mesa").house.rooms) == 9


def test_tables_of_the_unit_are_typed_line_by_line(here: TestClient, ledger: Ledger) -> None:
    path = ["systems", "hrv", "ventilation_unit", "exchanger_tables", "2"]
    lines = [{"pressure": "20 Pa", "flow": "40 cfm"}, {"pressure": "60 Pa", "flow": "90 cfm"}]
    body = {"id": "c1", "path": path, "texts": {"stream": "EHA", "points": lines}}
    assert [here.post(PARTS, json=body).json()["state"] for _ in range(2)] == [
        "recorded",
        "already",
    ]
    tables = open_house(ledger, "juniper-mesa").house.systems[0].ventilation_unit.exchanger_tables
    assert [len(t.points) for t in tables] == [6, 6, 2]
    bad = {"id": "c2", "path": path, "seen_sha256": seen(here, path)}
    answer = here.post(PARTS, json={**bad, "texts": {"points": [{"pressure": "20 Pa"}]}})
    assert answer.json()["problems"][0]["where"] == "points[0].flow"


def test_house_is_begun_and_grows_to_a_visit_with_chosen_instruments(
    here: TestClient, ledger: Ledger
) -> None:
    house = {"id": "c1", "house_id": "mill", "texts": {"name": "Mill", "altitude": "120 m"}}
    assert [here.post("/api/houses", json=house).json()["state"] for _ in range(2)] == [
        "recorded",
        "already",
    ]
    other = {**house, "id": "c2", "texts": {"name": "Another mill"}}
    answer = here.post("/api/houses", json=other)
    assert (answer.status_code, answer.json()["code"]) == (409, "taken-id")
    vane = {
        "id": "c3",
        "instrument_id": "vane-7",
        "texts": {"kind": "vane_meter", "calibrated_on": "2026-02-01", "name": "100 mm vane"},
    }
    assert here.post("/api/instruments", json=vane).status_code == 200
    listed = here.get("/api/instruments").json()
    assert [one["title"] for one in listed["instruments"]] == ["100 mm vane"]
    # Those of the visit that changed last are offered too, and marked.
    assert ["vane-7", "100 mm vane", False] in listed["carried"]
    assert any(is_carried for _, _, is_carried in listed["carried"])
    visit = {
        "id": "w1",
        "technician": "A. Sample",
        "at": "2026-03-04T09:20:00-07:00",
        "instruments": ["vane-7"],
    }
    assert here.post("/api/houses/mill/visits", json=visit).status_code == 200
    assert [i.id for i in look_at_visit(ledger, "w1").visit.instruments] == ["vane-7"]
    nobody = {**visit, "id": "w2", "instruments": ["nobody's"]}
    assert here.post("/api/houses/mill/visits", json=nobody).status_code == 404


def test_instrument_is_changed_with_every_state_kept(here: TestClient, ledger: Ledger) -> None:
    body = {"id": "c1", "instrument_id": "vane", "texts": {"kind": "vane_meter"}}
    assert here.post("/api/instruments", json=body).status_code == 200
    listed = here.get("/api/instruments").json()["instruments"]
    change = {
        "id": "c2",
        "instrument_id": "vane",
        "seen_sha256": listed[0]["sha256"],
        "texts": {
            "velocity.accuracy_of_reading": "3 %",
            "velocity.range_max": "20 m/s",
            "calibration_due": "2027-02-01",
        },
    }
    assert here.post("/api/instruments", json=change).json()["number"] == 2
    opened = open_instrument(ledger, "vane")
    assert opened.instrument.velocity is not None
    assert opened.instrument.velocity.range_max_m_s == 20.0
    assert find_instruments(ledger)[0].calibration_due == "2027-02-01"
    bad = {**change, "id": "c3", "texts": {"calibrated_on": "last spring"}}
    answer = here.post("/api/instruments", json=bad)
    assert answer.json()["problems"][0]["where"] == "calibrated_on"


@pytest.mark.parametrize("ident", ["2026/03", "a%2Fb", "50 %", "b?c#d", "größe", "..x"])
def test_any_id_can_be_opened(ident: str, here: TestClient, ledger: Ledger) -> None:
    from urllib.parse import quote

    made = {"id": "c1", "house_id": ident, "texts": {"name": "Mill"}}
    assert here.post("/api/houses", json=made).status_code == 200
    address = quote(ident, safe="")
    page = here.get(f"/houses/{address}")
    assert page.status_code == 200
    assert "Mill" in page.text
    assert here.get(f"/api/houses/{address}/plan").json()["house_id"] == ident
    visit = {"id": "w1", "technician": "A.", "at": "2026-03-04T09:20:00-07:00", "instruments": []}
    assert here.post(f"/api/houses/{address}/visits", json=visit).status_code == 200
    assert here.get("/api/visits/w1/page").json()["house_id"] == ident


@pytest.mark.parametrize("ident", [".", "..", "", "a\nb"])
def test_ids_that_no_address_can_name_are_refused(
    ident: str, here: TestClient, ledger: Ledger
) -> None:
    made = {"id": "c1", "house_id": ident, "texts": {"name": "Mill"}}
    answer = here.post("/api/houses", json=made)
    assert answer.status_code == 422
    assert answer.json()["code"] in ("unusable-id", "invalid")


def test_page_of_a_visit_follows_a_plan_that_changes(here: TestClient, ledger: Ledger) -> None:
    def target() -> str:
        stations = here.get("/api/visits/try-it/page").json()["model"]["stations"]
        (one,) = [s for s in stations if s["key"] == "terminal:s1"]
        return str(one["values"][0]["target"])

    before = target()
    house = open_house(ledger, "juniper-mesa").house
    body = {
        "id": "c",
        "path": S1,
        "seen_sha256": seen(here, S1),
        "texts": {"design_flow": "90 cfm"},
    }
    assert here.post(PARTS, json=body).status_code == 200
    after = target()
    assert before != after
    change_house(ledger, house, expected_number=2)
    assert target() == before
