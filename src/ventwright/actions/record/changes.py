"""What the changelog says about figures that moved since a version."""

from __future__ import annotations

import re
from importlib import resources
from pathlib import Path

_RELEASE = re.compile(r"^## (.+)$", re.MULTILINE)
_NUMBERS = re.compile(r"^### Numbers that change\n(.*?)(?=^### |\Z)", re.MULTILINE | re.DOTALL)


def changelog_text() -> str:
    """The changelog: inside an installed package, else in the repository; empty if it is gone.

    >>> "Numbers that change" in changelog_text()
    True
    """
    package = Path(str(resources.files("ventwright")))
    for path in (package / "CHANGELOG.md", package.parents[1] / "CHANGELOG.md"):
        if path.is_file():
            return path.read_text(encoding="utf-8")
    return ""


def numbers_that_change(changelog: str, *, since: str) -> tuple[tuple[str, str], ...]:
    """What each release later than a version says under that heading, the newest first.

    Parameters
    ----------
    changelog
        Its text.
    since
        A version; its own release and those before are left out. A version that the changelog does
        not know leaves nothing out.

    Returns
    -------
    tuple of release and text
        Releases that say nothing there are left out.

    >>> log = "# C\\n## Unreleased\\n### Numbers that change\\n- a\\n## 0.1.0\\n### Added\\n- b\\n"
    >>> numbers_that_change(log, since="0.1.0")
    (('Unreleased', '- a'),)
    """
    parts = _RELEASE.split(changelog)[1:]
    found = []
    for heading, body in zip(parts[::2], parts[1::2], strict=True):
        if re.search(rf"(?<![\w.]){re.escape(since)}(?![\w.])", heading):
            break
        said = _NUMBERS.search(body)
        if said and said[1].strip():
            found.append((heading.strip(), said[1].strip()))
    return tuple(found)
