"""How a phone comes to trust this machine's own authority: the page, and the certificate."""

from __future__ import annotations

from dataclasses import dataclass

from fastapi import APIRouter, HTTPException, Request
from fastapi.responses import HTMLResponse, Response

from ventwright.web.desk import Desk

TRUST_PATHS = ("/trust", "/trust/ventwright-authority.crt")

router = APIRouter(include_in_schema=False)


@dataclass(frozen=True, slots=True, kw_only=True)
class TrustedAuthority:
    """What a phone is asked to trust, and where the pages are then.

    `fingerprint` is the SHA-256 of the certificate in lines, as the terminal prints it; `address`
    is that of the pages over https, without a path.
    """

    name: str
    certificate_der: bytes
    fingerprint: tuple[str, ...]
    runs_out_on: str
    address: str


def _authority(request: Request) -> TrustedAuthority:
    found: TrustedAuthority | None = request.app.state.authority
    if found is None:
        raise HTTPException(404, "the pages are not served over https")
    return found


@router.get(TRUST_PATHS[0])
def trust_page(request: Request) -> HTMLResponse:
    """What trusting means, how it is done and undone, and the fingerprint to compare."""
    desk: Desk = request.app.state.desk
    return HTMLResponse(
        desk.html("trust.html", authority=_authority(request), certificate=TRUST_PATHS[1])
    )


@router.get(TRUST_PATHS[1])
def certificate(request: Request) -> Response:
    """The authority's certificate; its key never leaves the machine."""
    return Response(
        _authority(request).certificate_der,
        media_type="application/x-x509-ca-cert",
        headers={"cache-control": "no-store"},
    )
