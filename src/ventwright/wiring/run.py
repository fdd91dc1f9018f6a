"""Running the application: over plain http, and beside it over https with certificates renewed."""

from __future__ import annotations

import asyncio
import contextlib
import signal
import socket
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from types import FrameType
from typing import TYPE_CHECKING

import uvicorn

from ventwright.wiring.authority import Authority, renew_served

if TYPE_CHECKING:
    from fastapi import FastAPI

_LOOK_AFTER_S = 3600.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Secured:
    """The socket for https, and what its certificates are made and renewed from."""

    listener: socket.socket
    authority: Authority
    folder: Path
    names: tuple[str, ...]
    machine: str

    @property
    def port_number(self) -> int:
        """Where https is served."""
        return int(self.listener.getsockname()[1])


def run_pages(app: FastAPI, listener: socket.socket, secured: Secured | None = None) -> None:
    """Serve an application until the program is told to end.

    Parameters
    ----------
    app
        The application.
    listener
        Socket for plain http.
    secured
        What https needs; None serves none.
    """
    if secured is None:
        uvicorn.Server(_config(app)).run(sockets=[listener])
    else:
        asyncio.run(_run_both(app, listener, secured))


async def _run_both(app: FastAPI, listener: socket.socket, secured: Secured) -> None:
    config = _config(app, certificate=secured.authority.server_file)
    plain, secure = _Server(_config(app)), _Server(config)

    def end(_signal: int, _frame: FrameType | None) -> None:
        plain.should_exit = secure.should_exit = True

    before = {one: signal.signal(one, end) for one in (signal.SIGINT, signal.SIGTERM)}
    try:
        renewing = asyncio.create_task(_renew(config, secured))
        await asyncio.gather(
            plain.serve(sockets=[listener]), secure.serve(sockets=[secured.listener])
        )
        renewing.cancel()
    finally:
        for one, handler in before.items():
            signal.signal(one, handler)


async def _renew(config: uvicorn.Config, secured: Secured) -> None:
    """Look after the certificate; on the loop that shakes hands, so that the two never meet."""
    while True:
        await asyncio.sleep(_LOOK_AFTER_S)
        if config.ssl is not None:
            renew_served(
                config.ssl,
                secured.folder,
                names=secured.names,
                machine=secured.machine,
                now=datetime.now(UTC),
            )


def _config(app: FastAPI, *, certificate: Path | None = None) -> uvicorn.Config:
    return uvicorn.Config(
        app,
        log_level="warning",
        access_log=False,
        server_header=False,
        ssl_certfile=certificate,
        # Phones hold a stream of events open; nobody waits for them to let go.
        timeout_graceful_shutdown=1,
    )


class _Server(uvicorn.Server):
    """One of two in one program: whoever runs both listens to signals."""

    @contextlib.contextmanager
    def capture_signals(self) -> Iterator[None]:
        """Leave signals alone."""
        yield
