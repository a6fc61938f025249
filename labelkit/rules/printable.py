"""What must not be printed because it is misread: abbreviations, symbols, number forms.

Meant for statements, directions and facts of the medicine; not for names of people, firms,
streets or web addresses, where an ampersand is just a name. Words are judged in English
only, since what is an abbreviation there may be a word elsewhere; micro signs, symbols and
numbers in every language. It finds, it never rewrites.
"""

import re
from dataclasses import dataclass
from functools import cache

from labelkit.ground.errors import Fault
from labelkit.records.model import Preparation
from labelkit.rules.data import Datum, Source, load
from labelkit.rules.places import of_preparation

_NUMBER_BEFORE = r"(?<=\d)[\s\u00a0\u202f]?"


class Word(Datum):
    """An abbreviation in its spellings."""

    written: tuple[str, ...]
    write: str
    near_number: bool = False
    """Misread as a unit: after a number, in every language."""
    bare_too: bool = False
    """In English, misread without a number before it too."""
    everywhere: bool = False
    """Refused in every language."""
    printed_only: bool = False
    """Refused in print, but read from short directions."""
    source: Source


class Symbol(Datum):
    """A symbol that is misread in every language."""

    written: str
    write: str
    source: Source


class NumberForm(Datum):
    """A way of writing numbers, as a regular expression."""

    id: str
    pattern: str
    write: str
    english_only: bool = False
    source: Source


class ErrorProne(Datum):
    """The whole list."""

    words: tuple[Word, ...]
    symbols: tuple[Symbol, ...]
    numbers: tuple[NumberForm, ...]


@dataclass(frozen=True, slots=True)
class Finding:
    """One place in a text that is misread."""

    at: int
    """Offset in characters."""
    found: str
    write: str
    source: str


@cache
def error_prone() -> ErrorProne:
    """The shipped list."""
    return ErrorProne.model_validate(load("error-prone.toml"))


def judge_print(text: str, language: str) -> tuple[Finding, ...]:
    """Every misread form in a text of that language, in its order."""
    english = language.split("-")[0] == "en"
    found = [
        Finding(match.start(), match[0].strip(), write, source)
        for pattern, write, source in _patterns(english)
        for match in pattern.finditer(text)
    ]
    return tuple(sorted(found, key=lambda f: (f.at, f.found)))


def judge_own_words(preparation: Preparation, language: str) -> tuple[Fault, ...]:
    """Misread forms in the words that a pharmacy writes itself and labelkit prints."""
    at = of_preparation(preparation)
    texts = [("title", preparation.title)]
    texts += [("excipients", name) for name in preparation.excipients]
    if preparation.comparison is not None:
        texts.append(("comparison.swallowed_name", preparation.comparison.swallowed_name))
        texts.append(("comparison.source", preparation.comparison.source))
    return tuple(
        at.fault(
            field,
            f"{found.found!r} in {text!r} is misread",
            f"write {found.write}",
            "print.error-prone",
            found.source,
        )
        for field, text in texts
        for found in judge_print(text, language)
    )


@cache
def _patterns(english: bool) -> tuple[tuple[re.Pattern[str], str, str], ...]:
    listed = error_prone()
    found = []
    for word in listed.words:
        spellings = "|".join(re.escape(w) for w in sorted(word.written, key=len, reverse=True))
        if word.near_number and not (english and word.bare_too):
            found.append((rf"{_NUMBER_BEFORE}(?:{spellings})(?!\w)", word.write, word.source))
        elif english or word.everywhere:
            found.append((rf"(?<![^\W\d])(?:{spellings})(?!\w)", word.write, word.source))
    found += [(re.escape(s.written), s.write, s.source) for s in listed.symbols]
    found += [
        (n.pattern, n.write, n.source) for n in listed.numbers if english or not n.english_only
    ]
    return tuple((re.compile(p), write, source) for p, write, source in found)
