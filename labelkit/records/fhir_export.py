"""What was dispensed, as FHIR R4 resources in a bundle of type `collection`.

Each fill is a `MedicationDispense` with the `MedicationRequest` it fills; `Patient`,
`Practitioner`, `Medication`, the patient's allergies and other medicines stand beside them, each
under a `fullUrl` of its own. What R4 has no element for isn't squeezed into another: two figures
go as extensions, and `NOT_EXPORTED` names the rest. A fill is `completed` only when somebody
wrote down the day on which it was handed over; until then it is `in-progress`, which the
standard's value set calls ready for pick-up. The beyond-use date goes into
`Medication.batch.expirationDate`, the one element R4 has for the last day of use; on a label
it is never called an expiry.
"""

import hashlib
import json
import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Any

from labelkit.ground.errors import Fault, RecordsRefused
from labelkit.records.fhir_terms import (
    CLINICAL,
    HOURS,
    LANGUAGES,
    LEAST_INTERVAL,
    LOT_NOT_KEPT,
    NO_KNOWN_ALLERGY,
    NO_MEDICINES,
    NUMBER_OF_FILL,
    NUMBER_OF_RX,
    OWN,
    OWN_REASON,
    OWN_WHEN,
    PATIENT_ID,
    REMAINING,
    SNOMED,
    SUBLINGUAL,
    TABLET,
    UCUM,
    UCUM_MASS,
    WHEN,
    WHEN_NEEDED,
)
from labelkit.records.model import (
    Amount,
    Directions,
    Lot,
    Medicine,
    MedicineStatus,
    Patient,
    Pharmacy,
    Preparation,
    Prescriber,
    Prescription,
    Route,
)

NOT_EXPORTED = (
    "kidney",
    "liver",
    "pregnancy",
    "weight_kg",
    "renews",
    "closed_on",
    "lidding",
    "closure_requested_by",
    "closure_requested_on",
)
"""Columns of prescriptions and patients that aren't in the bundle. R4 has resources for what is
known of kidneys, liver, pregnancy and weight, in codes that say more than the pharmacy asked."""

_ID = re.compile(r"[A-Za-z0-9\-.]{1,64}")
"""FHIR R4, data type id."""

Json = dict[str, Any]


@dataclass(frozen=True, slots=True)
class Dispensed:
    """One fill that was prepared, with what other floors worked out for it."""

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
    entries: dict[str, Json] = {}
    for fill in fills:
        for name, resource in _resources(pharmacy, fill):
            entries.setdefault(_url(pharmacy, name), resource)
    bundle = {
        "resourceType": "Bundle",
        "type": "collection",
        "entry": [{"fullUrl": url, "resource": resource} for url, resource in entries.items()],
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


def _url(pharmacy: Pharmacy, name: str) -> str:
    """A resource's address: a UUID made of its names (RFC 9562, version 8), the same each time."""
    digest = hashlib.sha256(f"{OWN}{pharmacy.licence}/{name}".encode()).hexdigest()
    return f"urn:uuid:{digest[:8]}-{digest[8:12]}-8{digest[13:16]}-a{digest[17:20]}-{digest[20:32]}"


def _resources(pharmacy: Pharmacy, fill: Dispensed) -> Iterator[tuple[str, Json]]:
    """Name and content of each resource of a fill."""
    rx, patient = fill.rx, fill.rx.patient
    one = f"{rx.number}/{rx.fill}"
    prescriber = f"{rx.prescriber.registration}/{rx.prescriber.name}/{rx.prescriber.telephone}"
    names = {
        "patient": f"Patient/{patient.id}",
        "prescriber": f"Practitioner/{prescriber}",
        "medication": f"Medication/{one}",
        "request": f"MedicationRequest/{one}",
        "dispense": f"MedicationDispense/{one}",
    }
    to = {key: {"reference": _url(pharmacy, name)} for key, name in names.items()}
    yield names["patient"], _patient(patient)
    yield names["prescriber"], _practitioner(rx.prescriber)
    yield names["medication"], _medication(fill)
    yield names["request"], _request(fill, to)
    yield names["dispense"], _dispense(pharmacy, fill, to)
    for n, allergy in enumerate(_allergies(patient, to["patient"]), start=1):
        yield f"AllergyIntolerance/{patient.id}/{n}", allergy
    for n, statement in enumerate(_statements(patient, to["patient"]), start=1):
        yield f"MedicationStatement/{patient.id}/{n}", statement


def _dispense(pharmacy: Pharmacy, fill: Dispensed, to: dict[str, Json]) -> Json:
    rx = fill.rx
    resource: Json = {
        "resourceType": "MedicationDispense",
        "extension": [{"url": REMAINING, "valueUnsignedInt": rx.quantity_remaining}],
        "identifier": [_named(NUMBER_OF_RX, rx.number), _named(NUMBER_OF_FILL, str(rx.fill))],
        "status": "completed" if fill.handed_over_on else "in-progress",
        "medicationReference": to["medication"],
        "subject": {**to["patient"], "display": rx.patient.name},
        "performer": [{"actor": {"display": pharmacy.name}}],
        "authorizingPrescription": [to["request"]],
        "quantity": _tablets(Decimal(rx.quantity_this_fill)),
        "whenPrepared": rx.dispensed_on.isoformat(),
    }
    if fill.handed_over_on:
        resource["whenHandedOver"] = fill.handed_over_on.isoformat()
    return {**resource, "dosageInstruction": [_dosage(fill)]}


def _named(kind: str, value: str) -> Json:
    return {"type": {"text": kind}, "value": value}


def _medication(fill: Dispensed) -> Json:
    preparation = fill.preparation
    strength = next(s for s in preparation.strengths if s.label == fill.rx.strength)
    batch: Json = {}
    if fill.rx.lot is None:
        batch["extension"] = [{"url": LOT_NOT_KEPT, "valueBoolean": True}]
    batch |= {"lotNumber": fill.lot.number, "expirationDate": fill.beyond_use.isoformat()}
    return {
        "resourceType": "Medication",
        "code": {"text": f"{preparation.title}, {strength.label}"},
        "form": {"text": preparation.dosage_form},
        "ingredient": [
            {
                "itemCodeableConcept": {"text": ingredient.inn},
                "isActive": True,
                "strength": {"numerator": _mass(amount), "denominator": _tablets(Decimal(1))},
            }
            for ingredient, amount in zip(preparation.ingredients, strength.amounts, strict=True)
        ],
        "batch": batch,
    }


def _patient(patient: Patient) -> Json:
    language = {"coding": [{"system": LANGUAGES, "code": patient.language}]}
    resource: Json = {"resourceType": "Patient"}
    if _ID.fullmatch(patient.id):
        resource["id"] = patient.id
    return {
        **resource,
        "identifier": [_named(PATIENT_ID, patient.id)],
        "name": [{"text": patient.name}],
        "birthDate": patient.born_on.isoformat(),
        "communication": [{"language": language, "preferred": True}],
    }


def _practitioner(prescriber: Prescriber) -> Json:
    return {
        "resourceType": "Practitioner",
        "identifier": [{"value": prescriber.registration}],
        "name": [{"text": prescriber.name}],
        "telecom": [{"system": "phone", "value": prescriber.telephone, "use": "work"}],
    }


def _allergies(patient: Patient, to: Json) -> Iterator[Json]:
    """One for each; the answer 'none' has a code of its own, and no answer is no resource."""
    active = {"coding": [{"system": CLINICAL, "code": "active"}]}
    if patient.allergies is None:
        return
    none = {"coding": [{"system": NO_KNOWN_ALLERGY[0], "code": NO_KNOWN_ALLERGY[1]}]}
    codes: list[Json] = [{"text": name} for name in patient.allergies]
    for code in codes or [none]:
        yield {
            "resourceType": "AllergyIntolerance",
            "clinicalStatus": active,
            "code": code,
            "patient": to,
        }


def _statements(patient: Patient, to: Json) -> Iterator[Json]:
    for medicine in patient.medicines or ():
        yield _statement(medicine, to)
    if patient.medicines is not None and not patient.taken and patient.medicines_asked_on:
        yield {
            "resourceType": "MedicationStatement",
            "status": "active",
            "medicationCodeableConcept": {
                "coding": [{"system": NO_MEDICINES[0], "code": NO_MEDICINES[1]}]
            },
            "subject": to,
            "dateAsserted": patient.medicines_asked_on.isoformat(),
        }


def _statement(medicine: Medicine, to: Json) -> Json:
    stopped = medicine.status is MedicineStatus.STOPPED
    statement: Json = {
        "resourceType": "MedicationStatement",
        "status": "stopped" if stopped else "active",
        "medicationCodeableConcept": {"text": medicine.written},
        "subject": to,
    }
    if medicine.stopped_on:
        statement["effectivePeriod"] = {"end": medicine.stopped_on.isoformat()}
    statement["dateAsserted"] = medicine.confirmed_on.isoformat()
    statement["informationSource"] = {"type": "Practitioner", "display": medicine.confirmed_by}
    if medicine.status is MedicineStatus.WHEN_NEEDED:
        statement["dosage"] = [{"asNeededBoolean": True}]
    return statement


def _request(fill: Dispensed, to: dict[str, Json]) -> Json:
    rx = fill.rx
    open_still = rx.refills_left > 0 or rx.quantity_remaining > 0 or not fill.handed_over_on
    resource: Json = {
        "resourceType": "MedicationRequest",
        "identifier": [{"value": rx.number}],
        "status": "active" if open_still else "completed",
        "intent": "order",
        "medicationReference": to["medication"],
        "subject": to["patient"],
        "authoredOn": rx.written_on.isoformat(),
        "requester": to["prescriber"],
        "reasonCode": [{"coding": [{"system": OWN_REASON, "code": rx.directions.reason}]}],
        "dosageInstruction": [_dosage(fill)],
        "dispenseRequest": {
            "numberOfRepeatsAllowed": rx.refills_left,
            "quantity": _tablets(Decimal(rx.quantity_prescribed)),
        },
    }
    if rx.replaces:
        resource["priorPrescription"] = {"identifier": {"value": rx.replaces}}
    return resource


def _dosage(fill: Dispensed) -> Json:
    directions = fill.rx.directions
    dosage: Json = {
        "extension": [
            {"url": LEAST_INTERVAL, "valueQuantity": _hours(directions.least_interval_h)}
        ],
        "text": fill.directions,
        "timing": _timing(directions),
        "asNeededBoolean": directions.when.endswith(WHEN_NEEDED),
    }
    if directions.route is Route.UNDER_TONGUE:
        coding = {"system": SNOMED, "code": SUBLINGUAL, "display": "Sublingual route"}
        dosage["route"] = {"coding": [coding]}
    else:
        dosage["route"] = {"text": "on the tongue"}
    dosage["doseAndRate"] = [{"doseQuantity": _tablets(directions.tablets_per_dose)}]
    dosage["maxDosePerPeriod"] = {
        "numerator": _tablets(directions.most_in_24_h),
        "denominator": _hours(Decimal(24)),
    }
    return dosage


def _timing(directions: Directions) -> Json:
    """The times as labelkit calls them, and as the standard repeats them where it can."""
    timing: Json = {}
    for (times, hours, _), when in WHEN.items():
        if when == directions.when:
            days = hours % HOURS["d"] == 0
            timing["repeat"] = {
                "frequency": _number(times),
                "period": _number(hours / HOURS["d"] if days else hours),
                "periodUnit": "d" if days else "h",
            }
    timing["code"] = {"coding": [{"system": OWN_WHEN, "code": directions.when}]}
    return timing


def _hours(count: Decimal) -> Json:
    return {"value": _number(count), "unit": "hours", "system": UCUM, "code": "h"}


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
