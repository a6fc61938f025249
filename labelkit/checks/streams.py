"""Characters of one place as one string, in the order they are read.

Content order comes first: it is what a screen reader and a search get. A file that was
exported again may hold its lines in any order, and a right-to-left line may come out as it
looks; so the same characters are also read by position, each line from its reading side.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from enum import Enum
from functools import cached_property, lru_cache
from itertools import pairwise
from math import inf
from unicodedata import bidirectional, category, combining, normalize

import numpy as np
from numpy.typing import NDArray

from labelkit.checks.characters import LINE_END_HYPHEN, Characters
from labelkit.checks.islands import latin_islands, with_islands

SPACE = " "
SOFT = "\u00ad"
"""Stands in a stream for a hyphen at a line's end, which the text may or may not have."""

HYPHENS = frozenset("-\u2010\u2011")
"""Hyphen-minus, hyphen, non-breaking hyphen; not the dashes and not the minus sign."""

WORD_GAP_EM = 0.25
"""A wider gap than this parts words when characters are read by position."""

SIGN_GAP_EM = 0.6
"""The same beside a point or hyphen: the advance of a fixed-pitch face."""

_RIGHT_TO_LEFT = frozenset(("R", "AL"))
_NUMBERS = frozenset(("EN", "AN"))
_LEFT_TO_RIGHT = frozenset("L") | _NUMBERS
_INSIDE_NUMBERS = frozenset(("ES", "CS", "ET"))


@dataclass(frozen=True)
class Stream:
    """A string, and for each of its characters the page's character (-1 for a space)."""

    text: str
    owners: tuple[int, ...]

    @cached_property
    def bones(self) -> tuple[str, list[int]]:
        """The text without spaces and hyphens, and where each of its characters was."""
        return bones(self.text)


@lru_cache(maxsize=4096)
def plain(character: str) -> str:
    """A character as it is compared: compatibility-decomposed; hyphens as one; controls gone.

    Decomposed strings are equal exactly when their NFKC forms are (Unicode Standard Annex 15).
    """
    if ord(character) == LINE_END_HYPHEN or character == SOFT:
        return SOFT
    if character in HYPHENS:
        return "-"
    if _is_other_digit(character):
        return character
    if category(character) in ("Cf", "Cc") and not character.isspace():
        return ""
    decomposed = normalize("NFKD", character)
    if decomposed.isspace():
        return SPACE
    return "".join("-" if c in HYPHENS else c for c in decomposed if category(c) != "Cf")


@lru_cache(maxsize=4096)
def _is_other_digit(character: str) -> bool:
    """Whether a character is a digit's raised, circled or full-width form: printed as such, or
    told as such of a plain digit, it is another sign than the one that is asked for."""
    return not character.isascii() and any(
        c.isascii() and c.isdigit() for c in normalize("NFKD", character)
    )


def in_content_order(characters: Characters, chosen: Sequence[int] | NDArray[np.intp]) -> Stream:
    """The stream of the chosen characters as the page's content has them."""
    parted = characters.parted
    last = -2
    pieces: list[str] = []
    owners: list[int] = []
    for index in map(int, chosen):
        if parted[index] or index != last + 1:
            _space(pieces, owners)
        _add(pieces, owners, characters, index)
        last = index
    return _stream(pieces, owners)


class Way(Enum):
    """How a line that holds letters of a right-to-left script is read by position."""

    JOINED = "joined"
    """From the right; a number, a space and a Latin word are one run (``50 mg``)."""
    APART = "apart"
    """From the right; they are two. Both are seen in print."""
    ISLANDS = "islands"
    """From the right; a Latin run reaches over the signs between its letters."""
    FROM_LEFT = "from the left"
    """From the left; it is right-to-left runs that keep their own direction."""


def by_position(
    characters: Characters,
    chosen: Sequence[int] | NDArray[np.intp],
    way: Way = Way.JOINED,
) -> Stream:
    """The stream of the chosen characters line by line, by where they stand.

    On lines with right-to-left letters, runs of the other direction keep their own.
    """
    pieces: list[str] = []
    owners: list[int] = []
    for line in lines_of(characters, chosen):
        _space(pieces, owners)
        from_left = way is Way.FROM_LEFT
        ordered = with_islands(characters, line) if from_left else _logical(characters, line, way)
        for previous, index in pairwise([-1, *ordered]):
            if previous >= 0 and _apart(characters, previous, index):
                _space(pieces, owners)
            _add(pieces, owners, characters, index)
    return _stream(pieces, owners)


def _stream(pieces: list[str], owners: list[int]) -> Stream:
    """The stream of single characters, with marks on one letter in canonical order.

    A page may give them in any order; decomposed text is only equal in this one (Unicode
    Standard Annex 15, canonical ordering).
    """
    text = "".join(pieces)
    if text.isascii():
        return Stream(text, tuple(owners))
    classes = [combining(c) for c in pieces]
    start = 0
    while start < len(pieces):
        end = start
        while end < len(pieces) and classes[end]:
            end += 1
        if end - start > 1:
            order = sorted(range(start, end), key=classes.__getitem__)
            pieces[start:end] = [pieces[i] for i in order]
            owners[start:end] = [owners[i] for i in order]
        start = max(end, start + 1)
    return Stream("".join(pieces), tuple(owners))


def lines_of(characters: Characters, chosen: Sequence[int] | NDArray[np.intp]) -> list[list[int]]:
    """The chosen characters as lines, top to bottom, each in the order of its direction."""
    lines: list[list[int]] = []
    indices = [int(i) for i in chosen]
    for angle in sorted({int(characters.angles[i]) for i in indices}):
        placed = []
        for index in indices:
            if int(characters.angles[index]) == angle:
                start, low, high = _along(characters, index)
                placed.append((low, high, start, index))
        placed.sort(key=lambda p: (p[0] + p[1]) / 2)
        run: list[tuple[float, float, float, int]] = []
        top, bottom = inf, -inf
        for low, high, start, index in placed:
            # Of one line are glyphs whose middle lies within its height so far.
            if run and not top <= (low + high) / 2 <= bottom:
                lines.append(_by_start(characters, run))
                run, top, bottom = [], inf, -inf
            run.append((low, high, start, index))
            top, bottom = min(top, low), max(bottom, high)
        if run:
            lines.append(_by_start(characters, run))
    return lines


def _by_start(characters: Characters, run: list[tuple[float, float, float, int]]) -> list[int]:
    """A line from its left end. Characters that share a glyph begin together: those of a
    right-to-left script, marks with their letter, stand from last to first, as every line
    that holds them does."""
    return [
        glyph[3]
        for glyph in sorted(
            run,
            key=lambda g: (
                g[2],
                -g[3] if _runs_backward(characters, g[3]) else g[3],
            ),
        )
    ]


def _runs_backward(characters: Characters, index: int) -> bool:
    """Whether a character is of a right-to-left script, or a mark on such a letter."""
    while index > 0 and bidirectional(characters.codes[index][:1]) == "NSM":
        index -= 1
    return is_right_to_left(characters.codes[index][:1])


@lru_cache(maxsize=4096)
def is_right_to_left(character: str) -> bool:
    """Whether a character belongs to a script written from right to left."""
    return bidirectional(character) in _RIGHT_TO_LEFT


@lru_cache(maxsize=4096)
def is_left_to_right(character: str) -> bool:
    """Whether a character is a letter written from left to right, or a digit."""
    return bidirectional(character) in _LEFT_TO_RIGHT


def _logical(characters: Characters, line: list[int], way: Way) -> list[int]:
    """A line's characters, given from left to right, in the order they are read."""
    kinds = [bidirectional(characters.codes[i][:1]) for i in line]
    if not any(kind in _RIGHT_TO_LEFT for kind in kinds):
        return line
    islands = latin_islands(characters, line) if way is Way.ISLANDS else [0] * len(line)
    ordered: list[int] = []
    run: list[int] = []
    for position in range(len(line) - 1, -1, -1):
        index, island = line[position], islands[position]
        sides = _NUMBERS if way is Way.ISLANDS else _LEFT_TO_RIGHT
        keeps = bool(island) or _keeps_direction(kinds, position, sides)
        apart = bool(run) and (
            island != islands[position + 1]
            or (not island and way is not Way.JOINED and _apart(characters, index, run[-1]))
        )
        if not keeps or apart:
            ordered.extend(reversed(run))
            run = []
        (run if keeps else ordered).append(index)
    ordered.extend(reversed(run))
    return ordered


def _keeps_direction(kinds: list[str], at: int, sides: frozenset[str]) -> bool:
    """Whether the character at a place of a right-to-left line belongs to a left-to-right run:
    a letter or digit, or what may stand inside a number, with such `sides`."""
    if kinds[at] in _LEFT_TO_RIGHT:
        return True
    neighbours = (kinds[at - 1] if at else "", kinds[at + 1] if at + 1 < len(kinds) else "")
    return kinds[at] in _INSIDE_NUMBERS and all(kind in sides for kind in neighbours)


def _along(characters: Characters, index: int) -> tuple[float, float, float]:
    """Start along the direction of writing, then the near and far edge across it."""
    left, top, right, bottom = (float(v) for v in characters.boxes[index])
    match int(characters.angles[index]):
        case 90:
            return top, -right, -left
        case 180:
            return -right, -bottom, -top
        case 270:
            return -bottom, left, right
        case _:
            return left, top, bottom


def _apart(characters: Characters, one: int, other: int) -> bool:
    """Whether two neighbours on a line belong to two words.

    Neighbours in the content have their white space told by it. For others the gap decides;
    points and hyphens stand in a wide gap of their own in a fixed-pitch face, and a number
    must never be parted at one.
    """
    if abs(one - other) == 1:
        return bool(characters.parted[max(one, other)])
    sign = not (characters.codes[one].isalnum() and characters.codes[other].isalnum())
    return _gap_em(characters, one, other) > (SIGN_GAP_EM if sign else WORD_GAP_EM)


def _gap_em(characters: Characters, one: int, other: int) -> float:
    """The clear space between two characters of one line, in ems."""
    first, second = characters.boxes[one], characters.boxes[other]
    if int(characters.angles[one]) in (90, 270):
        gap = max(second[1] - first[3], first[1] - second[3])
    else:
        gap = max(second[0] - first[2], first[0] - second[2])
    return float(gap) / max(float(characters.sizes_pt[one]) * 25.4 / 72, 1e-6)


def _space(pieces: list[str], owners: list[int]) -> None:
    if pieces and pieces[-1] != SPACE:
        pieces.append(SPACE)
        owners.append(-1)


def _add(pieces: list[str], owners: list[int], characters: Characters, index: int) -> None:
    for character in plain(characters.codes[index]):
        pieces.append(character)
        owners.append(index)


@lru_cache(maxsize=4096)
def normal(text: str) -> str:
    """A required text in the form streams have: decomposed, white space collapsed, without
    soft hyphens, which allow a break and say nothing."""
    said = "".join(
        c if _is_other_digit(c) else normalize("NFKD", c) for c in text.replace(SOFT, "")
    )
    return collapse(plain(c) for c in normalize("NFD", said))


def collapse(parts: Iterable[str]) -> str:
    """Parts joined, with runs of spaces as one and none at either end."""
    return " ".join("".join(parts).split())


def bones(text: str) -> tuple[str, list[int]]:
    """A text in normal form without spaces and hyphens, and where each character was."""
    places = [at for at, c in enumerate(text) if c not in (SPACE, SOFT, "-")]
    return "".join(text[at] for at in places), places
