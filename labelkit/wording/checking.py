"""Catalogs checked as data: what can be seen wrong without knowing the language.

Placeholders, numbers, units, plural forms, negation, names, English left over. Finds no bad
translation: a person who knows the language and the trade does that, and signs.
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
from labelkit.wording.entries import Entry, EntryFile, shown_path
from labelkit.wording.plurals import categories, form, header
from labelkit.wording.statements import Statement, placeholders_in, words_digest

_NUMBER = re.compile(r"\d+(?:[.,]\d+)?")
_UNIT = re.compile(r"\d[\s\u00a0]?(mg|mcg|g|mL|%|°C|°F)(?![A-Za-zÀ-ỹ])")
_COUNTS = range(200)
"""Counts on which a header is compared with CLDR: every rule repeats after a hundred."""
_WORDS = Path(__file__).resolve().parent / "words.toml"
_NAMES = _WORDS.with_name("names.toml")
_PLAIN_WORD = re.compile(r"[a-z]{2,}")
_BETWEEN_WORDS = re.compile(r"[\s.,:;!?()“”„«»\"’–,،؛؟।]+")


@lru_cache(maxsize=16_384)
def hard_wrongs(statement: Statement, entry: Entry) -> tuple[str, ...]:
    """What makes an entry unsayable: other placeholders, numbers, units or forms than the English.

    Each is a clause for a fault. These are checked again whenever a statement is said.
    """
    found: list[str] = []
    wanted = len(categories(entry.language)) if statement.count else 1
    if len(entry.texts) != wanted:
        found.append(f"has {len(entry.texts)} forms where the language needs {wanted}")
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
        local = _words().emergency.get(entry.language, ())
        numbers, english = numbers_in(text, local), numbers_in(statement.english)
        if numbers != english:
            found.append(
                f"has the numbers {_counted(numbers)} where the English has {_counted(english)}"
            )
        found.extend(_unit_wrongs(statement.english, text, entry.language))
    return tuple(dict.fromkeys(found))


def numbers_in(text: str, local: tuple[str, ...] = ()) -> Counter[str]:
    """Numbers written with Western digits outside placeholders, each as often as it stands.

    `local` are a region's emergency telephone numbers, which its words may add.
    """
    bare = re.sub(r"\{\w+\}", "", text)
    found = (match.replace(",", ".") for match in _NUMBER.findall(bare))
    return Counter(number for number in found if number not in local)


def _unit_wrongs(english: str, text: str, language: str) -> Iterator[str]:
    """Clauses for symbols of units that differ, and for hours, minutes or days that are gone."""
    have, want = Counter(_UNIT.findall(text)), Counter(_UNIT.findall(english))
    if have != want:
        yield f"has the units {_counted(have)} where the English has {_counted(want)}"
    for unit, markers in _words().spans.items():
        known = markers.get(language.split("-")[0])
        asked = re.search(rf"[\d}}]\s{unit}s?\b", english)
        if known and asked and not any(marker in text.casefold() for marker in known):
            yield f"counts something else where the English counts {unit}s"


class _Words(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid")

    fused: frozenset[str]
    proclitics: tuple[str, ...]
    negation: dict[str, tuple[str, ...]]
    never: dict[str, tuple[str, ...]]
    spans: dict[str, dict[str, tuple[str, ...]]]
    emergency: dict[str, tuple[str, ...]]


@lru_cache(maxsize=1)
def _words() -> _Words:
    return _Words.model_validate(tomllib.loads(door.read_bytes(_WORDS).decode("utf-8")))


@lru_cache(maxsize=1)
def _names() -> dict[str, dict[str, str]]:
    return tomllib.loads(door.read_bytes(_NAMES).decode("utf-8"))


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


NEGATION_LOST = "has lost the negation of the English"
"""The one wrong that two readers may say is none: many a sentence forbids without such a word."""


def soft_wrongs(statement: Statement, entry: Entry, language: str) -> tuple[str, ...]:
    """What a translator should look at again, as clauses for faults.

    A negation that is lost, English left as it was, words that may stand nowhere, and a
    medicine under another name than the language's one.
    """
    base = language.split("-")[0]
    found: list[str] = []
    for text in entry.texts:
        if base in checked_languages():
            if negates(statement.english, "en") and not negates(text, base):
                found.append(NEGATION_LOST)
            found.extend(
                f"says '{word}'" for word in _words().never[base] if word in text.casefold()
            )
        found.extend(
            f"doesn't name {name} as the other sentences do: {spelt}"
            for name, spelt in _spellings(statement, entry.language)
            if spelt.casefold() not in text.casefold()
        )
        if (
            base != "en"
            and text in (statement.english, statement.english_plural)
            and _is_prose(text)
        ):
            found.append("is still English")
    return tuple(dict.fromkeys(found))


def spelling(name: str, language: str) -> str:
    """A medicine's one name in a language, or the beginning that its cases share; its own
    English name where the language has none of its own."""
    parts = language.split("-")
    for length in range(len(parts), 0, -1):
        known = _names().get("-".join(parts[:length]), {})
        if name in known:
            return known[name]
    return name


def _spellings(statement: Statement, language: str) -> Iterator[tuple[str, str]]:
    """Names of the statement that the glossary knows, as the language spells them."""
    if language.split("-")[0] in _names():
        known = {name for spelt in _names().values() for name in spelt}
        yield from ((name, spelling(name, language)) for name in statement.names if name in known)


def stopping_faults(
    statements: Mapping[str, Statement], entries: Mapping[str, Entry], language: str
) -> tuple[Fault, ...]:
    """Faults of a language's words for which nothing may be made from it, or accepted.

    A lost negation that two readers signed isn't one. Entries whose English has changed are
    none either: what they say is a draft.
    """
    return tuple(
        _mend(entry.file, id_, wrong)
        for id_, entry in entries.items()
        if id_ in statements and any(entry.texts)
        for wrong in _stops(statements[id_], entry, language)
    )


def _stops(statement: Statement, entry: Entry, language: str) -> tuple[str, ...]:
    soft = soft_wrongs(statement, entry, language)
    if NEGATION_LOST in soft:
        words = words_digest(statement, language, entry.texts)
        readers = {s.name.strip().casefold() for s in entry.signatures if s.words == words}
        if len(readers) > 1 and not entry.fuzzy:
            soft = tuple(wrong for wrong in soft if wrong != NEGATION_LOST)
    return (*hard_wrongs(statement, entry), *soft)


def _mend(file: str, id_: str, wrong: str) -> Fault:
    mend = "mend the translation"
    if wrong == NEGATION_LOST:
        mend += ", or have two readers sign the sentence in the catalog, with its words' digest"
    return Fault(file, id_, "msgstr", f"the translation {wrong}", mend)


def header_fault(file: EntryFile) -> Fault | None:
    """What is wrong with a catalog's ``Plural-Forms``; None where it parts counts as CLDR does."""
    if not any(isinstance(entry.msgid, tuple) for entry in file.entries.values()):
        return None
    right = file.plural_count == len(categories(file.language))
    try:
        right = right and all(
            file.plural_index(count) == form(file.language, count) for count in _COUNTS
        )
    except (ArithmeticError, ValueError, RecursionError):
        right = False
    if right:
        return None
    return Fault(
        file.shown,
        "",
        "Plural-Forms",
        f"the header doesn't part counts as CLDR does for {file.language}",
        f"write: {header(file.language)}",
    )


def catalog_faults(
    statements: Mapping[str, Statement], entries: Mapping[str, Entry], language: str
) -> tuple[Fault, ...]:
    """Every fault of one language's words: those that stop, an English that has changed,
    signatures that name no words or others, and entries for no statement."""
    return tuple(_faults(statements, entries, language))


def _faults(
    statements: Mapping[str, Statement], entries: Mapping[str, Entry], language: str
) -> Iterator[Fault]:
    for id_, entry in entries.items():
        shown = entry.file or shown_path(language)
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
        words = words_digest(statement, language, entry.texts)
        for signature in entry.signatures:
            if signature.words != words:
                yield Fault(
                    shown,
                    id_,
                    "reviewed by",
                    f"{signature.name} signed other words, or none by their digest",
                    f"read it again; who stands by these words writes {words} after the day",
                )
    yield from stopping_faults(statements, entries, language)


def _is_prose(text: str) -> bool:
    """Several plain words: a name or a cognate alone may well be the same in two languages."""
    return len(_PLAIN_WORD.findall(re.sub(r"\{\w+\}", "", text))) >= 3


def _braced(names: tuple[str, ...]) -> str:
    return ", ".join(f"{{{name}}}" for name in names) or "none"


def _counted(numbers: Counter[str]) -> str:
    return ", ".join(sorted(numbers.elements())) or "none"
