"""TOML files (TOML 1.0.0) with the line of each key, and numbers read exactly.

The library that reads TOML doesn't tell where a key stood, so a second look at the text
finds the lines. That look only serves messages: no value is taken from it.
"""

import re
from collections.abc import Iterator
from decimal import Decimal
from pathlib import Path

from labelkit.ground.toml_text import toml_tables
from labelkit.records.faultbook import FaultBook
from labelkit.records.fields import Fields
from labelkit.records.files import is_whole, read_text

_HEADER = re.compile(r"\s*(\[\[?)\s*([\w.\- \"']+?)\s*\]\]?\s*(?:#.*)?$")
_KEY = re.compile(r"\s*([\w\-]+(?:\s*\.\s*[\w\-]+)*)\s*=")
_LONG_QUOTES = ('"""', "'''")


class TomlFile:
    """One TOML file that could be read: its tables, and where each stands."""

    def __init__(self, book: FaultBook, name: str, text: str, tree: dict[str, object]) -> None:
        self.book = book
        self.name = name
        self.tree = tree
        self._lines = dict(_lines_of_keys(text))

    def root(self) -> Fields:
        """The keys of the file outside every table."""
        return self._fields(self.tree, "")

    def table(self, path: str, required: bool = True) -> Fields | None:
        """The table at that dotted path; None, with a fault if it is required, when absent."""
        value = self._at(path)
        if isinstance(value, dict):
            return self._fields(value, path)
        if value is not None:
            self._fault(path, "isn't a table", f"write it under a line [{path}]")
        elif required:
            self._fault(path, "is missing", f"add a line [{path}] and its keys below it")
        return None

    def tables(self, path: str, required: bool = True) -> list[Fields]:
        """The tables of a list, as ``[[path]]`` starts each; a fault where one is required."""
        value = self._at(path)
        if isinstance(value, list) and value and all(isinstance(v, dict) for v in value):
            return [
                self._fields(item, f"{path}[{place}]") for place, item in enumerate(value, start=1)
            ]
        if value is not None and value != []:
            self._fault(path, "isn't a list of tables", f"start each with a line [[{path}]]")
        elif required:
            self._fault(path, "is missing", f"add a line [[{path}]] and its keys below it")
        return []

    def _at(self, path: str) -> object:
        value: object = self.tree
        for key in path.split("."):
            if not isinstance(value, dict):
                return None
            value = value.get(key)
        return value

    def _fault(self, path: str, wrong: str, mend: str) -> None:
        self.book.add(self.name, self._where(path), path, wrong, mend)

    def _where(self, path: str) -> str:
        """``line 12`` of the key, else of the nearest table around it, else ''."""
        at = path
        while at:
            if at in self._lines:
                return f"line {self._lines[at]}"
            at = at[:-3] if at.endswith("[1]") else at.rpartition(".")[0]
        return ""

    def _fields(self, values: dict[str, object], path: str) -> Fields:
        prefix = f"{path}." if path else ""
        return Fields(
            self.book,
            self.name,
            values,
            lambda name: self._where(f"{prefix}{name}".strip(".")),
            prefix,
        )


def read_toml(book: FaultBook, path: Path, name: str) -> TomlFile | None:
    """The file, or None after writing down why it can't be read."""
    text = read_text(book, path, name)
    if text is None:
        return None
    try:
        tree = toml_tables(text, parse_float=Decimal)
    except ValueError as reason:
        found = re.search(r"\(at line (\d+), column \d+\)", str(reason))
        said = str(reason).split(" (at ")[0] if found else "it can't be understood"
        book.add(
            name,
            f"line {found[1]}" if found else "",
            "",
            f"isn't well-formed TOML: {said}",
            "look for a missing quotation mark, bracket or equals sign",
        )
        return None
    return TomlFile(book, name, text, tree) if is_whole(book, text, name) else None


def first_lines(text: str) -> dict[str, str]:
    """``line 12`` by the dotted path of each key and table; of a list, of its first member."""
    found: dict[str, str] = {}
    for path, number in _lines_of_keys(text):
        found.setdefault(re.sub(r"\[[0-9]+\]", "", path), f"line {number}")
    return found


def _lines_of_keys(text: str) -> Iterator[tuple[str, int]]:
    """Dotted path and line of each header and key; members of a list are ``path[1]``, …"""
    table, inside = "", ""
    counts: dict[str, int] = {}
    for number, line in enumerate(text.splitlines(), start=1):
        if inside:
            inside = "" if inside in line else inside
            continue
        header, key = _HEADER.match(line), _KEY.match(line)
        if header:
            parent = _in_last(header[2].replace(" ", ""), counts)
            if header[1] == "[[":
                counts[parent] = counts.get(parent, 0) + 1
                parent = f"{parent}[{counts[parent]}]"
            table = parent
            yield table, number
        elif key:
            name = key[1].replace(" ", "")
            yield (f"{table}.{name}" if table else name), number
        for quotes in _LONG_QUOTES:
            if line.count(quotes) % 2:
                inside = quotes


def _in_last(path: str, counts: dict[str, int]) -> str:
    """``comparison.row`` as it stands: a list on the way means that list's last member."""
    at = ""
    *around, last = path.split(".")
    for part in around:
        at = f"{at}.{part}" if at else part
        if at in counts:
            at = f"{at}[{counts[at]}]"
    return f"{at}.{last}" if at else last
