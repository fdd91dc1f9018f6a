"""Every code the engine can emit has words, and every sentence can be filled."""

from __future__ import annotations

import ast
import string
from collections.abc import Iterator
from enum import StrEnum
from pathlib import Path

import pytest

import ventwright.findings as findings_room
from tests.unit.report import cases
from ventwright import house
from ventwright.findings import Advice, HouseEffect, explain_gap
from ventwright.quantities import AirKind, Severity, Side, SourceTrust, UnitPreference
from ventwright.report import LANGUAGES, Words, words_of
from ventwright.report.measures import Measures
from ventwright.report.pen import Pen
from ventwright.report.sections.next_steps import advice_text
from ventwright.requirements import BalanceBasis, BalancePair, Trust
from ventwright.uncertainty import DecisionRule, Verdict, measured

FINDINGS = Path(str(findings_room.__file__)).parent

ENUMS: dict[str, type[StrEnum]] = {
    "verdict": Verdict,
    "screen": Verdict,
    "severity": Severity,
    "phase": house.Phase,
    "side": Side,
    "purpose": house.Purpose,
    "stream": AirKind,
    "habit": AirKind,
    "pair": BalancePair,
    "basis": BalanceBasis,
    "decision": DecisionRule,
    "method": house.Method,
    "walk-through": house.WalkThroughItem,
    "outcome": house.Outcome,
    "settings": house.AdjustmentKind,
    "units": UnitPreference,
    "effect.supply_extract": HouseEffect,
    "effect.outdoor_exhaust": HouseEffect,
}


def strings_in(node: ast.AST) -> Iterator[str]:
    """Texts a value can be; keys of a mapping and tests of a condition are none."""
    idle = {
        id(inner)
        for child in ast.walk(node)
        for outer in (*(getattr(child, "keys", None) or ()), getattr(child, "test", None))
        if isinstance(outer, ast.AST)
        for inner in ast.walk(outer)
    }
    for child in ast.walk(node):
        is_text = isinstance(child, ast.Constant) and isinstance(child.value, str)
        if is_text and child.value and id(child) not in idle:
            yield child.value


def modules_of_findings() -> Iterator[ast.Module]:
    for path in sorted(FINDINGS.glob("*.py")):
        yield ast.parse(path.read_text("utf-8"))


def codes_given(keyword: str, *, callee: str = "") -> set[str]:
    """Constants that a call hands in under a keyword, through one local name if need be."""
    found: set[str] = set()
    for tree in modules_of_findings():
        for function in ast.walk(tree):
            if not isinstance(function, ast.FunctionDef):
                continue
            local: dict[str, set[str]] = {}
            for node in ast.walk(function):
                if isinstance(node, ast.Assign) and isinstance(node.targets[0], ast.Name):
                    local.setdefault(node.targets[0].id, set()).update(strings_in(node.value))
            for node in ast.walk(function):
                if not isinstance(node, ast.Call):
                    continue
                name = node.func.id if isinstance(node.func, ast.Name) else ""
                if callee and name != callee:
                    continue
                for given in node.keywords:
                    if given.arg != keyword or isinstance(given.value, ast.JoinedStr):
                        continue
                    if isinstance(given.value, ast.Name):
                        found |= local.get(given.value.id, set())
                    else:
                        found |= set(strings_in(given.value))
    return found


def explanation_codes() -> set[str]:
    gap = measured(0.1, u_std=0.05, id="g", label="gap")
    return {e.code for e in explain_gap(gap, largest_share_frac=0.3)}


def advice_codes() -> set[str]:
    return codes_given("code", callee="Advice") | {f"gap-{c}" for c in explanation_codes()}


@pytest.fixture(scope="module", params=LANGUAGES)
def words(request: pytest.FixtureRequest) -> Words:
    return words_of(request.param)


def test_the_search_for_codes_finds_those_it_must() -> None:
    assert {"nothing-read", "mend", "set-terminal", "retarget", "equalise"} <= advice_codes()
    assert {"not-measured", "pair-not-measured", "no-air-state"} <= codes_given("reason_code")
    assert "wrong-station" in explanation_codes()


def test_every_advice_has_words(words: Words) -> None:
    assert not [c for c in advice_codes() if f"advice.{c}" not in words]


def test_every_reason_has_words(words: Words) -> None:
    codes = codes_given("reason_code")
    assert not [c for c in codes if f"reason.{c}" not in words]


def test_every_origin_and_explanation_has_words(words: Words) -> None:
    assert not [c for c in explanation_codes() if f"explanation.{c}" not in words]
    surface = {"measured", "typed", "computed"}
    assert surface <= codes_given("origin_code") | {
        s for tree in modules_of_findings() for s in strings_in(tree)
    }
    assert not [c for c in surface if f"origin.{c}" not in words]
    pressures = ("barometer-reading", "conditions", "altitude", "assumed-sea-level")
    assert not [c for c in pressures if f"pressure-origin.{c}" not in words]
    assert not [c for c in ("in-defrost", "refused") if f"unused.{c}" not in words]


@pytest.mark.parametrize("prefix", sorted(ENUMS))
def test_every_value_of_a_vocabulary_has_words(prefix: str, words: Words) -> None:
    missing = [v.value for v in ENUMS[prefix] if f"{prefix}.{v.value}" not in words]
    assert not missing


def test_both_kinds_of_trust_have_words(words: Words) -> None:
    assert not [t for t in Trust if f"trust.{t.value}" not in words]
    assert not [t for t in SourceTrust if f"known.{t.value}" not in words]


def test_every_kind_of_instrument_and_reference_has_words(words: Words) -> None:
    tags = {k.value for k in house.InstrumentKind} | {k.value for k in house.AirReference}
    assert not [t for t in tags if f"instruments.{t}" not in words]


def test_an_unknown_code_reads_poorly_and_stops_nothing() -> None:
    found = cases.assessed("juniper_mesa")
    pen = Pen(
        findings=found.findings,
        snapshot=found.snapshot,
        measures=Measures(preference=UnitPreference.IP),
        words=words_of(),
    )
    text = advice_text(pen, Advice(code="look-behind-it", subject="the panel", setting="boost"))
    assert text.startswith("look behind it the panel “Step 4”")


@pytest.mark.parametrize("code", sorted(advice_codes()))
def test_every_advice_is_a_whole_sentence(code: str) -> None:
    found = cases.assessed("juniper_mesa")
    pen = Pen(
        findings=found.findings,
        snapshot=found.snapshot,
        measures=Measures(preference=UnitPreference.SI_LS),
        words=words_of(),
    )
    one = Advice(
        code=code, subject="here", setting="boost", value_si=0.02, goal_si=0.03, detail="the meter"
    )
    text = advice_text(pen, one)
    assert text[0].isupper() and text[-1] == "." and "{" not in text and "  " not in text


def test_places_of_sentences_are_plain_names(words: Words) -> None:
    """A place such as {a.b} or {0!r} could reach into what is filled in."""
    for key in words:
        raw = words._sentences[key]
        for _, name, form, conversion in string.Formatter().parse(raw):
            assert name is None or (name.isidentifier() and not form and not conversion), key


def test_a_name_of_another_direction_is_kept_apart_from_the_sentence(words: Words) -> None:
    """Unicode UAX 9, 2.4: a first-strong isolate keeps what follows a Hebrew name in its place."""
    text = words.say("title.subtitle", purpose="Check", house="שלום", day="2026-02-11")
    assert text == "Check of \u2068שלום\u2069, 2026-02-11"


def test_braces_in_a_name_stay_as_they_are(words: Words) -> None:
    assert "{subject}" in words.say("advice.mend", subject="{subject}")
