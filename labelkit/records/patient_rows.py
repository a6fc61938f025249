"""Reads the rows of ``patients.csv`` and ``medicines.csv`` (or their JSON twins).

A patient's row says who it is; each row of the medicines says one medicine of one patient, or
the word ``none``. Blank means that nobody asked, never 'none'. What a medicine is, and whether
it matters, is the rules' business.
"""

from collections.abc import Sequence
from decimal import Decimal
from enum import StrEnum
from typing import TypeVar

from labelkit.records.faultbook import Unreadable
from labelkit.records.fields import Fields
from labelkit.records.patients import (
    Kidney,
    Liver,
    Medicine,
    MedicineStatus,
    Patient,
    Pregnancy,
)
from labelkit.records.pharmacy_file import language_tag
from labelkit.records.text import NAME, clean

E = TypeVar("E", bound=StrEnum)

COLUMNS = (
    "id",
    "name",
    "born_on",
    "language",
    "allergies",
    "kidney",
    "liver",
    "pregnancy",
    "weight_kg",
)
OPTIONAL = ("allergies", "kidney", "liver", "pregnancy", "weight_kg")
MEDICINE_COLUMNS = (
    "patient",
    "medicine",
    "status",
    "stopped_on",
    "confirmed_by",
    "confirmed_on",
)
MEDICINE_OPTIONAL = ("stopped_on",)
NONE = "none"
"""The word that says: asked, and there are none."""
MOST_WEIGHT_KG = 650
"""No patient is taken to be heavier. Our own bound, above the greatest weight on record."""


class Answered(Medicine):
    """A row of the medicines' table, with the patient it belongs to."""

    patient: str

    @property
    def is_none(self) -> bool:
        """Whether it says that there are no medicines."""
        return self.written.casefold() == NONE


def read_patient(fields: Fields) -> Patient | None:
    """The patient without medicines, or None when the row has faults."""
    patient = Patient(
        id=fields.patient_id("id"),
        name=fields.text("name"),
        born_on=fields.day("born_on"),
        language=fields.parsed("language", "", language_tag),
        allergies=_allergies(fields),
        kidney=_known(fields, "kidney", Kidney.UNKNOWN),
        liver=_known(fields, "liver", Liver.UNKNOWN),
        pregnancy=_known(fields, "pregnancy", Pregnancy.UNKNOWN),
        weight_kg=None if fields.blank("weight_kg") else _weight(fields),
    )
    return patient if fields.sound else None


def read_medicine(fields: Fields) -> Answered | None:
    """The medicine of one patient, or None when the row has faults."""
    none = str(fields.values.get("medicine") or "").strip().casefold() == NONE
    said = MedicineStatus.TAKES if none and fields.blank("status") else _status(fields)
    answer = Answered(
        patient=fields.patient_id("patient"),
        written=fields.text("medicine"),
        status=said,
        stopped_on=fields.maybe_day("stopped_on"),
        confirmed_by=fields.text("confirmed_by"),
        confirmed_on=fields.day("confirmed_on"),
    )
    if fields.sound:
        _check_medicine(fields, answer)
    return answer if fields.sound else None


def with_medicines(patient: Patient, answers: Sequence[Answered]) -> Patient:
    """The patient with all rows of its medicines; without any, nobody asked."""
    if not answers:
        return patient
    kept = tuple(
        Medicine(**one.model_dump(exclude={"patient"})) for one in answers if not one.is_none
    )
    counting = [one.confirmed_on for one in answers if one.status is not MedicineStatus.STOPPED]
    return patient.model_copy(
        update={"medicines": kept, "medicines_asked_on": min(counting, default=None)}
    )


def listed(text: str) -> tuple[str, ...]:
    """Texts between ``;`` or ``|`` or line breaks; the one word ``none`` is an empty tuple.

    Raises Unreadable.
    """
    for mark in ("|", "\r", "\n"):
        text = text.replace(mark, ";")
    names = tuple(clean(part, NAME) for part in text.split(";") if part.strip())
    if not names:
        raise Unreadable("names nothing", f"write the names, or the word '{NONE}'")
    if len(names) == 1 and names[0].casefold() == NONE:
        return ()
    if any(name.casefold() == NONE for name in names):
        raise Unreadable(f"says '{NONE}' beside others", "leave the one that is true")
    return names


def _allergies(fields: Fields) -> tuple[str, ...] | None:
    if fields.blank("allergies"):
        return None
    none: tuple[str, ...] = ()
    return fields.parsed("allergies", none, listed)


def _known(fields: Fields, name: str, unknown: E) -> E:
    """The member that the cell names, and `unknown` where it is blank."""
    if fields.blank(name):
        return unknown
    members = type(unknown)
    return members(fields.choice(name, [one.value for one in members if one is not unknown]))


def _weight(fields: Fields) -> Decimal:
    weight = fields.positive("weight_kg")
    if weight > MOST_WEIGHT_KG:
        fields.fault("weight_kg", f"{weight} kg is no patient's weight", "write it in kilograms")
    return weight


def _status(fields: Fields) -> MedicineStatus:
    return MedicineStatus(fields.choice("status", [one.value for one in MedicineStatus]))


def _check_medicine(fields: Fields, answer: Answered) -> None:
    stopped = answer.status is MedicineStatus.STOPPED
    if answer.is_none and answer.status is not MedicineStatus.TAKES:
        fields.fault(
            "status",
            f"'{NONE}' says that the patient takes no medicine, and can't be {answer.status}",
            f"leave it blank beside '{NONE}', or name the medicine",
        )
    elif stopped and answer.stopped_on is None:
        fields.fault(
            "stopped_on",
            "is empty although the medicine was stopped",
            "write the day on which the patient stopped it",
        )
    elif not stopped and answer.stopped_on is not None:
        fields.fault(
            "stopped_on",
            f"holds a day although the status is '{answer.status}'",
            f"write '{MedicineStatus.STOPPED}' if it was stopped, or take the day out",
        )
    if answer.stopped_on is not None and answer.stopped_on > answer.confirmed_on:
        fields.fault(
            "stopped_on",
            f"{answer.stopped_on} is later than the day it was confirmed on, {answer.confirmed_on}",
            "correct the one that is wrong",
        )
