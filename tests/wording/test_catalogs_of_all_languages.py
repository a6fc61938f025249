"""Every shipped catalog, checked as data: complete, unreviewed, and saying the same numbers."""

import gettext
import unicodedata
from dataclasses import replace

import pytest
from babel import Locale

from labelkit.ground import door
from labelkit.wording.catalogs import catalog
from labelkit.wording.checking import catalog_faults, checked_languages
from labelkit.wording.coverage import coverage, languages
from labelkit.wording.entries import catalog_path, read_entries
from labelkit.wording.maintenance import start_catalog, updated
from labelkit.wording.statements import statements

TRANSLATED = [language for language in languages() if language != "en"]
CLDR_ORDER = ("zero", "one", "two", "few", "many", "other")
"""Unicode Technical Standard #35, part 3, Language Plural Rules."""
OVERLAYS = ["en-GB", "fr-CA"]


def raw(language: str) -> bytes:
    """The bytes of a shipped catalog."""
    return door.read_bytes(catalog_path(door.resource_dir("locales"), language))


def test_the_languages_that_ship() -> None:
    """Twelve, Canadian French over French, and British English over English."""
    assert set(languages()) == {
        "en", "en-GB", "es", "fr", "fr-CA", "pt-BR", "de", "pl", "ru", "vi", "ar", "hi", "zh-Hans",
        "ko",
    }  # fmt: skip


@pytest.mark.parametrize("language", languages())
def test_every_language_says_every_statement(language: str) -> None:
    """No class of statements has a gap, so nothing is refused for want of words."""
    found = coverage(catalog(language))
    assert found.complete
    assert sum(c.statements for c in found.classes) == len(statements())


@pytest.mark.parametrize("language", languages())
def test_automatic_checks_find_nothing(language: str) -> None:
    """Placeholders, numbers, negation, English left over, words that may stand nowhere."""
    assert language.split("-")[0] in checked_languages()
    assert coverage(catalog(language)).faults == ()


@pytest.mark.parametrize("language", languages())
def test_nobody_has_signed_anything(language: str) -> None:
    """No qualified person has reviewed a word of it, English included: coverage isn't review."""
    found = coverage(catalog(language))
    assert sum(c.signed for c in found.classes) == 0
    assert sum(c.accepted for c in found.classes) == 0


@pytest.mark.parametrize("language", TRANSLATED)
def test_every_entry_is_flagged_unreviewed(language: str) -> None:
    """Each entry of each catalog is fuzzy, and stands under the English as it is today."""
    file = read_entries(catalog_path(door.resource_dir("locales"), language), language)
    assert file is not None
    known = statements()
    assert all(entry.fuzzy for entry in file.entries.values())
    assert all(entry.msgid == known[id_].msgid for id_, entry in file.entries.items())


@pytest.mark.parametrize("language", TRANSLATED)
def test_plural_forms_part_numbers_as_cldr_does(language: str) -> None:
    """Two counts that CLDR (Unicode, plural rules) sets apart take different forms.

    The texts stand in CLDR's order (zero, one, two, few, many, other). CLDR's form for
    millions ('many' of the Romance languages) is no tablet count.
    """
    file = read_entries(catalog_path(door.resource_dir("locales"), language), language)
    assert file is not None
    cldr = Locale.parse(language, sep="-").plural_form
    forms: dict[str, set[int]] = {}
    for count in range(300):
        forms.setdefault(cldr(count), set()).add(file.plural_index(count))
    assert [forms[name] for name in CLDR_ORDER if name in forms] == [
        {place} for place in range(len(forms))
    ]
    assert file.plural_count == len(forms)


@pytest.mark.parametrize("language", TRANSLATED)
def test_gettext_reads_the_same_plural_expression(language: str) -> None:
    """The header is one that Python's own gettext understands."""
    file = read_entries(catalog_path(door.resource_dir("locales"), language), language)
    assert file is not None
    assert {gettext.c2py(file.plural_expression)(n) for n in range(200)} == set(
        range(file.plural_count)
    )


@pytest.mark.parametrize("language", languages())
def test_texts_are_normal_and_hold_no_control_character(language: str) -> None:
    """NFC, no bidi override, no zero-width or control character hidden in a sentence."""
    for id_, entry in catalog(language, None, ()).entries.items():
        for text in entry.texts:
            assert text == unicodedata.normalize("NFC", text), id_
            assert not [c for c in text if unicodedata.category(c) in ("Cc", "Cf")], id_
            assert text == text.strip(), id_


@pytest.mark.parametrize("language", languages())
def test_digits_are_western(language: str) -> None:
    """The stated rule: doses and dates in Western digits in every language."""
    for id_, entry in catalog(language, None, ()).entries.items():
        for text in entry.texts:
            assert not [c for c in text if c.isdigit() and c not in "0123456789"], id_


@pytest.mark.parametrize("language", TRANSLATED)
def test_catalogs_are_in_step_with_the_statements(language: str) -> None:
    """`make locales` would change nothing."""
    wanted = statements()
    if language in OVERLAYS:
        file = read_entries(catalog_path(door.resource_dir("locales"), language), language)
        assert file is not None
        wanted = {id_: wanted[id_] for id_ in wanted if id_ in file.entries}
    assert updated(raw(language), language, wanted) == raw(language)


def test_canadian_french_falls_back_to_french() -> None:
    """What it says itself differs; everything else is the French entry."""
    quebec, france = (catalog(tag, None, ()) for tag in ("fr-CA", "fr"))
    assert quebec.say("when.with-breakfast").text == "avec le déjeuner"
    assert france.say("when.with-breakfast").text == "avec le petit-déjeuner"
    assert quebec.say("peel.do-not-push").text == france.say("peel.do-not-push").text
    assert quebec.say("peel.do-not-push").language == "fr-CA"


def test_british_english_falls_back_to_english() -> None:
    """What it says itself differs; everything else is the English entry; the profile picks it."""
    british, english = catalog("en-GB"), catalog("en")
    assert "glyceryl trinitrate" in british.say("caution.nitrates").text
    assert "nitroglycerin" in english.say("caution.nitrates").text
    assert british.say("limit.overdose").text.startswith("If you took too much, call NHS 111")
    assert not any("poison" in " ".join(e.texts) for e in british.entries.values())
    assert british.say("peel.do-not-push").text == english.say("peel.do-not-push").text
    assert catalog("en", country="uk").say("call.emergency").text == "In danger, call 999."
    assert catalog("en", country="us").say("call.emergency").text != "In danger, call 999."


def test_a_started_catalog_is_complete_in_english_and_says_nothing() -> None:
    """`start_catalog` gives every statement, with its plural forms, and no translation."""
    text = start_catalog("uk")
    assert "nplurals=3" in text
    assert text.count("\nmsgctxt ") == len(statements())
    assert 'msgstr "P' not in text
    assert text == start_catalog("uk")


@pytest.mark.parametrize(
    ("wrong", "clause"),
    [
        ("Nehmen Sie mehr als {in_24_h_tablets} Tabletten in 24 Stunden.", "lost the negation"),
        ("Nehmen Sie nicht mehr als {in_24_h_tablets} Tabletten in 12 Stunden.", "the numbers 12"),
        ("Nehmen Sie nicht mehr als {tablets} Tabletten in 24 Stunden.", "placeholders {tablets}"),
        ("Do not take more than {in_24_h_tablets} tablets in 24 hours.", "still English"),
        ("Nicht mehr, gleichwertig: {in_24_h_tablets} in 24 Stunden.", "says 'gleichwertig'"),
        ("Nicht mehr als {in_24_h_tablets in 24 Stunden.", "a brace is broken"),
        ("Nicht mehr als {in_24_h_tablets} Tabletten in 24 Minuten.", "the English counts hours"),
        ("Nicht mehr als {in_24_h_tablets} Tabletten in 24 mg Stunden.", "the units mg"),
    ],
)
def test_the_checks_can_fail(wrong: str, clause: str) -> None:
    """Each kind of damage to a German entry is found, and told in words."""
    german = catalog("de", None, ())
    entry = german.entries["limit.in-24-h"]
    damaged = replace(entry, texts=(entry.texts[0], wrong))
    faults = catalog_faults(german.statements, {"limit.in-24-h": damaged}, "de")
    assert [f for f in faults if clause in f.wrong], [f.wrong for f in faults]
