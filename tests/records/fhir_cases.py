"""Bundles that the tests of reading FHIR share: one order, changed in one place at a time."""

import json
from typing import Any

from record_cases import SAMPLE

from labelkit.records.fhir_import import Imported, read_bundle
from labelkit.records.fhir_told import Weight
from labelkit.records.reading import read_workspace

HOUSE = read_workspace(SAMPLE)
UCUM = "http://unitsofmeasure.org"


def tablets(count: float) -> dict[str, Any]:
    """A quantity in tablets."""
    return {"value": count, "system": UCUM, "code": "{tablet}"}


def order(**change: Any) -> dict[str, Any]:
    """An active order of ondansetron 4 mg; an element given as None is left out."""
    resource = {
        "resourceType": "MedicationRequest",
        "id": "mr-1",
        "identifier": [{"value": "700"}],
        "status": "active",
        "intent": "order",
        "medicationCodeableConcept": {"text": "ondansetron 4 mg tablet"},
        "subject": {"reference": "Patient/p-1"},
        "authoredOn": "2026-11-23",
        "requester": {"reference": "Practitioner/d-1"},
        "reasonCode": [{"text": "nausea"}],
        "dosageInstruction": [
            {
                "asNeededBoolean": True,
                "timing": {"repeat": {"frequency": 1, "period": 8, "periodUnit": "h"}},
                "doseAndRate": [{"doseQuantity": tablets(1)}],
            }
        ],
        "dispenseRequest": {"numberOfRepeatsAllowed": 0, "quantity": tablets(10)},
    } | change
    return {name: value for name, value in resource.items() if value is not None}


PATIENT = {
    "resourceType": "Patient",
    "id": "p-1",
    "name": [{"text": "Ilse Brandvold"}],
    "birthDate": "1980-05-06",
    "communication": [
        {"language": {"coding": [{"system": "urn:ietf:bcp:47", "code": "en"}]}, "preferred": True}
    ],
}
PRACTITIONER = {
    "resourceType": "Practitioner",
    "id": "d-1",
    "identifier": [{"value": "DEMO-MD-1"}],
    "name": [{"text": "Hester Quillfeather, MD"}],
    "telecom": [{"system": "phone", "value": "(503) 555-0131", "use": "work"}],
}


def tree(*resources: dict[str, Any], people: bool = True, **frame: Any) -> dict[str, Any]:
    """A bundle of these resources, with the patient and the prescriber."""
    all_ = [*resources, *([PATIENT, PRACTITIONER] if people else [])]
    entries = [{"resource": one} for one in all_]
    return {"resourceType": "Bundle", "type": "collection", "entry": entries, **frame}


def read(tree: dict[str, Any]) -> Imported:
    """The bundle, imported for the sample pharmacy."""
    data = json.dumps(tree).encode()
    return read_bundle(data, "bundle.json", HOUSE.pharmacy, HOUSE.preparations)


def row(imported: Imported) -> dict[str, str]:
    """The row of the only request."""
    (one,) = imported.requests
    return one.row


def dangers(imported: Imported) -> dict[str, str]:
    """What is told of safety: the field and what is wrong."""
    found: dict[str, str] = {}
    for one in imported.told:
        if one.weight is Weight.SAFETY:
            said = f"{found.get(one.fault.field, '')} | {one.fault.wrong}"
            found[one.fault.field] = said.strip(" |")
    return found
