"""The words that an entry may hold beside names, and names in the shapes that reading needs.

Data of ``substances/words.toml`` and of `substances`, put into look-up tables once.
"""

import re
from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass
from functools import cache

from labelkit.rules.data import Datum, Source, load
from labelkit.rules.spelling import is_run, parts, plain, skeleton
from labelkit.rules.substances import Key, Meaning, bare, is_stopped_for, known

CLASS_WORDS = frozenset({"an organic nitrate", "an organic nitrite"})
"""What is meant where only the class was written down."""

LEAST_HIDDEN = 6
"""Least letters of a name that is looked for inside longer words (Latin and its like)."""


class Denial(Datum):
    """Words that say that something isn't taken."""

    words: frozenset[str]
    fillers: frozenset[str]


class Unnamed(Datum):
    """Words that tell of a medicine beside the named one that nobody named."""

    joiners: frozenset[str]
    forms: frozenset[str]
    counts: frozenset[str]


class NitrateLike(Datum):
    """Pieces of words that tell of a nitrate, nitrite or donor of nitric oxide."""

    source: Source
    pieces: tuple[str, ...]
    starts: tuple[str, ...]


class Words(Datum):
    """``words.toml``."""

    source: Source
    salts: frozenset[str]
    beside: Mapping[str, frozenset[str]]
    unnamed: Unnamed
    denial: Denial
    nitrate_like: NitrateLike


@dataclass(frozen=True, slots=True)
class Spelt:
    """A published name whose skeleton another spelling has."""

    inn: str
    name: str


@dataclass(frozen=True, slots=True)
class Vocabulary:
    """Everything that reading looks up."""

    beside: frozenset[str]
    """Words in the form to compare that change nothing, salts among them."""
    forms: tuple[str, ...]
    """Those of three letters or more: they may be joined to a name."""
    salts: frozenset[str]
    joiners: frozenset[str]
    own_forms: frozenset[str]
    counts: frozenset[str]
    denials: frozenset[str]
    fillers: frozenset[str]
    runs: frozenset[str]
    """Names and words of scripts without spaces."""
    hidden: tuple[str, ...]
    """Names that are stopped for wherever in a text they stand, the longest first."""
    longest: int
    """Most parts of a name."""
    nitrate_like: re.Pattern[str]


def _each(words: frozenset[str]) -> frozenset[str]:
    return frozenset(bare(part.text) for word in words for part in parts(word))


@cache
def vocabulary() -> Vocabulary:
    """The shipped words and names."""
    data = Words.model_validate(load("substances/words.toml"))
    beside = _each(frozenset().union(*data.beside.values(), data.salts))
    denials, fillers = _each(data.denial.words), _each(data.denial.fillers)
    runs = {"".join(key) for key in known() if _is_run(key)}
    runs |= {w for w in beside | denials | fillers if _is_run((w,))}
    # Joined as an entry is joined before it is searched: words by spaces, runs by nothing.
    hidden = {joined(key) for key, meaning in known().items() if _is_hidden(key, meaning)}
    pieces = [re.escape(plain(p)) for p in data.nitrate_like.pieces]
    starts = [rf"^{re.escape(plain(p))}" for p in data.nitrate_like.starts]
    return Vocabulary(
        beside=beside,
        forms=tuple(sorted((w for w in beside if len(w) > 2), key=len, reverse=True)),
        salts=_each(data.salts),
        joiners=_each(data.unnamed.joiners) | frozenset("+&;,/、；，／＋\u060c\u061b।・"),
        own_forms=_each(data.unnamed.forms),
        counts=_each(data.unnamed.counts),
        denials=denials,
        fillers=fillers,
        runs=frozenset(runs),
        hidden=tuple(sorted(hidden, key=lambda name: (-len(name), name))),
        longest=max(map(len, known())),
        nitrate_like=re.compile("|".join([*pieces, *starts])),
    )


def joined(key: Key) -> str:
    """The parts of a name as one text: words are parted by spaces, runs by nothing."""
    return "".join(key) if _is_run(key) else " ".join(key)


def _is_run(key: Key) -> bool:
    return all(map(is_run, key))


def _is_hidden(key: Key, meaning: Meaning) -> bool:
    if meaning.inn in CLASS_WORDS or not is_stopped_for(meaning.inn):
        return False
    text = joined(key)
    return (_is_run(key) and len(text) > 2) or len(text) >= LEAST_HIDDEN


def pieces(run: str, words: Collection[str], longest: int) -> Iterator[tuple[int, str, bool]]:
    """A run cut into words, the longest first from left to right, and what lies between.

    Each piece with its place, and whether it is one of the words.
    """
    at = begun = 0
    while at < len(run):
        sizes = range(min(longest, len(run) - at), 0, -1)
        size = next((n for n in sizes if run[at : at + n] in words), 0)
        if size:
            if begun < at:
                yield begun, run[begun:at], False
            yield at, run[at : at + size], True
            begun = at = at + size
        else:
            at += 1
    if begun < at:
        yield begun, run[begun:at], False


@cache
def spelt() -> Mapping[Key, Spelt]:
    """Skeletons of published names that only one substance has → what they are.

    Apart from the `vocabulary`: asked only about a word that isn't a name as it stands.
    """
    found: dict[Key, dict[str, Spelt]] = {}
    for key, meaning in known().items():
        bones = tuple(skeleton(word) for word in key)
        if meaning.sure and all(bones) and meaning.inn not in CLASS_WORDS:
            found.setdefault(bones, {}).setdefault(meaning.inn, Spelt(meaning.inn, joined(key)))
    words = {(skeleton(word),) for word in vocabulary().beside}
    return {
        bones: next(iter(names.values()))
        for bones, names in found.items()
        if len(names) == 1 and bones not in words
    }
