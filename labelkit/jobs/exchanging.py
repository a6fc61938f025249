"""Prescriptions in from a FHIR R4 bundle: into the tables what is whole, the rest into the inbox.

An import adds rows and never changes one; what the bundle can't say, and what a row can't
hold, is named. A request that isn't finished never stands in the table, so that no import holds
up other people's papers. A medicine that the bundle names for a patient does: it is one that
nobody has confirmed, and that patient's papers wait until somebody has.
"""

from collections.abc import Iterable, Mapping, Sequence
from contextlib import ExitStack
from dataclasses import dataclass
from pathlib import Path

from labelkit.ground.errors import Fault
from labelkit.jobs.inbox import folder_of, waiting_in
from labelkit.jobs.results import Result, SaidFault
from labelkit.jobs.tables import bytes_of, encoded, locked_workspace, rows_in, table, write_table
from labelkit.records import patient_rows
from labelkit.records.adding import with_rows
from labelkit.records.csv_rows import written
from labelkit.records.faultbook import FaultBook, Unreadable
from labelkit.records.fhir_import import Imported, Incoming, read_bundle
from labelkit.records.fhir_told import Told, Weight, first_things_first
from labelkit.records.inbox_file import Waiting, file_name, told_as
from labelkit.records.prescription_rows import COLUMNS, OPTIONAL, stands_in
from labelkit.records.reading import House, read_house
from labelkit.records.text import shown

TABLE = "prescriptions.csv"
PATIENTS = "patients.csv"
MEDICINES = "medicines.csv"
Row = Mapping[str, str]


class Said(SaidFault):
    """A fault with how much hangs on it."""

    weight: str
    """``safety``, ``look`` or ``blank``."""

    @property
    def fault(self) -> Fault:
        """The fault itself again, without its weight."""
        return Fault(**self.model_dump(exclude={"weight"}))


class InInbox(Result):
    """A request that waits to be finished."""

    name: str
    source: str
    asked_for: str
    """What the medicine is called there."""
    preparation: str
    """What it was read as; empty where it is none of the pharmacy's for certain."""


class ImportedRows(Result):
    """What an import did."""

    file: str
    rows: tuple[dict[str, str], ...]
    """Rows for the table of prescriptions, by column: those that are whole."""
    inbox: tuple[InInbox, ...]
    """Requests that wait in the inbox."""
    inbox_rows: tuple[dict[str, str], ...]
    """Their rows, by column."""
    patients: tuple[dict[str, str], ...]
    """Rows for the table of patients: those that it didn't hold."""
    medicines: tuple[dict[str, str], ...]
    """Rows for the table of medicines: those that it didn't hold."""
    written: bool
    """False: a dry run, or nothing is new."""
    refused: tuple[SaidFault, ...]
    """Requests that went nowhere."""
    told: tuple[Said, ...]
    """What couldn't be mapped, and cells that are still blank: what may harm first."""

    @property
    def exit_status(self) -> int:
        """0 when every request was taken in, else 1."""
        return 1 if self.refused else 0


@dataclass(frozen=True, slots=True)
class _Tables:
    """What stands in the workspace's tables and its inbox."""

    house: House
    patients: Mapping[str, Row]
    medicines: Mapping[str, Sequence[Row]]
    prescriptions: Sequence[Row]
    waiting: Sequence[Waiting]

    def is_another(self, row: Row) -> bool:
        """Whether the patient's id is somebody else's here."""
        known = self.patients.get(row["id"])
        return known is not None and any(
            row[column] != known.get(column) for column in ("name", "born_on")
        )

    def has(self, row: Row) -> bool:
        """Whether a prescription (or this fill of it) is in the table or waits already."""
        waiting = [one.prescription for one in self.waiting]
        return row in waiting or stands_in((*self.prescriptions, *waiting), row)


def import_bundle(bundle: Path, folder: Path, *, dry_run: bool = False) -> ImportedRows:
    """Take the requests of a bundle into the workspace.

    Raises RecordsRefused when the bundle or the workspace's files can't be read, and
    OutputRefused when a file can't be written.
    """
    house = read_house(folder)
    imported = read_bundle(bytes_of(bundle), bundle.name, house.pharmacy, house.preparations)
    with ExitStack() as held:
        if not dry_run:
            locked_workspace(held, folder)
        texts = {name: table(folder, name, house.encoding) for name in (PATIENTS, MEDICINES, TABLE)}
        known = _known(folder, house, {name: text for name, (text, _) in texts.items()})
        plan = _planned(known, imported, bundle.name)
        added = {
            PATIENTS: with_rows(
                texts[PATIENTS][0],
                PATIENTS,
                plan.patients,
                patient_rows.COLUMNS,
                patient_rows.OPTIONAL,
                ("id",),
            ),
            MEDICINES: with_rows(
                texts[MEDICINES][0],
                MEDICINES,
                plan.medicines,
                patient_rows.MEDICINE_COLUMNS,
                patient_rows.MEDICINE_OPTIONAL,
                ("patient", "medicine"),
            ),
            TABLE: with_rows(
                texts[TABLE][0],
                TABLE,
                [one.row for one in plan.whole],
                COLUMNS,
                OPTIONAL,
                ("number", "fill"),
            ),
        }
        if not dry_run:
            # Patients first: neither a medicine nor a prescription can be read without its own.
            for name, new in added.items():
                if new.rows:
                    data = encoded(new.text, house.encoding, name)
                    write_table(folder / name, texts[name][1] + data)
            for one in plan.waiting:
                write_table(folder_of(folder) / f"{one.name}.json", one.data())
    return ImportedRows(
        file=str(folder / TABLE),
        rows=tuple(dict(row) for row in added[TABLE].rows),
        inbox=tuple(_in_inbox(one) for one in plan.waiting),
        inbox_rows=tuple(dict(one.prescription) for one in plan.waiting),
        patients=tuple(dict(row) for row in added[PATIENTS].rows),
        medicines=tuple(dict(row) for row in added[MEDICINES].rows),
        written=not dry_run and bool(plan.waiting or any(new.rows for new in added.values())),
        refused=tuple(SaidFault.of(fault) for fault in plan.refused),
        told=tuple(
            Said(**SaidFault.of(one.fault).model_dump(), weight=one.weight.name.lower())
            for one in plan.told
        ),
    )


@dataclass(frozen=True, slots=True)
class _Plan:
    """What goes where."""

    whole: Sequence[Incoming]
    waiting: Sequence[Waiting]
    patients: Sequence[Row]
    medicines: Sequence[Row]
    refused: Sequence[Fault]
    told: Sequence[Told]


def _known(folder: Path, house: House, texts: Mapping[str, str]) -> _Tables:
    patients = rows_in(texts[PATIENTS], PATIENTS, patient_rows.COLUMNS, patient_rows.OPTIONAL)
    medicines: dict[str, list[Row]] = {}
    for row in rows_in(
        texts[MEDICINES], MEDICINES, patient_rows.MEDICINE_COLUMNS, patient_rows.MEDICINE_OPTIONAL
    ):
        medicines.setdefault(row["patient"], []).append(row)
    return _Tables(
        house,
        {row["id"]: row for row in patients},
        medicines,
        rows_in(texts[TABLE], TABLE, COLUMNS, OPTIONAL),
        waiting_in(FaultBook(), folder),
    )


def _planned(known: _Tables, imported: Imported, name: str) -> _Plan:
    people = {row["id"]: row for row in imported.patients}
    others = {id_ for id_, row in people.items() if known.is_another(row)}
    fresh = [
        one
        for one in imported.requests
        if one.row["patient"] not in others and not known.has(one.row)
    ]
    refused = [
        _another(one) if one.row["patient"] in others else _there(one)
        for one in imported.requests
        if one not in fresh
    ]
    named = {one.row["patient"] for one in fresh}
    told = list(imported.told)
    new = [
        row
        for id_, row in people.items()
        if id_ in named and id_ not in known.patients and _is_whole(row, known.house)
    ]
    for id_ in sorted(named & set(known.patients) & set(people)):
        told += _allergies_told(name, known.patients[id_], people[id_])
    placed = {row["id"] for row in new} | (named & set(known.patients))
    medicines, held_back = _medicines(known, imported.medicines, placed, named)
    told += [_contradicts(name, row) for row in held_back if row["patient"] in placed]
    whole = [
        one
        for one in fresh
        if not one.blank and one.row["patient"] in placed and not _endangers(one, told)
    ]
    names = [one.name for one in known.waiting]
    waiting = []
    for one in fresh:
        if one in whole:
            continue
        names.append(file_name(one.row["number"], one.source, names))
        row = one.row["patient"]
        person = people.get(row, {}) if row not in {r["id"] for r in new} else {}
        about = [
            *one.told,
            *(t for t in told if t not in imported.told and t.fault.where == f"patient {row}"),
        ]
        waiting.append(
            Waiting(
                name=names[-1],
                source=f"{name}, {one.source}",
                asked_for=one.asked_for,
                prescription=one.row,
                patient=person,
                medicines=tuple(r for r in held_back if r["patient"] == row),
                told=tuple(told_as(t.fault, t.weight.name.lower()) for t in about),
            )
        )
    return _Plan(whole, waiting, new, medicines, refused, first_things_first(told))


def _is_whole(row: Row, house: House) -> bool:
    """Whether the patient's row can stand in the table."""
    needed = [column for column in patient_rows.COLUMNS if column not in patient_rows.OPTIONAL]
    return all(row[column] for column in needed) and row["language"] in house.pharmacy.languages


def _medicines(
    known: _Tables, rows: Iterable[Row], placed: set[str], named: set[str]
) -> tuple[list[Row], list[Row]]:
    """Rows for the table, and those that must wait with their request.

    A medicine beside the answer 'none' would make both wrong: it waits, and is told.
    """
    into, back = [], []
    for row in rows:
        there = known.medicines.get(row["patient"], ())
        written = [one["medicine"].casefold() for one in there]
        if row["patient"] not in named or row["medicine"].casefold() in written:
            continue
        none = patient_rows.NONE in (row["medicine"], *written)
        if row["patient"] in placed and not (none and there):
            into.append(row)
        else:
            back.append(row)
    return into, back


def _endangers(one: Incoming, told: Iterable[Told]) -> bool:
    """Whether something that may harm is told of the request or its patient."""
    of_patient = f"patient {one.row['patient']}"
    mine = (*one.told, *(t for t in told if t.fault.where == of_patient))
    return any(t.weight is Weight.SAFETY for t in mine)


def _allergies_told(name: str, here: Row, incoming: Row) -> Iterable[Told]:
    """What the bundle says of allergies, where the patient's row says less."""
    there = _names(here.get("allergies", ""))
    for allergy in _names(incoming["allergies"]) - there:
        fault = Fault(
            name,
            f"patient {here['id']}",
            "allergies",
            f"the bundle says {shown(allergy)}, and the row in {PATIENTS} doesn't",
            "ask the patient, and write what is true into that row",
        )
        yield Told(Weight.SAFETY, fault)


def _names(cell: str) -> set[str]:
    try:
        found = patient_rows.listed(cell) or (patient_rows.NONE,)
    except Unreadable:
        return set()
    return {name.casefold() for name in found}


def _contradicts(name: str, row: Row) -> Told:
    fault = Fault(
        name,
        f"patient {row['patient']}",
        "medicines",
        f"the bundle says {shown(row['medicine'])}, and {MEDICINES} says otherwise",
        f"ask the patient, and write what is true into {MEDICINES}",
    )
    return Told(Weight.SAFETY, fault)


def _another(one: Incoming) -> Fault:
    return Fault(
        PATIENTS,
        "",
        "id",
        f"prescription {one.row['number']} is for a patient {one.row['patient']}, and that id is "
        "another name's or another birth date's here",
        "write the row by hand, with an id of its own for this patient",
    )


def _there(one: Incoming) -> Fault:
    return Fault(
        TABLE,
        "",
        "number",
        f"{shown(one.row['number'] or one.source)} stands there already, or waits in the inbox, "
        "and isn't overwritten",
        "correct the row by hand if it has changed",
    )


def _in_inbox(one: Waiting) -> InInbox:
    row = one.prescription
    read_as = ", ".join(cell for cell in (row["preparation"], row["strength"]) if cell)
    return InInbox(name=one.name, source=one.source, asked_for=one.asked_for, preparation=read_as)


def as_table(rows: Sequence[Mapping[str, str]]) -> str:
    """Rows as a table file of their own."""
    return written(COLUMNS, rows)
