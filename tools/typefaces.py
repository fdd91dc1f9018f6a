"""List what the bundled typefaces can print, from their character maps.

Run after a typeface is added or replaced: ``python tools/typefaces.py``. With ``--check`` nothing
is written and a stale list is named.
"""

from __future__ import annotations

import argparse
import sys
import textwrap
import unicodedata
from collections.abc import Iterable
from pathlib import Path

from fontTools.ttLib import TTFont

FOLDER = Path(__file__).resolve().parents[1] / "src" / "ventwright" / "report" / "typefaces"
EMOJI = "NotoEmoji-Regular.ttf"
_UNSEEN = ("Cc", "Cf", "Co", "Cs", "Zl", "Zp", "Zs")
"""Categories that are never printed as they are, whatever a typeface holds for them."""
_STYLES = range(0xFE00, 0xFE10)
"""They choose between forms of the character before, and draw nothing."""


def characters_of(path: Path) -> set[int]:
    """Numbers of the characters that a typeface draws, without unseen ones."""
    with TTFont(path) as face:
        drawn = face.getBestCmap()
    return {n for n in drawn if n not in _STYLES and unicodedata.category(chr(n)) not in _UNSEEN}


def ranges(numbers: Iterable[int]) -> str:
    """Numbers as ranges in hexadecimal digits, in lines."""
    parts: list[tuple[int, int]] = []
    for number in sorted(numbers):
        if parts and number == parts[-1][1] + 1:
            parts[-1] = (parts[-1][0], number)
        else:
            parts.append((number, number))
    words = [f"{a:x}" if a == b else f"{a:x}-{b:x}" for a, b in parts]
    return "\n".join(textwrap.wrap(" ".join(words), 99, break_on_hyphens=False)) + "\n"


def lists() -> dict[str, str]:
    """Text of each list by its name."""
    more: set[int] = set()
    for path in sorted(FOLDER.glob("*.ttf")):
        more |= characters_of(path)
    return {
        "glyphs_more.txt": ranges(more),
        "glyphs_emoji.txt": ranges(characters_of(FOLDER / EMOJI)),
    }


def main() -> int:
    """Write the lists, or say which are stale."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--check", action="store_true", help="write nothing; 1 if a list is stale")
    options = parser.parse_args()
    stale = []
    for name, text in lists().items():
        path = FOLDER / name
        if not path.exists() or path.read_text("ascii") != text:
            stale.append(name)
            if not options.check:
                path.write_text(text, "ascii")
    if options.check and stale:
        print(f"stale: {', '.join(stale)}; run python tools/typefaces.py", file=sys.stderr)
        return 1
    return 0


if __name__ == "__main__":
    sys.exit(main())
