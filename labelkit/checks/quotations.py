"""Whether a record's own words stand in their own order inside a line of another direction.

A name of two Arabic words in an English line can be drawn word by word backwards: each word
reads right, a search finds them, and it is another man's name. The direction of a stretch is
that of its first letter (UAX #9, rules P2 and X5c); its letters are compared by their places.
"""

from collections.abc import Iterator, Sequence
from functools import lru_cache
from itertools import pairwise
from unicodedata import bidirectional

from labelkit.checks.characters import Characters
from labelkit.checks.order import Order
from labelkit.checks.streams import is_left_to_right, is_right_to_left, normal, plain


def out_of_order(
    characters: Characters, order: Order, chosen: Sequence[int], quoted: Sequence[str]
) -> str:
    """The first of the quoted stretches that is drawn in another order than its own; empty where
    none is. `chosen` are the characters of the whole text as it is read."""
    owners = [(c, index) for index in chosen for c in _letters(characters.codes[index])]
    text = "".join(c for c, _ in owners)
    for said in quoted:
        wanted = _letters(said)
        at = text.find(wanted) if wanted else -1
        while at >= 0:
            stretch = owners[at : at + len(wanted)]
            if not all(_follows(order, *pair) for pair in _pairs(stretch)):
                return said
            at = text.find(wanted, at + 1)
    return ""


@lru_cache(maxsize=4096)
def _letters(text: str) -> str:
    """Letters and digits alone: signs and marks go with what they stand beside."""
    return "".join(c for c in "".join(map(plain, normal(text))) if c.isalnum())


def _pairs(stretch: Sequence[tuple[str, int]]) -> Iterator[tuple[int, int, bool]]:
    """Characters of which the second must stand farther along, and whether from the right.

    In a stretch of one direction these are all neighbours. In a mixed one digits are left
    out, whose place hangs on what surrounds them; letters of its first letter's direction
    follow one another over the others, and those are compared with their own neighbours.
    """
    if not any(is_right_to_left(c) for c, _ in stretch):
        for (_, first), (_, second) in pairwise(stretch):
            yield first, second, False
        return
    letters = [
        (is_right_to_left(c), index)
        for c, index in stretch
        if is_right_to_left(c) or (is_left_to_right(c) and bidirectional(c) == "L")
    ]
    main = letters[0][0]
    for (_, first), (_, second) in pairwise([one for one in letters if one[0] is main]):
        yield first, second, main
    for (kind, first), (other, second) in pairwise(letters):
        if kind is other is not main:
            yield first, second, kind


def _follows(order: Order, first: int, second: int, from_right: bool) -> bool:
    """Whether the second character stands after the first, or on the next line."""
    return first == second or order.follows(first, second, from_right=from_right)
