"""What the databases refuse: changing or deleting what was sealed, or sealing out of turn.

The rules hold for every program that opens the database, not for ours alone. This module belongs to
step 0001 and is as unchangeable as that step.
"""

from __future__ import annotations

from collections.abc import Iterator

ENTRY_TABLES = ("house_entry", "visit_entry", "instrument_entry")
APPEND_ONLY = (*ENTRY_TABLES, "report", "blob")
HEAD_TABLES = ("house", "visit", "instrument")
# What makes a row the same as one that is there: `INSERT OR REPLACE` would delete the old one
# without asking a trigger on deletion.
_SAME = {
    **dict.fromkeys(
        ENTRY_TABLES,
        "owner = NEW.owner AND (number = NEW.number OR "
        "(kind = NEW.kind AND id = NEW.id AND content_sha256 = NEW.content_sha256))",
    ),
    "report": "(house = NEW.house AND number = NEW.number) OR "
    "(visit = NEW.visit AND entry_number = NEW.entry_number)",
    "blob": "sha256 = NEW.sha256",
    **dict.fromkeys(HEAD_TABLES, "id = NEW.id"),
}


def trigger_statements(dialect: str) -> Iterator[str]:
    """Statements that make the triggers.

    Parameters
    ----------
    dialect
        ``sqlite`` or ``postgresql``.
    """
    yield from _postgresql() if dialect == "postgresql" else _sqlite()


def _sqlite() -> Iterator[str]:
    for table in (*APPEND_ONLY, *HEAD_TABLES):
        yield _sqlite_trigger(table, "deleted", "DELETE", "1", f"{table}: rows are never deleted")
        yield _sqlite_trigger(
            table,
            "replaced",
            "INSERT",
            f"EXISTS (SELECT 1 FROM {table} WHERE {_SAME[table]})",
            f"{table}: rows are never replaced",
        )
    for table in APPEND_ONLY:
        yield _sqlite_trigger(table, "changed", "UPDATE", "1", f"{table}: rows are never changed")
    for table in HEAD_TABLES:
        house = " OR NEW.house <> OLD.house" if table == "visit" else ""
        yield _sqlite_trigger(
            table,
            "turned_back",
            "UPDATE",
            f"NEW.id <> OLD.id OR NEW.number < OLD.number{house}",
            f"{table}: a series never goes back or moves",
        )
        yield _sqlite_trigger(
            f"{table}_entry",
            "in_turn",
            "INSERT",
            f"NOT EXISTS (SELECT 1 FROM {table} WHERE id = NEW.owner AND "
            "number + 1 = NEW.number AND sha256 = NEW.previous_sha256)",
            f"{table}_entry: an entry is sealed after the last one",
        )


def _sqlite_trigger(table: str, name: str, event: str, condition: str, message: str) -> str:
    return (
        f"CREATE TRIGGER {table}_{name} BEFORE {event} ON {table} WHEN {condition} "
        f"BEGIN SELECT RAISE(ABORT, '{message}'); END"
    )


def _postgresql() -> Iterator[str]:
    yield (
        "CREATE FUNCTION ventwright_refuse() RETURNS trigger LANGUAGE plpgsql AS $$ BEGIN "
        "RAISE EXCEPTION USING MESSAGE = TG_TABLE_NAME || "
        "': rows are never changed or deleted'; END $$"
    )
    yield (
        "CREATE FUNCTION ventwright_turned_back() RETURNS trigger LANGUAGE plpgsql AS $$ BEGIN "
        "IF NEW.id <> OLD.id OR NEW.number < OLD.number OR (TG_TABLE_NAME = 'visit' AND "
        "to_jsonb(NEW) ->> 'house' <> to_jsonb(OLD) ->> 'house') THEN "
        "RAISE EXCEPTION USING MESSAGE = TG_TABLE_NAME || ': a series never goes back or moves'; "
        "END IF; RETURN NEW; END $$"
    )
    for table in (*APPEND_ONLY, *HEAD_TABLES):
        event = "DELETE" if table in HEAD_TABLES else "UPDATE OR DELETE"
        yield (
            f"CREATE TRIGGER {table}_kept BEFORE {event} ON {table} "
            "FOR EACH ROW EXECUTE FUNCTION ventwright_refuse()"
        )
        yield (
            f"CREATE TRIGGER {table}_emptied BEFORE TRUNCATE ON {table} "
            "FOR EACH STATEMENT EXECUTE FUNCTION ventwright_refuse()"
        )
    for table in HEAD_TABLES:
        yield (
            f"CREATE TRIGGER {table}_turned_back BEFORE UPDATE ON {table} "
            "FOR EACH ROW EXECUTE FUNCTION ventwright_turned_back()"
        )
        yield (
            f"CREATE FUNCTION ventwright_{table}_in_turn() RETURNS trigger LANGUAGE plpgsql AS $$ "
            f"BEGIN IF NOT EXISTS (SELECT 1 FROM {table} WHERE id = NEW.owner AND "
            "number + 1 = NEW.number AND sha256 = NEW.previous_sha256) THEN "
            "RAISE EXCEPTION USING MESSAGE = "
            f"'{table}_entry: an entry is sealed after the last one'; "
            "END IF; RETURN NEW; END $$"
        )
        yield (
            f"CREATE TRIGGER {table}_entry_in_turn BEFORE INSERT ON {table}_entry "
            f"FOR EACH ROW EXECUTE FUNCTION ventwright_{table}_in_turn()"
        )
