"""A compound's ingredients match all or none; a name that doesn't match is always shown."""

from typing import Any

import pytest
from fhir_cases import UCUM, dangers, order, read, row, tablets, tree


def named(text: str) -> Any:
    """An import of an order for a medicine of that name."""
    return read(tree(order(medicationCodeableConcept={"text": text})))


@pytest.mark.parametrize(
    "text",
    [
        "ondansetron 4 mg tablet",
        "Ondansetron 4 MG Disintegrating Oral Tablet",
        "ondansetron 4mg orodispersible tablets",
        "ONDANSETRON 4 MG ODT",
        "ondansetron 4000 micrograms tablets",
        "ondansetron 4000 µg tablets",
        "ondansetron 4000 μg",
        "ondansetron 4000 mcg sublingual tablet",
        "ondansetron (4 mg)",
        "Ondansetron under-the-tongue tablets, 4 mg",
    ],
)
def test_a_name_whose_every_word_is_known_matches(text: str) -> None:
    """RxNorm's capitals, dm+d's words, both micro signs: the same 4 mg tablet."""
    imported = named(text)
    assert (row(imported)["preparation"], row(imported)["strength"]) == ("ondansetron", "4 mg")
    assert any("was read as ondansetron, 4 mg" in t.fault.wrong for t in imported.told)


@pytest.mark.parametrize(
    "text",
    [
        "ondansetron 4 mg + dexamethasone 4 mg",
        "ondansetron 4 mg / dexamethasone",
        "dexamethasone and ondansetron 4 mg tablet",
        "ondansetron 4 mg/5 mL oral solution",
        "ondansetron 4 mg/5 ml",
        "ondansetron 4 mg film",
        "ondansetron 4 mg injection",
        "not ondansetron 4 mg",
        "ondansetron hydrochloride 4 mg",
        "oxycodone 5 mg / acetaminophen 325 mg tablet",
        "acetaminophen 325 mg",
        "ondansetron 4 mg или дексаметазон",
        "tadalafil 5 mg and ondansetron 4 mg",
    ],
)
def test_a_name_with_any_other_word_matches_nothing_and_is_shown(text: str) -> None:
    """A second substance, another form, a salt, another script: no preparation, the name first
    among what is told, and on the patient's own list to be confirmed."""
    imported = named(text)
    assert (row(imported)["preparation"], row(imported)["strength"]) == ("", "")
    assert f"names '{text}'" in dangers(imported)["medicationCodeableConcept"]
    (medicine,) = imported.medicines
    assert (medicine["medicine"], medicine["confirmed_by"]) == (text, "")


@pytest.mark.parametrize(
    "text",
    ["ondansetron 4.000 mg", "ondansetron 4,000 mcg", "ondansetron .4 mg", "ondansetron 8 mg",
     "ondansetron", "ondansetron 4 mg 8 mg", "ondansetron 4"],
)  # fmt: skip
def test_an_amount_with_two_readings_is_no_strength(text: str) -> None:
    """A thousand in one country and one in another, a naked point, two amounts: no strength."""
    imported = named(text)
    assert row(imported)["strength"] == ""
    assert f"names '{text}'" in dangers(imported)["medicationCodeableConcept"]


def of_ingredients(*names: str, per: Any = None, form: str = "", code: str = "") -> Any:
    """An import of an order for a medication of these ingredients, 4 mg each in a tablet."""
    strength = {
        "numerator": {"value": 4, "system": UCUM, "code": "mg"},
        "denominator": per or tablets(1),
    }
    medication: dict[str, Any] = {
        "resourceType": "Medication",
        "id": "m",
        "ingredient": [
            {"itemCodeableConcept": {"text": name}, "strength": strength} for name in names
        ],
    }
    medication |= {"form": {"text": form}} if form else {}
    medication |= {"code": {"text": code}} if code else {}
    reference = {"reference": "#m"}
    return read(
        tree(
            order(
                medicationCodeableConcept=None,
                medicationReference=reference,
                contained=[medication],
            )
        )
    )


def test_all_ingredients_match_or_none() -> None:
    """The one ingredient alone is the preparation; with a second it is nothing, both named."""
    assert row(of_ingredients("Ondansetron"))["strength"] == "4 mg"
    both = of_ingredients("ondansetron", "dexamethasone")
    assert row(both)["preparation"] == ""
    assert "ondansetron / dexamethasone" in dangers(both)["medicationReference"]
    hidden = of_ingredients("ondansetron", "dexamethasone", code="ondansetron 4 mg")
    assert row(hidden)["preparation"] == ""


def test_a_strength_in_a_volume_is_no_tablet() -> None:
    """4 mg in 5 mL isn't a tablet of 4 mg, whatever the name beside it says."""
    per = {"value": 5, "system": UCUM, "code": "mL"}
    assert row(of_ingredients("ondansetron", per=per, code="ondansetron 4 mg"))["preparation"] == ""


def test_another_form_matches_nothing() -> None:
    """A tablet's form is taken; a solution's isn't, and is told."""
    assert row(of_ingredients("ondansetron", form="Orodispersible tablet"))["strength"] == "4 mg"
    imported = of_ingredients("ondansetron", form="Oral solution")
    assert row(imported)["preparation"] == ""
    assert any("Oral solution" in t.fault.wrong for t in imported.told)


def test_words_and_figures_that_disagree_are_no_strength() -> None:
    """8 mg in the name and 4 mg in the ingredient: neither is taken."""
    assert row(of_ingredients("ondansetron", code="ondansetron 8 mg"))["strength"] == ""


def test_a_code_alone_is_shown_as_it_is() -> None:
    """A code without words: nothing is taken, and the code itself stands in what is told."""
    concept = {
        "coding": [{"system": "http://www.nlm.nih.gov/research/umls/rxnorm", "code": "312086"}]
    }
    imported = read(tree(order(medicationCodeableConcept=concept)))
    assert row(imported)["preparation"] == ""
    assert "312086" in dangers(imported)["medicationCodeableConcept"]


def test_a_reference_that_leads_nowhere_shows_its_words() -> None:
    """The medication isn't in the bundle: what the reference displays is told."""
    reference = {"reference": "Medication/9", "display": "oxycodone 5 mg"}
    imported = read(tree(order(medicationCodeableConcept=None, medicationReference=reference)))
    assert "oxycodone 5 mg" in imported.told[0].fault.wrong
