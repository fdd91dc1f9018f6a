"""The reference values and the shelf each one lies on.

Three shelves: `published` (printed by someone else), `independent` (calculated by another method or
library) and `frozen` (our own output, kept only with a version and a reason). Every row of every
CSV file in this folder names its source, and a full run fails if a row was not executed.

A test takes its rows as parameters, which is what marks them as executed::

    @pytest.mark.parametrize("row", shelves.rows("moist_air.csv"), ids=str)
    def test_moist_air(row):
        row.check(saturation_pressure_pa(**row.inputs))
"""

from __future__ import annotations

import csv
import json
import math
from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

FOLDER = Path(__file__).resolve().parent
KINDS = ("published", "independent", "frozen")
NEEDED = ("case_id", "source_key", "locator", "kind")


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """One reference value, or one line of a wide table.

    Cells are kept as text: `number` and `inputs` read them where they are used, so a wide table
    may have columns of its own.
    """

    file: str
    line: int
    cells: dict[str, str] = field(hash=False)

    def __str__(self) -> str:
        return self.case_id

    def __getitem__(self, column: str) -> str:
        return self.cells[column]

    @property
    def key(self) -> tuple[str, str]:
        return self.file, self.case_id

    @property
    def case_id(self) -> str:
        return self.cells["case_id"]

    @property
    def kind(self) -> str:
        return self.cells["kind"]

    @property
    def inputs(self) -> dict[str, Any]:
        return dict(json.loads(self.cells["inputs"]))

    @property
    def expected(self) -> float:
        return self.number("expected")

    @property
    def tolerance(self) -> float:
        """The wider of the absolute and the relative tolerance of this row."""
        absolute = float(self.cells.get("tol_abs") or 0.0)
        relative = float(self.cells.get("tol_rel") or 0.0)
        return max(absolute, relative * abs(self.expected))

    def number(self, column: str) -> float:
        return float(self.cells[column])

    def check(self, actual: float) -> None:
        """Fail with place, source and both values unless `actual` is what the row expects."""
        within = math.isfinite(actual) and abs(actual - self.expected) <= self.tolerance
        assert within, (
            f"{self.file}:{self.line} {self.case_id}: {actual!r}, expected {self.expected!r}"
            f" ± {self.tolerance:.3g} ({self['source_key']}, {self['locator']})"
        )


def files() -> list[str]:
    """Return the name of every CSV file of reference values."""
    return sorted(path.name for path in FOLDER.glob("*.csv"))


def rows(name: str, *, where: Callable[[Row], bool] = lambda _: True) -> list[Row]:
    """Return the rows of one file that `where` picks."""
    with (FOLDER / name).open(encoding="utf-8", newline="") as file:
        reader = csv.DictReader(file)
        read = [Row(file=name, line=reader.line_num, cells=cells) for cells in reader]
    picked = [row for row in read if where(row)]
    if not picked:
        raise LookupError(f"no row of {name} was picked")
    return picked


def all_rows() -> list[Row]:
    """Return every row of every file."""
    return [row for name in files() for row in rows(name)]


def counts_by_kind() -> Counter[str]:
    """Return how many rows lie on each shelf."""
    return Counter(row.kind for row in all_rows())
