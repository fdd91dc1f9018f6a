"""The files of the pages under an address that changes with them, and the worker that keeps them.

Over https, or on this machine, a browser lets a service worker answer while the server is away. It
keeps the files of one edition and nothing of the record; a new edition replaces it at once.
"""

from __future__ import annotations

import hashlib
import json
import re
from pathlib import Path, PurePath

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse, Response
from starlette.responses import Response as AnyResponse
from starlette.staticfiles import StaticFiles
from starlette.types import Scope

from ventwright.web.desk import Desk

FOLDER = Path(__file__).parent
_WORKER = "worker.js"
_EDITION = re.compile(r"[0-9a-f]{16}")
_UNCHANGING, _ASK_FIRST = "public, max-age=31536000, immutable", "no-cache"

router = APIRouter(include_in_schema=False)


def edition_of(folder: Path) -> str:
    """Name of what the pages consist of: another one as soon as any file of them differs.

    Parameters
    ----------
    folder
        Where templates and files lie.

    >>> len(edition_of(FOLDER))
    16
    """
    found = hashlib.sha256()
    for path in _files(folder):
        content = path.read_bytes()
        found.update(f"{path.relative_to(folder).as_posix()} {len(content)}\n".encode())
        found.update(content)
    return found.hexdigest()[:16]


def _files(folder: Path) -> list[Path]:
    inside = [p for name in ("static", "templates") for p in (folder / name).rglob("*")]
    return sorted(path for path in inside if path.is_file())


class Files(StaticFiles):
    """Files at an address that carries their edition, which a browser may keep for good.

    A page of an older edition gets the files of now, and does not keep them.

    Parameters
    ----------
    edition
        As `edition_of`.
    """

    def __init__(self, edition: str) -> None:
        super().__init__(directory=FOLDER / "static")
        self.edition = edition

    def get_path(self, scope: Scope) -> str:
        """The file an address means, whatever edition it names."""
        parts = PurePath(super().get_path(scope)).parts
        is_named = bool(parts) and bool(_EDITION.fullmatch(parts[0]))
        scope["ventwright.is_now"] = is_named and parts[0] == self.edition
        return str(PurePath(*parts[1:] if is_named else parts))

    def file_response(self, *args: object, **options: object) -> AnyResponse:
        """The file, with how long it holds."""
        answer = super().file_response(*args, **options)  # type: ignore[arg-type]
        scope = next(one for one in (*args, *options.values()) if isinstance(one, dict))
        is_now = scope.get("ventwright.is_now", False)
        answer.headers["cache-control"] = _UNCHANGING if is_now else _ASK_FIRST
        return answer


@router.get("/shell")
def shell(request: Request) -> HTMLResponse:
    """The field page of no visit in particular, for the worker to keep."""
    desk: Desk = request.app.state.desk
    answer = HTMLResponse(desk.html("visit.html", visit_id=""))
    answer.headers["cache-control"] = "no-store"
    return answer


@router.get("/worker.js")
def worker(request: Request) -> Response:
    """The service worker, with the edition and the files that it keeps written before it."""
    folder = FOLDER / "static"
    edition: str = request.app.state.edition
    names = [
        path.relative_to(folder).as_posix()
        for path in _files(FOLDER)
        if path.is_relative_to(folder) and path.suffix in {".js", ".css", ".svg"}
    ]
    kept = [f"/static/{edition}/{name}" for name in names if name != _WORKER]
    head = f"const EDITION = {json.dumps(edition)};\nconst KEPT = {json.dumps(kept)};\n"
    text = (folder / _WORKER).read_text(encoding="utf-8")
    return Response(
        head + text, media_type="text/javascript", headers={"cache-control": _ASK_FIRST}
    )
