"""Pages: houses, a house, a visit. Server-rendered; the visit page is a shell that fills itself."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, BackgroundTasks, Query, Request
from fastapi.responses import HTMLResponse

from ventwright.actions.field import visit_marks
from ventwright.actions.record import find_houses, find_visits, open_house
from ventwright.web.desk import Desk
from ventwright.web.guard import is_this_machine
from ventwright.web.idents import HOUSE, VISIT

router = APIRouter(include_in_schema=False, default_response_class=HTMLResponse)


def _desk(request: Request) -> Desk:
    desk: Desk = request.app.state.desk
    return desk


@router.get("/")
def houses(
    request: Request,
    words: Annotated[str, Query(max_length=200)] = "",
    after: Annotated[str, Query(max_length=400)] = "",
    after_id: Annotated[str, Query(max_length=200)] = "",
) -> HTMLResponse:
    """A page of houses, and the visits that changed last."""
    desk = _desk(request)
    found = find_houses(desk.ledger, words=words, after_key=(after, after_id) if after_id else None)
    names = {line.id: line.name for line in found.lines}
    return HTMLResponse(
        desk.html(
            "houses.html",
            houses=found.lines,
            next_key=found.next_key,
            words=words,
            visits=find_visits(desk.ledger)[:5] if not after_id else (),
            names=names,
            is_this_machine=is_this_machine(request),
            devices=request.app.state.book.devices(),
        )
    )


@router.get(HOUSE)
def house(request: Request, house_id: str) -> HTMLResponse:
    """A house: visits, reports, where a visit is begun; the plan fills itself in."""
    desk = _desk(request)
    opened = open_house(desk.ledger, house_id)
    return HTMLResponse(
        desk.html("house.html", house=opened.house, visits=opened.visits, reports=opened.reports)
    )


@router.get(VISIT)
def visit(request: Request, visit_id: str, after: BackgroundTasks) -> HTMLResponse:
    """The field page. It carries nothing of the record, so that a phone may keep it for a day."""
    desk = _desk(request)
    visit_marks(desk.ledger, visit_id)
    after.add_task(desk.get_ready, visit_id)
    answer = HTMLResponse(desk.html("visit.html", visit_id=visit_id))
    answer.headers["cache-control"] = "private, max-age=86400"
    return answer
