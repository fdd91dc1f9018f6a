"""The lock is complete, hashed, and bound to no machine and no index."""

from __future__ import annotations

import itertools
import re

from packaging.requirements import Requirement
from packaging.utils import canonicalize_name
from packaging.version import Version

from tests.architecture import sources

LOCK = (sources.ROOT / "requirements.lock").read_text(encoding="utf-8")
PIN = re.compile(r"([a-z0-9-]+)==([0-9a-z.!]+)( ; [^\\]+)? \\")
HASH = re.compile(r"    --hash=sha256:[0-9a-f]{64}( \\)?")


def test_lock_holds_pins_and_hashes_and_nothing_else() -> None:
    """No comment, no address, no option, no local version such as `+cpu`."""
    odd = [line for line in LOCK.splitlines() if not (PIN.fullmatch(line) or HASH.fullmatch(line))]
    assert not odd, odd


def test_every_pin_has_a_hash() -> None:
    lines = [*LOCK.splitlines(), ""]
    assert not [
        line
        for line, following in itertools.pairwise(lines)
        if PIN.fullmatch(line) and not HASH.fullmatch(following)
    ]


def test_lock_satisfies_what_the_project_asks_for() -> None:
    project = sources.PYPROJECT["project"]
    wanted = [*project["dependencies"], *project["optional-dependencies"]["dev"]]
    wanted += sources.PYPROJECT["build-system"]["requires"]
    pins: dict[str, list[Version]] = {}
    for match in PIN.finditer(LOCK):
        pins.setdefault(canonicalize_name(match[1]), []).append(Version(match[2]))
    wrong = []
    for requirement in map(Requirement, wanted):
        versions = pins.get(canonicalize_name(requirement.name), [])
        if not versions or not all(version in requirement.specifier for version in versions):
            wrong.append(f"{requirement}: {[str(version) for version in versions]}")
    assert not wrong, f"run `make lock`: {wrong}"
