"""The databases that every test of the record runs on: a SQLite file and a PostgreSQL server.

The server's address stands in `VENTWRIGHT_TEST_POSTGRES_URL`; `tools/with_postgres.sh` starts one
and sets it. Each test gets an empty schema of its own.
"""

from __future__ import annotations

import os
import uuid
from collections.abc import Iterator
from pathlib import Path

import pytest
from sqlalchemy import create_engine, make_url, text

POSTGRES = "VENTWRIGHT_TEST_POSTGRES_URL"


def postgres_address() -> str:
    """Address of the test server; without one a test is skipped, but fails where CI is set."""
    found = os.environ.get(POSTGRES, "")
    if not found:
        said = f"no PostgreSQL: run the tests with tools/with_postgres.sh, which sets {POSTGRES}"
        if os.environ.get("CI"):
            pytest.fail(said)
        pytest.skip(said)
    return found


@pytest.fixture
def postgres_url() -> Iterator[str]:
    """Address of an empty schema of the test server."""
    server = make_url(postgres_address()).set(drivername="postgresql+psycopg")
    schema = f"test_{uuid.uuid4().hex}"
    engine = create_engine(server, isolation_level="AUTOCOMMIT")
    with engine.connect() as connection:
        connection.execute(text(f"CREATE SCHEMA {schema}"))
    own = server.update_query_dict({"options": f"-csearch_path={schema}"})
    yield own.render_as_string(hide_password=False)
    with engine.connect() as connection:
        connection.execute(text(f"DROP SCHEMA {schema} CASCADE"))
    engine.dispose()


@pytest.fixture
def sqlite_url(tmp_path: Path) -> str:
    """Address of a SQLite file that does not exist yet."""
    return f"sqlite:///{tmp_path / 'record.db'}"


@pytest.fixture(params=["sqlite", "postgres"])
def record_url(request: pytest.FixtureRequest) -> str:
    """Address of an empty record, once in each database."""
    return str(request.getfixturevalue(f"{request.param}_url"))
