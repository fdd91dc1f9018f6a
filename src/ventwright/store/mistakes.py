"""What a database says, as a mistake that a person can mend."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager

from sqlalchemy.exc import ArgumentError, DBAPIError, NoSuchModuleError
from sqlalchemy.exc import TimeoutError as PoolTimeoutError

from ventwright.quantities import Problem, Severity, UserError

_KEPT = "nothing of what was acknowledged is lost"
_SQLITE = {
    "SQLITE_FULL": ("disk-full", f"the disk is full; {_KEPT}", "free some space and try again"),
    "SQLITE_READONLY": (
        "read-only",
        "the record may only be read, not written",
        "check the rights of the file and of its folder",
    ),
    "SQLITE_BUSY": (
        "busy",
        "another program holds the record; nothing was written",
        "try again; close other programs that have it open",
    ),
    "SQLITE_LOCKED": ("busy", "the record is locked; nothing was written", "try again"),
    "SQLITE_CANTOPEN": (
        "cannot-open",
        "the record can't be opened",
        "check that its folder exists and may be read and written",
    ),
    "SQLITE_PERM": ("cannot-open", "the record may not be opened", "check the file's rights"),
    "SQLITE_NOTADB": (
        "not-a-record",
        "the file is no database",
        "name another file, or restore a backup",
    ),
    "SQLITE_CORRUPT": (
        "damaged",
        "the file is damaged",
        "keep it as it is, and restore the last backup elsewhere",
    ),
    "SQLITE_IOERR": (
        "disk-trouble",
        f"the disk refused to write or read; {_KEPT}",
        "free some space, check the disk, then try again",
    ),
}
_POSTGRESQL = {
    "53100": _SQLITE["SQLITE_FULL"],
    "25006": _SQLITE["SQLITE_READONLY"],
    "55P03": _SQLITE["SQLITE_BUSY"],
    "40P01": _SQLITE["SQLITE_BUSY"],
    "40001": _SQLITE["SQLITE_BUSY"],
    "53300": ("busy", "the server takes no more connections", "try again later"),
    "42501": ("read-only", "this user may not do that in the database", "ask who runs it"),
}
_UNREACHABLE = (
    "unreachable",
    "the database server does not answer",
    "check the address, the name and the password, and that the server runs",
)


def user_error(code: str, where: str, message: str, remedy: str) -> UserError:
    """Make the exception for something about the record that its user can mend.

    Parameters
    ----------
    code
        See `Problem`.
    where
        The record's address, or the entry spoken of.
    message, remedy
        What was found, what to do.

    >>> str(user_error("busy", "record.db", "it is busy", "try again"))
    'record.db: it is busy; try again'
    """
    problem = Problem(
        code=code, where=where, message=message, remedy=remedy, severity=Severity.MISTAKE
    )
    return UserError(f"{where}: {message}; {remedy}", problems=(problem,))


@contextmanager
def in_plain_words(shown: str) -> Iterator[None]:
    """Turn what a database refuses for reasons outside the program into a `UserError`.

    Everything else is a fault of ours and passes as it is.

    Parameters
    ----------
    shown
        The record's address without its password.
    """
    try:
        yield
    except (DBAPIError, sqlite3.Error) as trouble:
        found = _explained(trouble.orig if isinstance(trouble, DBAPIError) else trouble)
        if found is None:
            raise
        raise user_error(found[0], shown, found[1], found[2]) from trouble
    except PoolTimeoutError as trouble:
        code, message, remedy = _SQLITE["SQLITE_BUSY"]
        raise user_error(code, shown, message, remedy) from trouble
    except ModuleNotFoundError as trouble:
        if trouble.name != "psycopg":
            raise
        raise user_error(
            "no-driver",
            shown,
            "PostgreSQL needs a driver that is not installed",
            "install it with: pip install 'ventwright[postgres]'",
        ) from trouble
    except (ArgumentError, NoSuchModuleError) as trouble:
        raise user_error(
            "unknown-address",
            shown,
            "this is no address of a database that is known here",
            "write sqlite:///FILE or postgresql://USER@HOST/DATABASE",
        ) from trouble


def _explained(trouble: BaseException | None) -> tuple[str, str, str] | None:
    name = getattr(trouble, "sqlite_errorname", None)
    if name is not None:
        known = (word for word in _SQLITE if name == word or name.startswith(f"{word}_"))
        return next((_SQLITE[word] for word in known), None)
    if not type(trouble).__module__.startswith("psycopg"):
        return None
    state = getattr(trouble, "sqlstate", None)
    if state is None:
        return _UNREACHABLE if type(trouble).__name__ == "OperationalError" else None
    if state[:2] in ("08", "28", "57", "3D"):
        return _UNREACHABLE
    return _POSTGRESQL.get(state)
