"""Backing the record up and putting a backup back."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from ventwright.actions.record.bundles import export_bundle, import_bundle, is_empty
from ventwright.actions.record.ledger import Ledger, open_ledger
from ventwright.quantities import UserError
from ventwright.store import back_up, is_sqlite_file, restore

Tell = Callable[[int, int], None]


def _quiet(_done: int, _all: int) -> None:
    """Tell nobody."""


def back_up_record(ledger: Ledger, path: Path, *, tell: Tell = _quiet) -> str:
    """Copy the whole record into one file, while others may use it.

    Parameters
    ----------
    ledger
        The record.
    path
        The copy. A name that ends in ``.zip`` gets a bundle, which either database takes back; a
        SQLite record gives a copy of its database otherwise.
    tell
        Called with how much is done, of how much.

    Returns
    -------
    str
        ``database`` or ``bundle``.

    Raises
    ------
    UserError
        If it can't be written; for a server if the name does not end in ``.zip``.

    >>> import tempfile
    >>> from ventwright.actions.record import practice_ledger
    >>> with tempfile.TemporaryDirectory() as folder, practice_ledger() as ledger:
    ...     back_up_record(ledger, Path(folder, "copy.db"))
    'database'
    """
    if ledger.store.file is not None and path.exists() and ledger.store.file.samefile(path):
        raise UserError(f"{path} is the record itself; name another file")
    if path.suffix.casefold() == ".zip":
        export_bundle(ledger, path, tell=tell)
        return "bundle"
    if ledger.store.file is None:
        raise UserError(
            f"{path}: the record lies on a server; name a file that ends in .zip, and back the "
            "server itself up with its own tools (pg_dump) as well"
        )
    try:
        back_up(ledger.store, path, tell=tell)
    except OSError as trouble:
        raise UserError(f"can't write {path}: {trouble.strerror or trouble}") from trouble
    return "database"


def restore_record(
    path: Path, *, url: str = "", is_to_replace: bool = False, tell: Tell = _quiet
) -> Path | None:
    """Put a backup back.

    Parameters
    ----------
    path
        A backup: a copy of a database, or a bundle.
    url
        Address of the record to restore; empty takes the usual one.
    is_to_replace
        Whether a record that holds something may be replaced. It is copied aside first.
    tell
        As `back_up_record`.

    Returns
    -------
    Path or None
        Where the replaced record was copied to.

    Raises
    ------
    UserError
        If the backup is none or damaged; if the record holds something and may not be replaced.

    >>> import tempfile
    >>> from ventwright.actions.record import practice_ledger
    >>> with tempfile.TemporaryDirectory() as folder, practice_ledger() as ledger:
    ...     copy = Path(folder, "copy.db")
    ...     _ = back_up_record(ledger, copy)
    ...     restore_record(copy, url=f"sqlite:///{folder}/again.db")
    """
    if not path.is_file():
        raise UserError(f"no such file: {path}; name a backup")
    with open_ledger(url) as ledger:
        is_new, file = is_empty(ledger), ledger.store.file
        if not is_new and not is_to_replace:
            raise UserError(
                f"the record at {ledger.store.shown} is not empty; it is replaced only with "
                "--replace, and is copied aside then"
            )
        if not is_sqlite_file(path):
            if not is_new:
                raise UserError(
                    "a bundle is restored into an empty record only; take it into this one with "
                    f"ventwright import {path}, or name an empty one in VENTWRIGHT_DATABASE_URL"
                )
            import_bundle(ledger, path, tell=tell)
            return None
    if file is None:
        raise UserError(
            f"{path} is a copy of a file, and the record lies on a server; restore it to a file, "
            "export it from there as a bundle, and restore that"
        )
    kept_as = None if is_new else _free_name(file)
    restore(path, file, kept_as=kept_as, tell=tell)
    # Brings an older copy's tables up to date, and says so at once if a newer version made it.
    open_ledger(f"sqlite:///{file}", must_exist=True).store.close()
    return kept_as


def _free_name(file: Path) -> Path:
    for count in range(1, 10_000):
        name = file.with_name(f"{file.stem}.before-restore-{count}{file.suffix}")
        if not name.exists():
            return name
    raise UserError(f"too many copies of replaced records lie beside {file}; move some away")
