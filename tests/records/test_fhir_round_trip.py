"""What was exported is imported again, and is equal: each fill, and two fills of one number."""

import copy
import json
from collections.abc import Iterator
from dataclasses import replace
from datetime import timedelta
from typing import Any

import pytest
from fhir_cases import HOUSE
from hypothesis import given, settings
from hypothesis import strategies as st
from record_cases import rows_of

from labelkit.ground.errors import RecordsRefused
from labelkit.records.fhir_export import NOT_EXPORTED, Dispensed, dispense_bundle
from labelkit.records.fhir_import import Imported, read_bundle
from labelkit.records.fhir_told import Weight
from labelkit.records.model import Prescription
from labelkit.records.prescription_rows import COLUMNS


def dispensed(rx: Prescription) -> Dispensed:
    """The fill, from the lot that the record names or the first of its strength."""
    same = (rx.preparation, rx.strength)
    lot = next(one for one in HOUSE.lots if (one.preparation, one.strength) == same)
    words = f"Directions of {rx.number}."
    beyond_use = lot.made_on + timedelta(days=90)
    made = HOUSE.preparation(rx.preparation)
    return Dispensed(rx, made, lot, beyond_use, words, rx.handed_over_on)


def back(*fills: Dispensed) -> Imported:
    """The fills, out and in again."""
    data = dispense_bundle(HOUSE.pharmacy, fills)
    return read_bundle(data, "out.json", HOUSE.pharmacy, HOUSE.preparations)


@pytest.mark.parametrize("rx", HOUSE.prescriptions, ids=lambda rx: rx.number)
def test_each_row_of_the_sample_comes_back(rx: Prescription) -> None:
    """Each cell of prescription, patient and medicines that is exported, and nothing to look at
    first; who confirmed the answer 'none' isn't kept by the records, and so not by the bundle."""
    done = back(dispensed(rx))
    (row,) = (one for one in rows_of("prescriptions") if one["number"] == rx.number)
    (patient,) = (one for one in rows_of("patients") if one["id"] == rx.patient.id)
    (one,) = done.requests
    left_out = set(NOT_EXPORTED)
    assert {k: v for k, v in one.row.items() if k not in left_out} == {
        k: v for k, v in row.items() if k not in left_out
    }
    assert {k: v for k, v in done.patients[0].items() if k not in left_out} == {
        k: v for k, v in patient.items() if k not in left_out
    }
    medicines = [m for m in rows_of("medicines") if m["patient"] == rx.patient.id]
    for medicine in medicines:
        if medicine["medicine"] == "none":
            medicine["confirmed_by"] = ""
    key = json.dumps
    assert sorted(map(key, done.medicines)) == sorted(map(key, medicines))
    assert [told for told in done.told if told.weight is Weight.SAFETY] == []


def test_two_fills_of_one_number_come_back() -> None:
    """A handed-over fill and one that waits: their numbers, days, counts, lots and what they
    replace are each their own."""
    (first,) = (rx for rx in HOUSE.prescriptions if rx.number == "104323")
    day = first.dispensed_on
    first = first.model_copy(update={"handed_over_on": day, "quantity_remaining": 2})
    second = first.model_copy(
        update={
            "fill": 2,
            "dispensed_on": day + timedelta(days=20),
            "handed_over_on": None,
            "refills_left": 2,
            "quantity_this_fill": 18,
            "replaces": "104300",
        }
    )
    fills = (dispensed(first), replace(dispensed(second), handed_over_on=None))
    one, two = (incoming.row for incoming in back(*fills).requests)
    names = ("number", "fill", "handed_over_on", "refills_left", "quantity_this_fill", "replaces")
    assert [one[name] for name in names] == ["104323", "1", day.isoformat(), "3", "20", ""]
    assert [two[name] for name in names] == ["104323", "2", "", "2", "18", "104300"]
    assert (one["quantity_remaining"], one["lot"], two["lot"]) == ("2", "TV2611", "TV2611")


EXPORTED = json.loads(
    dispense_bundle(HOUSE.pharmacy, [dispensed(rx) for rx in HOUSE.prescriptions[:2]])
)
LEAVES = [None, True, -1, 10**40, "", "x", "#m", [], [1], {}, {"a": 1}, [{"a": {}}], [None]]


def _paths(value: Any, at: tuple[Any, ...] = ()) -> Iterator[tuple[Any, ...]]:
    """The place of each element of a bundle."""
    for key, item in value.items() if isinstance(value, dict) else enumerate(value):
        yield (*at, key)
        if isinstance(item, dict | list):
            yield from _paths(item, (*at, key))


@settings(max_examples=150, deadline=None)
@given(
    path=st.sampled_from(list(_paths(EXPORTED["entry"]))),
    leaf=st.sampled_from(range(len(LEAVES))),
)
def test_a_damaged_export_is_read_or_refused(path: tuple[Any, ...], leaf: int) -> None:
    """Whatever stands in one place of an exported bundle, the import gives rows or refuses."""
    tree = copy.deepcopy(EXPORTED)
    at = tree["entry"]
    for key in path[:-1]:
        at = at[key]
    at[path[-1]] = LEAVES[leaf]
    try:
        done = read_bundle(json.dumps(tree).encode(), "x", HOUSE.pharmacy, HOUSE.preparations)
    except RecordsRefused:
        return
    assert all(set(one.row) == set(COLUMNS) for one in done.requests)


def test_another_pharmacys_bundle_gives_no_fills() -> None:
    """The same bundle read by a pharmacy of another name: an order, and no row of a dispensing."""
    other = HOUSE.pharmacy.model_copy(update={"name": "Harbour Lane Compounding"})
    data = dispense_bundle(HOUSE.pharmacy, [dispensed(HOUSE.prescriptions[2])])
    (one,) = read_bundle(data, "out.json", other, HOUSE.preparations).requests
    assert one.row["dispensed_on"] == one.row["lot"] == ""
    assert "dispensed_on" in one.blank
