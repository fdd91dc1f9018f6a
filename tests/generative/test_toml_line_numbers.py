"""Lines of key paths in TOML that was put together piece by piece, each piece's line known.

Each text value is a marker of its own. The document is read with the standard library, which says
at which path each marker stands; the writer of the document says on which line it was begun.
"""

from __future__ import annotations

import tomllib
from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Any

from hypothesis import given
from hypothesis import strategies as st

from ventwright.exchange.toml_lines import lines_of

FILLS = st.sampled_from(["", " ", "\t", "  "])
BREAKS = st.sampled_from(["", " ", "\n", " # ]}[{\"'=\n", "\n\n", "\r\n", "\n# a = [\n\t"])
KEYS = st.sampled_from(["{}", '"{} x"', "'{}=#'", '"{}\\t\\u00e9"', "{}.sub", "{} . 'a b'"])
TEXTS = ('"{}"', "'{}'", '"""{}"""', '"""\n{}\n"""', "'''\n\n{}'''", '"""{} \\\n  """')
MORE_TEXTS = ('"{} # [ = \\" \\\\"', "'{}\\'", '"""{} ""\\""""', "'''{} ''  '''''", '"""{}\n"""""')
PLAIN = st.sampled_from(["1", "-0.5e3", "true", "inf", "0x1F", "1979-05-27 07:32:00", "07:32:00"])


@dataclass
class Document:
    """Text so far, and the line on which each marker's key or item was begun."""

    text: str = ""
    line_of: dict[str, int] = field(default_factory=dict)
    count: int = 0

    @property
    def line(self) -> int:
        return self.text.count("\n") + 1

    def number(self) -> int:
        self.count += 1
        return self.count


def emit_value(draw: st.DrawFn, doc: Document, begun_line: int, depth: int) -> None:
    kind = draw(st.sampled_from(["text", "text", "plain", "list", "table"] if depth else ["text"]))
    if kind == "text":
        marker = f"m{doc.number()}m"
        doc.line_of[marker] = begun_line
        doc.text += draw(st.sampled_from(TEXTS + MORE_TEXTS)).format(marker)
    elif kind == "plain":
        doc.text += draw(PLAIN)
    elif kind == "list":
        doc.text += "["
        for i in range(draw(st.integers(0, 3))):
            doc.text += ("," if i else "") + draw(BREAKS)
            emit_value(draw, doc, doc.line, depth - 1)
            doc.text += draw(BREAKS)
        doc.text += "]"
    else:
        doc.text += "{"
        for i in range(draw(st.integers(0, 3))):
            doc.text += ("," if i else "") + draw(FILLS)
            emit_pair(draw, doc, depth - 1)
            doc.text += draw(FILLS)
        doc.text += "}"


def emit_pair(draw: st.DrawFn, doc: Document, depth: int) -> None:
    begun_line = doc.line
    key = draw(KEYS).format(f"k{doc.number()}")
    doc.text += f"{key}{draw(FILLS)}={draw(FILLS)}"
    emit_value(draw, doc, begun_line, depth)


def emit_header(draw: st.DrawFn, doc: Document, items: set[str]) -> None:
    name = draw(st.sampled_from(["a", "b"]))
    nested = f"{name}.'c d'"
    choices = [f"[[{name}]]", f"[t{doc.number()}]", f"[t{doc.number()}. x . 'y.z']"]
    if name in items:
        choices += [f"[{name}.s{doc.number()}]", f"[[ {nested} ]]"]
    if nested in items:
        choices.append(f"[{nested}.s{doc.number()}]")
    header = draw(st.sampled_from(choices))
    if header == f"[[{name}]]":
        items.add(name)
        items.discard(nested)
    elif header == f"[[ {nested} ]]":
        items.add(nested)
    doc.text += draw(FILLS) + header


@st.composite
def documents(draw: st.DrawFn) -> Document:
    doc = Document()
    items: set[str] = set()
    for _ in range(draw(st.integers(0, 8))):
        doc.text += draw(BREAKS)
        if draw(st.booleans()):
            emit_header(draw, doc, items)
        else:
            emit_pair(draw, doc, depth=3)
        doc.text += draw(st.sampled_from(["\n", " # x\n", "\r\n"]))
    return doc


def markers(value: Any, path: str = "") -> Iterator[tuple[str, str]]:
    if isinstance(value, dict):
        for key, item in value.items():
            yield from markers(item, f"{path}.{key}" if path else key)
    elif isinstance(value, list):
        for i, item in enumerate(value):
            yield from markers(item, f"{path}[{i}]")
    elif isinstance(value, str):
        yield path, value[value.index("m") : value.rindex("m") + 1]


@given(documents())
def test_each_marker_is_found_on_the_line_it_was_begun(doc: Document) -> None:
    lines = lines_of(doc.text)
    found = dict(markers(tomllib.loads(doc.text)))
    assert {path: lines[path] for path in found} == {
        path: doc.line_of[marker] for path, marker in found.items()
    }
    assert set(found.values()) == set(doc.line_of)
