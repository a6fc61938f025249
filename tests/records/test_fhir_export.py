"""What was dispensed goes out as MedicationDispense of FHIR R4, judged by another library."""

import json
from datetime import date, timedelta
from decimal import Decimal
from typing import Any

import pytest
from fhir.resources.R4B.bundle import Bundle
from fhir.resources.R4B.medicationdispense import MedicationDispense
from record_cases import SAMPLE

from labelkit.ground.errors import RecordsRefused
from labelkit.records.fhir_export import NOT_EXPORTED, Dispensed, dispense_bundle
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


def exported(dispensed: list[Dispensed]) -> list[dict[str, Any]]:
    """The resources of the exported bundle."""
    tree = json.loads(dispense_bundle(HOUSE.pharmacy, dispensed))
    return [entry["resource"] for entry in tree["entry"]]


def test_another_library_takes_every_resource() -> None:
    """Models of R4B (these resources are as in R4) validate the bundle and all within it."""
    bundle = Bundle.model_validate_json(dispense_bundle(HOUSE.pharmacy, fills()))
    assert [type(entry.resource) for entry in bundle.entry] == [MedicationDispense] * 12


def test_the_records_come_back_out_of_it() -> None:
    """Parsed by that library: lot, dates, quantity, people, directions are the record's."""
    for fill, resource in zip(fills(), exported(fills()), strict=True):
        dispense = MedicationDispense.model_validate(resource)
        medication, patient, prescriber, request = dispense.contained
        assert medication.batch.lotNumber == fill.lot.number
        assert medication.batch.expirationDate == fill.beyond_use
        assert patient.name[0].text == fill.rx.patient.name
        assert patient.birthDate == fill.rx.patient.born_on
        assert prescriber.telecom[0].value == fill.rx.prescriber.telephone
        assert request.identifier[0].value == fill.rx.number
        assert request.authoredOn == fill.rx.written_on
        assert dispense.quantity.value == fill.rx.quantity_this_fill
        assert dispense.dosageInstruction[0].text == fill.directions
        assert dispense.dosageInstruction[0].route.coding[0].code == "37839007"
        assert dispense.whenHandedOver >= dispense.whenPrepared


def test_contained_resources_are_referred_to() -> None:
    """Each contained resource is referred to, and each reference leads to one (R4, dom-3)."""
    for resource in exported(fills()):
        ids = {f"#{inner['id']}" for inner in resource["contained"]}
        text = json.dumps(resource)
        assert ids == {"#medication", "#patient", "#prescriber", "#prescription"}
        assert all(f'"reference": "{name}"' in text for name in ids)
        assert text.count('"reference": "#') == 6


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
    (resource,) = exported([fill])
    strength = resource["contained"][0]["ingredient"][0]["strength"]
    assert (strength["numerator"]["value"], strength["numerator"]["code"]) == (500, "ug")
    assert '"value": 0.5,' in text and '"value": 30,' in text and "30.0" not in text
    assert "whenHandedOver" not in resource


def test_on_the_tongue_bears_no_sublingual_code() -> None:
    """The other route goes out in words: no code of the under-the-tongue route stands there."""
    fill = fills()[0]
    other = fill.rx.directions.model_copy(update={"route": Route.ON_TONGUE})
    rx = fill.rx.model_copy(update={"directions": other})
    (resource,) = exported(
        [Dispensed(rx, fill.preparation, fill.lot, fill.beyond_use, fill.directions)]
    )
    assert resource["dosageInstruction"][0]["route"] == {"text": "on the tongue"}


def test_handed_over_before_it_was_prepared_is_refused() -> None:
    """The day before is refused, the same day is not (R4, invariant mdd-1)."""
    fill = fills()[0]
    early = Dispensed(fill.rx, fill.preparation, fill.lot, fill.beyond_use, "…", date(2026, 11, 22))
    with pytest.raises(RecordsRefused, match="mdd-1"):
        dispense_bundle(HOUSE.pharmacy, [early])
    assert exported([fill])[0]["whenHandedOver"] == "2026-11-23"


def test_the_same_fills_give_the_same_bytes() -> None:
    """Nothing of the clock or of chance is in the bundle."""
    assert dispense_bundle(HOUSE.pharmacy, fills()) == dispense_bundle(HOUSE.pharmacy, fills())


def test_every_column_is_exported_or_named() -> None:
    """Each column of prescriptions and patients is in the bundle, or in the list of what isn't."""
    rx = fills()[8].rx
    text = json.dumps(exported([fills()[8]]), ensure_ascii=False)
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
        "most_in_24_h": '"value": 3',
        "lot": "NP2611",
    }
    assert all(shown in text for shown in carried.values())
    assert set(carried) | set(NOT_EXPORTED) == {*COLUMNS, *PATIENT_COLUMNS, "medicines"}
    assert not set(carried) & set(NOT_EXPORTED)
