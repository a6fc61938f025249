"""Accepting words: shown first, by statement, never from a catalog with a fault."""

import shutil
from datetime import date
from pathlib import Path

import pytest

from labelkit.ground.errors import RecordsRefused, WordingRefused
from labelkit.jobs.accepting import (
    Reader,
    accept,
    as_page,
    as_text,
    language_states,
    offered,
    write_page,
)
from labelkit.jobs.running import make
from labelkit.jobs.wishes import Wish
from labelkit.records.reading import read_workspace
from labelkit.wording.entries import catalog_path
from labelkit.wording.statements import statements

SAMPLE = Path(__file__).parents[2] / "samples" / "languages"
READER = Reader("Ana O'Dell", "DEMO-1", "native", date(2026, 11, 24))
POLISH = "205107"
"""The sample's patient who reads Polish, and the one who reads Spanish."""
SPANISH = "205102"


@pytest.fixture
def records(tmp_path: Path) -> Path:
    """A copy of the sample with a patient for each language."""
    return Path(shutil.copytree(SAMPLE, tmp_path / "records"))


def own(records: Path, language: str, id_: str, text: str) -> None:
    """Give the pharmacy an entry of its own."""
    english = statements()[id_].english
    path = catalog_path(records / "locales", language)
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(
        'msgid ""\nmsgstr ""\n"Content-Type: text/plain; charset=utf-8\\n"\n\n'
        f'msgctxt "{id_}"\nmsgid "{english}"\nmsgstr "{text}"\n',
        encoding="utf-8",
    )


def test_what_is_offered_is_what_nobody_answers_for(records: Path) -> None:
    """All of Polish, which nobody accepted; of Spanish only what changed since."""
    assert len(offered(records, "pl").entries) == len(statements())
    assert offered(records, "es").entries == ()
    own(records, "es", "peel.do-not-push", "Abra. No apriete.")
    (entry,) = offered(records, "es").entries
    assert (entry.statement, entry.english) == ("peel.do-not-push", ("Peel. Do not push.",))
    assert entry.words == ("Abra. No apriete.",)


def test_a_changed_statement_alone_needs_acceptance_again(records: Path) -> None:
    """After one word was changed, one line is accepted, and Spanish is answered for whole."""
    own(records, "es", "peel.do-not-push", "Abra. No apriete.")
    spanish = {s.language: s for s in language_states(records)}["es"]
    assert spanish.answered == spanish.statements - 1
    made = accept(records, "es", offered(records, "es").key, READER)
    assert [id_ for id_, _ in made.words] == ["peel.do-not-push"]
    spanish = {s.language: s for s in language_states(records)}["es"]
    assert spanish.answered == spanish.statements
    kept = read_workspace(records).acceptances[-1]
    assert (kept.name, kept.reads, kept.words) == ("Ana O'Dell", "native", made.words)


def test_statements_can_be_named(records: Path) -> None:
    """A person answers for the sentences she read, and for no others."""
    named = ("caution.nitrates", "peel.here")
    made = accept(records, "pl", offered(records, "pl", named).key, READER, named)
    assert tuple(id_ for id_, _ in made.words) == named
    with pytest.raises(RecordsRefused, match="no words in pl"):
        offered(records, "pl", ("no.such",))


def test_a_key_is_of_the_words_that_were_shown(records: Path) -> None:
    """Words that changed between reading and accepting are accepted by nobody."""
    key = offered(records, "pl").key
    own(records, "pl", "peel.do-not-push", "Odklej. Nie naciskaj.")
    with pytest.raises(RecordsRefused, match="aren't the words that were shown"):
        accept(records, "pl", key, READER)
    assert len(read_workspace(records).acceptances) == 2


@pytest.mark.parametrize(
    ("reader", "clause"),
    [
        (Reader(" ", "DEMO-1", "native"), "name is blank"),
        (Reader("Ana", "", "native"), "licence is blank"),
        (Reader("Ana", "DEMO-1", "a little"), "how well that person reads pl"),
    ],
)
def test_who_accepts_is_told_whole(records: Path, reader: Reader, clause: str) -> None:
    """Name, licence, and how well the person reads the language."""
    with pytest.raises(RecordsRefused, match=clause):
        accept(records, "pl", offered(records, "pl").key, reader)


ALLOWED = "Możesz brać go z azotanami (nitrogliceryna, izosorbid) i azotynami („poppers”)."


def test_a_catalog_that_allows_nitrates_is_neither_made_nor_accepted(
    records: Path, tmp_path: Path
) -> None:
    """The Polish that lost its negation stops Polish; the Spanish patient's papers are made."""
    own(records, "pl", "caution.nitrates", ALLOWED)
    with pytest.raises(WordingRefused, match="lost the negation"):
        offered(records, "pl")
    assert {s.language for s in language_states(records) if s.faults} == {"pl"}
    wish = Wish(rx=(POLISH, SPANISH), only=frozenset({"sleeve"}))
    outcome = make(records, wish, tmp_path / "out")
    assert [made.language for made in outcome.made] == ["es"]
    (refused,) = outcome.refused
    assert "lost the negation" in str(refused)


def test_the_page_shows_english_beside_the_words(records: Path, tmp_path: Path) -> None:
    """HTML or text, with the key at its end, right-to-left words in their own direction."""
    offer = offered(records, "ar", ("peel.do-not-push", "quantity.tablets"))
    page, text = as_page(offer), as_text(offer)
    for shown in (page, text):
        assert "Peel. Do not push." in shown
        assert "قرصان ({tablets})" in shown
        assert offer.key in shown
    assert '<td lang="ar" dir="rtl">' in page
    for name, whole in (("words.html", page), ("words.txt", text)):
        write_page(offer, tmp_path / name)
        assert (tmp_path / name).read_text(encoding="utf-8") == whole


def test_a_translation_of_other_english_is_not_offered(records: Path) -> None:
    """Whoever reads it would read it beside English that it wasn't made from."""
    own(records, "es", "peel.do-not-push", "Abra. No apriete.")
    path = catalog_path(records / "locales", "es")
    path.write_text(path.read_text("utf-8").replace("Peel. Do", "Pull. Do"), "utf-8")
    with pytest.raises(WordingRefused, match="the English has changed since"):
        offered(records, "es")
