"""The rows of one table file, each with its record and with what is wrong with it alone.

What is wrong with the file as a whole (it can't be read, its header is wrong) goes into the
workspace's book and stops everything; what is wrong with a row stays with that row.
"""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, Generic, TypeVar

from labelkit.ground.errors import Fault
from labelkit.records import csv_rows, json_rows
from labelkit.records.faultbook import FaultBook
from labelkit.records.fields import Fields
from labelkit.records.files import is_there, read_text
from labelkit.records.left_out import LeftOut

R = TypeVar("R")


@dataclass(frozen=True, slots=True)
class Kind(Generic[R]):
    """What a table's rows are, and how one is read."""

    stem: str
    """The file's name without its ending: ``lots``."""
    one: str
    """What one row is: ``lot``."""
    key: str
    """The column that names the row."""
    columns: Sequence[str]
    optional: Sequence[str]
    read: Callable[[Fields], R | None]


@dataclass(slots=True, eq=False)
class Row(Generic[R]):
    """One row of a table: its cells, its record where they are sound, and what it waits for."""

    kind: str
    name: str
    """What stands in its key's cell, sound or not."""
    fields: Fields
    record: R | None
    patient: str = ""
    """Id of the patient it belongs to; empty where it belongs to none, or names none."""
    causes: "list[Row[Any]]" = field(default_factory=list)
    """Rows it depends on that can't be used."""

    @property
    def where(self) -> str:
        """``line 7``, or ``entry 7`` of a JSON file."""
        return self.fields.where("")

    @property
    def sound(self) -> bool:
        """Whether the record can be used."""
        return self.record is not None and self.fields.sound and not self.causes

    @property
    def pending(self) -> bool:
        """Whether blank cells are all that it lacks, here and in the rows it depends on."""
        own = self.fields.sound or (self.fields.unfinished and bool(self.name))
        return not self.sound and own and all(cause.pending for cause in self.causes)

    @property
    def faults(self) -> tuple[Fault, ...]:
        """Its own faults, then those of the rows that it depends on, each once."""
        own = self.fields.book.faults
        others = (fault for cause in self.causes for fault in cause.faults)
        return tuple(dict.fromkeys((*own, *others)))

    def fault(self, name: str, wrong: str, mend: str) -> None:
        """Write down what is wrong with a field of this row."""
        self.fields.fault(name, wrong, mend)

    def left_out(self) -> LeftOut:
        """The row as one that can't be used."""
        return LeftOut(
            kind=self.kind,
            name=self.name,
            patient=self.patient,
            place=f"{self.fields.file}, {self.where}",
            faults=self.faults,
            pending=self.pending,
        )


@dataclass(frozen=True, slots=True)
class Table(Generic[R]):
    """All rows of one kind."""

    rows: tuple[Row[R], ...]
    readable: bool
    """False where the file as a whole can't be read: what it holds isn't known then."""

    @property
    def names(self) -> tuple[str, ...]:
        """What the rows are called, sound or not."""
        return tuple(dict.fromkeys(row.name for row in self.rows if row.name))

    @property
    def records(self) -> tuple[R, ...]:
        """The records of all sound rows, in the file's order."""
        return tuple(row.record for row in self.rows if row.sound and row.record is not None)

    def by_name(self) -> dict[str, Row[R]]:
        """The first row of each name."""
        found: dict[str, Row[R]] = {}
        for row in self.rows:
            found.setdefault(row.name, row)
        return found


def read_table(
    book: FaultBook, folder: Path, encoding: str, kind: Kind[R], day_form: str = ""
) -> Table[R]:
    """The rows of ``STEM.csv`` or ``STEM.json``; faults of the file are in the book."""
    name = table_file(book, folder, kind.stem)
    text = read_text(book, folder / name, name, encoding) if name else None
    if name is None or text is None:
        return Table((), readable=False)
    reader = json_rows.rows if name.endswith(".json") else csv_rows.rows
    found = reader(book, text, name, kind.columns, kind.optional)
    for one in found:
        one.day_form = day_form
    rows = tuple(
        Row(kind.one, _cell(one, kind.key), one, kind.read(one) if one.is_row else None)
        for one in found
    )
    return Table(rows, readable=bool(rows) or book.is_clean(name))


def table_file(book: FaultBook, folder: Path, stem: str) -> str | None:
    """The name of the table's file; None where there are two, with a fault."""
    there = [name for name in (f"{stem}.csv", f"{stem}.json") if is_there(folder / name)]
    if len(there) > 1:
        book.add(there[1], "", "", f"stands beside {there[0]}", "keep one of the two files")
        return None
    sheet = f"{stem}.xlsx"
    if is_there(folder / sheet):
        beside = f"stands beside {there[0]}" if there else "is a spreadsheet's own file"
        mend = f"save the sheet as {stem}.csv (CSV UTF-8), and keep that file alone"
        book.add(sheet, "", "", beside, mend)
        return None
    return there[0] if there else f"{stem}.csv"


def left_out(tables: Iterable[Table[Any]]) -> tuple[LeftOut, ...]:
    """The rows of all these tables that can't be used."""
    return tuple(row.left_out() for table in tables for row in table.rows if not row.sound)


def places_of(tables: Iterable[Table[Any]]) -> tuple[tuple[str, str, str, str], ...]:
    """Table, row, file and line of each record; rows of one patient's medicines together.

    Of several fills of a number the highest has the place: it is the one that is judged.
    """
    found: dict[tuple[str, str, str], list[tuple[int, str]]] = {}
    for table in tables:
        for row in table.rows:
            if not row.sound:
                continue
            # Rules speak of a patient's medicines, and of every other row by its own name.
            one = "patient" if row.kind == "medicine" else row.kind
            file = row.fields.file
            key = (file.rpartition(".")[0], f"{one} {row.name}", file)
            fill = getattr(row.record, "fill", 0)
            said = [kept for kept in found.get(key, ()) if kept[0] >= fill]
            if not said or said[0][0] == fill:
                found[key] = [*said, (fill, row.where)]
    return tuple((*key, _lines([where for _, where in said])) for key, said in found.items())


def _lines(wheres: list[str]) -> str:
    """``line 7``, or ``lines 7, 9``."""
    if len(wheres) == 1:
        return wheres[0]
    kind = wheres[0].partition(" ")[0]
    plural = "entries" if kind == "entry" else f"{kind}s"
    return f"{plural} {', '.join(where.partition(' ')[2] for where in wheres)}"


def _cell(fields: Fields, name: str) -> str:
    value = fields.values.get(name)
    return "" if value is None else str(value).strip()
