"""The inbox: requests that came in and aren't finished. Listed, mended, accepted into the tables.

Accepting judges the form of what stands there anew, adds rows and never changes one, and keeps
the file beside with who accepted it. What the import told about safety must have been looked at
by somebody with a name.
"""

import json
from collections.abc import Mapping, Sequence
from contextlib import ExitStack
from pathlib import Path

from labelkit.ground import door
from labelkit.ground.errors import Fault, RecordsRefused
from labelkit.jobs.publishing import OutputRefused, unwritable
from labelkit.jobs.results import Result
from labelkit.jobs.tables import encoded, locked_workspace, rows_in, table, write_table
from labelkit.records import patient_rows, prescription_rows
from labelkit.records.adding import Added, with_rows
from labelkit.records.faultbook import FaultBook, Unreadable
from labelkit.records.fields import Fields
from labelkit.records.files import is_there, read_text
from labelkit.records.inbox_file import FOLDER, Waiting, read_waiting
from labelkit.records.reading import House, read_house
from labelkit.records.text import nearest, shown

ACCEPTED = "accepted"
"""The folder, in the inbox, for what was accepted."""
Row = Mapping[str, str]

_FORMS = {
    "patients.csv": (patient_rows.COLUMNS, patient_rows.OPTIONAL, ("id",)),
    "medicines.csv": (
        patient_rows.MEDICINE_COLUMNS,
        patient_rows.MEDICINE_OPTIONAL,
        ("patient", "medicine"),
    ),
    "prescriptions.csv": (
        prescription_rows.COLUMNS,
        prescription_rows.OPTIONAL,
        ("number", "fill"),
    ),
}
"""Columns of each table, those that it may lack, and what names a row."""


class Request(Result):
    """A request of the inbox, as it stands."""

    name: str
    source: str
    asked_for: str
    prescription: dict[str, str]
    patient: dict[str, str]
    medicines: tuple[dict[str, str], ...]
    told: tuple[dict[str, str], ...]
    blank: tuple[str, ...]
    """Fields that must be filled before it is accepted."""


class Accepted(Result):
    """What was added to the tables."""

    name: str
    number: str
    patients: tuple[str, ...]
    medicines: tuple[str, ...]
    kept_in: str


def folder_of(folder: Path) -> Path:
    """The inbox of a workspace."""
    return folder / FOLDER


def waiting_in(book: FaultBook, folder: Path) -> list[Waiting]:
    """The requests of the inbox by name; what is wrong with a file goes into the book."""
    found = []
    for path in door.listed(folder_of(folder), "*.json"):
        text = read_text(book, path, f"{FOLDER}/{path.name}")
        one = read_waiting(book, path.stem, text) if text is not None else None
        if one:
            found.append(one)
    return found


def requests(folder: Path) -> tuple[Request, ...]:
    """All that waits. Raises RecordsRefused where a file can't be read."""
    book = FaultBook()
    found = waiting_in(book, folder)
    if book.faults:
        raise RecordsRefused(book.faults)
    return tuple(_request(one) for one in found)


def mended(folder: Path, name: str, cells: Mapping[str, str]) -> Request:
    """The request with these cells filled in, in its file.

    `name` is the file's or the prescription's number; fields of the patient are called
    ``patient.name``. Raises RecordsRefused and OutputRefused.
    """
    with ExitStack() as held:
        if cells:
            locked_workspace(held, folder)
        one = _found(folder, name)
        for field, value in cells.items():
            try:
                one = one.with_cell(field, value)
            except Unreadable as reason:
                place = f"{FOLDER}/{one.name}.json"
                fault = Fault(place, "", field, reason.wrong, reason.mend)
                raise RecordsRefused([fault]) from None
        if cells:
            write_table(folder_of(folder) / f"{one.name}.json", one.data())
    return _request(one)


def accept(folder: Path, name: str, by: str = "") -> Accepted:
    """Move a request into the tables, when it is whole and somebody has looked.

    `by` names who looked at what was told about safety; it may be empty where nothing was.
    Raises RecordsRefused with all that is missing, and OutputRefused.
    """
    house = read_house(folder)
    with ExitStack() as held:
        locked_workspace(held, folder)
        one = _found(folder, name)
        texts = {
            stem: table(folder, f"{stem}.csv", house.encoding)
            for stem in ("patients", "medicines", "prescriptions")
        }
        people = {
            row["id"]: row
            for row in rows_in(
                texts["patients"][0],
                "patients.csv",
                patient_rows.COLUMNS,
                patient_rows.OPTIONAL,
            )
        }
        there = rows_in(
            texts["prescriptions"][0],
            "prescriptions.csv",
            prescription_rows.COLUMNS,
            prescription_rows.OPTIONAL,
        )
        faults = [*_faults_of(one, house, people), *_unseen(one, by)]
        if prescription_rows.stands_in(there, one.prescription):
            wrong = f"{shown(one.number)} stands there already and isn't overwritten"
            mend = "write its fill where it is another one, or take the request out of the inbox"
            faults.append(Fault("prescriptions.csv", "", "number", wrong, mend))
        if faults:
            raise RecordsRefused(faults)
        new = [one.patient] if one.patient and one.patient["id"] not in people else []
        added = {
            "patients": _with(texts["patients"][0], "patients.csv", new),
            "medicines": _with(texts["medicines"][0], "medicines.csv", one.medicines),
            "prescriptions": _with(
                texts["prescriptions"][0], "prescriptions.csv", [one.prescription]
            ),
        }
        for stem, result in added.items():
            if result.rows:
                data = encoded(result.text, house.encoding, f"{stem}.csv")
                write_table(folder / f"{stem}.csv", texts[stem][1] + data)
        kept = _kept(folder, one, by)
    return Accepted(
        name=one.name,
        number=one.number,
        patients=tuple(row["id"] for row in new),
        medicines=tuple(row["medicine"] for row in added["medicines"].rows),
        kept_in=str(kept),
    )


def _with(text: str, name: str, rows: Sequence[Row]) -> Added:
    columns, optional, key = _FORMS[name]
    return with_rows(text, name, rows, columns, optional, key)


def _request(one: Waiting) -> Request:
    needed = [c for c in one.prescription if c not in prescription_rows.OPTIONAL]
    people = [c for c in one.patient if c not in patient_rows.OPTIONAL]
    blank = [c for c in needed if not one.prescription[c]]
    blank += [f"patient.{c}" for c in people if not one.patient[c]]
    return Request(
        name=one.name,
        source=one.source,
        asked_for=one.asked_for,
        prescription=dict(one.prescription),
        patient=dict(one.patient),
        medicines=tuple(dict(row) for row in one.medicines),
        told=tuple(dict(said) for said in one.told),
        blank=tuple(blank),
    )


def _found(folder: Path, name: str) -> Waiting:
    book = FaultBook()
    waiting = waiting_in(book, folder)
    found = [one for one in waiting if one.name == name] or [
        one for one in waiting if one.number == name
    ]
    if len(found) == 1:
        return found[0]
    if book.faults:
        raise RecordsRefused(book.faults)
    names = [one.name for one in waiting]
    wrong = f"{shown(name)} names none of the requests" if not found else "names several requests"
    mend = nearest(name, names) if names else "nothing waits there"
    raise RecordsRefused([Fault(FOLDER, "", "", wrong, mend)])


def _faults_of(one: Waiting, house: House, people: Mapping[str, Row]) -> list[Fault]:
    """What is wrong with the rows, or missing in them."""
    place = f"{FOLDER}/{one.name}.json"
    book = FaultBook()
    fields = Fields(book, place, one.prescription, lambda _: "")
    fields.day_form = house.day_form
    prescription_rows.read_prescription(fields, {})
    row = one.prescription
    made = {p.id: [s.label for s in p.strengths] for p in house.preparations}
    if row["preparation"] and row["preparation"] not in made:
        wrong = f"there is no preparation {shown(row['preparation'])}"
        fields.fault("preparation", wrong, nearest(row["preparation"], made))
    elif row["strength"] and row["strength"] not in made.get(row["preparation"], ()):
        labels = made.get(row["preparation"], [])
        fields.fault("strength", "isn't one of that preparation", nearest(row["strength"], labels))
    if row["patient"] in people:
        _allergies_are_there(fields, one.patient, people[row["patient"]])
    elif one.patient.get("id") == row["patient"]:
        person = Fields(book, place, one.patient, lambda _: "", "patient.")
        person.day_form = house.day_form
        patient_rows.read_patient(person)
        if person.values.get("language") not in house.pharmacy.languages:
            offered = ", ".join(house.pharmacy.languages)
            person.fault("language", "isn't offered", f"write one of: {offered}")
    elif row["patient"]:
        fields.fault("patient", "is in no row of patients.csv", "write that row first")
    return list(book.faults)


def _allergies_are_there(fields: Fields, incoming: Row, here: Row) -> None:
    """An allergy that came in stands in the patient's row, or was taken out by a person."""
    there = {name.strip().casefold() for name in here.get("allergies", "").split(";")}
    for name in incoming.get("allergies", "").split(";"):
        if name.strip() and name.strip().casefold() not in there:
            fields.fault(
                "patient.allergies",
                f"{shown(name.strip())} isn't in the patient's row of patients.csv",
                "write it there, or take it out here if the patient says otherwise",
            )


def _unseen(one: Waiting, by: str) -> list[Fault]:
    dangers = [said for said in one.told if said["weight"] == "safety"]
    if not dangers or by.strip():
        return []
    return [
        Fault(
            f"{FOLDER}/{one.name}.json",
            "",
            said["field"],
            f"was told when it came in: {said['wrong']}",
            "look at it, and say who did: --by NAME",
        )
        for said in dangers
    ]


def _kept(folder: Path, one: Waiting, by: str) -> Path:
    """Keep the file beside, with who accepted it, and take it out of the inbox."""
    tree = {
        "accepted_by": by.strip(),
        "accepted_on": door.today().isoformat(),
        "request": json.loads(one.data()),
    }
    kept = folder_of(folder) / ACCEPTED / f"{one.name}.json"
    count = 1
    while is_there(kept):
        count += 1
        kept = kept.with_name(f"{one.name}-{count}.json")
    write_table(kept, (json.dumps(tree, ensure_ascii=False, indent=1) + "\n").encode())
    try:
        (folder_of(folder) / f"{one.name}.json").unlink()
    except OSError as error:
        raise OutputRefused([unwritable(folder_of(folder), error)]) from error
    return kept
