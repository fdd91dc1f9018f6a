"""Drafts and issued reports take the units and the decimal mark of the page they are asked from."""

from __future__ import annotations

import re

import pytest
from fastapi.testclient import TestClient

from tests.unit.report import cases
from tests.unit.web.test_web_entries import ADDRESS, READING

WITH_COMMA = re.compile(r"\d,\d+±\d+,\d")
WITH_POINT = re.compile(r"\d\.\d+±\d+\.\d")


@pytest.mark.parametrize(
    ("number_style", "there", "not_there"),
    [("decimal_comma", WITH_COMMA, WITH_POINT), ("decimal_point", WITH_POINT, WITH_COMMA)],
)
def test_a_report_has_the_decimal_mark_of_the_page(
    here: TestClient, number_style: str, there: re.Pattern[str], not_there: re.Pattern[str]
) -> None:
    assert here.post(ADDRESS, json=READING).status_code == 200
    habits = {"preference": "si_m3h", "number_style": number_style}
    draft = here.get("/api/visits/try-it/draft.pdf", params=habits)
    issued = here.post("/api/visits/try-it/reports", json={"issued_by": "A. Sample", **habits})
    kept = here.get(issued.json()["address"])
    for answer in (draft, kept):
        text = cases.text_of(answer.content)
        assert "SI,cubicmetresperhour" in text
        assert there.search(text) and not not_there.search(text)


def test_a_decimal_mark_that_nobody_knows_is_refused(here: TestClient) -> None:
    for style in ("comma", ""):
        query = {"number_style": style}
        assert here.get("/api/visits/try-it/draft.pdf", params=query).status_code == 422
        body = {"issued_by": "A. Sample", "number_style": style}
        assert here.post("/api/visits/try-it/reports", json=body).status_code == 422
