"""``ventwright serve`` and ``ventwright devices``."""

from __future__ import annotations

import argparse
from importlib import import_module
from pathlib import Path
from typing import Any

EXIT_DONE = 0


def add_serve(commands: Any) -> None:
    """Add the commands to the parser.

    Parameters
    ----------
    commands
        Sub-parsers of the command line.
    """
    serve = commands.add_parser(
        "serve",
        help="serve the field page",
        description="Serve the pages for houses and visits on this machine, or with --lan to "
        "paired phones on the same network.",
    )
    serve.add_argument(
        "--lan", action="store_true", help="open to paired devices on the network, with a QR code"
    )
    serve.add_argument(
        "--https",
        action="store_true",
        help="with --lan: encrypt what phones send, under an authority made here that each phone "
        "trusts once; plain http then only explains how",
    )
    serve.add_argument(
        "--port",
        type=int,
        default=None,
        metavar="N",
        help="port (default: 8470, kept the same); https takes the next one",
    )
    serve.add_argument(
        "--address", default="", metavar="NAME", help="what phones call this machine"
    )
    serve.add_argument("--database", default="", metavar="URL", help="the record")
    serve.add_argument(
        "--device",
        action="append",
        default=[],
        type=Path,
        metavar="FILE",
        help="listen to the device that this file describes; once for each",
    )
    devices = commands.add_parser(
        "devices",
        help="list or shut out paired devices",
        description="List the devices that may look into the record, or shut one out.",
    )
    devices.add_argument("--revoke", default="", metavar="ID", help="shut this one out")
    devices.add_argument("--database", default="", metavar="URL", help="the record")


def run_serve(options: argparse.Namespace) -> int:
    """Serve until interrupted.

    Parameters
    ----------
    options
        Parsed command line.

    Returns
    -------
    int
        0.
    """
    serve_pages(
        is_lan=options.lan,
        is_https=options.https,
        port_number=options.port,
        address=options.address,
        database_url=options.database,
        device_files=tuple(options.device),
    )
    return EXIT_DONE


def serve_pages(
    *,
    is_lan: bool = False,
    is_https: bool = False,
    port_number: int | None = None,
    address: str = "",
    database_url: str = "",
    demo_folder: Path | None = None,
    device_files: tuple[Path, ...] = (),
) -> None:
    """Serve until interrupted; the options are those of the wiring.

    Parameters
    ----------
    is_lan, is_https, port_number, address, database_url, demo_folder, device_files
        As in `ServeOptions`; a port of None takes the usual one.
    """
    # The wiring knows every room and no room may know it: it is named here, not imported, and a
    # web server is loaded only by those who serve.
    wiring = import_module("ventwright.wiring")
    chosen: dict[str, Any] = {} if port_number is None else {"port_number": port_number}
    try:
        wiring.serve(
            wiring.ServeOptions(
                is_lan=is_lan,
                is_https=is_https,
                address=address,
                database_url=database_url,
                demo_folder=demo_folder,
                device_files=device_files,
                **chosen,
            )
        )
    except KeyboardInterrupt:
        return


def run_devices(options: argparse.Namespace) -> int:
    """List paired devices, or shut one out.

    Parameters
    ----------
    options
        Parsed command line.

    Returns
    -------
    int
        0.
    """
    from ventwright.actions.record import open_ledger

    wiring = import_module("ventwright.wiring")
    with open_ledger(options.database) as ledger:
        if options.revoke:
            gone = wiring.revoke_device(options.revoke, ledger)
            print(f"{gone.name} is shut out.")
            return EXIT_DONE
        devices = wiring.list_devices(ledger)
    for device in devices:
        print(f"{device.id}  {device.paired_at[:16]}  {device.name}")
    if not devices:
        print("No device is paired.")
    return EXIT_DONE
