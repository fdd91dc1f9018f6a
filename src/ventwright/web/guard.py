"""Who may come in, from where, with how much; and what a browser is told to keep off.

Loopback needs no pairing: whoever can reach it is this machine's user. Everyone else shows the
token of a paired device. Requests that change something must come from our own pages. Where the
pages are served over https, plain http shows others how to trust that, and nothing else.
"""

from __future__ import annotations

import ipaddress
from dataclasses import dataclass
from http.cookies import CookieError, SimpleCookie
from typing import Any

from starlette.datastructures import Headers, MutableHeaders
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import Response
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from ventwright.web.mistakes import TOO_LARGE, mistake
from ventwright.web.pairing import DeviceBook
from ventwright.web.trust import TRUST_PATHS

COOKIE = "ventwright_device"
THIS_MACHINE = "this machine"
_OPEN_PATHS = ("/pair", "/api/pair")
_OPEN_FOLDER = "/static/"
_SAFE = {"GET", "HEAD", "OPTIONS"}
_PHOTO_BYTES, _OTHER_BYTES = 20_000_000, 1_000_000
_POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' blob: data:; "
    "connect-src 'self'; font-src 'self'; manifest-src 'self'; worker-src 'self'; "
    "form-action 'self'; base-uri 'none'; frame-ancestors 'none'"
)
_HEADERS = {
    "content-security-policy": _POLICY,
    "x-content-type-options": "nosniff",
    "referrer-policy": "no-referrer",
    "cross-origin-opener-policy": "same-origin",
    "cross-origin-resource-policy": "same-origin",
    "permissions-policy": "camera=(), microphone=(), geolocation=(), payment=()",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Allowed:
    """Names under which this server is reached, and who is let in there.

    `secure_address` is that of the pages over https, empty where there are none; `edition` is told
    with every answer, so that an open page knows when it has become old.
    """

    hosts: frozenset[str]
    book: DeviceBook
    secure_address: str = ""
    edition: str = ""


class Guard:
    """Middleware: checks a request before anything else sees it.

    Parameters
    ----------
    app
        What it guards.
    allowed
        Who may come in.
    """

    def __init__(self, app: ASGIApp, allowed: Allowed) -> None:
        self.app = app
        self.allowed = allowed

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Refuse, or hand on with headers added and the body counted."""
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return

        async def send_with_headers(message: Message) -> None:
            if message["type"] == "http.response.start":
                headers = MutableHeaders(scope=message)
                for name, value in _HEADERS.items():
                    headers.setdefault(name, value)
                headers.setdefault("cache-control", "no-store")
                headers.setdefault("ventwright-edition", self.allowed.edition)
            await send(message)

        refusal = self._refusal(scope)
        if refusal is not None:
            await refusal(scope, receive, send_with_headers)
            return
        await self.app(scope, _Counted(receive, _most_bytes(scope)), send_with_headers)

    def _refusal(self, scope: Scope) -> Response | None:
        refused = self._unfit(scope)
        return refused if refused is not None else self._unknown(scope)

    def _unfit(self, scope: Scope) -> Response | None:
        """Refuse what comes to a wrong name, from a wrong page, or is too long, whoever sent it."""
        headers = Headers(scope=scope)
        host = _name(headers.get("host", ""))
        if host not in self.allowed.hosts:
            return mistake(421, "wrong-host", "this server is not known by that name")
        if scope["method"] not in _SAFE and not _is_own_page(scope, headers):
            return mistake(403, "wrong-origin", "only this server's own pages may change something")
        length, limit = headers.get("content-length", "0"), _most_bytes(scope)
        if not length.isdecimal() or int(length) > limit:
            return mistake(413, TOO_LARGE, _too_large(limit))
        return None

    def _unknown(self, scope: Scope) -> Response | None:
        """Refuse, or send to where it becomes known, whoever may not look in here."""
        scope.setdefault("state", {})["device"] = self._device(scope, Headers(scope=scope))
        path = scope["path"]
        if path in TRUST_PATHS or path.startswith(_OPEN_FOLDER):
            return None
        if self._must_be_secure(scope):
            return self._sent_to_https(path)
        if scope["state"]["device"] or path in _OPEN_PATHS:
            return None
        if path.startswith("/api/"):
            return mistake(401, "not-paired", "this device is not paired with the record")
        return Response(status_code=303, headers={"location": "/pair"})

    def _must_be_secure(self, scope: Scope) -> bool:
        is_here = scope["state"]["device"] == THIS_MACHINE
        return bool(self.allowed.secure_address) and scope["scheme"] != "https" and not is_here

    def _sent_to_https(self, path: str) -> Response:
        if path.startswith("/api/"):
            # No refusal of what an entry says: it goes on waiting on the phone.
            words = (
                f"this server takes entries over https alone: open {self.allowed.secure_address}"
            )
            return mistake(426, "https-only", words)
        return Response(status_code=303, headers={"location": TRUST_PATHS[0]})

    def _device(self, scope: Scope, headers: Headers) -> str:
        client = scope.get("client")
        if client and _is_loopback(client[0]) and _is_loopback(_name(headers.get("host", ""))):
            return THIS_MACHINE
        token = _cookie(headers)
        device = self.allowed.book.who(token) if token else None
        return f"{device.name} ({device.id})" if device else ""


class _Counted:
    """Passes a body on until it is too long, whatever length was announced."""

    def __init__(self, receive: Receive, limit: int) -> None:
        self._receive = receive
        self._limit = self._left = limit

    async def __call__(self) -> Message:
        message = await self._receive()
        if message["type"] == "http.request":
            self._left -= len(message.get("body", b""))
            if self._left < 0:
                raise HTTPException(413, _too_large(self._limit))
        return message


def _most_bytes(scope: Scope) -> int:
    return _PHOTO_BYTES if "/photos/" in scope["path"] else _OTHER_BYTES


def _too_large(limit: int) -> str:
    return f"at most {limit // 1_000_000} MB are accepted here"


def device_of(request: Request) -> str:
    """Name of the device a request came from; empty where it is not paired.

    Parameters
    ----------
    request
        Any request.
    """
    return str(getattr(request.state, "device", ""))


def is_this_machine(request: Request) -> bool:
    """Tell whether a request came over loopback.

    Parameters
    ----------
    request
        Any request.
    """
    return device_of(request) == THIS_MACHINE


def is_still_let_in(request: Request) -> bool:
    """Tell whether what was let in still may stay: a device may be shut out while a stream is open.

    Parameters
    ----------
    request
        A request that was let in.
    """
    book: DeviceBook = request.app.state.book
    return is_this_machine(request) or book.who(_cookie(request.headers)) is not None


def _cookie(headers: Headers) -> str:
    jar: SimpleCookie = SimpleCookie()
    try:
        jar.load(headers.get("cookie", ""))
    except CookieError:
        return ""
    found: Any = jar.get(COOKIE)
    return found.value if found else ""


def _is_own_page(scope: Scope, headers: Headers) -> bool:
    site = headers.get("sec-fetch-site")
    if site is not None and site not in ("same-origin", "none"):
        return False
    origin = headers.get("origin")
    return origin is None or origin == f"{scope['scheme']}://{headers.get('host', '')}"


def _name(host: str) -> str:
    """The name in a Host header, without the port."""
    if host.startswith("["):
        return host[1:].partition("]")[0].lower()
    return host.partition(":")[0].lower()


def _is_loopback(host: str) -> bool:
    if host == "localhost":
        return True
    try:
        return ipaddress.ip_address(host).is_loopback
    except ValueError:
        return False
