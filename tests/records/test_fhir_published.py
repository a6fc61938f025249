"""Published examples of four FHIR guides: each element is taken over, told, or the file refused.

The files and their licences: `tests/data/fhir/README.md`. What is accounted for is worked out from
the file itself, leaf by leaf, and not from what the import says it took.
"""

import json
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from fhir.resources.R4B import get_fhir_model_class
from fhir_cases import HOUSE, PATIENT, PRACTITIONER

from labelkit.records.fhir_import import Imported, read_bundle

FOLDER = Path(__file__).resolve().parents[1] / "data" / "fhir"
FILES = sorted(FOLDER.glob("*.json"))
REQUESTS = [path for path in FILES if "medicationrequest" in path.name]

READ = {
    r"status": {"active"},
    r"intent": {"order"},
    r"doNotPerform": {False},
    r".*\.sequence": {1},
    r"(clinicalStatus|.*\.type)\.coding\[1\]\.\w+": {
        "http://terminology.hl7.org/CodeSystem/allergyintolerance-clinical",
        "http://terminology.hl7.org/CodeSystem/dose-rate-type",
        "active",
        "Active",
        "ordered",
        "Ordered",
    },
    r".*[qQ]uantity\.(unit|system|code)": {
        "TAB",
        "http://terminology.hl7.org/CodeSystem/v3-orderableDrugForm",
    },
    r".*timing\.repeat\.(frequency|period|periodUnit)": {1, "d"},
}
"""Elements that become a cell of another form: each path with the values that are read so."""


def leaves(value: Any, path: str = "") -> Iterator[tuple[str, Any]]:
    """Path and value of every leaf, paths as the import writes them."""
    if isinstance(value, dict):
        for name, item in value.items():
            yield from leaves(item, f"{path}.{name}".strip("."))
    elif isinstance(value, list):
        for place, item in enumerate(value, start=1):
            yield from leaves(item, f"{path}[{place}]")
    else:
        yield path, value


def bundle_of(*resources: dict[str, Any]) -> bytes:
    """A bundle of these, with each patient and practitioner that they refer to by reference."""
    entries = [{"resource": one} for one in resources]
    people = {"Patient": PATIENT, "Practitioner": PRACTITIONER}
    named = set(re.findall(r'"(Patient|Practitioner)/(\w+)"', json.dumps(resources)))
    for kind, id_ in sorted(named):
        entries.append({"resource": people[kind] | {"id": id_}})
    return json.dumps({"resourceType": "Bundle", "type": "collection", "entry": entries}).encode()


def read(path: Path) -> dict[str, Any]:
    """The resource of a file."""
    resource: dict[str, Any] = json.loads(path.read_text(encoding="utf-8"))
    return resource


def imported(*resources: dict[str, Any]) -> Imported:
    """The resources in one bundle, imported for the sample pharmacy."""
    return read_bundle(bundle_of(*resources), "guide.json", HOUSE.pharmacy, HOUSE.preparations)


def unaccounted(resource: dict[str, Any], done: Imported) -> list[str]:
    """Leaves of the resource that are neither in a cell, nor told, nor read as `READ` says."""
    key = f"{resource['resourceType']}/{resource['id']}"
    told = [one.fault.field for one in done.told if one.fault.where == key]
    rows = [*(one.row for one in done.requests), *done.patients, *done.medicines]
    cells = " | ".join(cell for row in rows for cell in row.values())
    said = " | ".join(one.fault.wrong for one in done.told if one.fault.where == key)
    missing = []
    at = dict(leaves(resource))
    for path, value in leaves(resource):
        if re.match(r"(resourceType|id|meta\b|text\b|contained\[\d\]\.(resourceType|id)$)", path):
            continue
        if any(re.match(rf"{re.escape(field)}($|[.\[])", path) for field in told if field):
            continue
        if "" in told and (str(value) in said or path.split(".")[0].split("[")[0] in said):
            continue
        if str(value) and str(value) in f"{cells} | {said}":
            continue
        coding = re.fullmatch(r"(.*\.coding\[\d\])\.(system|code)", path)
        if coding and at.get(f"{coding[1]}.display", "?") in cells:
            continue  # a code beside the words that became a cell
        if re.fullmatch(r".*\.(reference|display)|.*identifier\[1\]\.(use|system)", path):
            continue
        if any(re.fullmatch(form, path) and value in values for form, values in READ.items()):
            continue
        missing.append(f"{path} = {value!r}")
    return missing


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.stem)
def test_the_copies_are_fhir(path: Path) -> None:
    """Another library's models take them, so that nothing was lost in copying that they require.

    The list of `performer` alone is one reference in R4 (0..1), as the base example has it.
    """
    resource = read(path)
    model = get_fhir_model_class(resource["resourceType"])
    assert model.model_validate(resource).get_resource_type() == resource["resourceType"]


@pytest.mark.parametrize("path", REQUESTS, ids=lambda path: path.stem)
@pytest.mark.parametrize("alone", [True, False])
def test_each_element_of_a_published_order_is_taken_over_or_told(path: Path, alone: bool) -> None:
    """By itself, and with its patient and prescriber beside it: no leaf is lost unsaid."""
    resource = read(path)
    if alone:
        data = json.dumps(resource).encode()
        done = read_bundle(data, path.name, HOUSE.pharmacy, HOUSE.preparations)
    else:
        done = imported(resource)
    assert unaccounted(resource, done) == []


@pytest.mark.parametrize("path", REQUESTS, ids=lambda path: path.stem)
def test_no_published_order_becomes_one_of_our_tablets(path: Path) -> None:
    """None of them is for a medicine that this pharmacy makes: the medicine's name is told."""
    resource = read(path)
    done = imported(resource)
    assert all(one.row["preparation"] == "" for one in done.requests)
    text = json.dumps(done.told, default=str, ensure_ascii=False)
    name = re.search(r"Nizatidine|Azithromycin|Oxycodone|FourOrMore\w+", json.dumps(resource))
    assert name and name[0] in text


@pytest.mark.parametrize(
    ("file", "name"),
    [
        ("r4-allergyintolerance-medication.json", "Penicillin G"),
        ("au-base-allergyintolerance-example1.json", "Allergy to egg protein"),
    ],
)
def test_a_published_allergy_is_taken_over_by_name(file: str, name: str) -> None:
    """It stands in the patient's row; that it is unconfirmed, and the reaction, are told first."""
    allergy = read(FOLDER / file)
    patient = allergy["patient"]["reference"]
    order = read(FOLDER / "us-cdmh-medicationrequest-example.json")
    order["subject"] = {"reference": patient}
    done = imported(order, allergy)
    assert done.patients[0]["allergies"] == name
    assert unaccounted(allergy, done) == []
    first = [one.fault.field for one in done.told if one.weight == 1]
    assert {"verificationStatus", "reaction"} <= set(first)


def test_a_published_statement_is_a_medicine_to_be_confirmed() -> None:
    """By name, confirmed by nobody: its source is the patient."""
    statement = read(FOLDER / "us-cdmh-medicationstatement-example.json")
    order = read(FOLDER / "us-cdmh-medicationrequest-example.json")
    done = imported(order, statement)
    names = [row["medicine"] for row in done.medicines]
    assert "mometasone furoate 0.05 MG/ACTUAT" in names
    assert all(row["confirmed_by"] == "" for row in done.medicines)
    assert unaccounted(statement, done) == []


def test_a_leaf_that_is_lost_would_be_found() -> None:
    """The accounting itself: an element that is told nowhere is missing."""
    resource = read(FOLDER / "us-cdmh-medicationrequest-example.json")
    done = imported(resource)
    resource["dispenseRequest"]["dispenseInterval"] = {"value": 7}
    assert unaccounted(resource, done) == ["dispenseRequest.dispenseInterval.value = 7"]
