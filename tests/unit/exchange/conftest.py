"""The house that the visits of these tests speak of."""

from __future__ import annotations

import tomllib

import pytest

from tests.unit.exchange.samples import HOUSE
from ventwright.house import House, parse_house


@pytest.fixture(scope="session")
def house() -> House:
    found, problems = parse_house(tomllib.loads(HOUSE))
    assert found is not None and not problems
    return found
