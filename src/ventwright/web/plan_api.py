"""The interface of the house page: a plan as data, its parts changed one by one, instruments."""

from __future__ import annotations

from dataclasses import asdict
from typing import Annotated, Literal

from fastapi import APIRouter, Request
from fastapi.responses import JSONResponse
from pydantic import BaseModel, ConfigDict, Field, StrictBool

from ventwright.actions.field import (
    Habits,
    carry_instrument,
    house_forms,
    instrument_page,
    plan_page,
)
from ventwright.actions.record import (
    Handed,
    PartChange,
    begin_house,
    change_instrument,
    change_part,
)
from ventwright.quantities import NumberStyle, UnitPreference
from ventwright.web.desk import Desk
from ventwright.web.forms import AnyIdent, Ident, Preference, Short, Style, Text
from ventwright.web.guard import device_of
from ventwright.web.idents import HOUSE, VISIT
from ventwright.web.mistakes import ProblemBody, problem_bodies

router = APIRouter(prefix="/api")

Line = Annotated[dict[Annotated[str, Field(max_length=80)], Text], Field(max_length=10)]
Typed = (
    None
    | Text
    | StrictBool
    | Annotated[list[Text], Field(max_length=60)]
    | Annotated[list[Line], Field(max_length=200)]
)
Texts = Annotated[dict[Annotated[str, Field(max_length=80)], Typed], Field(max_length=80)]
Seen = Annotated[str, Field(strict=True, pattern=r"^([0-9a-f]{64})?$")]


class _Change(BaseModel):
    """What a form changes: only the keys that were typed anew, null for one that was emptied."""

    model_config = ConfigDict(extra="forbid")

    id: Ident
    texts: Texts = {}
    by: Short = ""
    number_style: Style = "decimal_point"


class HouseBody(_Change):
    """A new house; `house_id` is its name in the record for good."""

    house_id: AnyIdent


class PartBody(_Change):
    """A part of a plan, by the names and ids that lead to it; the empty path is the house."""

    path: Annotated[list[AnyIdent], Field(max_length=8)] = []
    seen_sha256: Seen = ""
    is_removal: StrictBool = False


class InstrumentBody(_Change):
    """An instrument; `instrument_id` is its name in the record for good."""

    instrument_id: AnyIdent
    seen_sha256: Seen = ""


class CarryBody(BaseModel):
    """A registered instrument that is taken along on a visit which has begun."""

    model_config = ConfigDict(extra="forbid")

    id: Ident
    instrument_id: AnyIdent
    by: Short = ""


class ChangeReceipt(BaseModel):
    """The record's acknowledgement. Only now may a phone forget the change."""

    id: str
    state: Literal["recorded", "already", "contested", "stale"]
    number: int
    problems: list[ProblemBody]


def _desk(request: Request) -> Desk:
    desk: Desk = request.app.state.desk
    return desk


def _habits(preference: str, number_style: str) -> Habits:
    return Habits(preference=UnitPreference(preference), number_style=NumberStyle(number_style))


def _receipt(body: _Change | CarryBody, handed: Handed) -> ChangeReceipt:
    return ChangeReceipt(
        id=body.id,
        state=handed.receipt.state.value,
        number=handed.receipt.number,
        problems=problem_bodies(handed.problems),
    )


@router.get("/forms")
def get_forms(
    preference: Preference = "si_m3h", number_style: Style = "decimal_point"
) -> JSONResponse:
    """Forms of a house, of each part of its plan, and of an instrument."""
    forms = house_forms(_habits(preference, number_style))
    return JSONResponse({"forms": [asdict(form) for form in forms]})


@router.post("/houses")
def post_house(request: Request, body: HouseBody) -> ChangeReceipt:
    """Take in a new house. The same again is acknowledged."""
    handed = begin_house(
        _desk(request).ledger_of(device_of(request)),
        body.house_id,
        body.texts,
        number_style=NumberStyle(body.number_style),
        by=body.by,
    )
    return _receipt(body, handed)


@router.get(f"{HOUSE}/plan")
def get_plan(
    request: Request,
    house_id: str,
    preference: Preference = "si_m3h",
    number_style: Style = "decimal_point",
) -> JSONResponse:
    """Everything the house page shows of a plan."""
    page = plan_page(_desk(request).ledger, house_id, habits=_habits(preference, number_style))
    return JSONResponse({**asdict(page), "problems": _plain(problem_bodies(page.problems))})


@router.post(f"{HOUSE}/parts")
def post_part(request: Request, house_id: str, body: PartBody) -> ChangeReceipt:
    """Change one part of a plan: the next revision, with all other parts as they stand."""
    handed = change_part(
        _desk(request).ledger_of(device_of(request)),
        house_id,
        PartChange(
            path=tuple(body.path),
            texts=body.texts,
            seen_sha256=body.seen_sha256,
            is_removal=body.is_removal,
        ),
        number_style=NumberStyle(body.number_style),
        by=body.by,
    )
    return _receipt(body, handed)


@router.get("/instruments")
def get_instruments(
    request: Request, preference: Preference = "si_m3h", number_style: Style = "decimal_point"
) -> JSONResponse:
    """The firm's instruments, and which were carried last."""
    page = instrument_page(_desk(request).ledger, habits=_habits(preference, number_style))
    return JSONResponse(asdict(page))


@router.post("/instruments")
def post_instrument(request: Request, body: InstrumentBody) -> ChangeReceipt:
    """Register an instrument, or change what is known of it."""
    handed = change_instrument(
        _desk(request).ledger_of(device_of(request)),
        body.instrument_id,
        PartChange(path=(), texts=body.texts, seen_sha256=body.seen_sha256),
        number_style=NumberStyle(body.number_style),
        by=body.by,
    )
    return _receipt(body, handed)


@router.post(f"{VISIT}/instruments")
def post_carried(request: Request, visit_id: str, body: CarryBody) -> ChangeReceipt:
    """Take an instrument along as it is known now. The same again is acknowledged."""
    ledger = _desk(request).ledger_of(device_of(request))
    handed = carry_instrument(ledger, visit_id, body.instrument_id, entry_id=body.id, by=body.by)
    return _receipt(body, handed)


def _plain(problems: list[ProblemBody]) -> list[dict[str, str]]:
    return [one.model_dump() for one in problems]
