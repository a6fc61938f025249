"""Counted sentences, written out for each language and read once, against CLDR's categories.

`golden-counts.tsv` holds every statement that counts, said with 1, 2, 5, 11, 21, 30 and 100.
Which category a count has comes from CLDR through Babel, never from labelkit; the nouns below
are written by hand (grammars of each language, from memory: nobody qualified has read them).
A sentence that changes is changed there by hand too, after reading it.
"""

import csv
import re
from pathlib import Path

import pytest
from babel import Locale

from labelkit.wording.catalogs import catalog
from labelkit.wording.coverage import languages
from labelkit.wording.statements import statements

FILE = Path(__file__).with_name("golden-counts.tsv")
COUNTS = ("1", "2", "5", "11", "21", "30", "100")
VALUES: dict[str, object] = {
    "when": "…",
    "reason": "…",
    "number": 1,
    "of": 2,
    "rx_number": "10432",
    "piece": "A",
    "drug": "D",
    "strength": "7 mg",
    "amount": "9 mg",
    "lot": "L1",
}
"""What stands in the places that don't count."""

TABLETS = {
    "en": {"one": "tablet", "other": "tablets"},
    "es": {"one": "tableta", "other": "tabletas"},
    "fr": {"one": "comprimé", "other": "comprimés"},
    "pt-BR": {"one": "comprimido", "other": "comprimidos"},
    "de": {"one": "Tablette", "other": "Tabletten"},
    "pl": {"one": "tabletka", "few": "tabletki", "many": "tabletek"},
    "ru": {"one": "таблетка", "few": "таблетки", "many": "таблеток"},
    "vi": {"other": "viên"},
    "ar": {
        "one": "قرص واحد",
        "two": "قرصان",
        "few": "أقراص",
        "many": "قرصًا",
        "other": "قرص",
    },
    "hi": {"one": "गोली", "other": "गोलियाँ"},
    "zh-Hans": {"other": "片"},
    "ko": {"other": "정"},
}
"""The word for tablets that each of CLDR's categories takes, alone after or before its number."""


def rows() -> list[dict[str, str]]:
    """The golden sentences."""
    with FILE.open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file, delimiter="\t"))


ROWS = rows()


@pytest.mark.parametrize("language", sorted({row["language"] for row in ROWS}))
def test_each_sentence_is_said_as_it_was_read(language: str) -> None:
    """What the catalog says for a count is the sentence that stands in the file."""
    spoken = catalog(language)
    for row in (r for r in ROWS if r["language"] == language):
        statement = statements()[row["statement"]]
        values = {name: VALUES.get(name) for name in statement.placeholders}
        said = spoken.say(statement.id, values | {statement.count: int(row["count"])})
        assert said.text.replace("\N{NO-BREAK SPACE}", " ") == row["sentence"]


def test_the_categories_are_those_of_cldr() -> None:
    """Each row's category is what CLDR's rules give for that count in that language."""
    for row in ROWS:
        rule = Locale.parse(row["language"], sep="-").plural_form
        assert rule(int(row["count"])) == row["category"], row


@pytest.mark.parametrize("language", sorted(TABLETS))
def test_each_category_has_its_own_word(language: str) -> None:
    """A number of tablets takes the word of its CLDR category, written by hand above."""
    found = [r for r in ROWS if r["language"] == language and r["statement"] == "quantity.tablets"]
    assert [r["count"] for r in found] == list(COUNTS)
    for row in found:
        word = re.sub(r"[\d()\s]+$|^[\d\s]+", "", row["sentence"])
        assert word == TABLETS[language][row["category"]], row


def test_counts_of_one_category_share_their_words() -> None:
    """But for the number, sentences of one statement differ only where CLDR's categories do."""
    frames: dict[tuple[str, str, str], set[str]] = {}
    for row in ROWS:
        key = (row["language"], row["statement"], row["category"])
        frame = re.sub(rf"(?<!\d){row['count']}(?!\d)", "#", row["sentence"])
        # A count that another part of the sentence has too (pack 1 of 2) stands there as well.
        frames.setdefault(key, set()).add(re.sub(r"(?<!\d)[12](?!\d)", "#", frame))
    assert {key: len(said) for key, said in frames.items() if len(said) > 1} == {}


def test_nothing_that_counts_is_left_out() -> None:
    """Every statement that counts, in every language that has its own words for it."""
    counted = {id_ for id_, statement in statements().items() if statement.count}
    there = {(row["language"], row["statement"]) for row in ROWS}
    regions = {"en-GB": {"rx.refills"}, "fr-CA": set()}
    wanted = {(language, id_) for language in languages() for id_ in regions.get(language, counted)}
    assert there == wanted
    assert len(ROWS) == len(COUNTS) * len(wanted)
