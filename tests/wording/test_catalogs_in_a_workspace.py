"""A pharmacy's own languages, entries and signatures, and what makes them lose their state."""

import re
from pathlib import Path

import pytest

from labelkit.ground.errors import WordingRefused
from labelkit.records.reading import read_workspace
from labelkit.wording.catalogs import catalog
from labelkit.wording.coverage import coverage, languages
from labelkit.wording.entries import catalog_path
from labelkit.wording.maintenance import start_catalog, updated
from labelkit.wording.model import ReviewState
from labelkit.wording.statements import Statement, statements, words_digest

HEAD = 'msgid ""\nmsgstr ""\n"Content-Type: text/plain; charset=utf-8\\n"\n'
PLURALS = '"Plural-Forms: nplurals=2; plural=(n != 1);\\n"\n\n'
ENGLISH = "Peel. Do not push."


def entry(text: str, msgid: str = ENGLISH, before: str = "") -> str:
    """One entry for peel.do-not-push."""
    return f'{before}msgctxt "peel.do-not-push"\nmsgid "{msgid}"\nmsgstr "{text}"\n\n'


def signature(text: str, who: str = "Aino Virta", id_: str = "peel.do-not-push") -> str:
    """A reviewer's comment over an entry of a statement in Finnish, bound to its words."""
    words = words_digest(statements()[id_], "fi", (text,))
    return f"# reviewed by {who}, sworn translator, 2026-03-01, {words}\n"


def with_catalog(root: Path, language: str, body: str) -> Path:
    """A workspace with one catalog."""
    path = catalog_path(root / "locales", language)
    path.parent.mkdir(parents=True)
    path.write_text(HEAD + PLURALS + body, encoding="utf-8")
    return root


def test_a_pharmacy_adds_a_language(tmp_path: Path) -> None:
    """Its catalog speaks; what it lacks is refused with the English that wants words."""
    root = with_catalog(tmp_path, "fi", entry("Kuori auki. Älä paina."))
    finnish = catalog("fi", root, ())
    assert finnish.say("peel.do-not-push").text == "Kuori auki. Älä paina."
    with pytest.raises(WordingRefused) as refused:
        finnish.say("caution.children")
    fault = refused.value.faults[0]
    assert fault.file == "locales/fi/LC_MESSAGES/labelkit.po"
    assert "no words in fi for: Keep out of the sight and reach of children" in fault.wrong
    assert "fi" in languages(root)
    assert not coverage(catalog("fi", root)).complete


def test_its_own_entry_comes_before_the_shipped_one(tmp_path: Path) -> None:
    """A pharmacy's better Spanish is said, the rest stays, and the revision is another."""
    root = with_catalog(tmp_path, "es", entry("Abra. No apriete."))
    own, shipped = catalog("es", root, ()), catalog("es", None, ())
    assert own.say("peel.do-not-push").text == "Abra. No apriete."
    assert own.say("caution.children").text == shipped.say("caution.children").text
    assert own.revision != shipped.revision


def test_a_signed_entry_is_accepted(tmp_path: Path) -> None:
    """Reviewer, qualification, date and the words' digest in the comment, and no fuzzy flag."""
    root = with_catalog(tmp_path, "fi", entry("Älä paina.", before=signature("Älä paina.")))
    assert catalog("fi", root, ()).state_of("peel.do-not-push") is ReviewState.ACCEPTED


@pytest.mark.parametrize("text", ["Älä paina!", "Paina."])
def test_a_changed_word_ends_a_signature(tmp_path: Path, text: str) -> None:
    """A signature stands for the words it names: a letter or a stop changed, and it is told."""
    root = with_catalog(tmp_path, "fi", entry(text, before=signature("Älä paina.")))
    assert catalog("fi", root).state_of("peel.do-not-push") is ReviewState.UNREVIEWED
    assert any("signed other words" in f.wrong for f in coverage(catalog("fi", root)).faults)


@pytest.mark.parametrize(
    "before",
    [
        "",
        "# looks fine\n",
        "# reviewed by Aino Virta\n",
        "# reviewed by Aino Virta, sworn translator, 2026-03-01\n",
        signature("Älä paina.") + "#, fuzzy\n",
    ],
)
def test_anything_less_than_a_signature_is_not_a_review(tmp_path: Path, before: str) -> None:
    """No comment, no date, or the fuzzy flag still on: unreviewed."""
    root = with_catalog(tmp_path, "fi", entry("Älä paina.", before=before))
    assert catalog("fi", root, ()).state_of("peel.do-not-push") is ReviewState.UNREVIEWED


def test_changed_english_takes_the_signature_away(tmp_path: Path) -> None:
    """An entry signed for another English sentence is unreviewed, even under an acceptance."""
    signed = "# reviewed by Aino Virta, sworn translator, 2026-03-01\n"
    body = entry("Älä paina.", msgid="Peel, never push.", before=signed)
    root = with_catalog(tmp_path, "fi", body)
    assert catalog("fi", root, ()).state_of("peel.do-not-push") is ReviewState.UNREVIEWED
    assert [f.wrong for f in coverage(catalog("fi", root)).faults] == [
        "the English has changed since",
        "Aino Virta signed other words, or none by their digest",
    ]


@pytest.mark.parametrize(
    ("text", "clause"),
    [
        ("Älä ota yli {tablets} tablettia 24 tunnissa.", "has the placeholders {tablets}"),
        ("Älä ota yli {in_24_h_tablets} tablettia 12 tunnissa.", "has the numbers 12"),
    ],
)
def test_a_swapped_placeholder_or_number_is_never_said(
    tmp_path: Path, text: str, clause: str
) -> None:
    """What would say another dose is refused when it is to be said, not only when checked."""
    english = statements()["limit.in-24-h"]
    body = (
        f'msgctxt "limit.in-24-h"\nmsgid "{english.english}"\n'
        f'msgid_plural "{english.english_plural}"\nmsgstr[0] "{text}"\nmsgstr[1] "{text}"\n'
    )
    root = with_catalog(tmp_path, "fi", body)
    with pytest.raises(WordingRefused, match=clause):
        catalog("fi", root, ()).say("limit.in-24-h", {"in_24_h_tablets": 1})


@pytest.mark.parametrize(
    ("body", "clause"),
    [
        ('msgid "Peel"\nmsgstr "Kuori"\n', "belongs to no statement"),
        (entry("Älä.") + entry("Ei.", msgid="Peel."), "is there twice"),
        ('msgctxt "peel.here"\nmsgid "Peel"\nKuori\n', "isn't whole"),
        ('msgctxt "peel.here"\nmsgid "Peel"\nmsgstr "Kuori\n', "isn't whole"),
    ],
)
def test_a_broken_catalog_is_refused(tmp_path: Path, body: str, clause: str) -> None:
    """No context, one id twice, a line that is none, a text without its closing quote."""
    root = with_catalog(tmp_path, "fi", body)
    with pytest.raises(WordingRefused, match=clause):
        catalog("fi", root, ())


def test_updating_keeps_translations_and_doubts_changed_ones() -> None:
    """Same English: kept with its signature. Changed: kept, flagged, signature off. Gone: out."""
    old = {
        "a.same": Statement("a.same", "Stay.", "s", "x"),
        "a.changed": Statement("a.changed", "Go.", "s", "x"),
        "a.gone": Statement("a.gone", "Bye.", "s", "x"),
    }
    signature = "# reviewed by Aino Virta, sworn translator, 2026-03-01\n"
    text = updated(None, "fi", old).decode()
    for english, finnish in (("Stay.", "Pysy."), ("Go.", "Mene."), ("Bye.", "Hei.")):
        text = text.replace(
            f'msgid "{english}"\nmsgstr ""', f'msgid "{english}"\nmsgstr "{finnish}"'
        )
    text = text.replace("#. x. Source: s\n", f"{signature}#. x. Source: s\n")
    new = {
        "a.same": old["a.same"],
        "a.changed": Statement("a.changed", "Go now.", "s", "x"),
        "a.new": Statement("a.new", "Hello.", "s", "x"),
    }
    after = updated(text.encode(), "fi", new).decode()
    entries = dict(re.findall(r'((?:^#.*\n)+)msgctxt "(.+?)"', after, re.M))
    comments = {id_: comment for comment, id_ in entries.items()}
    assert set(comments) == {"a.same", "a.changed", "a.new"}
    assert 'msgid "Hello."\nmsgstr ""' in after
    assert "reviewed by Aino Virta" in comments["a.same"]
    assert "fuzzy" not in comments["a.same"]
    assert 'msgid "Go now."\nmsgstr "Mene."' in after
    assert "reviewed by" not in comments["a.changed"]
    assert "#, fuzzy" in comments["a.changed"]


def test_a_started_catalog_speaks_once_it_is_filled(tmp_path: Path) -> None:
    """What `start_catalog` gives can be saved, filled in, and read."""
    text = start_catalog("fi").replace(
        f'msgid "{ENGLISH}"\nmsgstr ""', f'msgid "{ENGLISH}"\nmsgstr "Älä paina."'
    )
    path = catalog_path(tmp_path / "locales", "fi")
    path.parent.mkdir(parents=True)
    path.write_text(text, encoding="utf-8")
    assert catalog("fi", tmp_path, ()).say("peel.do-not-push").text == "Älä paina."


@pytest.mark.parametrize("sample", ["pharmacy", "languages"])
def test_the_sample_acceptances_cover_the_catalogs_as_they_are(sample: str) -> None:
    """The invented acceptances of English and Spanish name all their present words."""
    workspace = read_workspace(Path(__file__).resolve().parents[2] / "samples" / sample)
    accepted = {a.language: dict(a.words) for a in workspace.acceptances}
    assert accepted == {tag: catalog(tag).words for tag in ("en", "es")}
    assert all("Invented" in acceptance.note for acceptance in workspace.acceptances)


PLURAL = """msgctxt "quantity.tablets"
msgid "{tablets} tablet"
msgid_plural "{tablets} tablets"
msgstr[0] "{tablets} pastilla"
msgstr[1] "{tablets} pastillas"

"""


@pytest.mark.parametrize(
    "header",
    ["nplurals=2; plural=(n > 1);", "nplurals=2; plural=(n == 1);", "nplurals=2; plural=(1/n);"],
)
def test_a_header_that_parts_counts_otherwise_is_told(tmp_path: Path, header: str) -> None:
    """CLDR's Spanish has one form for 1 and another for 0 and 2: any other header is a fault."""
    root = with_catalog(tmp_path, "es", PLURAL)
    path = catalog_path(root / "locales", "es")
    path.write_text(path.read_text().replace("nplurals=2; plural=(n != 1);", header))
    found = catalog("es", root)
    assert [f.field for f in found.stops] == ["Plural-Forms"]
    assert "nplurals=2" in found.stops[0].mend


def test_one_files_header_never_governs_anothers_texts(tmp_path: Path) -> None:
    """A pharmacy's Arabic overlay with a wrong header leaves the shipped forms where they are."""
    root = with_catalog(tmp_path, "ar", entry("انزع الغطاء. لا تدفع."))
    shipped, own = catalog("ar"), catalog("ar", root)
    for count in (1, 2, 5, 11, 30, 100):
        values = {"tablets": count}
        assert own.say("quantity.tablets", values) == shipped.say("quantity.tablets", values)
    assert own.stops == ()


POLISH = "Możesz brać go z azotanami (nitrogliceryna, izosorbid) i azotynami („poppers”)."


def polish(root: Path, *signed_by: str) -> Path:
    """A pharmacy's Polish that allows what the English forbids, signed by some people."""
    english = statements()["caution.nitrates"]
    words = words_digest(english, "pl", (POLISH,))
    comments = "".join(f"# reviewed by {who}, reader, 2026-03-01, {words}\n" for who in signed_by)
    body = f'{comments}msgctxt "caution.nitrates"\nmsgid "{english.english}"\nmsgstr "{POLISH}"\n'
    return with_catalog(root, "pl", body)


@pytest.mark.parametrize(
    ("signed_by", "stopped"),
    [
        ((), True),
        (("Jan Zięba",), True),
        (("Jan Zięba", "Jan Zięba"), True),
        (("Jan Zięba", "Ewa Wilk"), False),
    ],
)
def test_a_lost_negation_needs_two_readers(
    tmp_path: Path, signed_by: tuple[str, ...], stopped: bool
) -> None:
    """Nobody's word, or one person's, makes "you may take it with nitrates" a translation."""
    found = catalog("pl", polish(tmp_path, *signed_by))
    assert any("lost the negation" in f.wrong for f in found.stops) == stopped


def test_a_hindi_draft_mark_that_says_use_stops(tmp_path: Path) -> None:
    """The mark of a draft that tells to use it is a fault of the catalog."""
    english = statements()["draft.mark"].english
    body = f'msgctxt "draft.mark"\nmsgid "{english}"\nmsgstr "मसौदा – उपयोग करें"\n'
    found = catalog("hi", with_catalog(tmp_path, "hi", body))
    assert [(f.where, f.wrong) for f in found.stops] == [
        ("draft.mark", "the translation has lost the negation of the English")
    ]
