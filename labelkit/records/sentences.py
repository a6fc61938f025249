"""Whether a text says something: a reason is a sentence that somebody else can follow later.

It can't tell a good reason from a bad one. It refuses what is none at all: a letter, a word, one
word or sign again and again.
"""

import re
import unicodedata

from labelkit.records.faultbook import Unreadable

LEAST_WORDS = 4
"""Words of a reason, in scripts that part them. Our own bound: "prescriber agreed by telephone"."""
LEAST_DIFFERENT = 3
"""Different ones among them. Our own bound."""
LEAST_LETTERS = 8
"""Different letters of a reason, in any script. Our own bound: \"aaaaaaaaaa\" has one."""

_UNPARTED = ("CJK", "HIRAGANA", "KATAKANA", "THAI", "LAO", "KHMER", "MYANMAR")
"""Beginnings of the names of letters written without spaces (The Unicode Standard, 6.2)."""


def says_why(text: str) -> str:
    """The text, if it may be a reason. Raises Unreadable."""
    letters = {char.casefold() for char in text if char.isalpha()}
    if len(letters) < LEAST_LETTERS:
        raise _too_little(f"gives no reason: it has fewer than {LEAST_LETTERS} different letters")
    if any(unicodedata.name(letter, "").startswith(_UNPARTED) for letter in letters):
        return text
    words = [word.casefold() for word in re.findall(r"[^\W\d_][\w\u0300-\u036f'’-]*", text)]
    if len(words) < LEAST_WORDS or len(set(words)) < LEAST_DIFFERENT:
        raise _too_little(
            f"gives no reason: it has fewer than {LEAST_WORDS} words, or the same again and again"
        )
    return text


def _too_little(wrong: str) -> Unreadable:
    return Unreadable(wrong, "say in a sentence why, so that somebody else can follow it later")
