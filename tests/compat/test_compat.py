"""Bundles and databases of every release are opened, whole, by this version."""

from __future__ import annotations

import json
import re
import zlib
from pathlib import Path

import pytest
from alembic.config import Config
from alembic.script import ScriptDirectory
from sqlalchemy import MetaData, create_engine, insert, text

from tests.databases import postgres_url, record_url, sqlite_url
from ventwright import __version__
from ventwright.actions.record import (
    find_houses,
    find_visits,
    import_bundle,
    look_at_visit,
    open_house,
    open_instrument,
    open_ledger,
    read_report,
    verify_record,
)
from ventwright.exchange import open_bundle
from ventwright.house import readings_in_force
from ventwright.store.migrate import HEAD_REVISION, revision_of, upgrade
from ventwright.store.sqlite import drive

__all__ = ["postgres_url", "record_url", "sqlite_url"]

FOLDER = Path(__file__).parent
BUNDLES = sorted(FOLDER.glob("bundle-*.zip"))
ROWS = sorted(FOLDER.glob("rows-*.json"))


def revisions() -> list[str]:
    config = Config()
    config.set_main_option("script_location", "ventwright.store:migrations")
    config.set_main_option("path_separator", "os")
    found = ScriptDirectory.from_config(config).walk_revisions()
    return [script.revision for script in found]


def test_this_version_has_left_its_bundle_and_its_rows():
    assert f"bundle-{__version__}.zip" in [path.name for path in BUNDLES]
    assert {f"rows-{one}.json" for one in revisions()} == {path.name for path in ROWS}
    assert revisions()[0] == HEAD_REVISION


def check_all(ledger):
    """Everything that the script wrote is there and reads as it was meant."""
    found = verify_record(ledger)
    assert found.problems == ()
    assert [r.trouble for r in found.recomputations] == [""]
    (house,) = find_houses(ledger).lines
    (line,) = find_visits(ledger)
    assert open_house(ledger, house.id).house.note == "loft seen"
    assert open_house(ledger, house.id, number=1).house.note != "loft seen"
    seen = look_at_visit(ledger, line.id)
    forced = {r.id for r in readings_in_force(seen.visit)}
    assert {"again", "logged"} <= forced
    assert seen.visit.readings[0].id not in forced
    assert seen.visit.readings[1].id not in forced, "it was withdrawn"
    assert [n.text for n in seen.visit.notes] == ["hatch sticks"]
    assert seen.visit.faults[0].is_mended
    assert seen.visit.signatures[0].name == "C. Owner"
    assert seen.visit.photos[0].caption == "loose joint"
    assert seen.visit.closed_at is not None
    assert seen.folded.logs[0].readings == ("logged",)
    assert open_instrument(ledger, "hygro").calibrations[0].certificate_no == "K-17"
    assert open_instrument(ledger, "hygro").mapping is not None
    assert read_report(ledger, house.id, number=1).document.startswith(b"%PDF-")


@pytest.mark.parametrize("bundle", BUNDLES, ids=lambda path: path.stem)
def test_a_bundle_of_each_release_is_taken_in_whole(bundle, record_url):
    with open_ledger(record_url) as ledger:
        found = import_bundle(ledger, bundle)
        assert found.problems == ()
        with open_bundle(bundle) as opened:
            manifest = opened.manifest
        assert found.new_count == sum(part.entry_count for part in manifest.series)
        check_all(ledger)


def guards_off(connection):
    """Let rows be put in out of turn; returns what switches the guards on again."""
    if connection.dialect.name == "postgresql":
        tables = connection.execute(
            text("SELECT tablename FROM pg_tables WHERE schemaname = current_schema()")
        ).scalars()
        names = list(tables)
        for name in names:
            connection.execute(text(f"ALTER TABLE {name} DISABLE TRIGGER USER"))
        return [f"ALTER TABLE {name} ENABLE TRIGGER USER" for name in names]
    query = text("SELECT name, sql FROM sqlite_master WHERE type = 'trigger'")
    triggers = connection.execute(query).all()
    for name, _ in triggers:
        connection.execute(text(f"DROP TRIGGER {name}"))
    return [sql for _, sql in triggers]


@pytest.mark.parametrize("path", ROWS, ids=lambda path: path.stem)
def test_each_step_carries_a_database_with_data(path, record_url):
    revision = re.fullmatch(r"rows-(\w+)", path.stem)[1]
    rows = json.loads(path.read_text(encoding="utf-8"))
    files = {}
    for bundle in BUNDLES:
        with open_bundle(bundle) as opened:
            files |= {part.sha256: opened.content(part) for part in opened.manifest.files}
    engine = create_engine(record_url)
    if engine.dialect.name == "sqlite":
        drive(engine)
    with engine.begin() as connection:
        upgrade(connection, shown="test", target=revision)
        switch_on = guards_off(connection)
        tables = MetaData()
        tables.reflect(connection)
        for table in tables.sorted_tables:
            for row in rows.get(table.name, ()):
                if table.name == "blob":
                    content = files[row["sha256"]]
                    row["content"] = zlib.compress(content) if row["is_deflated"] else content
                connection.execute(insert(table), row)
        for statement in switch_on:
            connection.exec_driver_sql(statement)
        assert revision_of(connection) == revision
    engine.dispose()
    with open_ledger(record_url, must_exist=True) as ledger:
        with ledger.store.reading() as now:
            assert revision_of(now.connection) == HEAD_REVISION
        check_all(ledger)
