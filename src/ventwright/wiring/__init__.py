"""Puts the rooms together for a run: the record, the application, the address it is reached at.

Nothing imports this room; the command line names it, so that it stays quick without a web server.
"""

from ventwright.wiring.addresses import lan_address, page_address
from ventwright.wiring.authority import Authority, local_authority, renew_served
from ventwright.wiring.devices import device_file, list_devices, revoke_device
from ventwright.wiring.serve import ServeOptions, authority_folder, build_app, fill_demo, serve

__all__ = [
    "Authority",
    "ServeOptions",
    "authority_folder",
    "build_app",
    "device_file",
    "fill_demo",
    "lan_address",
    "list_devices",
    "local_authority",
    "page_address",
    "renew_served",
    "revoke_device",
    "serve",
]
