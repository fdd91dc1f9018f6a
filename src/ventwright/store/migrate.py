"""Bringing the tables to the form this version uses, in one transaction or not at all."""

from __future__ import annotations

from sqlalchemy import Connection, inspect, text

from ventwright.store.mistakes import user_error
from ventwright.store.sqlite import APPLICATION_ID
from ventwright.store.tables import METADATA

HEAD_REVISION = "0001"
_VERSION_TABLE = "alembic_version"
# One number for all programs that bring tables of a PostgreSQL database up to date.
_LOCK = "SELECT pg_advisory_xact_lock(86877287)"


def revision_of(connection: Connection) -> str | None:
    """Which form the tables have; None for an empty database.

    Parameters
    ----------
    connection
        To the database.
    """
    if not inspect(connection).has_table(_VERSION_TABLE):
        return None
    row = connection.execute(text(f"SELECT version_num FROM {_VERSION_TABLE}")).first()
    return None if row is None else str(row[0])


def upgrade(connection: Connection, *, shown: str, target: str = HEAD_REVISION) -> None:
    """Bring the tables to a form; the caller's transaction holds all of it.

    Parameters
    ----------
    connection
        Within a transaction that may write.
    shown
        The record's address, for messages.
    target
        The form wanted.

    Raises
    ------
    UserError
        ``newer-record`` if a newer version of the program made the tables, ``not-a-record`` if the
        database holds tables of something else.
    """
    if connection.dialect.name == "postgresql":
        connection.execute(text(_LOCK))
    found = revision_of(connection)
    if found == target:
        return
    if found is None and inspect(connection).get_table_names():
        raise user_error(
            "not-a-record",
            shown,
            "the database holds tables of another program",
            "name an empty database, or a file that does not exist yet",
        )
    from alembic.config import Config
    from alembic.runtime.environment import EnvironmentContext
    from alembic.script import ScriptDirectory
    from alembic.util import CommandError

    config = Config()
    config.set_main_option("script_location", "ventwright.store:migrations")
    config.set_main_option("path_separator", "os")
    script = ScriptDirectory.from_config(config)
    if found is not None:
        try:
            script.get_revision(found)
        except CommandError:
            raise user_error(
                "newer-record",
                shown,
                f"the tables have the form {found}, which this version does not know",
                f"use the newer ventwright that made them; this one knows {HEAD_REVISION}",
            ) from None
    steps = EnvironmentContext(
        config,
        script,
        fn=lambda revision, _: script._upgrade_revs(target, revision),  # as Alembic's manual has it
        destination_rev=target,
    )
    with steps:
        steps.configure(connection=connection, target_metadata=METADATA)
        steps.run_migrations()
    if connection.dialect.name == "sqlite":
        connection.exec_driver_sql(f"PRAGMA application_id = {APPLICATION_ID}")
