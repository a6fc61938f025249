"""Reads a workspace folder: every file of it, and every fault in them, in one go.

Gives a `Workspace` of all rows that are sound, with those that were left out and why; or
refuses with all faults, where a file itself is wrong: what the pharmacy says of itself, a
preparation, a table's header, anything that can't be read. It never guesses an encoding, a date
or a missing answer, asks no clock, and writes nothing.
"""

from collections import Counter, defaultdict
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from labelkit.ground.errors import RecordsRefused
from labelkit.records import (
    decisions_file,
    fonts_file,
    lot_rows,
    patient_rows,
    pharmacy_file,
    prescription_rows,
)
from labelkit.records.decisions import Decisions
from labelkit.records.earlier_shape import refuse_earlier_shape
from labelkit.records.faultbook import MOST_OF_FILE, FaultBook
from labelkit.records.files import is_there, read_text
from labelkit.records.left_out import LeftOut
from labelkit.records.medicine_names_file import MEDICINE_NAMES, read_medicine_names
from labelkit.records.model import (
    Acceptance,
    Font,
    MedicineName,
    Patient,
    Pharmacy,
    Preparation,
    Workspace,
)
from labelkit.records.patient_rows import Answered
from labelkit.records.pharmacy_file import PharmacyFile
from labelkit.records.preparation_file import read_preparation
from labelkit.records.references import (
    Known,
    check_decided,
    check_gtins,
    check_lots,
    check_patients,
    check_prescriptions,
)
from labelkit.records.table_rows import Kind, Table, left_out, places_of, read_table
from labelkit.records.toml_tables import TomlFile, first_lines, read_toml

PREPARATIONS = "preparations"

PATIENTS = Kind(
    "patients",
    "patient",
    "id",
    patient_rows.COLUMNS,
    patient_rows.OPTIONAL,
    patient_rows.read_patient,
)
MEDICINES = Kind(
    "medicines",
    "medicine",
    "patient",
    patient_rows.MEDICINE_COLUMNS,
    patient_rows.MEDICINE_OPTIONAL,
    patient_rows.read_medicine,
)
LOTS = Kind("lots", "lot", "number", lot_rows.COLUMNS, lot_rows.OPTIONAL, lot_rows.read_lot)


@dataclass(frozen=True, slots=True)
class House:
    """What a workspace says of the pharmacy itself, its tables left aside."""

    pharmacy: Pharmacy
    preparations: tuple[Preparation, ...]
    encoding: str
    """Of its table files."""
    day_form: str = ""
    """Form of the dates in them that the pharmacy declared."""


def read_house(folder: Path) -> House:
    """The pharmacy and its preparations, whatever state the tables of a workspace are in.

    Raises RecordsRefused with every fault of these files.
    """
    book = FaultBook()
    house = _pharmacy(book, folder)
    _, preparations = _preparations(book, folder)
    if book.faults or house.pharmacy is None:
        raise RecordsRefused(book.faults)
    return House(house.pharmacy, preparations, house.encoding, house.day_form)


def read_workspace(folder: Path) -> Workspace:
    """The workspace in that folder, without the rows that are wrong or not finished.

    Raises RecordsRefused with every fault of every file, each with its place and its mending,
    where a file as a whole is wrong.
    """
    book = FaultBook()
    if not is_there(folder, folder=True):
        book.add(folder.name, "", "", "isn't a folder", "name the folder that holds pharmacy.toml")
        raise RecordsRefused(book.faults)
    house = _pharmacy(book, folder)
    refuse_earlier_shape(folder, house.encoding)
    ids, preparations = _preparations(book, folder)
    known = Known(ids, preparations, house.languages)
    decisions = _decisions(book, folder)
    patients = read_table(book, folder, house.encoding, PATIENTS, house.day_form)
    medicines = read_table(book, folder, house.encoding, MEDICINES, house.day_form)
    lots = read_table(book, folder, house.encoding, LOTS, house.day_form)
    check_gtins(book, preparations)
    check_patients(book, known, patients, medicines)
    check_decided(book, decisions, patients)
    check_lots(known, lots)
    people = _with_medicines(patients, medicines)
    by_id = {one.id: one for one in people}
    prescriptions = read_table(
        book,
        folder,
        house.encoding,
        Kind(
            "prescriptions",
            "prescription",
            "number",
            prescription_rows.COLUMNS,
            prescription_rows.OPTIONAL,
            lambda fields: prescription_rows.read_prescription(fields, by_id),
        ),
        house.day_form,
    )
    check_prescriptions(known, decisions, patients, lots, prescriptions)
    acceptances = _acceptances(book, folder)
    names = _medicine_names(book, folder)
    missing = left_out((patients, medicines, lots, prescriptions))
    fonts = _fonts(book, folder)
    _refuse_if_hopeless(book, missing)
    if house.pharmacy is None:
        raise RecordsRefused(book.faults)
    return Workspace(
        root=str(folder),
        pharmacy=house.pharmacy,
        preparations=preparations,
        lots=lots.records,
        prescriptions=prescriptions.records,
        patients=people,
        medicine_names=names,
        left_out=missing,
        acceptances=acceptances,
        decisions=decisions,
        fonts=fonts,
        places=(
            *_lines(folder, preparations),
            *places_of((patients, medicines, lots, prescriptions)),
        ),
    )


def _refuse_if_hopeless(book: FaultBook, missing: tuple[LeftOut, ...]) -> None:
    """Raise RecordsRefused where a file is wrong, with what is wrong with rows beside it.

    A table with more wrong rows than are told of a file is the wrong table.
    """
    wrong = Counter(row.place.partition(",")[0] for row in missing if not row.pending)
    if not len(book) and max(wrong.values(), default=0) <= MOST_OF_FILE:
        return
    for row in missing:
        for fault in row.faults:
            book.add(fault.file, fault.where, fault.field, fault.wrong, fault.mend)
    raise RecordsRefused(book.faults)


def _with_medicines(patients: Table[Patient], medicines: Table[Answered]) -> tuple[Patient, ...]:
    of_patient: dict[str, list[Answered]] = defaultdict(list)
    for answer in medicines.records:
        of_patient[answer.patient].append(answer)
    return tuple(
        patient_rows.with_medicines(one, of_patient.get(one.id, ())) for one in patients.records
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


def _lines(
    folder: Path, preparations: tuple[Preparation, ...]
) -> Iterator[tuple[str, str, str, str]]:
    """Where the keys of the pharmacy's and the preparations' files stand."""
    for name in (pharmacy_file.FILE, *(f"{PREPARATIONS}/{one.id}.toml" for one in preparations)):
        text = read_text(FaultBook(), folder / name, name) or ""
        for key, line in first_lines(text).items():
            yield name, key, name, line


def _optional(book: FaultBook, folder: Path, name: str) -> TomlFile | None:
    return read_toml(book, folder / name, name) if is_there(folder / name) else None


def _acceptances(book: FaultBook, folder: Path) -> tuple[Acceptance, ...]:
    file = _optional(book, folder, decisions_file.ACCEPTANCES)
    return decisions_file.read_acceptances(file) if file else ()


def _decisions(book: FaultBook, folder: Path) -> Decisions:
    file = _optional(book, folder, decisions_file.DECISIONS)
    return decisions_file.read_decisions(book, file) if file else Decisions()


def _medicine_names(book: FaultBook, folder: Path) -> tuple[MedicineName, ...]:
    file = _optional(book, folder, MEDICINE_NAMES)
    return read_medicine_names(file) if file else ()


def _fonts(book: FaultBook, folder: Path) -> tuple[Font, ...]:
    file = _optional(book, folder, fonts_file.FILE)
    return fonts_file.read_fonts(folder, file) if file else ()
