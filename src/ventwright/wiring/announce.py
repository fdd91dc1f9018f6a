"""What the terminal says once pages are served: addresses, codes to scan, what to compare."""

from __future__ import annotations

import io

from ventwright.wiring.addresses import page_address
from ventwright.wiring.authority import Authority

LOOPBACK = "127.0.0.1"
_NOT_FOUND = "No address on a network was found; name this machine's with --address."
_FOR_YOURS = "The code in it lets devices in while this runs. It is for your own phones."


def announced(host: str, *, port_number: int, token: str, visit: str) -> list[str]:
    """Lines for pages over plain http.

    Parameters
    ----------
    host
        What phones call this machine; empty where it is not known.
    port_number
        Where the pages are.
    token
        Pairing token; empty where nobody is let in.
    visit
        A visit to try; empty for none.

    >>> announced("127.0.0.1", port_number=8470, token="", visit="")
    ['Pages: http://127.0.0.1:8470/', 'Ctrl-C ends it.']
    """
    lines = _here(port_number, visit)
    if token and host:
        there = page_address(host, port_number=port_number, token=token)
        lines += [*_drawn(there), f"On a phone in the same network: {there}", _FOR_YOURS]
    elif token:
        lines.append(_NOT_FOUND)
    return [*lines, "Ctrl-C ends it."]


def announced_securely(
    host: str, authority: Authority, *, ports: tuple[int, int], token: str, visit: str
) -> list[str]:
    """Lines for pages over https, with the authority to trust.

    Parameters
    ----------
    host, token, visit
        As `announced`.
    authority
        What phones are asked to trust.
    ports
        Port of plain http and port of https.
    """
    plain, secure = ports
    lines = _here(plain, visit)
    if authority.is_new:
        lines.append("A new local authority was made; every phone has to trust it, once.")
    if not host:
        return [*lines, _NOT_FOUND, "Ctrl-C ends it."]
    trust = f"{page_address(host, port_number=plain)}trust"
    there = page_address(host, port_number=secure, token=token, is_secure=True)
    lines += [
        *_drawn(trust),
        f"1. Once on each phone, trust this machine: {trust}",
        f"   {authority.name}, until {authority.runs_out_at:%Y-%m-%d}; its SHA-256, to compare:",
        *(f"     {line}" for line in authority.fingerprint),
        f"   The certificate, to carry by hand instead: {authority.public_file}",
        *_drawn(there),
        f"2. Then, on the phone: {there}",
        f"   {_FOR_YOURS}",
    ]
    return [*lines, "Ctrl-C ends it."]


def _here(port_number: int, visit: str) -> list[str]:
    here = page_address(LOOPBACK, port_number=port_number)
    return [f"Pages: {here}", *([f"A visit to try: {here}visits/{visit}"] if visit else [])]


def _drawn(address: str) -> list[str]:
    """A code to scan, in half blocks."""
    import segno

    drawn = io.StringIO()
    segno.make(address, error="m").terminal(drawn, compact=True)
    return drawn.getvalue().rstrip("\n").split("\n")
