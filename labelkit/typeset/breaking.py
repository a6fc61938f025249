"""Where a line may end: UAX #14 by ICU, narrowed by what a label must not break.

Narrowed: nothing inside verbatim parts (drug, strength, lot, date, telephone), no break
between a number and what it counts. Hyphenation points are given apart: fitting uses
them only where a text can't be set without.
"""

import re
import unicodedata
from collections.abc import Sequence
from functools import lru_cache

import pyphen
from icu4py.breakers import LineBreaker

from labelkit.typeset.paragraph import INVISIBLE, spans, tag

_LEAST_BEFORE, _LEAST_AFTER, _LEAST_WORD = 3, 3, 7
"""Letters left before and after a hyphen, and in a word that may be hyphenated: common
practice, no source."""

_PATTERNS = frozenset(
    {
        "en_GB",  # BSD-style: copying and changing are free with its notice
        "en_US",  # hyphen.tex and TUGboat's exceptions: free to copy
        "es",  # MPL-1.1, LGPL-3.0 or GPL-3.0, of patterns under the MIT licence
        "pt_BR",  # LGPL-3.0 and MPL
        *("be_BY", "ca", "da_DK", "de_AT", "de_CH", "de_DE", "fr", "it_IT", "pl_PL"),  # LGPL
        "ru_RU",  # no note beside it; LGPL by its collection (from memory)
    }
)
"""pyphen's dictionaries that are opened: those whose own notes, which it installs beside them,
name a licence that isn't the GPL alone. Other languages aren't hyphenated."""

_LAST_OF_ONE_UNIT = 0xFFFF

_WORD = re.compile(r"[^\W\d_]+")
_JOINING = frozenset("-\u2010\u2013/.:,")
_LONGEST_COUNT = 5
"""Characters of a number that stays with the word after it (``12.75``); a longer digit
string is an identifier, which is verbatim anyway."""


def _locale(language: str) -> str:
    """Strict line breaking; Korean between words, as Hangul is set with spaces
    (UAX #14, 5.1, class H2: 'space-based' style)."""
    base = tag(language)
    return f"{base}-u-lw-phrase" if base.split("-")[0] == "ko" else f"{base}-u-lb-strict"


def _splits_a_number(text: str, at: int) -> bool:
    """Whether a break before `at` parts a number from its unit or from its other half."""
    before, after = text[at - 1], text[at]
    if before.isdigit() and after.isalnum():
        return True
    if before in _JOINING and at >= 2:
        return text[at - 2].isdigit() or after.isdigit()
    if before.isspace() and (after.isalnum() or after in "%°‰"):
        counted = text[:at].rstrip()
        number = re.search(r"[\d.,/½¼¾]+$", counted)
        return bool(number and len(number.group()) <= _LONGEST_COUNT and counted[-1].isalnum())
    return False


def plain_opportunities(text: str, locale: str) -> tuple[int, ...]:
    """Where UAX #14 lets a line begin, without the text's own ends. ICU counts UTF-16 units."""
    starts = [0]
    for one in text:
        starts.append(starts[-1] + (2 if ord(one) > _LAST_OF_ONE_UNIT else 1))
    index = {unit: i for i, unit in enumerate(starts)}
    ends = [index[end] for _, end in LineBreaker(text, locale).segments()]
    return tuple(end for end in ends if end < len(text))


def opportunities(text: str, language: str, verbatim: tuple[str, ...]) -> tuple[int, ...]:
    """Indices of `text` before which a line may begin, ascending, without 0 and the end."""
    kept = spans(text, verbatim)
    return tuple(
        end
        for end in plain_opportunities(text, _locale(language))
        if not any(a < end < b for a, b in kept) and not _splits_a_number(text, end)
    )


@lru_cache(maxsize=32)
def _hyphenator(language: str) -> pyphen.Pyphen | None:
    name = pyphen.language_fallback(language.replace("-", "_"))
    if not name or pyphen.LANGUAGES[name].stem.removeprefix("hyph_") not in _PATTERNS:
        return None
    return pyphen.Pyphen(lang=name, left=_LEAST_BEFORE, right=_LEAST_AFTER)


def hyphenations(text: str, language: str, verbatim: tuple[str, ...]) -> tuple[int, ...]:
    """Indices before which a word may be broken with a hyphen; empty where the language
    has no patterns. Words with a capital inside or digits beside them are left whole.

    The patterns take long to read: they are opened only for a word that isn't a record's own.
    """
    kept = spans(text, verbatim)
    words = [match for match in _WORD.finditer(text) if _may_break(match, text, kept)]
    hyphenator = _hyphenator(language) if words else None
    if hyphenator is None:
        return ()
    return tuple(
        match.start() + int(place)
        for match in words
        for place in hyphenator.positions(match.group())
        if getattr(place, "data", None) is None
        and not any(a < match.start() + place < b for a, b in kept)
    )


def _may_break(match: re.Match[str], text: str, kept: Sequence[tuple[int, int]]) -> bool:
    """Whether a word is long and plain enough, and not all of it lies in what is kept whole."""
    word, start, end = match.group(), match.start(), match.end()
    beside = text[max(0, start - 1) : start] + text[end : end + 1]
    return not (
        len(word) < _LEAST_WORD
        or word[1:] != word[1:].lower()
        or beside.strip("-").isdigit()
        or any(a <= start and end <= b for a, b in kept)
    )


def to_visible(text: str, places: tuple[int, ...]) -> tuple[int, ...]:
    """Indices of `text` as indices of the text without its invisible characters."""
    hidden = [i for i, one in enumerate(text) if one in INVISIBLE]
    moved = (place - sum(1 for i in hidden if i < place) for place in places)
    return tuple(dict.fromkeys(place for place in moved if place > 0))


def is_space(character: str) -> bool:
    """Whether the character is dropped at the end of a line (UAX #14, class SP and BK)."""
    return character == " " or (
        unicodedata.category(character) == "Zs" and character not in "\u00a0\u202f\u2007"
    )
