"""Puts the rooms together for a run: the record, the application, the address it is reached at.

Nothing imports this room; the command line names it, so that it stays quick without a web server.
"""

from ventwright.wiring.addresses import lan_address, page_address
from ventwright.wiring.devices import device_file, list_devices, revoke_device
from ventwright.wiring.serve import ServeOptions, build_app, fill_demo, serve

__all__ = [
    "ServeOptions",
    "build_app",
    "device_file",
    "fill_demo",
    "lan_address",
    "list_devices",
    "page_address",
    "revoke_device",
    "serve",
]
