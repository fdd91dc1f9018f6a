"""Where a phone on the same network finds this machine."""

from __future__ import annotations

import socket

# An address for documentation, reserved by RFC 5737. Nothing is sent there: a datagram socket that
# is connected only asks the system which of its own addresses it would send from.
_NOBODY = ("192.0.2.1", 9)


def lan_address() -> str:
    """Find this machine's address on its network; empty where it has none.

    >>> isinstance(lan_address(), str)
    True
    """
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        try:
            probe.connect(_NOBODY)
        except (OSError, RuntimeError):
            return ""
        found = str(probe.getsockname()[0])
    return "" if found.startswith("127.") else found


def page_address(host: str, *, port_number: int, token: str = "", is_secure: bool = False) -> str:
    """Address of the pages, with a pairing token in its fragment where there is one.

    Browsers never send the fragment: no log holds it.

    Parameters
    ----------
    host
        Name or address.
    port_number
        Its port.
    token
        Pairing token; empty where none is needed.
    is_secure
        Whether it is reached over https.

    >>> page_address("127.0.0.1", port_number=8000)
    'http://127.0.0.1:8000/'
    >>> page_address("192.168.1.5", port_number=8000, token="abc")
    'http://192.168.1.5:8000/pair#abc'
    """
    shown = f"[{host}]" if ":" in host else host
    scheme = "https" if is_secure else "http"
    return f"{scheme}://{shown}:{port_number}/" + (f"pair#{token}" if token else "")
