"""Prescriptions from a FHIR R4 bundle, as rows of the prescriptions table.

`MedicationRequest` with the `Patient`, `Practitioner` and `Medication` it refers to. Every
element that couldn't be mapped is named, none is dropped unseen; a cell that the bundle
doesn't fill stays blank, and reading the workspace then asks for it. It never assumes that
a patient takes no medicines, that a fill is whole, or that oral means on the tongue. A
resource with a modifier that labelkit can't understand is refused, as the standard asks.

The elements are read one by one rather than through a library of FHIR models: such a model
accepts what it isn't asked about, and here what nobody asked about must be told.
"""

import json
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal, DecimalException

from labelkit.ground.errors import Fault, RecordsRefused
from labelkit.records import dates, patient_rows
from labelkit.records.faultbook import FaultBook, Unreadable
from labelkit.records.fhir_dosage import dosage_cells, reason, tablets
from labelkit.records.fhir_elements import Element, Resource
from labelkit.records.fhir_medication import medication_cells
from labelkit.records.fhir_people import patient_cells, prescriber_cells
from labelkit.records.fhir_terms import ORDER_INTENTS
from labelkit.records.json_rows import each_name_once
from labelkit.records.model import Preparation
from labelkit.records.prescription_rows import COLUMNS, OPTIONAL
from labelkit.records.text import shown

REQUEST = "MedicationRequest"
OURS = ("dispensed_on", "quantity_this_fill", "quantity_remaining")
"""Columns that only the pharmacy can fill: no prescription holds them."""


_LOOK = "see whether it matters, and write what does into the row by hand"


@dataclass(frozen=True, slots=True)
class Imported:
    """Rows for the tables, and all that couldn't be carried into them."""

    rows: tuple[dict[str, str], ...]
    """Of the prescriptions' table."""
    patients: tuple[dict[str, str], ...]
    """Of the patients' table, each once."""
    left_out: tuple[Fault, ...]


class _Bundle:
    """The resources of one bundle, found by the references R4 allows within it."""

    def __init__(self, book: FaultBook, name: str, resources: Sequence[Resource]) -> None:
        self.book = book
        self.name = name
        self.resources = resources
        self.not_ordered: list[Resource] = []

    def tell(self, resource: Resource, field: str, wrong: str, mend: str) -> None:
        """Name one thing that isn't carried over."""
        self.book.add(self.name, resource.key, field, wrong, mend)

    def find(self, owner: Resource, reference: str, kind: str) -> Element | None:
        """The resource of that kind: contained, by full URL, or by ``Type/id``."""
        if reference.startswith("#"):
            for values in owner.children("contained"):
                if (values.values.get("resourceType"), values.values.get("id")) == (
                    kind,
                    reference[1:],
                ):
                    values.text("resourceType")
                    values.text("id")
                    return values
            return None
        for resource in self.resources:
            if resource.kind == kind and reference in (resource.url, resource.key):
                return resource
        return None


def read_bundle(
    data: bytes, name: str, preparations: Sequence[Preparation], languages: tuple[str, ...]
) -> Imported:
    """Rows for every request to dispense in the bundle, and what couldn't be mapped.

    `languages` are those the pharmacy offers. Raises RecordsRefused when the file is no R4
    bundle in JSON, or holds a modifier that labelkit doesn't understand.
    """
    bundle = _Bundle(FaultBook(), name, _resources(data, name))
    rows = []
    patients: dict[str, dict[str, str]] = {}
    for resource in bundle.resources:
        if resource.kind == REQUEST and _to_dispense(bundle, resource):
            row, patient = _row(bundle, resource, preparations, languages)
            rows.append(row)
            if patient.get("id"):
                patients.setdefault(patient["id"], patient)
    _tell_what_is_left(bundle)
    return Imported(tuple(rows), tuple(patients.values()), bundle.book.faults)


def _resources(data: bytes, name: str) -> list[Resource]:
    try:
        tree = json.loads(data, parse_float=Decimal, object_pairs_hook=each_name_once)
    except (ValueError, RecursionError, DecimalException):
        raise RecordsRefused([_refusal(name, "", "isn't JSON that can be read")]) from None
    if not isinstance(tree, dict) or tree.get("resourceType") != "Bundle":
        raise RecordsRefused([_refusal(name, "", "isn't a FHIR bundle")])
    entries = tree.get("entry", [])
    found = []
    for entry in entries if isinstance(entries, list) else []:
        resource = entry.get("resource") if isinstance(entry, dict) else None
        if isinstance(resource, dict):
            found.append(Resource(resource, str(entry.get("fullUrl", ""))))
    faults = [
        _refusal(name, r.key, f"holds {word}, which changes its meaning in a way unknown here")
        for r in found
        for word in ("modifierExtension", "implicitRules")
        if _holds(r.values, word)
    ]
    if faults:
        raise RecordsRefused(faults)
    if not any(r.kind == REQUEST for r in found):
        raise RecordsRefused([_refusal(name, "", f"holds no {REQUEST}")])
    return found


def _refusal(name: str, where: str, wrong: str) -> Fault:
    return Fault(name, where, "", wrong, "export a Bundle of FHIR R4 in JSON, without modifiers")


def _holds(value: object, word: str) -> bool:
    if isinstance(value, dict):
        return word in value or any(_holds(item, word) for item in value.values())
    return isinstance(value, list) and any(_holds(item, word) for item in value)


def _to_dispense(bundle: _Bundle, request: Resource) -> bool:
    status, intent = request.text("status"), request.text("intent")
    if status == "active" and intent in ORDER_INTENTS and not request.flag("doNotPerform"):
        return True
    bundle.not_ordered.append(request)
    bundle.tell(
        request,
        "status",
        f"isn't an active order (status {shown(status)}, intent {shown(intent)}), so no row "
        "is made of it",
        "ask the prescriber if it was meant to be dispensed",
    )
    return False


def _row(
    bundle: _Bundle,
    request: Resource,
    preparations: Sequence[Preparation],
    languages: tuple[str, ...],
) -> tuple[dict[str, str], dict[str, str]]:
    """The prescription's row, and its patient's."""
    row = dict.fromkeys(COLUMNS, "")
    row["number"] = _number(request)
    row["written_on"] = _written_on(request)
    patient = _referred(bundle, request, "subject", "Patient")
    person = dict.fromkeys(patient_rows.COLUMNS, "")
    if patient:
        person |= patient_cells(patient, languages)
        row["patient"] = person["id"]
    prescriber = _referred(bundle, request, "requester", "Practitioner")
    if prescriber:
        row |= prescriber_cells(prescriber)
    row |= _medication(bundle, request, preparations)
    row |= _supply(request.child("dispenseRequest"))
    reasons = [reason(concept) for concept in request.children("reasonCode")]
    row["reason"] = reasons[0] if len(reasons) == 1 else ""
    dosages = request.children("dosageInstruction")
    if len(dosages) == 1:
        cells = dosage_cells(dosages[0])
        row |= {column: cell for column, cell in cells.items() if cell}
    for column, cell in row.items():
        if not cell and column not in OPTIONAL:
            ours = column in OURS
            wrong = "is the pharmacy's to say" if ours else "couldn't be taken from the bundle"
            bundle.tell(request, column, wrong, "fill it in")
    for column, cell in person.items():
        if not cell and column not in patient_rows.OPTIONAL and person["id"]:
            wrong = "of the patient couldn't be taken from the bundle"
            bundle.tell(request, column, wrong, "fill it in")
    bundle.tell(
        request,
        "medicines",
        "of the patient are the pharmacy's to say",
        "ask, and write each medicine, or 'none', into medicines.csv",
    )
    return row, person


def _number(request: Resource) -> str:
    identifiers = request.children("identifier")
    if len(identifiers) != 1:
        return ""
    identifiers[0].text("use")
    identifiers[0].text("system")
    return identifiers[0].text("value")


def _written_on(request: Resource) -> str:
    """The day of `authoredOn`, as its own offset has it."""
    written = request.values.get("authoredOn")
    try:
        day = dates.day(str(written)[:10]).isoformat()
    except Unreadable:
        return ""
    request.text("authoredOn")
    return day


def _referred(bundle: _Bundle, request: Resource, name: str, kind: str) -> Element | None:
    reference = request.child(name)
    found = bundle.find(request, reference.text("reference"), kind)
    if found is None:
        reference.put_back()
        return None
    reference.text("type")
    reference.text("display")
    return found


def _medication(
    bundle: _Bundle, request: Resource, preparations: Sequence[Preparation]
) -> dict[str, str]:
    concept: Element = request.child("medicationCodeableConcept")
    ingredients: Sequence[Element] = ()
    if not concept:
        medication = _referred(bundle, request, "medicationReference", "Medication")
        if medication is None:
            return {}
        concept, ingredients = medication.child("code"), medication.children("ingredient")
    cells = medication_cells(concept, ingredients, preparations)
    if cells.get("strength") and not concept.untouched:
        bundle.tell(
            request,
            concept.path,
            f"{shown(_brief(concept.values), 120)} was read as {cells['preparation']}, "
            f"{cells['strength']}",
            "see whether it is the same medicine, form and route",
        )
    return cells


def _supply(supply: Element) -> dict[str, str]:
    repeats = supply.number("numberOfRepeatsAllowed")
    return {
        "quantity_prescribed": tablets(supply.child("quantity")),
        "refills_left": "" if repeats is None else f"{repeats:f}",
    }


def _tell_what_is_left(bundle: _Bundle) -> None:
    for resource in bundle.resources:
        if resource in bundle.not_ordered:
            continue
        if resource.untouched:
            bundle.tell(resource, "", "isn't carried over: no request refers to it", _LOOK)
            continue
        for path, value in resource.left():
            bundle.tell(
                resource,
                path,
                f"isn't carried over: {shown(_brief(value), 120)}",
                _LOOK,
            )


def _brief(value: object) -> str:
    if isinstance(value, str):
        return value
    return json.dumps(value, ensure_ascii=False, default=str, sort_keys=True)
