"""Serving the pages: settings, record, application, and the address printed for a phone."""

from __future__ import annotations

import socket
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from ventwright.actions import examples_folder
from ventwright.actions.demo import DEMO_HOUSE
from ventwright.actions.field import begin_visit
from ventwright.actions.record import (
    Ledger,
    add_house,
    find_visits,
    open_ledger,
    start_visit,
    utc_now,
)
from ventwright.exchange import read_house, read_visit
from ventwright.quantities import UserError
from ventwright.web import WebSettings, create_app
from ventwright.web.pairing import new_pairing_token
from ventwright.wiring.addresses import lan_address, page_address
from ventwright.wiring.devices import device_file

if TYPE_CHECKING:
    from fastapi import FastAPI

LOOPBACK, EVERYWHERE = "127.0.0.1", "0.0.0.0"
DEFAULT_PORT_NUMBER = 8470
"""Kept the same from run to run: a browser keeps what waits under address and port."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ServeOptions:
    """How pages are served.

    `is_lan` opens them to the network for paired devices; `address` is what phones call this
    machine where it can't be found out. Port 0 takes any free one. `demo_folder` serves the
    invented house from a record there.
    """

    is_lan: bool = False
    port_number: int = DEFAULT_PORT_NUMBER
    address: str = ""
    database_url: str = ""
    demo_folder: Path | None = None


def serve(options: ServeOptions) -> None:
    """Serve until interrupted.

    Parameters
    ----------
    options
        How.

    Raises
    ------
    UserError
        If the record can't be opened or the port is taken.

    >>> ServeOptions().is_lan
    False
    """
    import uvicorn

    url = options.database_url
    if options.demo_folder is not None:
        url = f"sqlite:///{options.demo_folder / 'record.db'}"
    with _listening(options) as listener, open_ledger(url, via="page") as ledger:
        visit = fill_demo(ledger) if options.demo_folder is not None else ""
        port_number = listener.getsockname()[1]
        token = new_pairing_token() if options.is_lan else ""
        host = (options.address or lan_address()) if options.is_lan else LOOPBACK
        app = build_app(ledger, hosts=(host,) if host else (), pairing_token=token)
        for line in _announced(host, port_number=port_number, token=token, visit=visit):
            print(line, flush=True)
        config = uvicorn.Config(
            app,
            log_level="warning",
            access_log=False,
            server_header=False,
            # Phones hold a stream of events open; nobody waits for them to let go.
            timeout_graceful_shutdown=1,
        )
        uvicorn.Server(config).run(sockets=[listener])


def build_app(ledger: Ledger, *, hosts: tuple[str, ...] = (), pairing_token: str = "") -> FastAPI:
    """The application on a record.

    Parameters
    ----------
    ledger
        The record.
    hosts
        Names and addresses beside those of loopback.
    pairing_token
        Lets new devices in; empty lets nobody in.

    >>> from ventwright.actions.record import practice_ledger
    >>> with practice_ledger() as ledger:
    ...     build_app(ledger).title
    'Ventwright'
    """
    settings = WebSettings(
        device_file=device_file(ledger), hosts=hosts, pairing_token=pairing_token
    )
    return create_app(ledger, settings)


def fill_demo(ledger: Ledger) -> str:
    """Put the invented house, its finished visit and a fresh one into a record; returns the fresh.

    What is there already stays as it is.

    Parameters
    ----------
    ledger
        The record.

    Raises
    ------
    UserError
        If the examples are missing.

    >>> from ventwright.actions.record import practice_ledger
    >>> with practice_ledger() as ledger:
    ...     fill_demo(ledger), fill_demo(ledger)
    ('try-it', 'try-it')
    """
    folder = examples_folder() / DEMO_HOUSE
    house, problems = read_house(folder / "house.toml")
    if house is None:
        raise UserError("the invented house can't be read", problems=problems)
    visit, problems = read_visit(folder / "visit.toml", house=house)
    if visit is None:
        raise UserError("the invented visit can't be read", problems=problems)
    add_house(ledger, house)
    start_visit(ledger, visit)
    if all(line.id != "try-it" for line in find_visits(ledger, house_id=house.id)):
        begin_visit(
            ledger, house.id, visit_id="try-it", technician="A. Sample", started_at=utc_now()
        )
    return "try-it"


def _listening(options: ServeOptions) -> socket.socket:
    """A listening socket: the address printed is then sure to be ours."""
    listener = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
    listener.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        listener.bind((EVERYWHERE if options.is_lan else LOOPBACK, options.port_number))
    except OSError as trouble:
        listener.close()
        raise UserError(
            f"can't serve on port {options.port_number}: {trouble.strerror or trouble}; end what "
            "uses it, or take another with --port (entries that wait on a phone stay under the "
            "old one)"
        ) from trouble
    return listener


def _announced(host: str, *, port_number: int, token: str, visit: str) -> list[str]:
    here = page_address(LOOPBACK, port_number=port_number)
    lines = [f"Pages: {here}"]
    if visit:
        lines.append(f"A visit to try: {here}visits/{visit}")
    if token and host:
        there = page_address(host, port_number=port_number, token=token)
        lines += [*_qr(there), f"On a phone in the same network: {there}"]
        lines.append("The code in it lets devices in while this runs. It is for your own phones.")
    elif token:
        lines.append("No address on a network was found; name this machine's with --address.")
    lines.append("Ctrl-C ends it.")
    return lines


def _qr(address: str) -> list[str]:
    import io

    import segno

    drawn = io.StringIO()
    segno.make(address, error="m").terminal(drawn, compact=True)
    return drawn.getvalue().rstrip("\n").split("\n")
