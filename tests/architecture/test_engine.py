"""The engine rooms are pure and stand on the standard library."""

from __future__ import annotations

import ast
import importlib
import json
import subprocess
import sys

import pytest

from tests.architecture import sources

# What an engine room may use of the standard library. Nothing here reads a disk, a clock, a network
# or an environment, and nothing here is slow to import.
STANDARD = {
    *("__future__", "abc", "bisect", "cmath", "collections", "copy", "dataclasses", "datetime"),
    *("difflib", "enum", "functools", "hashlib", "heapq", "itertools", "json", "math", "operator"),
    *("random", "re", "string", "types", "typing", "unicodedata"),
}
BESIDE = {"annotated_types", "ventwright"}
CLOCK = {"now", "utcnow", "today", "fromtimestamp"}
OUTSIDE = {"open", "print", "input", "exec", "eval", "__import__"}
# Compiles the `__init__` of a record from its field names; nothing that was read goes into it.
COMPILES = "records.py"
# Imports a module of the package by its name; the names stand in the package.
LOADS = {"later.py": {"importlib", "sys"}}
# A generator is made from a seed that the caller gave; the module's own functions hide theirs.
SEEDED = {"Random"}

IMPORT_ALL = """
import importlib, json, pkgutil, sys, time
before = set(sys.modules)
began = time.perf_counter()
for room in sys.argv[1:]:
    package = importlib.import_module("ventwright." + room)
    for found in pkgutil.walk_packages(package.__path__, package.__name__ + "."):
        importlib.import_module(found.name)
seconds = time.perf_counter() - began
print(json.dumps({"seconds": seconds, "modules": sorted(set(sys.modules) - before)}))
"""


def imported_names(tree: ast.Module) -> list[tuple[ast.stmt, str]]:
    found: list[tuple[ast.stmt, str]] = []
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            found += [(node, alias.name) for alias in node.names]
        elif isinstance(node, ast.ImportFrom) and node.level == 0:
            found.append((node, node.module or ""))
    return found


def test_engine_imports_are_of_the_short_list() -> None:
    wrong = [
        f"{module.at(node)} imports {name}"
        for module in sources.modules(sources.ENGINE)
        for node, name in imported_names(module.tree)
        if name.partition(".")[0] not in STANDARD | BESIDE | LOADS.get(module.path.name, set())
    ]
    assert not wrong, "\n".join(wrong)


def test_engine_reads_no_clock_disk_or_hidden_random_numbers() -> None:
    wrong = []
    for module in sources.modules(sources.ENGINE):
        for node in ast.walk(module.tree):
            if isinstance(node, ast.Global):
                wrong.append(f"{module.at(node)} global {', '.join(node.names)}")
            elif isinstance(node, ast.Call) and isinstance(node.func, ast.Name):
                if node.func.id in OUTSIDE and module.path.name != COMPILES:
                    wrong.append(f"{module.at(node)} {node.func.id}()")
            elif isinstance(node, ast.Attribute):
                owner = node.value.id if isinstance(node.value, ast.Name) else ""
                if node.attr in CLOCK and owner in {"date", "datetime"}:
                    wrong.append(f"{module.at(node)} {owner}.{node.attr}")
                if owner == "random" and node.attr not in SEEDED:
                    wrong.append(f"{module.at(node)} random.{node.attr}")
            elif isinstance(node, ast.ImportFrom) and node.module == "random":
                names = {alias.name for alias in node.names} - SEEDED
                wrong += [f"{module.at(node)} random.{name}" for name in sorted(names)]
    assert not wrong, "\n".join(wrong)


def test_records_are_made_by_the_cheap_decorator() -> None:
    """The standard one costs more than half of the engine's import; see decision 0007."""
    wrong = [
        module.at(node)
        for module in sources.modules(sources.ENGINE)
        for node in ast.walk(module.tree)
        if isinstance(node, ast.ImportFrom) and node.module == "dataclasses"
        if module.path.name != COMPILES and "dataclass" in {name.name for name in node.names}
    ]
    assert not wrong, "\n".join(wrong)


def test_rooms_are_imported_without_the_standard_dataclasses() -> None:
    """They bring a parser and a disassembler; `records` asks for them when fields are listed."""
    program = "import importlib, sys\nfor room in sys.argv[1:]: importlib.import_module(room)\n"
    program += "print(*sys.modules)"
    rooms = [f"ventwright.{room}" for room in sources.existing(sources.ENGINE)]
    command = [sys.executable, "-S", "-c", program, *rooms]
    paths = {"PYTHONPATH": str(sources.PACKAGE.parent)}
    done = subprocess.run(command, capture_output=True, text=True, check=False, env=paths)
    assert done.returncode == 0, done.stderr
    loaded = set(done.stdout.split())
    assert set(rooms) <= loaded
    assert not loaded & {"dataclasses", "inspect", "ast", "dis"}


def _homes_of(room: str) -> set[str]:
    """Modules of a room that it imports later."""
    tree = ast.parse((sources.PACKAGE / room / "__init__.py").read_text(encoding="utf-8"))
    calls = [n for n in ast.walk(tree) if isinstance(n, ast.Call)]
    later = [call.args[1:] for call in calls if ast.unparse(call.func) == "later"]
    return {ast.literal_eval(home) for homes in later for home in homes}


def test_what_is_imported_later_is_public_and_there() -> None:
    """A public name that is also a module's would give the module once that is loaded."""
    for name in sources.existing(sources.ENGINE):
        room = importlib.import_module(f"ventwright.{name}")
        assert not _homes_of(name) & set(room.__all__), name
        for public in room.__all__:
            assert getattr(room, public) is not None, f"{name}.{public}"
        with pytest.raises(AttributeError, match="no_such_name"):
            room.no_such_name  # noqa: B018


def test_engine_loads_no_third_party_package_but_annotated_types() -> None:
    rooms = sources.existing(sources.ENGINE)
    assert rooms
    command = [sys.executable, "-c", IMPORT_ALL, *rooms]
    done = subprocess.run(command, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    result = json.loads(done.stdout)
    tops = {name.partition(".")[0] for name in result["modules"]}
    print(f"{len(rooms)} engine rooms imported in {1e3 * result['seconds']:.1f} ms")
    assert f"ventwright.{rooms[-1]}" in result["modules"]
    assert tops - sys.stdlib_module_names - BESIDE == set()
