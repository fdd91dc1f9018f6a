"""The text of a file, or a plain word on why there is none."""

from __future__ import annotations

import codecs
import os
import stat
from pathlib import Path

from ventwright.quantities import Problem, Severity, UserError

MOST_BYTES = 16 * 1024 * 1024
"""No file that a person wrote is longer; a longer one was named by mistake."""

_OTHER_MARKS = (
    (codecs.BOM_UTF32_LE, "UTF-32"),
    (codecs.BOM_UTF32_BE, "UTF-32"),
    (codecs.BOM_UTF16_LE, "UTF-16"),
    (codecs.BOM_UTF16_BE, "UTF-16"),
)


def read_bytes(path: Path) -> bytes:
    """Content of a regular file.

    Parameters
    ----------
    path
        File to read.

    Returns
    -------
    bytes
        At most 16 MiB.

    Raises
    ------
    UserError
        ``no-such-file``, ``not-a-file``, ``unreadable-file``, ``too-long-file``.
    """
    shown = os.fspath(path)
    try:
        about = path.stat()
        if not stat.S_ISREG(about.st_mode):
            what = "a folder" if stat.S_ISDIR(about.st_mode) else "not a plain file"
            raise refusal(
                "not-a-file", path, f"{shown} is {what}", "name the house or visit file itself"
            )
        if about.st_size > MOST_BYTES:
            raise refusal(
                "too-long-file",
                path,
                f"{shown} is {about.st_size} bytes long",
                f"a file of at most {MOST_BYTES} bytes is read; check that it is the right one",
            )
        return path.read_bytes()
    except (FileNotFoundError, NotADirectoryError):
        raise refusal(
            "no-such-file", path, f"no such file: {shown}", "check its name and folder"
        ) from None
    except (OSError, ValueError) as trouble:
        why = getattr(trouble, "strerror", None) or str(trouble)
        raise refusal(
            "unreadable-file", path, f"{shown} can't be read: {why}", "check its name and rights"
        ) from None


def decode(data: bytes, *, path: Path) -> str:
    """Text of a file's bytes: UTF-8, with or without a byte order mark.

    Parameters
    ----------
    data
        The bytes.
    path
        Where they come from, for messages.

    Returns
    -------
    str
        Without the mark.

    Raises
    ------
    UserError
        ``wrong-encoding``, naming the encoding where its mark is known, else the line of the first
        byte that is not UTF-8.
    """
    for mark, name in _OTHER_MARKS:
        if data.startswith(mark):
            raise _wrong_encoding(path, f"is written in {name}")
    if b"\x00" in data[:4096]:
        raise _wrong_encoding(path, "holds zero bytes (UTF-16 without its mark, or no text)")
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as trouble:
        line = data.count(b"\n", 0, trouble.start) + 1
        byte = data[trouble.start]
        raise _wrong_encoding(
            path, f"is not UTF-8: byte 0x{byte:02x} on line {line}", line
        ) from None


def _wrong_encoding(path: Path, what: str, line: int = 1) -> UserError:
    remedy = "save it as UTF-8 (in the editor's or spreadsheet's save dialogue)"
    return refusal("wrong-encoding", path, f"{path.name} {what}", remedy, line=line)


def refusal(code: str, path: Path, message: str, remedy: str, *, line: int = 0) -> UserError:
    """Make the exception that says a whole file can't be used.

    Parameters
    ----------
    code
        See `Problem`.
    path
        The file.
    message
        What was found.
    remedy
        What is accepted or what to do.
    line
        1-based line, 0 where none can be named.

    Returns
    -------
    UserError
        With one problem of severity `Severity.MISTAKE`.
    """
    where = f"{path.name}:{line}" if line else path.name
    problem = Problem(
        code=code, where=where, message=message, remedy=remedy, severity=Severity.MISTAKE
    )
    return UserError(f"{message}; {remedy}", problems=(problem,))
