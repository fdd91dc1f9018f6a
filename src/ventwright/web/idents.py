"""Ids in addresses: people name houses and visits, and may name one "2026/03".

An address says such an id with its stroke quoted (``%2F``). A server unquotes a path before it
looks for the route, so the middleware here keeps each quoted stroke apart, and the convertor
`ident` gives the route the id itself.
"""

from __future__ import annotations

from urllib.parse import quote, unquote

from starlette.convertors import Convertor, register_url_convertor
from starlette.types import ASGIApp, Receive, Scope, Send


class IdentConvertor(Convertor[str]):
    """One step of a path as the id that it names.

    >>> IdentConvertor().convert("2026%2F03")
    '2026/03'
    """

    regex = "[^/]+"

    def convert(self, value: str) -> str:
        """The id."""
        return unquote(value)

    def to_string(self, value: str) -> str:
        """The step that names it."""
        return quote(value, safe="")


register_url_convertor("ident", IdentConvertor())
HOUSE = "/houses/{house_id:ident}"
VISIT = "/visits/{visit_id:ident}"


class StepsApart:
    """Middleware: a quoted stroke inside a step of a path stays quoted, and so does a per cent.

    Parameters
    ----------
    app
        What sees the path so.
    """

    def __init__(self, app: ASGIApp) -> None:
        self.app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Hand on with the path in steps."""
        raw: bytes = scope.get("raw_path") or b""
        if b"%" in raw:
            steps = raw.partition(b"?")[0].decode("latin-1").split("/")
            apart = [unquote(step).replace("%", "%25").replace("/", "%2F") for step in steps]
            scope = {**scope, "path": "/".join(apart)}
        await self.app(scope, receive, send)
