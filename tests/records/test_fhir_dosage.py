"""How to take it: what a row can't say is told, and never dropped."""

from typing import Any

import pytest
from fhir_cases import UCUM, dangers, order, read, row, tablets, tree


def dosage(**change: Any) -> Any:
    """An import of an order with this changed in how it is to be taken."""
    one = order()["dosageInstruction"][0] | change
    one = {name: value for name, value in one.items() if value is not None}
    return read(tree(order(dosageInstruction=[one])))


@pytest.mark.parametrize(
    "needed",
    [
        {"asNeededBoolean": True},
        {"asNeededBoolean": None, "asNeededCodeableConcept": {"text": "nausea"}},
    ],
)
@pytest.mark.parametrize(
    "repeat",
    [
        {"frequency": 3, "period": 1, "periodUnit": "d"},
        {"frequency": 1, "period": 1, "periodUnit": "wk"},
        {"when": ["HS"]},
        {"frequency": 1, "frequencyMax": 2, "period": 8, "periodUnit": "h"},
    ],
)
def test_as_needed_is_never_dropped(needed: dict[str, Any], repeat: dict[str, Any]) -> None:
    """At times that no 'when needed' goes with: the times stay blank, and both are told."""
    imported = dosage(timing={"repeat": repeat}, **needed)
    assert row(imported)["when"] == ""
    (name,) = [name for name, value in needed.items() if value]
    assert "as needed" in dangers(imported)[f"dosageInstruction[1].{name}"]


def test_as_needed_and_not_as_needed_is_told() -> None:
    """Two elements that contradict each other: the contradiction is told."""
    imported = dosage(asNeededBoolean=False, asNeededCodeableConcept={"text": "nausea"})
    assert "isn't taken as needed" in dangers(imported)["dosageInstruction[1].asNeededBoolean"]


@pytest.mark.parametrize(
    ("value", "code", "most"),
    [(24, "h", "3"), (1, "d", "3"), (12, "h", ""), (2, "d", ""), (1, "wk", ""), (8, "h", "")],
)
def test_the_period_of_a_maximum_counts(value: int, code: str, most: str) -> None:
    """24 hours and one day are the row's own; any other period is told with its figures."""
    period = {"value": value, "system": UCUM, "code": code}
    imported = dosage(maxDosePerPeriod={"numerator": tablets(3), "denominator": period})
    assert row(imported)["most_in_24_h"] == most
    told = dangers(imported).get("dosageInstruction[1].maxDosePerPeriod", "")
    assert bool(told) is not bool(most)
    if told:
        assert f'"value": {value}' in told and code in told


def test_reasons_that_contradict_each_other_are_told() -> None:
    """Pain in the order and nausea in how it is taken: no reason is taken, and both are told."""
    imported = read(
        tree(
            order(
                reasonCode=[{"text": "pain"}],
                dosageInstruction=[{"asNeededCodeableConcept": {"text": "nausea"}}],
            )
        )
    )
    assert row(imported)["reason"] == ""
    assert "nausea, pain" in dangers(imported)["reasonCode[1]"]
    assert "nausea, pain" in dangers(imported)["dosageInstruction[1].asNeededCodeableConcept"]


def test_a_reason_that_is_not_known_keeps_the_cell_blank() -> None:
    """One that is known beside one that isn't: neither is taken, the unknown one is told."""
    imported = read(tree(order(reasonCode=[{"text": "nausea"}, {"text": "vertigo"}])))
    assert row(imported)["reason"] == ""
    assert any("vertigo" in wrong for wrong in dangers(imported).values())


def test_the_same_reason_twice_is_one() -> None:
    """Said in the order and in how it is taken."""
    concept = {"text": "Nausea"}
    imported = dosage(asNeededBoolean=None, asNeededCodeableConcept=concept)
    assert row(imported)["reason"] == "nausea"
    assert row(imported)["when"] == "every-8-h-when-needed"


def test_several_parts_are_told_whole() -> None:
    """Two tablets at once, then one a day: no cell is filled from either, both are told."""
    parts = [
        {"sequence": 1, "text": "two at once", "doseAndRate": [{"doseQuantity": tablets(2)}]},
        {"sequence": 2, "text": "then one", "doseAndRate": [{"doseQuantity": tablets(1)}]},
    ]
    imported = read(tree(order(dosageInstruction=parts)))
    assert row(imported)["tablets_per_dose"] == row(imported)["when"] == ""
    told = dangers(imported)
    assert "several parts" in told["dosageInstruction"]
    assert "two at once" in told["dosageInstruction[1]"]
    assert "then one" in told["dosageInstruction[2]"]
