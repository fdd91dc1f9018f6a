"""The import contracts hold, and the project's own kind of contract finds what it is for."""

from __future__ import annotations

from pathlib import Path

import pytest
from grimp import ImportGraph
from importlinter.cli import EXIT_STATUS_SUCCESS, lint_imports

from tests.architecture import sources
from tools.contracts import RoomsContract

ROWS = ["quantities:", "air:", "house:", "trials: numpy", "findings: ENGINE", "wiring: ANYTHING"]


def test_contracts_of_the_project_are_kept(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(sources.ROOT)
    config = str(Path("pyproject.toml"))
    assert lint_imports(config_filename=config, no_cache=True) == EXIT_STATUS_SUCCESS


def broken(importer: str, imported: str) -> bool:
    graph = ImportGraph()
    for name in (importer, imported):
        graph.add_module(name, is_squashed=not name.startswith("ventwright"))
    graph.add_import(importer=importer, imported=imported, line_number=1, line_contents="import")
    options = {"rows": ROWS, "engine": ["quantities", "air", "house"], "everywhere": ["quantities"]}
    contract = RoomsContract(name="rooms", session_options={}, contract_options=options)
    return not contract.check(graph, verbose=False).kept


@pytest.mark.parametrize(
    ("importer", "imported"),
    [
        ("ventwright.house.plan", "ventwright.air"),
        ("ventwright.air", "numpy"),
        ("ventwright.quantities", "ventwright.house.plan"),
        ("ventwright.trials", "ventwright.air"),
        ("ventwright.air.states", "ventwright"),
        ("ventwright.attic", "ventwright.quantities"),
    ],
)
def test_import_outside_the_row_is_found(importer: str, imported: str) -> None:
    assert broken(importer, imported)


@pytest.mark.parametrize(
    ("importer", "imported"),
    [
        ("ventwright.house.plan", "ventwright.house.unit_data"),
        ("ventwright.air", "math"),
        ("ventwright.air", "ventwright.quantities.words"),
        ("ventwright.findings", "ventwright.house"),
        ("ventwright.trials", "numpy"),
        ("ventwright.wiring", "numpy"),
    ],
)
def test_import_of_the_row_is_kept(importer: str, imported: str) -> None:
    assert not broken(importer, imported)
