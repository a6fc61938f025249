"""One request that came in and isn't finished, as a file of the workspace's ``inbox`` folder.

JSON, to be read and edited by a person: the prescription's row, the patient's row where the
tables don't hold it, the patient's medicines that wait with it, and what was told. Nothing
that makes artwork reads these files: what stands in them doesn't count until it is accepted.
"""

import json
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from labelkit.ground.errors import Fault
from labelkit.records import patient_rows
from labelkit.records.faultbook import FaultBook, Unreadable
from labelkit.records.json_rows import each_name_once
from labelkit.records.patient_rows import MEDICINE_COLUMNS
from labelkit.records.prescription_rows import COLUMNS
from labelkit.records.text import nearest, shown

FOLDER = "inbox"
Row = Mapping[str, str]
_KEYS = ("source", "asked_for", "prescription", "patient", "medicines", "told")
_SAID = ("weight", "field", "wrong", "mend")
_PLAIN = re.compile(r"[^A-Za-z0-9]+")


@dataclass(frozen=True, slots=True)
class Waiting:
    """One file of the inbox."""

    name: str
    """The file's name without its ending: by it the request is called."""
    source: str
    """Where it came from: the file and the resource."""
    asked_for: str
    """What the medicine is called there."""
    prescription: Row
    patient: Row
    """Empty where the patients' table holds the patient, or nothing is known."""
    medicines: tuple[Row, ...]
    told: tuple[Mapping[str, str], ...]
    """What the import told of it, each with its weight, field, wrong and mend."""

    @property
    def number(self) -> str:
        """The prescription's number; '' where it came without one."""
        return self.prescription["number"]

    def with_cell(self, field: str, value: str) -> "Waiting":
        """The same with one cell changed: of the prescription, or as ``patient.name``.

        Raises Unreadable for a field that it doesn't have.
        """
        if field in COLUMNS:
            return replace(self, prescription={**self.prescription, field: value})
        of_patient = field.removeprefix("patient.")
        if field.startswith("patient.") and self.patient and of_patient in self.patient:
            return replace(self, patient={**self.patient, of_patient: value})
        known = [*COLUMNS, *(f"patient.{column}" for column in self.patient)]
        raise Unreadable(f"{shown(field)} isn't a field of it", nearest(field, known))

    def data(self) -> bytes:
        """The file's bytes, UTF-8."""
        tree = {
            "source": self.source,
            "asked_for": self.asked_for,
            "told": [dict(one) for one in self.told],
            "prescription": dict(self.prescription),
            "patient": dict(self.patient),
            "medicines": [dict(row) for row in self.medicines],
        }
        return (json.dumps(tree, ensure_ascii=False, indent=1) + "\n").encode()


def file_name(number: str, source: str, taken: Sequence[str]) -> str:
    """A name for a request's file: after its number, or after the resource it came from."""
    plain = _PLAIN.sub("-", number or source).strip("-")[:80] or "request"
    names = (plain, *(f"{plain}-{n}" for n in range(2, len(taken) + 3)))
    folded = {name.casefold() for name in taken}
    return next(name for name in names if name.casefold() not in folded)


def read_waiting(book: FaultBook, name: str, text: str) -> Waiting | None:
    """The request in a file of the inbox; None after writing down what is wrong with it."""
    place = f"{FOLDER}/{name}.json"
    try:
        tree = json.loads(text, object_pairs_hook=each_name_once)
    except Unreadable as reason:
        book.add(place, "", "", reason.wrong, reason.mend)
        return None
    except (ValueError, RecursionError):
        book.add(place, "", "", "isn't JSON that can be read", "mend it, or import anew")
        return None
    if not isinstance(tree, dict) or set(tree) != set(_KEYS):
        book.add(place, "", "", f"doesn't hold {', '.join(_KEYS)}", "mend it, or import anew")
        return None
    row = _row(book, place, tree, "prescription", COLUMNS)
    patient = _row(book, place, tree, "patient", patient_rows.COLUMNS) if tree["patient"] else {}
    medicines = _rows(book, place, tree, "medicines", MEDICINE_COLUMNS)
    told = _rows(book, place, tree, "told", _SAID)
    if not book.is_clean(place):
        return None
    return Waiting(
        name,
        str(tree["source"]),
        str(tree["asked_for"]),
        row,
        patient,
        tuple(medicines),
        tuple(told),
    )


def told_as(fault: Fault, weight: str) -> dict[str, str]:
    """A fault as a file of the inbox keeps it."""
    return {"weight": weight, "field": fault.field, "wrong": fault.wrong, "mend": fault.mend}


def _rows(
    book: FaultBook, place: str, tree: Mapping[str, object], key: str, columns: Sequence[str]
) -> list[dict[str, str]]:
    rows = tree[key]
    if not isinstance(rows, list):
        book.add(place, "", key, "isn't a list", "write it as [ {…}, {…} ]")
        return []
    return [
        _row(book, place, {f"{key}[{n}]": row}, f"{key}[{n}]", columns)
        for n, row in enumerate(rows, start=1)
    ]


def _row(
    book: FaultBook, place: str, tree: Mapping[str, object], key: str, columns: Sequence[str]
) -> dict[str, str]:
    row = tree[key]
    if not isinstance(row, dict):
        book.add(place, "", key, "isn't an object", "write it as { … }")
        return {}
    for name in row:
        if name not in columns:
            wrong = f"{shown(name)} isn't a field of it"
            book.add(place, "", f"{key}.{name}"[:120], wrong, nearest(str(name), columns))
    for name in columns:
        if not isinstance(row.get(name, ""), str):
            book.add(place, "", f"{key}.{name}", "isn't text", "write it between quotation marks")
    return {name: str(row.get(name, "")).strip() for name in columns}
