"""Allergies and other medicines of the patient, people by roles, pages and names of resources."""

from typing import Any

import pytest
from fhir_cases import PATIENT, dangers, order, read, row, tree


def allergy(text: str = "", **change: Any) -> dict[str, Any]:
    """An allergy of the patient."""
    return {
        "resourceType": "AllergyIntolerance",
        "id": f"al-{text}",
        "code": {"text": text},
        "patient": {"reference": "Patient/p-1"},
    } | change


def status(code: str) -> dict[str, Any]:
    """A verification status."""
    system = "http://terminology.hl7.org/CodeSystem/allergyintolerance-verification"
    return {"verificationStatus": {"coding": [{"system": system, "code": code}]}}


def statement(text: str, **change: Any) -> dict[str, Any]:
    """A medicine that the patient takes."""
    return {
        "resourceType": "MedicationStatement",
        "id": f"ms-{text}",
        "status": "active",
        "medicationCodeableConcept": {"text": text},
        "subject": {"reference": "Patient/p-1"},
    } | change


def test_allergies_are_taken_over_by_name() -> None:
    """Two of them stand in the patient's cell; how bad a reaction was is told first."""
    severe = allergy("aspartame", reaction=[{"severity": "severe"}])
    imported = read(tree(order(), allergy("penicillin"), severe))
    assert imported.patients[0]["allergies"] == "penicillin; aspartame"
    assert "severe" in dangers(imported)["reaction"]


def test_none_is_taken_from_its_code_alone() -> None:
    """'No known allergy' is the answer 'none', not beside another; no allergy is no answer."""
    none = {"code": {"coding": [{"system": "http://snomed.info/sct", "code": "716186003"}]}}
    assert read(tree(order(), allergy(**none))).patients[0]["allergies"] == "none"
    both = read(tree(order(), allergy(**none), allergy("latex")))
    assert both.patients[0]["allergies"] == "latex"
    assert read(tree(order())).patients[0]["allergies"] == ""
    drugs = {"code": {"coding": [{"system": "http://snomed.info/sct", "code": "409137002"}]}}
    assert read(tree(order(), allergy(**drugs))).patients[0]["allergies"] == ""


@pytest.mark.parametrize("code", ["refuted", "entered-in-error"])
def test_an_allergy_that_was_refuted_is_told_by_name(code: str) -> None:
    """It isn't taken over, and its name is told."""
    imported = read(tree(order(), allergy("latex", **status(code))))
    assert imported.patients[0]["allergies"] == ""
    assert "'latex'" in dangers(imported)["code"]


def test_anothers_allergy_is_not_this_patients() -> None:
    """An allergy of a patient that no order is for is told, and taken over for nobody."""
    imported = read(tree(order(), allergy("latex", patient={"reference": "Patient/p-2"})))
    assert imported.patients[0]["allergies"] == ""
    assert any("latex" in t.fault.wrong for t in imported.told)


def test_other_medicines_are_rows_to_be_confirmed() -> None:
    """By name and status; who said so counts only when it is somebody of a health profession."""
    confirmed = {
        "dateAsserted": "2026-11-20",
        "informationSource": {"reference": "Practitioner/d-1"},
    }
    imported = read(
        tree(
            order(),
            statement("glyceryl trinitrate spray", dosage=[{"asNeededBoolean": True}]),
            statement("lisinopril", **confirmed),
            statement("ramipril", status="stopped", effectivePeriod={"end": "2026-10-01"}),
            statement("metformin", informationSource={"reference": "Patient/p-1"}),
        )
    )
    assert [tuple(one.values()) for one in imported.medicines] == [
        ("p-1", "glyceryl trinitrate spray", "when-needed", "", "", ""),
        ("p-1", "lisinopril", "takes", "", "Hester Quillfeather, MD", "2026-11-20"),
        ("p-1", "ramipril", "stopped", "2026-10-01", "", ""),
        ("p-1", "metformin", "takes", "", "", ""),
    ]


def test_an_order_that_only_reports_is_a_medicine_not_an_order() -> None:
    """`reportedBoolean` and intent `plan` say what is taken: a medicine, no row to dispense."""
    reported = order(
        id="mr-2", medicationCodeableConcept={"text": "isosorbide"}, reportedBoolean=True
    )
    plan = order(id="mr-3", medicationCodeableConcept={"text": "warfarin"}, intent="plan")
    imported = read(tree(order(), reported, plan))
    assert len(imported.requests) == 1
    assert [one["medicine"] for one in imported.medicines] == ["isosorbide", "warfarin"]
    told = [t.fault for t in imported.told if t.fault.where == "MedicationRequest/mr-2"]
    assert "isosorbide" in told[0].wrong


def test_not_to_be_given_makes_no_row() -> None:
    """`doNotPerform` is the opposite of an order: told with the medicine's name."""
    imported = read(tree(order(), order(id="mr-2", doNotPerform=True)))
    assert len(imported.requests) == 1
    assert any("not to be given" in t.fault.wrong for t in imported.told)
    assert imported.medicines == ()


def test_a_further_page_is_told() -> None:
    """`Bundle.link` next: what stands there isn't known."""
    link = [{"relation": "self", "url": "a"}, {"relation": "next", "url": "https://c.example/2"}]
    imported = read(tree(order(), link=link))
    assert "https://c.example/2" in dangers(imported)["link"]
    assert "link" not in dangers(read(tree(order(), link=link[:1])))


def test_requests_without_id_are_told_apart_by_full_url() -> None:
    """Two orders without id, each under its URL: each one's blanks are told at its own place."""
    bundle = tree(order(id=None), order(id=None, identifier=[{"value": "701"}]))
    for n in (0, 1):
        bundle["entry"][n]["fullUrl"] = f"urn:uuid:{n}"
    imported = read(bundle)
    assert [one.source for one in imported.requests] == ["urn:uuid:0", "urn:uuid:1"]
    assert all({t.fault.where for t in one.told} == {one.source} for one in imported.requests)


def test_a_role_leads_to_its_practitioner() -> None:
    """The requester is a PractitionerRole: name and registration of the person, telephone of the
    place; a role whose person isn't in the bundle gives none."""
    role = {
        "resourceType": "PractitionerRole",
        "id": "r-1",
        "practitioner": {"reference": "Practitioner/d-1"},
        "telecom": [{"system": "phone", "value": "(503) 555-0188"}],
    }
    asked = order(requester={"reference": "PractitionerRole/r-1"})
    found = row(read(tree(asked, role)))
    assert found["prescriber_name"] == "Hester Quillfeather, MD"
    assert found["prescriber_registration"] == "DEMO-MD-1"
    assert found["prescriber_telephone"] == "(503) 555-0188"
    alone = read(tree(asked, role, PATIENT, people=False))
    assert row(alone)["prescriber_name"] == ""
    assert ("PractitionerRole/r-1", "practitioner") in {
        (t.fault.where, t.fault.field) for t in alone.told
    }


def test_a_long_number_is_a_number() -> None:
    """A UUID as the prescription's number, and one of 64 characters."""
    for number in ("7f6c2d1e-0a4b-4c7e-9a67-3f0f2f5d8b11", "R" * 64):
        assert row(read(tree(order(identifier=[{"value": number}]))))["number"] == number


def test_an_order_by_itself_is_read() -> None:
    """A file that is one MedicationRequest and no bundle."""
    imported = read(order())
    assert row(imported)["number"] == "700"
    assert row(imported)["patient"] == ""


def test_what_another_pharmacy_dispensed_is_told_by_name() -> None:
    """It is no fill of this pharmacy's, and its medicine is told first."""
    dispense = {
        "resourceType": "MedicationDispense",
        "id": "md-1",
        "status": "completed",
        "medicationCodeableConcept": {"text": "nitroglycerin"},
        "subject": {"reference": "Patient/p-1"},
    }
    imported = read(tree(order(), dispense))
    assert row(imported)["dispensed_on"] == ""
    assert any("dispensed elsewhere" in t.fault.wrong for t in imported.told)
