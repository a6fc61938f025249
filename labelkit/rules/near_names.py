"""Known names that a word may be a misspelling of: what a question offers, never an answer."""

from functools import cache, lru_cache

from labelkit.rules.spelling import near, skeleton, taken_apart
from labelkit.rules.substances import in_any_group, known
from labelkit.rules.vocabulary import CLASS_WORDS, joined, spelt

MOST_NEAR = 3
"""Names that one question offers (common practice, no source)."""


def phrases(left: list[tuple[int, str]]) -> list[tuple[str, list[str]]]:
    """Unknown words by their places, joined where several side by side are near to one name.

    Each phrase comes with its words.
    """
    found: list[tuple[str, list[str]]] = []
    groups: list[list[tuple[int, str]]] = []
    for at, text in left:
        if groups and at == groups[-1][-1][0] + 1:
            groups[-1].append((at, text))
        else:
            groups.append([(at, text)])
    for group in groups:
        words = [text for _, text in group]
        phrase = " ".join(words)
        found += [(phrase, words)] if near_names(phrase) else [(word, [word]) for word in words]
    return found


@lru_cache(maxsize=8192)
def near_names(word: str) -> tuple[tuple[str, str], ...]:
    """INNs and names that are near in spelling, nearest first; of those, what rules speak of."""
    listed, apart = _names()
    found = [(edits, *listed[place]) for edits, place in near(word, apart)]
    bones = " ".join(map(skeleton, word.split()))
    if not word.isascii() and bones.strip():
        listed, apart = _bones()
        found += [(edits, *listed[place]) for edits, place in near(bones, apart)]
    best: dict[str, str] = {}
    for _, _, inn, name in sorted(found):
        best.setdefault(inn, spoken(inn, name))
    return tuple(best.items())[:MOST_NEAR]


@cache
def _names() -> tuple[list[tuple[bool, str, str]], list[str]]:
    """Of each known name: whether no rule speaks of it, its INN, the name; and it taken apart."""
    listed = [
        (not in_any_group(meaning.inn), meaning.inn, joined(key))
        for key, meaning in known().items()
        if meaning.inn not in CLASS_WORDS
    ]
    return listed, [taken_apart(name) for _, _, name in listed]


@cache
def _bones() -> tuple[list[tuple[bool, str, str]], list[str]]:
    """The same of the skeletons of published names."""
    listed = [(not in_any_group(one.inn), one.inn, one.name) for one in spelt().values()]
    return listed, [" ".join(key) for key in spelt()]


def spoken(inn: str, name: str) -> str:
    """A name with the INN it stands for."""
    return inn if inn == name else f"{name} ({inn})"
