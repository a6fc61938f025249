"""A fill that this pharmacy dispensed, from a FHIR R4 `MedicationDispense`, as cells of its row.

Only what bears the pharmacy's own name as performer is a fill of its own; what another one
dispensed is a medicine that the patient may have, and no row of this pharmacy's.
"""

from labelkit.records import dates
from labelkit.records.faultbook import Unreadable
from labelkit.records.fhir_bundle import Bundle
from labelkit.records.fhir_dosage import plain, tablets
from labelkit.records.fhir_elements import Element, Resource
from labelkit.records.fhir_terms import LOT_NOT_KEPT, NUMBER_OF_FILL, NUMBER_OF_RX, REMAINING
from labelkit.records.model import Pharmacy

DISPENSE = "MedicationDispense"
_OURS = frozenset({"in-progress", "completed"})
"""MedicationDispense.status (R4): ready for pick-up, and handed over."""


def dispensed_from(bundle: Bundle, request: Resource, pharmacy: Pharmacy) -> list[Resource]:
    """This pharmacy's fills of the request, in the bundle's order."""
    return [
        resource
        for resource in bundle.resources
        if resource.kind == DISPENSE
        and str(resource.values.get("status")) in _OURS
        and _is_of(bundle, resource, request)
        and _performers(resource) == [pharmacy.name]
    ]


def fill_cells(
    bundle: Bundle, dispense: Resource, request: Resource, medicine: str
) -> dict[str, str]:
    """Cells of the fill; what says the same as the request is taken where it is the same."""
    dispense.text("status")
    for performer in dispense.children("performer"):
        performer.child("actor").text("display")
    for reference in dispense.children("authorizingPrescription"):
        reference.text("reference")
    cells = {
        "dispensed_on": _day(dispense, "whenPrepared"),
        "handed_over_on": _day(dispense, "whenHandedOver"),
        "quantity_this_fill": tablets(dispense.child("quantity")),
        "lot": _lot(bundle, dispense, medicine),
    }
    _take_if_same(bundle, dispense, request)
    for identifier in dispense.children("identifier"):
        kind = identifier.child("type").text("text")
        if kind == NUMBER_OF_FILL:
            cells["fill"] = identifier.text("value")
        elif kind == NUMBER_OF_RX:
            identifier.text("value")
        else:
            identifier.put_back()
    for extension in dispense.children("extension"):
        if extension.values.get("url") == REMAINING:
            extension.text("url")
            remaining = extension.number("valueUnsignedInt")
            cells["quantity_remaining"] = "" if remaining is None else plain(remaining)
    return cells


def _is_of(bundle: Bundle, dispense: Resource, request: Resource) -> bool:
    references = dispense.values.get("authorizingPrescription")
    if not isinstance(references, list) or len(references) != 1:
        return False
    one = references[0]
    name = one.get("reference") if isinstance(one, dict) else None
    return isinstance(name, str) and bundle.find(dispense, name, request.kind) is request


def _performers(dispense: Resource) -> list[object]:
    found = []
    performers = dispense.values.get("performer")
    for performer in performers if isinstance(performers, list) else []:
        actor = performer.get("actor") if isinstance(performer, dict) else None
        found.append(actor.get("display") if isinstance(actor, dict) else None)
    return found


def _lot(bundle: Bundle, dispense: Resource, medicine: str) -> str:
    """Number of the lot, unless it is said that nobody wrote down that it was used."""
    reference = dispense.child("medicationReference")
    if reference.text("reference") != medicine:
        reference.put_back()
    found = bundle.find(dispense, reference.text("reference"), "Medication")
    if found is None:
        return ""
    batch = found.child("batch")
    number = batch.text("lotNumber")
    for extension in batch.children("extension"):
        if extension.values.get("url") == LOT_NOT_KEPT and extension.flag("valueBoolean"):
            extension.text("url")
            number = ""
    batch.text("expirationDate")
    return number


def _take_if_same(bundle: Bundle, dispense: Resource, request: Resource) -> None:
    """Directions and patient of a dispensing that are the request's say nothing new."""
    for name in ("dosageInstruction",):
        if dispense.values.get(name) == request.values.get(name) is not None:
            for dosage in dispense.children(name):
                _take_whole(dosage)
    subject, asked = dispense.child("subject"), request.child("subject")
    if bundle.find(dispense, subject.text("reference"), "Patient") is None:
        subject.put_back()
    elif subject.values.get("reference") == asked.values.get("reference"):
        subject.text("display")
    else:
        subject.put_back()


def _take_whole(element: Element) -> None:
    for name, value in element.values.items():
        if isinstance(value, dict):
            _take_whole(element.child(name))
        elif isinstance(value, list) and all(isinstance(item, dict) for item in value):
            for child in element.children(name):
                _take_whole(child)
        else:
            element.take(name)


def _day(dispense: Resource, name: str) -> str:
    """The day of a moment, as its own offset has it."""
    try:
        day = dates.day(str(dispense.values.get(name))[:10]).isoformat()
    except Unreadable:
        return ""
    dispense.text(name)
    return day
