"""The interface of the field page: a visit as data, entries, photos, events, reports."""

from __future__ import annotations

import asyncio
from collections.abc import AsyncIterator
from typing import Annotated
from urllib.parse import quote

import anyio.to_thread
from fastapi import APIRouter, BackgroundTasks, HTTPException, Path, Query, Request
from fastapi.responses import Response, StreamingResponse
from pydantic import BaseModel

from ventwright.actions.field import (
    Habits,
    TypedEntry,
    average_sweep,
    begin_visit,
    entry_kind,
    purpose_of,
    take_entry,
    visit_marks,
    visit_report,
)
from ventwright.actions.record import (
    Ledger,
    attach_photo,
    decide,
    issue_report,
    read_picture,
    read_report,
)
from ventwright.quantities import NumberStyle, UnitPreference, UserError
from ventwright.web.desk import Desk
from ventwright.web.forms import (
    DecisionBody,
    EntryBody,
    Preference,
    ReportBody,
    Style,
    SweepBody,
    Time,
    VisitBody,
)
from ventwright.web.guard import device_of, is_still_let_in
from ventwright.web.idents import HOUSE, VISIT
from ventwright.web.mistakes import ProblemBody, problem_bodies

router = APIRouter(prefix="/api")
pdf_router = APIRouter()
_LOOK_S, _HEARTBEAT_S = 0.5, 15.0
_PICTURE_BODY = {
    "requestBody": {
        "required": True,
        "content": {"image/*": {"schema": {"type": "string", "format": "binary"}}},
    }
}


class ValueBody(BaseModel):
    """What a reading amounts to, rounded and worded."""

    text: str
    target: str
    band: str
    verdict: str
    mark: str | None
    doubt: str


class ReceiptBody(BaseModel):
    """The record's acknowledgement. Only now may a phone forget the entry.

    `state` is ``recorded``, ``already`` (the very same was there) or ``contested`` (kept beside
    another that says otherwise, for a person to decide).
    """

    id: str
    state: str
    number: int
    problems: list[ProblemBody]
    value: ValueBody | None = None


class ReportIdBody(BaseModel):
    """A report that was issued, and where it lies."""

    number: int
    address: str


class SweepAnswer(BaseModel):
    """A timed average so far, in numbers and in a sentence."""

    mean: float
    scatter_std: float | None
    drift: float
    u_std: float | None
    go_on_s: float | None
    is_steady: bool
    message: str


class MarksBody(BaseModel):
    """How far a visit and its house's plan have come: a page is made of both."""

    number: int
    plan_number: int


class VisitIdBody(BaseModel):
    """A visit that was begun."""

    id: str


def _desk(request: Request) -> Desk:
    desk: Desk = request.app.state.desk
    return desk


def _marks_body(ledger: Ledger, visit_id: str) -> MarksBody:
    marks = visit_marks(ledger, visit_id)
    return MarksBody(number=marks.number, plan_number=marks.plan_number)


def _habits(preference: str, number_style: str) -> Habits:
    return Habits(preference=UnitPreference(preference), number_style=NumberStyle(number_style))


@router.get(f"{VISIT}/page")
def get_page(
    request: Request,
    visit_id: str,
    preference: Preference = "si_m3h",
    number_style: Style = "decimal_point",
) -> Response:
    """Everything the field page shows of a visit."""
    page = _desk(request).page(visit_id, _habits(preference, number_style))
    return Response(page, media_type="application/json")


@router.get(f"{VISIT}/number")
def get_number(request: Request, visit_id: str) -> MarksBody:
    """How many entries the visit has, and its house's plan."""
    return _marks_body(_desk(request).ledger, visit_id)


@router.post(f"{VISIT}/entries")
def post_entry(request: Request, visit_id: str, body: EntryBody) -> ReceiptBody:
    """Take in one entry. The same id with the same content is acknowledged again."""
    ledger = _desk(request).ledger_of(device_of(request))
    typed = TypedEntry(
        id=body.id,
        kind=entry_kind(body.kind),
        texts=body.texts,
        at=body.at,
        record_id=body.record_id,
        supersedes=body.supersedes,
        reason=body.reason,
        by=body.by,
    )
    taken = take_entry(ledger, visit_id, typed, habits=_habits(body.preference, body.number_style))
    value = taken.value
    return ReceiptBody(
        id=body.id,
        state=taken.handed.receipt.state.value,
        number=taken.handed.receipt.number,
        problems=problem_bodies(taken.problems),
        value=None
        if value is None
        else ValueBody(
            text=value.text,
            target=value.target,
            band=value.band,
            verdict=value.verdict,
            mark=value.mark.value if value.mark else None,
            doubt=value.doubt,
        ),
    )


@router.post("/sweep")
def post_sweep(body: SweepBody) -> SweepAnswer:
    """Mean of the samples so far, how steady they are, how long to go on."""
    so_far = average_sweep(
        body.samples,
        interval_s=body.interval_s,
        wanted_frac=body.wanted_frac,
        resolution=body.resolution,
        number_style=NumberStyle(body.number_style),
    )
    found = so_far.found
    return SweepAnswer(
        mean=found.mean,
        scatter_std=found.scatter_std,
        drift=found.drift,
        u_std=found.u_std,
        go_on_s=found.go_on_s,
        is_steady=found.is_steady,
        message=so_far.message,
    )


@router.post(f"{HOUSE}/visits")
def post_visit(
    request: Request, house_id: str, body: VisitBody, after: BackgroundTasks
) -> VisitIdBody:
    """Begin a visit."""
    desk = _desk(request)
    begin_visit(
        desk.ledger_of(device_of(request)),
        house_id,
        visit_id=body.id,
        technician=body.technician,
        firm=body.firm,
        purpose=purpose_of(body.purpose),
        started_at=body.at,
        instruments=None if body.instruments is None else tuple(body.instruments),
    )
    # Its page is asked for next.
    after.add_task(desk.get_ready, body.id)
    return VisitIdBody(id=body.id)


@router.get(
    f"{VISIT}/draft.pdf",
    response_class=Response,
    responses={200: {"content": {"application/pdf": {}}}},
)
def get_draft(
    request: Request,
    visit_id: str,
    preference: Preference = "si_m3h",
    number_style: Style = "decimal_point",
) -> Response:
    """The report as it would be issued now, without a number."""
    content = visit_report(
        _desk(request).ledger,
        visit_id,
        preference=UnitPreference(preference),
        number_style=NumberStyle(number_style),
    )
    return _pdf(content, f"{visit_id}-draft.pdf")


@router.post(f"{VISIT}/decisions")
def post_decision(request: Request, visit_id: str, body: DecisionBody) -> dict[str, int]:
    """Say which of several entries stands; the others stay in the record, out of force."""
    handed = decide(
        _desk(request).ledger_of(device_of(request)),
        visit_id,
        kept_sha256=body.kept_sha256,
        dropped_sha256=tuple(body.dropped_sha256),
        by=body.by,
    )
    return {"number": handed.receipt.number}


@router.post(f"{VISIT}/reports")
def post_report(request: Request, visit_id: str, body: ReportBody) -> ReportIdBody:
    """Issue a report: the next number of its house, kept unchangeable."""
    kept = issue_report(
        _desk(request).ledger_of(device_of(request)),
        visit_id,
        preference=UnitPreference(body.preference),
        number_style=NumberStyle(body.number_style),
        by=body.issued_by,
    )
    house, number = kept.report.house, kept.report.number
    return ReportIdBody(
        number=number, address=f"/houses/{quote(house, safe='')}/reports/{number}.pdf"
    )


@pdf_router.get(
    f"{HOUSE}/reports/{{number}}.pdf",
    response_class=Response,
    responses={200: {"content": {"application/pdf": {}}}},
)
def get_report(
    request: Request, house_id: str, number: Annotated[int, Path(ge=1, le=10**9)]
) -> Response:
    """An issued report, as it was issued."""
    kept = read_report(_desk(request).ledger, house_id, number=number)
    return _pdf(kept.document, f"{house_id}-{number}.pdf")


@router.post(f"{VISIT}/photos/{{photo_id}}", openapi_extra=_PICTURE_BODY)
async def post_photo(
    request: Request,
    visit_id: str,
    photo_id: Annotated[str, Path(pattern=r"^[A-Za-z0-9._-]{1,80}$")],
    caption: Annotated[str, Query(max_length=500)] = "",
    where: Annotated[str, Query(max_length=200)] = "",
    about: Annotated[str | None, Query(max_length=200)] = None,
    at: Annotated[Time | None, Query()] = None,
) -> ReceiptBody:
    """Take in a photo. The same again is acknowledged."""
    content = await request.body()
    handed = await anyio.to_thread.run_sync(
        lambda: attach_photo(
            _desk(request).ledger_of(device_of(request)),
            visit_id,
            content,
            photo_id=photo_id,
            caption=caption,
            where=where,
            about=about,
            taken_at=at,
        )
    )
    return ReceiptBody(
        id=photo_id,
        state=handed.receipt.state.value,
        number=handed.receipt.number,
        problems=problem_bodies(handed.problems),
    )


@router.get(
    "/photos/{sha256}",
    response_class=Response,
    responses={200: {"content": {"image/*": {}}}},
)
def get_photo(
    request: Request, sha256: Annotated[str, Path(pattern=r"^[0-9a-f]{64}$")]
) -> Response:
    """A photo by its hash."""
    content, media_type = read_picture(_desk(request).ledger, sha256)
    if not media_type.startswith("image/"):
        # Other kept files have doors of their own.
        raise HTTPException(404, "no photo has that hash")
    return Response(content, media_type=media_type)


def _pdf(content: bytes, name: str) -> Response:
    plain = "".join(c if c.isascii() and (c.isalnum() or c in "-_.") else "_" for c in name)
    return Response(
        content,
        media_type="application/pdf",
        headers={"content-disposition": f'inline; filename="{plain}"'},
    )


@router.get(
    f"{VISIT}/events",
    response_class=StreamingResponse,
    responses={200: {"content": {"text/event-stream": {}}}},
)
async def get_events(
    request: Request,
    visit_id: str,
    after: Annotated[int, Query(ge=0)] = 0,
    plan_after: Annotated[int, Query(ge=0)] = 0,
    is_once: bool = False,
) -> StreamingResponse:
    """Tell of new entries as they come: how many there are, and of the plan (server-sent events).

    The record is asked, not the other phones: entries that came by another door count too.
    """
    ledger = _desk(request).ledger
    marks = await anyio.to_thread.run_sync(_marks_body, ledger, visit_id)

    async def tell() -> AsyncIterator[str]:
        known, silent_s = MarksBody(number=after, plan_number=plan_after), 0.0
        now = marks
        while True:
            if now != known or is_once:
                known, silent_s = now, 0.0
                yield f"event: number\ndata: {now.model_dump_json()}\n\n"
            if is_once:
                return
            await asyncio.sleep(_LOOK_S)
            silent_s += _LOOK_S
            if silent_s >= _HEARTBEAT_S:
                silent_s = 0.0
                yield ": still here\n\n"
            if await request.is_disconnected() or not is_still_let_in(request):
                return
            try:
                now = await anyio.to_thread.run_sync(_marks_body, ledger, visit_id)
            except UserError:
                # The record is busy; what came meanwhile is told next time.
                continue

    return StreamingResponse(
        tell(), media_type="text/event-stream", headers={"cache-control": "no-store"}
    )
