"""A plan changed part by part, as forms do: each change is the next revision of the whole plan."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from ventwright.actions.record.houses import plan_of, put_house
from ventwright.actions.record.instruments import instrument_of, put_instrument_in
from ventwright.actions.record.ledger import Handed, Ledger, check_id, refuse
from ventwright.house import (
    HOUSE_SCHEMA,
    House,
    Instrument,
    PartPath,
    Reader,
    Series,
    check_house,
    part_at,
    part_sha256,
    part_type,
    put_part,
    read_part,
)
from ventwright.quantities import NumberStyle, Severity, UserError
from ventwright.store import Receipt, ReceiptState, Transaction


@dataclass(frozen=True, slots=True, kw_only=True)
class PartChange:
    """What a form changes of one part: texts by key, None for a key that is emptied.

    `seen_sha256` is `part_sha256` of the part as its user saw it, empty for one that is new.
    """

    path: PartPath
    texts: Mapping[str, object]
    seen_sha256: str = ""
    is_removal: bool = False


def change_part(
    ledger: Ledger,
    house_id: str,
    change: PartChange,
    *,
    number_style: NumberStyle | None = None,
    by: str = "",
) -> Handed:
    """Change one part of a house's plan; all other parts stay as they stand now.

    Two people can so change two parts of one house at the same time. The same change handed in
    again adds nothing.

    Parameters
    ----------
    ledger
        The record.
    house_id
        The house.
    change
        What is changed.
    number_style
        How a number with a lone comma is meant.
    by
        Who.

    Raises
    ------
    UserError
        ``changed-meanwhile`` if the part is not what was seen, ``unknown-part``,
        ``unknown-house``; else with a problem for each key that can't be read, and for each
        reference that the change would break. Nothing is recorded then.

    >>> from ventwright.actions.record import open_house, practice_ledger
    >>> hall = PartChange(path=("rooms", "hall"), texts={"name": "Hall", "kind": "hall"})
    >>> with practice_ledger() as ledger:
    ...     states = [change_part(ledger, "h", hall).receipt.state.value for _ in range(2)]
    ...     opened = open_house(ledger, "h")
    >>> states, opened.number, opened.house.rooms[0].name
    (['recorded', 'already'], 2, 'Hall')
    """
    with ledger.store.writing() as now:
        house, number = plan_of(now, house_id)
        changed = _changed(house, change, number_style)
        if changed == house:
            return _already(now, house_id)
        _refuse_unseen(part_at(house, change.path), change)
        known = check_house(house)
        broken = tuple(
            p
            for p in check_house(changed)
            if p not in known and p.severity in (Severity.MISTAKE, Severity.REFUSAL)
        )
        if broken:
            raise UserError("the change does not fit the rest of the plan", problems=broken)
        return put_house(now, ledger, changed, expected_number=number, by=by)


def begin_house(
    ledger: Ledger,
    house_id: str,
    texts: Mapping[str, object],
    *,
    number_style: NumberStyle | None = None,
    by: str = "",
) -> Handed:
    """Take a new house into the record from what a form says of it.

    Parameters
    ----------
    ledger
        The record.
    house_id
        Its id for good.
    texts
        Texts by key.
    number_style, by
        As `change_part`.

    Raises
    ------
    UserError
        ``taken-id`` if another house has that id; else as `change_part`.

    >>> from ventwright.actions.record import open_house, practice_ledger
    >>> with practice_ledger() as ledger:
    ...     _ = begin_house(ledger, "mill", {"name": "Mill", "altitude": "120 m"})
    ...     open_house(ledger, "mill").house.altitude_m
    120.0
    """
    check_id(house_id, what="house")
    head = {"schema": HOUSE_SCHEMA, "id": house_id}
    house = _read(House, None, {**texts, **head}, number_style)
    with ledger.store.writing() as now:
        if now.head(Series.HOUSE, house_id) is None:
            return put_house(now, ledger, house, expected_number=0, by=by)
        if _first_plan(now, house_id) == house:
            return _already(now, house_id)
    raise refuse(
        "taken-id",
        "id",
        f"another house has the id {house_id!r}",
        "give this house another id, or open that one",
    )


def change_instrument(
    ledger: Ledger,
    instrument_id: str,
    change: PartChange,
    *,
    number_style: NumberStyle | None = None,
    by: str = "",
) -> Handed:
    """Register an instrument from a form, or change what is known of it; former states stay.

    Parameters
    ----------
    ledger
        The record.
    instrument_id
        Its id for good.
    change
        Its texts; the path is not looked at, and an instrument is never taken out.
    number_style, by
        As `change_part`.

    Raises
    ------
    UserError
        As `change_part`.

    >>> from ventwright.actions.record import open_instrument, practice_ledger
    >>> typed = {"kind": "vane_meter", "name": "100 mm vane", "calibrated_on": "2026-02-01"}
    >>> with practice_ledger() as ledger:
    ...     _ = change_instrument(ledger, "vane", PartChange(path=(), texts=typed))
    ...     open_instrument(ledger, "vane").instrument.calibrated_on.isoformat()
    '2026-02-01'
    """
    check_id(instrument_id, what="instrument")
    with ledger.store.writing() as now:
        standing, number = None, 0
        if now.head(Series.INSTRUMENT, instrument_id) is not None:
            opened = instrument_of(now, instrument_id)
            standing, number = opened.instrument, opened.number
        typed = {**change.texts, "id": instrument_id}
        changed = _read(Instrument, standing, typed, number_style)
        if changed != standing:
            _refuse_unseen(standing, change)
        return put_instrument_in(now, ledger, changed, expected_number=number, by=by)


def _changed(house: House, change: PartChange, number_style: NumberStyle | None) -> House:
    kind = part_type(change.path)
    standing = part_at(house, change.path)
    if change.is_removal:
        if not change.path:
            raise refuse("unusable-change", "house", "a house can't be taken out", "leave it")
        return put_part(house, change.path, None) if standing is not None else house
    typed = dict(change.texts)
    if not change.path:
        typed = {key: value for key, value in typed.items() if key not in ("id", "schema")}
    elif "id" in kind.__annotations__:
        # The id is the part's name in readings; it stays for good.
        check_id(change.path[-1], what="part")
        typed["id"] = change.path[-1]
    return put_part(house, change.path, _read(kind, standing, typed, number_style))


def _read(
    kind: type[Any],
    standing: object | None,
    typed: Mapping[str, object],
    number_style: NumberStyle | None,
) -> Any:
    reader = Reader(number_style=number_style)
    part: object = read_part(kind, standing, typed, reader=reader)
    if part is None or reader.problems:
        raise UserError("this can't be read as typed", problems=tuple(reader.problems))
    return part


def _refuse_unseen(standing: object | None, change: PartChange) -> None:
    if part_sha256(standing) != change.seen_sha256:
        raise refuse(
            "changed-meanwhile",
            ".".join(change.path) or "house",
            "someone else changed this part since it was looked at",
            "look at it as it is now, and make the change there",
        )


def _first_plan(now: Transaction, house_id: str) -> House:
    return plan_of(now, house_id, number=1)[0]


def _already(now: Transaction, house_id: str) -> Handed:
    head = now.head(Series.HOUSE, house_id)
    assert head is not None
    return Handed(
        receipt=Receipt(state=ReceiptState.ALREADY, number=head.number, sha256=head.sha256)
    )
