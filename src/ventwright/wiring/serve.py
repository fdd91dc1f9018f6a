"""Serving the pages: settings, record, application, and the address printed for a phone."""

from __future__ import annotations

import os
import socket
import sys
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass, replace
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
from ventwright.actions.streams import StreamDesk, open_streams
from ventwright.exchange import read_house, read_visit
from ventwright.quantities import UserError
from ventwright.store.places import data_folder
from ventwright.web import TrustedAuthority, WebSettings, create_app
from ventwright.web.pairing import new_pairing_token
from ventwright.wiring.addresses import lan_address, page_address
from ventwright.wiring.announce import LOOPBACK, announced, announced_securely
from ventwright.wiring.authority import local_authority
from ventwright.wiring.devices import device_file

if TYPE_CHECKING:
    from fastapi import FastAPI

    from ventwright.wiring.run import Secured

EVERYWHERE = "0.0.0.0"
DEFAULT_PORT_NUMBER = 8470
"""Kept the same from run to run: a browser keeps what waits under address and port."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ServeOptions:
    """How pages are served.

    `is_lan` opens them to the network for paired devices; `address` is what phones call this
    machine where it can't be found out. `is_https` serves them over https on the next port, under
    an authority made here, and leaves plain http to this machine and to the page that explains it.
    Port 0 takes any free one. `demo_folder` serves the invented house from a record there.
    `device_files` describe the devices that are listened to.
    """

    is_lan: bool = False
    is_https: bool = False
    port_number: int = DEFAULT_PORT_NUMBER
    address: str = ""
    database_url: str = ""
    demo_folder: Path | None = None
    device_files: tuple[Path, ...] = ()


def serve(options: ServeOptions) -> None:
    """Serve until interrupted.

    Parameters
    ----------
    options
        How.

    Raises
    ------
    UserError
        If the record can't be opened, the port is taken, or a device file is wrong.

    >>> ServeOptions().is_lan
    False
    """
    from ventwright.wiring.run import run_pages

    if options.is_https and not options.is_lan:
        raise UserError("--https goes with --lan: on this machine alone nobody else can listen")
    streams = open_streams(options.device_files)
    url = options.database_url
    if options.demo_folder is not None:
        url = f"sqlite:///{options.demo_folder / 'record.db'}"
    host = (options.address or lan_address()).lower() if options.is_lan else LOOPBACK
    names = (host,) if host else ()
    with ExitStack() as held:
        listener = held.enter_context(_listening(options))
        port_number = listener.getsockname()[1]
        secured = (
            held.enter_context(_secured(options, port_number, names)) if options.is_https else None
        )
        ledger = held.enter_context(open_ledger(url, via="page"))
        visit = fill_demo(ledger) if options.demo_folder is not None else ""
        token = new_pairing_token() if options.is_lan else ""
        app = build_app(
            ledger,
            hosts=names,
            pairing_token=token,
            authority=_trusted(secured, host),
            streams=streams,
        )
        if secured is None:
            lines = announced(host, port_number=port_number, token=token, visit=visit)
        else:
            ports = (port_number, secured.port_number)
            lines = announced_securely(
                host, secured.authority, ports=ports, token=token, visit=visit
            )
        heard = [f"Listened to when asked for: {one.label}" for one in streams.lines]
        for line in (*lines[:-1], *heard, lines[-1]):
            print(line, flush=True)
        run_pages(app, listener, secured)


@contextmanager
def _secured(options: ServeOptions, port_number: int, names: tuple[str, ...]) -> Iterator[Secured]:
    """Authority, certificate and socket for https: the next port, or any free one."""
    from ventwright.wiring.run import Secured

    folder, machine = authority_folder(), socket.gethostname()
    authority = local_authority(folder, names=names, machine=machine, now=utc_now())
    above = port_number + 1 if options.port_number else 0
    with _listening(replace(options, port_number=above)) as listener:
        yield Secured(
            listener=listener, authority=authority, folder=folder, names=names, machine=machine
        )


def _trusted(secured: Secured | None, host: str) -> TrustedAuthority | None:
    if secured is None:
        return None
    authority = secured.authority
    address = page_address(host or LOOPBACK, port_number=secured.port_number, is_secure=True)
    return TrustedAuthority(
        name=authority.name,
        certificate_der=authority.certificate_der,
        fingerprint=authority.fingerprint,
        runs_out_on=f"{authority.runs_out_at:%Y-%m-%d}",
        address=address.rstrip("/"),
    )


def authority_folder() -> Path:
    """Where this machine's authority is kept: the user's data folder, whatever record is served.

    One authority for a machine is trusted once, and its key does not travel with a record that is
    copied or kept in a shared folder.

    >>> authority_folder().name
    'authority'
    """
    return Path(data_folder(os.environ, platform=sys.platform, home=str(Path.home())), "authority")


def build_app(
    ledger: Ledger,
    *,
    hosts: tuple[str, ...] = (),
    pairing_token: str = "",
    authority: TrustedAuthority | None = None,
    streams: StreamDesk | None = None,
) -> FastAPI:
    """The application on a record.

    Parameters
    ----------
    ledger
        The record.
    hosts
        Names and addresses beside those of loopback.
    pairing_token
        Lets new devices in; empty lets nobody in.
    authority
        What phones trust where the pages are served over https.
    streams
        The devices that this machine listens to.

    >>> from ventwright.actions.record import practice_ledger
    >>> with practice_ledger() as ledger:
    ...     build_app(ledger).title
    'Ventwright'
    """
    settings = WebSettings(
        device_file=device_file(ledger),
        hosts=hosts,
        pairing_token=pairing_token,
        authority=authority,
        streams=streams,
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
        # Whoever is quick to follow the address waits a moment and is not turned away.
        listener.listen()
    except OSError as trouble:
        listener.close()
        raise UserError(
            f"can't serve on port {options.port_number}: {trouble.strerror or trouble}; end what "
            "uses it, or take another with --port (entries that wait on a phone stay under the "
            "old one)"
        ) from trouble
    return listener
