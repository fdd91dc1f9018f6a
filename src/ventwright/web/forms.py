"""What may be sent: every field checked by itself, nothing read as what it is not.

Strictness is set field by field: a model that is strict as a whole would refuse every date.
"""

from __future__ import annotations

from datetime import datetime
from typing import Annotated, Any, Literal

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field, StrictBool

Text = Annotated[str, Field(strict=True, max_length=4000)]
Short = Annotated[str, Field(strict=True, max_length=200)]
# Made by the page: letters and digits that need no quoting anywhere.
Ident = Annotated[str, Field(strict=True, pattern=r"^[A-Za-z0-9._-]{1,80}$")]
# Of records made elsewhere, which may have been named by hand.
AnyIdent = Annotated[str, Field(strict=True, min_length=1, max_length=200)]
Number = Annotated[float, Field(strict=True, allow_inf_nan=False, ge=-1e9, le=1e9)]
Value = (
    Text
    | StrictBool
    | Annotated[list[Text], Field(max_length=4000)]
    | Annotated[list[Annotated[list[Text], Field(max_length=60)]], Field(max_length=60)]
)


def time_from(value: Any) -> datetime:
    """A time from its text.

    Parameters
    ----------
    value
        ISO 8601 with an offset.

    Raises
    ------
    ValueError
        For anything else.
    """
    if not isinstance(value, str):
        raise ValueError("a time in ISO 8601 with its offset is wanted, as text")
    found = datetime.fromisoformat(value)
    if found.tzinfo is None:
        raise ValueError("the time has no offset from UTC")
    # Years at either end of the calendar have no counterpart in UTC.
    if not 1970 <= found.year <= 2200:
        raise ValueError("the year must lie between 1970 and 2200")
    return found


Time = Annotated[datetime, BeforeValidator(time_from, json_schema_input_type=str)]
Preference = Literal["ip", "si_ls", "si_m3h"]
Style = Literal["decimal_point", "decimal_comma"]


class _Body(BaseModel):
    model_config = ConfigDict(extra="forbid")


class EntryBody(_Body):
    """One entry as typed; `texts` are the keys of a visit file, values with their unit."""

    id: Ident
    kind: Literal[
        "reading",
        "conditions",
        "walk_through",
        "adjustment",
        "fault",
        "final_setting",
        "instrument",
        "note",
        "signature",
        "withdrawal",
        "closing",
    ]
    texts: Annotated[dict[Annotated[str, Field(max_length=80)], Value], Field(max_length=60)]
    at: Time
    record_id: Short = ""
    supersedes: AnyIdent | None = None
    reason: Text = ""
    by: Short = ""
    preference: Preference = "si_m3h"
    number_style: Style = "decimal_point"


class VisitBody(_Body):
    """A visit that begins now; without `instruments`, those carried last go along."""

    id: Ident
    technician: Short
    firm: Short = ""
    purpose: Literal["commissioning", "check", "service", "change"] = "commissioning"
    at: Time
    instruments: Annotated[list[AnyIdent], Field(max_length=50)] | None = None


Sha256 = Annotated[str, Field(strict=True, pattern=r"^[0-9a-f]{64}$")]


class DecisionBody(_Body):
    """Which of the entries that contradict each other stands; by the hashes of their contents."""

    kept_sha256: Sha256
    dropped_sha256: Annotated[list[Sha256], Field(min_length=1, max_length=50)]
    by: Short = ""


class ReportBody(_Body):
    """A report to be issued."""

    issued_by: Short = ""
    preference: Preference = "si_m3h"
    number_style: Style = "decimal_point"


class PairBody(_Body):
    """A device that asks to be let in."""

    token: Annotated[str, Field(strict=True, max_length=200)]
    name: Annotated[str, Field(strict=True, min_length=1, max_length=60)]


class SweepBody(_Body):
    """Samples of a sweep, evenly spaced in time, in one unit of measure, as is `resolution`."""

    samples: Annotated[list[Number], Field(min_length=1, max_length=20_000)]
    interval_s: Annotated[float, Field(strict=True, allow_inf_nan=False, gt=0.0, le=3600.0)]
    wanted_frac: Annotated[float, Field(strict=True, allow_inf_nan=False, gt=0.0, le=1.0)] = 0.02
    resolution: Annotated[float, Field(strict=True, allow_inf_nan=False, ge=0.0, le=1e6)] = 0.0
    number_style: Style = "decimal_point"
