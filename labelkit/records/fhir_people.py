"""Patient, Practitioner, PractitionerRole and their references in a FHIR R4 bundle, as cells.

Takes the name in use, never one that is old or was a maiden name; the identifier, the
telephone, the language that is preferred. It chooses nothing between two equal candidates.
"""

from labelkit.records.fhir_bundle import Bundle
from labelkit.records.fhir_elements import Element, Resource
from labelkit.records.fhir_terms import LANGUAGES, PATIENT_ID

US_NPI = "http://hl7.org/fhir/sid/us-npi"
"""The US national provider identifier (FHIR R4, section 4.1.1.1, known identifier systems)."""

_NAMES_IN_USE = ("official", "usual", "")


def patient_cells(patient: Element, offered: tuple[str, ...]) -> dict[str, str]:
    """The patient's row: id, name, date of birth and language; what can't be told is left out."""
    return {
        "id": _patient_id(patient),
        "name": person_name(patient),
        "born_on": patient.text("birthDate"),
        "language": _language(patient, offered),
    }


def prescriber_cells(bundle: Bundle, request: Resource) -> dict[str, str]:
    """Name, registration and telephone of the requester: a practitioner, or the role of one.

    A role's own telephone counts where it has one: it is that of the place of work.
    """
    requester = request.child("requester")
    found = bundle.follow(request, requester, "Practitioner", "PractitionerRole")
    if found is None:
        return {}
    if found.values.get("resourceType") == "Practitioner":
        return _cells(found)
    owner = found if isinstance(found, Resource) else request
    practitioner = bundle.follow(owner, found.child("practitioner"), "Practitioner")
    telephone = _telephone(found)
    cells = _cells(practitioner, telephone=not telephone) if practitioner else {}
    return {**cells, "prescriber_telephone": telephone or cells.get("prescriber_telephone", "")}


def _cells(practitioner: Element, *, telephone: bool = True) -> dict[str, str]:
    return {
        "prescriber_name": person_name(practitioner),
        "prescriber_registration": _registration(practitioner),
        "prescriber_telephone": _telephone(practitioner) if telephone else "",
    }


def _patient_id(patient: Element) -> str:
    """The pharmacy's own id of the patient where the bundle bears it, else the resource's id."""
    own = ""
    for identifier in patient.children("identifier"):
        if identifier.child("type").text("text") == PATIENT_ID:
            own = identifier.text("value")
        else:
            identifier.put_back()
    return own or patient.text("id")


def person_name(person: Element) -> str:
    """The name in use: `official` before `usual` before one without a use."""
    names = person.children("name")
    for use in _NAMES_IN_USE:
        found = [name for name in names if str(name.values.get("use", "")) == use]
        if len(found) == 1:
            return _spoken(found[0])
    return ""


def _spoken(name: Element) -> str:
    name.text("use")
    parts = [
        *name.texts("prefix"),
        *name.texts("given"),
        name.text("family"),
        *name.texts("suffix"),
    ]
    return name.text("text") or " ".join(part for part in parts if part)


def _language(patient: Element, offered: tuple[str, ...]) -> str:
    entries = patient.children("communication")
    wanted = [entry for entry in entries if entry.values.get("preferred") is True] or entries
    if len(wanted) != 1:
        return ""
    wanted[0].flag("preferred")
    concept = wanted[0].child("language")
    for coding in concept.children("coding"):
        if coding.text("system") in ("", LANGUAGES):
            coding.text("display")
            concept.text("text")
            return _offered(coding.text("code"), offered)
    return ""


def _offered(tag: str, offered: tuple[str, ...]) -> str:
    """The tag, shortened until the pharmacy offers it (lookup, RFC 4647, 3.4); else as it is."""
    parts = tag.split("-")
    for length in range(len(parts), 0, -1):
        shorter = "-".join(parts[:length])
        if shorter in offered:
            return shorter
    return tag


def _registration(practitioner: Element) -> str:
    identifiers = practitioner.children("identifier")
    wanted = [i for i in identifiers if i.values.get("system") == US_NPI] or identifiers
    if len(wanted) != 1:
        return ""
    wanted[0].text("system")
    wanted[0].text("use")
    return wanted[0].text("value")


def _telephone(practitioner: Element) -> str:
    phones = [t for t in practitioner.children("telecom") if t.values.get("system") == "phone"]
    wanted = [t for t in phones if t.values.get("use") == "work"] or phones
    if len(wanted) != 1:
        return ""
    wanted[0].text("system")
    wanted[0].text("use")
    return wanted[0].text("value")
