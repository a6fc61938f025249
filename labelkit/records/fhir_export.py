"""What was dispensed, as FHIR R4 `MedicationDispense` resources in a bundle.

Each resource holds its patient, prescriber and medication within itself, so that it can be
sent alone. What R4 has no element for isn't squeezed into another: `NOT_EXPORTED` names it.
The beyond-use date goes into `Medication.batch.expirationDate`, the one element R4 has for
the last day of use; on a label it is never called an expiry.
"""

import json
import re
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Any

from labelkit.ground.errors import Fault, RecordsRefused
from labelkit.records.fhir_terms import LANGUAGES, SNOMED, SUBLINGUAL, TABLET, UCUM, UCUM_MASS
from labelkit.records.model import (
    Amount,
    Lot,
    Patient,
    Pharmacy,
    Preparation,
    Prescriber,
    Prescription,
    Route,
)

NOT_EXPORTED = (
    "quantity_remaining",
    "refills_left",
    "least_interval_h",
    "when",
    "reason",
    "id",
    "allergies",
    "kidney",
    "liver",
    "pregnancy",
    "weight_kg",
    "medicines",
    "fill",
    "renews",
    "replaces",
    "closed_on",
    "lidding",
    "closure_requested_by",
    "closure_requested_on",
)
"""Fields of a prescription, and of its patient, that R4's MedicationDispense has no element for;
`when`, `reason` and `least_interval_h` are in words in the directions' text."""

_ID = re.compile(r"[A-Za-z0-9\-.]{1,61}")
"""FHIR R4, data type id, less the prefix given here."""

Json = dict[str, Any]


@dataclass(frozen=True, slots=True)
class Dispensed:
    """One fill that was handed over, with what other floors worked out for it."""

    rx: Prescription
    preparation: Preparation
    lot: Lot
    beyond_use: date
    directions: str
    """The plain sentence on the label."""
    handed_over_on: date | None = None


def dispense_bundle(pharmacy: Pharmacy, dispensed: Iterable[Dispensed]) -> bytes:
    """A bundle of type `collection`, in JSON, UTF-8; the same input gives the same bytes.

    Raises RecordsRefused when something was handed over before it was prepared (invariant
    mdd-1 of MedicationDispense, R4).
    """
    fills = tuple(dispensed)
    faults = [_too_early(fill) for fill in fills if _is_too_early(fill)]
    if faults:
        raise RecordsRefused(faults)
    bundle = {
        "resourceType": "Bundle",
        "type": "collection",
        "entry": [{"resource": _dispense(pharmacy, fill)} for fill in fills],
    }
    return json.dumps(bundle, ensure_ascii=False, indent=1).encode("utf-8")


def _is_too_early(fill: Dispensed) -> bool:
    return fill.handed_over_on is not None and fill.handed_over_on < fill.rx.dispensed_on


def _too_early(fill: Dispensed) -> Fault:
    return Fault(
        "prescriptions",
        f"prescription {fill.rx.number}",
        "dispensed_on",
        f"handed over on {fill.handed_over_on}, before it was prepared on {fill.rx.dispensed_on}",
        "correct the one that is wrong",
        "fhir.mdd-1",
        "FHIR R4, MedicationDispense, invariant mdd-1",
    )


def _dispense(pharmacy: Pharmacy, fill: Dispensed) -> Json:
    rx = fill.rx
    resource: Json = {"resourceType": "MedicationDispense"}
    if _ID.fullmatch(rx.number):
        resource["id"] = f"rx-{rx.number}"
    resource |= {
        "contained": [
            _medication(fill),
            _patient(rx.patient),
            _practitioner(rx.prescriber),
            _request(rx),
        ],
        "status": "completed",
        "medicationReference": {"reference": "#medication"},
        "subject": {"reference": "#patient", "display": rx.patient.name},
        "performer": [{"actor": {"display": pharmacy.name}}],
        "authorizingPrescription": [{"reference": "#prescription"}],
        "quantity": _tablets(Decimal(rx.quantity_this_fill)),
        "whenPrepared": rx.dispensed_on.isoformat(),
    }
    if fill.handed_over_on:
        resource["whenHandedOver"] = fill.handed_over_on.isoformat()
    resource["dosageInstruction"] = [_dosage(fill)]
    return resource


def _medication(fill: Dispensed) -> Json:
    preparation = fill.preparation
    strength = next(s for s in preparation.strengths if s.label == fill.rx.strength)
    return {
        "resourceType": "Medication",
        "id": "medication",
        "code": {"text": f"{preparation.title}, {strength.label}"},
        "ingredient": [
            {
                "itemCodeableConcept": {"text": ingredient.inn},
                "isActive": True,
                "strength": {"numerator": _mass(amount), "denominator": _tablets(Decimal(1))},
            }
            for ingredient, amount in zip(preparation.ingredients, strength.amounts, strict=True)
        ],
        "batch": {
            "lotNumber": fill.lot.number,
            "expirationDate": fill.beyond_use.isoformat(),
        },
    }


def _patient(patient: Patient) -> Json:
    language = {"coding": [{"system": LANGUAGES, "code": patient.language}]}
    return {
        "resourceType": "Patient",
        "id": "patient",
        "name": [{"text": patient.name}],
        "birthDate": patient.born_on.isoformat(),
        "communication": [{"language": language, "preferred": True}],
    }


def _practitioner(prescriber: Prescriber) -> Json:
    return {
        "resourceType": "Practitioner",
        "id": "prescriber",
        "identifier": [{"value": prescriber.registration}],
        "name": [{"text": prescriber.name}],
        "telecom": [{"system": "phone", "value": prescriber.telephone, "use": "work"}],
    }


def _request(rx: Prescription) -> Json:
    open_still = rx.refills_left > 0 or rx.quantity_remaining > 0
    return {
        "resourceType": "MedicationRequest",
        "id": "prescription",
        "identifier": [{"value": rx.number}],
        "status": "active" if open_still else "completed",
        "intent": "order",
        "medicationReference": {"reference": "#medication"},
        "subject": {"reference": "#patient"},
        "authoredOn": rx.written_on.isoformat(),
        "requester": {"reference": "#prescriber"},
        "dispenseRequest": {"quantity": _tablets(Decimal(rx.quantity_prescribed))},
    }


def _dosage(fill: Dispensed) -> Json:
    directions = fill.rx.directions
    dosage: Json = {"text": fill.directions}
    if directions.route is Route.UNDER_TONGUE:
        coding = {"system": SNOMED, "code": SUBLINGUAL, "display": "Sublingual route"}
        dosage["route"] = {"coding": [coding]}
    else:
        dosage["route"] = {"text": "on the tongue"}
    dosage["doseAndRate"] = [{"doseQuantity": _tablets(directions.tablets_per_dose)}]
    dosage["maxDosePerPeriod"] = {
        "numerator": _tablets(directions.most_in_24_h),
        "denominator": {"value": 24, "unit": "hours", "system": UCUM, "code": "h"},
    }
    return dosage


def _tablets(count: Decimal) -> Json:
    return {"value": _number(count), "unit": "tablet", "system": UCUM, "code": TABLET}


def _mass(amount: Amount) -> Json:
    code = next(code for code, unit in UCUM_MASS.items() if unit is amount.unit)
    return {
        "value": _number(amount.value),
        "unit": amount.unit.value,
        "system": UCUM,
        "code": code,
    }


def _number(value: Decimal) -> int | float:
    """The number as JSON writes it, with these very digits. Refuses one that would lose some."""
    if value == value.to_integral_value():
        return int(value)
    written = float(value)
    if Decimal(repr(written)) != value:
        wrong = f"{value} has more digits than a JSON number keeps"
        raise RecordsRefused([Fault("prescriptions", "", "", wrong, "write it with fewer digits")])
    return written
