"""Brings a workspace of the earlier shape over: patients and medicines get files of their own.

The tables as they were are kept beside the new ones, in a folder. Nothing is written
where a table can't be read, or where the new files are there already.
"""

from collections.abc import Callable, Iterable, Mapping, Sequence
from contextlib import ExitStack
from pathlib import Path

from labelkit.ground import door
from labelkit.ground.errors import RecordsRefused
from labelkit.jobs.results import Result
from labelkit.jobs.tables import encoded, locked_workspace, write_table
from labelkit.records import csv_rows, json_rows, lot_rows, patient_rows, prescription_rows
from labelkit.records.earlier_shape import is_earlier_shape
from labelkit.records.faultbook import FaultBook
from labelkit.records.fields import Fields
from labelkit.records.files import is_there, read_text
from labelkit.records.reading import read_house
from labelkit.records.table_rows import table_file
from labelkit.records.upgrading import (
    EARLIER_COLUMNS,
    EARLIER_OPTIONAL,
    NOT_RECORDED,
    upgraded,
    upgraded_lots,
)

KEPT = "before-upgrade"
"""The folder in which the tables as they were are kept."""

Row = Mapping[str, str]


class UpgradedWorkspace(Result):
    """What an upgrade wrote."""

    files: tuple[str, ...]
    patients: int
    medicines: int
    prescriptions: int
    lots: int
    kept_in: str
    notes: tuple[str, ...]
    """What a person must look at."""


def upgrade(folder: Path, *, lots_are_released: bool = False) -> UpgradedWorkspace:
    """Bring the tables of a workspace over to the present shape.

    Raises RecordsRefused where there is nothing to bring over or a table can't be read, and
    OutputRefused.
    """
    house = read_house(folder)
    with ExitStack() as held:
        locked_workspace(held, folder)
        _refuse_present_shape(folder, house.encoding)
        names, found = _rows_of(folder, house.encoding)
        new = upgraded(found["prescriptions"])
        lots = upgraded_lots(found["lots"], released=lots_are_released)
        texts = {
            "patients.csv": csv_rows.written(patient_rows.COLUMNS, new.patients),
            "medicines.csv": csv_rows.written(patient_rows.MEDICINE_COLUMNS, new.medicines),
            "lots.csv": csv_rows.written(lot_rows.COLUMNS, lots),
            "prescriptions.csv": csv_rows.written(prescription_rows.COLUMNS, new.prescriptions),
        }
        data = {name: encoded(text, house.encoding, name) for name, text in texts.items()}
        for name in names:
            # A call that was cut off kept them already, as they were before it.
            if not is_there(folder / KEPT / name):
                write_table(folder / KEPT / name, door.read_bytes(folder / name))
        # The prescriptions last: while they are of the earlier shape, the same call goes on.
        for name, content in data.items():
            write_table(folder / name, content)
        for name in set(names) - set(data):
            (folder / name).unlink()
    return UpgradedWorkspace(
        files=tuple(data),
        patients=len(new.patients),
        medicines=len(new.medicines),
        prescriptions=len(new.prescriptions),
        lots=len(lots),
        kept_in=str(folder / KEPT),
        notes=(*new.notes, *_notes(len(lots), released=lots_are_released)),
    )


def _notes(lots: int, *, released: bool) -> Iterable[str]:
    yield (
        f"who asked about the medicines was never written down: medicines.csv says '{NOT_RECORDED}'"
    )
    if lots and not released:
        yield (
            "whether a lot was released was never written down: lots.csv says 'made', and no "
            "lot fills a prescription until somebody writes 'released'"
        )


def _refuse_present_shape(folder: Path, encoding: str) -> None:
    book = FaultBook()
    name = table_file(book, folder, "prescriptions")
    text = read_text(book, folder / name, name, encoding) if name else None
    if text is not None and name and not is_earlier_shape(text, name):
        book.add(name, "", "", "isn't of the earlier shape", "leave it as it is")
    if book.faults:
        raise RecordsRefused(book.faults)


def _rows_of(folder: Path, encoding: str) -> tuple[list[str], dict[str, list[Row]]]:
    """The table files' names, and the rows of each by what they hold."""
    book = FaultBook()
    names: list[str] = []
    found: dict[str, list[Row]] = {}
    for stem, columns, optional in (
        ("prescriptions", EARLIER_COLUMNS, EARLIER_OPTIONAL),
        ("lots", lot_rows.COLUMNS, (*lot_rows.OPTIONAL, "status")),
    ):
        name = table_file(book, folder, stem)
        text = read_text(book, folder / name, name, encoding) if name else None
        if name is None or text is None:
            continue
        reader: Callable[[FaultBook, str, str, Sequence[str], Sequence[str]], list[Fields]]
        reader = json_rows.rows if name.endswith(".json") else csv_rows.rows
        read = reader(book, text, name, columns, optional)
        for fault in (fault for fields in read for fault in fields.book.faults):
            book.add(fault.file, fault.where, fault.field, fault.wrong, fault.mend)
        names.append(name)
        found[stem] = [
            {column: "" if v is None else str(v) for column, v in fields.values.items()}
            for fields in read
        ]
    if book.faults:
        raise RecordsRefused(book.faults)
    return names, found
