"""House and visit files into the record and out of it."""

from __future__ import annotations

import tomllib
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from pathlib import Path

from ventwright.actions.assess_files import write_whole
from ventwright.actions.record.bundles import Imported, import_bundle
from ventwright.actions.record.houses import plan_of, put_house
from ventwright.actions.record.ledger import Ledger
from ventwright.actions.record.pictures import picture_type
from ventwright.actions.record.visits import put_visit, visit_of
from ventwright.exchange import read_house, read_visit, write_house, write_visit
from ventwright.house import HOUSE_SCHEMA, House, Photo, Series, Signature, Visit, files_of
from ventwright.quantities import NumberStyle, Problem, Severity, UserError
from ventwright.store import ReceiptState, Transaction, list_visits

HOUSE_FILE = "house.toml"
# Mistakes of parts that don't fit together: every value was read, and the record keeps it as it is.
_UNFITTING = {
    *("unknown-reference", "repeated-id", "band-crossed", "side-clash", "branch-circle"),
    "unknown-instrument",
}
_ENDINGS = {
    "image/jpeg": ".jpg",
    "image/png": ".png",
    "image/webp": ".webp",
    "image/heic": ".heic",
    "image/heif": ".heif",
    "image/avif": ".avif",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Exported:
    """What an export wrote."""

    paths: tuple[Path, ...]


def export_files(ledger: Ledger, house_id: str, folder: Path) -> Exported:
    """Write a house and its visits, as they stand, as files that people read and edit.

    Beside `house.toml` each visit gets a file of its own, and its photos and drawn signatures lie
    in `photos` under their hashes. What was superseded among readings goes along; former plans,
    decided contests, logs and issued reports are in a bundle only.

    Parameters
    ----------
    ledger
        The record.
    house_id
        The house.
    folder
        Made if missing; files of the same names are replaced.

    Raises
    ------
    UserError
        ``unknown-house``; if the folder can't be written to.

    >>> import tempfile
    >>> from ventwright.actions.record import practice_ledger
    >>> with tempfile.TemporaryDirectory() as folder, practice_ledger() as ledger:
    ...     [path.name for path in export_files(ledger, "h", Path(folder)).paths]
    ['house.toml', 'visit-v.toml']
    """
    with ledger.store.reading() as now:
        house, _ = plan_of(now, house_id)
        contents = {HOUSE_FILE: write_house(house).encode()}
        for line in sorted(list_visits(now, house=house_id, page_count=None), key=lambda v: v.id):
            visit = visit_of(now, line.id).visit
            contents[_free_name(line.id, contents)] = write_visit(visit).encode()
            for name in _pictures_of(visit):
                kept = now.blob(name)
                if kept is not None:
                    ending = _ENDINGS.get(kept[1], "")
                    contents[f"photos/{name}{ending}"] = kept[0]
    paths = []
    for name, content in contents.items():
        path = folder / name
        try:
            path.parent.mkdir(parents=True, exist_ok=True)
        except OSError as trouble:
            raise UserError(f"can't make {path.parent}: {trouble.strerror}") from trouble
        write_whole(path, content)
        paths.append(path)
    return Exported(paths=tuple(paths))


def _pictures_of(visit: Visit) -> tuple[str, ...]:
    """Hashes of its photos and drawn signatures."""
    spoken_of: tuple[Photo | Signature, ...] = (*visit.photos, *visit.signatures)
    return tuple(dict.fromkeys(name for one in spoken_of for name in files_of(one)))


def _free_name(visit_id: str, taken: Iterable[str]) -> str:
    """A file name for a visit; ids may hold what no file name can."""
    plain = "".join(c if c.isascii() and (c.isalnum() or c in "-_") else "-" for c in visit_id)
    stem = f"visit-{plain[:80].strip('-') or 'x'}"
    names = {name.casefold() for name in taken}
    tries = (f"{stem}{ending}.toml" for ending in ("", *(f"-{i}" for i in range(2, 100_000))))
    return next(name for name in tries if name.casefold() not in names)


def import_paths(
    ledger: Ledger,
    paths: Iterable[Path],
    *,
    house_id: str = "",
    number_style: NumberStyle | None = None,
    by: str = "",
    tell: Callable[[int, int], None] = lambda _done, _all: None,
) -> Imported:
    """Take files into the record: bundles, house and visit files, or a folder of them.

    A house whose plan differs becomes the next revision; of a visit that is here already, what is
    new is added.

    Parameters
    ----------
    ledger
        The record.
    paths
        ``.zip`` bundles, ``.toml`` and ``.csv`` files, folders.
    house_id
        House of readings in a ``.csv`` file that stands alone.
    number_style
        How numbers with a lone comma are meant.
    by
        Who.
    tell
        Called with how much of a bundle is done.

    Raises
    ------
    UserError
        If a file can't be read, or something in it can't be: nothing of that file is taken in, so
        that no half of a visit stands in the record. What was read and does not fit together is
        taken in and said.

    >>> import tempfile
    >>> from ventwright.actions.record import practice_ledger
    >>> with tempfile.TemporaryDirectory() as folder, practice_ledger() as ledger:
    ...     _ = export_files(ledger, "h", Path(folder))
    ...     import_paths(ledger, [Path(folder)]).new_count
    0
    """
    bundles, houses, visits = _sorted_out(paths)
    found: list[Imported] = [import_bundle(ledger, bundle, tell=tell) for bundle in bundles]
    found += [_import_house(ledger, path, number_style, by) for path in houses]
    found += [_import_visit(ledger, path, house_id, number_style, by) for path in visits]
    return Imported(
        houses=tuple(dict.fromkeys(h for one in found for h in one.houses)),
        visits=tuple(dict.fromkeys(v for one in found for v in one.visits)),
        new_count=sum(one.new_count for one in found),
        problems=tuple(p for one in found for p in one.problems),
    )


def _sorted_out(paths: Iterable[Path]) -> tuple[list[Path], list[Path], list[Path]]:
    """Bundles, house files and visit files, houses first so that visits find theirs."""
    files: list[Path] = []
    for path in paths:
        files += sorted(path.glob("*.toml")) if path.is_dir() else [path]
    if not files:
        raise UserError("there is nothing to take in; name a bundle, house and visit files")
    bundles = [path for path in files if path.suffix.casefold() == ".zip"]
    rest = [path for path in files if path not in bundles]
    houses = [path for path in rest if _is_house(path)]
    return bundles, houses, [path for path in rest if path not in houses]


def _is_house(path: Path) -> bool:
    """Tell by the file's schema; a file that can't be read is judged by its reader later."""
    try:
        mapping = tomllib.loads(path.read_text(encoding="utf-8-sig"))
    except (OSError, ValueError, RecursionError):
        return path.name == HOUSE_FILE
    return mapping.get("schema") == HOUSE_SCHEMA


def _import_house(
    ledger: Ledger, path: Path, number_style: NumberStyle | None, by: str
) -> Imported:
    house, problems = read_house(path, number_style=number_style)
    _refuse_mistakes(path, problems)
    with ledger.store.writing() as change:
        head = change.head(Series.HOUSE, house.id)
        number = 0 if head is None else head.number
        handed = put_house(change, ledger, house, expected_number=number, by=by)
    is_new = handed.receipt.state is not ReceiptState.ALREADY
    return Imported(houses=(house.id,), visits=(), new_count=int(is_new), problems=problems)


def _import_visit(
    ledger: Ledger, path: Path, house_id: str, number_style: NumberStyle | None, by: str
) -> Imported:
    house = None
    if house_id:
        with ledger.store.reading() as now:
            house = plan_of(now, house_id)[0]
    visit, problems = read_visit(path, house=house, number_style=number_style)
    if house is None:
        with ledger.store.reading() as now:
            house = _house_of(now, visit.house)
        visit, problems = read_visit(path, house=house, number_style=number_style)
    _refuse_mistakes(path, problems)
    pictures = _pictures_of(visit)
    with ledger.store.writing() as change:
        before = change.head(Series.VISIT, visit.id)
        for file in sorted((path.parent / "photos").glob("*")) if pictures else []:
            if file.stem in pictures:
                content = file.read_bytes()
                change.put_blob(content, media_type=picture_type(content))
        missing = [name for name in pictures if not change.has_blob(name)]
        if missing:
            raise UserError(
                f"{path}: {len(missing)} of its pictures lie neither in the record nor in "
                f"{path.parent / 'photos'}; put them there under their hashes: {missing[0]}"
            )
        handed = put_visit(change, ledger, visit, by=by)
        after = change.head(Series.VISIT, visit.id)
    assert after is not None
    return Imported(
        houses=(),
        visits=(visit.id,),
        new_count=after.number - (0 if before is None else before.number),
        problems=(*problems, *handed.problems),
    )


def _house_of(now: Transaction, house_id: str) -> House | None:
    """The plan to check a visit against; None leaves it to the import to say it is missing."""
    return plan_of(now, house_id)[0] if now.head(Series.HOUSE, house_id) else None


def _refuse_mistakes(path: Path, problems: tuple[Problem, ...]) -> None:
    mistakes = tuple(
        p for p in problems if p.severity is Severity.MISTAKE and p.code not in _UNFITTING
    )
    if mistakes:
        raise UserError(
            f"{path}: {len(mistakes)} to mend before it can be taken in",
            problems=mistakes,
        )
