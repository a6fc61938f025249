"""What was dispensed goes out as MedicationDispense of FHIR R4, judged by another library."""

import json
import re
from collections import Counter
from dataclasses import replace
from datetime import date, timedelta
from decimal import Decimal
from typing import Any

import pytest
from fhir.resources.R4B.bundle import Bundle
from fhir.resources.R4B.medicationdispense import MedicationDispense
from record_cases import SAMPLE

from labelkit.ground.errors import RecordsRefused
from labelkit.records.fhir_export import NOT_EXPORTED, Dispensed, dispense_bundle
from labelkit.records.fhir_terms import LOT_NOT_KEPT
from labelkit.records.model import Route
from labelkit.records.patient_rows import COLUMNS as PATIENT_COLUMNS
from labelkit.records.prescription_rows import COLUMNS
from labelkit.records.reading import read_workspace

HOUSE = read_workspace(SAMPLE)


def fills() -> list[Dispensed]:
    """Every fill of the sample, from the first lot of its strength."""
    found = []
    for rx in HOUSE.prescriptions:
        (lot,) = [
            lot
            for lot in HOUSE.lots
            if (lot.preparation, lot.strength) == (rx.preparation, rx.strength)
        ]
        found.append(
            Dispensed(
                rx=rx,
                preparation=HOUSE.preparation(rx.preparation),
                lot=lot,
                beyond_use=lot.made_on + timedelta(days=120),
                directions=f"Directions of {rx.number}.",
                handed_over_on=rx.dispensed_on,
            )
        )
    return found


def exported(dispensed: list[Dispensed], kind: str = "") -> list[dict[str, Any]]:
    """The resources of the exported bundle, of one kind."""
    tree = json.loads(dispense_bundle(HOUSE.pharmacy, dispensed))
    found = [entry["resource"] for entry in tree["entry"]]
    return [one for one in found if not kind or one["resourceType"] == kind]


def test_another_library_takes_every_resource() -> None:
    """Models of R4B (these resources are as in R4) validate the bundle and all within it."""
    bundle = Bundle.model_validate_json(dispense_bundle(HOUSE.pharmacy, fills()))
    kinds = Counter(entry.resource.get_resource_type() for entry in bundle.entry)
    assert kinds["MedicationDispense"] == kinds["MedicationRequest"] == kinds["Patient"] == 12
    assert kinds["AllergyIntolerance"] == 12 and kinds["MedicationStatement"] == 16


def test_the_records_come_back_out_of_it() -> None:
    """Parsed by that library: lot, dates, quantity, people, directions are the record's."""
    tree = Bundle.model_validate_json(dispense_bundle(HOUSE.pharmacy, fills()))
    at = {entry.fullUrl: entry.resource for entry in tree.entry}
    dispensed = [one for one in at.values() if isinstance(one, MedicationDispense)]
    for fill, dispense in zip(fills(), dispensed, strict=True):
        medication = at[dispense.medicationReference.reference]
        patient = at[dispense.subject.reference]
        request = at[dispense.authorizingPrescription[0].reference]
        prescriber = at[request.requester.reference]
        assert medication.batch.lotNumber == fill.lot.number
        assert medication.batch.expirationDate == fill.beyond_use
        assert patient.name[0].text == fill.rx.patient.name
        assert patient.birthDate == fill.rx.patient.born_on
        assert prescriber.telecom[0].value == fill.rx.prescriber.telephone
        assert request.identifier[0].value == fill.rx.number
        assert request.authoredOn == fill.rx.written_on
        assert request.dispenseRequest.numberOfRepeatsAllowed == fill.rx.refills_left
        assert dispense.quantity.value == fill.rx.quantity_this_fill
        assert dispense.dosageInstruction[0].text == fill.directions
        assert dispense.dosageInstruction[0].route.coding[0].code == "37839007"
        assert dispense.whenHandedOver >= dispense.whenPrepared


def test_each_reference_leads_to_an_entry() -> None:
    """Every reference of the bundle is the full URL of exactly one of its entries (R4, bdl-7)."""
    tree = json.loads(dispense_bundle(HOUSE.pharmacy, fills()))
    urls = [entry["fullUrl"] for entry in tree["entry"]]
    assert len(set(urls)) == len(urls)
    named = set(re.findall(r'"reference": "([^"]+)"', json.dumps(tree)))
    assert named <= set(urls)
    assert all(url.startswith("urn:uuid:") for url in urls)


def test_completed_only_with_a_hand_over() -> None:
    """Without its day a fill is in progress, ready for pick-up, and its order still active
    (R4, value set medicationdispense-status)."""
    fill = fills()[3]
    (handed,) = exported([fill], "MedicationDispense")
    assert handed["status"] == "completed"
    (waits,) = exported([replace(fill, handed_over_on=None)], "MedicationDispense")
    assert waits["status"] == "in-progress"
    assert "whenHandedOver" not in waits
    (request,) = exported([replace(fill, handed_over_on=None)], "MedicationRequest")
    assert request["status"] == "active"
    (request,) = exported([fill], "MedicationRequest")
    assert request["status"] == "completed"


def test_a_lot_that_nobody_wrote_down_says_so() -> None:
    """The lot of a fill that was left open bears an extension; one of the records bears none."""
    (open_,) = exported([fills()[0]], "Medication")
    assert [one["url"] for one in open_["batch"]["extension"]] == [LOT_NOT_KEPT]
    (kept,) = exported([fills()[2]], "Medication")
    assert kept["batch"] == {"lotNumber": "TV2611", "expirationDate": "2027-03-02"}


def test_amounts_are_ucum_and_exact() -> None:
    """500 mcg goes out as 500 `ug` (UCUM), half a tablet as 0.5, a whole one without a point."""
    (fill,) = [f for f in fills() if f.rx.number == "104331"]
    half = fill.rx.directions.model_copy(update={"tablets_per_dose": Decimal("0.5")})
    fill = Dispensed(
        fill.rx.model_copy(update={"directions": half}),
        fill.preparation,
        fill.lot,
        fill.beyond_use,
        fill.directions,
    )
    text = dispense_bundle(HOUSE.pharmacy, [fill]).decode()
    (medication,) = exported([fill], "Medication")
    strength = medication["ingredient"][0]["strength"]
    assert (strength["numerator"]["value"], strength["numerator"]["code"]) == (500, "ug")
    assert '"value": 0.5,' in text and '"value": 30,' in text and "30.0" not in text


def test_on_the_tongue_bears_no_sublingual_code() -> None:
    """The other route goes out in words: no code of the under-the-tongue route stands there."""
    fill = fills()[0]
    other = fill.rx.directions.model_copy(update={"route": Route.ON_TONGUE})
    rx = fill.rx.model_copy(update={"directions": other})
    (resource,) = exported([replace(fill, rx=rx)], "MedicationDispense")
    assert resource["dosageInstruction"][0]["route"] == {"text": "on the tongue"}


def test_handed_over_before_it_was_prepared_is_refused() -> None:
    """The day before is refused, the same day is not (R4, invariant mdd-1)."""
    fill = fills()[0]
    early = Dispensed(fill.rx, fill.preparation, fill.lot, fill.beyond_use, "…", date(2026, 11, 22))
    with pytest.raises(RecordsRefused, match="mdd-1"):
        dispense_bundle(HOUSE.pharmacy, [early])
    assert exported([fill], "MedicationDispense")[0]["whenHandedOver"] == "2026-11-23"


def test_the_same_fills_give_the_same_bytes() -> None:
    """Nothing of the clock or of chance is in the bundle."""
    assert dispense_bundle(HOUSE.pharmacy, fills()) == dispense_bundle(HOUSE.pharmacy, fills())


def test_every_column_is_exported_or_named() -> None:
    """Each column of prescriptions and patients is in the bundle, or in the list of what isn't."""
    rx = fills()[8].rx.model_copy(update={"replaces": "104300"})
    text = json.dumps(exported([replace(fills()[8], rx=rx)]), ensure_ascii=False)
    carried = {
        "number": rx.number,
        "written_on": rx.written_on.isoformat(),
        "dispensed_on": rx.dispensed_on.isoformat(),
        "patient": '"subject"',
        "name": rx.patient.name,
        "born_on": rx.patient.born_on.isoformat(),
        "language": '"code": "en"',
        "handed_over_on": '"whenHandedOver": "2026-11-2',
        "prescriber_name": rx.prescriber.name,
        "prescriber_registration": rx.prescriber.registration,
        "prescriber_telephone": rx.prescriber.telephone,
        "preparation": "Ondansetron under-the-tongue tablets",
        "strength": "4 mg",
        "quantity_prescribed": '"value": 6',
        "quantity_this_fill": '"value": 6',
        "tablets_per_dose": '"value": 1',
        "route": "37839007",
        "fill": '"text": "fill"}, "value": "1"',
        "quantity_remaining": '"valueUnsignedInt": 0',
        "refills_left": '"numberOfRepeatsAllowed": 0',
        "when": "every-8-h-when-needed",
        "reason": '"code": "nausea"',
        "least_interval_h": '"valueQuantity": {"value": 8',
        "id": '"id": "p-009"',
        "allergies": "716186003",
        "medicines": "no-known-medications",
        "replaces": '"priorPrescription"',
        "most_in_24_h": '"value": 3',
        "lot": "NP2611",
    }
    assert all(shown in text for shown in carried.values())
    assert set(carried) | set(NOT_EXPORTED) == {*COLUMNS, *PATIENT_COLUMNS, "medicines"}
    assert not set(carried) & set(NOT_EXPORTED)
