"""A value that is a timed average says so where readings stand as typed."""

from __future__ import annotations

from dataclasses import replace

from tests.unit.report import cases
from ventwright.house import ElectricPower, Samples
from ventwright.report import Part, compose


def test_a_timed_average_is_told_with_its_samples() -> None:
    _, preference = cases.EXAMPLES["juniper_mesa"]
    visit = cases.assessed("juniper_mesa").snapshot.visit
    readings = list(visit.readings)
    place = next(i for i, r in enumerate(readings) if isinstance(r.look, ElectricPower))
    samples = Samples(key="power", unit_of_measure="W", interval_s=1.5, texts=("61.5", "62.5") * 10)
    readings[place] = replace(readings[place], samples=samples)
    found = cases.with_snapshot("juniper_mesa", visit=replace(visit, readings=tuple(readings)))
    model = compose(
        found.findings,
        found.snapshot,
        preference=preference,
        snapshot_sha256=found.snapshot_sha256,
        parts=(Part.ANNEX,),
    )
    (section,) = [s for s in model.sections if s.id == "readings"]
    (row,) = [r for r in section.tables[0].rows if r[0].text == readings[place].id]
    assert any("mean of 20 samples over 30 s" in cell.text for cell in row)
