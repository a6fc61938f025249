"""Catalogs checked as data: what can be seen wrong without knowing the language.

Placeholders, numbers, negation, English left over. Finds no bad translation: a person
who knows the language and the trade does that, and signs.
"""

import re
import tomllib
from collections import Counter
from collections.abc import Iterator, Mapping
from functools import lru_cache
from pathlib import Path

from pydantic import BaseModel, ConfigDict

from labelkit.ground import door
from labelkit.ground.errors import Fault
from labelkit.wording.entries import Entry
from labelkit.wording.statements import Statement, placeholders_in

_NUMBER = re.compile(r"\d+(?:[.,]\d+)?")
_WORDS = Path(__file__).resolve().parent / "words.toml"
_PLAIN_WORD = re.compile(r"[a-z]{2,}")
_BETWEEN_WORDS = re.compile(r"[\s.,:;!?()“”„«»\"’–,،؛؟।]+")


@lru_cache(maxsize=16_384)
def hard_wrongs(statement: Statement, entry: Entry) -> tuple[str, ...]:
    """What makes an entry unsayable: other placeholders or other numbers than the English.

    Each is a clause for a fault. These are checked again whenever a statement is said.
    """
    found: list[str] = []
    for text in entry.texts:
        if not text:
            found.append("a plural form is empty")
            continue
        try:
            used = placeholders_in(text)
        except ValueError as error:
            found.append(f"a brace is broken: {error}")
            continue
        if used != statement.placeholders:
            found.append(
                f"has the placeholders {_braced(used)} where the English "
                f"has {_braced(statement.placeholders)}"
            )
        if numbers_in(text) != numbers_in(statement.english):
            found.append(
                f"has the numbers {_counted(numbers_in(text))} where the English "
                f"has {_counted(numbers_in(statement.english))}"
            )
    return tuple(dict.fromkeys(found))


def numbers_in(text: str) -> Counter[str]:
    """Numbers written with Western digits outside placeholders, each as often as it stands."""
    bare = re.sub(r"\{\w+\}", "", text)
    return Counter(match.replace(",", ".") for match in _NUMBER.findall(bare))


class _Words(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid")

    fused: frozenset[str]
    proclitics: tuple[str, ...]
    negation: dict[str, tuple[str, ...]]
    never: dict[str, tuple[str, ...]]


@lru_cache(maxsize=1)
def _words() -> _Words:
    return _Words.model_validate(tomllib.loads(door.read_bytes(_WORDS).decode("utf-8")))


def checked_languages() -> frozenset[str]:
    """Language subtags that have lists of words; in others negation can't be checked."""
    return frozenset(_words().negation) & frozenset(_words().never)


def negates(text: str, language: str) -> bool:
    """Whether the text has a word of negation of that language subtag."""
    markers = _words().negation[language]
    folded = text.casefold()
    if language in _words().fused:
        return any(marker in folded for marker in markers)
    alone = set(_BETWEEN_WORDS.split(folded))
    if language == "ar":
        alone |= {word[1:] for word in alone if word.startswith(_words().proclitics)}
    return not alone.isdisjoint(markers)


def soft_wrongs(statement: Statement, entry: Entry, language: str) -> tuple[str, ...]:
    """What a translator should look at again, as clauses for faults.

    A negation that is lost, English left as it was, and words that may stand nowhere.
    """
    base = language.split("-")[0]
    found: list[str] = []
    for text in entry.texts:
        if base in checked_languages():
            if negates(statement.english, "en") and not negates(text, base):
                found.append("has lost the negation of the English")
            found.extend(
                f"says '{word}'" for word in _words().never[base] if word in text.casefold()
            )
        if (
            base != "en"
            and text in (statement.english, statement.english_plural)
            and _is_prose(text)
        ):
            found.append("is still English")
    return tuple(dict.fromkeys(found))


def catalog_faults(
    statements: Mapping[str, Statement], entries: Mapping[str, Entry], language: str, shown: str
) -> tuple[Fault, ...]:
    """Every fault of one language's catalog, hard and soft, and entries for no statement."""
    return tuple(_faults(statements, entries, language, shown))


def _faults(
    statements: Mapping[str, Statement], entries: Mapping[str, Entry], language: str, shown: str
) -> Iterator[Fault]:
    for id_, entry in entries.items():
        statement = statements.get(id_)
        if statement is None:
            yield Fault(shown, id_, "", "there is no such statement", "remove the entry")
            continue
        if not any(entry.texts):
            continue
        if entry.msgid != statement.msgid:
            yield Fault(
                shown, id_, "msgid", "the English has changed since", "translate the entry anew"
            )
        for wrong in (*hard_wrongs(statement, entry), *soft_wrongs(statement, entry, language)):
            yield Fault(shown, id_, "msgstr", f"the translation {wrong}", "mend the translation")


def _is_prose(text: str) -> bool:
    """Several plain words: a name or a cognate alone may well be the same in two languages."""
    return len(_PLAIN_WORD.findall(re.sub(r"\{\w+\}", "", text))) >= 3


def _braced(names: tuple[str, ...]) -> str:
    return ", ".join(f"{{{name}}}" for name in names) or "none"


def _counted(numbers: Counter[str]) -> str:
    return ", ".join(sorted(numbers.elements())) or "none"
