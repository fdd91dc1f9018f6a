"""Copies of a SQLite record, made and put back while others may have it open."""

from __future__ import annotations

import os
import sqlite3
from collections.abc import Callable, Iterator
from contextlib import closing, contextmanager
from pathlib import Path

from ventwright.store.mistakes import in_plain_words, user_error
from ventwright.store.opened import Store
from ventwright.store.sqlite import APPLICATION_ID, BUSY_WAIT_S

_PAGES = 512
_SQLITE_MARK = b"SQLite format 3\x00"


def is_sqlite_file(path: Path) -> bool:
    """Tell whether a file is a SQLite database, by its first bytes.

    Parameters
    ----------
    path
        The file.

    >>> is_sqlite_file(Path(__file__))
    False
    """
    try:
        with path.open("rb") as file:
            return file.read(len(_SQLITE_MARK)) == _SQLITE_MARK
    except OSError:
        return False


def back_up(
    store: Store, path: Path, *, tell: Callable[[int, int], None] = lambda _done, _all: None
) -> None:
    """Copy a SQLite record into a file; the record may be in use.

    The copy is checked before it gets its name, so a file of that name is always whole.

    Parameters
    ----------
    store
        The record.
    path
        The copy; replaced once the new one is complete.
    tell
        Called with how many pages are done, of how many.

    Raises
    ------
    UserError
        If the record is no file, or the copy can't be written.

    >>> import tempfile
    >>> from ventwright.store import open_store
    >>> with tempfile.TemporaryDirectory() as folder:
    ...     with open_store(f"sqlite:///{folder}/record.db") as store:
    ...         back_up(store, Path(folder, "copy.db"))
    ...     is_sqlite_file(Path(folder, "copy.db"))
    True
    """
    source_path = _file_of(store)
    beside = path.with_name(path.name + ".part")
    beside.unlink(missing_ok=True)
    try:
        with in_plain_words(str(path)):
            with closing(_plain(source_path)) as source, closing(_plain(beside)) as copy:
                source.backup(copy, pages=_PAGES, progress=_telling(tell), sleep=0.01)
                copy.execute("PRAGMA journal_mode = DELETE")
                _check_sound(copy, path)
            _settle(beside, path)
    finally:
        beside.unlink(missing_ok=True)


def restore(
    path: Path,
    target: Path,
    *,
    kept_as: Path | None,
    tell: Callable[[int, int], None] = lambda _done, _all: None,
) -> None:
    """Put a copy in the place of a record.

    Everything happens through the database's own locks: programs that have the record open see the
    restored one in their next transaction, and a restore that is cut short leaves the old one.

    Parameters
    ----------
    path
        The copy, as `back_up` makes it.
    target
        The record's file; it may not exist yet.
    kept_as
        Where the record that is replaced is copied to first; None where there is none.
    tell
        As `back_up`.

    Raises
    ------
    UserError
        ``not-a-backup`` if the copy is no record or is damaged; nothing is changed then.

    >>> import tempfile
    >>> from ventwright.store import open_store
    >>> with tempfile.TemporaryDirectory() as folder:
    ...     with open_store(f"sqlite:///{folder}/record.db") as store:
    ...         back_up(store, Path(folder, "copy.db"))
    ...     restore(Path(folder, "copy.db"), Path(folder, "again.db"), kept_as=None)
    ...     is_sqlite_file(Path(folder, "again.db"))
    True
    """
    with in_plain_words(str(path)), closing(_reading(path)) as source:
        mark = source.execute("PRAGMA application_id").fetchone()[0]
        if mark != APPLICATION_ID:
            raise user_error("not-a-backup", str(path), "it is no record", "name another file")
        _check_sound(source, path)
        with in_plain_words(str(target)), closing(_plain(target)) as there:
            if kept_as is not None:
                with closing(_plain(kept_as)) as kept:
                    there.backup(kept, pages=-1)
            source.backup(there, pages=-1, progress=_telling(tell))


def _file_of(store: Store) -> Path:
    if store.file is None:
        raise user_error(
            "no-file", store.shown, "a server's record is no file", "export a bundle instead"
        )
    return store.file


def _plain(path: Path) -> sqlite3.Connection:
    connection = sqlite3.connect(path, timeout=BUSY_WAIT_S, isolation_level=None)
    connection.execute("PRAGMA synchronous = EXTRA")
    return connection


def _reading(path: Path) -> sqlite3.Connection:
    address = f"{path.resolve().as_uri()}?mode=ro"
    return sqlite3.connect(address, uri=True, timeout=BUSY_WAIT_S, isolation_level=None)


def _check_sound(connection: sqlite3.Connection, path: Path) -> None:
    said = connection.execute("PRAGMA integrity_check").fetchone()[0]
    if said != "ok":
        raise user_error("not-a-backup", str(path), f"it is damaged: {said}", "name another one")


def _telling(tell: Callable[[int, int], None]) -> Callable[[int, int, int], None]:
    def told(_: int, remaining_count: int, total_count: int) -> None:
        tell(total_count - remaining_count, total_count)

    return told


def _settle(beside: Path, path: Path) -> None:
    """Give a complete file its name, so that neither is lost in a power cut."""
    with beside.open("rb+") as file:
        os.fsync(file.fileno())
    beside.replace(path)
    if os.name == "posix":
        with _folder(path.parent) as folder:
            os.fsync(folder)


@contextmanager
def _folder(path: Path) -> Iterator[int]:
    opened = os.open(path, os.O_RDONLY)
    try:
        yield opened
    finally:
        os.close(opened)
