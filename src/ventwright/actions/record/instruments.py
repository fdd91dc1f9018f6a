"""Instruments of a firm: registered, changed, calibrated; how each logger writes its files."""

from __future__ import annotations

from dataclasses import dataclass, replace

from ventwright.actions.record.ledger import (
    Handed,
    Ledger,
    check_id,
    hand_in,
    kept_from,
    refuse_unknown,
)
from ventwright.house import (
    Calibration,
    Entry,
    Instrument,
    LogMapping,
    Series,
    entry_of,
    in_force,
    standing_entries,
)
from ventwright.store import (
    InstrumentLine,
    Receipt,
    ReceiptState,
    Transaction,
    list_instruments,
)


@dataclass(frozen=True, slots=True, kw_only=True)
class OpenInstrument:
    """An instrument as it stands, its calibrations, and how its logger writes.

    `number` guards changes.
    """

    instrument: Instrument
    number: int
    calibrations: tuple[Calibration, ...]
    mapping: LogMapping | None


def put_instrument(
    ledger: Ledger, instrument: Instrument, *, expected_number: int = 0, by: str = ""
) -> Handed:
    """Register an instrument, or change what is known of it; former states stay.

    Visits keep the instruments they used as they were on the day; nothing here changes them.

    Parameters
    ----------
    ledger
        The record.
    instrument
        The instrument; its id is its name in the record for good.
    expected_number
        `OpenInstrument.number` as it was looked at; 0 for a new one.
    by
        Who.

    Raises
    ------
    UserError
        ``changed-meanwhile``, ``unknown-instrument``.

    >>> from ventwright.actions.record import practice_ledger
    >>> from ventwright.house import InstrumentKind
    >>> vane = Instrument(id="vane", kind=InstrumentKind.VANE_METER, name="100 mm vane")
    >>> with practice_ledger() as ledger:
    ...     _ = put_instrument(ledger, vane)
    ...     find_instruments(ledger)[0].name
    '100 mm vane'
    """
    check_id(instrument.id, what="instrument")
    with ledger.store.writing() as change:
        return put_instrument_in(change, ledger, instrument, expected_number=expected_number, by=by)


def put_instrument_in(
    change: Transaction, ledger: Ledger, instrument: Instrument, *, expected_number: int, by: str
) -> Handed:
    """As `put_instrument`, within a transaction.

    Parameters
    ----------
    change
        The transaction.
    ledger, instrument, expected_number, by
        As `put_instrument`.

    >>> from ventwright.actions.record import practice_ledger
    >>> from ventwright.house import InstrumentKind
    >>> vane = Instrument(id="vane", kind=InstrumentKind.VANE_METER)
    >>> with practice_ledger() as ledger, ledger.store.writing() as change:
    ...     put_instrument_in(change, ledger, vane, expected_number=0, by="").receipt.number
    1
    """
    if expected_number == 0:
        change.begin_series(
            Series.INSTRUMENT,
            instrument.id,
            at=ledger.clock(),
            columns=instrument_columns(instrument),
        )
    return _put(change, ledger, instrument, expected_number=expected_number, by=by)


def _put(
    change: Transaction, ledger: Ledger, instrument: Instrument, *, expected_number: int, by: str
) -> Handed:
    head = change.head(Series.INSTRUMENT, instrument.id)
    if head is None:
        raise refuse_unknown("instrument", instrument.id, remedy="register it first")
    states = [
        entry for entry in _entries(change, instrument.id) if isinstance(entry.what, Instrument)
    ]
    if states and states[-1].what == instrument:
        receipt = Receipt(state=ReceiptState.ALREADY, number=head.number, sha256=head.sha256)
        return Handed(receipt=receipt)
    entry = entry_of(
        instrument,
        entry_id=str(expected_number + 1),
        supersedes=states[-1].id if states else None,
        by=by,
    )
    return hand_in(
        change,
        ledger,
        entry,
        series=Series.INSTRUMENT,
        owner=instrument.id,
        expected_number=expected_number,
        columns=instrument_columns(instrument),
    )


def _entries(now: Transaction, instrument_id: str) -> list[Entry]:
    """Entries in force, in the order sealed."""
    standing, _ = standing_entries(kept_from(now.entries(Series.INSTRUMENT, instrument_id)))
    return [one.entry for one in in_force(standing)]


def instrument_columns(instrument: Instrument) -> dict[str, object]:
    """What lists of instruments show.

    Parameters
    ----------
    instrument
        Any instrument.

    >>> from ventwright.house import InstrumentKind
    >>> instrument_columns(Instrument(id="v", kind=InstrumentKind.VANE_METER))["kind"]
    'vane_meter'
    """
    on, due = instrument.calibrated_on, instrument.calibration_due
    return {
        "name": instrument.name.replace("\x00", "\ufffd"),
        "kind": instrument.kind.value,
        "serial_no": instrument.serial_no.replace("\x00", "\ufffd"),
        "calibrated_on": None if on is None else on.isoformat(),
        "calibration_due": None if due is None else due.isoformat(),
    }


def record_calibration(
    ledger: Ledger,
    instrument_id: str,
    calibration: Calibration,
    *,
    certificate: bytes | None = None,
    media_type: str = "application/pdf",
    by: str = "",
) -> Handed:
    """Note a calibration; if it is the latest one, the instrument carries it from now on.

    Parameters
    ----------
    ledger
        The record.
    instrument_id
        The instrument.
    calibration
        What the certificate says.
    certificate, media_type
        The certificate's file, kept by its hash.
    by
        Who.

    Raises
    ------
    UserError
        ``unknown-instrument``.

    >>> from datetime import date
    >>> from ventwright.actions.record import practice_ledger
    >>> from ventwright.house import InstrumentKind
    >>> done = Calibration(id="c1", calibrated_on=date(2026, 2, 1), certificate_no="K-17")
    >>> with practice_ledger() as ledger:
    ...     _ = put_instrument(ledger, Instrument(id="vane", kind=InstrumentKind.VANE_METER))
    ...     _ = record_calibration(ledger, "vane", done)
    ...     open_instrument(ledger, "vane").instrument.certificate_no
    'K-17'
    """
    with ledger.store.writing() as change:
        seen = instrument_of(change, instrument_id)
        if certificate is not None:
            name = change.put_blob(certificate, media_type=media_type)
            calibration = replace(calibration, certificate_sha256=name)
        handed = hand_in(
            change,
            ledger,
            entry_of(calibration, by=by),
            series=Series.INSTRUMENT,
            owner=instrument_id,
        )
        before = seen.instrument.calibrated_on
        is_latest = before is None or calibration.calibrated_on >= before
        if handed.receipt.state is ReceiptState.RECORDED and is_latest:
            renewed = replace(
                seen.instrument,
                certificate_no=calibration.certificate_no,
                calibrated_on=calibration.calibrated_on,
                calibration_due=calibration.calibration_due,
            )
            _put(change, ledger, renewed, expected_number=handed.receipt.number, by=by)
        return handed


def remember_mapping(
    change: Transaction, ledger: Ledger, instrument_id: str, mapping: LogMapping, *, by: str = ""
) -> None:
    """Remember how an instrument's logger writes its files, within a transaction.

    Parameters
    ----------
    change
        The transaction.
    ledger
        The record.
    instrument_id
        A registered instrument; for any other nothing is remembered.
    mapping
        Its columns.
    by
        Who.

    >>> from ventwright.actions.record import practice_ledger
    >>> from ventwright.house import InstrumentKind, LogColumn
    >>> mapping = LogMapping(time_header="Time", columns=(
    ...     LogColumn(header="T1", key="temperature", unit_of_measure="°C"),))
    >>> with practice_ledger() as ledger:
    ...     _ = put_instrument(ledger, Instrument(id="t", kind=InstrumentKind.THERMO_HYGROMETER))
    ...     with ledger.store.writing() as change:
    ...         remember_mapping(change, ledger, "t", mapping)
    ...     open_instrument(ledger, "t").mapping == mapping
    True
    """
    head = change.head(Series.INSTRUMENT, instrument_id, is_to_change=True)
    if head is None or instrument_of(change, instrument_id).mapping == mapping:
        return
    entry = entry_of(mapping, entry_id=str(head.number + 1), by=by)
    hand_in(change, ledger, entry, series=Series.INSTRUMENT, owner=instrument_id)


def open_instrument(ledger: Ledger, instrument_id: str) -> OpenInstrument:
    """An instrument as it stands.

    Parameters
    ----------
    ledger
        The record.
    instrument_id
        Its id.

    Raises
    ------
    UserError
        ``unknown-instrument``.

    >>> from ventwright.actions.record import practice_ledger
    >>> from ventwright.house import InstrumentKind
    >>> with practice_ledger() as ledger:
    ...     _ = put_instrument(ledger, Instrument(id="vane", kind=InstrumentKind.VANE_METER))
    ...     open_instrument(ledger, "vane").number
    1
    """
    with ledger.store.reading() as now:
        return instrument_of(now, instrument_id)


def instrument_of(now: Transaction, instrument_id: str) -> OpenInstrument:
    """As `open_instrument`, within a transaction.

    Parameters
    ----------
    now
        The transaction.
    instrument_id
        Its id.

    >>> from ventwright.actions.record import practice_ledger
    >>> from ventwright.house import InstrumentKind
    >>> with practice_ledger() as ledger:
    ...     _ = put_instrument(ledger, Instrument(id="v", kind=InstrumentKind.VANE_METER))
    ...     with ledger.store.reading() as now:
    ...         instrument_of(now, "v").number
    1
    """
    head = now.head(Series.INSTRUMENT, instrument_id)
    if head is None:
        raise refuse_unknown("instrument", instrument_id, remedy="register it first")
    everything = [entry.what for entry in _entries(now, instrument_id)]
    mappings = [one for one in everything if isinstance(one, LogMapping)]
    return OpenInstrument(
        instrument=[one for one in everything if isinstance(one, Instrument)][-1],
        number=head.number,
        calibrations=tuple(one for one in everything if isinstance(one, Calibration)),
        mapping=mappings[-1] if mappings else None,
    )


def find_instruments(ledger: Ledger) -> tuple[InstrumentLine, ...]:
    """All registered instruments by name.

    Parameters
    ----------
    ledger
        The record.

    >>> from ventwright.actions.record import practice_ledger
    >>> with practice_ledger() as ledger:
    ...     find_instruments(ledger)
    ()
    """
    with ledger.store.reading() as now:
        return list_instruments(now)
