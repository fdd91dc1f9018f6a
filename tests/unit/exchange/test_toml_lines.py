"""Key paths and the lines they stand on, for each form TOML has."""

from __future__ import annotations

import tomllib

import pytest

from ventwright.exchange.toml_lines import lines_of


def found(text: str) -> dict[str, int]:
    tomllib.loads(text)
    return lines_of(text)


def test_keys_tables_and_comments() -> None:
    text = """# a house
name = "Barn"  # its name

[envelope]
flow = "740 m³/h"
"""
    assert found(text) == {"name": 2, "envelope": 4, "envelope.flow": 5}


def test_arrays_of_tables_are_counted_where_they_nest() -> None:
    text = """[[systems]]
id = "a"
[[systems.terminals]]
id = "t1"
[[systems.terminals]]
id = "t2"
[systems.terminals.damper]
kind = "iris"
[[systems]]
[[systems.terminals]]
id = "t3"
"""
    lines = found(text)
    assert lines["systems"] == 1
    assert lines["systems[0].terminals[1].id"] == 6
    assert lines["systems[0].terminals[1].damper"] == 7
    assert lines["systems[0].terminals[1].damper.kind"] == 8
    assert lines["systems[1]"] == 9
    assert lines["systems[1].terminals[0].id"] == 11


def test_dotted_and_quoted_keys() -> None:
    text = """a.b . "c d" = 1
'e.f' = 2
"g\\u0068" = 3
["x y".z]
k = 4
"""
    assert found(text) == {
        "a": 1,
        "a.b": 1,
        "a.b.c d": 1,
        "e.f": 2,
        "gh": 3,
        "x y": 4,
        "x y.z": 4,
        "x y.z.k": 5,
    }


def test_lists_over_several_lines_with_comments_and_tables() -> None:
    text = """points = [ # two
  { p = "1 Pa", q.r = [1,
     2] },

  # the second
  { p = "2 Pa" },
]
after = [[1, 2], [
3]]
"""
    lines = found(text)
    assert lines["points[0].p"] == 2
    assert lines["points[0].q.r[1]"] == 3
    assert lines["points[1].p"] == 6
    assert lines["after[0][1]"] == 8
    assert lines["after[1]"] == 8
    assert lines["after[1][0]"] == 9


@pytest.mark.parametrize(
    "text",
    [
        'a = """\none\n"two""\n"""',
        "a = '''\none\\\ntwo\n'''",
        'a = """one \\\n\n  two"""',
        'a = """\n\n""four quotes at the end:"""""',
        "a = '''\n\n''''",
    ],
)
def test_long_texts_are_passed_over(text: str) -> None:
    lines = found(text + "\nb = 1\n")
    assert lines == {"a": 1, "b": text.count("\n") + 2}


@pytest.mark.parametrize("value", ['"#[=]"', "'\\'", '"\\""', '"\\\\"', '"""a"""', '""', "''"])
def test_marks_inside_texts_mean_nothing(value: str) -> None:
    assert found(f"a = {value} # = [x]\nb = [{value}, {value}]\n")["b[1]"] == 2


def test_dates_numbers_and_line_ends_of_two_kinds() -> None:
    text = "a = 2026-02-11 09:20:00\r\nb = -1_000.5e+3\r\nc = inf\r\n\r\n[d]\r\ne = true\r\n"
    assert found(text) == {"a": 1, "b": 2, "c": 3, "d": 5, "d.e": 6}


@pytest.mark.parametrize("text", ["", "\n\n", "# only words", "\t \n#\n"])
def test_texts_without_keys(text: str) -> None:
    assert found(text) == {}


def test_a_value_at_the_very_end() -> None:
    assert found("a = 1") == {"a": 1}
