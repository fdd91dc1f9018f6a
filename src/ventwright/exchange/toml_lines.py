"""On which line of a TOML text each key path stands.

The standard library reads TOML into plain mappings and forgets the lines. This scanner runs over
a text that was read without a complaint, so it need not judge it: it only follows where tables,
keys and values begin. Paths are written as in the record's problems, for example
``systems[0].terminals[3].room``.
"""

from __future__ import annotations

import tomllib

_BLANK = " \t"
_END_OF_BARE_VALUE = ",]}#\n"
_END_OF_BARE_KEY = "=.]" + _BLANK


def lines_of(text: str) -> dict[str, int]:
    """Lines of all key paths of a TOML text that can be read.

    Parameters
    ----------
    text
        A TOML document that `tomllib` accepts.

    Returns
    -------
    dict of str to int
        1-based line of the first mention of each path: a table's header, a key, an item of an
        array. Keys that hold dots are written as they are.

    >>> lines_of('[unit]\\npoints = [\\n  { flow = "20 cfm" },\\n]')
    {'unit': 1, 'unit.points': 2, 'unit.points[0]': 3, 'unit.points[0].flow': 3}
    """
    return _Scanner(text.replace("\r\n", "\n")).run()


class _Scanner:
    """One pass over the text; `at` is the place, `line` the number of the line it is on."""

    def __init__(self, text: str) -> None:
        self.text = text
        self.at = 0
        self.line = 1
        self.lines: dict[str, int] = {}
        self.counts: dict[str, int] = {}

    def run(self) -> dict[str, int]:
        table = ""
        while self.skip_to_content():
            if self.text[self.at] == "[":
                table = self.header()
            else:
                self.key_and_value(table)
        return self.lines

    def note(self, path: str) -> None:
        self.lines.setdefault(path, self.line)

    def step(self, to: int) -> None:
        """Move on, counting the lines passed."""
        self.line += self.text.count("\n", self.at, to)
        self.at = to

    def starts(self, mark: str) -> bool:
        return self.text.startswith(mark, self.at)

    def skip_blank(self) -> None:
        while self.text[self.at : self.at + 1] in (" ", "\t"):
            self.at += 1

    def skip_to_content(self) -> bool:
        """Pass blanks, line ends and comments; tell whether anything is left."""
        while self.at < len(self.text):
            here = self.text[self.at]
            if here == "#":
                end = self.text.find("\n", self.at)
                self.at = len(self.text) if end < 0 else end
            elif here == "\n":
                self.step(self.at + 1)
            elif here in _BLANK:
                self.at += 1
            else:
                return True
        return False

    def header(self) -> str:
        is_item = self.starts("[[")
        self.at += 2 if is_item else 1
        *parents, last = self.key("]")
        self.at += 2 if is_item else 1
        path = ""
        for parent in parents:
            path = _join(path, parent)
            self.note(path)
            path = self.newest_item(path)
        path = _join(path, last)
        self.note(path)
        if is_item:
            self.counts[path] = self.counts.get(path, 0) + 1
            path = self.newest_item(path)
            self.note(path)
        return path

    def newest_item(self, path: str) -> str:
        count = self.counts.get(path, 0)
        return f"{path}[{count - 1}]" if count else path

    def key_and_value(self, table: str) -> None:
        path = table
        for part in self.key("="):
            path = _join(path, part)
            self.note(path)
        self.at += 1
        self.skip_blank()
        self.value(path)

    def key(self, end: str) -> list[str]:
        """Parts of a dotted key; stops at the mark that ends it."""
        parts = []
        while True:
            self.skip_blank()
            start = self.at
            if self.text[start] in "\"'":
                self.quoted()
                parts.append(str(tomllib.loads(f"key = {self.text[start : self.at]}")["key"]))
            else:
                while self.text[self.at] not in _END_OF_BARE_KEY:
                    self.at += 1
                parts.append(self.text[start : self.at])
            self.skip_blank()
            if self.text[self.at] == end:
                return parts
            self.at += 1

    def value(self, path: str) -> None:
        here = self.text[self.at]
        if here in "\"'":
            self.quoted()
        elif here == "[":
            self.array(path)
        elif here == "{":
            self.inline_table(path)
        else:
            while self.at < len(self.text) and self.text[self.at] not in _END_OF_BARE_VALUE:
                self.at += 1

    def quoted(self) -> None:
        quote = self.text[self.at]
        is_long = self.starts(quote * 3)
        mark = quote * 3 if is_long else quote
        at = self.at + len(mark)
        while not self.text.startswith(mark, at):
            at += 2 if quote == '"' and self.text[at] == "\\" else 1
        at += len(mark)
        if is_long:
            # Up to two quotes more belong to the text before its closing mark.
            at += sum(self.text[at : at + n] == quote * n for n in (1, 2))
        self.step(at)

    def array(self, path: str) -> None:
        self.at += 1
        index = 0
        while self.skip_to_content() and self.text[self.at] != "]":
            if self.text[self.at] == ",":
                self.at += 1
                continue
            item = f"{path}[{index}]"
            self.note(item)
            self.value(item)
            index += 1
        self.at += 1

    def inline_table(self, path: str) -> None:
        self.at += 1
        while self.skip_to_content() and self.text[self.at] != "}":
            if self.text[self.at] == ",":
                self.at += 1
                continue
            self.key_and_value(path)
        self.at += 1


def _join(path: str, key: str) -> str:
    return f"{path}.{key}" if path else key
