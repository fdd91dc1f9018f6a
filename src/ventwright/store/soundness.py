"""Whether the database is sound as a database: pages, references, and the guards on its tables."""

from __future__ import annotations

import re
from collections.abc import Iterator

from sqlalchemy import text

from ventwright.quantities import Problem, Severity
from ventwright.store.migrations.triggers_0001 import trigger_statements
from ventwright.store.transaction import Transaction

_TRIGGERS = {
    "sqlite": "SELECT name FROM sqlite_master WHERE type = 'trigger'",
    # A trigger that was switched off does not guard.
    "postgresql": "SELECT tgname FROM pg_trigger WHERE NOT tgisinternal AND tgenabled = 'O' AND "
    "tgrelid IN (SELECT oid FROM pg_class WHERE relnamespace = current_schema()::regnamespace)",
}


def soundness_problems(now: Transaction, *, shown: str) -> Iterator[Problem]:
    """What is wrong with the database itself, before its entries are looked at.

    Parameters
    ----------
    now
        A transaction.
    shown
        The record's address.

    >>> import tempfile
    >>> from ventwright.store import open_store
    >>> with tempfile.TemporaryDirectory() as folder:
    ...     with open_store(f"sqlite:///{folder}/record.db") as store, store.reading() as now:
    ...         list(soundness_problems(now, shown="record.db"))
    []
    """
    dialect = now.connection.dialect.name
    if dialect == "sqlite":
        for (said,) in now.connection.exec_driver_sql("PRAGMA integrity_check"):
            if said != "ok":
                yield _problem("damaged", shown, f"the file is damaged: {said}")
        for row in now.connection.exec_driver_sql("PRAGMA foreign_key_check"):
            yield _problem("reference-broken", shown, f"a row of {row[0]} belongs to nothing")
    wanted = {
        found[1]
        for statement in trigger_statements(dialect)
        if (found := re.match(r"CREATE TRIGGER (\w+)", statement))
    }
    there = set(now.connection.execute(text(_TRIGGERS[dialect])).scalars())
    for name in sorted(wanted - there):
        yield _problem(
            "guard-missing", shown, f"{name}, which guards entries against change, was taken away"
        )


def _problem(code: str, where: str, message: str) -> Problem:
    return Problem(
        code=code,
        where=where,
        message=f"{where}: {message}",
        remedy="keep the file as it is, and compare with the last backup",
        severity=Severity.MISTAKE,
    )
