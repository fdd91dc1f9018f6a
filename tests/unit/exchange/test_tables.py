"""Readings from CSV tables."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path

import pytest

from tests.unit.exchange.samples import VISIT, write
from ventwright.exchange import read_visit
from ventwright.house import Conditions, House, Phase, Traverse, Visit
from ventwright.quantities import NumberStyle, Problem, UserError

TIMES = ("noon", "2026-02-11T09:20")
HEAD = "id,station,method,setting,phase"


def table(
    folder: Path, house: House | None, text: str, style: NumberStyle | None = None
) -> tuple[Visit, tuple[Problem, ...]]:
    return read_visit(write(folder, "night.csv", text), house=house, number_style=style)


def test_a_table_alone_is_a_visit_with_unknown_conditions(tmp_path: Path, house: House) -> None:
    text = f"{HEAD},flows,at\nr1,SUP,direct_flow,day,as_left,12 L/s,2026-02-11T09:20:00+01:00\n"
    visit, problems = table(tmp_path, house, text)
    assert problems == ()
    assert (visit.id, visit.house, visit.conditions) == ("night", "h", Conditions())
    one = visit.readings[0]
    assert (one.phase, one.at) == (Phase.AS_LEFT, datetime(2026, 2, 11, 8, 20, tzinfo=UTC))
    assert visit.started_at == one.at
    assert [(t.key, t.text) for t in one.typed] == [("flows[0]", "12 L/s")]


def test_a_table_alone_needs_its_house(tmp_path: Path) -> None:
    with pytest.raises(UserError, match="which house"):
        table(tmp_path, None, f"{HEAD},flows\n")


def test_nested_keys_several_values_and_lines_of_a_traverse(tmp_path: Path, house: House) -> None:
    text = (
        f"{HEAD},rule,section.diameter,velocities\n"
        "r1,SUP,traverse,day,as_found,log_linear,6 in,400 fpm; 410 fpm | 420 fpm;430 fpm\n"
    )
    visit, problems = table(tmp_path, house, text)
    assert problems == ()
    look = visit.readings[0].look
    assert isinstance(look, Traverse)
    assert look.section.diameter_m == pytest.approx(0.1524)
    fpm = 0.3048 / 60
    assert [tuple(round(v / fpm) for v in line) for line in look.velocities_m_s] == [
        (400, 410),
        (420, 430),
    ]


def test_semicolons_between_cells_mean_decimal_commas(tmp_path: Path, house: House) -> None:
    text = (
        HEAD.replace(",", ";") + ";flows\nr1;SUP;direct_flow;day;as_left;" + '"1,234 L/s; 2 L/s"\n'
    )
    visit, problems = table(tmp_path, house, text)
    assert problems == ()
    assert visit.readings[0].look.flows_m3_s == (0.001234, 0.002)  # type: ignore[union-attr]
    visit, _ = table(tmp_path, house, text, NumberStyle.DECIMAL_POINT)
    assert visit.readings[0].look.flows_m3_s == (1.234, 0.002)  # type: ignore[union-attr]


def test_tabs_between_cells(tmp_path: Path, house: House) -> None:
    text = f"{HEAD},power\nr1,unit,power,day,as_left,62 W\n".replace(",", "\t")
    assert table(tmp_path, house, text)[1] == ()


def test_blank_rows_and_cells_are_passed_over(tmp_path: Path, house: House) -> None:
    text = f"\n {HEAD} ,power,note\n,,,,,,\nr1, unit ,power,day,as_left,62 W,\n\n"
    visit, problems = table(tmp_path, house, text)
    assert problems == ()
    assert (len(visit.readings), visit.readings[0].note) == (1, "")


def test_problems_carry_the_line_a_row_begins_on(tmp_path: Path, house: House) -> None:
    text = (
        f"{HEAD},power,note\n"
        'r1,unit,power,day,as_left,62 W,"two\nlines"\n'
        "r2,unit,power,day,as_left,62 Pa,\n"
        "r3,terminal:t9,direct_flow,day,as_left,,\n"
        "r1,unit,power,day,later,60 W,\n"
    )
    visit, problems = table(tmp_path, house, text)
    assert [r.id for r in visit.readings] == ["r1"]
    assert [(p.code, p.where) for p in problems] == [
        ("wrong-dimension", "night.csv:4: readings[1].power"),
        ("missing-key", "night.csv:5: readings[2].flows"),
        ("unknown-word", "night.csv:6: readings[3].phase"),
    ]


def test_references_carry_the_line_of_their_row(tmp_path: Path, house: House) -> None:
    text = f"{HEAD},power,instrument\nr1,terminal:t9,power,day,as_left,62 W,w\n"
    _, problems = table(tmp_path, house, text)
    assert [(p.code, p.where) for p in problems] == [
        ("unknown-instrument", "night.csv:2: reading r1.instrument"),
        ("unknown-reference", "night.csv:2: reading r1.station"),
    ]


def test_truth_values_in_words(tmp_path: Path, house: House) -> None:
    rows = "".join(
        f"r{i},unit,power,day,as_left,62 W,{word}\n"
        for i, word in enumerate(["yes", "TRUE", "0", "n", "perhaps"])
    )
    visit, problems = table(tmp_path, house, f"{HEAD},power,is_defrosting\n{rows}")
    assert [r.is_defrosting for r in visit.readings] == [True, True, False, False, False]
    assert [(p.code, p.where) for p in problems] == [
        ("wrong-kind", "night.csv:6: readings[4].is_defrosting")
    ]


def test_a_time_that_is_none(tmp_path: Path, house: House) -> None:
    rows = [
        f"r{i},unit,power,day,as_left,62 W,{at}\n" for i, at in enumerate(["noon", "2026-02-11"])
    ]
    text = f"{HEAD},power,at\n" + "".join(rows)
    _, problems = table(tmp_path, house, text)
    assert [(p.code, p.where) for p in problems] == [
        ("wrong-kind", "night.csv:2: readings[0].at"),
        ("time-without-zone", "night.csv:3: readings[1].at"),
    ]


def test_columns_nobody_knows_are_named_once(tmp_path: Path, house: House) -> None:
    text = f"{HEAD},powre,power,power\n" + "r1,unit,power,day,as_left,1,62 W,63 W\n"
    visit, problems = table(tmp_path, house, text)
    assert [(p.code, p.where) for p in problems] == [
        ("unknown-key", "night.csv:1: powre"),
        ("repeated-column", "night.csv:1: power"),
    ]
    assert "did you mean 'power'" in problems[0].remedy
    assert visit.readings[0].look.power_w == 63.0  # type: ignore[union-attr]


def test_a_value_in_a_column_of_another_method(tmp_path: Path, house: House) -> None:
    text = f"{HEAD},power,flows\nr1,unit,power,day,as_left,62 W,3 L/s\n"
    _, problems = table(tmp_path, house, text)
    assert [(p.code, p.where) for p in problems] == [
        ("unknown-key", "night.csv:2: readings[0].flows")
    ]


def test_more_cells_than_columns(tmp_path: Path, house: House) -> None:
    text = f"{HEAD},power\nr1,unit,power,day,as_left,62 W,extra\nr2,unit,power,day,as_left,1 W,,\n"
    visit, problems = table(tmp_path, house, text)
    assert [(p.code, p.where) for p in problems] == [("too-many-cells", "night.csv:2")]
    assert len(visit.readings) == 2


@pytest.mark.parametrize(
    ("text", "code"),
    [
        ("", "no-header"),
        ("\n\n", "no-header"),
        ("id\nr1\n", "no-header"),
        ("id,station;method\n", "mixed-delimiters"),
        (f'{HEAD}\nr1,"unended\n', "malformed-csv"),
        (f'{HEAD}\nr1,"a"b,c\n', "malformed-csv"),
    ],
)
def test_what_is_no_table(tmp_path: Path, house: House, text: str, code: str) -> None:
    with pytest.raises(UserError) as caught:
        table(tmp_path, house, text)
    assert caught.value.problems[0].code == code
    assert caught.value.problems[0].where.startswith("night.csv:")


def beside(
    folder: Path, house: House, name: str = '"readings.csv"'
) -> tuple[Visit, tuple[Problem, ...]]:
    text = VISIT.replace('house = "h"\n', f'house = "h"\nreadings_csv = {name}\n')
    return read_visit(write(folder, "visit.toml", text), house=house)


def test_a_visit_file_may_name_a_table_beside_it(tmp_path: Path, house: House) -> None:
    write(
        tmp_path,
        "readings.csv",
        f"{HEAD},power,supersedes\n"
        "r2,unit,power,day,as_left,62 W,r1\n"
        "r3,unit,power,day,as_left,62 m,\n"
        "r4,terminal:t9,power,day,as_left,62 W,\n",
    )
    visit, problems = beside(tmp_path, house)
    assert [r.id for r in visit.readings] == ["r1", "r2", "r4"]
    assert [(p.code, p.where) for p in problems] == [
        ("wrong-dimension", "readings.csv:3: readings[2].power"),
        ("unknown-reference", "readings.csv:4: reading r4.station"),
    ]


@pytest.mark.parametrize("name", ['"../readings.csv"', '"/r.csv"', '""', "7", '".."', "'a\\b'"])
def test_a_table_elsewhere_is_not_read(tmp_path: Path, house: House, name: str) -> None:
    visit, problems = beside(tmp_path, house, name)
    assert [(p.code, p.where) for p in problems] == [("wrong-kind", "visit.toml:4: readings_csv")]
    assert len(visit.readings) == 1


def test_a_table_that_is_missing_leaves_the_visit(tmp_path: Path, house: House) -> None:
    visit, problems = beside(tmp_path, house)
    assert [(p.code, p.where) for p in problems] == [("no-such-file", "readings.csv")]
    assert len(visit.readings) == 1
