"""Verifying: whatever is altered, lost or forged in the database is found and named."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest
from sqlalchemy import text

from tests.unit.record.sample import JPEG, opened
from ventwright.actions.record import (
    Ledger,
    add_house,
    attach_photo,
    issue_report,
    numbers_that_change,
    practice_ledger,
    record_typed_reading,
    start_visit,
    verify_record,
)
from ventwright.actions.record.recomputing import differences, recompute
from ventwright.house import House, Visit

TYPED = {
    "station": "unit",
    "method": "power",
    "setting": "continuous",
    "phase": "as_found",
}


def fill(ledger: Ledger) -> None:
    add_house(ledger, House(schema="ventwright-house-1", id="h", name="Barn", altitude_m=0.0))
    start_visit(ledger, Visit(schema="ventwright-visit-1", id="v", house="h"))
    for index in range(1, 6):
        reading = {**TYPED, "id": f"r{index}", "power": f"{60 + index} W"}
        record_typed_reading(ledger, "v", reading)
    attach_photo(ledger, "v", JPEG, photo_id="p1")
    issue_report(ledger, "v")


def unguarded(ledger: Ledger, *statements: str) -> None:
    """Do what the guards forbid, as someone would who has the file or the server."""
    with ledger.store.writing() as change:
        connection = change.connection
        if connection.dialect.name == "postgresql":
            for table in ("house", "visit", "visit_entry", "blob", "report"):
                connection.execute(text(f"ALTER TABLE {table} DISABLE TRIGGER USER"))
        else:
            query = "SELECT name, sql FROM sqlite_master WHERE type = 'trigger'"
            guards = connection.exec_driver_sql(query).all()
            for name, _ in guards:
                connection.exec_driver_sql(f"DROP TRIGGER {name}")
        for statement in statements:
            assert connection.execute(text(statement)).rowcount == 1, statement
        if connection.dialect.name == "postgresql":
            for table in ("house", "visit", "visit_entry", "blob", "report"):
                connection.execute(text(f"ALTER TABLE {table} ENABLE TRIGGER USER"))
        else:
            for _, sql in guards:
                connection.exec_driver_sql(sql)


def found_in(ledger: Ledger) -> set[tuple[str, str]]:
    return {(p.code, p.where) for p in verify_record(ledger).problems}


THIRD = "visit v, entry 4, reading r3"
FOURTH = "visit v, entry 5, reading r4"
CASES = [
    (
        "UPDATE visit_entry SET content = replace(content, '63', '36') WHERE id = 'r3'",
        {("content-altered", THIRD)},
    ),
    (
        "UPDATE visit_entry SET sealed_at = '2026-01-01T00:00:00.000000Z' WHERE id = 'r3'",
        {("header-altered", THIRD)},
    ),
    (
        "UPDATE visit_entry SET id = 'rx' WHERE id = 'r3'",
        {("header-altered", "visit v, entry 4, reading rx")},
    ),
    (
        "UPDATE visit_entry SET via = 'elsewhere' WHERE id = 'r3'",
        {("header-altered", THIRD)},
    ),
    ("DELETE FROM visit_entry WHERE id = 'r3'", {("entry-missing", FOURTH)}),
    (
        "DELETE FROM visit_entry WHERE kind = 'report'",
        {("end-missing", "visit v"), ("report-without-entry", "report h/1")},
    ),
    ("UPDATE visit SET technician = 'someone else'", {("list-differs", "visit v")}),
    ("UPDATE house SET name = 'Mill'", {("list-differs", "house h")}),
    (
        "UPDATE house SET sha256 = 'x'",
        {("end-missing", "house h")},
    ),
    ("DELETE FROM report", {("report-unlisted", "report h/1")}),
]


@pytest.mark.parametrize(("statement", "expected"), CASES)
def test_each_kind_of_tampering_is_found_and_named(record_url, statement, expected):
    with opened(record_url) as ledger:
        fill(ledger)
        assert found_in(ledger) == set()
        unguarded(ledger, statement)
        assert found_in(ledger) == expected


def test_a_forged_entry_with_right_hashes_of_its_own_breaks_the_chain(record_url):
    from ventwright.house import Series, draft_of, seal

    with opened(record_url) as ledger:
        fill(ledger)
        with ledger.store.reading() as now:
            third = now.entry(Series.VISIT, "v", 4)
        forged = seal(
            replace(draft_of(third), content=third.content.replace("63.0", "36.0")),
            series=third.series,
            owner=third.owner,
            number=third.number,
            via=third.via,
            sealed_at=third.sealed_at,
            previous_sha256=third.previous_sha256,
        )
        unguarded(
            ledger,
            f"UPDATE visit_entry SET content = '{forged.content}', content_sha256 = "
            f"'{forged.content_sha256}', sha256 = '{forged.sha256}' WHERE id = 'r3'".replace(
                ":", "\\:"
            ),
        )
        assert found_in(ledger) == {("chain-broken", FOURTH)}


def test_altered_and_lost_files_are_named(record_url):
    with opened(record_url) as ledger:
        fill(ledger)
        with ledger.store.reading() as now:
            name = next(n for n in now.blob_names() if now.blob(n)[0] == JPEG)
        nothing = "x''" if ledger.store.file else "''"
        unguarded(ledger, f"UPDATE blob SET content = {nothing} WHERE sha256 = '{name}'")
        assert found_in(ledger) == {("file-altered", f"file {name}")}
        unguarded(ledger, f"DELETE FROM blob WHERE sha256 = '{name}'")
        assert found_in(ledger) == {("file-missing", "visit v, entry 7, photo p1")}


def test_an_altered_snapshot_is_found_and_its_report_does_not_come_out_the_same(record_url):
    with opened(record_url) as ledger:
        fill(ledger)
        with ledger.store.reading() as now:
            name, content = next(
                (n, now.blob(n)[0])
                for n in now.blob_names()
                if now.blob(n)[0].startswith(b'{"engine"') and b'"rule_sets"' in now.blob(n)[0]
            )
        altered = content.replace(b'"power_w":63.0', b'"power_w":36.0').hex()
        literal = f"X'{altered}'" if ledger.store.file else f"decode('{altered}', 'hex')"
        unguarded(
            ledger,
            f"UPDATE blob SET is_deflated = 0, content = {literal} WHERE sha256 = '{name}'",
        )
        found = verify_record(ledger)
        assert [p.code for p in found.problems] == ["file-altered"]
        (again,) = found.differing
        assert any("powers" in d.path or "readings" in d.path for d in again.differences)


def test_a_byte_changed_in_the_file_itself_is_found_and_the_reading_named(tmp_path):
    path = tmp_path / "record.db"
    with opened(f"sqlite:///{path}") as ledger:
        fill(ledger)
    data = path.read_bytes()
    assert data.count(b'"power_w":63.0') == 1
    path.write_bytes(data.replace(b'"power_w":63.0', b'"power_w":36.0'))
    with opened(f"sqlite:///{path}") as ledger:
        assert found_in(ledger) == {("content-altered", THIRD)}


def test_a_guard_that_was_taken_away_is_named(record_url):
    with opened(record_url) as ledger:
        fill(ledger)
        is_file = ledger.store.file is not None
        statement = (
            "DROP TRIGGER visit_entry_changed"
            if is_file
            else "ALTER TABLE visit_entry DISABLE TRIGGER visit_entry_kept"
        )
        with ledger.store.writing() as change:
            change.connection.execute(text(statement))
        (problem,) = verify_record(ledger).problems
        assert problem.code == "guard-missing"
        assert ("visit_entry_changed" if is_file else "visit_entry_kept") in problem.message


def test_an_entry_that_this_version_can_not_read_is_named(record_url):
    with opened(record_url) as ledger:
        fill(ledger)
        from ventwright.house import Draft, Series

        with ledger.store.writing() as change:
            change.append(
                Draft(kind="hologram", id="x", content='{"id":"x","what":{"record":"Hologram"}}'),
                series=Series.VISIT,
                owner="v",
                via="future",
                at=ledger.clock(),
            )
        found = found_in(ledger)
        assert ("unreadable", "visit v, entry 9, hologram x") in found


def test_progress_is_told_to_its_end(record_url):
    told: list[tuple[int, int]] = []
    with opened(record_url) as ledger:
        fill(ledger)
        verify_record(ledger, tell=lambda done, total: told.append((done, total)))
    assert [done for done, _ in told] == list(range(1, len(told) + 1))
    assert told[-1][0] == told[-1][1]


def kept_report(change: Callable[[bytes], bytes] = lambda data: data):
    with practice_ledger() as ledger:
        record_typed_reading(ledger, "v", {**TYPED, "id": "r1", "power": "62 W"})
        kept = issue_report(ledger, "v")
    return replace(kept, findings=change(kept.findings))


def test_a_figure_that_moves_by_more_than_the_tolerance_is_listed():
    (difference,) = recompute(
        kept_report(lambda data: data.replace(b'"value":62.0', b'"value":62.0000001', 1))
    ).differences
    assert difference.path.endswith(".value")
    assert (difference.issued, difference.recomputed) == ("62.0000001", "62.0")
    tiny = kept_report(lambda data: data.replace(b'"value":62.0', b'"value":62.00000001', 1))
    assert recompute(tiny).differences == ()


@pytest.mark.parametrize(
    ("issued", "now", "paths"),
    [
        ({"engine": "1"}, {"engine": "2"}, []),
        ({"a": {"engine": "1"}}, {"a": {"engine": "2"}}, ["a.engine"]),
        ({"a": 1.0}, {"a": 1.0 + 9e-10}, []),
        ({"a": 1.0}, {"a": 1.0 + 2e-9}, ["a"]),
        ({"a": 101325.0}, {"a": 101325.00001}, []),
        ({"a": 0.01}, {"a": 0.01000001}, ["a"]),
        ({"a": True}, {"a": 1}, ["a"]),
        ({"a": "met"}, {"a": "not_met"}, ["a"]),
        ({"a": None}, {"a": 0.0}, ["a"]),
        ({"a": 1}, {}, ["a"]),
        ({}, {"a": 1}, []),
        ({"a": [1, 2]}, {"a": [1]}, ["a"]),
    ],
)
def test_what_counts_as_a_difference(issued, now, paths):
    assert [d.path for d in differences(issued, now)] == paths


CHANGES = """# Changelog
## Unreleased
### Numbers that change
- flows fall by 1 %
## 0.3.0
### Added
- a thing
### Numbers that change
- dew points rise
## 0.2.0
### Numbers that change
- old
"""


def test_changes_since_a_version_leave_out_that_version_and_those_before():
    assert numbers_that_change(CHANGES, since="0.2.0") == (
        ("Unreleased", "- flows fall by 1 %"),
        ("0.3.0", "- dew points rise"),
    )
    assert [release for release, _ in numbers_that_change(CHANGES, since="0.3.0")] == ["Unreleased"]
    assert len(numbers_that_change(CHANGES, since="0.9.9")) == 3
    # A version is a whole word: 0.2 is not 0.2.0.
    assert len(numbers_that_change(CHANGES, since="0.2")) == 3


def test_differences_come_with_what_the_changelog_says(monkeypatch, record_url):
    monkeypatch.setattr("ventwright.actions.record.verify.changelog_text", lambda: CHANGES)
    with opened(record_url) as ledger:
        fill(ledger)
        monkeypatch.setattr(
            "ventwright.actions.record.recomputing.canonical_json", lambda _: b'{"systems": 1}'
        )
        found = verify_record(ledger)
    assert found.is_intact
    assert len(found.differing) == 1
    assert found.changes[0] == ("Unreleased", "- flows fall by 1 %")


def test_a_plain_program_can_read_the_file(tmp_path: Path) -> None:
    """The record outlives this program: a query with SQLite alone gives each reading as JSON."""
    import json

    path = tmp_path / "record.db"
    with opened(f"sqlite:///{path}") as ledger:
        fill(ledger)
    plain = sqlite3.connect(f"file:{path}?mode=ro", uri=True)
    rows = plain.execute(
        "SELECT id, content FROM visit_entry WHERE kind = 'reading' ORDER BY number"
    ).fetchall()
    plain.close()
    watts = {ident: json.loads(content)["what"]["look"]["power_w"] for ident, content in rows}
    assert watts == {f"r{i}": 60.0 + i for i in range(1, 6)}
