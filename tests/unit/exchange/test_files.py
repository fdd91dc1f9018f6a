"""House and visit files: what can't be read at all, and where the rest is wrong."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from tests.unit.exchange.samples import HOUSE, VISIT, write
from ventwright.exchange import read_house, read_visit
from ventwright.house import House
from ventwright.quantities import NumberStyle, UserError


def refused(path: Path) -> UserError:
    with pytest.raises(UserError) as caught:
        read_house(path)
    problem = caught.value.problems[0]
    assert problem.remedy and problem.message
    return caught.value


def test_a_house_is_read(tmp_path: Path) -> None:
    found, problems = read_house(write(tmp_path, "house.toml", HOUSE))
    assert (found.name, found.volume_m3, problems) == ("Barn", 300.0, ())
    again, _ = read_house(str(tmp_path / "house.toml"))
    assert again == found


def test_a_byte_order_mark_and_other_line_ends_change_nothing(tmp_path: Path) -> None:
    plain, _ = read_house(write(tmp_path, "a.toml", HOUSE))
    data = b"\xef\xbb\xbf" + HOUSE.replace("\n", "\r\n").encode()
    assert read_house(write(tmp_path, "b.toml", data)) == (plain, ())


def test_no_such_file(tmp_path: Path) -> None:
    caught = refused(tmp_path / "none.toml")
    assert caught.problems[0].code == "no-such-file"
    assert "none.toml" in str(caught)
    inside = write(tmp_path, "house.toml", HOUSE) / "visit.toml"
    assert refused(inside).problems[0].code == "no-such-file"


def test_a_folder_is_no_file(tmp_path: Path) -> None:
    assert refused(tmp_path).problems[0].code == "not-a-file"


def test_what_is_not_a_plain_file_is_not_read(tmp_path: Path) -> None:
    pipe = tmp_path / "pipe.toml"
    os.mkfifo(pipe)
    assert refused(pipe).problems[0].code == "not-a-file"


def test_a_name_no_file_can_have() -> None:
    assert refused(Path("a\0b.toml")).problems[0].code == "unreadable-file"


def test_a_file_far_too_long(tmp_path: Path) -> None:
    path = write(tmp_path, "house.toml", HOUSE)
    os.truncate(path, 17 * 1024 * 1024)
    assert refused(path).problems[0].code == "too-long-file"


@pytest.mark.parametrize("encoding", ["utf-16", "utf-16-be", "utf-16-le", "utf-32"])
def test_other_encodings_are_named(tmp_path: Path, encoding: str) -> None:
    caught = refused(write(tmp_path, "house.toml", HOUSE.encode(encoding)))
    assert caught.problems[0].code == "wrong-encoding"
    assert "UTF-16" in str(caught) or "UTF-32" in str(caught)
    assert "save it as UTF-8" in str(caught)


def test_a_byte_that_is_not_utf_8_is_found(tmp_path: Path) -> None:
    caught = refused(write(tmp_path, "house.toml", HOUSE.encode("latin-1")))
    assert caught.problems[0].where == "house.toml:4"
    assert "0xb3 on line 4" in str(caught)


@pytest.mark.parametrize(
    ("text", "line"),
    [
        ("a = 1\nb = = 2\n", 2),
        ("a = 1\na = 2\n", 2),
        ("\n\n[x\n", 3),
        ("a = 118 cfm\n", 1),
        ('a = "unended\nb = 1\n', 1),
        ("a = [1,\n2\n", 3),
        ('a = 1\n\nb = """\nunended', 4),
    ],
)
def test_malformed_toml_names_line_and_what_is_accepted(
    tmp_path: Path, text: str, line: int
) -> None:
    caught = refused(write(tmp_path, "house.toml", text))
    assert (caught.problems[0].code, caught.problems[0].where) == (
        "malformed-toml",
        f"house.toml:{line}",
    )
    assert f"house.toml:{line}" in str(caught)
    assert "key = value" in str(caught)


@pytest.mark.parametrize("text", ["a = " + "[" * 100_000, "a = " + "9" * 10_000])
def test_toml_beyond_reason_is_refused(tmp_path: Path, text: str) -> None:
    assert refused(write(tmp_path, "house.toml", text)).problems[0].code == "malformed-toml"


def test_no_house_at_all(tmp_path: Path) -> None:
    caught = refused(write(tmp_path, "house.toml", 'schema = "ventwright-house-1"\nname = "x"\n'))
    assert [(p.code, p.where) for p in caught.problems] == [("missing-key", "house.toml:1: id")]
    caught = refused(write(tmp_path, "house.toml", '\n\nschema = "ventwright-house-7"\n'))
    assert [(p.code, p.where) for p in caught.problems] == [
        ("unknown-schema", "house.toml:3: schema")
    ]
    assert "house.toml:3" in str(caught)


def test_problems_of_a_house_carry_file_and_line(tmp_path: Path) -> None:
    text = HOUSE.replace('"300 m³"', '"300 acres"').replace('room = "bath"', 'room = "bat"')
    _, problems = read_house(write(tmp_path, "my house.toml", text))
    assert [p.where for p in problems] == [
        "my house.toml:4: volume",
        "my house.toml:21: terminal t.1.room",
    ]


def test_an_item_that_was_left_out_does_not_shift_the_lines_of_the_others(tmp_path: Path) -> None:
    broken = '\n[[systems.terminals]]\nid = "t0"\nside = "up"\nroom = "bath"\n'
    head, tail = HOUSE.split("\n[[systems.terminals]]")
    text = head + broken + "\n[[systems.terminals]]" + tail.replace('"bath"', '"bat"')
    _, problems = read_house(write(tmp_path, "house.toml", text))
    assert [p.where for p in problems] == [
        "house.toml:20: systems[0].terminals[0].side",
        "house.toml:26: terminal t.1.room",
    ]


def test_problems_of_a_visit_carry_file_and_line(tmp_path: Path, house: House) -> None:
    text = VISIT.replace("13 L/s", "13 L").replace("terminal:t.1", "terminal:t.2")
    visit, problems = read_visit(write(tmp_path, "visit.toml", text), house=house)
    assert [p.where for p in problems] == [
        "visit.toml:13: readings[0].flows[1]",
        "visit.toml:7: reading r1.station",
    ]
    assert visit.readings[0].look.flows_m3_s == (0.012,)  # type: ignore[union-attr]


def test_the_number_style_reaches_the_parser(tmp_path: Path, house: House) -> None:
    path = write(tmp_path, "visit.toml", VISIT.replace("12 L/s", "12,345 L/s"))
    assert read_visit(path, house=house)[1][0].code == "ambiguous-number"
    visit, problems = read_visit(path, house=house, number_style=NumberStyle.DECIMAL_COMMA)
    assert problems == ()
    assert visit.readings[0].look.flows_m3_s[0] == 0.012345  # type: ignore[union-attr]
    house_path = write(tmp_path, "house.toml", HOUSE.replace("300", "1,234"))
    assert read_house(house_path)[1][0].code == "ambiguous-number"
    found, problems = read_house(house_path, number_style=NumberStyle.DECIMAL_POINT)
    assert (found.volume_m3, problems) == (1234.0, ())


@pytest.mark.parametrize("name", ["visit.pdf", "visit", "visit.toml.bak"])
def test_other_endings_are_refused(tmp_path: Path, name: str) -> None:
    with pytest.raises(UserError, match=r"name a \.toml or \.csv file"):
        read_visit(write(tmp_path, name, VISIT), house=None)


def test_no_visit_at_all(tmp_path: Path) -> None:
    with pytest.raises(UserError, match="holds no visit") as caught:
        read_visit(write(tmp_path, "visit.toml", HOUSE), house=None)
    assert caught.value.problems[0].code == "unknown-schema"
