"""The import contract of this repository: one row per room, everything else refused.

The layers contract that comes with import-linter says which way imports run. It can't say that
`house` may not see `air` although it lies higher, nor that a room uses no third-party package: this
contract does, from the table in ``pyproject.toml``.
"""

from __future__ import annotations

import sys
from typing import Any

from grimp import ImportGraph
from importlinter import Contract, ContractCheck, fields, output

ROOT = "ventwright"
ANYTHING = "ANYTHING"
ENGINE = "ENGINE"


def room_of(module: str) -> str:
    """Return the room a module lies in, the package's own name for modules outside all rooms.

    >>> room_of("ventwright.air.states"), room_of("ventwright")
    ('air', 'ventwright')
    """
    parts = module.split(".")
    return parts[1] if parts[0] == ROOT and len(parts) > 1 else parts[0]


def is_allowed(imported: str, allowed: set[str]) -> bool:
    """Tell whether a module is of the standard library or named in the row.

    >>> is_allowed("json", set()), is_allowed("numpy.linalg", set()), is_allowed("numpy", {"numpy"})
    (True, False, True)
    """
    top = imported.split(".", maxsplit=1)[0]
    return top in sys.stdlib_module_names or room_of(imported) in allowed


class RoomsContract(Contract):
    """Each room imports only the rooms and packages of its row.

    Configuration options:
        - rows:       ``"room: name name"``; a name is a room or a third-party package, ``ENGINE``
                      stands for all engine rooms, ``ANYTHING`` lifts the limit.
        - engine:     the engine rooms.
        - everywhere: names allowed in every row.
    """

    type_name = "rooms"

    rows = fields.ListField(subfield=fields.StringField())
    engine = fields.SetField(subfield=fields.StringField())
    everywhere = fields.SetField(subfield=fields.StringField())

    def check(self, graph: ImportGraph, verbose: bool) -> ContractCheck:
        """Compare every direct import in the graph with its room's row."""
        table = self._table()
        broken = []
        for importer in sorted(graph.modules):
            room = room_of(importer)
            if not importer.startswith(f"{ROOT}.") or room == "__main__":
                continue
            if room not in table:
                broken.append(
                    {"importer": importer, "imported": "(the room has no row)", "line": 0}
                )
                continue
            if ANYTHING in table[room]:
                continue
            allowed = table[room] | {room}
            for imported in sorted(graph.find_modules_directly_imported_by(importer)):
                output.verbose_print(verbose, f"{importer} imports {imported}")
                if is_allowed(imported, allowed):
                    continue
                for detail in graph.get_import_details(importer=importer, imported=imported):
                    broken.append(
                        {"importer": importer, "imported": imported, "line": detail["line_number"]}
                    )
        return ContractCheck(kept=not broken, metadata={"broken": broken})

    def render_broken_contract(self, check: ContractCheck) -> None:
        """Print one line per import that no row allows."""
        for item in check.metadata["broken"]:
            output.print_error(f"{item['importer']}:{item['line']} imports {item['imported']}")

    def _table(self) -> dict[str, set[str]]:
        options: Any = self
        everywhere = set(options.everywhere)
        engine = set(options.engine)
        table = {}
        for row in options.rows:
            room, _, names = row.partition(":")
            allowed = set(names.split()) | everywhere
            table[room.strip()] = allowed | engine if ENGINE in allowed else allowed
        return table
