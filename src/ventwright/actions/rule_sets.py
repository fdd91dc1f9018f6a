"""Rule sets that ship with the package, and those a firm keeps beside its house files."""

from __future__ import annotations

import tomllib
from collections.abc import Iterable
from importlib import resources
from pathlib import Path

from ventwright.quantities import UserError
from ventwright.requirements import RuleSet, parse_rule_set

DEFAULT_RULE_SETS = ("own_targets",)


def shipped_rule_sets() -> tuple[str, ...]:
    """Ids of the rule sets in the package.

    >>> "own_targets" in shipped_rule_sets()
    True
    """
    folder = resources.files("ventwright.requirements").joinpath("rule_sets")
    return tuple(sorted(f.name.removesuffix(".toml") for f in folder.iterdir()))


def load_rule_sets(ids: Iterable[str], *, beside: Path | None = None) -> tuple[RuleSet, ...]:
    """Rule sets by id, from a folder `rules` beside the house file first, then from the package.

    Parameters
    ----------
    ids
        Ids as the house file names them; none means the designer's own targets.
    beside
        Folder of the house file.

    Raises
    ------
    UserError
        For an id that is in neither place, or a file that is not a rule set.

    >>> load_rule_sets([])[0].id
    'own_targets'
    """
    return tuple(_load(one, beside) for one in (tuple(ids) or DEFAULT_RULE_SETS))


def _load(one: str, beside: Path | None) -> RuleSet:
    own = None if beside is None else beside / "rules" / f"{one}.toml"
    if own is not None and own.is_file():
        name, text = str(own), own.read_text(encoding="utf-8")
    elif one in shipped_rule_sets():
        name = f"{one}.toml"
        folder = resources.files("ventwright.requirements").joinpath("rule_sets")
        text = folder.joinpath(name).read_text(encoding="utf-8")
    else:
        raise UserError(
            f"rule set {one!r} is not known; shipped: {', '.join(shipped_rule_sets())}; "
            f"or write rules/{one}.toml beside the house file"
        )
    try:
        mapping = tomllib.loads(text)
    except tomllib.TOMLDecodeError as mistake:
        raise UserError(f"{name}: {mistake}") from mistake
    rules, problems = parse_rule_set(mapping)
    if rules is None or problems:
        said = "; ".join(f"{p.where}: {p.message} ({p.remedy})" for p in problems)
        raise UserError(f"{name} is not a rule set: {said}", problems=problems)
    return rules
