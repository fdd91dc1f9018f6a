"""One shape for everything that goes wrong: a code, a sentence, and problems by field."""

from __future__ import annotations

import logging
from collections.abc import Sequence
from typing import Any

from fastapi import FastAPI, Request
from fastapi.exceptions import RequestValidationError
from fastapi.responses import JSONResponse
from pydantic import BaseModel
from starlette.exceptions import HTTPException

from ventwright.quantities import Problem, UserError

_BUSY = {"busy", "disk-full", "disk-trouble", "read-only", "unreachable", "cannot-open"}
TOO_LARGE = "too-large"
_CONFLICT = {"changed-meanwhile", "taken-id"}


class ProblemBody(BaseModel):
    """One thing to mend: where, what, how."""

    code: str
    where: str
    message: str
    remedy: str = ""


class MistakeBody(BaseModel):
    """What every refusal looks like."""

    code: str
    message: str
    problems: list[ProblemBody] = []


def problem_bodies(problems: Sequence[Problem]) -> list[ProblemBody]:
    """Problems as they are sent.

    Parameters
    ----------
    problems
        Any.
    """
    return [
        ProblemBody(code=p.code, where=p.where, message=p.message, remedy=p.remedy)
        for p in problems
    ]


def mistake(
    status: int, code: str, message: str, problems: Sequence[ProblemBody] = ()
) -> JSONResponse:
    """A refusal.

    Parameters
    ----------
    status
        Of HTTP.
    code, message
        What is wrong.
    problems
        Field by field.
    """
    body = MistakeBody(code=code, message=message, problems=list(problems))
    return JSONResponse(body.model_dump(), status_code=status)


def status_of(trouble: UserError) -> int:
    """Status of HTTP for something the user can mend; 503 is worth another try.

    Parameters
    ----------
    trouble
        What was raised.
    """
    codes = {p.code for p in trouble.problems}
    if codes & _BUSY:
        return 503
    if codes & _CONFLICT:
        return 409
    return 404 if any(code.startswith("unknown-") for code in codes & _NAMES) else 422


# An unknown id of the record, not an unknown word or unit of measure in what was typed.
_NAMES = {
    *("unknown-house", "unknown-visit", "unknown-photo", "unknown-report", "unknown-revision"),
    *("unknown-instrument", "unknown-device", "unknown-file", "unknown-contest"),
    "unknown-part",
}


def add_handlers(app: FastAPI) -> None:
    """Answer every exception in that shape.

    Parameters
    ----------
    app
        The application.
    """

    def refused(_: Request, trouble: Any) -> JSONResponse:
        code = trouble.problems[0].code if trouble.problems else "refused"
        return mistake(status_of(trouble), code, str(trouble), problem_bodies(trouble.problems))

    def invalid(_: Request, trouble: Any) -> JSONResponse:
        # What was sent is not sent back: it may hold numbers that JSON can't.
        problems = [
            ProblemBody(
                code=str(one["type"]).replace("_", "-"),
                where=".".join(str(part) for part in one["loc"]),
                message=str(one["msg"]),
            )
            for one in trouble.errors()
        ]
        return mistake(422, "invalid", "some fields can't be accepted", problems)

    def http(_: Request, trouble: Any) -> JSONResponse:
        code = TOO_LARGE if trouble.status_code == 413 else f"http-{trouble.status_code}"
        answer = mistake(trouble.status_code, code, str(trouble.detail))
        answer.headers.update(trouble.headers or {})
        return answer

    def fault(request: Request, trouble: Exception) -> JSONResponse:
        logging.getLogger("ventwright").error("%s failed", request.url.path, exc_info=trouble)
        return mistake(500, "fault", "a fault of ours; nothing you entered is lost")

    app.add_exception_handler(UserError, refused)
    app.add_exception_handler(RequestValidationError, invalid)
    app.add_exception_handler(HTTPException, http)
    app.add_exception_handler(Exception, fault)
