"""Typed text made safe to print: what the typefaces lack is named, what is too long may break."""

from __future__ import annotations

import unicodedata
from importlib import resources

_BREAK = "\u200b"
_LONG_WORD = 16
_PIECE = 6
_ISOLATES = (0x2068, 0x2069)
"""Marks that hold a name of another direction together; they draw nothing and turn nothing else."""
_JOINTS = ":/_.,;=@"


def _printable() -> frozenset[int]:
    text = resources.files(__package__).joinpath("glyphs.txt").read_text("ascii")
    found: set[int] = set()
    for part in text.split():
        first, _, last = part.partition("-")
        found.update(range(int(first, 16), int(last or first, 16) + 1))
    return frozenset(found.union(_ISOLATES))


class Printer:
    """Prepares texts for the document; made once for each of them."""

    def __init__(self) -> None:
        self._known = _printable()
        self.substituted_count = 0

    def text(self, typed: str) -> str:
        """The text with a name for each character that no typeface of the document has.

        Parameters
        ----------
        typed
            Any text.

        >>> Printer().text("ok \U0001f600")
        'ok [U+1F600 GRINNING FACE]'
        >>> Printer().text("a#[*_$<b>")
        'a#[*_$<b>'
        """
        composed = unicodedata.normalize("NFC", typed)
        return "".join(c if ord(c) in self._known else self._named(c) for c in composed)

    def breakable(self, typed: str) -> str:
        """As `text`, with places to break in words too long for a column.

        Parameters
        ----------
        typed
            Any text.

        >>> Printer().breakable("abcdefghijklmnopqrst").split("\u200b")
        ['abcdef', 'ghijkl', 'mnopqr', 'st']
        """
        return " ".join(_broken(word) for word in self.text(typed).split(" "))

    def _named(self, character: str) -> str:
        if character in "\n\r\t\v\f\u2028\u2029":
            return " "
        self.substituted_count += 1
        name = unicodedata.name(character, "")
        return f"[U+{ord(character):04X}{' ' + name if name else ''}]"


def _broken(word: str) -> str:
    """Break after marks that join words first, then inside what is still too long."""
    if len(word) < _LONG_WORD:
        return word
    parts = [""]
    for character in word:
        parts[-1] += character
        if character in _JOINTS:
            parts.append("")
    return _BREAK.join(_BREAK.join(_pieces(part)) for part in parts if part)


def _pieces(part: str) -> list[str]:
    if len(part) < _LONG_WORD:
        return [part]
    pieces: list[str] = []
    for character in part:
        is_mark = unicodedata.category(character).startswith("M")
        if pieces and (len(pieces[-1]) < _PIECE or is_mark):
            pieces[-1] += character
        else:
            pieces.append(character)
    return pieces
