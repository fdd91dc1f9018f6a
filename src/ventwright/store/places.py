"""Where the record lies if nobody says otherwise: the user's data folder of each system."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path, PurePosixPath, PureWindowsPath

URL_VARIABLE = "VENTWRIGHT_DATABASE_URL"
FILE_NAME = "record.db"


def data_folder(environment: Mapping[str, str], *, platform: str, home: str) -> str:
    """Folder for a user's data.

    Parameters
    ----------
    environment
        Environment variables.
    platform
        As `sys.platform`.
    home
        The user's home folder.

    Returns
    -------
    str
        ``$XDG_DATA_HOME/ventwright``, else ``~/.local/share/ventwright``; on macOS
        ``~/Library/Application Support/ventwright``; on Windows ``%LOCALAPPDATA%\\ventwright``.

    >>> data_folder({}, platform="linux", home="/home/ada")
    '/home/ada/.local/share/ventwright'
    >>> data_folder({"LOCALAPPDATA": "C:\\\\Data"}, platform="win32", home="C:\\\\ada")
    'C:\\\\Data\\\\ventwright'
    """
    if platform == "win32":
        local = environment.get("LOCALAPPDATA") or str(PureWindowsPath(home, "AppData", "Local"))
        return str(PureWindowsPath(local, "ventwright"))
    if platform == "darwin":
        return str(PurePosixPath(home, "Library", "Application Support", "ventwright"))
    given = environment.get("XDG_DATA_HOME", "")
    # The base directory rules say that a relative path is to be ignored.
    base = given if PurePosixPath(given).is_absolute() else PurePosixPath(home, ".local", "share")
    return str(PurePosixPath(base, "ventwright"))


def default_url(environment: Mapping[str, str], *, platform: str, home: str) -> str:
    """Address of the record: `VENTWRIGHT_DATABASE_URL`, else a file in the data folder.

    Parameters
    ----------
    environment, platform, home
        As `data_folder`.

    >>> default_url({}, platform="linux", home="/home/ada")
    'sqlite:////home/ada/.local/share/ventwright/record.db'
    """
    given = environment.get(URL_VARIABLE, "").strip()
    if given:
        return given
    folder = data_folder(environment, platform=platform, home=home)
    return f"sqlite:///{Path(folder, FILE_NAME)}"
