"""Which dictionaries are opened: none that is under the GPL alone."""

import pytest

from labelkit.typeset.breaking import hyphenations

WORD = {
    "en": "medication",
    "es": "medicamento",
    "fr": "médicament",
    "fr-CA": "médicament",
    "pt-BR": "medicamento",
    "de": "Arzneimittelinformation",
    "pl": "informacja",
    "ru": "информация",
    "it": "informazione",
}


@pytest.mark.parametrize("language", WORD)
def test_a_long_word_has_places_for_a_hyphen(language: str) -> None:
    """The languages of the catalogs that are hyphenated, and one that a pharmacy may add."""
    assert hyphenations(WORD[language], language, ())


@pytest.mark.parametrize("language", ["pt-PT", "nb", "nn", "gl", "ro"])
def test_dictionaries_of_the_gpl_stay_closed(language: str) -> None:
    """pyphen installs one for each, and the note beside it names no other licence than the GPL."""
    assert not hyphenations("administrasjonsinformasjon", language, ())
