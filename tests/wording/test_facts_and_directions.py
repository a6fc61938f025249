"""Facts: what the records say, ready to print, with the strength alike on every face."""

from datetime import date
from decimal import Decimal

import pytest

from labelkit.ground.errors import WordingRefused
from labelkit.records.model import Directions, Lot, Preparation, Prescription, Workspace
from labelkit.rules.model import Fill, Pack
from labelkit.rules.products import product
from labelkit.wording.catalogs import catalog
from labelkit.wording.coverage import languages
from labelkit.wording.directions import sentence
from labelkit.wording.facts import (
    fill_facts,
    lot_facts,
    preparation_facts,
    product_facts,
    product_values,
    values,
)
from labelkit.wording.model import ReviewState

OF_LOT = {
    "drug", "strength", "form", "route", "lot", "beyond_use", "beyond_use_label",
    "beyond_use_short", "made_on",
    "pharmacy", "pharmacy_short", "pharmacy_address", "pharmacy_telephone", "pharmacy_licence",
    "out_of_hours", "storage", "appearance", "ingredients", "excipients", "strength_basis",
}  # fmt: skip
OF_FILL = {
    "patient", "patient_born", "rx_number", "written_on", "dispensed_on", "prescriber",
    "prescriber_registration", "prescriber_telephone", "directions", "quantity", "refills",
}  # fmt: skip


@pytest.mark.parametrize("language", languages())
def test_every_language_gives_every_fact(
    language: str, workspace: Workspace, prescription: Prescription
) -> None:
    """The facts that layouts may name are there in every language, under their names."""
    fill = Fill("10432", "TV2611", date(2026, 7, 14), ())
    facts = fill_facts(
        workspace, prescription, fill, Pack("10432", 1, 2, 10), catalog(language, None, (), "us")
    )
    assert set(facts) == OF_LOT | OF_FILL | {"pack_line", "tablets_in_pack"}
    assert all(said.language == language and said.text for said in facts.values())
    short = facts.pop("beyond_use_short")
    assert short.origin == "fact:beyond_use"  # the same particular in less room
    assert all(said.origin == f"fact:{name}" for name, said in facts.items())
    assert facts["drug"].text == "Tadalafil"
    assert facts["strength"].text == "2.5\N{NO-BREAK SPACE}mg"
    assert facts["lot"].text == "TV2611"


def test_a_fact_that_does_not_apply_is_absent(workspace: Workspace, lot: Lot) -> None:
    """Stock has no patient; a preparation without declared excipients has none to show."""
    bare = workspace.preparations[0].model_copy(update={"excipients": ()})
    voice = catalog("en", None, ())
    assert set(lot_facts(workspace, lot, date(2026, 7, 14), voice)) == OF_LOT
    assert "excipients" not in preparation_facts(workspace, bare, voice)
    assert "strength" not in preparation_facts(workspace, bare, voice)


def test_facts_in_words_for_a_spanish_reader(
    workspace: Workspace, prescription: Prescription
) -> None:
    """Spanish in the United States, against a hand-made translation of each record."""
    fill = Fill("10432", "TV2611", date(2026, 7, 14), ())
    facts = fill_facts(
        workspace, prescription, fill, Pack("10432", 1, 2, 10), catalog("es", None, (), "us")
    )
    text = {name: said.text.replace("\N{NO-BREAK SPACE}", " ") for name, said in facts.items()}
    assert text["beyond_use"] == "14 jul 2026"
    assert text["appearance"] == "amarilla clara, redonda, con la marca T2"
    assert text["pack_line"] == "Paquete 1 de 2, 10 tabletas en este paquete"
    assert text["refills"] == "Queda 1 resurtido"
    assert text["excipients"] == "manitol y Gum Never Translated (idioma: inglés)"
    assert text["directions"] == (
        "Ponga 1 tableta debajo de la lengua de 30 a 60 minutos antes de tener relaciones "
        "sexuales, para los problemas de erección."
    )


def test_records_need_no_review_but_words_do(workspace: Workspace, lot: Lot) -> None:
    """A lot number is the record's; a storage sentence waits for someone to accept it."""
    facts = lot_facts(workspace, lot, date(2026, 7, 14), catalog("es", None, ()))
    assert facts["lot"].state is ReviewState.ACCEPTED
    assert facts["storage"].state is ReviewState.UNREVIEWED
    assert facts["excipients"].state is ReviewState.UNREVIEWED


def test_what_must_not_be_broken_is_named(workspace: Workspace, lot: Lot) -> None:
    """Strength, dates, lot, telephone and drug stay whole; a pharmacy's long name may break."""
    facts = lot_facts(workspace, lot, date(2026, 7, 14), catalog("en", None, ()))
    for name in ("strength", "beyond_use", "lot", "pharmacy_telephone", "drug"):
        assert facts[name].verbatim == (facts[name].text,)
    assert facts["pharmacy"].text not in facts["pharmacy"].verbatim


def test_a_salt_is_named_beside_the_moiety(preparation: Preparation, workspace: Workspace) -> None:
    """USP <7>: strength as the active moiety, with the salt stated."""
    salt = preparation.ingredients[0].model_copy(update={"inn": "sildenafil", "form": "citrate"})
    salted = preparation.model_copy(update={"ingredients": (salt,)})
    facts = product_facts(workspace, product(salted, "2.5 mg"), catalog("en", None, ()))
    assert facts["ingredients"].text == "sildenafil 2.5\N{NO-BREAK SPACE}mg (as citrate)"
    assert facts["strength_basis"].text == (
        "The strength is the amount of sildenafil. It is in the tablet as citrate."
    )


def test_a_colour_without_words_is_refused(preparation: Preparation, workspace: Workspace) -> None:
    """A look that the language can't say stops the job; it isn't left in English."""
    looks = preparation.strengths[0].appearance.model_copy(update={"colour": "puce"})
    puce = preparation.strengths[0].model_copy(update={"appearance": looks})
    odd = preparation.model_copy(update={"strengths": (puce,)})
    with pytest.raises(WordingRefused, match=r"colour\.puce"):
        product_facts(workspace, product(odd, "2.5 mg"), catalog("es", None, ()))


def test_limits_told_to_a_patient_are_the_stricter_ones(
    workspace: Workspace, preparation: Preparation, prescription: Prescription
) -> None:
    """Directions of 1 tablet in 36 hours under a limit of 4 in 24: the leaflet invites to neither
    4 nor 24."""
    asked = prescription.directions.model_copy(update={"least_interval_h": Decimal(36)})
    rx = prescription.model_copy(update={"directions": asked})
    medicine = product(preparation, "2.5 mg")
    without = product_values(workspace, medicine, None)
    with_rx = product_values(workspace, medicine, rx)
    names = ("single_dose_tablets", "in_24_h_tablets", "least_interval_h")
    assert [without[name] for name in names] == [4, 4, 24]
    assert [with_rx[name] for name in names] == [1, 1, 36]


def test_what_holds_for_a_preparation_counts_no_tablets(
    workspace: Workspace, preparation: Preparation
) -> None:
    """Values of a preparation have hours and no count, so a sentence that counts can't be said."""
    assert not [name for name in values(workspace, preparation) if "tablets" in name]
    assert "most_in_24_h" not in values(workspace, preparation)


@pytest.fixture(name="told")
def _told(prescription: Prescription) -> Directions:
    return prescription.directions.model_copy(
        update={"when": "every-8-h-when-needed", "reason": "nausea"}
    )


@pytest.mark.parametrize(
    ("language", "tablets", "said"),
    [
        ("en", 2, "Put 2 tablets under your tongue every 8 hours if you need it, for nausea and "
         "vomiting."),
        ("de", 1, "Legen Sie bei Bedarf alle 8 Stunden 1 Tablette unter die Zunge, gegen Übelkeit "
         "und Erbrechen."),
        ("pl", 2, "Włóż 2 tabletki pod język co 8 godzin w razie potrzeby, na nudności i wymioty."),
        ("pl", 5, "Włóż 5 tabletek pod język co 8 godzin w razie potrzeby, na nudności i wymioty."),
        ("ru", 1, "Кладите 1 таблетку под язык каждые 8 часов, если нужно, от тошноты и рвоты."),
    ],
)  # fmt: skip
def test_directions_are_one_sentence(
    told: Directions, language: str, tablets: int, said: str
) -> None:
    """Where, how many, when and why, each language in its own order and plural form."""
    dose = told.model_copy(update={"tablets_per_dose": Decimal(tablets)})
    assert sentence(dose, catalog(language, None, ())).text == said


@pytest.mark.parametrize("tablets", ["0.5", "1.5", "0"])
def test_parts_of_a_tablet_are_refused(told: Directions, tablets: str) -> None:
    """A tablet that crumbles can't be cut, so no sentence says to take a part of one."""
    dose = told.model_copy(update={"tablets_per_dose": Decimal(tablets)})
    with pytest.raises(WordingRefused, match="prescribe whole tablets"):
        sentence(dose, catalog("en", None, ()))


def test_an_interval_is_given_in_minutes_as_well(workspace: Workspace) -> None:
    """Half an hour between doses is 30 minutes, whichever of the two a sentence says."""
    (least,) = workspace.preparations[0].limits.least_interval
    limits = workspace.preparations[0].limits.model_copy(
        update={"least_interval": (least.model_copy(update={"hours": Decimal("0.5")}),)}
    )
    preparation = workspace.preparations[0].model_copy(update={"limits": limits})
    for found in (
        values(workspace, preparation),
        product_values(workspace, product(preparation, "2.5 mg"), None),
    ):
        assert (found["least_interval_h"], found["least_interval_min"]) == (Decimal("0.5"), 30)


@pytest.mark.parametrize("count", [Decimal("1.5"), "2"])
def test_only_a_whole_number_is_counted_in_words(count: object) -> None:
    """One and a half has no plural form of its own, and a text is no number."""
    with pytest.raises(WordingRefused, match="can't be counted in words"):
        catalog("en", None, ()).say("quantity.tablets", {"number": count, "tablets": count})
