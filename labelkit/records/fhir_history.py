"""A patient's allergies and other medicines in a FHIR R4 bundle, by name, as cells of their files.

What is taken over stands there as it was written; what says less than it seems (an allergy that
was refuted, a medicine that nobody confirmed) is told. An answer 'none' is taken from the one
code that means it, never from an empty list.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from labelkit.records import dates
from labelkit.records.faultbook import Unreadable
from labelkit.records.fhir_bundle import Bundle, brief
from labelkit.records.fhir_elements import Element, Resource
from labelkit.records.fhir_medication import Medicine, medicine
from labelkit.records.fhir_people import person_name
from labelkit.records.fhir_terms import ALLERGY_DENIED, NO_KNOWN_ALLERGY, NO_MEDICINES
from labelkit.records.patient_rows import MEDICINE_COLUMNS, NONE
from labelkit.records.patients import MedicineStatus
from labelkit.records.text import NAME, shown

ALLERGY, STATEMENT = "AllergyIntolerance", "MedicationStatement"
_TAKEN = frozenset({"active", "intended", "on-hold", "unknown"})
"""MedicationStatement.status (R4) of what a patient may take: on hold may go on tomorrow."""
_ENDED = frozenset({"completed", "stopped"})
_ASK = "ask the patient"


@dataclass(frozen=True, slots=True)
class Named:
    """A medicine of a patient that a resource names."""

    patient: str
    row: dict[str, str]


def allergies(bundle: Bundle, owners: Mapping[int, str]) -> dict[str, list[str]]:
    """Names of allergies by the patient's id. `owners`: the id of each Patient resource."""
    found: dict[str, list[str]] = {}
    for resource in bundle.resources:
        if resource.kind != ALLERGY:
            continue
        patient = _owner(bundle, resource, "patient", owners)
        if not patient:
            continue
        name = _allergy(bundle, resource)
        if name:
            found.setdefault(patient, []).append(name)
    for patient, names in found.items():
        if NONE in names and len(set(names)) > 1:
            found[patient] = [name for name in names if name != NONE]
    return found


def _allergy(bundle: Bundle, resource: Resource) -> str:
    """What the patient doesn't bear; 'none' where that is said; '' where it is told instead."""
    code = resource.child("code")
    codes, words = code.codes(), code.words()
    standing = {word for _, word in resource.child("verificationStatus").codes()}
    if standing & ALLERGY_DENIED:
        told = shown("; ".join(words) or brief(code.values), 300)
        bundle.tell(resource, "code", f"{told} is said to be no allergy (any more)", _ASK)
        bundle.closed.append(resource)
        return ""
    if standing - {"confirmed"}:
        resource.child("verificationStatus").put_back()
    if {word for _, word in resource.child("clinicalStatus").codes()} != {"active"}:
        resource.child("clinicalStatus").put_back()
    if NO_KNOWN_ALLERGY in codes:
        return NONE
    name = words[0] if words else ""
    if not name or len(name) > NAME or any(mark in name for mark in ";|\r\n"):
        code.put_back()
        return ""
    for other in words[1:]:
        if other.casefold() != name.casefold():
            wrong = f"{shown(name)} is also called {shown(other, 200)}"
            bundle.tell(resource, "code", wrong, "see that the name taken over is the right one")
    return name


def statements(bundle: Bundle, owners: Mapping[int, str]) -> list[Named]:
    """A row for each medicine that a MedicationStatement names."""
    found = []
    for resource in bundle.resources:
        if resource.kind != STATEMENT:
            continue
        patient = _owner(bundle, resource, "subject", owners)
        status = resource.text("status")
        if not patient:
            continue
        named = medicine(bundle, resource, ())
        if _is_none(resource) and status == "active":
            none = dict.fromkeys(MEDICINE_COLUMNS, "") | {"patient": patient, "medicine": NONE}
            resource.child("medicationCodeableConcept").words()
            found.append(Named(patient, none | _confirmed(bundle, resource)))
            continue
        if status not in _TAKEN | _ENDED or not named.names:
            resource.put_back()
            continue
        row = medicine_row(patient, named, needed=_needed(resource))
        if "medicationCodeableConcept" in resource.values and len(named.names) == 1:
            resource.child("medicationCodeableConcept").words()
        if status in _ENDED:
            row |= {"status": MedicineStatus.STOPPED.value, "stopped_on": _ended(resource)}
        elif status != "active":
            bundle.tell(resource, "status", f"{shown(named.written, 200)}: {shown(status)}", _ASK)
        found.append(Named(patient, row | _confirmed(bundle, resource)))
    return found


def _is_none(resource: Resource) -> bool:
    """Whether it says that the patient takes no medicines."""
    return NO_MEDICINES in resource.child("medicationCodeableConcept").codes()


def medicine_row(patient: str, named: Medicine, *, needed: bool) -> dict[str, str]:
    """A medicine that the patient takes, as it is called, which nobody has confirmed."""
    status = MedicineStatus.WHEN_NEEDED if needed else MedicineStatus.TAKES
    written = " ".join(named.written.split())[:NAME]
    return dict.fromkeys(MEDICINE_COLUMNS, "") | {
        "patient": patient,
        "medicine": written,
        "status": status.value,
    }


def is_when_needed(dosages: Sequence[Element]) -> bool:
    """Whether all of them say so; it is looked at, not taken."""
    return bool(dosages) and all(
        one.values.get("asNeededBoolean") is True or "asNeededCodeableConcept" in one.values
        for one in dosages
    )


def _needed(resource: Resource) -> bool:
    dosages = resource.children("dosage")
    for dosage in dosages:
        if set(dosage.values) == {"asNeededBoolean"}:
            dosage.flag("asNeededBoolean")
        else:
            dosage.put_back()
    return is_when_needed(dosages)


def _owner(bundle: Bundle, resource: Resource, name: str, owners: Mapping[int, str]) -> str:
    """Id of the patient that the resource is about; '' where no request's patient is meant."""
    reference = resource.child(name)
    found = bundle.find(resource, reference.text("reference"), "Patient")
    if found is None or id(found) not in owners:
        resource.put_back()
        return ""
    reference.text("type")
    reference.text("display")
    return owners[id(found)]


def _ended(resource: Resource) -> str:
    period = resource.child("effectivePeriod")
    end = _day(period.text("end"))
    if not end:
        period.put_back()
    elif "start" in period.values:
        period.text("start")
    return end


def _confirmed(bundle: Bundle, resource: Resource) -> dict[str, str]:
    """Who of a health profession said so, and when; blank where that isn't told."""
    source = resource.child("informationSource")
    found = bundle.find(resource, source.text("reference"), "Practitioner")
    name = person_name(found) if found is not None else ""
    if source.text("type") in ("Practitioner", "PractitionerRole"):
        name = name or source.text("display")
    day = _day(resource.text("dateAsserted"))
    if not name or not day:
        source.put_back()
        return {"confirmed_on": day} if day else {}
    source.text("type")
    source.text("display")
    return {"confirmed_by": name, "confirmed_on": day}


def _day(text: str) -> str:
    try:
        return dates.day(text[:10]).isoformat()
    except Unreadable:
        return ""
