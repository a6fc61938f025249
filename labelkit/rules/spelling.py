"""How names of medicines are spelt: one form to compare, the parts of an entry, and likeness.

Knows scripts and letters, no medicine. What it takes away (case, accents, the width of a
letter, Arabic vowel marks) changes no name; what stands in an entry is never dropped: each
character that isn't white space lies in exactly one part.
"""

import re
import unicodedata
from collections.abc import Sequence
from dataclasses import dataclass
from enum import Enum
from functools import lru_cache

from jellyfish import damerau_levenshtein_distance

SHORT_NAME = 8
"""Letters from which on two edits still count as near (common practice, no source)."""

SHORT_SKELETON = 5
"""Least letters of a skeleton that is compared: shorter ones are words of many languages."""


class Kind(Enum):
    """What a part of an entry is made of."""

    WORD = "letters of a script that leaves spaces between words"
    RUN = "letters of a script that leaves none, or joins endings to names (Chinese, Korean)"
    NUMBER = "digits"
    SOFT = "a sign that may stand within a name: hyphen, apostrophe, full stop"
    HARD = "a sign that parts names: comma, plus, slash, bracket"
    STRANGE = "anything else"


@dataclass(frozen=True, slots=True)
class Part:
    """One part of an entry, in the form to compare."""

    text: str
    kind: Kind
    glued: bool
    """Whether nothing stands between it and the part before."""


_MARK = "a mark of the letter before"
_SOFT = frozenset("-'.·‑’`´")
_LETTERS = str.maketrans(
    {
        "ł": "l", "đ": "d", "ø": "o", "ı": "i", "æ": "ae", "œ": "oe", "ħ": "h", "ð": "d",
        "ة": "ه", "ى": "ي", "ک": "ك", "ی": "ي", "ـ": None,
        "\u00ad": None, "\u200b": None, "\u200c": None, "\u200d": None, "\u2060": None,
        "\u200e": None, "\u200f": None, "\ufeff": None,
        "™": " ", "®": " ", "©": " ",
        "‐": "-", "‑": "-", "‒": "-", "–": "-", "—": "-", "−": "-",
        "’": "'", "‘": "'", "ʼ": "'", "´": "'", "`": "'",
    }
)  # fmt: skip
"""Letters that Unicode doesn't decompose, and marks that no reader sees."""


def _is_accent(char: str) -> bool:
    """Nukta (7), Arabic vowel marks (27 to 36), marks above and below (200 on).

    The Unicode Standard, 4.3: canonical combining classes. A virama (9) and a kana voicing
    mark (8) are letters' own parts and stay.
    """
    kind = unicodedata.combining(char)
    return kind == 7 or 27 <= kind <= 36 or kind >= 200


@lru_cache(maxsize=65536)
def plain(text: str) -> str:
    """The text in the form to compare: lower case, one width, no accents, ASCII digits."""
    seen = text.translate(_LETTERS)
    if seen.isascii():
        return seen.lower()
    folded = unicodedata.normalize("NFKC", seen).casefold().translate(_LETTERS)
    bare = "".join(c for c in unicodedata.normalize("NFKD", folded) if not _is_accent(c))
    whole = unicodedata.normalize("NFC", bare).translate(_LETTERS)
    return "".join(str(unicodedata.digit(c)) if c.isdecimal() else c for c in whole)


@lru_cache(maxsize=8192)
def _kind(char: str) -> tuple[Kind | None, str]:
    """What a character makes, and its script; None for white space."""
    category = unicodedata.category(char)
    if category[0] == "M":
        return Kind.WORD, _MARK
    if category[0] == "L":
        script = unicodedata.name(char, "?").split()[0]
        if script in {"CJK", "HIRAGANA", "KATAKANA", "KATAKANA-HIRAGANA"}:
            return Kind.RUN, "CJK"
        return (Kind.RUN, script) if script == "HANGUL" else (Kind.WORD, script)
    if category[0] == "N":
        return Kind.NUMBER, ""
    if category[0] == "Z" or char.isspace():
        return None, ""
    if char in _SOFT:
        return Kind.SOFT, ""
    if category[0] == "P" or category in {"Sm", "Sc"} or char in "°|~^":
        return Kind.HARD, ""
    return Kind.STRANGE, ""


def parts(text: str) -> list[Part]:
    """The parts of an entry in their order. White space alone is left out."""
    found: list[Part] = []
    letters: list[str] = []
    last: tuple[Kind | None, str] = (None, "")
    glued = False

    def close() -> None:
        if letters and last[0] is not None:
            found.append(Part("".join(letters), last[0], glued))
            letters.clear()

    for char in plain(text):
        kind, script = _kind(char)
        mark = script == _MARK
        goes_on = (kind, script) == last and kind is not Kind.SOFT and kind is not Kind.HARD
        if not goes_on and not (mark and (last[0] is Kind.WORD or last[0] is Kind.RUN)):
            close()
            glued = last[0] is not None
            last = (kind, script)
        if kind is not None:
            letters.append(char)
    close()
    return found


def is_run(word: str) -> bool:
    """Whether the word, of one part, is of a script that leaves no spaces."""
    return _kind(word[0])[0] is Kind.RUN


_CYRILLIC = str.maketrans(
    {
        "а": "a", "б": "b", "в": "v", "г": "g", "д": "d", "е": "e", "ж": "z", "з": "z",
        "и": "i", "к": "k", "л": "l", "м": "m", "н": "n", "о": "o", "п": "p", "р": "r",
        "с": "s", "т": "t", "у": "u", "ф": "f", "х": "h", "ц": "c", "ч": "k", "ш": "s",
        "щ": "s", "ъ": "", "ы": "i", "ь": "", "э": "e", "ю": "iu", "я": "ia", "і": "i",
        "є": "e", "ґ": "g",
    }
)  # fmt: skip
_SAME_SOUND = (
    ("ph", "f"), ("th", "t"), ("rh", "r"), ("ch", "k"), ("ck", "k"), ("cz", "k"), ("ae", "e"),
    ("oe", "e"), ("y", "i"), ("qu", "kv"), ("q", "k"), ("c", "k"), ("x", "ks"), ("z", "s"),
    ("w", "v"), ("j", "i"),
)  # fmt: skip
_DOUBLE = re.compile(r"(.)\1+")
_END = re.compile(r"(?:um|us|[aeiou])$")


@lru_cache(maxsize=65536)
def skeleton(word: str) -> str:
    """What the spellings of one name in Latin and Cyrillic languages have in common, or ''.

    WHO, Guidance on INN, general principles: f for ph, t for th, e for ae and oe, i for y
    make one name usable in all languages; languages add endings of their own. Empty for
    other scripts, and under `SHORT_SKELETON` letters.
    """
    text = word.translate(_CYRILLIC)
    if not (text.isascii() and text.isalpha()):
        return ""
    if len(text) > 2 and text.startswith("es") and text[2] not in "aeiou":
        text = text[1:]
    for written, spoken in _SAME_SOUND:
        text = text.replace(written, spoken)
    text = _END.sub("", _DOUBLE.sub(r"\1", text))
    return text if len(text) >= SHORT_SKELETON else ""


def near(word: str, names: Sequence[str]) -> list[tuple[int, int]]:
    """Edits and place of each name that the word is near to; the names are `taken_apart`.

    An edit is a letter put in, left out, changed, or swapped with its neighbour
    (Damerau-Levenshtein). One counts as near, two from `SHORT_NAME` letters on; in Chinese,
    where a character weighs two letters, one from four characters on. Words of up to three
    letters are near to nothing.
    """
    weight = 2 if any(_kind(char)[1] == "CJK" for char in word[:1]) else 1
    apart = taken_apart(word)
    size = len(apart) * weight
    if size <= 3:
        return []
    most = (1 if size < SHORT_NAME else 2) // weight
    found = [
        (damerau_levenshtein_distance(apart, name), place)
        for place, name in enumerate(names)
        if most and abs(len(name) - len(apart)) <= most
    ]
    return [(edits, place) for edits, place in found if edits <= most]


def taken_apart(name: str) -> str:
    """A name as it is compared for nearness: a syllable of Korean is its letters."""
    return unicodedata.normalize("NFD", name)
