"""Rules about files rather than about code."""

from __future__ import annotations

import re

from tests.architecture import sources

MOST_LINES = 400
# Spelt in two halves so that this file does not find itself.
LEFT_OVER = re.compile(r"\b(TO" r"DO|FIX" r"ME|XX" r"X|HA" r"CK)\b")
ORIGINS = ("standard", "trade", "ours")


def test_no_file_is_longer_than_a_reader_can_hold() -> None:
    lengths = {
        str(path.relative_to(sources.ROOT)): len(path.read_text(encoding="utf-8").splitlines())
        for path in sources.code_files()
    }
    assert not {name: lines for name, lines in lengths.items() if lines > MOST_LINES}


def test_nothing_is_left_over() -> None:
    found = [
        f"{path.relative_to(sources.ROOT)}:{number} {line.strip()}"
        for path in sources.code_files()
        for number, line in enumerate(path.read_text(encoding="utf-8").splitlines(), start=1)
        if LEFT_OVER.search(line)
    ]
    assert not found, "\n".join(found)


def test_glossary_gives_each_word_one_meaning_and_an_origin() -> None:
    text = (sources.ROOT / "GLOSSARY.md").read_text(encoding="utf-8")
    rows = [line.strip("| ").split(" | ") for line in text.splitlines() if line.startswith("|")]
    entries = rows[2:]
    assert entries
    wrong = [row for row in entries if len(row) != 3 or not row[2].startswith(ORIGINS)]
    assert not wrong, wrong
    words = [row[0].casefold() for row in entries]
    assert len(set(words)) == len(words), sorted(word for word in words if words.count(word) > 1)


def test_each_folder_of_tests_is_a_package() -> None:
    folders = {path.parent for path in (sources.ROOT / "tests").rglob("test_*.py")}
    assert not [str(path) for path in folders if not (path / "__init__.py").is_file()]


def test_changelog_says_which_numbers_change() -> None:
    text = (sources.ROOT / "CHANGELOG.md").read_text(encoding="utf-8")
    releases = re.split(r"^## ", text, flags=re.MULTILINE)[1:]
    assert releases
    assert not [part.splitlines()[0] for part in releases if "### Numbers that change" not in part]


def test_decision_records_have_a_number_of_their_own_and_say_what_was_decided() -> None:
    records = sorted((sources.ROOT / "docs" / "adr").glob("*.md"))
    assert records
    assert not [path.name for path in records if not re.match(r"\d{4}-[a-z0-9-]+\.md", path.name)]
    numbers = [path.name[:4] for path in records]
    assert len(set(numbers)) == len(numbers), numbers
    wrong = [
        f"{path.name}: {heading}"
        for path in records
        for heading in ("Context", "Decision", "Consequences", "What would change our mind")
        if f"**{heading}.**" not in path.read_text(encoding="utf-8")
    ]
    assert not wrong, "\n".join(wrong)


def test_map_names_every_room() -> None:
    text = (sources.ROOT / "docs" / "README.md").read_text(encoding="utf-8")
    table = text[text.index("## Rooms") :]
    first_cells = [line.split("|")[1] for line in table.splitlines() if line.startswith("| ")]
    named = {name for cell in first_cells for name in re.findall(r"`(\w+)`", cell)}
    assert named == set(sources.ROOMS)
