"""What records say in the pharmacy's language, in a leaflet of another: told as that."""

import pytest

from labelkit.records.model import Pharmacy, Workspace
from labelkit.wording.catalogs import catalog
from labelkit.wording.coverage import languages
from labelkit.wording.facts import out_of_hours, substance
from labelkit.wording.own_words import as_recorded

OTHERS = [tag for tag in languages() if not tag.startswith("en")]


@pytest.fixture
def pharmacy(workspace: Workspace) -> Pharmacy:
    """One that works in English, and has an answering service."""
    return workspace.pharmacy.model_copy(update={"out_of_hours": "Night line, 555-0190"})


@pytest.mark.parametrize("language", OTHERS)
def test_words_of_a_record_bear_their_language(pharmacy: Pharmacy, language: str) -> None:
    """The words stand whole, and beside them CLDR's name of English in the reader's language."""
    spoken = catalog(language)
    english = spoken.locale.languages["en"]
    said = as_recorded("excipient", "Gum Never Translated", pharmacy, spoken)
    assert said.text.startswith("Gum Never Translated")
    assert english in said.text


@pytest.mark.parametrize("language", ["en", "en-GB"])
def test_who_reads_the_language_reads_the_words_alone(pharmacy: Pharmacy, language: str) -> None:
    """Nothing is added where the reader's language is the pharmacy's."""
    said = as_recorded("excipient", "Gum Never Translated", pharmacy, catalog(language))
    assert said.text == "Gum Never Translated"


@pytest.mark.parametrize(
    ("recorded", "said"),
    [
        ("Night line, 555-0190", "Night line, 555-0190 (idioma: inglés)"),
        ("(503) 555-0190", "(503) 555-0190"),
    ],
)
def test_a_number_is_no_word(pharmacy: Pharmacy, recorded: str, said: str) -> None:
    """Who answers when the pharmacy is closed: a telephone number has no language."""
    own = pharmacy.model_copy(update={"out_of_hours": recorded})
    assert out_of_hours(own, catalog("es")).text == said


def test_an_excipient_with_an_entry_is_translated(pharmacy: Pharmacy) -> None:
    """A catalog's own word comes before the record's."""
    assert substance("mannitol", "excipient", pharmacy, catalog("es")).text == "manitol"
