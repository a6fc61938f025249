"""Reads a workspace folder: every file of it, and every fault in them, in one go.

Gives a `Workspace` that later floors can trust, or refuses with all faults. It never guesses
an encoding, a date or a missing answer, asks no clock, and writes nothing.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TypeVar

from labelkit.ground.errors import RecordsRefused
from labelkit.records import (
    csv_rows,
    decisions_file,
    fonts_file,
    json_rows,
    lot_rows,
    pharmacy_file,
    prescription_rows,
)
from labelkit.records.decisions import Decisions
from labelkit.records.faultbook import FaultBook
from labelkit.records.fields import Fields
from labelkit.records.files import is_there, read_text
from labelkit.records.model import Acceptance, Font, Pharmacy, Preparation, Workspace
from labelkit.records.pharmacy_file import PharmacyFile
from labelkit.records.placed import Placed
from labelkit.records.preparation_file import read_preparation
from labelkit.records.references import Known, check_references
from labelkit.records.toml_tables import TomlFile, read_toml

R = TypeVar("R")
PREPARATIONS = "preparations"


@dataclass(frozen=True, slots=True)
class House:
    """What a workspace says of the pharmacy itself, its tables left aside."""

    pharmacy: Pharmacy
    preparations: tuple[Preparation, ...]
    encoding: str
    """Of its table files."""


def read_house(folder: Path) -> House:
    """The pharmacy and its preparations, whatever state the tables of a workspace are in.

    Raises RecordsRefused with every fault of these files.
    """
    book = FaultBook()
    house = _pharmacy(book, folder)
    _, preparations = _preparations(book, folder)
    if book.faults or house.pharmacy is None:
        raise RecordsRefused(book.faults)
    return House(house.pharmacy, preparations, house.encoding)


def read_workspace(folder: Path) -> Workspace:
    """The workspace in that folder.

    Raises RecordsRefused with every fault of every file, each with its place and its mending.
    """
    book = FaultBook()
    if not is_there(folder, folder=True):
        book.add(folder.name, "", "", "isn't a folder", "name the folder that holds pharmacy.toml")
        raise RecordsRefused(book.faults)
    house = _pharmacy(book, folder)
    ids, preparations = _preparations(book, folder)
    lots, lot_numbers = _table(book, folder, "lots", house.encoding, lot_rows.read_lot)
    prescriptions, _ = _table(
        book, folder, "prescriptions", house.encoding, prescription_rows.read_prescription
    )
    acceptances = _acceptances(book, folder)
    decisions = _decisions(book, folder)
    fonts = _fonts(book, folder)
    known = Known(ids, preparations, lot_numbers, house.languages)
    check_references(book, known, lots, prescriptions)
    if book.faults or house.pharmacy is None:
        raise RecordsRefused(book.faults)
    return Workspace(
        root=str(folder),
        pharmacy=house.pharmacy,
        preparations=preparations,
        lots=tuple(placed.record for placed in lots),
        prescriptions=tuple(placed.record for placed in prescriptions),
        acceptances=acceptances,
        decisions=decisions,
        fonts=fonts,
    )


def _pharmacy(book: FaultBook, folder: Path) -> PharmacyFile:
    file = read_toml(book, folder / pharmacy_file.FILE, pharmacy_file.FILE)
    if file is None:
        return PharmacyFile(None, "utf-8", ())
    return pharmacy_file.read_pharmacy(book, file)


def _preparations(book: FaultBook, folder: Path) -> tuple[tuple[str, ...], tuple[Preparation, ...]]:
    """All ids that have a file, and the preparations that could be read."""
    ids, found = [], []
    for path in sorted((folder / PREPARATIONS).glob("*.toml")):
        name = f"{PREPARATIONS}/{path.name}"
        ids.append(path.stem)
        file = read_toml(book, path, name)
        preparation = read_preparation(book, file, path.stem) if file else None
        if preparation:
            found.append(preparation)
    if not ids:
        book.add(PREPARATIONS, "", "", "holds no preparation", "add a file NAME.toml to it")
    return tuple(ids), tuple(found)


def _table(
    book: FaultBook,
    folder: Path,
    stem: str,
    encoding: str,
    read: Callable[[Fields], R | None],
) -> tuple[list[Placed[R]], tuple[str, ...] | None]:
    """The records of a table file, and the numbers of all its rows, sound or not.

    None for the numbers when the file as a whole can't be read.
    """
    columns: tuple[Sequence[str], Sequence[str]] = (
        (lot_rows.COLUMNS, lot_rows.OPTIONAL)
        if stem == "lots"
        else (prescription_rows.COLUMNS, prescription_rows.OPTIONAL)
    )
    there = [name for name in (f"{stem}.csv", f"{stem}.json") if is_there(folder / name)]
    if len(there) > 1:
        book.add(there[1], "", "", f"stands beside {there[0]}", "keep one of the two files")
        return [], None
    name = there[0] if there else f"{stem}.csv"
    text = read_text(book, folder / name, name, encoding)
    if text is None:
        return [], None
    reader = json_rows.rows if name.endswith(".json") else csv_rows.rows
    placed, numbers = [], []
    for fields in reader(book, text, name, *columns):
        numbers.append(str(fields.values.get("number", "")).strip())
        record = read(fields)
        if record is not None:
            placed.append(Placed(record, name, fields.where("")))
    return placed, tuple(numbers) if numbers or book.is_clean(name) else None


def _optional(book: FaultBook, folder: Path, name: str) -> TomlFile | None:
    return read_toml(book, folder / name, name) if is_there(folder / name) else None


def _acceptances(book: FaultBook, folder: Path) -> tuple[Acceptance, ...]:
    file = _optional(book, folder, decisions_file.ACCEPTANCES)
    return decisions_file.read_acceptances(file) if file else ()


def _decisions(book: FaultBook, folder: Path) -> Decisions:
    file = _optional(book, folder, decisions_file.DECISIONS)
    return decisions_file.read_decisions(book, file) if file else Decisions()


def _fonts(book: FaultBook, folder: Path) -> tuple[Font, ...]:
    file = _optional(book, folder, fonts_file.FILE)
    return fonts_file.read_fonts(folder, file) if file else ()
