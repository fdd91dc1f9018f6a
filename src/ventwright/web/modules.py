"""Which modules a page's script brings along, so that a browser asks for all of them at once."""

from __future__ import annotations

import re
from pathlib import Path

_IMPORT = re.compile(r'^import [^"]*"(\./[^"]+)";$', re.MULTILINE)


def modules_of(script: str, *, folder: Path) -> tuple[str, ...]:
    """A script and all that it imports, by name, each once.

    Parameters
    ----------
    script
        Its name.
    folder
        Where scripts lie.

    >>> from ventwright.web.shell import FOLDER
    >>> modules_of("walk.js", folder=FOLDER / "static")[:2]
    ('walk.js', 'dom.js')
    """
    found = {script: None}
    left = [script]
    while left:
        text = (folder / left.pop()).read_text(encoding="utf-8")
        for name in _IMPORT.findall(text):
            plain = name.removeprefix("./")
            if plain not in found:
                found[plain] = None
                left.append(plain)
    return tuple(found)
