"""Typed text made safe to print: what the typefaces lack is named, what is too long may break."""

from __future__ import annotations

import re
import unicodedata
from functools import lru_cache
from importlib import resources

_BREAK = "\u200b"
_LONG_WORD = 16
_PIECE = 6
_ISOLATES = "\u2068\u2069"
"""Marks that hold a name of another direction together; they draw nothing and turn nothing else."""
_JOINTS = ":/_.,;=@"
_JOINERS = "\u200c\u200d"
"""They shape letters of some scripts and build one emoji of several; elsewhere they only hide."""
_STYLES = "\ufe0e\ufe0f"
"""Whether the sign before is wanted as text or as picture."""
_SHAPED = (("\u0600", "\u077f"), ("\u0900", "\u097f"))
"""Arabic and Devanagari: blocks whose letters take joiners."""
_UNSEEN = re.compile(f"[{_JOINERS}{_STYLES}\U0001f3fb-\U0001f3ff]")
"""What changes the sign before it, colours of skin among them."""
_UNDRAWABLE = re.compile(
    '[^\\s<>&"]*['
    # Marks on letters, and scripts whose letters stand for several glyphs or share one.
    "\u0300-\u036f\u0591-\u05c7\u0610-\u061a\u064b-\u065f\u0670\u06d6-\u06ed"
    "\u0900-\u0dff\u0e00-\u0eff\u1100-\u11ff\u20d0-\u20ff\u302a-\u302f\u3099\u309a"
    # Pictures of which a drawing finds no second typeface, and flags.
    "\u2607\u2608\u2715\u2727\u2729\u3164\ua8e0-\ua8ff\U0001f1e6-\U0001f1ff"
    '][^\\s<>&"]*'
)
_TIED = re.compile(
    r"(?<=[±×≥≤−]) (?=[\dU])|(?<=\d) (?=[±×]|(?:%|[°µ]?[A-Za-z]{1,3}[²³]?(?:/\S{1,6})?)(?!\w))"
)
"""Spaces that hold a number to its sign, its uncertainty or its unit of measure."""
_CONTENT = re.compile("(?<=>)[^<>]+(?=<)")
"""Texts between the tags of a drawing."""
_ARABIC = re.compile("[\u0600-\u077f\ufb50-\ufdff\ufe70-\ufefc]")
_VIRAMA = "\u094d"


@lru_cache(maxsize=4)
def _listed(name: str) -> frozenset[str]:
    """Characters of a list of ranges in hexadecimal numbers."""
    text = resources.files(__package__).joinpath("typefaces", name).read_text("ascii")
    found: set[str] = set()
    for part in text.split():
        first, _, last = part.partition("-")
        found.update(map(chr, range(int(first, 16), int(last or first, 16) + 1)))
    return frozenset(found)


def _printable() -> frozenset[str]:
    return _listed("glyphs.txt") | _listed("glyphs_more.txt") | frozenset(_ISOLATES)


class Printer:
    """Prepares texts for the document; made once for each of them."""

    def __init__(self) -> None:
        self._known = _printable()
        self._emoji = _listed("glyphs_emoji.txt")
        self.substituted_count = 0

    def text(self, typed: str) -> str:
        """The text with a name for each character that no typeface of the document has.

        Parameters
        ----------
        typed
            Any text.

        >>> Printer().text("ok \U0001f600 \U00013000")
        'ok \U0001f600 [U+13000 EGYPTIAN HIEROGLYPH A001]'
        >>> Printer().text("a#[*_$<b>")
        'a#[*_$<b>'
        """
        composed = unicodedata.normalize("NFC", typed)
        return "".join(
            c if c in self._known or self._joins(composed, i) else self._named(c)
            for i, c in enumerate(composed)
        )

    def _joins(self, text: str, index: int) -> bool:
        """Whether an unseen character has something to do where it stands."""
        character = text[index]
        before = text[index - 1] if index else ""
        if character in _STYLES:
            return before in self._emoji
        if character not in _JOINERS:
            return False
        if before and before in _STYLES and index > 1:
            before = text[index - 2]
        after = text[index + 1 : index + 2]
        if character == "\u200d" and before in self._emoji and after in self._emoji:
            return not (before.isascii() or after.isascii())
        return any(low <= before <= high for low, high in _SHAPED)

    def drawn(self, svg: str) -> str:
        """A drawing with texts that it can carry.

        A drawing sets glyph by glyph: what joins or marks letters is left out, and words whose
        letters can't stand alone become an ellipsis. The whole of each label stands in a table or
        in the words of its picture.

        Parameters
        ----------
        svg
            A whole drawing.

        >>> Printer().drawn("<text>s1 ห้องน้ำ 1\u20e3</text>")
        '<text>s1 … …</text>'
        """
        text = self.text(svg)
        if text.isascii():
            return text
        text = _UNSEEN.sub("", text)
        return _CONTENT.sub(lambda found: self._label(found[0]), text)

    def _label(self, content: str) -> str:
        """A drawing looks for other typefaces only where each letter has one glyph in all of them.

        Arabic letters are joined otherwise in its second typeface than in the first, so that a
        label with any is set in the one that has Latin and Arabic letters.
        """
        if not _ARABIC.search(content):
            return _UNDRAWABLE.sub("…", content)
        words = (
            word if all(_is_plain(c) for c in word) else "…"
            for word in _UNDRAWABLE.sub("…", content).split(" ")
        )
        return f'<tspan font-family="DejaVu Sans Mono">{" ".join(words)}</tspan>'

    def breakable(self, typed: str) -> str:
        """As `text`, with places to break in words too long for a column.

        Parameters
        ----------
        typed
            Any text.

        >>> Printer().breakable("abcdefghijklmnopqrst").split("\u200b")
        ['abcdef', 'ghijkl', 'mnopqr', 'st']
        """
        return " ".join(_broken(word) for word in tied(self.text(typed)).split(" "))

    def _named(self, character: str) -> str:
        if character in "\n\r\t\v\f\u2028\u2029":
            return " "
        self.substituted_count += 1
        name = unicodedata.name(character, "")
        return f"[U+{ord(character):04X}{' ' + name if name else ''}]"


def tied(text: str) -> str:
    """A text whose numbers stay in one line with their signs and units of measure.

    Parameters
    ----------
    text
        Any text.

    >>> tied("22.2 ± 2.6 m³/h of 30").split(" ")
    ['22.2\\xa0±\\xa02.6\\xa0m³/h', 'of', '30']
    """
    return _TIED.sub("\u00a0", text)


def _is_plain(character: str) -> bool:
    """Whether the typeface that has Latin and Arabic letters has this one."""
    if _ARABIC.match(character):
        return character in _listed("glyphs.txt")
    return character < "\u0180" or character in _ISOLATES + "…−–±°²³"


def _broken(word: str) -> str:
    """Break after marks that join words first, then inside what is still too long."""
    if len(word) < _LONG_WORD:
        return word
    if "\u00a0" in word:
        return "\u00a0".join(map(_broken, word.split("\u00a0")))
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
        if pieces and (len(pieces[-1]) < _PIECE or _hangs_on(pieces[-1][-1], character)):
            pieces[-1] += character
        else:
            pieces.append(character)
    return pieces


def _hangs_on(before: str, character: str) -> bool:
    """Whether a character is drawn as one with what stands before it."""
    if unicodedata.category(character).startswith("M") or character in _JOINERS:
        return True
    if before in _JOINERS or before == _VIRAMA:
        return True
    # Colours of skin; letters of flags go in pairs, and to keep them all together does no harm.
    return "\U0001f3fb" <= character <= "\U0001f3ff" or (
        _is_flag_letter(before) and _is_flag_letter(character)
    )


def _is_flag_letter(character: str) -> bool:
    return "\U0001f1e6" <= character <= "\U0001f1ff"
