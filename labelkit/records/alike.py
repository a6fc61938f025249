"""Whether two names, as they are written, may be one person's.

Accents, letter case, spaces, hyphens, apostrophes and the order of the words don't tell people
apart, and neither does a name that is shortened to its initial or left out. It says *may be*:
whether they are one person, somebody has to find out. What is spelt with other letters counts as
another name.
"""

import re
import unicodedata

_PLAIN = str.maketrans(
    {"ø": "o", "ł": "l", "đ": "d", "ð": "d", "þ": "th", "æ": "ae", "œ": "oe", "ı": "i", "ħ": "h"}
)
"""Letters with a stroke and joined letters: Unicode decomposes none of them (UnicodeData.txt,
from memory), and registers write them with and without."""

_INSIDE = re.compile(r"['\u2019\u02bc`\u00b4.]")
"""Marks inside of a word: O'Neill is ONeill, and B. is B."""


def folded(name: str) -> tuple[str, ...]:
    """The words of a name in NFKD, without marks, case-folded, in their order."""
    plain = _INSIDE.sub("", unicodedata.normalize("NFKD", name))
    bare = "".join(char for char in plain if not unicodedata.category(char).startswith("M"))
    lower = bare.casefold().translate(_PLAIN)
    # A second time: case folding may give what decomposes again (Unicode Standard, 3.13, D145).
    lower = "".join(
        char
        for char in unicodedata.normalize("NFKD", lower)
        if not unicodedata.category(char).startswith("M")
    )
    return tuple("".join(c if c.isalnum() else " " for c in lower).split())


def alike(one: str, other: str) -> bool:
    """Whether two names may be one person's."""
    first, second = folded(one), folded(other)
    if not first or not second:
        return True
    # The same letters, whatever the order and the spaces: Mary-Ann Smith and SMITH Maryann.
    if sorted("".join(first)) == sorted("".join(second)):
        return True
    shorter, longer = sorted((first, second), key=len)
    return len(shorter) > 1 and _within(shorter, longer)


def _within(shorter: tuple[str, ...], longer: tuple[str, ...]) -> bool:
    """Whether each word of the one is a word of the other, or its initial, and one is whole."""
    left = list(longer)
    whole = 0
    for word in sorted(shorter, key=len, reverse=True):
        match = next((w for w in left if w == word), "") or next(
            (w for w in left if 1 in (len(w), len(word)) and w[0] == word[0]), ""
        )
        if not match:
            return False
        whole += match == word and len(word) > 1
        left.remove(match)
    return whole > 0
