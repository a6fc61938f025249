"""Whether a substance is controlled where the pharmacy is, and by which schedule.

One file for each country profile in ``controlled/``, each row with its source. What is from
memory widens the refusal; a gap in a list is no permission, since state, provincial and
national law add to it.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from typing import Annotated

from pydantic import Field

from labelkit.rules.data import Datum, Source, load, names
from labelkit.rules.identifying import identify
from labelkit.rules.spelling import skeleton
from labelkit.rules.substances import Key, key_of, known

VARIANTS = "controlled/variants.toml"


class Schedule(Datum):
    """Substances of one schedule, as one source has them."""

    schedule: str
    source: Source
    names: Annotated[tuple[str, ...], Field(min_length=1)]
    stems: tuple[str, ...] = ()
    """Ends of names that the schedule means as a class."""


class ControlledList(Datum):
    """All that one country profile controls."""

    country: str
    title: str
    as_of: Annotated[str, Field(min_length=8)]
    """Days of the editions that were read."""
    note: str
    includes: tuple[str, ...] = ()
    schedules: tuple[Schedule, ...] = ()


class OtherNames(Datum):
    """Names of what a list holds under another name."""

    source: Source
    names: Mapping[str, tuple[str, ...]]


@dataclass(frozen=True, slots=True)
class Controlled:
    """One reason why a substance counts as controlled."""

    name: str
    """As the list has it."""
    schedule: str
    source: str


@cache
def controlled_lists() -> dict[str, ControlledList]:
    """Every country's own list by the profile's name."""
    found = [ControlledList.model_validate(load(n)) for n in names("controlled") if n != VARIANTS]
    return {one.country: one for one in found}


@cache
def _variants() -> dict[str, str]:
    """Other name → the name that a list has."""
    tables = [OtherNames.model_validate(entry) for entry in load(VARIANTS)["more"]]
    return {v: name for one in tables for name, more in one.names.items() for v in more}


def _schedules(country: str) -> tuple[Schedule, ...]:
    one = controlled_lists()[country]
    return (*one.schedules, *(s for other in one.includes for s in _schedules(other)))


@cache
def _index(country: str) -> dict[Key, tuple[Controlled, ...]]:
    """Parts and skeletons of every name → why it is controlled there.

    What the lists of names have as one substance is controlled under each of its names.
    """
    found: dict[Key, dict[Controlled, None]] = {}
    others = _variants()
    for schedule in _schedules(country):
        for name in schedule.names:
            why = Controlled(name, schedule.schedule, schedule.source)
            spelt = [name, *(v for v, listed in others.items() if listed == name)]
            if name in others:
                spelt.append(others[name])
            meaning = known().get(key_of(name))
            if meaning is not None:
                spelt.append(meaning.inn)
            for written in spelt:
                for key in _keys(written):
                    found.setdefault(key, {})[why] = None
    return {key: tuple(reasons) for key, reasons in found.items()}


def _keys(name: str) -> set[Key]:
    key = key_of(name)
    bones = tuple(skeleton(word) for word in key)
    return {key, bones} if all(bones) else {key}


def controlled(name: str, country: str) -> tuple[Controlled, ...]:
    """Every reason why a substance of that name is controlled in that country, or ().

    A listed name may stand anywhere in it: an ester or salt is controlled as its base is. The
    INN's other spellings and names in other languages are read too. Raises
    KeyError for a country that has no profile.
    """
    index = _index(country)
    key = key_of(name)
    asked: dict[Key, None] = {}
    for words in (key, *(key_of(inn) for inn in identify(name).substances)):
        bones = tuple(skeleton(word) for word in words)
        for first in range(len(words)):
            for last in range(first + 1, len(words) + 1):
                asked[words[first:last]] = None
                asked[bones[first:last]] = None
    found = {why: None for one in asked for why in index.get(one, ())}
    for schedule in _schedules(country):
        for word in key:
            for stem in schedule.stems:
                if word.endswith(stem) and word != stem:
                    found[Controlled(f"-{stem}", schedule.schedule, schedule.source)] = None
    return tuple(found)
