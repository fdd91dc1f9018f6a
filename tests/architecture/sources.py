"""Reads the project's own source as syntax trees, for the tests beside this file."""

from __future__ import annotations

import ast
import importlib
import tomllib
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

ROOT = Path(__file__).resolve().parents[2]
PACKAGE = ROOT / "src" / "ventwright"
CODE_FOLDERS = ("src", "tests", "tools", "benchmarks")

with (ROOT / "pyproject.toml").open("rb") as _file:
    PYPROJECT = tomllib.load(_file)

ROOMS_CONTRACT = next(
    contract
    for contract in PYPROJECT["tool"]["importlinter"]["contracts"]
    if contract["type"] == "rooms"
)
ROOMS = tuple(row.partition(":")[0] for row in ROOMS_CONTRACT["rows"])
ENGINE = tuple(ROOMS_CONTRACT["engine"])


@dataclass(frozen=True, slots=True, kw_only=True)
class Module:
    """One file of the package with its tree."""

    path: Path
    tree: ast.Module

    @property
    def room(self) -> str:
        """The room the file lies in, empty for files above all rooms."""
        parts = self.path.relative_to(PACKAGE).parts
        return parts[0] if len(parts) > 1 else ""

    def at(self, node: ast.AST) -> str:
        """File and line, as an editor opens them."""
        return f"{self.path.relative_to(ROOT)}:{getattr(node, 'lineno', 1)}"


def existing(rooms: tuple[str, ...]) -> tuple[str, ...]:
    """Return those rooms that are there."""
    return tuple(room for room in rooms if (PACKAGE / room / "__init__.py").is_file())


def code_files() -> list[Path]:
    """Return every Python file of the repository."""
    return sorted(path for folder in CODE_FOLDERS for path in (ROOT / folder).rglob("*.py"))


def modules(rooms: tuple[str, ...] | None = None) -> list[Module]:
    """Return the modules of the package, or those of some rooms."""
    read = [
        Module(path=path, tree=ast.parse(path.read_text(encoding="utf-8"), filename=str(path)))
        for path in sorted(PACKAGE.rglob("*.py"))
    ]
    return [module for module in read if rooms is None or module.room in rooms]


def exported(room: str) -> set[str]:
    """Return the names in a room's `__all__`: they alone are public."""
    if room not in existing((room,)):
        return set()
    tree = ast.parse((PACKAGE / room / "__init__.py").read_text(encoding="utf-8"))
    for node in tree.body:
        if isinstance(node, ast.Assign) and "__all__" in names_in(node.targets[0]):
            return set(ast.literal_eval(node.value))
    return set()


def public_functions(module: Module) -> Iterator[ast.FunctionDef | ast.AsyncFunctionDef]:
    """Yield the exported functions and the public methods of exported classes."""
    for node in _public_definitions(module):
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef):
            yield node


def public_fields(module: Module) -> Iterator[tuple[ast.ClassDef, ast.AnnAssign, str]]:
    """Yield the annotated fields of exported classes."""
    for node in _public_definitions(module):
        if isinstance(node, ast.ClassDef):
            for item in node.body:
                if isinstance(item, ast.AnnAssign) and isinstance(item.target, ast.Name):
                    yield node, item, item.target.id


def _public_definitions(module: Module) -> Iterator[ast.stmt]:
    names = exported(module.room)
    for node in module.tree.body:
        if not isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef | ast.ClassDef):
            continue
        # A protocol copies the shape of something that is not ours to name.
        if node.name in names and not _is_protocol(node):
            yield node
            if isinstance(node, ast.ClassDef):
                yield from (item for item in node.body if _is_public_method(item))


def _is_protocol(node: ast.stmt) -> bool:
    bases = node.bases if isinstance(node, ast.ClassDef) else []
    return any("Protocol" in names_in(base) for base in bases)


def _is_public_method(item: ast.stmt) -> bool:
    is_function = isinstance(item, ast.FunctionDef | ast.AsyncFunctionDef)
    return is_function and not item.name.startswith("_")


def parameters(function: ast.FunctionDef | ast.AsyncFunctionDef) -> list[ast.arg]:
    """Return every named parameter but `self` and `cls`."""
    arguments = function.args
    named = [*arguments.posonlyargs, *arguments.args, *arguments.kwonlyargs]
    return [arg for arg in named if arg.arg not in {"self", "cls"}]


def names_in(annotation: ast.expr | None) -> set[str]:
    """Return the names an annotation is made of; a quoted annotation is parsed first."""
    if annotation is None:
        return set()
    found = set()
    for node in ast.walk(annotation):
        if isinstance(node, ast.Name):
            found.add(node.id)
        elif isinstance(node, ast.Attribute):
            found.add(node.attr)
        elif isinstance(node, ast.Constant) and isinstance(node.value, str):
            found |= names_in(ast.parse(node.value, mode="eval").body)
    return found


def public_objects(kind: type) -> Iterator[tuple[str, Any]]:
    """Yield the public names of every room that are of one kind and defined in that room."""
    for room in existing(ROOMS):
        package = importlib.import_module(f"ventwright.{room}")
        for name in getattr(package, "__all__", ()):
            thing = getattr(package, name)
            here = getattr(thing, "__module__", "").startswith(f"ventwright.{room}")
            if isinstance(thing, kind) and here:
                yield f"{room}.{name}", thing
