"""Finds a required text in a stream: the whole of it, as words of its own, in reading order.

White space is equal to white space, and a hyphen at a line's end may belong to the text or
to the line. Nothing else is forgiven: no letter, no accent, no digit, and no longer word
or number that only holds the text (``5 mg`` doesn't stand in ``2.5 mg``).
"""

from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache

from labelkit.checks.streams import SOFT, SPACE, Stream, bones

_NO_SPACES = (
    (0x0E00, 0x0EFF),  # Thai, Lao
    (0x1000, 0x109F),  # Myanmar
    (0x1780, 0x17FF),  # Khmer
    (0x3040, 0x30FF),  # kana
    (0x3400, 0x9FFF),  # Han
    (0xF900, 0xFAFF),  # Han, compatibility
    (0x20000, 0x3FFFF),  # Han, extensions
)
"""Scripts that put no space between words (Unicode blocks): a neighbour proves nothing."""

_INSIDE_NUMBERS = ".,-/\u2044"
"""Signs that carry a number on: 2.5, 1,000, TV2611-0001, 1/2."""

_BREAK_AFTER = "/._?&=\u2013\u2014"
"""Signs after which a line may end inside a word: addresses, dashes."""


@dataclass(frozen=True)
class Occurrence:
    """Where a text stands."""

    characters: tuple[int, ...]
    """Indices of the page's characters, in reading order."""
    begin: int
    end: int
    """Span in the stream it was found in."""


def occurrences(stream: Stream, wanted: str) -> Iterator[Occurrence]:
    """Every place where `wanted` (in normal form) stands whole."""
    found = False
    for begin in _starts(stream.text, wanted):
        end = begin + len(wanted)
        if _stands_alone(stream.text, begin, end):
            found = True
            yield _occurrence(stream, begin, end)
    if not found:
        yield from _loose(stream, wanted)


def _starts(text: str, wanted: str) -> Iterator[int]:
    at = text.find(wanted) if wanted else -1
    while at >= 0:
        yield at
        at = text.find(wanted, at + 1)


def _occurrence(stream: Stream, begin: int, end: int) -> Occurrence:
    owners = (owner for owner in stream.owners[begin:end] if owner >= 0)
    return Occurrence(tuple(dict.fromkeys(owners)), begin, end)


def _loose(stream: Stream, wanted: str) -> Iterator[Occurrence]:
    """Matches whose line breaks or line-end hyphens differ from the wanted text's spaces.

    Compares without spaces and hyphens, then asks of each one that is missing or added
    whether the page explains it.
    """
    skeleton, places = stream.bones
    target, targets = bones(wanted)
    for begin in _starts(skeleton, target):
        first, last = places[begin], places[begin + len(target) - 1] + 1
        last = _with_hyphen(stream.text, last, wanted)
        if not _stands_alone(stream.text, first, last):
            continue
        if all(
            _same_join(
                stream.text[places[begin + k] + 1 : places[begin + k + 1]],
                wanted[targets[k] + 1 : targets[k + 1]],
                target[k],
                target[k + 1 : k + 3],
            )
            for k in range(len(target) - 1)
        ):
            yield _occurrence(stream, first, last)


def _with_hyphen(text: str, end: int, wanted: str) -> int:
    return end + 1 if wanted[-1:] == "-" and text[end : end + 1] in ("-", SOFT) else end


def _same_join(page: str, wanted: str, left: str, after: str) -> bool:
    """Whether what joins two characters on the page may stand for what joins them in the text.

    On the page a soft hyphen is one at a line's end, with the line's break after it.
    """
    if page == wanted:
        return True
    bare = page.replace(SPACE, "")
    if wanted == "":
        hyphenated = page in ("- ", SOFT + SPACE, SOFT)
        return hyphenated or (bare == "" and _may_break(left, after))
    if wanted == SPACE:
        return False
    return bare.replace(SOFT, "-") == wanted.replace(SPACE, "")


def _may_break(left: str, after: str) -> bool:
    """Whether white space may stand between a character and what comes after it, where the
    text has none: a line's end, or a gap beside a bracket that readers of right-to-left lines
    put in. Never inside a number or a word."""
    right, beyond = after[0], after[1:]
    if left.isdigit() and right in _INSIDE_NUMBERS:
        return not beyond.isdigit()
    if left in _INSIDE_NUMBERS and right.isdigit():
        return False
    if left in _BREAK_AFTER or _has_no_spaces(left) or _has_no_spaces(right):
        return not (left.isdigit() and right.isdigit())
    return not (_is_word(left) and _is_word(right))


def _stands_alone(text: str, begin: int, end: int) -> bool:
    """Whether no letter or digit carries the words on, before or behind."""
    before = text[max(begin - 2, 0) : begin][::-1]
    return not _carried_on(text[begin], before) and not _carried_on(
        text[end - 1], text[end : end + 2]
    )


def _carried_on(own: str, beyond: str) -> bool:
    """Whether the text goes on beyond its outermost character, nearest neighbour first."""
    if not beyond or not _is_word(own):
        return False
    if _is_word(beyond[0]):
        return True
    if len(beyond) < 2 or not _is_word(beyond[1]) or beyond[0] not in _INSIDE_NUMBERS:
        return False
    return beyond[0] in "-\u2044" or (own.isdigit() and beyond[1].isdigit())


@lru_cache(maxsize=4096)
def _is_word(character: str) -> bool:
    """Whether a character is a letter or digit of a script that parts its words."""
    return character.isalnum() and not _has_no_spaces(character)


def _has_no_spaces(character: str) -> bool:
    point = ord(character)
    return any(low <= point <= high for low, high in _NO_SPACES)
