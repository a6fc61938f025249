"""Prescriptions in from a FHIR R4 bundle, and what was dispensed out as one.

An import adds rows and never changes one; what the bundle can't say, and what a row can't
hold, is named. An export holds all that was asked for, or nothing is written.
"""

from collections.abc import Mapping, Sequence
from contextlib import ExitStack
from datetime import date
from pathlib import Path

from labelkit.ground import door
from labelkit.ground.errors import Fault, RecordsRefused, RuleRefused, WordingRefused
from labelkit.jobs import desk
from labelkit.jobs.orders import orders
from labelkit.jobs.publishing import LOCK, OutputRefused, unwritable
from labelkit.jobs.results import Result, SaidFault
from labelkit.jobs.wishes import Wish
from labelkit.records import csv_rows, patient_rows
from labelkit.records.adding import with_rows
from labelkit.records.csv_rows import written
from labelkit.records.faultbook import FaultBook
from labelkit.records.fhir_export import NOT_EXPORTED, Dispensed, dispense_bundle
from labelkit.records.fhir_import import read_bundle
from labelkit.records.files import is_there, read_text
from labelkit.records.model import Prescription, Workspace
from labelkit.records.prescription_rows import COLUMNS, OPTIONAL
from labelkit.records.reading import House, read_house, read_workspace
from labelkit.rules.model import Fill
from labelkit.wording.directions import sentence
from labelkit.wording.model import ReviewState

TABLE = "prescriptions.csv"
PATIENTS = "patients.csv"
_BOM = b"\xef\xbb\xbf"


class ImportedRows(Result):
    """What an import did."""

    file: str
    rows: tuple[dict[str, str], ...]
    """Rows for the table of prescriptions, by column."""
    patients: tuple[dict[str, str], ...]
    """Rows for the table of patients: those that it didn't hold."""
    written: bool
    """False: a dry run, or no row is new."""
    refused: tuple[SaidFault, ...]
    """Requests that became no row."""
    left_out: tuple[SaidFault, ...]
    """Elements that couldn't be mapped, and cells that are still blank."""

    @property
    def exit_status(self) -> int:
        """0 when every request became a row, else 1."""
        return 1 if self.refused else 0


class Exported(Result):
    """What an export wrote."""

    file: str
    prescriptions: tuple[str, ...]
    not_exported: tuple[str, ...]
    """Fields of a prescription that the standard has no element for."""


def import_bundle(bundle: Path, folder: Path, *, dry_run: bool = False) -> ImportedRows:
    """Add the requests of a bundle to the workspace's prescriptions.

    Raises RecordsRefused when the bundle or the workspace's files can't be read, and
    OutputRefused when the table can't be written.
    """
    house = read_house(folder)
    imported = read_bundle(
        _bytes_of(bundle), bundle.name, house.preparations, house.pharmacy.languages
    )
    with ExitStack() as held:
        if not dry_run:
            locked_workspace(held, folder)
        known, patients_mark = _table(folder, house, PATIENTS)
        fresh, others = _told_apart(known, imported.patients)
        rows = [row for row in imported.rows if row["patient"] not in others]
        text, mark = _table(folder, house, TABLE)
        added = with_rows(text, TABLE, rows, COLUMNS, OPTIONAL)
        named = {row["patient"] for row in added.rows}
        people = with_rows(
            known,
            PATIENTS,
            [row for row in fresh if row["id"] in named],
            patient_rows.COLUMNS,
            patient_rows.OPTIONAL,
            "id",
        )
        if added.rows and not dry_run:
            # Patients first: a prescription without its patient can't be read.
            if people.rows:
                data = encoded(people.text, house.encoding, PATIENTS)
                write_table(folder / PATIENTS, patients_mark + data)
            write_table(folder / TABLE, mark + encoded(added.text, house.encoding, TABLE))
    refused = (
        *(_another(row) for row in imported.rows if row["patient"] in others),
        *added.refused,
    )
    return ImportedRows(
        file=str(folder / TABLE),
        rows=tuple(dict(row) for row in added.rows),
        patients=tuple(dict(row) for row in people.rows),
        written=bool(added.rows) and not dry_run,
        refused=tuple(SaidFault.of(fault) for fault in refused),
        left_out=tuple(SaidFault.of(fault) for fault in imported.left_out),
    )


def _told_apart(
    known: str, patients: Sequence[Mapping[str, str]]
) -> tuple[list[Mapping[str, str]], set[str]]:
    """The patients that aren't in the table yet, and the ids that it gives to other people.

    One that stands there with the same name and birth date is that patient.
    """
    there = {row["id"]: row for row in _patients_in(known)}
    fresh = [row for row in patients if row["id"] not in there]
    others = {
        row["id"]
        for row in patients
        if row["id"] in there
        and any(row[column] != there[row["id"]].get(column) for column in ("name", "born_on"))
    }
    return fresh, others


def _patients_in(text: str) -> list[dict[str, str]]:
    """The rows of the patients' table; none where it is empty. Raises RecordsRefused."""
    if not text.strip():
        return []
    book = FaultBook()
    found = csv_rows.rows(book, text, PATIENTS, patient_rows.COLUMNS, patient_rows.OPTIONAL)
    if book.faults:
        raise RecordsRefused(book.faults)
    return [{column: str(cell).strip() for column, cell in f.values.items()} for f in found]


def _another(row: Mapping[str, str]) -> Fault:
    return Fault(
        PATIENTS,
        "",
        "id",
        f"prescription {row['number']} is for a patient {row['patient']}, and that id is another "
        "name's or another birth date's here",
        "write the row by hand, with an id of its own for this patient",
    )


def as_table(rows: Sequence[Mapping[str, str]]) -> str:
    """Rows as a table file of their own."""
    return written(COLUMNS, rows)


def _bytes_of(path: Path) -> bytes:
    try:
        return door.read_bytes(path)
    except OSError as error:
        wrong = f"can't be read ({error.strerror or error})"
        raise RecordsRefused(
            [Fault(str(path), "", "", wrong, "name a file that is there and may be read")]
        ) from error


def locked_workspace(held: ExitStack, folder: Path) -> None:
    """Hold the workspace for as long as `held` is open. Raises OutputRefused."""
    try:
        held.enter_context(door.locked(folder / LOCK))
    except BlockingIOError as error:
        wrong = "another labelkit is adding to this workspace"
        raise OutputRefused(
            [Fault(str(folder), "", "", wrong, "wait until it has ended")]
        ) from error
    except OSError as error:
        raise OutputRefused([unwritable(folder, error)]) from error


def _table(folder: Path, house: House, name: str) -> tuple[str, bytes]:
    """The table's text, empty where there is none, and the byte-order mark it begins with."""
    other = name.replace(".csv", ".json")
    if is_there(folder / other):
        wrong = f"rows stand in this file, and rows are added to {name} alone"
        mend = f"make it {name}, or print the rows with --dry-run and add them by hand"
        raise RecordsRefused([Fault(other, "", "", wrong, mend)])
    path = folder / name
    if not is_there(path):
        return "", b""
    book = FaultBook()
    text = read_text(book, path, name, house.encoding)
    if text is None:
        raise RecordsRefused(book.faults)
    return text, _BOM if _bytes_of(path).startswith(_BOM) else b""


def encoded(text: str, encoding: str, name: str) -> bytes:
    """The text of that table file in its encoding. Raises RecordsRefused."""
    try:
        return text.encode(encoding)
    except UnicodeEncodeError as error:
        wrong = f"{text[error.start]!r} can't be written in {encoding}, the file's encoding"
        mend = "save the file as UTF-8 and take 'encoding' out of pharmacy.toml"
        raise RecordsRefused([Fault(name, "", "", wrong, mend)]) from error


def write_table(path: Path, data: bytes) -> None:
    """Write a file whole. Raises OutputRefused."""
    try:
        door.write_whole(path, data)
    except OSError as error:
        raise OutputRefused([unwritable(path, error)]) from error


def export_dispensed(
    folder: Path, rx: Sequence[str], out: Path, handed_over_on: date | None = None
) -> Exported:
    """Write what was dispensed for these prescriptions as a bundle of MedicationDispense.

    Raises RecordsRefused, RuleRefused when one of them can't be filled, WordingRefused and
    OutputRefused; nothing is written then.
    """
    workspace = desk.held(read_workspace(folder))
    wanted = orders(workspace, Wish(rx=tuple(dict.fromkeys(rx)), only=frozenset({"sleeve"})))
    if wanted.refused:
        raise RuleRefused(
            Fault(**fault.model_dump()) for one in wanted.refused for fault in one.faults
        )
    fills = [
        (rx, order.fill)
        for order in wanted.orders
        if order.fill
        for rx in order.workspace.prescriptions
    ]
    data = dispense_bundle(
        workspace.pharmacy, [_dispensed(workspace, *one, handed_over_on) for one in fills]
    )
    write_table(out, data)
    return Exported(
        file=str(out),
        prescriptions=tuple(rx.number for rx, _ in fills),
        not_exported=NOT_EXPORTED,
    )


def _dispensed(
    workspace: Workspace, rx: Prescription, one: Fill, handed_over_on: date | None
) -> Dispensed:
    said = sentence(rx.directions, desk.voice(workspace, rx.patient.language))
    if said.state is not ReviewState.ACCEPTED:
        wrong = f"nobody accepted the {rx.patient.language} wording of the directions"
        mend = "accept the wording that was dispensed with: labelkit wording"
        raise WordingRefused([Fault(TABLE, f"prescription {rx.number}", "", wrong, mend)])
    return Dispensed(
        rx=rx,
        preparation=workspace.preparation(rx.preparation),
        lot=workspace.lot(one.lot),
        beyond_use=one.beyond_use,
        directions=said.text,
        handed_over_on=handed_over_on or rx.handed_over_on,
    )
