"""Checks that the rows of a workspace name one another rightly.

Each lot and prescription names a preparation and a strength that exist, each prescription and
medicine a patient; numbers are unique; the fills of one number agree; days follow one another
across rows. What is wrong stays with the rows that it concerns, and a row that depends on one
that can't be used can't be used either. It judges no dose and no quantity in stock.
"""

from collections import defaultdict
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import timedelta
from typing import Any, TypeVar

from labelkit.records.decisions import Decisions
from labelkit.records.faultbook import FaultBook
from labelkit.records.fills_of_one import check_fills, check_links
from labelkit.records.model import Lot, Patient, Preparation, Prescription
from labelkit.records.patient_rows import Answered
from labelkit.records.table_rows import Row, Table
from labelkit.records.text import nearest, shown

R = TypeVar("R")
FEW = 20
"""Ids that a fault lists. Our own bound."""
OLDEST = timedelta(days=366 * 125)
"""No patient is taken to be older. Our own bound, above the oldest age on record."""


@dataclass(frozen=True)
class Known:
    """What rows may name beside one another: also what has faults of its own."""

    preparation_ids: tuple[str, ...]
    preparations: tuple[Preparation, ...]
    languages: tuple[str, ...]


def check_gtins(book: FaultBook, preparations: Iterable[Preparation]) -> None:
    """Write down every GTIN that stands at two strengths."""
    first: dict[str, str] = {}
    for preparation in preparations:
        for strength in preparation.strengths:
            if strength.gtin is None:
                continue
            owner = f"{preparation.id} {strength.label}"
            if strength.gtin in first:
                book.add(
                    f"preparations/{preparation.id}.toml",
                    "",
                    "strength.gtin",
                    f"{strength.gtin} belongs to {first[strength.gtin]} already",
                    "give each strength its own GTIN (GS1 General Specifications, 2.1)",
                )
            first.setdefault(strength.gtin, owner)


def check_patients(
    book: FaultBook, known: Known, patients: Table[Patient], medicines: Table[Answered]
) -> None:
    """Patients are there once and speak a language that is offered; medicines are somebody's.

    A medicine that nobody can be found for stops everything: it may be anybody's.
    """
    _each_once(patients, "id", lambda row: row.name)
    for row in patients.rows:
        if row.record and known.languages and row.record.language not in known.languages:
            row.fault(
                "language",
                f"the pharmacy doesn't offer {shown(row.record.language)}",
                f"offer it in pharmacy.toml, or write one of: {', '.join(known.languages)}",
            )
    by_id = patients.by_name()
    of_patient: dict[str, list[Row[Answered]]] = defaultdict(list)
    for medicine in medicines.rows:
        of_patient[medicine.name].append(medicine)
        patient = by_id.get(medicine.name)
        if patient is not None:
            _medicine_of(medicine, patient)
        elif patients.readable:
            _of_nobody(book, medicine, patients)
    for rows in of_patient.values():
        _none_alone(rows)
    for medicine in medicines.rows:
        if not medicine.sound and medicine.name in by_id:
            by_id[medicine.name].causes.append(medicine)


def check_decided(book: FaultBook, decisions: Decisions, patients: Table[Patient]) -> None:
    """What was decided of persons names entries that are there, and doesn't contradict itself."""
    if not patients.readable:
        return
    for place, said in enumerate(decisions.same_persons, start=1):
        field = f"same_person[{place}].ids"
        for id_ in said.ids:
            if id_ not in patients.names:
                book.add(
                    "decisions.toml",
                    "",
                    field,
                    f"there is no patient {shown(id_)}",
                    _one_of(patients),
                )
        if not said.same and len(set(said.ids) & decisions.joined(said.ids[0])) > 1:
            book.add(
                "decisions.toml",
                "",
                field,
                f"{' and '.join(said.ids)} are told apart here and joined by another decision",
                "find out which is right, and take the other out",
            )


def check_lots(known: Known, lots: Table[Lot]) -> None:
    """Lots have numbers of their own, whatever their case, and are of a medicine that is made."""
    _each_once(lots, "number", lambda row: row.name.casefold())
    for row in lots.rows:
        if row.record:
            _preparation(known, row, row.record.preparation, row.record.strength)


def check_prescriptions(
    known: Known,
    decisions: Decisions,
    patients: Table[Patient],
    lots: Table[Lot],
    prescriptions: Table[Prescription],
) -> None:
    """Write down every reference of a prescription that leads nowhere or astray."""
    by_id, by_number = patients.by_name(), lots.by_name()
    for row in prescriptions.rows:
        row.patient = str(row.fields.values.get("patient") or "").strip()
        _patient(row, patients, by_id)
        if row.record:
            _preparation(known, row, row.record.preparation, row.record.strength)
            _lot(row, row.record, lots, by_number)
    check_fills(prescriptions)
    check_links(prescriptions, decisions)
    _of_the_same_patient(prescriptions, decisions)


def _one_of(patients: Table[Patient]) -> str:
    """The ids there are, where they are few. None of them is proposed: a near id isn't a near
    person."""
    ids = list(dict.fromkeys(row.name for row in patients.rows if row.record))
    if 0 < len(ids) <= FEW:
        return f"write one of: {', '.join(ids)}; or record the patient"
    return "look it up in the patients' table, or record the patient there"


def _each_once(table: Table[Any], field: str, key: Callable[[Row[Any]], str]) -> None:
    """Two rows of one name: nobody can tell which is meant, so neither is used."""
    found: dict[str, list[Row[Any]]] = defaultdict(list)
    for row in table.rows:
        if row.name and row.fields.is_row:
            found[key(row)].append(row)
    for same in found.values():
        for row in same[1:]:
            row.fault(
                field,
                f"{shown(row.name)} stands already at {same[0].where}",
                "give each its own, or remove the double",
            )
        if len(same) > 1:
            same[0].causes.append(same[1])


def _medicine_of(medicine: Row[Answered], patient: Row[Patient]) -> None:
    medicine.patient = patient.name
    if medicine.record and patient.record and medicine.record.confirmed_on < patient.record.born_on:
        medicine.fault(
            "confirmed_on",
            f"{medicine.record.confirmed_on} is before the patient's birth",
            "correct the one that is wrong",
        )


def _of_nobody(book: FaultBook, medicine: Row[Answered], patients: Table[Patient]) -> None:
    if not _names_nobody(medicine):
        medicine.fault(
            "patient",
            f"there is no patient {shown(medicine.name)}, so it may be anybody's medicine",
            _one_of(patients),
        )
    for fault in medicine.fields.book.faults:
        book.add(fault.file, fault.where, fault.field, fault.wrong, fault.mend)


def _names_nobody(row: Row[Any]) -> bool:
    """Whether a fault says already that its cell for the patient can't be read."""
    return any(fault.field == "patient" for fault in row.fields.book.faults)


def _none_alone(rows: list[Row[Answered]]) -> None:
    """The answer 'none' can't stand beside a medicine that is taken."""
    said = [row for row in rows if row.record and row.record.is_none]
    taken = [
        row
        for row in rows
        if row.record and not row.record.is_none and row.record.status != "stopped"
    ]
    for row in said if taken else said[1:]:
        beside = taken[0] if taken else said[0]
        row.fault(
            "medicine",
            f"says 'none' beside the medicine at {beside.where}"
            if taken
            else f"says 'none' once more, as at {beside.where}",
            "leave the one that is true",
        )


def _patient(
    row: Row[Prescription], patients: Table[Patient], by_id: dict[str, Row[Patient]]
) -> None:
    if not row.patient or not patients.readable:
        return
    entry = by_id.get(row.patient)
    if entry is None:
        if not _names_nobody(row):
            row.fault("patient", f"there is no patient {shown(row.patient)}", _one_of(patients))
        return
    if not entry.sound:
        row.causes.append(entry)
        return
    rx, born_on = row.record, entry.record.born_on if entry.record else None
    if rx is None or born_on is None:
        return
    for name, value in (("written_on", rx.written_on), ("dispensed_on", rx.dispensed_on)):
        if value < born_on:
            row.fault(
                name,
                f"{value} is earlier than the patient's birth (patients, {entry.where})",
                "correct the one that is wrong",
            )
            return
    if rx.dispensed_on - born_on > OLDEST:
        row.fault(
            "patient",
            f"the patient would be older than {OLDEST.days // 366} years (patients, {entry.where})",
            "check the year of birth",
        )


def _preparation(known: Known, row: Row[R], preparation: str, strength: str) -> None:
    if not known.preparation_ids:
        return
    if preparation not in known.preparation_ids:
        row.fault(
            "preparation",
            f"there is no file preparations/{preparation}.toml",
            nearest(preparation, known.preparation_ids),
        )
        return
    for candidate in known.preparations:
        labels = [s.label for s in candidate.strengths]
        if candidate.id == preparation and strength not in labels:
            row.fault(
                "strength",
                f"{preparation} has no strength {strength}",
                f"write one of: {', '.join(labels)}",
            )


def _lot(
    row: Row[Prescription], rx: Prescription, lots: Table[Lot], by_number: dict[str, Row[Lot]]
) -> None:
    if rx.lot is None or not lots.readable:
        return
    entry = by_number.get(rx.lot)
    if entry is None:
        row.fault(
            "lot",
            f"there is no lot {shown(rx.lot)}",
            nearest(rx.lot, lots.names) if lots.names else "record the lot",
        )
        return
    if not entry.sound or entry.record is None:
        row.causes.append(entry)
        return
    lot = entry.record
    if (lot.preparation, lot.strength) != (rx.preparation, rx.strength):
        row.fault(
            "lot",
            f"lot {lot.number} is {lot.preparation} {lot.strength}, not "
            f"{rx.preparation} {rx.strength}",
            "name a lot of the medicine and strength prescribed, or leave it blank",
        )
    if lot.made_on > rx.dispensed_on:
        row.fault(
            "lot",
            f"lot {lot.number} was made on {lot.made_on}, after the day of dispensing, "
            f"{rx.dispensed_on}",
            "correct the one that is wrong",
        )


def _of_the_same_patient(prescriptions: Table[Prescription], decisions: Decisions) -> None:
    """What can't be read can't be compared: it holds up the same person's other prescriptions.

    One that is only unfinished doesn't: nothing was given on it, and it is compared with the
    others once it is finished.
    """
    wrong: dict[str, list[Row[Prescription]]] = defaultdict(list)
    for row in prescriptions.rows:
        if row.patient and not row.sound and not row.pending:
            for id_ in decisions.joined(row.patient):
                wrong[id_].append(row)
    for row in prescriptions.rows:
        if row.sound:
            row.causes += wrong.get(row.patient, ())
