"""Taking in signatures that were drawn on the page: their words, and the drawing as a picture."""

from __future__ import annotations

from typing import Annotated

import anyio.to_thread
from fastapi import APIRouter, Path, Query, Request

from ventwright.actions.field import Habits, TypedEntry, entry_kind, take_signature
from ventwright.web.desk import Desk
from ventwright.web.forms import Time
from ventwright.web.guard import device_of
from ventwright.web.idents import VISIT
from ventwright.web.mistakes import problem_bodies
from ventwright.web.plan_api import ChangeReceipt

router = APIRouter(prefix="/api")
_PICTURE_BODY = {
    "requestBody": {
        "required": True,
        "content": {"image/png": {"schema": {"type": "string", "format": "binary"}}},
    }
}


@router.post(f"{VISIT}/signatures/{{signature_id}}", openapi_extra=_PICTURE_BODY)
async def post_signature(
    request: Request,
    visit_id: str,
    signature_id: Annotated[str, Path(pattern=r"^[A-Za-z0-9._-]{1,80}$")],
    at: Annotated[Time, Query()],
    name: Annotated[str, Query(max_length=200)] = "",
    role: Annotated[str, Query(max_length=40)] = "",
    statement: Annotated[str, Query(max_length=2000)] = "",
) -> ChangeReceipt:
    """Take in a signature with its drawing. The same again is acknowledged."""
    picture = await request.body()
    desk: Desk = request.app.state.desk
    texts = {"name": name, "role": role, "statement": statement}
    typed = TypedEntry(
        id=signature_id,
        kind=entry_kind("signature"),
        texts={key: text for key, text in texts.items() if text},
        at=at,
    )
    handed = await anyio.to_thread.run_sync(
        lambda: take_signature(
            desk.ledger_of(device_of(request)), visit_id, typed, picture, habits=Habits()
        )
    )
    return ChangeReceipt(
        id=signature_id,
        state=handed.receipt.state.value,
        number=handed.receipt.number,
        problems=problem_bodies(handed.problems),
    )
