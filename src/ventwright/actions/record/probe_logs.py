"""A logger's file taken into a visit: kept as it came, and a reading made of a stretch of it."""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import UTC, datetime
from hashlib import sha256
from itertools import pairwise
from pathlib import Path

from ventwright.actions.record.instruments import instrument_of, remember_mapping
from ventwright.actions.record.ledger import Handed, Ledger
from ventwright.actions.record.visits import put_entry, visit_of
from ventwright.exchange import LogSample, read_log
from ventwright.house import (
    LogMapping,
    Method,
    Phase,
    ProbeLog,
    Reader,
    Reading,
    Series,
    entry_of,
    parse_reading,
)
from ventwright.quantities import NumberStyle, Problem, UserError
from ventwright.store import Transaction

MOST_VALUES = 10
"""Into so many means a stretch is cut where a method takes several values. Samples a second apart
repeat each other; their number would make a mean look far surer than it is."""

_METHOD_OF_KEY = {
    "temperature": Method.AIR_STATE,
    "rel_humidity": Method.AIR_STATE,
    "dew_point": Method.AIR_STATE,
    "wet_bulb": Method.AIR_STATE,
    "power": Method.POWER,
    "pressure_diff": Method.PRESSURE_DIFFERENCE,
    "pressure": Method.BAROMETER,
    "flows": Method.DIRECT_FLOW,
    "drops": Method.EXCHANGER_PRESSURE,
}
_SEVERAL = {"flows", "drops"}


@dataclass(frozen=True, slots=True, kw_only=True)
class LogStretch:
    """What to make of a logger's file: a reading at a station over a stretch of time.

    `instrument` is the logger's probe; `begins` and `ends` are None for the whole file.
    """

    reading_id: str
    instrument: str
    station: str
    setting: str
    phase: Phase
    begins: datetime | None = None
    ends: datetime | None = None


def take_log(
    ledger: Ledger,
    visit_id: str,
    content: bytes,
    stretch: LogStretch,
    *,
    name: str,
    mapping: LogMapping | None = None,
    by: str = "",
) -> Handed:
    """Keep a logger's file with a visit and make a reading of a stretch of it.

    The reading holds means over the stretch, in the logger's units of measure; the file is kept
    whole, so that another stretch can be taken from it later.

    Parameters
    ----------
    ledger
        The record.
    visit_id
        The visit.
    content
        The file.
    stretch
        Which part of it, and what it was measured for.
    name
        Name of the file.
    mapping
        Which column is which; None takes what was remembered for a registered instrument, else
        what its last log in this visit was read with.
    by
        Who.

    Returns
    -------
    Handed
        The reading's receipt, and what was doubtful about the file.

    Raises
    ------
    UserError
        If the columns are not known, don't fit the file, or go with no method; if nothing was
        logged in the stretch.

    >>> from ventwright.actions.record import look_at_visit, practice_ledger
    >>> from ventwright.house import LogColumn
    >>> mapping = LogMapping(time_header="Time", offset="+00:00", columns=(
    ...     LogColumn(header="P", key="power", unit_of_measure="W"),))
    >>> text = b"Time,P\\n2026-03-04 09:00:00,61\\n2026-03-04 09:00:10,63\\n"
    >>> stretch = LogStretch(reading_id="r", station="unit", setting="continuous",
    ...     phase=Phase.AS_FOUND, instrument="watt")
    >>> with practice_ledger() as ledger:
    ...     _ = take_log(ledger, "v", text, stretch, name="p.csv", mapping=mapping)
    ...     look_at_visit(ledger, "v").visit.readings[0].look.power_w
    62.0
    """
    if mapping is None:
        mapping = _remembered(ledger, visit_id, stretch.instrument)
    found = read_log(content, mapping, path=Path(name))
    reading = reading_from_log(found.samples, mapping, stretch)
    log = ProbeLog(
        sha256=sha256(content).hexdigest(),
        name=name,
        instrument=stretch.instrument,
        mapping=mapping,
        readings=(reading.id,),
    )
    with ledger.store.writing() as change:
        change.put_blob(content, media_type="text/csv")
        kept = entry_of(log, entry_id=f"log-{reading.id}", by=by)
        put_entry(change, ledger, visit_id, kept)
        handed = put_entry(change, ledger, visit_id, entry_of(reading, by=by))
        if _is_registered(change, stretch.instrument):
            remember_mapping(change, ledger, stretch.instrument, mapping, by=by)
    return Handed(receipt=handed.receipt, problems=(*found.problems, *handed.problems))


def _remembered(ledger: Ledger, visit_id: str, instrument_id: str) -> LogMapping:
    """The mapping of a registered instrument, else that of its last log in this visit."""
    with ledger.store.reading() as now:
        known = _is_registered(now, instrument_id)
        mapping = instrument_of(now, instrument_id).mapping if known else None
        if mapping is not None:
            return mapping
        for log in reversed(visit_of(now, visit_id).folded.logs):
            if log.instrument == instrument_id:
                return log.mapping
    raise UserError(
        f"it is not known how the logger of instrument {instrument_id!r} writes its files; say "
        "which column is which once: it is remembered for the visit and for a registered instrument"
    )


def _is_registered(now: Transaction, instrument_id: str) -> bool:
    return now.head(Series.INSTRUMENT, instrument_id) is not None


def reading_from_log(
    samples: tuple[LogSample, ...],
    mapping: LogMapping,
    stretch: LogStretch,
) -> Reading:
    """A reading of the samples in a stretch of time.

    Parameters
    ----------
    samples
        In the order logged.
    mapping
        Their columns and units of measure.
    stretch
        Which part, and where.

    Raises
    ------
    UserError
        As `take_log`.

    >>> from ventwright.house import LogColumn
    >>> at = datetime(2026, 3, 4, 9, 0, tzinfo=UTC)
    >>> mapping = LogMapping(time_header="Time", columns=(
    ...     LogColumn(header="T", key="temperature", unit_of_measure="°C"),
    ...     LogColumn(header="RH", key="rel_humidity", unit_of_measure="%")))
    >>> stretch = LogStretch(reading_id="r", station="SUP", setting="continuous",
    ...     phase=Phase.AS_LEFT, instrument="hygro")
    >>> numbers = (("temperature", 19.25), ("rel_humidity", 41.0))
    >>> found = reading_from_log((LogSample(at=at, numbers=numbers),), mapping, stretch)
    >>> found.look.temperature_c, [t.text for t in found.typed]
    (19.25, ['19.25 °C', '41 %'])
    """
    chosen = [
        one
        for one in samples
        if (stretch.begins is None or one.at >= stretch.begins)
        and (stretch.ends is None or one.at <= stretch.ends)
    ]
    units = {column.key: column.unit_of_measure for column in mapping.columns}
    values = {
        key: [value for one in chosen for k, value in one.numbers if k == key] for key in units
    }
    values = {key: some for key, some in values.items() if some}
    if not values:
        raise UserError(_nothing_in(samples))
    mapped = {
        "id": stretch.reading_id,
        "station": stretch.station,
        "setting": stretch.setting,
        "phase": stretch.phase.value,
        "instrument": stretch.instrument,
        "method": _method(values),
        "at": chosen[-1].at,
        "note": _note(chosen),
        **{key: _texts(key, some, units[key]) for key, some in values.items()},
    }
    reader = Reader(number_style=NumberStyle.DECIMAL_POINT)
    reading = parse_reading(mapped, where="reading", reader=reader)
    problems: tuple[Problem, ...] = tuple(reader.problems)
    if reading is None or problems:
        raise UserError("no reading can be made of this log", problems=problems)
    return reading


def _method(values: dict[str, list[float]]) -> str:
    methods = {_METHOD_OF_KEY.get(key) for key in values}
    found = methods.pop()
    if methods or found is None:
        raise UserError(
            f"columns {', '.join(values)} make no reading together; take them one after another. "
            f"A log can hold: {', '.join(_METHOD_OF_KEY)}"
        )
    return found.value


def _texts(key: str, values: list[float], unit_of_measure: str) -> str | list[str]:
    """Means as text: of the whole stretch, or of its parts where a method takes several values."""
    parts = min(MOST_VALUES, len(values)) if key in _SEVERAL else 1
    edges = [round(i * len(values) / parts) for i in range(parts + 1)]
    means = [math.fsum(values[a:b]) / (b - a) for a, b in pairwise(edges)]
    texts = [f"{mean:.9g} {unit_of_measure}" for mean in means]
    return texts if key in _SEVERAL else texts[0]


def _note(chosen: list[LogSample]) -> str:
    first, last = chosen[0].at, chosen[-1].at
    return f"mean of {len(chosen)} logged samples, {first:%Y-%m-%d %H:%M:%S} to {last:%H:%M:%S} UTC"


def _nothing_in(samples: tuple[LogSample, ...]) -> str:
    if not samples:
        return "the file holds no sample that can be used"
    first, last = samples[0].at.astimezone(UTC), samples[-1].at.astimezone(UTC)
    return (
        "nothing was logged in that stretch; the file runs from "
        f"{first:%Y-%m-%d %H:%M:%S} to {last:%Y-%m-%d %H:%M:%S} UTC"
    )
