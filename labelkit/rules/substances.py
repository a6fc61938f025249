"""Names of substances, and the groups that rules speak of.

A name leads to the INN that rules use. Names come with their source: one "from memory" may
widen a stop, and never makes an entry understood (see `identifying`). Brand names are left
out on purpose; the pharmacy's own stand in its ``medicines.toml``.
"""

import re
import unicodedata
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from typing import Annotated

from pydantic import Field

from labelkit.rules.data import Datum, Source, load, names
from labelkit.rules.spelling import Kind, parts

FROM_MEMORY = "from memory"
STOPPED_FOR = ("nitrates", "nicorandil", "sgc-stimulators")
"""Groups whose members are looked for even inside longer words: missing one can kill."""

_WORD = re.compile(r"[a-z0-9][a-z0-9.'-]*")
_ARTICLE = "ال"
_BRACKETS = frozenset("()[]（）【】「」")

Key = tuple[str, ...]
"""A name's parts in the form to compare, signs left out."""


class Group(Datum):
    """Substances that a rule means together."""

    id: str
    title: str
    members: tuple[str, ...]
    stem: str = ""
    source: Source


class Names(Datum):
    """The list of known names in English."""

    source: Source
    aliases: Mapping[str, str]
    known: Mapping[str, Annotated[tuple[str, ...], Field(min_length=1)]]


class NameList(Datum):
    """Names in one language (``mul``: in several), by the INN they mean."""

    language: str
    source: Source
    names: Mapping[str, Annotated[tuple[str, ...], Field(min_length=1)]]


@dataclass(frozen=True, slots=True)
class Meaning:
    """What a name means."""

    inn: str
    sure: bool
    """Whether a published source has the name; one from memory is asked about."""


@cache
def groups() -> dict[str, Group]:
    """Every shipped group by its id."""
    found = [Group.model_validate(entry) for entry in load("substances/groups.toml")["groups"]]
    if len({g.id for g in found}) != len(found):
        raise ValueError("two groups of substances have the same id")
    return {g.id: g for g in found}


@cache
def name_lists() -> tuple[NameList, ...]:
    """Names in all languages, and the salts named nitrate that are none for any rule."""
    files = (*names("substances/names-in-languages"), "substances/look-alikes.toml")
    return tuple(NameList.model_validate(entry) for file in files for entry in load(file)["lists"])


def key_of(name: str) -> Key:
    """The parts of a name that are compared: no signs, no Arabic article."""
    if name.isascii() and name.replace(" ", "").isalpha():
        # Most published names are Latin letters and spaces: each word is one part.
        return tuple(name.lower().split())
    return tuple(bare(p.text) for p in parts(name) if not is_sign(p.text, p.kind))


def is_sign(text: str, kind: Kind) -> bool:
    """Whether a part may stand within a name and isn't compared."""
    return kind is Kind.SOFT or text in _BRACKETS


def bare(word: str) -> str:
    """An Arabic word without its article; any other word as it is."""
    return word[len(_ARTICLE) :] if word.startswith(_ARTICLE) and len(word) > 4 else word


@cache
def known() -> dict[Key, Meaning]:
    """What each known name means. A published name goes before one from memory.

    Raises ValueError where two lists disagree on a name.
    """
    listed = Names.model_validate(load("substances/names.toml"))
    inns = {name for group in listed.known.values() for name in group}
    inns |= {member for group in groups().values() for member in group.members}
    inns |= {inn for entry in name_lists() for inn in entry.names}
    found = {key_of(inn): Meaning(listed.aliases.get(inn, inn), True) for inn in sorted(inns)}
    found.update({key_of(a): Meaning(inn, True) for a, inn in listed.aliases.items()})
    for entry in sorted(name_lists(), key=lambda one: FROM_MEMORY in one.source):
        for inn, written in entry.names.items():
            for name in written:
                new = Meaning(inn, FROM_MEMORY not in entry.source)
                if found.setdefault(key_of(name), new).inn != inn:
                    raise ValueError(f"{name} means {inn} and {found[key_of(name)].inn}")
    return found


def words(text: str) -> list[str]:
    """Lower-case Latin words without accents: of group ids, excipients, ingredients."""
    folded = unicodedata.normalize("NFKD", text.replace("’", "'")).casefold()
    return _WORD.findall("".join(c for c in folded if not unicodedata.combining(c)))


def canonical(name: str) -> str:
    """The INN that the rules use for a name; the name itself, lower case, where none is known.

    A name from memory leads only into the groups that are always stopped for.
    """
    return _inn_of(name) or " ".join(name.casefold().split())


def _inn_of(name: str) -> str:
    meaning = known().get(key_of(name))
    if meaning is None or not (meaning.sure or is_stopped_for(meaning.inn)):
        return ""
    return meaning.inn


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


def is_stopped_for(inn: str) -> bool:
    """Whether it belongs to one of the groups that are looked for everywhere."""
    return any(in_group(inn, group) for group in STOPPED_FOR)


def in_any_group(inn: str) -> bool:
    """Whether some rule may speak of it."""
    return any(in_group(inn, group) for group in groups())


def by_stem(word: str) -> bool:
    """Whether the word ends in a stem that WHO keeps for a group."""
    return any(
        g.stem and word.endswith(g.stem) and len(word) > len(g.stem) for g in groups().values()
    )


def means_something(name: str) -> bool:
    """Whether a name is a group's id or a known substance."""
    return known_as(name) in groups() or bool(_inn_of(name)) or by_stem(" ".join(words(name)))


def title_of(group: str) -> str:
    """How a group is spoken of in a message."""
    return groups()[group].title if group in groups() else group
