"""Factors and constants against printed tables and exact definitions."""

from __future__ import annotations

import pytest

from tests.reference import shelves
from ventwright import quantities
from ventwright.quantities import Dimension, from_si, parse, to_si, unit_of_measure

CONVERSIONS = shelves.rows("quantities.csv", where=lambda row: row["function"] == "to_si")
CONSTANTS = shelves.rows("quantities.csv", where=lambda row: row["function"] != "to_si")


@pytest.mark.parametrize("row", CONVERSIONS, ids=str)
def test_conversion(row: shelves.Row) -> None:
    value, symbol, kind = (row.inputs[k] for k in ("value", "unit_of_measure", "dimension"))
    dimension = Dimension(kind)
    measure = unit_of_measure(symbol, dimension=dimension)
    row.check(to_si(value, unit_of_measure=measure))
    row.check(parse(f"{value} {symbol}", dimension=dimension).value_si)
    back = from_si(row.expected, unit_of_measure=measure)
    assert back == pytest.approx(value, rel=2e-6, abs=1e-9)


@pytest.mark.parametrize("row", CONSTANTS, ids=str)
def test_constant(row: shelves.Row) -> None:
    row.check(getattr(quantities, row["function"]))
