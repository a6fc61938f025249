"""Islands: stretches of a line that are read from the other side than the line.

An island reaches from its leftmost letter to its rightmost one, over signs, spaces and
numbers between them; a letter of the line's own direction ends it. Which signs at its edges
are its own is told by what they are: an opening bracket where it begins and a closing one
where it ends.
"""

from collections.abc import Sequence
from unicodedata import bidirectional, category

from labelkit.checks.characters import Characters

_RIGHT = frozenset(("R", "AL"))
_NUMBER = frozenset(("EN", "AN"))


def with_islands(characters: Characters, line: Sequence[int]) -> list[int]:
    """The characters of a line, given from left to right, in the order they are read: the line
    from the left, its islands from the right."""
    kinds = [bidirectional(characters.codes[i][:1]) for i in line]
    ordered: list[int] = []
    at = 0
    while at < len(line):
        if kinds[at] not in _RIGHT:
            ordered.append(line[at])
            at += 1
            continue
        end = last = at
        while end < len(line) and kinds[end] != "L":
            last = end if kinds[end] in _RIGHT else last
            end += 1
        end = last + 1
        while end < len(line) and _category(characters, line[end]) == "Ps":
            end += 1
        begin = len(ordered)
        while begin and _is_own(characters, ordered[:begin]):
            begin -= 1
        island = [*ordered[begin:], *line[at:end]]
        ordered[begin:] = _from_right(island, characters)
        at = end
    return ordered


def _is_own(characters: Characters, before: Sequence[int]) -> bool:
    """Whether the last of the characters before an island is its own last sign."""
    sign = _category(characters, before[-1])
    return sign == "Pe" or (sign == "Po" and bool(characters.parted[before[-1]]))


def _category(characters: Characters, index: int) -> str:
    return category(characters.codes[index][:1] or " ")


def _from_right(island: Sequence[int], characters: Characters) -> list[int]:
    """An island's characters from its right end, numbers in their own order."""
    read: list[int] = []
    number: list[int] = []
    for index in reversed(island):
        if bidirectional(characters.codes[index][:1]) in _NUMBER:
            number.insert(0, index)
            continue
        read += [*number, index]
        number = []
    return read + number


def latin_islands(characters: Characters, line: Sequence[int]) -> list[int]:
    """For each character of a line read from the right the number of its left-to-right island,
    0 for none. Marks belong to the letter before them."""
    kinds = [bidirectional(characters.codes[i][:1]) for i in line]
    islands = [0] * len(line)
    at = number = 0
    while at < len(line):
        if kinds[at] != "L":
            at += 1
            continue
        end = last = at
        while end < len(line) and kinds[end] not in _RIGHT:
            last = end if kinds[end] == "L" else last
            end += 1
        end, begin = last + 1, at
        while end < len(line) and (kinds[end] == "NSM" or _category(characters, line[end]) == "Pe"):
            end += 1
        while begin and not islands[begin - 1] and _category(characters, line[begin - 1]) == "Ps":
            begin -= 1
        number += 1
        islands[begin:end] = [number] * (end - begin)
        at = end
    return islands
