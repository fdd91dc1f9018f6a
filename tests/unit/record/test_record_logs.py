"""A logger's file becomes a reading of a visit, and its columns are remembered."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from statistics import fmean

import pytest

from tests.unit.record.sample import example, opened
from ventwright.actions.record import (
    LogStretch,
    add_house,
    export_bundle,
    import_bundle,
    look_at_visit,
    open_instrument,
    put_instrument,
    read_picture,
    start_visit,
    take_log,
    verify_record,
)
from ventwright.house import (
    Instrument,
    InstrumentKind,
    LogColumn,
    LogMapping,
    Method,
    Phase,
)
from ventwright.quantities import UserError

MAPPING = LogMapping(
    time_header="Time",
    offset="+00:00",
    columns=(
        LogColumn(header="T", key="temperature", unit_of_measure="°F"),
        LogColumn(header="RH", key="rel_humidity", unit_of_measure="%"),
    ),
)
STRETCH = LogStretch(
    reading_id="L1", instrument="hygro", station="SUP", setting="continuous", phase=Phase.AS_LEFT
)
BEGAN = datetime(2026, 2, 11, 18, 0, tzinfo=UTC)
FAHRENHEIT = [68.0 + 0.1 * (i % 7) for i in range(120)]
HUMIDITY = [40.0 + 0.05 * i for i in range(120)]
LOG = (
    "Time,T,RH\n"
    + "".join(
        f"{(BEGAN + timedelta(seconds=10 * i)).isoformat()},{FAHRENHEIT[i]:.1f},{HUMIDITY[i]:.2f}\n"
        for i in range(120)
    )
).encode()


@pytest.fixture
def ledger(record_url):
    house, visit = example()
    with opened(record_url) as one:
        add_house(one, house)
        start_visit(one, replace(visit, readings=(), adjustments=(), faults=()))
        yield one


VISIT = "juniper-mesa-2026-02-11"


def reading(ledger, ident="L1"):
    return next(r for r in look_at_visit(ledger, VISIT).visit.readings if r.id == ident)


def test_means_over_a_stretch_become_a_reading_and_the_file_is_kept(ledger, tmp_path):
    stretch = replace(
        STRETCH, begins=BEGAN + timedelta(seconds=100), ends=BEGAN + timedelta(seconds=390)
    )
    handed = take_log(ledger, VISIT, LOG, stretch, name="log.csv", mapping=MAPPING)
    assert (handed.receipt.state, handed.problems) == ("recorded", ())
    found = reading(ledger)
    assert found.method is Method.AIR_STATE
    mean_c = (fmean(FAHRENHEIT[10:40]) - 32.0) / 1.8
    assert found.look.temperature_c == pytest.approx(mean_c, abs=1e-6)
    assert found.look.rel_humidity_frac == pytest.approx(fmean(HUMIDITY[10:40]) / 100, abs=1e-9)
    assert found.typed[0].text.endswith("°F"), "kept in the logger's own unit"
    assert "30 logged samples" in found.note
    assert found.at == BEGAN + timedelta(seconds=390)
    (log,) = look_at_visit(ledger, VISIT).folded.logs
    assert read_picture(ledger, log.sha256) == (LOG, "text/csv")
    assert verify_record(ledger).is_intact
    export_bundle(ledger, tmp_path / "b.zip")
    with opened(f"sqlite:///{tmp_path / 'other.db'}") as other:
        import_bundle(other, tmp_path / "b.zip")
        assert read_picture(other, log.sha256) == (LOG, "text/csv")


def test_columns_are_remembered_for_a_registered_instrument(ledger):
    with pytest.raises(UserError, match="which column is which"):
        take_log(ledger, VISIT, LOG, STRETCH, name="log.csv")
    put_instrument(ledger, Instrument(id="hygro", kind=InstrumentKind.THERMO_HYGROMETER))
    take_log(ledger, VISIT, LOG, STRETCH, name="log.csv", mapping=MAPPING)
    assert open_instrument(ledger, "hygro").mapping == MAPPING
    number = open_instrument(ledger, "hygro").number
    again = take_log(ledger, VISIT, LOG, STRETCH, name="log.csv")
    assert again.receipt.state == "already"
    take_log(ledger, VISIT, LOG, replace(STRETCH, reading_id="L2"), name="log.csv")
    assert reading(ledger, "L2").look == reading(ledger).look
    assert open_instrument(ledger, "hygro").number == number


def test_columns_are_remembered_within_a_visit_for_any_instrument(ledger):
    take_log(ledger, VISIT, LOG, STRETCH, name="log.csv", mapping=MAPPING)
    take_log(ledger, VISIT, LOG, replace(STRETCH, reading_id="L2"), name="log.csv")
    assert reading(ledger, "L2").look == reading(ledger).look


def test_a_method_that_takes_several_values_gets_means_of_parts(ledger):
    mapping = LogMapping(
        time_header="Time",
        columns=(LogColumn(header="Q", key="flows", unit_of_measure="m³/h"),),
    )
    values = [100.0 + i for i in range(60)]
    text = "Time,Q\n" + "".join(
        f"{(BEGAN + timedelta(seconds=i)).isoformat()},{q:.0f}\n" for i, q in enumerate(values)
    )
    take_log(ledger, VISIT, text.encode(), STRETCH, name="q.csv", mapping=mapping)
    flows = [q * 3600 for q in reading(ledger).look.flows_m3_s]
    assert flows == pytest.approx([fmean(values[6 * k : 6 * k + 6]) for k in range(10)], abs=1e-5)


@pytest.mark.parametrize(
    ("stretch", "columns", "said"),
    [
        ({"begins": BEGAN + timedelta(days=1)}, None, "runs from 2026-02-11 18:00:00"),
        ({"station": "attic"}, None, "no reading"),
        (
            {},
            (
                LogColumn(header="T", key="temperature", unit_of_measure="°F"),
                LogColumn(header="RH", key="power", unit_of_measure="W"),
            ),
            "no reading together",
        ),
        (
            {},
            (LogColumn(header="T", key="velocities", unit_of_measure="m/s"),),
            "A log can hold",
        ),
        (
            {},
            (LogColumn(header="RH", key="rel_humidity", unit_of_measure="%"),),
            "no reading can be made",
        ),
    ],
)
def test_what_makes_no_reading_is_said_and_nothing_is_kept(ledger, stretch, columns, said):
    before = look_at_visit(ledger, VISIT).head
    mapping = MAPPING if columns is None else replace(MAPPING, columns=columns)
    with pytest.raises(UserError, match=said):
        take_log(ledger, VISIT, LOG, replace(STRETCH, **stretch), name="log.csv", mapping=mapping)
    assert look_at_visit(ledger, VISIT).head == before
