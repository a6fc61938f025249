"""Names of medicines: one spelling each in a language, and no grammar that depends on one."""

import re
from itertools import product

import pytest

from labelkit.wording.catalogs import catalog
from labelkit.wording.checking import catalog_faults, spelling
from labelkit.wording.coverage import languages
from labelkit.wording.statements import statements

NAMED = sorted({name for statement in statements().values() for name in statement.names})
LATIN_NAMES = ("sildenafil", "tadalafil", "vardenafil", "avanafil")
"""Medicines that stand both in sentences and, in their international name, as the leaflet's own."""

PLACES = ("drug", "salt", "swallowed_name", "pharmacy", "form", "ingredients", "excipients")
"""Placeholders that a name fills, whatever letter it begins with and whatever gender it has."""

BEFORE = {
    # French elides before a vowel or a mute h, and its articles have a gender.
    "fr": "de|du|des|le|la|que|ne|se|me|te|je|ce|jusque|lorsque|puisque|si|au|un|une",
    # Articles of Portuguese, Spanish, Italian, German, alone or melted with a preposition.
    "pt": "o|do|da|no|na|ao|à|pelo|pela|um|uma",
    "es": "el|la|del|al|un|una",
    "it": "il|lo|la|di|del|dello|della|al|allo|alla|nel|nella|un|uno|una|dal|dalla",
    "de": "der|die|das|den|dem|des|ein|eine|einen|einem|einer|zum|zur|im|am|vom",
    "en": "a|an",
}
"""Words that a name can't follow without deciding their form (grammars, from memory)."""


def _wrong_before(text: str, base: str) -> list[str]:
    return re.findall(rf"(?i)\b(?:{BEFORE[base]}) \{{(?:{'|'.join(PLACES)})\}}", text)


@pytest.mark.parametrize("language", [tag for tag in languages() if tag.split("-")[0] in BEFORE])
def test_no_grammar_depends_on_a_name(language: str) -> None:
    """No article and no word that elides stands before a name: "quantité de ondansetron"."""
    for id_, entry in catalog(language).entries.items():
        for text in entry.texts:
            assert _wrong_before(text, language.split("-")[0]) == [], id_


@pytest.mark.parametrize("name", ["ondansetron", "apomorphine", "isosorbide", "hydroxyzine"])
def test_french_with_names_that_begin_with_a_vowel(name: str) -> None:
    """Every French sentence that takes a name, said with one: no "de", "le" or "que" before it."""
    for id_, statement in statements().items():
        if "drug" not in statement.placeholders:
            continue
        values = {place: 2 if place == statement.count else "Y" for place in statement.placeholders}
        said = catalog("fr").say(id_, values | {"drug": name}).text
        assert not re.search(rf"(?i)\b(?:{BEFORE['fr']}) {name}", said), said


def test_the_check_of_grammar_can_fail() -> None:
    """The sentence that was found wrong is told, and an article with a gender too."""
    assert _wrong_before("Le dosage est la quantité de {drug}.", "fr")
    assert _wrong_before("A dosagem do {drug}.", "pt")
    assert not _wrong_before("Dosage exprimé en {drug}.", "fr")


@pytest.mark.parametrize("language", languages())
def test_every_sentence_spells_a_name_the_same(language: str) -> None:
    """Each name that a sentence's English has stands in the translation as the glossary has it."""
    for id_, statement in statements().items():
        for text, name in product(catalog(language).entries[id_].texts, statement.names):
            assert spelling(name, language).casefold() in text.casefold(), (id_, name)


@pytest.mark.parametrize("language", ["ar", "ru", "hi", "ko", "zh-Hans"])
@pytest.mark.parametrize("name", LATIN_NAMES)
def test_a_medicine_printed_in_latin_letters_is_named_in_them(language: str, name: str) -> None:
    """A leaflet's own medicine has its international name: where a sentence names it in another
    script too, both stand together, so that they are seen to be one."""
    assert spelling(name, language).startswith(name)


@pytest.mark.parametrize("language", ["ar", "ru", "hi", "ko", "zh-Hans"])
def test_other_scripts_have_a_name_for_all(language: str) -> None:
    """No name is left in English letters alone where the others are in the language's own."""
    assert [name for name in NAMED if spelling(name, language) == name] == []


def test_another_spelling_is_a_fault() -> None:
    """A Russian sentence with one of its medicines spelt otherwise is told."""
    russian = catalog("ru")
    entry = russian.entries["caution.nicorandil"]
    other = type(entry)(entry.msgid, ("Не принимайте его с никорандиллом.",), True, (), "", "ru")
    assert catalog_faults(russian.statements, {"caution.nicorandil": other}, "ru") == ()
    wrong = type(entry)(entry.msgid, ("Не принимайте его с nicorandil.",), True, (), "", "ru")
    (fault,) = catalog_faults(russian.statements, {"caution.nicorandil": wrong}, "ru")
    assert "doesn't name nicorandil" in fault.wrong
