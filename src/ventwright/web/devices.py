"""Letting devices in and shutting them out."""

from __future__ import annotations

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse, JSONResponse
from pydantic import BaseModel

from ventwright.web.desk import Desk
from ventwright.web.forms import PairBody
from ventwright.web.guard import COOKIE, is_this_machine
from ventwright.web.mistakes import mistake
from ventwright.web.pairing import DeviceBook, Door

router = APIRouter()


class DeviceLine(BaseModel):
    """A device that may look in."""

    id: str
    name: str
    paired_at: str


@router.get("/pair", response_class=HTMLResponse, include_in_schema=False)
def pair_page(request: Request) -> HTMLResponse:
    """The one page that an unpaired device sees."""
    desk: Desk = request.app.state.desk
    return HTMLResponse(desk.html("pair.html"))


@router.post("/api/pair", response_model=DeviceLine)
def pair(request: Request, body: PairBody) -> JSONResponse:
    """Exchange the printed token for one of the device's own."""
    door: Door = request.app.state.door
    book: DeviceBook = request.app.state.book
    if not door.may_try():
        answer = mistake(429, "too-many-tries", "too many tries; wait a minute")
        answer.headers["retry-after"] = "60"
        return answer
    if not door.is_open_to(body.token):
        return mistake(
            403, "wrong-token", "this pairing code is not the one now shown; scan it again"
        )
    token = book.let_in(body.name)
    device = book.who(token)
    assert device is not None
    line = DeviceLine(id=device.id, name=device.name, paired_at=device.paired_at)
    answer = JSONResponse(line.model_dump())
    answer.set_cookie(
        COOKIE,
        token,
        max_age=365 * 86400,
        httponly=True,
        samesite="strict",
        secure=request.url.scheme == "https",
    )
    return answer


@router.get("/api/devices")
def list_devices(request: Request) -> list[DeviceLine]:
    """Devices that may look in."""
    book: DeviceBook = request.app.state.book
    return [DeviceLine(id=d.id, name=d.name, paired_at=d.paired_at) for d in book.devices()]


@router.post("/api/devices/{device_id}/revoke", response_model=DeviceLine)
def revoke(request: Request, device_id: str) -> DeviceLine | JSONResponse:
    """Shut a device out; only this machine may."""
    if not is_this_machine(request):
        return mistake(403, "not-here", "devices are shut out on the machine that keeps the record")
    book: DeviceBook = request.app.state.book
    gone = book.revoke(device_id)
    return DeviceLine(id=gone.id, name=gone.name, paired_at=gone.paired_at)
