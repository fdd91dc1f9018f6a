"""A rule set from the mapping of its file."""

from __future__ import annotations

from collections.abc import Mapping

from ventwright.house import Reader, read_record
from ventwright.quantities import Problem, Severity
from ventwright.requirements.rule_check import check_rate, check_rooms
from ventwright.requirements.rules import RULES_SCHEMA, RuleSet


def parse_rule_set(
    mapping: Mapping[str, object],
) -> tuple[RuleSet | None, tuple[Problem, ...]]:
    """A rule set from the mapping of its file, with what could not be read.

    Parameters
    ----------
    mapping
        The whole file.

    Returns
    -------
    tuple of RuleSet or None and problems
        None where the schema is unknown or a required key is missing.

    >>> rules, problems = parse_rule_set({"schema": "ventwright-rules-1", "id": "x", "name": "X"})
    >>> rules.balance is None, problems
    (True, ())
    """
    if mapping.get("schema") != RULES_SCHEMA:
        problem = Problem(
            code="unknown-schema",
            where="schema",
            message=f"schema is {mapping.get('schema')!r}",
            remedy=f'write schema = "{RULES_SCHEMA}"',
            severity=Severity.MISTAKE,
        )
        return None, (problem,)
    reader = Reader()
    rules = read_record(RuleSet, mapping, where="", reader=reader)
    problems = list(reader.problems)
    if rules is not None:
        problems += check_rate(rules.rate)
        problems += check_rooms(rules.rooms, rules.equipment)
    return rules, tuple(problems)
