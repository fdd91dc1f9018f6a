"""The application: routes, guard, templates, files; built from a record and settings."""

from __future__ import annotations

import threading
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from dataclasses import dataclass
from pathlib import Path
from urllib.parse import quote

from fastapi import FastAPI
from jinja2 import Environment, FileSystemLoader, StrictUndefined, select_autoescape
from starlette.middleware.gzip import GZipMiddleware

from ventwright import __version__
from ventwright.actions.record import Ledger
from ventwright.actions.streams import StreamDesk
from ventwright.web import api, devices, pages, plan_api, shell, signatures, streams, trust
from ventwright.web.desk import Desk
from ventwright.web.guard import Allowed, Guard
from ventwright.web.idents import StepsApart
from ventwright.web.mistakes import MistakeBody, add_handlers
from ventwright.web.modules import modules_of
from ventwright.web.pairing import DeviceBook, Door
from ventwright.web.trust import TrustedAuthority

LOOPBACK_HOSTS = ("127.0.0.1", "localhost", "::1")


@dataclass(frozen=True, slots=True, kw_only=True)
class WebSettings:
    """Where the application is reached, and who may look in.

    `hosts` are names and addresses beside those of loopback; `pairing_token` lets new devices in,
    empty lets nobody new in. With an `authority` the pages are served over https to everyone but
    this machine; plain http shows others how to trust it, and nothing else. `streams` are the
    devices that this machine listens to.
    """

    device_file: Path
    hosts: tuple[str, ...] = ()
    pairing_token: str = ""
    authority: TrustedAuthority | None = None
    streams: StreamDesk | None = None


def create_app(ledger: Ledger, settings: WebSettings) -> FastAPI:
    """Build the application.

    Parameters
    ----------
    ledger
        The record.
    settings
        Where and for whom.

    >>> import tempfile
    >>> from ventwright.actions.record import practice_ledger
    >>> with practice_ledger() as ledger, tempfile.TemporaryDirectory() as folder:
    ...     app = create_app(ledger, WebSettings(device_file=Path(folder, "devices.json")))
    ...     app.title
    'Ventwright'
    """

    @asynccontextmanager
    async def begun(_: FastAPI) -> AsyncIterator[None]:
        threading.Thread(target=desk.begin, daemon=True).start()
        yield

    app = FastAPI(
        title="Ventwright",
        lifespan=begun,
        version=__version__,
        description="The field page's own interface: houses, visits, entries, reports.",
        docs_url=None,
        redoc_url=None,
        openapi_url="/api/openapi.json",
        responses={
            status: {"model": MistakeBody}
            for status in (400, 401, 403, 404, 409, 413, 421, 422, 426, 429, 500, 503)
        },
    )
    environment = Environment(
        loader=FileSystemLoader(shell.FOLDER / "templates"),
        autoescape=select_autoescape(default=True),
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    environment.filters["step"] = lambda ident: quote(ident, safe="")
    edition = shell.edition_of(shell.FOLDER)
    environment.globals["static"] = f"/static/{edition}"
    environment.globals["modules"] = {
        page: modules_of(f"{page}.js", folder=shell.FOLDER / "static")
        for page in ("visit", "house", "houses")
    }
    book = DeviceBook(settings.device_file)
    app.state.desk = desk = Desk(ledger=ledger, environment=environment)
    app.state.book = book
    app.state.door = Door(settings.pairing_token)
    app.state.authority = settings.authority
    app.state.streams = settings.streams or StreamDesk()
    app.state.edition = edition
    add_handlers(app)
    app.include_router(pages.router)
    app.include_router(api.router)
    app.include_router(api.pdf_router)
    app.include_router(plan_api.router)
    app.include_router(signatures.router)
    app.include_router(devices.router)
    app.include_router(streams.router)
    app.include_router(shell.router)
    app.include_router(trust.router)
    app.mount("/static", shell.Files(edition), name="static")
    app.add_middleware(GZipMiddleware, minimum_size=800)
    hosts = frozenset(name.lower() for name in (*LOOPBACK_HOSTS, *settings.hosts))
    secure_address = settings.authority.address if settings.authority else ""
    allowed = Allowed(hosts=hosts, book=book, secure_address=secure_address, edition=edition)
    app.add_middleware(Guard, allowed=allowed)
    app.add_middleware(StepsApart)
    return app
