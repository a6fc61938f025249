"""Rows put at the end of a table file that is there, in that file's own columns and dialect.

What stands in the file stays, byte for byte. Refuses a row whose number stands there
already, one without a number (nobody could tell later whether it stands there), and a file
that lacks a column for what a row holds. What comes out is read back before it is given.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from labelkit.ground.errors import Fault, RecordsRefused
from labelkit.records.csv_rows import header_of, rows, written
from labelkit.records.faultbook import FaultBook
from labelkit.records.text import shown

Row = Mapping[str, str]


@dataclass(frozen=True, slots=True)
class Added:
    """The file's new text, the rows that it gained, and the faults of those it didn't."""

    text: str
    rows: tuple[Row, ...]
    refused: tuple[Fault, ...]


def with_rows(
    text: str,
    name: str,
    new: Sequence[Row],
    columns: Sequence[str],
    optional: Sequence[str],
    key: Sequence[str] = ("number",),
) -> Added:
    """The table `text` (of the file `name`, empty where there is none yet) with `new` below.

    `columns` are those the file may have, `optional` those it may lack, `key` together name a row,
    the first of them never blank. Raises RecordsRefused where the file's own form is wrong:
    nothing is added to such a file.
    """
    before = _read(text, name, columns, optional) if text.strip() else []
    kept, refused = _fresh(name, new, key, {_named(row, key) for row in before})
    delimiter, own = header_of(text) if text.strip() else (",", tuple(columns))
    _refuse_lost(name, kept, own)
    if not kept:
        return Added(text, (), refused)
    line_end = "\r\n" if "\r\n" in text else "\n"
    gap = line_end if text.strip() and not text.endswith(("\n", "\r")) else ""
    below = written(own, kept, delimiter=delimiter, line_end=line_end, header=not text.strip())
    whole = (text if text.strip() else "") + gap + below
    after = _read(whole, name, columns, optional)
    wanted = [{column: row.get(column, "") for column in own} for row in kept]
    if after != [*before, *wanted]:
        raise AssertionError("rows that were added don't read back as they were")
    return Added(whole, tuple(kept), refused)


def _read(text: str, name: str, columns: Sequence[str], optional: Sequence[str]) -> list[Row]:
    book = FaultBook()
    read = rows(book, text, name, columns, optional)
    faults = (*book.faults, *(fault for fields in read for fault in fields.book.faults))
    if faults:
        raise RecordsRefused(faults)
    return [{column: str(cell) for column, cell in fields.values.items()} for fields in read]


def _named(row: Row, key: Sequence[str]) -> tuple[str, ...]:
    return tuple(str(row.get(column, "")).strip() for column in key)


def _fresh(
    name: str, new: Sequence[Row], key: Sequence[str], taken: set[tuple[str, ...]]
) -> tuple[list[Row], tuple[Fault, ...]]:
    kept: list[Row] = []
    faults: list[Fault] = []
    for row in new:
        named = _named(row, key)
        if not named[0]:
            faults.append(
                Fault(
                    name,
                    "",
                    key[0],
                    f"a row without its {key[0]} isn't added: nobody could tell later whether it "
                    "stands there already",
                    f"give it a {key[0]} where it comes from, or write the row by hand",
                )
            )
        elif named in taken:
            faults.append(
                Fault(
                    name,
                    "",
                    key[0],
                    f"{shown(' '.join(filter(None, named)))} stands there already and isn't "
                    "overwritten",
                    "correct the row by hand if it has changed",
                )
            )
        else:
            taken.add(named)
            kept.append(row)
    return kept, tuple(faults)


def _refuse_lost(name: str, kept: Sequence[Row], own: Sequence[str]) -> None:
    lost = sorted({column for row in kept for column, cell in row.items() if cell} - set(own))
    if lost:
        raise RecordsRefused(
            Fault(name, "", column, "the file has no column for it", "add the column to its header")
            for column in lost
        )
