"""How SQLite is driven here, so that what was acknowledged stays through a crash or a power cut."""

from __future__ import annotations

import random
import sqlite3
import time
from typing import Any

from sqlalchemy import Connection, Engine, event

APPLICATION_ID = 0x56575257
"""Marks the file as ours (``VWRW``), for `file` and for `restore`."""

SAFE_WAL_VERSION = (3, 51, 3)
"""Before this one, a write that meets a checkpoint could lose a committed transaction."""

BUSY_WAIT_S = 10.0
READING = "ventwright_reading"
"""Execution option of connections that only read."""


def journal_of(version: tuple[int, int, int]) -> tuple[str, str]:
    """Journal mode and synchronous setting that are safe with a version of SQLite.

    Parameters
    ----------
    version
        Of the library that is linked.

    >>> journal_of((3, 40, 1)), journal_of((3, 51, 3))
    (('DELETE', 'EXTRA'), ('WAL', 'FULL'))
    """
    return ("WAL", "FULL") if version >= SAFE_WAL_VERSION else ("DELETE", "EXTRA")


def drive(engine: Engine) -> None:
    """Set up every connection of an engine, and let transactions begin as they should.

    Parameters
    ----------
    engine
        Of a SQLite file.
    """
    journal, synchronous = journal_of(sqlite3.sqlite_version_info[:3])

    def set_up(connection: Any, _: object) -> None:
        # The driver would otherwise begin transactions by itself, and too late.
        connection.isolation_level = None
        statements = (
            f"busy_timeout = {int(BUSY_WAIT_S * 1000)}",
            f"journal_mode = {journal}",
            f"synchronous = {synchronous}",
            *("foreign_keys = ON", "recursive_triggers = ON", "trusted_schema = OFF"),
        )
        for statement in statements:
            connection.execute(f"PRAGMA {statement}").close()

    def begin(connection: Connection) -> None:
        driver: Any = connection.connection.dbapi_connection
        if connection.get_execution_options().get(READING):
            driver.execute("BEGIN")
        else:
            begin_immediate(driver)

    event.listen(engine, "connect", set_up)
    event.listen(engine, "begin", begin)


def begin_immediate(driver: sqlite3.Connection) -> None:
    """Begin a transaction that may write, waiting for whoever writes now.

    SQLite's own waiting backs off to a tenth of a second, and the one who waits longest asks least
    often. Asking every few milliseconds gives each of twenty writers its turn.

    Parameters
    ----------
    driver
        The driver's connection.

    Raises
    ------
    sqlite3.OperationalError
        If the record stays locked for `BUSY_WAIT_S`.
    """
    driver.execute("PRAGMA busy_timeout = 0").close()
    give_up = time.monotonic() + BUSY_WAIT_S
    try:
        while True:
            try:
                driver.execute("BEGIN IMMEDIATE").close()
                return
            except sqlite3.OperationalError as trouble:
                is_busy = trouble.sqlite_errorname.startswith("SQLITE_BUSY")
                if not is_busy or time.monotonic() > give_up:
                    raise
                time.sleep(random.uniform(0.0005, 0.004))
    finally:
        driver.execute(f"PRAGMA busy_timeout = {int(BUSY_WAIT_S * 1000)}").close()
