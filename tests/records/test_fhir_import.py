"""A FHIR R4 bundle becomes rows of the prescriptions table, and nothing in it is lost unseen."""

import copy
import json
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from fhir.resources.R4B.bundle import Bundle
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from record_cases import SAMPLE, copy_of_sample

from labelkit.ground.errors import RecordsRefused
from labelkit.records import csv_rows, patient_rows
from labelkit.records.fhir_import import OURS, Imported, read_bundle
from labelkit.records.prescription_rows import COLUMNS, OPTIONAL
from labelkit.records.reading import read_workspace

BUNDLE = SAMPLE.parent / "fhir" / "bundle.json"
HOUSE = read_workspace(SAMPLE)


def bundle() -> dict[str, Any]:
    """The sample bundle."""
    data: dict[str, Any] = json.loads(BUNDLE.read_text(encoding="utf-8"))
    return data


def resource(tree: dict[str, Any], key: str) -> dict[str, Any]:
    """The resource ``Type/id`` of a bundle."""
    kind, _, name = key.partition("/")
    (found,) = [
        e["resource"]
        for e in tree["entry"]
        if (e["resource"]["resourceType"], e["resource"].get("id")) == (kind, name)
    ]
    return found  # type: ignore[no-any-return]


def read(tree: dict[str, Any]) -> Imported:
    """The bundle, imported for the sample pharmacy."""
    return read_bundle(json.dumps(tree).encode(), "bundle.json", HOUSE.pharmacy, HOUSE.preparations)


def left(imported: Imported) -> set[tuple[str, str]]:
    """Place and field of everything that was named."""
    return {(one.fault.where, one.fault.field) for one in imported.told}


def rows(imported: Imported) -> list[dict[str, str]]:
    """The rows of the requests."""
    return [one.row for one in imported.requests]


def test_the_sample_bundle_is_fhir() -> None:
    """Another library's models of R4B (which left these resources of R4 as they were) take it."""
    assert len(Bundle.model_validate(bundle()).entry) == 6


def test_a_structured_request_becomes_a_row() -> None:
    """Every cell the bundle says is there; every cell that only the pharmacy knows is blank."""
    row = rows(read(bundle()))[0]
    assert tuple(row) == COLUMNS
    assert {column: cell for column, cell in row.items() if cell} == {
        "number": "104401",
        "written_on": "2026-11-23",
        "patient": "p-771",
        "prescriber_name": "Hester Quillfeather, MD",
        "prescriber_registration": "DEMO-MD-2231",
        "prescriber_telephone": "(503) 555-0131",
        "preparation": "melatonin",
        "strength": "500 mcg",
        "quantity_prescribed": "30",
        "refills_left": "2",
        "tablets_per_dose": "1",
        "route": "under-the-tongue",
        "when": "at-bedtime",
        "reason": "sleep",
        "most_in_24_h": "1",
    }


def test_its_patient_becomes_a_row_once() -> None:
    """Two requests for one patient: one row, with what the bundle says and nothing more."""
    (patient,) = read(bundle()).patients
    assert {column: cell for column, cell in patient.items() if cell} == {
        "id": "p-771",
        "name": "Itziar Nerea Zabaleta-Murguía",
        "born_on": "1979-12-02",
        "language": "es",
        "allergies": "Aspartame",
    }


def test_ucum_micrograms_never_stay_ug() -> None:
    """UCUM `ug` is mcg in the row (ISMP 2021); the same mass in mg is the same strength."""
    tree = bundle()
    medication = resource(tree, "MedicationRequest/mr-1")["contained"][0]
    numerator = medication["ingredient"][0]["strength"]["numerator"]
    numerator |= {"value": 0.5, "code": "mg"}
    assert rows(read(tree))[0]["strength"] == "500 mcg"
    assert "ug" not in rows(read(bundle()))[0]["strength"]


def test_what_a_row_cannot_hold_is_named() -> None:
    """Notes, the prescriber's own sentence, validity, telephones, what nobody refers to."""
    named = left(read(bundle()))
    request = "MedicationRequest/mr-1"
    assert {
        (request, "note"),
        (request, "dosageInstruction[1].text"),
        (request, "dispenseRequest.validityPeriod"),
        (request, "medicationReference"),
        ("Patient/p-771", "telecom"),
        ("Patient/p-771", "gender"),
        ("Patient/p-771", "name[1]"),
        ("Practitioner/dr-3", "telecom[2]"),
    } <= named


def test_each_blank_cell_is_named() -> None:
    """For every row, each column that must be filled and isn't stands among what was left out."""
    imported = read(bundle())
    for key, row in zip(("mr-1", "mr-2"), rows(imported), strict=True):
        blank = {c for c, cell in row.items() if not cell and c not in OPTIONAL}
        assert set(OURS) <= blank
        assert {(f"MedicationRequest/{key}", column) for column in blank} <= left(imported)


def test_oral_is_not_on_the_tongue_and_milligrams_are_not_tablets() -> None:
    """The oral route, and a dose in mg, stay blank and are named."""
    imported = read(bundle())
    assert rows(imported)[1]["route"] == rows(imported)[1]["tablets_per_dose"] == ""
    request = "MedicationRequest/mr-2"
    assert (request, "dosageInstruction[1].route") in left(imported)
    assert (request, "dosageInstruction[1].doseAndRate[1].doseQuantity") in left(imported)


def test_a_cancelled_request_makes_no_row() -> None:
    """Only active orders become rows; the others are named."""
    imported = read(bundle())
    assert len(imported.requests) == 2
    (told,) = [t for t in imported.told if t.fault.where == "MedicationRequest/mr-3"]
    assert "no row is made of it" in told.fault.wrong
    assert "tadalafil 5 mg" in told.fault.wrong


def test_filled_in_a_row_reads_as_a_prescription(tmp_path: Path) -> None:
    """Imported, completed at the counter, written as a table: it reads, with the same values."""
    row = rows(read(bundle()))[0] | {
        "dispensed_on": "2026-11-25",
        "quantity_this_fill": "30",
        "quantity_remaining": "0",
        "least_interval_h": "24",
    }
    folder = copy_of_sample(tmp_path)
    (folder / "prescriptions.csv").write_text(csv_rows.written(COLUMNS, [row]), encoding="utf-8")
    people = csv_rows.written(patient_rows.COLUMNS, read(bundle()).patients)
    (folder / "patients.csv").write_text(people, encoding="utf-8")
    asked = "p-771,none,,,I. C.,2026-11-25\n"
    asked = f"{','.join(patient_rows.MEDICINE_COLUMNS)}\n{asked}"
    (folder / "medicines.csv").write_text(asked, encoding="utf-8")
    (rx,) = read_workspace(folder).prescriptions
    assert (rx.number, rx.preparation, rx.strength) == ("104401", "melatonin", "500 mcg")
    assert rx.directions.most_in_24_h == Decimal(1)


def every(frequency: float, period: int, unit: str) -> dict[str, Any]:
    """A plain schedule: so many times in a period."""
    repeat = {"frequency": frequency, "period": period, "periodUnit": unit}
    return {"timing": {"repeat": repeat}}


@pytest.mark.parametrize(
    ("dosage", "when", "hours"),
    [
        (every(1, 8, "h"), "every-8-h", "8"),
        (every(1, 8, "h") | {"asNeededBoolean": True}, "every-8-h-when-needed", "8"),
        (every(2, 1, "d"), "twice-daily", ""),
        (every(1, 1, "d"), "once-daily", "24"),
        ({"asNeededBoolean": True}, "when-needed", ""),
        (every(5, 1, "d"), "", ""),
        (every(1, 1, "wk"), "", ""),
        (every(1.5, 1, "d"), "", ""),
        ({"timing": {"repeat": {"period": 8, "periodMax": 12, "periodUnit": "h"}}}, "", ""),
        ({"timing": {"code": {"text": "BID"}}}, "", ""),
    ],
)
def test_schedules(dosage: dict[str, Any], when: str, hours: str) -> None:
    """Plain schedules are mapped; ranges, weeks, and times in words are left and named."""
    tree = bundle()
    request = resource(tree, "MedicationRequest/mr-1")
    del request["dosageInstruction"][0]["timing"]
    request["dosageInstruction"][0] |= dosage
    imported = read(tree)
    assert (rows(imported)[0]["when"], rows(imported)[0]["least_interval_h"]) == (when, hours)
    if not when:
        assert any("dosageInstruction[1].timing" in field for _, field in left(imported))


@pytest.mark.parametrize(
    "concept",
    [
        {"text": "tadalafil"},
        {"text": "tadalafil 5 mg or 10 mg"},
        {"text": "tadalafil 7.5 mg"},
        {"text": "tadalafilum 5 mg"},
        {"text": "tadalafil 5 mg and ondansetron 4 mg"},
        {"coding": [{"system": "http://www.nlm.nih.gov/research/umls/rxnorm", "code": "1"}]},
    ],
)
def test_a_medicine_that_is_not_certain_is_left(concept: dict[str, Any]) -> None:
    """No strength, two strengths, two medicines, a code alone: never the likelier one."""
    tree = bundle()
    resource(tree, "MedicationRequest/mr-2")["medicationCodeableConcept"] = concept
    imported = read(tree)
    assert rows(imported)[1]["strength"] == ""
    fields = {field for where, field in left(imported) if where == "MedicationRequest/mr-2"}
    assert {"strength", "medicationCodeableConcept"} <= fields


@pytest.mark.parametrize(
    "change",
    [
        {"modifierExtension": [{"url": "https://clinic.example/not", "valueBoolean": True}]},
        {"implicitRules": "https://clinic.example/rules"},
    ],
)
def test_modifiers_are_refused(change: dict[str, Any]) -> None:
    """A modifier element that isn't understood stops the import (FHIR R4, 2.1.0.4.2)."""
    tree = bundle()
    resource(tree, "MedicationRequest/mr-2")["dosageInstruction"][0] |= change
    with pytest.raises(RecordsRefused, match="changes its meaning"):
        read(tree)


@pytest.mark.parametrize(
    "data",
    [b"", b"[]", b'{"resourceType": "Patient"}', b'{"resourceType": "Bundle"}', b"[" * 100_000,
     b"\xff", b'{"resourceType": "Bundle", "resourceType": "Bundle", "entry": []}',
     b'{"resourceType": "Bundle", "entry": [7, {"resource": 5}, {"resource": {}}]}'],
    ids=lambda data: repr(data[:40]),
)  # fmt: skip
def test_what_is_no_bundle_is_refused(data: bytes) -> None:
    """Anything but a bundle with a request in it is a refusal with exit status 2."""
    with pytest.raises(RecordsRefused) as refusal:
        read_bundle(data, "bundle.json", HOUSE.pharmacy, HOUSE.preparations)
    assert refusal.value.exit_status == 2


leaves = st.one_of(
    st.none(), st.booleans(), st.integers(), st.floats(), st.text(max_size=8),
    st.lists(st.integers(), max_size=2), st.just({}), st.just({"a": 1}), st.just([{"a": {}}]),
)  # fmt: skip


def _paths(value: Any, at: tuple[Any, ...] = ()) -> list[tuple[Any, ...]]:
    pairs = value.items() if isinstance(value, dict) else enumerate(value)
    found = []
    for key, item in pairs:
        found.append((*at, key))
        if isinstance(item, dict | list):
            found += _paths(item, (*at, key))
    return found


@settings(max_examples=150, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(path=st.sampled_from(_paths(bundle()["entry"])), leaf=leaves)
def test_any_element_of_any_kind_is_read_or_refused(path: tuple[Any, ...], leaf: Any) -> None:
    """Whatever stands in one place of a bundle, the import gives rows or refuses."""
    tree = copy.deepcopy(bundle())
    at = tree["entry"]
    for key in path[:-1]:
        at = at[key]
    at[path[-1]] = leaf
    try:
        imported = read(tree)
    except RecordsRefused:
        return
    assert all(set(row) == set(COLUMNS) for row in rows(imported))


@given(
    name=st.from_regex(r"[a-z]{3,9}X", fullmatch=True),
    key=st.sampled_from(["MedicationRequest/mr-1", "Patient/p-771", "Practitioner/dr-3"]),
)
@settings(max_examples=25, deadline=None)
def test_an_unknown_element_is_always_named(name: str, key: str) -> None:
    """An element that labelkit never heard of is named, wherever it stands."""
    tree = bundle()
    resource(tree, key)[name] = {"valueString": "matters"}
    assert (key, name) in left(read(tree))
