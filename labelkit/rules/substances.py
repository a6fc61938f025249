"""Names of medicines as people write them, and the groups that rules speak of.

A name is known when it is in the lists, belongs to a group or a class, or ends in a safe
stem. What isn't known is returned as such, with the known names it may be a misspelling
of: a guess is a question, never an answer.
"""

import re
import unicodedata
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from typing import Annotated

from pydantic import Field

from labelkit.rules.data import Datum, Source, load
from labelkit.rules.spelling import edits

SHORT_NAME = 8
"""Letters from which on two edits still count as near (common practice, no source)."""

_WORD = re.compile(r"[a-z0-9][a-z0-9.'-]*")


class Group(Datum):
    """Substances that a rule means together."""

    id: str
    title: str
    members: tuple[str, ...]
    stem: str = ""
    source: Source


class Words(Datum):
    """Words that stand beside a name and change nothing."""

    salts: frozenset[str]
    other: frozenset[str]


class Names(Datum):
    """The list of known names."""

    source: Source
    aliases: Mapping[str, str]
    words: Words
    known: Mapping[str, Annotated[tuple[str, ...], Field(min_length=1)]]


@dataclass(frozen=True, slots=True)
class Identified:
    """What a line of a patient's list of medicines was read as."""

    written: str
    substances: tuple[str, ...]
    """INNs that were recognised, each once."""
    unknown: tuple[str, ...]
    """Words that no list explains."""
    near: tuple[str, ...]
    """Known names that an unknown word may be a misspelling of."""


@cache
def groups() -> dict[str, Group]:
    """Every shipped group by its id."""
    found = [Group.model_validate(entry) for entry in load("substances/groups.toml")["groups"]]
    if len({g.id for g in found}) != len(found):
        raise ValueError("two groups of substances have the same id")
    return {g.id: g for g in found}


@cache
def _names() -> Names:
    return Names.model_validate(load("substances/names.toml"))


@cache
def _known() -> dict[tuple[str, ...], str]:
    """Words of each known name → the INN it stands for."""
    listed = {name for group in _names().known.values() for name in group}
    listed |= {member for group in groups().values() for member in group.members}
    found = {tuple(words(name)): name for name in sorted(listed)}
    found.update({tuple(words(a)): inn for a, inn in _names().aliases.items()})
    return found


def words(text: str) -> list[str]:
    """Lower-case words without accents."""
    bare = unicodedata.normalize("NFKD", text.replace("’", "'")).casefold()
    return _WORD.findall("".join(c for c in bare if not unicodedata.combining(c)))


def canonical(name: str) -> str:
    """The INN that the rules use for a name; the name itself, lower case, where none is known."""
    key = tuple(words(name))
    return _known().get(key, " ".join(name.casefold().split()))


def known_as(name: str) -> str:
    """The id of the group that a name means, in the singular too; else its `canonical` INN.

    ``Nitrates`` and ``nitrate`` are the group: the one substance that stands for them in a
    patient's list would leave out the others here.
    """
    slug = "-".join(words(name))
    return next((id_ for id_ in groups() if slug in {id_, id_.removesuffix("s")}), canonical(name))


def in_group(inn: str, group: str) -> bool:
    """Whether a substance belongs to a group, given by its id, or is the INN given instead."""
    found = groups().get(group)
    if found is None:
        return inn == canonical(group)
    return inn in found.members or bool(found.stem and inn.endswith(found.stem))


def means_something(name: str) -> bool:
    """Whether a name is a group's id or a known substance."""
    return known_as(name) in groups() or tuple(words(name)) in _known() or _by_stem(name)


def title_of(group: str) -> str:
    """How a group is spoken of in a message."""
    return groups()[group].title if group in groups() else group


@cache
def identify(written: str) -> Identified:
    """Read one line of a list of medicines: longest known names first, from left to right."""
    left = words(written)
    found: list[str] = []
    unknown: list[str] = []
    while left:
        size = next((n for n in range(min(4, len(left)), 0, -1) if tuple(left[:n]) in _known()), 0)
        if size:
            found.append(_known()[tuple(left[:size])])
        elif _by_stem(left[0]):
            found.append(left[0])
        elif not _beside(left[0]):
            unknown.append(left[0])
        left = left[max(size, 1) :]
    found = [f for f in found if f not in _names().words.salts] or found
    if not found and not unknown:
        unknown = [written]
    near = dict.fromkeys(name for word in unknown for name in _near(word))
    return Identified(written, tuple(dict.fromkeys(found)), tuple(unknown), tuple(near))


def _by_stem(word: str) -> bool:
    return any(
        g.stem and word.endswith(g.stem) and len(word) > len(g.stem) for g in groups().values()
    )


def _beside(word: str) -> bool:
    return (
        word in _names().words.salts
        or word in _names().words.other
        or re.fullmatch(r"[0-9.]+(mg|mcg|g|ml|units?)?", word) is not None
    )


def _near(word: str) -> list[str]:
    """Known names within one edit, or two from `SHORT_NAME` letters on, nearest first.

    An edit is a letter put in, left out, changed, or swapped with its neighbour (optimal
    string alignment).
    """
    most = 1 if len(word) < SHORT_NAME else 2
    distances = {
        name: edits(word, spelt)
        for name in _known()
        if len(word) > 3 and abs(len(spelt := " ".join(name)) - len(word)) <= most
    }
    close = [name for name, distance in distances.items() if distance <= most]
    return [" ".join(name) for name in sorted(close, key=lambda n: (distances[n], n))]
