"""Bundles: houses with all their entries, photos and reports in one file, loss-free.

A zip file that any tool opens. ``manifest.json`` names the schema and every part with its hash;
``house/0001.jsonl`` and the like hold the sealed entries of one series, a line each; ``files/HASH``
photos, snapshots, findings and documents. Nothing is compressed and no time of writing is kept: the
same record gives the same bytes on every machine.
"""

from __future__ import annotations

import hashlib
import json
import os
import zipfile
from collections.abc import Iterable, Iterator
from pathlib import Path

from ventwright.exchange.canonical import canonical_json
from ventwright.exchange.canonical_reading import from_json
from ventwright.exchange.text import refusal
from ventwright.house import Sealed, Series, link_problem
from ventwright.quantities import UserError
from ventwright.quantities.records import dataclass

BUNDLE_SCHEMA = "ventwright-bundle-1"
MANIFEST = "manifest.json"
_FIRST_DAY = (1980, 1, 1, 0, 0, 0)
_MOST_MANIFEST_BYTES = 256 * 1024 * 1024
_MOST_FILE_BYTES = 1024 * 1024 * 1024


@dataclass(frozen=True, slots=True, kw_only=True)
class SeriesPart:
    """One series of a bundle; `parent` is the house of a visit."""

    series: Series
    owner: str
    parent: str | None
    name: str
    entry_count: int
    sha256: str


@dataclass(frozen=True, slots=True, kw_only=True)
class FilePart:
    """One file of a bundle, named by the hash of its bytes."""

    sha256: str
    media_type: str
    byte_count: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Manifest:
    """What a bundle holds, and which version wrote it."""

    schema: str = BUNDLE_SCHEMA
    engine: str
    series: tuple[SeriesPart, ...]
    files: tuple[FilePart, ...]


class BundleWriter:
    """Writes a bundle part by part; the file appears under its name once it is complete.

    Parameters
    ----------
    path
        Where; an existing file is replaced.
    engine
        Version that writes.
    """

    def __init__(self, path: Path, *, engine: str) -> None:
        self._path = path
        self._beside = path.with_name(path.name + ".part")
        self._engine = engine
        self._series: list[SeriesPart] = []
        self._files: dict[str, FilePart] = {}
        try:
            self._zip = zipfile.ZipFile(self._beside, "w", zipfile.ZIP_STORED)
        except OSError as trouble:
            raise _unwritable(path, trouble) from trouble

    def add_series(
        self, series: Series, owner: str, entries: Iterable[Sealed], *, parent: str | None = None
    ) -> None:
        """Add a series; entries are written as they come and not held in memory."""
        count = sum(part.series is series for part in self._series) + 1
        name = f"{series.value}/{count:06d}.jsonl"
        whole, entry_count = hashlib.sha256(), 0
        with self._zip.open(_info(name), "w", force_zip64=True) as part:
            for entry in entries:
                line = canonical_json(entry)
                whole.update(line)
                part.write(line)
                entry_count += 1
        self._series.append(
            SeriesPart(
                series=series,
                owner=owner,
                parent=parent,
                name=name,
                entry_count=entry_count,
                sha256=whole.hexdigest(),
            )
        )

    def add_file(self, name: str, content: bytes, *, media_type: str) -> None:
        """Add a file under its hash, once."""
        if name not in self._files:
            self._files[name] = FilePart(
                sha256=name, media_type=media_type, byte_count=len(content)
            )
            self._zip.writestr(_info(f"files/{name}"), content)

    def __enter__(self) -> BundleWriter:
        return self

    def __exit__(self, kind: type[BaseException] | None, *_: object) -> None:
        try:
            if kind is None:
                files = tuple(self._files[name] for name in sorted(self._files))
                manifest = Manifest(engine=self._engine, series=tuple(self._series), files=files)
                self._zip.writestr(_info(MANIFEST), canonical_json(manifest))
            self._zip.close()
            if kind is None:
                with self._beside.open("rb+") as file:
                    os.fsync(file.fileno())
                self._beside.replace(self._path)
        except OSError as trouble:
            raise _unwritable(self._path, trouble) from trouble
        finally:
            self._beside.unlink(missing_ok=True)


def _info(name: str) -> zipfile.ZipInfo:
    info = zipfile.ZipInfo(name, date_time=_FIRST_DAY)
    info.create_system = 3
    info.external_attr = 0o644 << 16
    return info


def _unwritable(path: Path, trouble: OSError) -> UserError:
    why = trouble.strerror or str(trouble)
    return refusal("unwritable", path, f"can't write {path}: {why}", "name another place")


class Bundle:
    """An open bundle; each part is held against its hash as it is read."""

    def __init__(self, path: Path) -> None:
        self.path = path
        self._zip = _opened(path)
        try:
            self.manifest = self._read_manifest()
        except BaseException:
            self._zip.close()
            raise

    def _read_manifest(self) -> Manifest:
        data = self._bytes(MANIFEST, most_count=_MOST_MANIFEST_BYTES)
        try:
            plain = json.loads(data)
        except ValueError:
            plain = None
        schema = plain.get("schema") if isinstance(plain, dict) else None
        if schema != BUNDLE_SCHEMA:
            raise refusal(
                "unknown-schema",
                self.path,
                f"{self.path.name} has schema {schema!r}, which this version does not read",
                f"it reads {BUNDLE_SCHEMA!r}; for a newer schema install a newer ventwright",
            )
        return from_json(Manifest, data)

    def entries(self, part: SeriesPart) -> Iterator[Sealed]:
        """The entries of a series, checked against their chain and the manifest."""
        whole, previous, entry_count = hashlib.sha256(), None, 0
        try:
            with self._zip.open(part.name) as lines:
                for line in lines:
                    whole.update(line)
                    entry = from_json(Sealed, line)
                    problem = link_problem(entry, previous=previous)
                    if problem is not None:
                        raise UserError(f"{self.path.name}: {problem.message}", problems=(problem,))
                    if (entry.series, entry.owner) != (part.series, part.owner):
                        raise self._damaged(part.name, "it holds entries of another series")
                    yield entry
                    previous = entry
                    entry_count += 1
        except (KeyError, zipfile.BadZipFile, OSError) as trouble:
            raise self._damaged(part.name, str(trouble)) from trouble
        if (whole.hexdigest(), entry_count) != (part.sha256, part.entry_count):
            raise self._damaged(part.name, "it is not what the manifest says")

    def content(self, part: FilePart) -> bytes:
        """The bytes of a file, checked against its hash."""
        data = self._bytes(f"files/{part.sha256}", most_count=_MOST_FILE_BYTES)
        if hashlib.sha256(data).hexdigest() != part.sha256 or len(data) != part.byte_count:
            raise self._damaged(f"files/{part.sha256}", "its bytes are not those that were kept")
        return data

    def _bytes(self, name: str, *, most_count: int) -> bytes:
        try:
            about = self._zip.getinfo(name)
            if about.file_size > most_count:
                raise self._damaged(name, f"it is {about.file_size} bytes long")
            return self._zip.read(about)
        except (KeyError, zipfile.BadZipFile, OSError, RuntimeError) as trouble:
            raise self._damaged(name, str(trouble)) from trouble

    def _damaged(self, name: str, what: str) -> UserError:
        return refusal(
            "damaged-bundle",
            self.path,
            f"{self.path.name}: part {name} can't be used: {what}",
            "get the bundle again from where it was made",
        )

    def __enter__(self) -> Bundle:
        return self

    def __exit__(self, *_: object) -> None:
        self._zip.close()


def _opened(path: Path) -> zipfile.ZipFile:
    try:
        return zipfile.ZipFile(path)
    except FileNotFoundError:
        raise refusal(
            "no-such-file", path, f"no such file: {path}", "check its name and folder"
        ) from None
    except (zipfile.BadZipFile, OSError) as trouble:
        raise refusal(
            "not-a-bundle",
            path,
            f"{path.name} is no bundle: {trouble}",
            "name a .zip of ventwright",
        ) from trouble


def open_bundle(path: str | os.PathLike[str]) -> Bundle:
    """Open a bundle to read it.

    Parameters
    ----------
    path
        The file.

    Returns
    -------
    Bundle
        A context that closes the file.

    Raises
    ------
    UserError
        ``no-such-file``, ``not-a-bundle``, ``damaged-bundle``; ``unknown-schema`` with what to do.

    >>> import tempfile
    >>> with tempfile.TemporaryDirectory() as folder:
    ...     path = Path(folder, "b.zip")
    ...     with BundleWriter(path, engine="0.1.0") as bundle:
    ...         bundle.add_file(hashlib.sha256(b"x").hexdigest(), b"x", media_type="image/png")
    ...     with open_bundle(path) as bundle:
    ...         bundle.content(bundle.manifest.files[0])
    b'x'
    """
    return Bundle(Path(path))
