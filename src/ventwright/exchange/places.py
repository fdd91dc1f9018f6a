"""From the key path of a problem to the file and line it stands on."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import replace

from ventwright.quantities import Problem
from ventwright.quantities.records import dataclass

_LIST_OF_WORD = {
    "system": "systems",
    "branch": "branches",
    "terminal": "terminals",
    "fan_setting": "fan_settings",
    "room": "rooms",
    "surface": "surfaces",
    "reading": "readings",
    "instrument": "instruments",
    "adjustment": "adjustments",
    "fault": "faults",
    "final_setting": "final_settings",
}
_NAMED = re.compile(rf"({'|'.join(_LIST_OF_WORD)}) ")


@dataclass(frozen=True, slots=True, kw_only=True)
class Place:
    """A line of a file."""

    file: str
    line: int


class Places:
    """Where the parts of one record were typed; parts may come from more than one file."""

    def __init__(self, *, top: Place) -> None:
        self._top = top
        self._of_path: dict[str, Place] = {}
        self._of_name: dict[str, str] = {}

    def add(self, file: str, lines: Mapping[str, int]) -> None:
        """Take in the lines of one file."""
        for path, line in lines.items():
            self._of_path.setdefault(path, Place(file=file, line=line))

    def name_items(self, mapping: object, path: str = "") -> None:
        """Remember the path of each item that has an id, as ``terminal t3`` names it."""
        if isinstance(mapping, Mapping):
            for key, value in mapping.items():
                below = f"{path}.{key}" if path else str(key)
                self.name_items(value, below)
                self._name_list(str(key), value, below)
        elif isinstance(mapping, list):
            for i, item in enumerate(mapping):
                self.name_items(item, f"{path}[{i}]")

    def _name_list(self, key: str, value: object, path: str) -> None:
        word = next((w for w, name in _LIST_OF_WORD.items() if name == key), None)
        if word is None or not isinstance(value, list):
            return
        for i, item in enumerate(value):
            if isinstance(item, Mapping):
                ident = item.get("target" if word == "final_setting" else "id")
                if isinstance(ident, str):
                    self.name(f"{word} {ident}", f"{path}[{i}]")

    def name(self, name: str, path: str) -> None:
        """Remember one path by name; the first of several with one id keeps it."""
        self._of_name.setdefault(name, path)

    def of(self, where: str) -> Place:
        """Return the place of a path, of the nearest part above it, or the top of the file."""
        path = self._path_of_name(where) if _NAMED.match(where) else where
        while path:
            found = self._of_path.get(path)
            if found is not None:
                return found
            path = path[: max(path.rfind("."), path.rfind("["), 0)]
        return self._top

    def _path_of_name(self, where: str) -> str:
        """``terminal t3.room`` → ``systems[0].terminals[2].room``; ids may hold dots themselves."""
        end = len(where)
        while end > 0:
            found = self._of_name.get(where[:end])
            if found is not None:
                return found + where[end:]
            end = where.rfind(".", 0, end)
        return where

    def on(self, problems: Iterable[Problem]) -> tuple[Problem, ...]:
        """Write file and line before the key path of each problem."""
        located = []
        for problem in problems:
            place = self.of(problem.where)
            ahead = f"{place.file}:{place.line}"
            where = f"{ahead}: {problem.where}" if problem.where else ahead
            located.append(replace(problem, where=where))
        return tuple(located)
