"""The field page as data: what stands at each place, and the picture of the house."""

from __future__ import annotations

import xml.etree.ElementTree as ET
from functools import lru_cache

import pytest

from ventwright.actions import assess_files, examples_folder
from ventwright.house import LOOK_OF_METHOD, Method
from ventwright.quantities import NumberStyle, Side, UnitPreference
from ventwright.report.field import (
    FieldModel,
    StationGroup,
    compose_field,
    entry_forms,
    method_forms,
)
from ventwright.report.model import Mark
from ventwright.report.pictures.field_tree import TreeRow, field_tree


@lru_cache(maxsize=4)
def page(house: str = "juniper_mesa", style: NumberStyle = NumberStyle.DECIMAL_POINT) -> FieldModel:
    folder = examples_folder() / house
    one = assess_files(folder / "house.toml", folder / "visit.toml")
    return compose_field(
        one.findings, one.snapshot, preference=UnitPreference.SI_M3H, number_style=style
    )


@pytest.mark.parametrize("house", ["juniper_mesa", "harbour_terrace"])
def test_every_terminal_can_be_read_and_is_drawn(house: str) -> None:
    folder = examples_folder() / house
    one = assess_files(folder / "house.toml", folder / "visit.toml")
    ids = [f"terminal:{t.id}" for s in one.snapshot.house.systems for t in s.terminals]
    shown = page(house)
    keys = [s.key for s in shown.stations if s.group is StationGroup.TERMINALS]
    assert [k for k in keys if k.startswith("terminal:")] == ids
    first_setting = shown.settings[0][0]
    drawn = "".join(p.svg for p in shown.pictures if p.setting == first_setting)
    assert all(f'data-station="{key}"' in drawn for key in ids)
    assert len({(s.group, s.key, s.system) for s in shown.stations}) == len(shown.stations)


def test_values_carry_uncertainty_band_and_verdict() -> None:
    (station,) = [s for s in page().stations if s.key == "terminal:s3"]
    by_place = {(v.setting, v.phase): v for v in station.values}
    left = by_place["continuous", "as_left"]
    assert (left.text, left.band, left.mark) == ("27.5 ± 2.6 m³/h", "24.5 to 29.9", Mark.MET)
    # Only the last phase is judged.
    assert by_place["continuous", "as_found"].mark is None
    assert (station.last_method, station.last_instrument) == ("vane", "vane")
    assert ("area", "12.57 in²") in station.last_fields


def test_decimal_comma_reaches_every_figure() -> None:
    shown = page(style=NumberStyle.DECIMAL_COMMA)
    texts = [v.text for s in shown.stations for v in s.values if v.text]
    assert any("," in text for text in texts)
    assert not [t for t in texts if "." in t.replace("in. w.c.", "")]
    assert not [p for p in shown.pictures if "± " in p.alt and ". m³" in p.alt]


@pytest.mark.parametrize("preference", list(UnitPreference))
def test_every_method_and_entry_has_a_form_in_words(preference: UnitPreference) -> None:
    forms = (*method_forms(preference), *entry_forms(preference))
    assert [f.name for f in forms[: len(Method)]] == [m.value for m in LOOK_OF_METHOD]
    for form in forms:
        assert form.fields
        for one in form.fields:
            # A field that the record gained lately shows its own name until it has a word.
            assert one.label
            assert "_" not in one.label
            assert one.kind == "quantity" or not one.symbols
            assert one.kind != "quantity" or one.symbols
            assert (one.kind == "choice") == bool(one.choices)


def test_picture_is_whole_and_escapes_what_was_typed() -> None:
    rows = [
        TreeRow(station="branch:b1", label="b1 <b>", depth_count=0, is_terminal=False),
        TreeRow(
            station='terminal:"t"',
            label="t & <script>",
            depth_count=1,
            is_terminal=True,
            text="30 ± 3",
            verdict="✓ met",
            mark=Mark.MET,
            low_ratio=0.9,
            high_ratio=1.1,
            flow_low_ratio=0.2,
            flow_ratio=1.0,
            flow_high_ratio=9.0,
            has_target=True,
        ),
    ]
    picture = field_tree(rows, side=Side.SUPPLY, title="Supply", legend="l", alt="<alt>")
    root = ET.fromstring(picture)
    assert "script" not in {e.tag.rpartition("}")[2] for e in root.iter()}
    width = float(root.attrib["viewBox"].split()[2])
    for element in root.iter():
        for name in ("x", "x1", "x2", "cx"):
            if name in element.attrib:
                assert 0.0 <= float(element.attrib[name]) <= width
