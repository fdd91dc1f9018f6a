"""Sessions as JSON text and back, without loss."""

from __future__ import annotations

import json
from typing import Any

from ventwright.balancing.site_data import (
    Damper,
    DamperMove,
    FlowReading,
    LossShare,
    Meter,
    Options,
    Outlet,
    Run,
    Session,
    SettingStyle,
    SideSetup,
    SpeedMove,
    Spot,
)
from ventwright.quantities.problems import UserError
from ventwright.quantities.records import fields
from ventwright.quantities.words import Side

VERSION_NUMBER = 1
_EVENTS = {"reading": FlowReading, "move": DamperMove, "speed": SpeedMove}
_NESTED = {
    "damper": Damper,
    "loss": LossShare,
    "shared": LossShare,
    "spot": Spot,
    "unit_spot": Spot,
    "options": Options,
    "outlets": Outlet,
    "runs": Run,
    "sides": SideSetup,
    "meters": Meter,
}
_WORDS = {"side": Side, "style": SettingStyle}


def session_to_json(session: Session) -> str:
    """A session as one JSON object.

    Parameters
    ----------
    session
        Any session.

    >>> from ventwright.balancing import start
    >>> room = Outlet(id="bed", run_id=None, target_m3_s=0.01)
    >>> session = start([SideSetup(side=Side.SUPPLY, outlets=(room,))], meters=[Meter(id="hood")])
    >>> session_from_json(session_to_json(session)) == session
    True
    """
    return json.dumps({"version": VERSION_NUMBER, **_plain(session)}, ensure_ascii=False)


def session_from_json(text: str) -> Session:
    """A session from what `session_to_json` wrote.

    Parameters
    ----------
    text
        One JSON object.

    Raises
    ------
    UserError
        Not JSON, another version, or fields missing or unknown.

    >>> session_from_json('{"version": 99}')
    Traceback (most recent call last):
    ventwright.quantities.problems.UserError: a session of version 99: 1 is accepted
    """
    try:
        data = json.loads(text)
        version = data.pop("version", None)
        if version != VERSION_NUMBER:
            raise UserError(f"a session of version {version}: {VERSION_NUMBER} is accepted")
        session: Session = _made(Session, data)
    except (ValueError, TypeError, KeyError, AttributeError) as fault:
        raise UserError(f"this is no session: {fault}") from fault
    return session


def _plain(value: Any) -> Any:
    if isinstance(value, tuple):
        return [_plain(item) for item in value]
    if hasattr(value, "__dataclass_fields__"):
        plain = {field.name: _plain(getattr(value, field.name)) for field in fields(value)}
        for word, kind in _EVENTS.items():
            if isinstance(value, kind):
                plain = {"event": word, **plain}
        return plain
    return value


def _made(kind: Any, data: dict[str, Any]) -> Any:
    return kind(**{name: _value(name, value) for name, value in data.items()})


def _value(name: str, value: Any) -> Any:
    if name == "events":
        return tuple(
            _made(_EVENTS[item["event"]], {k: v for k, v in item.items() if k != "event"})
            for item in value
        )
    if name in _WORDS:
        return _WORDS[name](value)
    if isinstance(value, list):
        if name in _NESTED:
            return tuple(_made(_NESTED[name], item) for item in value)
        return tuple(tuple(item) for item in value)
    if isinstance(value, dict):
        return _made(_NESTED[name], value)
    return value
