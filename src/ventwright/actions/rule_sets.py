"""Rule sets that ship with the package, and those a firm keeps beside its house files."""

from __future__ import annotations

import tomllib
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from functools import lru_cache
from importlib import resources
from pathlib import Path

from ventwright.quantities import UserError
from ventwright.requirements import RuleSet, Trust, parse_rule_set

DEFAULT_RULE_SETS = ("own_targets",)
_APART = ("schema", "id", "name", "edition", "note", "sources")
"""Keys at the top of a rule file that are not rules."""


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
    return tuple(_load(one, beside)[0] for one in (tuple(ids) or DEFAULT_RULE_SETS))


@dataclass(frozen=True, slots=True, kw_only=True)
class RuleLine:
    """One rule as its file says it, with where it stands.

    `place` is the key path in the file; `says` the keys and texts of the rule.
    """

    place: str
    says: tuple[tuple[str, str], ...]
    source: str
    title: str
    edition: str
    clause: str
    trust: str
    note: str


@dataclass(frozen=True, slots=True, kw_only=True)
class RuleSetListing:
    """A rule set in lines, each with source, edition, clause and trust."""

    id: str
    name: str
    edition: str
    note: str
    lines: tuple[RuleLine, ...]

    @property
    def trusts(self) -> tuple[str, ...]:
        """The trusts that occur, the surest first."""
        found = {line.trust for line in self.lines}
        return tuple(trust.value for trust in Trust if trust.value in found)


def list_rule_set(one: str, *, beside: Path | None = None) -> RuleSetListing:
    """Every value of a rule set as written in its file, with source, edition, clause and trust.

    Parameters
    ----------
    one
        Its id.
    beside
        Folder of the house file, whose `rules` folder is looked in first.

    Raises
    ------
    UserError
        As `load_rule_sets`.

    >>> line = list_rule_set("washington_2021").lines[0]
    >>> line.place, line.trust
    ('rate', 'read')
    """
    rules, mapping = _load(one, beside)
    lines = tuple(_lines({k: v for k, v in mapping.items() if k not in _APART}, rules, "", {}, ""))
    return RuleSetListing(
        id=rules.id, name=rules.name, edition=rules.edition, note=rules.note, lines=lines
    )


def _lines(
    table: Mapping[str, object],
    rules: RuleSet,
    place: str,
    citation: Mapping[str, object],
    note: str,
) -> Iterator[RuleLine]:
    """One line for the plain values of each table; a table without a citation has its parent's."""
    own = table.get("citation")
    note = str(table.get("note") or ("" if own else note))
    citation = own if isinstance(own, Mapping) else citation or _first_citation(table)
    plain = {k: v for k, v in table.items() if not _is_nested(v) and k not in ("note", "id")}
    if plain:
        source = str(citation.get("source", ""))
        said = [str(citation.get("note") or ""), note]
        yield RuleLine(
            place=place,
            says=tuple((key, _text(value)) for key, value in plain.items()),
            source=source,
            title=rules.title_of(source),
            edition=str(citation.get("edition") or rules.edition),
            clause=str(citation.get("clause", "")),
            trust=str(citation.get("trust", "")),
            note=" ".join(one for one in said if one),
        )
    for key, value in table.items():
        if key == "citation":
            continue
        path = f"{place}.{key}" if place else key
        if isinstance(value, Mapping):
            yield from _lines(value, rules, path, citation, note)
        elif _is_nested(value) and isinstance(value, list):
            for i, item in enumerate(value):
                yield from _lines(item, rules, f"{path}[{item.get('id', i)}]", citation, note)


def _first_citation(table: Mapping[str, object]) -> Mapping[str, object]:
    """Of a table that only says how its parts go together: the citation of the first part."""
    for value in table.values():
        for item in value if isinstance(value, list) else [value]:
            if isinstance(item, Mapping):
                cited = item.get("citation")
                return cited if isinstance(cited, Mapping) else _first_citation(item)
    return {}


def _is_nested(value: object) -> bool:
    return isinstance(value, Mapping) or (
        isinstance(value, list) and any(isinstance(item, Mapping) for item in value)
    )


def _text(value: object) -> str:
    if isinstance(value, list):
        return ", ".join(_text(item) for item in value)
    if isinstance(value, bool):
        return "true" if value else "false"
    return str(value)


def _load(one: str, beside: Path | None) -> tuple[RuleSet, Mapping[str, object]]:
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
    return _parsed(name, text)


# A page is judged by the same few texts again and again.
@lru_cache(maxsize=64)
def _parsed(name: str, text: str) -> tuple[RuleSet, Mapping[str, object]]:
    try:
        mapping = tomllib.loads(text)
    except tomllib.TOMLDecodeError as mistake:
        raise UserError(f"{name}: {mistake}") from mistake
    rules, problems = parse_rule_set(mapping)
    if rules is None or problems:
        said = "; ".join(f"{p.where}: {p.message} ({p.remedy})" for p in problems)
        raise UserError(f"{name} is not a rule set: {said}", problems=problems)
    return rules, mapping
