"""Pages of reference read from the sources: public names, problem codes, settings.

They are read from the syntax tree and not from imported modules, so that writing them needs no
optional package and always gives the same text.
"""

from __future__ import annotations

import ast
import re
import tomllib
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import TypeGuard

PACKAGE = Path(__file__).resolve().parent.parent / "src" / "ventwright"
_CODE = re.compile(r"[a-z0-9]+(?:-(?:[a-z0-9]+|\{…\}))+|[a-z]+|\{…\}(?:-[a-z0-9]+)+")
_SETTING = re.compile(r"\bVENTWRIGHT_[A-Z][A-Z0-9_]*\b")
_GIVEN = ("Advice", "Explanation")
"""Records whose codes are advice to the user and no problem."""
SETTINGS = {
    "VENTWRIGHT_DATABASE_URL": "Address of the record, as SQLAlchemy writes it; without it a file "
    "in the user's data folder.",
}
"""What each environment variable sets; one that is read and not named here stops the page."""

Found = dict[str, dict[str, set[str]]]


def _trees() -> Iterator[tuple[str, ast.Module]]:
    for path in sorted(PACKAGE.rglob("*.py")):
        parts = path.relative_to(PACKAGE).parts
        room = parts[0] if len(parts) > 1 else "ventwright"
        yield room, ast.parse(path.read_text(encoding="utf-8"))


def _cell(text: str) -> str:
    return " ".join(text.split()).replace("|", "\\|")


# --- public names ------------------------------------------------------------------------------


def public_names() -> dict[str, dict[str, str]]:
    """Return room → public name → first line of its docstring, with a function's parameters.

    A room's `__all__` says what is public.
    """
    found: dict[str, dict[str, str]] = {}
    for folder in sorted(p for p in PACKAGE.iterdir() if (p / "__init__.py").is_file()):
        names = _exported(folder / "__init__.py")
        if names:
            told = _definitions(folder)
            found[folder.name] = {name: told.get(name, "value") for name in sorted(names)}
    return found


def _exported(path: Path) -> list[str]:
    for node in ast.parse(path.read_text(encoding="utf-8")).body:
        if isinstance(node, ast.Assign) and ast.unparse(node.targets[0]) == "__all__":
            return [str(name) for name in ast.literal_eval(node.value)]
    return []


def _definitions(folder: Path) -> dict[str, str]:
    told: dict[str, str] = {}
    for path in sorted(folder.rglob("*.py")):
        for node in ast.parse(path.read_text(encoding="utf-8")).body:
            if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef):
                told.setdefault(node.name, f"`{_call(node)}` {_first_line(node)}")
            elif isinstance(node, ast.ClassDef):
                told.setdefault(node.name, f"{_first_line(node)}")
    return told


def _call(node: ast.FunctionDef | ast.AsyncFunctionDef) -> str:
    a = node.args
    names = [p.arg for p in (*a.posonlyargs, *a.args)]
    names += [f"*{a.vararg.arg}"] if a.vararg else (["*"] if a.kwonlyargs else [])
    names += [p.arg for p in a.kwonlyargs]
    names += [f"**{a.kwarg.arg}"] if a.kwarg else []
    return f"({', '.join(names)})"


def _first_line(node: ast.FunctionDef | ast.AsyncFunctionDef | ast.ClassDef) -> str:
    return (ast.get_docstring(node) or "").partition("\n\n")[0].replace("\n", " ")


def names_page() -> str:
    """Return the page of public names, room by room."""
    lines = ["# Public names", "", "Read from the sources by `make docs`. Import a name from its "]
    lines[-1] += "room: `from ventwright.air import moist_air_from`. Names of functions show their "
    lines[-1] += "parameters; units of measure stand in the names (`_m3_s`, `_pa`, `_c`)."
    for room, names in public_names().items():
        lines += ["", f"## `ventwright.{room}`", "", "| name | what it is |", "|---|---|"]
        lines += [f"| `{name}` | {_cell(text)} |" for name, text in names.items()]
    return "\n".join(lines) + "\n"


# --- problem codes -----------------------------------------------------------------------------


def problem_codes() -> tuple[Found, Found]:
    """Return problems and advice: code → what it says → rooms that give it.

    Codes are found where a call names `code=`, and where a function with a parameter `code` is
    called with a constant in its place.
    """
    trees = list(_trees())
    places = {name: _parameter_places(trees, name) for name in ("code", "message")}
    problems: Found = {}
    advice: Found = {}
    for room, tree in trees:
        for call, known in _calls(tree):
            name = ast.unparse(call.func).rpartition(".")[2]
            found = advice if name in _GIVEN else problems
            messages = list(_given(call, "message", places["message"].get(name), {}))
            for code in _given(call, "code", places["code"].get(name), known):
                if _CODE.fullmatch(code):
                    said = messages[0] if messages else ""
                    found.setdefault(code, {}).setdefault(said, set()).add(room)
    return problems, advice


def _parameter_places(trees: list[tuple[str, ast.Module]], parameter: str) -> dict[str, int]:
    """Name of a function or class → place of one of its parameters."""
    places: dict[str, int] = {}
    for _, tree in trees:
        owners = {
            id(item): node.name
            for node in ast.walk(tree)
            if isinstance(node, ast.ClassDef)
            for item in node.body
        }
        for node in ast.walk(tree):
            if not isinstance(node, ast.FunctionDef):
                continue
            names = [p.arg for p in (*node.args.posonlyargs, *node.args.args)]
            owner = owners.get(id(node))
            if parameter in names:
                called = owner if owner and node.name == "__init__" else node.name
                places[called] = names.index(parameter) - (names[0] in ("self", "cls"))
    return places


def _calls(tree: ast.Module) -> Iterator[tuple[ast.Call, dict[str, set[str]]]]:
    """Yield each call with the texts that names around it can stand for."""
    outer = _named_texts(tree.body, {})
    inside: dict[int, dict[str, set[str]]] = {}
    for node in ast.walk(tree):
        if isinstance(node, ast.FunctionDef):
            names = _named_texts(list(ast.walk(node)), outer)
            inside |= {id(child): names for child in ast.walk(node)}
    for node in ast.walk(tree):
        if isinstance(node, ast.Call):
            yield node, inside.get(id(node), outer)


def _named_texts(nodes: Sequence[ast.AST], outer: dict[str, set[str]]) -> dict[str, set[str]]:
    """Names given by assignments and loops, each with every code in what they are given."""
    found: dict[str, set[str]] = dict(outer)
    for node in nodes:
        if isinstance(node, ast.Assign):
            targets, value = node.targets, node.value
        elif isinstance(node, ast.For | ast.comprehension):
            targets, value = [node.target], node.iter
        else:
            continue
        texts = {
            text
            for inner in ast.walk(value)
            for text in (
                found.get(inner.id, ()) if isinstance(inner, ast.Name) else _literal(inner)
            )
        }
        # A code of one word is told from other words by the name it is given.
        single = {t for t in _texts(value) if _CODE.fullmatch(t)}
        for name in (n.id for target in targets for n in ast.walk(target) if _is_name(n)):
            found[name] = found.get(name, set()) | texts | (single if name == "code" else set())
    return found


def _is_name(node: ast.AST) -> TypeGuard[ast.Name]:
    return isinstance(node, ast.Name)


def _literal(node: ast.AST) -> Iterator[str]:
    """A text that can only be a code: words joined by hyphens."""
    text = node.value if isinstance(node, ast.Constant) else None
    if isinstance(text, str) and "-" in text and _CODE.fullmatch(text):
        yield text


def _given(
    call: ast.Call, parameter: str, place: int | None, known: dict[str, set[str]]
) -> Iterator[str]:
    """Texts that a call hands in under a parameter, by its name or in its place."""
    given = [k.value for k in call.keywords if k.arg == parameter]
    if not given and place is not None and place < len(call.args):
        given = [call.args[place]]
    for value in given:
        if isinstance(value, ast.Name):
            yield from sorted(known.get(value.id, ()))
        else:
            yield from _texts(value)


def _texts(value: ast.expr) -> Iterator[str]:
    """Texts an expression can be; what is filled in later stands as `{…}`."""
    if isinstance(value, ast.Constant) and isinstance(value.value, str):
        yield value.value
    elif isinstance(value, ast.IfExp):
        yield from _texts(value.body)
        yield from _texts(value.orelse)
    elif isinstance(value, ast.JoinedStr):
        yield "".join(
            str(part.value) if isinstance(part, ast.Constant) else "{…}" for part in value.values
        )
    elif isinstance(value, ast.BinOp) and isinstance(value.op, ast.Add):
        for left in _texts(value.left):
            for right in _texts(value.right):
                yield left + right


def codes_page() -> str:
    """Return the page of problem codes and of advice."""
    problems, advice = problem_codes()
    words = tomllib.loads((PACKAGE / "report" / "words_en.toml").read_text(encoding="utf-8"))
    sentences = words["explanation"] | words["advice"]
    for code, messages in advice.items():
        messages.setdefault(re.sub(r"\{\w*\}", "{…}", sentences.get(code, "")), set())
    lines = [
        "# Codes",
        "",
        "Read from the sources by `make docs`. A problem has a code, the place it speaks of, what "
        "was found and what helps; its severity is a mistake in a file, a refusal (no figure is "
        "given), a warning or a note. Codes never change their meaning. `{…}` is filled in.",
        "",
        "## Problems",
        "",
        *_code_rows(problems),
        "",
        "## Advice and explanations",
        "",
        *_code_rows(advice),
    ]
    return "\n".join(lines) + "\n"


def _code_rows(found: Found) -> Iterator[str]:
    yield "| code | says | given by |"
    yield "|---|---|---|"
    for code, messages in sorted(found.items()):
        said = "; or: ".join(sorted(m for m in messages if m))
        rooms = ", ".join(sorted({f"`{room}`" for given in messages.values() for room in given}))
        yield f"| `{code}` | {_cell(said)} | {rooms} |"


# --- settings ----------------------------------------------------------------------------------


def settings_read() -> set[str]:
    """Return the environment variables of ours that the sources name."""
    texts = (p.read_text(encoding="utf-8") for p in PACKAGE.rglob("*.py"))
    return {name for text in texts for name in _SETTING.findall(text)}


def settings_page() -> str:
    """Return the page of settings."""
    unknown = settings_read() - SETTINGS.keys()
    if unknown:
        raise SystemExit(f"tools/reference.py: say in SETTINGS what {sorted(unknown)} set")
    lines = [
        "# Settings",
        "",
        "Everything else is an option of a command ([commands](cli.md)) or a field of a file "
        "([house](schema/house.schema.json), [visit](schema/visit.schema.json)).",
        "",
        "| environment variable | what it sets |",
        "|---|---|",
        *(f"| `{name}` | {_cell(SETTINGS[name])} |" for name in sorted(settings_read())),
    ]
    return "\n".join(lines) + "\n"
