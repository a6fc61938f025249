"""Text as a record may hold it: normalised, visible, of one line, and not too long.

Refuses what a reader of the label couldn't see or couldn't trust: control characters, line
breaks, marks that turn the direction of reading, other invisible characters, the
replacement character a wrongly read file leaves behind. It never repairs a text beyond
normalising it (Unicode NFC, UAX #15) and taking white space off its ends.
"""

import difflib
import re
import unicodedata
from collections.abc import Iterable

from labelkit.records.faultbook import Unreadable

SHORT = 40
"""Most characters of a number, a telephone, a licence. Our own bound: it must fit one line."""

NAME = 200
"""Most characters of a name, an address line, a title. Our own bound, far over real names."""

SENTENCE = 600
"""Most characters of a source or a note. Our own bound."""

_JOINERS = frozenset("\u200c\u200d")
"""ZERO WIDTH NON-JOINER and JOINER: invisible, but spelling in Persian and in Indic scripts
(The Unicode Standard, 23.2)."""

_DIRECTION = frozenset(map(chr, (*range(0x202A, 0x202F), *range(0x2066, 0x206A))))
"""Embeddings, overrides and isolates (UAX #9, 2.1-2.5): they can make 12 read as 21."""

_REFUSED_KINDS = {
    "Cc": "a control character",
    "Cf": "an invisible character",
    "Cs": "half a character",
    "Co": "a private-use character",
    "Cn": "a character that Unicode doesn't assign",
    "Zl": "a line separator",
    "Zp": "a paragraph separator",
}
"""General categories (The Unicode Standard, 4.5) that no label can show."""

_SLUG = re.compile(r"[a-z0-9]+(?:[-.][a-z0-9]+)*")


def clean(text: str, most: int = NAME) -> str:
    """The text in NFC without white space at its ends.

    Raises Unreadable for a character that can't be shown (its code point is named) and for
    more than `most` characters.
    """
    kept = unicodedata.normalize("NFC", text).strip()
    if len(kept) > most:
        raise Unreadable(
            f"holds {len(kept)} characters; the most for this field is {most}",
            "shorten it, or look for a lost quotation mark in the file",
        )
    for place, char in enumerate(kept, start=1):
        reason = _reason_against(char)
        if reason:
            raise Unreadable(
                f"holds {reason}, {code_point(char)}, as character {place}",
                "take that character out, or type the text anew",
            )
    return kept


def _reason_against(char: str) -> str:
    if char in _JOINERS:
        return ""
    if char in "\r\n\v\f\x85":
        return "a line break"
    if char in _DIRECTION:
        return "a mark that turns the direction of reading"
    if char == "\N{REPLACEMENT CHARACTER}":
        return "the mark of a character that was lost when the file was converted"
    return _REFUSED_KINDS.get(unicodedata.category(char), "")


def code_point(char: str) -> str:
    """``U+202E RIGHT-TO-LEFT OVERRIDE``; without a name where Unicode gives none."""
    name = unicodedata.name(char, "")
    return f"U+{ord(char):04X} {name}".rstrip()


def shown(value: object, most: int = 40) -> str:
    """The value as a fault quotes it: on one line, visible, cut after `most` characters."""
    text = str(value)
    visible = "".join(
        char if not _reason_against(char) else f"<U+{ord(char):04X}>" for char in text[:most]
    )
    return f"'{visible}'" if len(text) <= most else f"'{visible}' …"


def slug(text: str) -> str:
    """The text if it is a statement's id or its ending. Raises Unreadable."""
    if not _SLUG.fullmatch(text):
        raise Unreadable(
            f"{shown(text)} is no statement's name",
            "use lower-case letters, digits and hyphens, as in 'room-dry'",
        )
    return text


def nearest(word: str, known: Iterable[str]) -> str:
    """``did you mean 'x'`` for the nearest known word, else the list of all of them."""
    words = tuple(known)
    close = difflib.get_close_matches(word[:NAME], words, n=1, cutoff=0.6)
    if close:
        return f"write '{close[0]}' if that is what is meant"
    return f"use one of: {', '.join(words)}"
