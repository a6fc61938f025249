"""Rows of a table file as real programs export them (RFC 4180 and its common departures).

Takes ``,``, ``;`` or tabs between cells, a first line ``sep=;`` as spreadsheets write it, any
line ending, quoted cells with line breaks in them.
Refuses a quotation mark left open, a last line that doesn't end (it may be cut short), a row
with too few or too many cells, and a header that is doubled, unknown or incomplete: a shifted
column would put one patient's dose beside another's name. It never skips a row that holds anything.

A cell that a spreadsheet would take for a formula is written with an apostrophe before it,
and read without: ``+44 113 496 0000`` stands in the file as ``'+44 113 496 0000``.
"""

import csv
import io
import re
from collections.abc import Iterable, Iterator, Mapping, Sequence

from labelkit.records.faultbook import FaultBook
from labelkit.records.fields import Fields
from labelkit.records.files import is_whole
from labelkit.records.text import nearest, shown

DELIMITERS = (",", ";", "\t")

_SEPARATOR = re.compile(r"sep=([,;\t])(?:\r\n|\r|\n)", re.IGNORECASE)
"""A first line that only says what stands between cells, as spreadsheets write and take it."""

MOST_COLUMNS = 200
"""More columns than any export has beside its own. Our own bound: each unknown one is a fault."""

_FORMULA = re.compile(r"[' ]*[=+\-@\t\r\n\uff1d\uff0b\uff0d\uff20]")
"""How a cell begins that a spreadsheet may run (OWASP, CSV Injection: = + - @, tab, line ends,
and the full-width forms of the signs), after spaces too, with the apostrophes put before it."""


def rows(
    book: FaultBook, text: str, name: str, known: Sequence[str], optional: Sequence[str]
) -> list[Fields]:
    """One `Fields` for each row, or none when the header or the file's form is wrong.

    What is wrong with the file goes into `book`, what is wrong with one row into that row's own.
    `known` are all columns in the order faults list them; those in `optional` may be absent.
    """
    lines = _lines(book, text, name)
    if not lines:
        if book.is_clean(name):
            book.add(name, "", "", "is empty", f"start it with the header: {','.join(known)}")
        return []
    if not is_whole(book, text, name):
        return []
    header_line, header = lines[0]
    columns = [cell.strip() for cell in header]
    if not _header_is_sound(book, name, f"line {header_line}", columns, known, optional):
        return []
    found = []
    for line, cells in lines[1:]:
        if len(cells) == len(columns):
            found.append(_fields(name, line, dict(zip(columns, cells, strict=True))))
        else:
            # What stands before the break is sound: the first cell says whose row it is.
            found.append(_fields(name, line, {columns[0]: cells[0]}))
            found[-1].is_row = False
            found[-1].fault(
                "",
                f"has {len(cells)} cells where the header has {len(columns)}",
                "look for a missing or stray separator or quotation mark in this line",
            )
    return found


def written(
    columns: Sequence[str],
    rows: Iterable[Mapping[str, str]],
    *,
    delimiter: str = ",",
    line_end: str = "\n",
    header: bool = True,
) -> str:
    """The rows as a table file that `rows` reads back: quotation where needed (RFC 4180).

    No cell of it is a formula to a spreadsheet: see `guarded`. Without `header` it is what
    is put at the end of a file that has one; a column that a row lacks stays blank.
    """
    cells = [list(columns)] if header else []
    cells += [[guarded(row.get(column, "")) for column in columns] for row in rows]
    return "".join(
        delimiter.join(_quoted(cell, delimiter) for cell in line) + line_end for line in cells
    )


def _quoted(cell: str, delimiter: str) -> str:
    if not any(mark in cell for mark in (delimiter, '"', "\r", "\n")):
        return cell
    return '"' + cell.replace('"', '""') + '"'


def header_of(text: str) -> tuple[str, tuple[str, ...]]:
    """The separator and the columns of a table file that `rows` can read; no columns if empty."""
    delimiter = _delimiter(text)
    told = _SEPARATOR.match(text) is not None
    found = [cells for _, cells in _numbered(text, delimiter) if any(cells)]
    first = next(iter(found[told:]), [])
    return delimiter, tuple(cell.strip() for cell in first)


def guarded(cell: str) -> str:
    """The cell with an apostrophe before what a spreadsheet would run as a formula."""
    return f"'{cell}" if _FORMULA.match(cell) else cell


def bare(cell: str) -> str:
    """The cell as it was before `guarded` took hold of it."""
    return cell[1:] if cell.startswith("'") and _FORMULA.match(cell) else cell


def _fields(name: str, line: int, values: dict[str, str]) -> Fields:
    cells = {column: bare(cell) for column, cell in values.items()}
    return Fields(FaultBook(), name, cells, lambda _field: f"line {line}")


def _lines(book: FaultBook, text: str, name: str) -> list[tuple[int, list[str]]]:
    found = []
    told = _SEPARATOR.match(text) is not None
    try:
        for line, cells in _numbered(text, _delimiter(text)):
            if any(cell.strip() for cell in cells) and not (told and line == 1):
                found.append((line, cells))
    except csv.Error as reason:
        line = found[-1][0] + 1 if found else 1
        book.add(
            name,
            f"line {line} or below",
            "",
            f"isn't a well-formed table: {reason}",
            "look for a quotation mark that is never closed, or for a file cut short",
        )
        return []
    return found


def _numbered(text: str, delimiter: str) -> Iterator[tuple[int, list[str]]]:
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, strict=True)
    start = 1
    for cells in reader:
        yield start, cells
        start = reader.line_num + 1


def _delimiter(text: str) -> str:
    """The separator that the file names, or that cuts the first line into most cells: a header
    holds none of them."""
    told = _SEPARATOR.match(text)
    if told:
        return told[1]
    first = text.lstrip("\r\n").splitlines()[:1]
    counts = {mark: sum(line.count(mark) for line in first) for mark in DELIMITERS}
    return max(DELIMITERS, key=lambda mark: counts[mark])


def _header_is_sound(
    book: FaultBook,
    name: str,
    where: str,
    columns: list[str],
    known: Sequence[str],
    optional: Sequence[str],
) -> bool:
    if len(columns) > MOST_COLUMNS:
        book.add(
            name,
            where,
            "",
            f"has {len(columns)} columns; the most is {MOST_COLUMNS}",
            "export the columns that the samples show, and no others",
        )
        return False
    if _is_of_another_kind(columns, known, optional):
        book.add(
            name,
            where,
            "",
            f"has other headings than this file's: {shown(', '.join(columns), 120)}",
            f"name the columns as the samples do, in English: {', '.join(known)}",
        )
        return False
    before = len(book)
    absent = [column for column in known if column not in columns]
    for place, column in enumerate(columns, start=1):
        if not column:
            book.add(name, where, "", f"column {place} has no name", "name or remove it")
        elif column not in known:
            book.add(
                name,
                where,
                column if len(column) <= 60 else "",
                f"{shown(column)} isn't a column of this file",
                nearest(column, absent or known),
            )
        elif column in columns[: place - 1]:
            book.add(name, where, column, "stands there twice", "remove one of the two")
    for column in absent:
        if column not in optional:
            book.add(name, where, column, "is missing", "add the column")
    return len(book) == before


def _is_of_another_kind(
    columns: Sequence[str], known: Sequence[str], optional: Sequence[str]
) -> bool:
    """Whether the headings are so different that one sentence says it: in another language, or of
    another file. A few slips are told one by one."""
    needed = [column for column in known if column not in optional]
    there = sum(column in columns for column in needed)
    others = sum(bool(column) and column not in known for column in columns)
    return others >= 3 and there * 3 < len(needed)
